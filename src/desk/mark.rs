//! Marks: what is laid over a chart, changed and taken off again; and steps back and on.

mod change;
mod numbers;
mod report;

use serde::Serialize;

use super::files::{Files, Output};
use super::memory;
use super::set::apart_before_change;
use super::{Error, Heavy, Replace, Report, Source, Target, Wanted, Warning, What, Written};
use crate::chart::marks::{self, FileError, MarkFile, Resolver, agree_with};
use crate::chart::{Chart, Done, Stamp};
use crate::ground::progress::Progress;
use crate::making::photo::{Limits, Photo};
use crate::printing::picture;
use crate::thread::shades::ShadeCard;

// What marks are made of.
pub use super::setting::MarkSetting;
pub use crate::chart::mark::{
    Change, Course, Halo, Holes, Key, LetterAlign, LetterFace, LetterStyle, Lettering, MarkKind, Motif,
    Outline, Pick, PickedCells, Place, Sample, Stitches, Touching, Turn,
};
pub use crate::chart::{LinePattern, LineStitch, Mark, MarkId};
pub use change::MarkSettings;
pub use numbers::{Corners, CornersError, Numbers, NumbersError};
pub use report::{MarkFigures, MarkReport, StrandsOf};

/// The side of a cell in pictures of marks, in pixels: lines and symbols of letters are told apart, and the widest chart
/// stays below 30,000.
const SKETCH_CELL: u32 = 14;

/// What is to become of the marks of a chart.
#[derive(Debug, Clone)]
pub struct MarkRequest {
    /// The chart.
    pub chart: Source,
    /// A card for threads that the chart does not have; else its own, then the demonstration card.
    pub card: Option<Source>,
    /// What is to be done, one after the other; nothing where marks are only looked at.
    pub changes: Vec<MarkChange>,
    /// Pictures of masks that marks name; others are files.
    pub masks: Vec<Source>,
    /// Where a picture of the chart with its marks goes.
    pub sketch: Option<Target>,
    /// Where the chart goes, as one of its own; else the chart itself is changed.
    pub output: Option<Target>,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// A change of the marks of a chart.
#[derive(Debug, Clone, PartialEq)]
pub enum MarkChange {
    /// Marks of a file: new ones are added, those with a name that is there take its place.
    Take {
        /// A TOML text; the pictures that it names stand beside it.
        marks: Source,
    },
    /// Another mark, over all others.
    Add {
        /// What is asked for, its threads as a person writes them.
        mark: Box<Mark<String>>,
    },
    /// A mark asked for otherwise.
    Change {
        /// Its name.
        name: String,
        /// What is other.
        to: Box<MarkSettings>,
    },
    /// A mark at another place.
    Move {
        /// Its name.
        name: String,
        /// So many columns to the right and rows down.
        by: [i32; 2],
    },
    /// Marks taken off: all that are named or, where one is not there, none.
    Remove {
        /// Which.
        marks: Which,
    },
    /// A mark laid over or under others.
    Reorder {
        /// Its name.
        name: String,
        /// Where it goes.
        to: Order,
    },
}

/// Which marks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    /// All.
    All,
    /// Those of these names.
    Named(Vec<String>),
}

/// A place in the order of marks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Order {
    /// Over all others.
    Top,
    /// Under all others.
    Bottom,
    /// Just over the mark of this name.
    Over(String),
    /// Just under the mark of this name.
    Under(String),
}

/// Which step is to be gone.
#[derive(Debug, Clone)]
pub struct StepRequest {
    /// The chart.
    pub chart: Source,
    /// Where a picture of the chart with its marks goes.
    pub sketch: Option<Target>,
    /// Where the chart goes, as one of its own; else the chart itself is changed.
    pub output: Option<Target>,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// Changes the marks of a chart, or looks at them.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn mark(request: &MarkRequest, progress: &dyn Progress) -> Result<MarkReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    if !request.changes.is_empty() && request.output.is_none() {
        files.hold(&request.chart)?;
    }
    let ends =
        Ends { source: &request.chart, output: request.output.as_ref(), sketch: request.sketch.as_ref() };
    let (mut chart, from) = begun(&mut files, &ends)?;
    let card = request.card.as_ref().map(|card| files.card(card)).transpose()?;
    let demonstration = ShadeCard::demonstration();
    let mut desk =
        Marking { files: &mut files, card: card.as_ref(), demonstration: &demonstration, request, progress };
    for change in &request.changes {
        desk.change(&mut chart, change)?;
    }
    finish(files, Ended { chart, from, done: None }, ends, progress)
}

