//! `brede shades`: look into a card, compare two, move a chart to another card, make one from a photo.

use std::path::PathBuf;

use brede::desk::{
    self, CardFromPhotoReport, CardFromPhotoRequest, CompareCardsReport, CompareCardsRequest, MoveReport,
    MoveRequest, MovedThread, NearestFigures, POOR, Paper, Part, ShadeFigures, Sharing, ShowCardReport,
    ShowCardRequest, Supply, Target,
};
use brede::ground::plain::table;
use brede::ground::units::counted;
use clap::{Args, Subcommand, ValueEnum};
use rust_decimal::Decimal;

use super::basket::BasketArgs;
use super::doing;
use super::make::LimitArgs;
use super::moment::moment;
use super::over::OverArgs;
use super::tell::TellArgs;
use super::{Failure, words};

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/shades.txt"))]
pub(super) struct ShadesArgs {
    #[command(flatten)]
    over: OverArgs,
    #[command(flatten)]
    tell: TellArgs,
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// List the threads of a card, and print it as a sheet of swatches
    Show(ShowArgs),
    /// For each thread of one card the nearest of another
    Compare(CompareArgs),
    /// Give a chart, or several together, the threads of another card
    Move(MoveArgs),
    /// Make a card from a photo of threads laid out in a grid beside a sheet of white paper
    FromPhoto(FromPhotoArgs),
}

#[derive(Debug, Args)]
struct ShowArgs {
    /// The shade card; else the demonstration card
    card: Option<PathBuf>,
    /// Write a sheet of swatches to print
    #[arg(short, long, value_name = "FILE.pdf")]
    output: Option<PathBuf>,
    /// The paper: a4, a3, letter, or a size such as 20x30cm
    #[arg(long, default_value = "a4")]
    paper: Paper,
}

