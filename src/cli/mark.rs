//! `brede mark`: outlines, halos, lettering, the key of a chart, and how its areas are worked.

mod change;
mod new;
mod stitches;

use std::path::{Path, PathBuf};

use brede::chart::marks::{self, Composed, FileError, MarkError, MarkFile, Region, Resolver};
use brede::chart::{Chart, Done, Mark, WorkedLine};
use brede::desk;
use brede::ground::store::Over;
use brede::ground::units::counted;
use brede::printing::picture;
use brede::thread::shades::ShadeCard;
use clap::{Args, Subcommand};

use super::files::{bytes, read, read_text, save, save_chart};
use super::old::chart_of;
use super::over::OverArgs;
use super::{Failure, tell, words};

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
    /// Your shade card, for threads that the chart does not have yet; else the demonstration card
    #[arg(long, value_name = "CARD.csv", global = true, display_order = 901)]
    shades: Option<PathBuf>,
    /// Write a picture of the chart with its marks
    #[arg(long, value_name = "PNG", global = true, display_order = 902)]
    sketch: Option<PathBuf>,
    /// Write the marked chart here; else the chart itself is changed
    #[arg(short, long, value_name = "CHART.chart.json", global = true, display_order = 903)]
    output: Option<PathBuf>,
    /// Say nothing but errors
    #[arg(short, long, global = true, display_order = 904)]
    quiet: bool,
    #[command(flatten)]
    pub(super) over: OverArgs,
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
    Change(change::ChangeArgs),
    /// Move a mark by so many columns and rows
    Move(change::MoveArgs),
    /// Take marks off again
    Remove(change::RemoveArgs),
    /// Lay a mark over or under others; the key lists them in this order
    Reorder(change::ReorderArgs),
    /// Take back the last change; given again, the one before it, back to the beginning
    Undo,
    /// Do the change again that was taken back last
    Redo,
}

/// The card to find threads on.
fn card(path: Option<&Path>) -> Result<ShadeCard, Failure> {
    path.map_or_else(|| Ok(ShadeCard::demonstration()), super::old::read_card)
}

fn mark_failure(error: MarkError) -> Failure {
    let hint = words::advice(&error.advice());
    Failure::new(error, hint)
}

fn file_failure(error: FileError) -> Failure {
    let hint = words::advice(&error.advice());
    Failure::new(error, hint)
}

impl From<MarkError> for Failure {
    fn from(error: MarkError) -> Self {
        mark_failure(error)
    }
}

/// A choice of cells that was only to be shown ends the change.
enum Ended {
    Failed(Failure),
    Shown(PathBuf, Region),
}

impl<E: Into<Failure>> From<E> for Ended {
    fn from(error: E) -> Self {
        Self::Failed(error.into())
    }
}

/// What is to be done, as the chart remembers it.
fn done(args: &MarkArgs, chart: &Chart) -> Done {
    let name =
        |mark: &Mark<String>| Done::MarkAdded { mark: mark.name().to_owned(), of: mark.kind().to_owned() };
    match &args.what {
        Some(What::Outline(new)) => name(&new.mark()),
        Some(What::Halo(new)) => name(&new.mark()),
        Some(What::Lettering(new)) => name(&new.mark()),
        Some(What::Key(new)) => name(&new.mark()),
        Some(What::Stitches(new)) => name(&new.mark()),
        Some(What::Change(change)) => change.done(),
        Some(What::Move(by)) => by.done(),
        Some(What::Remove(names)) => names.done(chart),
        Some(What::Reorder(order)) => order.done(),
        None | Some(What::List | What::Undo | What::Redo) => Done::MarksTaken { marks: Vec::new() },
    }
}

fn change(args: &MarkArgs, chart: &mut Chart, card: &ShadeCard) -> Result<(), Ended> {
    if let Some(path) = &args.from {
        let marks = from_file(path, chart, card)?;
        let names = marks.iter().map(|mark| mark.name().to_owned()).collect();
        chart.change(Done::MarksTaken { marks: names }, |chart| {
            marks.into_iter().for_each(|mark| put(chart, mark));
            Ok::<_, Failure>(())
        })?;
    }
    let done = done(args, chart);
    chart.change(done, |chart| {
        let shown = match &args.what {
            None | Some(What::List | What::Undo | What::Redo) => None,
            Some(What::Outline(new)) => add(chart, new.mark(), &new.pick, card)?,
            Some(What::Halo(new)) => add(chart, new.mark(), &new.pick, card)?,
            Some(What::Lettering(new)) => add_plain(chart, new.mark(), card)?,
            Some(What::Stitches(new)) if new.how.is_given() || new.pick.show.is_some() => {
                add(chart, new.mark(), &new.pick, card)?
            }
            Some(What::Stitches(new)) => {
                let error = MarkError::NothingAsked { mark: new.mark().name().to_owned() };
                return Err(Failure::new(error, "give --stitch, --strands or --add").into());
            }
            Some(What::Key(new)) => add_plain(chart, new.mark(), card)?,
            Some(What::Change(by)) => change::change(chart, by, card).map(|()| None)?,
            Some(What::Move(by)) => change::shift(chart, by).map(|()| None)?,
            Some(What::Remove(names)) => change::remove(chart, names).map(|()| None)?,
            Some(What::Reorder(order)) => change::reorder(chart, order).map(|()| None)?,
        };
        shown.map_or(Ok(()), |(path, region)| Err(Ended::Shown(path, region)))
    })
}

