//! `brede diary` and `brede backup`.

use std::path::PathBuf;

use brede::desk::{
    self, BackupAct, BackupRequest, DiaryColumns, DiaryReport, DiaryRequest, Lasted, NewSitting, time_of_day,
};
use brede::ground::day::{Day, DayOrder};
use brede::ground::plain::table;
use brede::ground::units::counted;
use clap::Args;

use super::BasketArgs;
use crate::cli::moment::when;
use crate::cli::over::OverArgs;
use crate::cli::tell::TellArgs;
use crate::cli::{Failure, doing};

#[derive(Debug, Args)]
#[command(after_help = include_str!("../help/diary.txt"))]
pub(in crate::cli) struct DiaryArgs {
    /// The piece: its id, the beginning of it, or its name; all where none is given
    piece: Option<String>,
    /// Write down a sitting of so many minutes
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1440), conflicts_with_all = ["from", "to"])]
    minutes: Option<u32>,
    /// Write down a sitting that began then, such as 19:30
    #[arg(long, value_name = "T", value_parser = time, requires = "to")]
    from: Option<u32>,
    /// When it ended; past midnight where it is earlier
    #[arg(long, value_name = "T", value_parser = time, requires = "from")]
    to: Option<u32>,
    /// Write down a note
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// Write down stitches that were counted and are not ticked
    #[arg(long, value_name = "N")]
    stitches: Option<u64>,
    /// On this day, such as 2026-03-07, and not today
    #[arg(long, value_name = "DAY")]
    day: Option<Day>,
    /// Take in days already written down, from a CSV with a row a day
    #[arg(long, value_name = "FILE.csv")]
    take: Option<PathBuf>,
    /// What its columns are called: day=NAME, and any of piece, minutes, hours, stitches and note
    #[arg(long, value_name = "WHAT=NAME,...", value_delimiter = ',', requires = "take")]
    columns: Vec<String>,
    /// In dates such as 3/7/2026 the month is first
    #[arg(long, requires = "columns")]
    month_first: bool,
    /// Write the diary as CSV
    #[arg(long, value_name = "FILE.csv")]
    csv: Option<PathBuf>,
    #[command(flatten)]
    tell: TellArgs,
    #[command(flatten)]
    over: OverArgs,
}

fn time(text: &str) -> Result<u32, String> {
    time_of_day(text).ok_or_else(|| "give a time of day such as 19:30".to_owned())
}

#[derive(Debug, thiserror::Error)]
#[error("--columns says nothing of `{0}`")]
struct Column(String);

impl DiaryArgs {
    fn columns(&self) -> Result<Option<DiaryColumns>, Failure> {
        let hint =
            "write --columns day=Date,minutes=Minutes,note=Notes with the names in the first row of the file";
        let order = if self.month_first { DayOrder::MonthFirst } else { DayOrder::DayFirst };
        let day = String::new();
        let mut columns =
            DiaryColumns { day, piece: None, minutes: None, hours: None, stitches: None, note: None, order };
        for column in &self.columns {
            let (what, name) = column.split_once('=').unwrap_or((column, ""));
            let name = name.trim().to_owned();
            match what.trim() {
                _ if name.is_empty() => return Err(Failure::new(Column(column.clone()), hint)),
                "day" => columns.day = name,
                "piece" => columns.piece = Some(name),
                "minutes" => columns.minutes = Some(name),
                "hours" => columns.hours = Some(name),
                "stitches" => columns.stitches = Some(name),
                "note" => columns.note = Some(name),
                _ => return Err(Failure::new(Column(column.clone()), hint)),
            }
        }
        match (self.columns.is_empty(), columns.day.is_empty()) {
            (true, _) => Ok(None),
            (_, true) => Err(Failure::new(Column("day".to_owned()), hint)),
            _ => Ok(Some(columns)),
        }
    }
}

pub(in crate::cli) fn diary(args: &DiaryArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let lasted = match (args.minutes, args.from.zip(args.to)) {
        (Some(minutes), _) => Some(Lasted::Minutes(minutes)),
        (None, between) => between.map(|(from, to)| Lasted::Between(from, to)),
    };
    let new = NewSitting { day: args.day, lasted, stitches: args.stitches, note: args.note.clone() };
    let is_new = lasted.is_some() || args.stitches.is_some() || args.note.is_some();
    let request = DiaryRequest {
        basket: basket.folder(),
        piece: args.piece.clone(),
        when: when()?,
        write: is_new.then_some(new),
        take: args.take.clone().map(|path| Ok::<_, Failure>((path.into(), args.columns()?))).transpose()?,
        csv: args.csv.clone().map(Into::into),
        replace: args.over.replace(),
    };
    let words = |report: &DiaryReport| {
        let mut text = match (report.new, report.known) {
            (0, 0) => String::new(),
            (new, 0) => format!("{new} written down\n"),
            (new, known) => format!("{new} written down, {known} there already\n"),
        };
        if !is_new && args.csv.is_none() {
            text += &days(report);
        }
        let stitches = report.stitches;
        text + &format!(
            "{}, {}, {stitches} stitches\n",
            counted(report.day_count, "day"),
            hours(report.minutes)
        )
    };
    doing::told(args.tell, |bar| desk::diary(&request, bar), words).map(drop)
}

