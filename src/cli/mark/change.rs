//! Changes to marks that are there.

use brede::chart::mark::{Course, LetterFace, Motif, Needed, PickedCells, Place};
use brede::chart::marks::Resolver;
use brede::chart::{Chart, Done, LinePattern, Mark, Thread};
use brede::thread::shades::ShadeCard;
use clap::Args;

use super::new::{Numbers, PickArgs, by_name};
use super::stitches::HowArgs;
use super::{Failure, refuse_same_name};

#[derive(Debug, thiserror::Error)]
enum ChangeError {
    #[error("the chart has no mark called `{name}`")]
    NoSuchMark { name: String },
    #[error("mark `{name}` is {kind}: {option} does not go with it")]
    DoesNotFit { name: String, kind: &'static str, option: &'static str },
    #[error("nothing to move: mark `{name}` holds no place of its own")]
    NoPlace { name: String },
}

fn no_such(chart: &Chart, name: &str) -> Failure {
    let names: Vec<&str> = chart.marks.iter().map(|mark| mark.name()).collect();
    let hint =
        if names.is_empty() { "it has none yet".to_owned() } else { format!("it has: {}", names.join(", ")) };
    Failure::new(ChangeError::NoSuchMark { name: name.to_owned() }, hint)
}

fn position(chart: &Chart, name: &str) -> Result<usize, Failure> {
    chart.marks.iter().position(|mark| mark.name() == name).ok_or_else(|| no_such(chart, name))
}

#[derive(Debug, Args)]
pub(super) struct ChangeArgs {
    /// The mark
    name: String,
    /// Call it something else
    #[arg(long, value_name = "NAME")]
    rename: Option<String>,
    /// Another thread
    #[arg(long)]
    thread: Option<String>,
    /// Another label
    #[arg(long)]
    label: Option<String>,
    /// Another way to draw an outline
    #[arg(long, value_parser = by_name::<LinePattern>)]
    pattern: Option<LinePattern>,
    /// eased or exact, for an outline
    #[arg(long, value_parser = by_name::<Course>)]
    course: Option<Course>,
    /// The longest stitch of an outline, in cells
    #[arg(long, value_name = "CELLS")]
    longest: Option<f64>,
    /// Other letters
    #[arg(long)]
    text: Option<String>,
    /// Another face, for letters and the key
    #[arg(long, value_parser = by_name::<LetterFace>)]
    face: Option<LetterFace>,
    /// Another title of the key
    #[arg(long)]
    title: Option<String>,
    /// Another date in the key
    #[arg(long)]
    date: Option<String>,
    /// Other initials in the key
    #[arg(long)]
    initials: Option<String>,
    #[command(flatten)]
    how: HowArgs,
    #[command(flatten)]
    pick: PickArgs,
}

