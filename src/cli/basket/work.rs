//! `brede done` and `brede left`.

use std::path::PathBuf;

use brede::desk::{self, DoneReport, DoneRequest, LeftReport, LeftRequest, LeftThread, Stitches, Way};
use brede::ground::plain::table;
use brede::ground::units::counted;
use clap::Args;

use super::BasketArgs;
use crate::cli::over::OverArgs;
use crate::cli::tell::TellArgs;
use crate::cli::{Failure, doing};

#[derive(Debug, Args)]
#[command(after_help = include_str!("../help/done.txt"))]
pub(in crate::cli) struct DoneArgs {
    /// The piece: its id, the beginning of it, or its name
    piece: String,
    #[command(flatten)]
    what: WhatArgs,
    /// They are not done, or not any more
    #[arg(long)]
    not: bool,
    #[command(flatten)]
    tell: TellArgs,
}

#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
struct WhatArgs {
    /// The stitches of a rectangle, by the numbers of the rulers
    #[arg(long, value_name = "C,R,W,H", value_parser = rectangle)]
    rectangle: Option<[u32; 4]>,
    /// Those of a row, by its number on the ruler
    #[arg(long, value_name = "N")]
    row: Option<u32>,
    /// All in a thread, or in a blend: CODE+CODE
    #[arg(long, value_name = "CODE")]
    thread: Option<String>,
    /// Those that a page of the last printing shows (brede print PIECE)
    #[arg(long, value_name = "N")]
    page: Option<u32>,
    /// An outline, or another mark, by its name
    #[arg(long, value_name = "NAME")]
    line: Option<String>,
}

fn rectangle(text: &str) -> Result<[u32; 4], String> {
    let numbers: Result<Vec<u32>, _> = text.split(',').map(|part| part.trim().parse()).collect();
    let numbers = numbers.ok().and_then(|numbers| numbers.try_into().ok());
    numbers.ok_or_else(|| "give column, row, width and height, such as 1,1,10,10".to_owned())
}

impl WhatArgs {
    fn stitches(&self) -> Stitches {
        match self {
            Self { rectangle: Some(rectangle), .. } => Stitches::Rectangle(*rectangle),
            Self { row: Some(row), .. } => Stitches::Row(*row),
            Self { thread: Some(code), .. } => Stitches::Thread(code.clone()),
            Self { page: Some(page), .. } => Stitches::Page(*page),
            Self { line, .. } => Stitches::Line(line.clone().unwrap_or_default()),
        }
    }
}

pub(in crate::cli) fn done(args: &DoneArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let way = if args.not { Way::NotDone } else { Way::Done };
    let request = DoneRequest { piece: basket.piece(&args.piece)?, stitches: args.what.stitches(), way };
    let words = |report: &DoneReport| {
        let mut text = match (report.more, report.fewer) {
            (0, 0) if report.marks.is_empty() => "nothing is other than before".to_owned(),
            (0, 0) => format!("ticked: {}", report.marks.join(", ")),
            (more, 0) => format!("{more} stitches more"),
            (_, fewer) => format!("{fewer} stitches fewer"),
        };
        let notes = desk::Report::notes(report).iter().map(crate::cli::words::note);
        text = format!("{}: {text}; {}\n", report.name, share(report.done, report.stitches, report.percent));
        notes.fold(text, |text, note| text + &note + "\n")
    };
    doing::told(args.tell, |bar| desk::done(&request, bar), words).map(drop)
}

fn share(done: u64, stitches: u64, percent: Option<f64>) -> String {
    let percent = percent.map_or_else(String::new, |percent| format!(" ({percent} %)"));
    format!("{done} of {stitches} done{percent}")
}

#[derive(Debug, Args)]
#[command(after_help = include_str!("../help/left.txt"))]
pub(in crate::cli) struct LeftArgs {
    /// The piece: its id, the beginning of it, or its name
    piece: String,
    /// Write a picture, one pixel a square: white where done, black where not, clear where bare
    #[arg(long, value_name = "FILE.png")]
    png: Option<PathBuf>,
    #[command(flatten)]
    tell: TellArgs,
    #[command(flatten)]
    over: OverArgs,
}

pub(in crate::cli) fn left(args: &LeftArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let request = LeftRequest {
        piece: basket.piece(&args.piece)?,
        picture: args.png.clone().map(Into::into),
        replace: args.over.replace(),
    };
    doing::told(args.tell, |bar| desk::left(&request, bar), left_text).map(drop)
}

fn left_text(report: &LeftReport) -> String {
    let mut text = format!("{}: {}", report.name, share(report.done, report.stitches, report.percent));
    if report.backstitches > 0 {
        text += &format!("; {} of {} backstitches", report.backstitches_done, report.backstitches);
    }
    if let Some(day) = report.last_day {
        text += &format!("; {}, the last {}", counted(report.days, "day"), day.words());
    }
    text.push('\n');
    if let Some(last) = &report.last {
        let span = |[from, to]: [u32; 2], noun: &str| match to - from {
            0 => format!("{noun} {from}"),
            _ => format!("{noun}s {from} to {to}"),
        };
        let thread = last.thread.as_ref().map_or_else(String::new, |code| format!(", in {code}"));
        text +=
            &format!("last ticked: {}, {}{thread}\n", span(last.rows, "row"), span(last.columns, "column"));
    }
    if report.unpick > 0 {
        text += &format!("to be taken out first: {}\n", report.unpick);
    }
    for other in &report.otherwise {
        text += &format!(
            "{} of {} are worked in {} {}\n",
            other.stitches, other.now, other.worked, other.worked_name
        );
    }
    let row = |thread: &LeftThread| {
        vec![
            thread.code.clone(),
            thread.name.chars().take(28).collect(),
            thread.stitches.to_string(),
            thread.done.to_string(),
            thread.left.to_string(),
            thread.backstitches_left.to_string(),
            format!("{:.1}", thread.metres_left),
        ]
    };
    let rows: Vec<_> = report.threads.iter().map(row).collect();
    text +=
        &format!("\n{}", table("code|name|>stitches|>done|>left|>backstitches left|>strand m left", &rows));
    for mark in &report.marks {
        text += &format!("{} ({}): {}\n", mark.name, mark.kind, if mark.done { "done" } else { "to do" });
    }
    let [quick, slow] = report.hours_left;
    let pace =
        if report.pace_of_diary { "as your diary has it" } else { "a guess: write minutes into the diary" };
    text + &format!(
        "{} left, {:.0} m of single strand; {quick:.0} to {slow:.0} hours at {:.0} crosses an hour ({pace})\n",
        report.left, report.metres_left, report.stitches_an_hour
    )
}