fn hours(minutes: u64) -> String {
    format!("{}:{:02} hours", minutes / 60, minutes % 60)
}

fn days(report: &DiaryReport) -> String {
    let rows = report.days.iter().map(|day| {
        let minutes: u64 = day.sittings.iter().filter_map(|sitting| sitting.minutes).map(u64::from).sum();
        let counted: u64 = day.sittings.iter().filter_map(|sitting| sitting.stitches).sum();
        let notes = day.sittings.iter().map(|sitting| sitting.note.as_str()).filter(|note| !note.is_empty());
        let turns = day.turns.iter().map(ToString::to_string);
        vec![
            day.day.to_string(),
            day.name.clone().unwrap_or_default().chars().take(24).collect(),
            (day.ticked + counted.cast_signed()).to_string(),
            if minutes > 0 { hours(minutes) } else { String::new() },
            turns.chain(notes.map(str::to_owned)).collect::<Vec<_>>().join("; "),
        ]
    });
    table("day|piece|>stitches|>time|notes", &rows.collect::<Vec<_>>())
}

#[derive(Debug, Args)]
#[command(after_help = include_str!("../help/backup.txt"))]
pub(in crate::cli) struct BackupArgs {
    #[command(flatten)]
    act: ActArgs,
    #[command(flatten)]
    tell: TellArgs,
    #[command(flatten)]
    over: OverArgs,
}

#[derive(Debug, Args)]
#[group(multiple = false)]
struct ActArgs {
    /// Make that of today now
    #[arg(long)]
    now: bool,
    /// Bring one back, by its name in the list; what is there now becomes a backup
    #[arg(long, value_name = "NAME")]
    bring_back: Option<String>,
    /// Write the whole workbasket into one file, photos and all, for another machine
    #[arg(long, value_name = "FILE")]
    give: Option<PathBuf>,
    /// Take the workbasket from such a file; what is there now becomes a backup
    #[arg(long, value_name = "FILE")]
    take: Option<PathBuf>,
    /// Write all in forms that other programs read: charts, PNGs, photos, diary and threads as CSV
    #[arg(long, value_name = "DIR")]
    leave: Option<PathBuf>,
}

pub(in crate::cli) fn backup(args: &BackupArgs, basket: &BasketArgs) -> Result<(), Failure> {
    if let Some(folder) = &args.act.leave {
        let (folder, replace) = (folder.clone().into(), args.over.replace());
        let request = desk::LeaveRequest { basket: basket.folder(), folder, when: when()?, replace };
        let words = |report: &desk::LeaveReport| {
            format!(
                "{}, {}\n",
                counted(report.pieces as u64, "piece"),
                counted(report.files.len() as u64, "file")
            )
        };
        return doing::told(args.tell, |bar| desk::leave(&request, bar), words).map(drop);
    }
    let act = match &args.act {
        ActArgs { bring_back: Some(name), .. } => BackupAct::BringBack(name.clone()),
        ActArgs { give: Some(path), .. } => BackupAct::Give(path.clone()),
        ActArgs { take: Some(path), .. } => BackupAct::Take(path.clone()),
        ActArgs { now: true, .. } => BackupAct::Now,
        _ => BackupAct::List,
    };
    let request = BackupRequest { basket: basket.folder(), act, when: when()? };
    let words = |report: &desk::BackupReport| {
        let size = |bytes: u64| format!("{:.1} MB", bytes as f64 / 1e6);
        let rows: Vec<_> =
            report.backups.iter().map(|backup| vec![backup.name.clone(), size(backup.bytes)]).collect();
        let mut text = table("backup|>size", &rows);
        if let Some(before) = &report.before {
            let pieces = counted(report.pieces as u64, "piece");
            text +=
                &format!("{pieces} in the workbasket now; what was there before is the backup {before}\n");
        }
        text
    };
    doing::told(args.tell, |bar| desk::backup(&request, bar), words).map(drop)
}