fn step_failure(error: brede::chart::StepError) -> Failure {
    Failure::new(
        error,
        "brede mark CHART list shows what the chart has now; every change is kept in the chart itself",
    )
}

pub(super) fn run(args: &MarkArgs) -> Result<(), Failure> {
    let elsewhere = args.output.as_ref().is_some_and(|output| !is_same_file(output, &args.chart));
    // Another who changes it waits until this change is done, and then builds on it.
    let _held = match args.what {
        Some(What::List) => None,
        _ => Some(super::files::hold(&args.chart)?),
    };
    let read_bytes = read(&args.chart, "give a NAME.chart.json that brede wrote")?;
    let mut chart = chart_of(&args.chart, &read_bytes)?;
    if !args.quiet {
        let strays = desk::apart_before_change(&args.chart, chart.stamp());
        strays.iter().for_each(|strays| tell::warning(&words::warning(strays)));
    }
    let before = chart.stamp();
    match &args.what {
        Some(What::Undo) => drop(chart.undo().map_err(step_failure)?),
        Some(What::Redo) => drop(chart.redo().map_err(step_failure)?),
        _ => {
            let card = card(args.shades.as_deref())?;
            match change(args, &mut chart, &card) {
                Ok(()) => {}
                Err(Ended::Shown(path, region)) => return Ok(tell::result(&chosen(&path, &region))?),
                Err(Ended::Failed(failure)) => return Err(failure),
            }
        }
    }
    let composed = brede::printing::worked(&chart).map_err(mark_failure)?;
    if !args.quiet {
        for warning in desk::Warning::of_marks(&chart, &composed) {
            tell::warning(&words::warning(&warning));
        }
    }
    if let Some(path) = &args.sketch {
        write_picture(path, &picture::sketch(&composed, 14))?;
    }
    if chart.stamp() != before || args.output.is_some() {
        let path = args.output.as_ref().unwrap_or(&args.chart);
        if elsewhere {
            chart.copy_as(&path.file_name().unwrap_or_default().to_string_lossy(), &before);
        }
        // Over what was read, another's change since then must not be lost; another chart is merely kept.
        let before = if elsewhere { super::guard::over() } else { Over::Read(&read_bytes) };
        save_chart(path, &chart, before)?;
    }
    let listed = matches!(args.what, Some(What::List));
    if listed || !args.quiet {
        tell::result(&if listed { list(&chart, &composed) } else { summary(&chart, &composed) })?;
    }
    Ok(())
}

fn is_same_file(one: &Path, two: &Path) -> bool {
    matches!((std::fs::canonicalize(one), std::fs::canonicalize(two)), (Ok(one), Ok(two)) if one == two)
}

fn write_picture(path: &Path, picture: &image::RgbImage) -> Result<(), Failure> {
    save(path, &picture::png(picture)?)
}

fn from_file(path: &Path, chart: &Chart, card: &ShadeCard) -> Result<Vec<Mark>, Failure> {
    let text = read_text(path, "give a TOML file of marks; brede mark --help shows one")?;
    let folder = path.parent().unwrap_or(Path::new("."));
    MarkFile::parse(&text)
        .and_then(|file| {
            file.resolve(&Resolver::new(chart, card), chart.size(), |mask| bytes(&folder.join(mask)))
        })
        .map_err(file_failure)
}

/// Puts a mark in the place of the one of its name, else over all others.
fn put(chart: &mut Chart, mark: Mark) {
    match chart.marks.iter_mut().find(|old| old.name() == mark.name()) {
        Some(old) => *old = old.changed(mark),
        None => chart.marks.push(mark.into()),
    }
}

/// Threads found and masks read.
fn resolved(chart: &Chart, mark: Mark<String>, card: &ShadeCard) -> Result<Mark, Failure> {
    let file = MarkFile { marks: vec![mark] };
    let mut marks = file
        .resolve(&Resolver::new(chart, card), chart.size(), |path| bytes(Path::new(path)))
        .map_err(file_failure)?;
    Ok(marks.pop().expect("one mark was resolved"))
}

fn add_plain(chart: &mut Chart, mark: Mark<String>, card: &ShadeCard) -> Result<Shown, Failure> {
    refuse_same_name(chart, mark.name())?;
    let mark = resolved(chart, mark, card)?;
    chart.marks.push(mark.into());
    Ok(None)
}