/// Changes what was given of a mark.
pub(super) fn change(chart: &mut Chart, args: &ChangeArgs, card: &ShadeCard) -> Result<(), Failure> {
    let at = position(chart, &args.name)?;
    let mut mark = chart.marks[at].mark().clone();
    if let Some(text) = &args.thread {
        set_thread(&mut mark, text, &Resolver::new(chart, card))?;
    }
    let (name, kind) = (args.name.clone(), mark.kind());
    let misfit = |option: &'static str| {
        let error = ChangeError::DoesNotFit { name: name.clone(), kind, option };
        Failure::new(error, "brede mark --help shows what each kind of mark takes")
    };
    if let Some(label) = &args.label {
        match &mut mark {
            Mark::Outline(mark) => mark.label = Some(label.clone()),
            Mark::Halo(mark) => mark.label = Some(label.clone()),
            _ => return Err(misfit("--label")),
        }
    }
    if args.pattern.is_some() || args.course.is_some() || args.longest.is_some() {
        let Mark::Outline(outline) = &mut mark else {
            return Err(misfit("--pattern, --course or --longest"));
        };
        outline.pattern = args.pattern.or(outline.pattern);
        outline.course = args.course.unwrap_or(outline.course);
        outline.longest = args.longest.unwrap_or(outline.longest);
    }
    if let Some(text) = &args.text {
        let Mark::Lettering(lettering) = &mut mark else { return Err(misfit("--text")) };
        lettering.text = text.replace("\\n", "\n");
    }
    if let Some(face) = args.face {
        match &mut mark {
            Mark::Lettering(mark) => mark.style.face = face,
            Mark::Key(mark) => mark.face = face,
            _ => return Err(misfit("--face")),
        }
    }
    if args.title.is_some() || args.date.is_some() || args.initials.is_some() {
        let Mark::Key(key) = &mut mark else { return Err(misfit("--title, --date or --initials")) };
        key.title = args.title.clone().or(key.title.take());
        key.date = args.date.clone().or(key.date.take());
        key.initials = args.initials.clone().or(key.initials.take());
    }
    if args.how.is_given() {
        let Mark::Stitches(stitches) = &mut mark else {
            return Err(misfit("--stitch, --strands or --add"));
        };
        args.how.change(stitches);
        if let Some(text) = &args.how.add {
            stitches.add = Some(found(&Resolver::new(chart, card), text, Needed::Strand)?);
        }
    }
    if args.pick.is_given() {
        // A background would else fill up with what it lies round.
        let holes = match &mark {
            Mark::Stitches(mark) if !args.pick.keep_holes => mark.motif.holes,
            _ => args.pick.motif().holes,
        };
        let Some(motif) = mark.motif_mut() else { return Err(misfit("a choice of cells")) };
        *motif = Motif { holes, ..args.pick.motif() };
        mark = with_masks(chart, mark, card)?;
    }
    if let Some(rename) = &args.rename {
        refuse_same_name(chart, rename)?;
        mark.rename(rename.clone());
    }
    chart.marks[at] = chart.marks[at].changed(mark);
    Ok(())
}

/// Reads the masks of new picks; the threads are there already.
fn with_masks(chart: &Chart, mark: Mark, card: &ShadeCard) -> Result<Mark, Failure> {
    let threads = mark.clone();
    let as_text = mark
        .with_threads(|threads, _| {
            let part = |thread: &Thread| format!("{} of {}", thread.strands, thread.code);
            Ok::<_, Failure>(threads.iter().map(part).collect::<Vec<_>>().join(" + "))
        })
        .and_then(|mark| super::resolved(chart, mark, card));
    let motif = as_text?.motif().cloned().unwrap_or_default();
    let mut mark = threads;
    if let Some(old) = mark.motif_mut() {
        *old = motif;
    }
    Ok(mark)
}

fn found(threads: &Resolver, text: &str, needed: Needed) -> Result<Vec<Thread>, Failure> {
    threads
        .threads(text, needed)
        .map_err(|error| Failure::advised(error, &brede::ground::advice::Advice::NameThread))
}

fn set_thread(mark: &mut Mark, text: &str, threads: &Resolver) -> Result<(), Failure> {
    let find = |needed| found(threads, text, needed);
    match mark {
        Mark::Outline(mark) => mark.thread = find(Needed::Line)?,
        Mark::Halo(mark) => mark.thread = find(Needed::Crosses)?,
        Mark::Lettering(mark) => mark.thread = find(Needed::letters(mark.style.face))?,
        Mark::Key(mark) => mark.thread = find(Needed::letters(mark.face))?,
        Mark::Stitches(mark) => {
            let (name, kind, option) = (mark.name.clone(), "stitches", "--thread");
            let error = ChangeError::DoesNotFit { name, kind, option };
            return Err(Failure::new(error, "the area keeps its threads; --add lays another with them"));
        }
    }
    Ok(())
}

#[derive(Debug, Args)]
pub(super) struct MoveArgs {
    /// The mark
    name: String,
    /// So many columns to the right and rows down; fewer than none to the left and up
    #[arg(value_name = "COLUMNS,ROWS", allow_hyphen_values = true)]
    by: Numbers<2>,
}

