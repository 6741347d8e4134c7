//! `brede mark`: outlines, halos, lettering, the key of a chart, and how its areas are worked.

mod change;
mod new;
mod stitches;

use std::path::PathBuf;

use brede::desk::mark::{
    ChooseReport, ChooseRequest, Mark, MarkChange, MarkFigures, MarkReport, MarkRequest, StepRequest, choose,
};
use brede::desk::{self, Source};
use brede::ground::units::counted;
use clap::{Args, Subcommand};

use super::Failure;
use super::bar::Bar;
use super::over::OverArgs;
use super::tell::{self, TellArgs};

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede mark pool.chart.json outline crab --at 34,60 --within 12 --show crab.png
  brede mark pool.chart.json outline crab --at 34,60 --within 12 --thread P12 --label 'Found by Ines'
  brede mark pool.chart.json lettering year --text 2026 --at 4,4 --thread P40 --face seven
  brede mark pool.chart.json stitches sea --needle S01 --stitch half-cross --strands 1
  brede mark pool.chart.json key --title 'Our rock pool' --date 2026 --thread P40
  brede mark pool.chart.json --from marks.toml --sketch pool.png
  brede mark pool.chart.json list
  brede mark pool.chart.json undo
  brede mark pool.chart.json redo

A file of marks:
  [[mark]]
  kind = 'outline'
  name = 'crab'
  label = 'Found by Ines'
  thread = '1 of P12 + 1 of P40'
  motif = { pick = [{ at = [34, 60], within = 12 }, { rectangle = [1, 1, 9, 9], take_away = true }] }

  [[mark]]
  kind = 'key'
  name = 'key'
  thread = 'P40'
  title = 'Our rock pool'
  place = 'below'

A label may be somebody's name: ask before a piece with it is shown to others.")]
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
    /// Tell what came of it as JSON, for other programs
    #[arg(long, global = true, display_order = 904)]
    json: bool,
    /// Say nothing but errors
    #[arg(short, long, global = true, display_order = 904)]
    quiet: bool,
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

/// What is to be done.
enum Asked {
    Changes(Vec<MarkChange>),
    Undo,
    Redo,
    Choose(PathBuf, Box<Mark<String>>),
}

impl What {
    fn asked(&self) -> Asked {
        let add = |mark: Mark<String>| Asked::Changes(vec![MarkChange::Add { mark: Box::new(mark) }]);
        let add_or_show = |mark: Mark<String>, show: &Option<PathBuf>| match show {
            Some(path) => Asked::Choose(path.clone(), Box::new(mark)),
            None => add(mark),
        };
        match self {
            Self::Outline(new) => add_or_show(new.mark(), &new.pick.show),
            Self::Halo(new) => add_or_show(new.mark(), &new.pick.show),
            Self::Stitches(new) => add_or_show(new.mark(), &new.pick.show),
            Self::Lettering(new) => add(new.mark()),
            Self::Key(new) => add(new.mark()),
            Self::List => Asked::Changes(Vec::new()),
            Self::Change(to) => Asked::Changes(vec![to.change()]),
            Self::Move(by) => Asked::Changes(vec![by.change()]),
            Self::Remove(names) => Asked::Changes(vec![names.change()]),
            Self::Reorder(order) => Asked::Changes(vec![order.change()]),
            Self::Undo => Asked::Undo,
            Self::Redo => Asked::Redo,
        }
    }
}

pub(super) fn run(args: &MarkArgs) -> Result<(), Failure> {
    let chart: Source = args.chart.clone().into();
    let (sketch, output) = (args.sketch.clone().map(Into::into), args.output.clone().map(Into::into));
    let step = || StepRequest {
        chart: chart.clone(),
        sketch: args.sketch.clone().map(Into::into),
        output: args.output.clone().map(Into::into),
        replace: args.over.replace(),
    };
    let bar = Bar::new(args.tell().chatter());
    let report = match args.what.as_ref().map_or(Asked::Changes(Vec::new()), What::asked) {
        Asked::Choose(picture, mark) => return show(args, picture, &mark),
        Asked::Undo => desk::mark::undo(&step(), &bar)?,
        Asked::Redo => desk::mark::redo(&step(), &bar)?,
        Asked::Changes(changes) => {
            let from = args.from.clone().map(|path| MarkChange::Take { marks: path.into() });
            let request = MarkRequest {
                chart,
                card: args.shades.clone().map(Into::into),
                changes: from.into_iter().chain(changes).collect(),
                masks: Vec::new(),
                sketch,
                output,
                replace: args.over.replace(),
            };
            desk::mark::mark(&request, &bar)?
        }
    };
    bar.finish();
    let is_list = matches!(args.what, Some(What::List));
    tell::report(&report, args.tell(), || if is_list { list(&report) } else { summary(&report) })?;
    if is_list && args.quiet && !args.json {
        tell::result(&list(&report))?;
    }
    Ok(())
}

impl MarkArgs {
    fn tell(&self) -> TellArgs {
        TellArgs { json: self.json, quiet: self.quiet }
    }
}

/// Shows a choice of cells.
fn show(args: &MarkArgs, picture: PathBuf, mark: &Mark<String>) -> Result<(), Failure> {
    let said = picture.display().to_string();
    let request = ChooseRequest {
        chart: args.chart.clone().into(),
        name: mark.name().to_owned(),
        motif: mark.motif().cloned().unwrap_or_default(),
        masks: Vec::new(),
        picture: picture.into(),
        replace: args.over.replace(),
    };
    let report = choose(&request, &Bar::new(args.tell().chatter()))?;
    tell::report(&report, args.tell(), || chosen(&said, &report))
}

/// What a choice that was only looked at comes to.
fn chosen(picture: &str, report: &ChooseReport) -> String {
    let place = report.extent.map_or_else(String::new, |[left, top, right, bottom]| {
        format!(", columns {left} to {right}, rows {top} to {bottom}")
    });
    format!("{picture}: {} cells chosen{place}; the chart is as it was\n", report.cells)
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
    if mark.kind == "stitches" {
        let mut parts = vec!["stitches".to_owned()];
        parts.extend(mark.stitch.map(|stitch| stitch.to_string()));
        parts.extend(mark.strands.map(|strands| counted(strands.into(), "strand")));
        parts.extend((!threads.is_empty()).then(|| format!("with {threads}")));
        parts.extend(mark.cells.map(|cells| counted(cells as u64, "cell")));
        return parts.join(", ");
    }
    let label = mark.label.as_ref().filter(|label| **label != mark.name);
    let label = label.map(|label| format!(" \"{label}\"")).unwrap_or_default();
    let mut text = format!("{}{label}, {threads}", mark.kind);
    if mark.backstitches > 0 {
        text += &format!(", {}, {:.1} cm", backstitches(mark.backstitches), mark.length_mm / 10.0);
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
        "{}: {}; worked {} cells{grown}, {:.1} x {:.1} cm; {} for crosses, {} of backstitch\n",
        report.title,
        counted(report.marks.len() as u64, "mark"),
        report.worked,
        width.cm(),
        height.cm(),
        counted(report.needles as u64, "thread"),
        counted(report.lines as u64, "line"),
    )
}

fn backstitches(count: usize) -> String {
    if count == 1 { "1 backstitch".to_owned() } else { format!("{count} backstitches") }
}
