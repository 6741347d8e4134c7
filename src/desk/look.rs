//! A chart as it is drawn on a screen: its cells, its threads as they look on its cloth, its lines.

use serde::Serialize;

use super::figures::places3;
use super::files::Files;
use super::{Error, Replace, Report, Source, Warning, Written};
use crate::chart::marks::Composed;
use crate::chart::{Chart, LinePattern, Needle, PrintedShape, WorkedLine};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, tell};
use crate::ground::units::{GridSize, Millimetres};
use crate::planning::ThreadCount;
use crate::printing::symbols;
use crate::thread::cloth::{Cloth, CoverModel, StitchKind};

/// The font that holds brede's symbols; see [`LookNeedle::character`].
pub const SYMBOL_FONT: &[u8] = symbols::FONT;

/// The chart that is looked at.
#[derive(Debug, Clone)]
pub struct LookRequest {
    /// The chart.
    pub chart: Source,
}

/// A thread or a blend, as it is drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookNeedle {
    /// Its code, or codes.
    pub code: String,
    /// Its name, or names.
    pub name: String,
    /// Its symbol, as a character of [`SYMBOL_FONT`].
    pub character: char,
    /// The colour of the thread.
    pub colour: Srgb8,
    /// What is seen of it on the cloth, from a distance.
    pub seen: Srgb8,
    /// Strands in the needle.
    pub strands: u8,
    /// How its cells are worked.
    pub stitch: StitchKind,
    /// How many cells are worked in it.
    pub stitches: u64,
    /// The symbols that stand for it on the paper that the chart was read from, as outlines.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub printed: Vec<Vec<PrintedShape>>,
}

/// A line of backstitch, as it is drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookLine {
    /// What it stands for.
    pub label: String,
    /// The code of its thread, or codes.
    pub code: String,
    /// The colour of its thread.
    pub colour: Srgb8,
    /// How it is told from others.
    pub pattern: LinePattern,
    /// Its width, in cells.
    pub weight: f64,
    /// Dashes and gaps in turn, in cells; none for an unbroken line.
    pub dashes: &'static [f64],
    /// Its points in thousandths of a cell from the top left of the chart.
    pub points: Vec<[i32; 2]>,
    /// Whether the last is joined to the first.
    pub closed: bool,
}

/// A chart, marks worked in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookReport {
    /// What it is called.
    pub title: String,
    /// Columns and rows.
    pub size: GridSize,
    /// What it is worked on.
    pub cloth: Cloth,
    /// Width and height as finished.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// Cells that are worked.
    pub stitches: u64,
    /// Threads in all, those of lines among them.
    pub threads: usize,
    /// Its threads, in the chart's order.
    pub needles: Vec<LookNeedle>,
    /// Lines over the cells.
    pub lines: Vec<LookLine>,
    /// A byte a cell, row by row: the place of its needle, 255 where bare.
    #[serde(skip)]
    pub cells: Vec<u8>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for LookReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

impl LookReport {
    /// A chart whose needles have symbols, with its marks worked in.
    pub(super) fn of(composed: &Composed) -> Self {
        let chart = &composed.chart;
        let stitches = chart.stitches();
        let needles = chart.needles().iter().zip(&stitches).map(|(needle, &n)| needle_of(chart, needle, n));
        Self {
            title: chart.title.clone(),
            size: chart.size(),
            cloth: chart.cloth,
            finished: chart.finished().into(),
            stitches: stitches.iter().sum(),
            threads: ThreadCount::of(chart, &composed.lines).threads,
            needles: needles.collect(),
            lines: composed.lines.iter().map(line_of).collect(),
            cells: chart.cells().iter().map(|cell| cell.needle().map_or(u8::MAX, |at| at as u8)).collect(),
            warnings: Vec::new(),
            files: Vec::new(),
        }
    }
}

fn needle_of(chart: &Chart, needle: &Needle, stitches: u64) -> LookNeedle {
    let colour = needle.colour();
    let printed = chart.printed.iter().filter(|printed| printed.symbol == needle.symbol);
    let look = CoverModel::default().look(&chart.cloth, colour.linear(), needle.strands(), needle.stitch);
    LookNeedle {
        code: needle.code(),
        name: needle.name(),
        character: symbols::SymbolId::of(&needle.symbol).character(),
        colour,
        seen: look.linear().srgb8(),
        strands: needle.strands(),
        stitch: needle.stitch,
        stitches,
        printed: printed.map(|printed| printed.shapes.clone()).collect(),
    }
}

fn line_of(line: &WorkedLine) -> LookLine {
    let thousandths = |at: f64| (at * 1000.0).round() as i32;
    let needle =
        Needle { symbol: String::new(), threads: line.threads.clone(), stitch: StitchKind::FullCross };
    LookLine {
        label: line.label.clone(),
        code: needle.code(),
        colour: needle.colour(),
        pattern: line.pattern,
        weight: line.pattern.weight(),
        dashes: line.pattern.dashes(),
        points: line.drawn(0.0).into_iter().map(|point| point.map(thousandths)).collect(),
        closed: line.closed,
    }
}

/// Opens a chart to be drawn on a screen.
///
/// # Errors
/// [`Error`] where it cannot be read.
pub fn look(request: &LookRequest, progress: &dyn Progress) -> Result<LookReport, Error> {
    let mut files = Files::new(Replace::Ours, progress);
    let mut chart = files.chart(&request.chart)?;
    tell(progress, Stage::Marking, 0, 1)?;
    symbols::give_symbols(&mut chart);
    let composed = files.worked(&chart)?;
    Ok(LookReport { warnings: files.warnings, ..LookReport::of(&composed) })
}