/// Takes back the last change of a chart, whatever it was; again, the one before it.
///
/// # Errors
/// [`Error`] where there is none, or the chart is not what it left; then nothing is written.
pub fn undo(request: &StepRequest, progress: &dyn Progress) -> Result<MarkReport, Error> {
    step(request, progress, Chart::undo)
}

/// Does the change of a chart again that was taken back last.
///
/// # Errors
/// [`Error`] where there is none, or the chart is not what it found; then nothing is written.
pub fn redo(request: &StepRequest, progress: &dyn Progress) -> Result<MarkReport, Error> {
    step(request, progress, Chart::redo)
}

fn step(
    request: &StepRequest,
    progress: &dyn Progress,
    go: impl FnOnce(&mut Chart) -> Result<Done, crate::chart::StepError>,
) -> Result<MarkReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    if request.output.is_none() {
        files.hold(&request.chart)?;
    }
    let ends =
        Ends { source: &request.chart, output: request.output.as_ref(), sketch: request.sketch.as_ref() };
    let (mut chart, from) = begun(&mut files, &ends)?;
    let done = go(&mut chart)?;
    finish(files, Ended { chart, from, done: Some(done) }, ends, progress)
}

/// Where a chart comes from and goes to.
struct Ends<'a> {
    source: &'a Source,
    output: Option<&'a Target>,
    sketch: Option<&'a Target>,
}

/// Reads the chart; what could not be written is refused, and what does not belong to the chart as it is is told.
fn begun(files: &mut Files, ends: &Ends) -> Result<(Chart, Stamp), Error> {
    let chart = files.chart(ends.source)?;
    let from = chart.stamp();
    for (what, target) in [(What::Sketch, ends.sketch), (What::Chart, ends.output)] {
        target.into_iter().try_for_each(|target| files.may_write(what, target))?;
    }
    files.warnings.extend(ends.source.path().and_then(|path| apart_before_change(path, from)));
    Ok((chart, from))
}

/// A chart when all is done, and what it was when it was read.
struct Ended {
    chart: Chart,
    from: Stamp,
    done: Option<Done>,
}

/// Works the marks and writes what is to be written.
fn finish(mut files: Files, ended: Ended, ends: Ends, progress: &dyn Progress) -> Result<MarkReport, Error> {
    let Ended { mut chart, from, done } = ended;
    let composed = files.worked(&chart)?;
    if ends.sketch.is_some() {
        let size = composed.chart.size();
        files.may_take(Heavy::Marked(size), memory::sketch(size, SKETCH_CELL))?;
    }
    let warnings = Warning::of_marks(&chart, &composed);
    files.warnings.extend(warnings);
    let stem = ends.source.set();
    let mut outputs = Vec::new();
    if let Some(target) = ends.sketch {
        let picture = picture::sketch(&composed, SKETCH_CELL);
        let bytes = picture::png(picture, progress)?;
        let name = format!("{stem}.marks.png");
        outputs.push(Output { what: What::Sketch, target: target.clone(), name, bytes });
    }
    if chart.stamp() != from || ends.output.is_some() {
        let own = ends.source.as_target();
        let target = ends.output.cloned().unwrap_or_else(|| own.clone());
        let name = target.file_name().unwrap_or_else(|| format!("{stem}.chart.json"));
        if !target.is_same_as(&own) {
            chart.copy_as(&name, &from);
        }
        files.belong_only_to(&chart);
        let bytes = files.chart_bytes(&mut chart)?;
        outputs.push(Output { what: What::Chart, target, name, bytes });
    }
    let written = files.write(outputs)?;
    Ok(MarkReport::of(&chart, &composed, done, (files.warnings, written)))
}

/// What changes of marks need beside the chart.
struct Marking<'a, 'p> {
    files: &'a mut Files<'p>,
    card: Option<&'a ShadeCard>,
    demonstration: &'a ShadeCard,
    request: &'a MarkRequest,
    progress: &'a dyn Progress,
}