/// Moves letters, a key that stands free, and the places that a choice of cells names.
pub(super) fn shift(chart: &mut Chart, args: &MoveArgs) -> Result<(), Failure> {
    let at = position(chart, &args.name)?;
    let [dx, dy] = args.by.0;
    let moved = |[x, y]: [i32; 2]| [x.saturating_add(dx), y.saturating_add(dy)];
    let corners = |[a, b, c, d]: [i32; 4]| {
        let ([a, b], [c, d]) = (moved([a, b]), moved([c, d]));
        [a, b, c, d]
    };
    let mut any = false;
    let mut changed = chart.marks[at].mark().clone();
    match &mut changed {
        Mark::Lettering(mark) => (mark.at, any) = (moved(mark.at), true),
        Mark::Key(mark) => {
            if let Place::At(place) = &mut mark.place {
                (*place, any) = (moved(*place), true);
            }
        }
        mark => {
            for pick in mark.motif_mut().into_iter().flat_map(|motif| &mut motif.pick) {
                match &mut pick.cells {
                    PickedCells::At { cell, .. } => *cell = moved(*cell),
                    PickedCells::Rectangle(area) | PickedCells::Ellipse(area) => *area = corners(*area),
                    PickedCells::Polygon(points) => {
                        points.iter_mut().for_each(|point| *point = moved(*point))
                    }
                    _ => continue,
                }
                any = true;
            }
        }
    }
    if any {
        chart.marks[at] = chart.marks[at].changed(changed);
        return Ok(());
    }
    let error = ChangeError::NoPlace { name: args.name.clone() };
    Err(Failure::new(error, "choose other cells with brede mark CHART change NAME"))
}

#[derive(Debug, Args)]
pub(super) struct RemoveArgs {
    /// The marks
    #[arg(required_unless_present = "all")]
    names: Vec<String>,
    /// All of them
    #[arg(long, conflicts_with = "names")]
    all: bool,
}

/// Takes marks off: all that are named or, where one is not there, none.
pub(super) fn remove(chart: &mut Chart, args: &RemoveArgs) -> Result<(), Failure> {
    for name in &args.names {
        position(chart, name)?;
    }
    chart.marks.retain(|mark| !args.all && !args.names.iter().any(|name| name == mark.name()));
    Ok(())
}

#[derive(Debug, Args)]
#[group(required = true, multiple = false, id = "place")]
struct OrderArgs {
    /// Over all others
    #[arg(long)]
    top: bool,
    /// Under all others
    #[arg(long)]
    bottom: bool,
    /// Just over another mark
    #[arg(long, value_name = "NAME")]
    over: Option<String>,
    /// Just under another mark
    #[arg(long, value_name = "NAME")]
    under: Option<String>,
}

#[derive(Debug, Args)]
pub(super) struct ReorderArgs {
    /// The mark
    name: String,
    #[command(flatten)]
    to: OrderArgs,
}

/// Puts a mark elsewhere in the order.
pub(super) fn reorder(chart: &mut Chart, args: &ReorderArgs) -> Result<(), Failure> {
    let at = position(chart, &args.name)?;
    for other in args.to.over.iter().chain(&args.to.under) {
        position(chart, other)?;
    }
    let mark = chart.marks.remove(at);
    let last = chart.marks.len();
    let place = |name: &str| chart.marks.iter().position(|mark| mark.name() == name).unwrap_or(at.min(last));
    let to = match &args.to {
        OrderArgs { over: Some(name), .. } => (place(name) + 1).min(last),
        OrderArgs { under: Some(name), .. } => place(name),
        OrderArgs { bottom: true, .. } => 0,
        OrderArgs { .. } => last,
    };
    chart.marks.insert(to, mark);
    Ok(())
}

impl ChangeArgs {
    pub(super) fn done(&self) -> Done {
        Done::MarkChanged { mark: self.name.clone() }
    }
}

impl MoveArgs {
    pub(super) fn done(&self) -> Done {
        Done::MarkMoved { mark: self.name.clone(), by: self.by.0 }
    }
}

impl RemoveArgs {
    pub(super) fn done(&self, chart: &Chart) -> Done {
        let all = || chart.marks.iter().map(|mark| mark.name().to_owned()).collect();
        Done::MarksRemoved { marks: if self.all { all() } else { self.names.clone() } }
    }
}

impl ReorderArgs {
    pub(super) fn done(&self) -> Done {
        Done::MarkReordered { mark: self.name.clone() }
    }
}
