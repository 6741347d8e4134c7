//! What marks come to, as figures.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::chart::mark::MarkKind;
use crate::chart::marks::Composed;
use crate::chart::{Chart, Done, LinePattern, Mark, MarkId, Stamp, Thread, WorkedLine};
use crate::desk::figures::places3;
use crate::desk::{Report, Warning, Written};
use crate::ground::units::{GridSize, Millimetres};
use crate::planning::ThreadCount;
use crate::thread::cloth::StitchKind;

/// So many strands of a thread.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StrandsOf {
    /// How many.
    pub strands: u8,
    /// The thread's code.
    pub code: String,
}

/// What a mark comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MarkFigures {
    /// Its id, which stays.
    pub id: Option<MarkId>,
    /// Its name.
    pub name: String,
    /// Its kind, such as `outline`.
    #[serde(rename = "mark")]
    pub kind: MarkKind,
    /// What the key says of it, if anything.
    pub label: Option<String>,
    /// Its threads; those that join others, in an area.
    pub threads: Vec<StrandsOf>,
    /// The kind of stitch that it asks for, in an area.
    pub stitch: Option<StitchKind>,
    /// The strands that it asks for, in an area.
    pub strands: Option<u8>,
    /// The cells that it is about, where it is about any.
    pub cells: Option<usize>,
    /// Its backstitches.
    pub backstitches: usize,
    /// Their length in front of the cloth in millimetres, which may be kilometres.
    #[serde(serialize_with = "places3")]
    pub length_mm: f64,
    /// How its outline is drawn.
    pub pattern: Option<LinePattern>,
}

/// What came of a change of marks, or of a look at them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MarkReport {
    /// What the chart is called.
    pub title: String,
    /// Which chart it is now.
    pub chart: Stamp,
    /// The size of the design.
    pub size: GridSize,
    /// The size with what marks add at its sides.
    pub worked: GridSize,
    /// Its width and height on the cloth.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// Needles for crosses.
    pub needles: usize,
    /// Threads, those of outlines among them.
    pub threads: ThreadCount,
    /// Lines of backstitch.
    pub lines: usize,
    /// The marks, the lowest first.
    pub marks: Vec<MarkFigures>,
    /// The step that was taken back, or done again.
    pub step: Option<Done>,
    /// So many steps can be taken back.
    pub can_undo: usize,
    /// So many can be done again.
    pub can_redo: usize,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for MarkReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

impl MarkReport {
    pub(super) fn of(
        chart: &Chart,
        composed: &Composed,
        step: Option<Done>,
        (warnings, files): (Vec<Warning>, Vec<Written>),
    ) -> Self {
        let (width, height) = composed.chart.finished();
        let mut lines: BTreeMap<&str, Vec<&WorkedLine>> = BTreeMap::new();
        for line in &composed.lines {
            lines.entry(&line.mark).or_default().push(line);
        }
        let figures = |(at, mark): (usize, &Mark)| {
            figures(chart, lines.get(mark.name()).map_or(&[], Vec::as_slice), at, mark)
        };
        Self {
            title: chart.title.clone(),
            chart: chart.stamp(),
            size: chart.size(),
            worked: composed.chart.size(),
            finished: [width, height],
            needles: composed.chart.needles().len(),
            threads: ThreadCount::of(&composed.chart, &composed.lines),
            lines: composed.lines.len(),
            marks: chart.marks.iter().map(|mark| mark.mark()).enumerate().map(figures).collect(),
            step,
            can_undo: chart.steps().done().count(),
            can_redo: chart.steps().undone().count(),
            warnings,
            files,
        }
    }
}

fn figures(chart: &Chart, own: &[&WorkedLine], at: usize, mark: &Mark) -> MarkFigures {
    let threads = match mark {
        Mark::Outline(mark) => mark.thread.as_slice(),
        Mark::Halo(mark) => &mark.thread,
        Mark::Lettering(mark) => &mark.thread,
        Mark::Key(mark) => &mark.thread,
        Mark::Backstitch(mark) => &mark.thread,
        Mark::Stitches(mark) => mark.add.as_deref().unwrap_or_default(),
    };
    let strands_of = |thread: &Thread| StrandsOf { strands: thread.strands, code: thread.code.clone() };
    let (stitch, strands) = match mark {
        Mark::Stitches(mark) => (mark.stitch, mark.strands),
        _ => (None, None),
    };
    let cells: f64 = own.iter().map(|line| line.length()).sum();
    let cell = chart.cloth.count.cell().mm();
    MarkFigures {
        id: chart.marks[at].id(),
        name: mark.name().to_owned(),
        kind: mark.kind(),
        label: mark.label().map(str::to_owned),
        threads: threads.iter().map(strands_of).collect(),
        stitch,
        strands,
        cells: mark.motif().and_then(|_| chart.region(at).ok()).map(|region| region.count()),
        backstitches: own.iter().map(|line| line.stitches().count()).sum(),
        length_mm: cells * cell,
        pattern: own.iter().find(|line| line.closed).map(|line| line.pattern),
    }
}