impl<'a> Marking<'a, '_> {
    fn change(&mut self, chart: &mut Chart, change: &MarkChange) -> Result<(), Error> {
        match change {
            MarkChange::Take { marks } => self.take(chart, marks),
            MarkChange::Add { mark } => self.add(chart, mark),
            MarkChange::Change { name, to } => {
                let done = Done::MarkChanged { mark: name.clone() };
                chart.change(done, |chart| self.reset(chart, name, to))
            }
            MarkChange::Move { name, by } => {
                let done = Done::MarkMoved { mark: name.clone(), by: *by };
                chart.change(done, |chart| change::shift(chart, name, *by))
            }
            MarkChange::Remove { marks } => {
                let names = match marks {
                    Which::All => chart.marks.iter().map(|mark| mark.name().to_owned()).collect(),
                    Which::Named(names) => names.clone(),
                };
                for name in &names {
                    change::position(chart, name)?;
                }
                chart.change(Done::MarksRemoved { marks: names.clone() }, |chart| {
                    chart.marks.retain(|mark| !names.iter().any(|name| name == mark.name()));
                    Ok(())
                })
            }
            MarkChange::Reorder { name, to } => {
                let done = Done::MarkReordered { mark: name.clone() };
                chart.change(done, |chart| change::reorder(chart, name, to))
            }
        }
    }

    fn resolver<'c>(&self, chart: &'c Chart) -> Resolver<'c>
    where
        'a: 'c,
    {
        match self.card {
            Some(card) => Resolver::new(chart, card),
            None => Resolver::of_chart(chart, self.demonstration),
        }
    }

    /// Threads found and masks read.
    fn resolved(
        &mut self,
        chart: &Chart,
        marks: MarkFile,
        beside: Option<&Source>,
    ) -> Result<Vec<Mark>, Error> {
        let resolver = self.resolver(chart);
        let masks = &self.request.masks;
        let (files, progress) = (&mut *self.files, self.progress);
        let limits = files.limits;
        let read = |name: &str| {
            let held = masks.iter().find(|mask| mask.to_string() == name);
            let path = || match beside.and_then(Source::path).and_then(std::path::Path::parent) {
                Some(folder) => Source::Path(folder.join(name)),
                None => Source::Path(name.into()),
            };
            let source = held.cloned().unwrap_or_else(path);
            let bytes = files.bytes(&source, Wanted::Mask).map_err(|error| match error {
                Error::Read { source, .. } => source.into(),
                other => Box::new(other) as Box<dyn std::error::Error + Send + Sync>,
            })?;
            // Small files can claim to be vast, and may be cut short: masks are read as photos are.
            Ok(Photo::read(name, &bytes, &limits, progress)?.into_pixels())
        };
        Ok(marks.resolve(&resolver, chart.size(), read)?)
    }

    fn take(&mut self, chart: &mut Chart, source: &Source) -> Result<(), Error> {
        let text = self.files.text(source, Wanted::Marks)?;
        let marks = self.resolved(chart, MarkFile::parse(&text)?, Some(source))?;
        marks.iter().try_for_each(change::on_one_line)?;
        let names = marks.iter().map(|mark| mark.name().to_owned()).collect();
        chart.change(Done::MarksTaken { marks: names }, |chart| {
            agree_with(chart, &marks);
            for mark in marks {
                match chart.marks.iter_mut().find(|old| old.name() == mark.name()) {
                    Some(old) => *old = old.changed(mark),
                    None => chart.marks.push(mark.into()),
                }
            }
            Ok(())
        })
    }

    fn add(&mut self, chart: &mut Chart, mark: &Mark<String>) -> Result<(), Error> {
        change::refuse_same_name(chart, mark.name())?;
        if let Mark::Stitches(mark) = mark
            && mark.stitch.is_none()
            && mark.strands.is_none()
            && mark.add.is_none()
        {
            return Err(Error::NothingAsked { mark: mark.name.clone() });
        }
        let done = Done::MarkAdded { mark: mark.name().to_owned(), of: mark.kind().to_string() };
        let mark = self.one(chart, mark.clone())?;
        change::on_one_line(&mark)?;
        if let Some(motif) = mark.motif() {
            something(chart, motif, mark.name())?;
        }
        chart.change(done, |chart| {
            agree_with(chart, [&mark]);
            chart.marks.push(mark.into());
            Ok(())
        })
    }

    fn one(&mut self, chart: &Chart, mark: Mark<String>) -> Result<Mark, Error> {
        let mut marks = self.resolved(chart, MarkFile { marks: vec![mark] }, None)?;
        Ok(marks.pop().expect("one mark was resolved"))
    }

    /// The motif with the pictures of its masks read.
    fn motif(&mut self, chart: &Chart, mark: &Mark, motif: Motif) -> Result<Motif, Error> {
        // Any thread will do: it is not kept.
        let code = chart.needles().first().map(|needle| needle.threads[0].code.clone());
        let code = code.unwrap_or_else(|| self.demonstration.shades()[0].code.clone());
        let mut asked = mark.clone().with_threads(|_, _| Ok::<_, Error>(code.clone()))?;
        if let Some(old) = asked.motif_mut() {
            *old = motif;
        }
        Ok(self.one(chart, asked)?.motif().cloned().unwrap_or_default())
    }

    /// Changes what is other of a mark.
    fn reset(&mut self, chart: &mut Chart, name: &str, to: &MarkSettings) -> Result<(), Error> {
        let at = change::position(chart, name)?;
        let mut mark = chart.marks[at].mark().clone();
        to.set_threads(&mut mark, &self.resolver(chart))?;
        to.set(&mut mark)?;
        if let Some(motif) = &to.motif {
            // A background would else fill up with what it lies round.
            let own = mark.motif().map(|motif| motif.holes);
            let Some(holes) = own else { return Err(change::misfit(MarkSetting::Cells, &mark)) };
            let is_area = matches!(mark, Mark::Stitches(_));
            let holes = to.holes.unwrap_or(if is_area { holes } else { motif.holes });
            let motif = self.motif(chart, &mark, Motif { holes, ..motif.clone() })?;
            something(chart, &motif, name)?;
            if let Some(old) = mark.motif_mut() {
                *old = motif;
            }
        }
        if let Some(new) = &to.name {
            change::refuse_same_name(chart, new)?;
            mark.rename(new.clone());
        }
        if to.name.is_some() || to.label.is_some() {
            change::on_one_line(&mark)?;
        }
        agree_with(chart, [&mark]);
        chart.marks[at] = chart.marks[at].changed(mark);
        Ok(())
    }
}