#[derive(Debug, Args)]
struct CompareArgs {
    /// The card whose threads are looked up
    card: PathBuf,
    /// The card they are looked up on
    other: PathBuf,
    /// Write the pairs as CSV
    #[arg(long, value_name = "FILE.csv")]
    csv: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct MoveArgs {
    /// The charts, NAME.chart.json files that `brede make` wrote, and last the card to move them to
    #[arg(required = true, num_args = 2.., value_names = ["CHART", "CARD"])]
    charts_and_card: Vec<PathBuf>,
    /// Where the moved chart goes; for one chart
    #[arg(short, long, value_name = "CHART.chart.json", required_unless_present = "out")]
    output: Option<PathBuf>,
    /// The folder where moved charts go, each under its own name; for several
    #[arg(long, value_name = "DIR", conflicts_with = "output")]
    out: Option<PathBuf>,
    /// Give different threads of a chart different ones, even where sharing one would come nearer
    #[arg(long)]
    apart: bool,
    /// Which threads may be asked for: owned, no more of each than the card says is owned (one skein of each where it says
    /// nothing at all), or any. Else owned for several charts where the card says what is, and any for one
    #[arg(long, value_enum, value_name = "WHICH")]
    supply: Option<SupplyArg>,
    /// How your thread covers: a TOML file as for brede cloth
    #[arg(long, value_name = "FILE.toml")]
    cover: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum SupplyArg {
    Owned,
    Any,
}

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/shades-from-photo.txt"))]
struct FromPhotoArgs {
    /// The photo
    photo: PathBuf,
    /// Places across
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
    columns: u32,
    /// Places down
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
    rows: u32,
    /// Where the white paper lies: left, top, width, height in pixels of the upright photo
    #[arg(long, value_name = "X,Y,W,H")]
    paper: Part,
    /// Where the grid of threads lies; else the whole photo
    #[arg(long, value_name = "X,Y,W,H")]
    grid: Option<Part>,
    /// Codes and names, a line a thread; else P1, P2, ... by rows
    #[arg(long, value_name = "FILE")]
    codes: Option<PathBuf>,
    /// Write the card here; else to standard output
    #[arg(short, long, value_name = "CARD.csv")]
    output: Option<PathBuf>,
    /// Write the balanced photo with the places that were looked at
    #[arg(long, value_name = "PNG")]
    check: Option<PathBuf>,
    #[command(flatten)]
    limits: LimitArgs,
}

pub(super) fn run(args: &ShadesArgs, basket: &BasketArgs) -> Result<(), Failure> {
    match &args.what {
        What::Show(what) => show(what, args),
        What::Compare(what) => compare(what, args),
        What::Move(what) => move_chart(what, args, basket),
        What::FromPhoto(what) => from_photo(what, args),
    }
}

fn show(args: &ShowArgs, all: &ShadesArgs) -> Result<(), Failure> {
    let request = ShowCardRequest {
        card: args.card.clone().map(Into::into),
        pages: args.output.clone().map(Into::into),
        paper: args.paper,
        moment: moment()?,
        limits: all.over.limits(),
        replace: all.over.replace(),
    };
    let headings = "code|name|colour|>L*|>a*|>b*|>price|>owned";
    let row = |shade: &ShadeFigures| {
        let amount = |amount: Option<Decimal>| amount.map_or_else(String::new, |a| a.to_string());
        let [l, a, b] = shade.lab.map(|value| format!("{value:.1}"));
        let name = shade.name.chars().take(32).collect();
        let (code, colour) = (shade.code.clone(), shade.colour.to_string());
        vec![code, name, colour, l, a, b, amount(shade.price), amount(shade.owned)]
    };
    let words = |report: &ShowCardReport| {
        let rows: Vec<_> = report.shades.iter().map(row).collect();
        let threads = counted(rows.len() as u64, "thread");
        format!("{}: {threads}\n\n{}", report.card, table(headings, &rows))
    };
    doing::told(all.tell, |bar| desk::show_card(&request, bar), words).map(drop)
}

fn compare(args: &CompareArgs, all: &ShadesArgs) -> Result<(), Failure> {
    let request = CompareCardsRequest {
        card: args.card.clone().into(),
        other: args.other.clone().into(),
        csv: args.csv.clone().map(Into::into),
        limits: all.over.limits(),
        replace: all.over.replace(),
    };
    let headings = "code|name|nearest|its name|match|>ΔE";
    let row = |pair: &NearestFigures| {
        let short = |text: &str| text.chars().take(28).collect::<String>();
        let near = words::near(pair.delta_e);
        let (code, nearest, far) = (pair.code.clone(), pair.nearest.clone(), format!("{:.1}", pair.delta_e));
        vec![code, short(&pair.name), nearest, short(&pair.nearest_name), near.to_owned(), far]
    };
    let words = |report: &CompareCardsReport| {
        let total = report.pairs.len();
        format!(
            "{}\n{} of {} have one within {POOR} ΔE (CIEDE2000) on {}; {} have none.\n",
            table(headings, &report.pairs.iter().map(row).collect::<Vec<_>>()),
            total - report.poor,
            counted(total as u64, "thread"),
            report.other,
            report.poor,
        )
    };
    doing::told(all.tell, |bar| desk::compare_cards(&request, bar), words).map(drop)
}

#[derive(Debug, thiserror::Error)]
#[error("--output is for one chart, and {charts} were given")]
struct SeveralCharts {
    charts: usize,
}

fn move_chart(args: &MoveArgs, all: &ShadesArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let Some((card, charts)) = args.charts_and_card.split_last() else { return Ok(()) };
    // Of one chart a folder holds it under its own name.
    let output = match (&args.output, &args.out, charts) {
        (Some(_), _, [_, _, ..]) => {
            return Err(Failure::new(
                SeveralCharts { charts: charts.len() },
                "give the folder where they go with --out",
            ));
        }
        (None, Some(folder), [chart]) => folder.join(chart.file_name().unwrap_or_default()),
        (output, folder, _) => output.as_ref().or(folder.as_ref()).cloned().unwrap_or_default(),
    };
    let request = MoveRequest {
        charts: basket.charts(charts)?,
        card: card.clone().into(),
        output: basket.target(&output)?,
        sharing: if args.apart { Sharing::Apart } else { Sharing::WhereItCostsLess },
        supply: args.supply.map(|supply| match supply {
            SupplyArg::Owned => Supply::Owned,
            SupplyArg::Any => Supply::Any,
        }),
        cover: args.cover.clone().map(Into::into),
        limits: all.over.limits(),
        replace: all.over.replace(),
    };
    let headings = "from|name|to|its name|>stitches|match|>ΔE|note";
    let words = |report: &MoveReport| {
        let mut text = String::new();
        for (place, title) in report.charts.iter().enumerate() {
            let changes = || report.changes.iter().filter(|change| change.chart == place);
            if report.charts.len() > 1 {
                text.push_str(&format!("{title}\n\n"));
            }
            let stitches: f64 = changes().map(|change| change.stitches as f64).sum();
            let sum: f64 = changes().map(|change| change.delta_e * change.stitches as f64).sum();
            let written = report.files.get(place).and_then(|file| file.path.as_ref());
            text.push_str(&format!(
                "{}\nMean change {:.2} ΔE (CIEDE2000) over the stitches, as seen on the cloth. Written to {}\n",
                table(headings, &changes().map(moved_row).collect::<Vec<_>>()),
                sum / stitches.max(1.0),
                written.map_or_else(String::new, |path| path.display().to_string()),
            ));
            if place + 1 < report.charts.len() {
                text.push('\n');
            }
        }
        text
    };
    doing::told(all.tell, |bar| desk::move_to_card(&request, bar), words).map(drop)
}

fn moved_row(change: &MovedThread) -> Vec<String> {
    let short = |text: &str| text.chars().take(26).collect::<String>();
    let mut notes = Vec::new();
    if change.poor && change.has_none_near() {
        notes.push("the card has none within 5 ΔE".to_owned());
    } else if change.poor {
        notes.push("the nearer went to another".to_owned());
    }
    if change.other_kind {
        notes.push("another kind of thread".to_owned());
    }
    notes.extend(change.shared_with.as_ref().map(|code| format!("same as for {code}")));
    vec![
        change.from.clone(),
        short(&change.from_name),
        change.to.clone(),
        short(&change.to_name),
        change.stitches.to_string(),
        words::near(change.delta_e).to_owned(),
        format!("{:.1}", change.delta_e),
        notes.join(", "),
    ]
}

fn from_photo(args: &FromPhotoArgs, all: &ShadesArgs) -> Result<(), Failure> {
    let request = CardFromPhotoRequest {
        photo: args.photo.clone().into(),
        columns: args.columns,
        rows: args.rows,
        paper: args.paper,
        grid: args.grid,
        codes: args.codes.clone().map(Into::into),
        output: args.output.clone().map_or(Target::Held, Into::into),
        check: args.check.clone().map(Into::into),
        limits: args.limits.limits(all.over),
        replace: all.over.replace(),
    };
    let words = |report: &CardFromPhotoReport| match &args.output {
        Some(path) => format!("{}: {}\n", path.display(), counted(report.threads as u64, "thread")),
        None => doing::held(report),
    };
    doing::told(all.tell, |bar| desk::card_from_photo(&request, bar), words).map(drop)
}
