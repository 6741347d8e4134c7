//! `brede mark`: outlines, halos, lettering, the key of a chart, and how its areas are worked.

mod change;
mod new;
mod stitches;

use std::path::PathBuf;

use brede::desk::mark::{
    ChooseReport, ChooseRequest, Mark, MarkChange, MarkFigures, MarkKind, MarkReport, MarkRequest,
    StepRequest, choose,
};
use brede::desk::{self, Source};
use brede::ground::units::counted;
use clap::{Args, Subcommand};

use super::Failure;
use super::bar::Bar;
use super::basket::BasketArgs;
use super::doing;
use super::over::OverArgs;
use super::tell::{self, TellArgs};

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/mark.txt"))]
pub(super) struct MarkArgs {
    /// The chart: a NAME.chart.json that `brede make` wrote
    chart: PathBuf,
    /// Take marks from a TOML file: new ones are added, those with a name that is there take its place
    #[arg(long, value_name = "FILE.toml")]
    from: Option<PathBuf>,
    /// Your shade card, for threads that the chart does not have yet; else the card it was made from, then the
    /// demonstration card
    #[arg(long, value_name = "CARD.csv", global = true, display_order = 901)]
    shades: Option<PathBuf>,
    /// Write a picture of the chart with its marks
    #[arg(long, value_name = "PNG", global = true, display_order = 902)]
    sketch: Option<PathBuf>,
    /// Write the marked chart here; else the chart itself is changed
    #[arg(short, long, value_name = "CHART.chart.json", global = true, display_order = 903)]
    output: Option<PathBuf>,
    #[command(flatten)]
    tell: TellArgs,
    #[command(flatten)]
    over: OverArgs,
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Outline a motif in backstitch
    Outline(new::OutlineArgs),
    /// Put a ring of full crosses round a motif
    Halo(new::HaloArgs),
    /// Stitch letters
    Lettering(new::LetteringArgs),
    /// Stitch a key of all marks, with a title, a date and initials
    Key(new::KeyArgs),
    /// Work an area in another kind of stitch, with other strands or with a thread added
    Stitches(stitches::StitchesArgs),
    /// List the marks, the lowest first
    List,
    /// Change a mark; what is not given stays as it is
    Change(Box<change::ChangeArgs>),
    /// Move a mark by so many columns and rows
    Move(change::MoveArgs),
    /// Take marks off again
    Remove(change::RemoveArgs),
    /// Lay a mark over or under others; the key lists them in this order
    Reorder(change::ReorderArgs),
    /// Take back the last change of the chart; given again, the one before it, back to the beginning
    Undo,
    /// Do the change again that was taken back last
    Redo,
}

impl What {
    /// A choice that is only to be shown: of what, and where.
    fn shown(&self) -> Option<(Mark<String>, PathBuf)> {
        let (pick, mark) = match self {
            Self::Outline(new) => (&new.round.pick, new.mark()),
            Self::Halo(new) => (&new.round.pick, new.mark()),
            Self::Stitches(new) => (&new.pick, new.mark()),
            _ => return None,
        };
        pick.show.clone().map(|path| (mark, path))
    }

    fn change(&self) -> Option<MarkChange> {
        let add = |mark: Mark<String>| Some(MarkChange::Add { mark: Box::new(mark) });
        match self {
            Self::Outline(new) => add(new.mark()),
            Self::Halo(new) => add(new.mark()),
            Self::Stitches(new) => add(new.mark()),
            Self::Lettering(new) => add(new.mark()),
            Self::Key(new) => add(new.mark()),
            Self::Change(to) => Some(to.change()),
            Self::Move(by) => Some(by.change()),
            Self::Remove(names) => Some(names.change()),
            Self::Reorder(order) => Some(order.change()),
            Self::List | Self::Undo | Self::Redo => None,
        }
    }
}