/// Holds a motif to some cells.
fn something(chart: &Chart, motif: &Motif, name: &str) -> Result<(), Error> {
    if marks::choose(chart, motif, name)?.is_empty() {
        return Err(Error::NothingChosen { mark: name.to_owned() });
    }
    Ok(())
}

/// Which cells are to be looked at, before a mark is made of them.
#[derive(Debug, Clone)]
pub struct ChooseRequest {
    /// The chart.
    pub chart: Source,
    /// What the mark would be called.
    pub name: String,
    /// The cells.
    pub motif: Motif,
    /// Pictures of masks that it names; others are files.
    pub masks: Vec<Source>,
    /// Where a picture of the chart with these cells goes.
    pub picture: Target,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// Cells that were looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChooseReport {
    /// How many.
    pub cells: usize,
    /// The first and last columns and rows, from 1: left, top, right, bottom; nothing where there are none.
    pub extent: Option<[i32; 4]>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for ChooseReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Shows the cells that a mark would be about; the chart stays as it is.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn choose(request: &ChooseRequest, progress: &dyn Progress) -> Result<ChooseReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let chart = files.chart(&request.chart)?;
    let demonstration = ShadeCard::demonstration();
    let look = MarkRequest {
        chart: request.chart.clone(),
        card: None,
        changes: Vec::new(),
        masks: request.masks.clone(),
        sketch: None,
        output: None,
        limits: request.limits,
        replace: request.replace,
    };
    let mut desk =
        Marking { files: &mut files, card: None, demonstration: &demonstration, request: &look, progress };
    let any = Mark::Halo(Halo {
        name: request.name.clone(),
        label: None,
        motif: Motif::default(),
        thread: Vec::new(),
        wide: 1,
        away: 0,
    });
    let motif = desk.motif(&chart, &any, request.motif.clone())?;
    files.may_take(Heavy::Marked(chart.size()), memory::sketch(chart.size(), SKETCH_CELL))?;
    let region = marks::choose(&chart, &motif, &request.name)?;
    let bytes = picture::png(picture::show(&chart, &region, SKETCH_CELL), progress)?;
    let name = format!("{}.png", request.name);
    let output = Output { what: What::Sketch, target: request.picture.clone(), name, bytes };
    Ok(ChooseReport {
        cells: region.count(),
        extent: region.extent().map(|extent| extent.map(|at| at + 1)),
        files: files.write(vec![output])?,
        warnings: files.warnings,
    })
}

impl From<FileError> for Error {
    fn from(error: FileError) -> Self {
        Self::MarkFile(error)
    }
}

#[cfg(test)]
mod tests;