fn refuse_same_name(chart: &Chart, name: &str) -> Result<(), Failure> {
    if chart.marks.iter().any(|mark| mark.name() == name) {
        let error = MarkError::SameName { name: name.to_owned() };
        return Err(Failure::new(error, "choose another name, or use brede mark CHART change NAME"));
    }
    Ok(())
}

#[derive(Debug, thiserror::Error)]
#[error("mark `{mark}`: no cell is chosen")]
struct NothingChosen {
    mark: String,
}

type Shown = Option<(PathBuf, Region)>;

/// What a choice that was only looked at comes to.
fn chosen(path: &Path, region: &Region) -> String {
    let place = region.extent().map_or_else(String::new, |[left, top, right, bottom]| {
        format!(", columns {} to {}, rows {} to {}", left + 1, right + 1, top + 1, bottom + 1)
    });
    format!("{}: {} cells chosen{place}; the chart is as it was\n", path.display(), region.count())
}

/// Adds a mark round a motif, or only shows what it would be round.
fn add(
    chart: &mut Chart,
    mark: Mark<String>,
    pick: &new::PickArgs,
    card: &ShadeCard,
) -> Result<Shown, Failure> {
    refuse_same_name(chart, mark.name())?;
    let mark = if pick.show.is_some() {
        // A choice that is only shown needs no thread; any will do.
        let code = chart.needles().first().map(|needle| needle.threads[0].code.clone());
        let code = code.unwrap_or_else(|| card.shades()[0].code.clone());
        mark.with_threads(|_, _| Ok::<_, Failure>(code.clone()))?
    } else {
        mark
    };
    let mark = resolved(chart, mark, card)?;
    let motif = mark.motif().expect("only marks round a motif come here");
    let region = marks::choose(chart, motif, mark.name()).map_err(mark_failure)?;
    if let Some(path) = &pick.show {
        write_picture(path, &picture::show(chart, &region, 14))?;
        return Ok(Some((path.clone(), region)));
    }
    if region.is_empty() {
        let error = NothingChosen { mark: mark.name().to_owned() };
        return Err(Failure::new(
            error,
            "choose with --at, --needle, --rectangle, --ellipse, --polygon, --mask or --stitched; --show PNG shows what is chosen",
        ));
    }
    chart.marks.push(mark.into());
    Ok(None)
}

fn stitches(lines: &[WorkedLine], name: &str) -> (usize, f64) {
    let own = lines.iter().filter(|line| line.mark == name);
    own.fold((0, 0.0), |(count, length), line| (count + line.stitches().count(), length + line.length()))
}

/// A line a mark: name, kind, thread and what it comes to.
fn list(chart: &Chart, composed: &Composed) -> String {
    let cell = chart.cloth.count.cell().mm();
    let mut text = String::new();
    for (at, mark) in chart.marks.iter().enumerate() {
        let threads = match mark.mark() {
            Mark::Stitches(mark) => {
                let cells = chart.region(at).map_or(0, |region| region.count());
                let cells = counted(cells as u64, "cell");
                text.push_str(&format!("{}: stitches, {}, {cells}\n", mark.name, stitches::said(mark)));
                continue;
            }
            Mark::Outline(mark) => &mark.thread,
            Mark::Halo(mark) => &mark.thread,
            Mark::Lettering(mark) => &mark.thread,
            Mark::Key(mark) => &mark.thread,
        };
        let threads: Vec<String> =
            threads.iter().map(|thread| format!("{} of {}", thread.strands, thread.code)).collect();
        let (count, length) = stitches(&composed.lines, mark.name());
        let pattern = composed.lines.iter().find(|line| line.mark == mark.name() && line.closed);
        let line = match (count, pattern) {
            (0, _) => String::new(),
            (_, Some(line)) => {
                format!(", {count} backstitches, {:.1} cm, {}", length * cell / 10.0, line.pattern.name())
            }
            (_, None) => format!(", {count} backstitches, {:.1} cm", length * cell / 10.0),
        };
        let label = mark.label().filter(|label| *label != mark.name());
        let label = label.map(|label| format!(" \"{label}\"")).unwrap_or_default();
        text.push_str(&format!("{}: {}{label}, {}{line}\n", mark.name(), mark.kind(), threads.join(" + ")));
    }
    if text.is_empty() {
        text.push_str("no marks\n");
    }
    text
}

fn summary(chart: &Chart, composed: &Composed) -> String {
    let worked = &composed.chart;
    let (width, height) = worked.finished();
    let grown = if worked.size() == chart.size() {
        String::new()
    } else {
        format!(", the design itself {}", chart.size())
    };
    format!(
        "{}: {}; worked {} cells{grown}, {:.1} x {:.1} cm; {} for crosses, {} of backstitch\n",
        chart.title,
        counted(chart.marks.len() as u64, "mark"),
        worked.size(),
        width.cm(),
        height.cm(),
        counted(worked.needles().len() as u64, "thread"),
        counted(composed.lines.len() as u64, "line"),
    )
}