pub(super) fn run(args: &MarkArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let what = args.what.as_ref();
    if let Some((mark, picture)) = what.and_then(What::shown) {
        return show(args, basket.chart(&args.chart)?, picture, &mark);
    }
    let (chart, limits, replace) = (basket.chart(&args.chart)?, args.over.limits(), args.over.replace());
    let (sketch, output) = (args.sketch.clone().map(Into::into), args.output.clone().map(Into::into));
    let operation = |bar: &Bar| match what {
        Some(What::Undo) => desk::mark::undo(&StepRequest { chart, sketch, output, limits, replace }, bar),
        Some(What::Redo) => desk::mark::redo(&StepRequest { chart, sketch, output, limits, replace }, bar),
        _ => {
            let from = args.from.clone().map(|path| MarkChange::Take { marks: path.into() });
            let changes = from.into_iter().chain(what.and_then(What::change)).collect();
            let (card, masks) = (args.shades.clone().map(Into::into), Vec::new());
            desk::mark::mark(
                &MarkRequest { chart, card, changes, masks, sketch, output, limits, replace },
                bar,
            )
        }
    };
    let is_list = matches!(what, Some(What::List));
    let words = |report: &MarkReport| if is_list { list(report) } else { summary(report) };
    let report = doing::told(args.tell, operation, words)?;
    if is_list && args.tell.quiet && !args.tell.json {
        tell::result(&list(&report))?;
    }
    Ok(())
}

/// Shows a choice of squares.
fn show(args: &MarkArgs, chart: Source, picture: PathBuf, mark: &Mark<String>) -> Result<(), Failure> {
    let said = picture.display().to_string();
    let request = ChooseRequest {
        chart,
        name: mark.name().to_owned(),
        motif: mark.motif().cloned().unwrap_or_default(),
        masks: Vec::new(),
        picture: picture.into(),
        limits: args.over.limits(),
        replace: args.over.replace(),
    };
    doing::told(args.tell, |bar| choose(&request, bar), |report| chosen(&said, report)).map(drop)
}

/// What a choice that was only looked at comes to.
fn chosen(picture: &str, report: &ChooseReport) -> String {
    let place = report.extent.map_or_else(String::new, |[left, top, right, bottom]| {
        format!(", columns {left} to {right}, rows {top} to {bottom}")
    });
    let cells = counted(report.cells as u64, "square");
    format!("{picture}: {cells} chosen{place}; the chart is as it was\n")
}

/// A line a mark: name, kind, thread and what it comes to.
fn list(report: &MarkReport) -> String {
    if report.marks.is_empty() {
        return "no marks\n".to_owned();
    }
    report.marks.iter().map(|mark| format!("{}: {}\n", mark.name, listed(mark))).collect()
}

fn listed(mark: &MarkFigures) -> String {
    let threads: Vec<String> =
        mark.threads.iter().map(|thread| format!("{} of {}", thread.strands, thread.code)).collect();
    let threads = threads.join(" + ");
    if mark.kind == MarkKind::Stitches {
        let mut parts = vec!["stitches".to_owned()];
        parts.extend(mark.stitch.map(|stitch| stitch.to_string()));
        parts.extend(mark.strands.map(|strands| counted(strands.into(), "strand")));
        parts.extend((!threads.is_empty()).then(|| format!("with {threads}")));
        parts.extend(mark.cells.map(|cells| counted(cells as u64, "square")));
        return parts.join(", ");
    }
    let label = mark.label.as_ref().filter(|label| **label != mark.name);
    let label = label.map(|label| format!(" \"{label}\"")).unwrap_or_default();
    let mut text = format!("{}{label}, {threads}", mark.kind);
    if mark.backstitches > 0 {
        text += &format!(
            ", {}, {:.1} cm",
            counted(mark.backstitches as u64, "backstitch"),
            mark.length_mm / 10.0
        );
        if let Some(pattern) = mark.pattern {
            text += &format!(", {}", pattern.name());
        }
    }
    text
}

fn summary(report: &MarkReport) -> String {
    let [width, height] = report.finished;
    let grown = if report.worked == report.size {
        String::new()
    } else {
        format!(", the design itself {}", report.size)
    };
    format!(
        "{}: {}; worked {} squares{grown}, {:.1} x {:.1} cm; {}; {} of backstitch\n",
        report.title,
        counted(report.marks.len() as u64, "mark"),
        report.worked,
        width.cm(),
        height.cm(),
        report.threads,
        counted(report.lines as u64, "line"),
    )
}
