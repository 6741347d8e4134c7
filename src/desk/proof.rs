//! Whether printed pages say what their chart says.

use serde::Serialize;

use super::files::{Files, Output};
use super::memory;
use super::report::places4;
use super::set;
use super::{Error, Heavy, Named, Replace, Report, Source, Target, Wanted, Warning, What, Written};
use crate::chart::{Chart, LinePattern};
use crate::ground::progress::Progress;
use crate::making::photo::Limits;
use crate::printing::picture;
use crate::reading::proof::{self, Count, Lines, Proof, ProofError, ProofOptions, Reader, Spoil};

/// Which pages are to be read, and how.
#[derive(Debug, Clone)]
pub struct ProofRequest {
    /// The pages: a PDF that brede printed.
    pub pages: Source,
    /// The chart that they were printed from.
    pub chart: Source,
    /// Dots an inch, 100 to 600.
    pub dpi: f64,
    /// How the pages are spoiled first.
    pub spoil: Spoil,
    /// So many chart pages at most, spread over the chart; else all.
    pub most: Option<usize>,
    /// Where the worst page goes as it was read, what is wrong in red.
    pub picture: Option<Target>,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
    /// Where the pages are read: those from outside belong in a child.
    pub reader: Reader,
}

/// What came near to being taken for each other; `None` is bare cloth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Near {
    /// What was read.
    pub read: Option<Named>,
    /// What came second.
    pub second: Option<Named>,
    /// The least margin, 1 beyond doubt, 0 a tie.
    #[serde(serialize_with = "places4")]
    pub margin: f64,
}

/// A cell that was read wrong; `None` is bare cloth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wrong {
    /// The page, from 1.
    pub page: usize,
    /// The column of the worked chart, from 1.
    pub column: u32,
    /// The row, from 1.
    pub row: u32,
    /// Whether it is repeated from a neighbouring page.
    pub repeated: bool,
    /// What the chart has.
    pub chart: Option<Named>,
    /// What was read.
    pub read: Option<Named>,
    /// How clear that was.
    #[serde(serialize_with = "places4")]
    pub margin: f64,
}

/// A page that was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The page, from 1.
    pub page: usize,
    /// The column of the worked chart at the top left, from 1.
    pub column: u32,
    /// The row, from 1.
    pub row: u32,
    /// Columns shown.
    pub columns: u32,
    /// Rows shown.
    pub rows: u32,
}

/// Patterns that came near to being taken for each other; `None` is no line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineNear {
    /// What was read.
    pub read: Option<LinePattern>,
    /// What came second.
    pub second: Option<LinePattern>,
    /// The least margin.
    #[serde(serialize_with = "places4")]
    pub margin: f64,
}

/// An outline whose pattern was read wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineWrong {
    /// The page, from 1.
    pub page: usize,
    /// Where it is seen: the column of the worked chart, from 1.
    pub column: u32,
    /// The row, from 1.
    pub row: u32,
    /// The name of its mark.
    pub mark: String,
    /// What the chart has.
    pub chart: LinePattern,
    /// What was read; `None` is no line.
    pub read: Option<LinePattern>,
    /// How clear that was.
    #[serde(serialize_with = "places4")]
    pub margin: f64,
}

/// What was found of outlines.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutlineFigures {
    /// Those that were judged; one on two pages counts twice.
    pub judged: u64,
    /// Those whose pattern was read as the chart says.
    pub right: u64,
    /// Those that are too short on every page to judge.
    pub too_short: u64,
    /// The least margin of any that was read right.
    #[serde(serialize_with = "places4")]
    pub margin: Option<f64>,
    /// What came nearest to being taken for each other, the nearest first.
    pub nearest: Vec<LineNear>,
    /// Those that were read wrong.
    pub misread: Vec<LineWrong>,
}

impl OutlineFigures {
    fn of(lines: &Lines) -> Self {
        let near =
            |pair: &proof::LinePair| LineNear { read: pair.read, second: pair.second, margin: pair.margin };
        let wrong = |line: &proof::MisreadLine| LineWrong {
            page: line.page,
            column: line.column,
            row: line.row,
            mark: line.mark.clone(),
            chart: line.chart,
            read: line.read,
            margin: line.margin,
        };
        Self {
            judged: lines.judged,
            right: lines.right,
            too_short: lines.short,
            margin: lines.margin(),
            nearest: lines.nearest.iter().map(near).collect(),
            misread: lines.misread.iter().map(wrong).collect(),
        }
    }
}

/// So many near pairs are told.
const PAIRS_TOLD: usize = 5;

/// What a proof found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProofReport {
    /// Cells, each on its own page.
    pub cells: u64,
    /// Those that were read as the chart says.
    pub right: u64,
    /// The others.
    pub wrong: u64,
    /// Cells repeated from neighbouring pages.
    pub repeated: Count,
    /// Chart pages that were read.
    pub pages: usize,
    /// Chart pages of the file.
    pub chart_pages: usize,
    /// What each page that was read shows.
    pub places: Vec<Place>,
    /// Dots an inch.
    pub dpi: f64,
    /// How the pages were spoiled first.
    pub spoil: Spoil,
    /// The least margin of any cell that was read right.
    #[serde(serialize_with = "places4")]
    pub margin: Option<f64>,
    /// What came nearest to being taken for each other, the nearest first.
    pub nearest: Vec<Near>,
    /// Every cell that was read wrong.
    pub misread: Vec<Wrong>,
    /// Outlines and other lines.
    pub outlines: OutlineFigures,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for ProofReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

impl ProofReport {
    /// Whether every cell and every outline was read as the chart says.
    ///
    /// # Errors
    /// [`Error::MisreadCells`] and [`Error::MisreadLines`].
    pub fn right(&self) -> Result<(), Error> {
        let cells = self.cells + self.repeated.cells;
        match (self.misread.len(), self.outlines.misread.len()) {
            (0, 0) => Ok(()),
            (0, wrong) => Err(Error::MisreadLines { wrong, judged: self.outlines.judged }),
            (wrong, _) => Err(Error::MisreadCells { wrong, cells }),
        }
    }

    pub(super) fn of(found: &Proof, chart: &Chart, options: ProofOptions) -> Self {
        let place = |(page, [column, row], [columns, rows]): (usize, [u32; 2], [u32; 2])| Place {
            page,
            column,
            row,
            columns,
            rows,
        };
        let near = |pair: &proof::Pair| Near {
            read: Named::of(chart, pair.read),
            second: Named::of(chart, pair.second),
            margin: pair.margin,
        };
        let wrong = |cell: &proof::Misread| Wrong {
            page: cell.page,
            column: cell.column,
            row: cell.row,
            repeated: cell.repeated,
            chart: Named::of(chart, cell.chart),
            read: Named::of(chart, cell.read),
            margin: cell.margin,
        };
        Self {
            cells: found.own.cells,
            right: found.own.right,
            wrong: found.own.cells - found.own.right,
            repeated: found.repeated,
            pages: found.pages,
            chart_pages: found.of_pages,
            places: found.places().map(place).collect(),
            dpi: options.dpi,
            spoil: options.spoil,
            margin: found.margin(),
            nearest: found.nearest.iter().take(PAIRS_TOLD).map(near).collect(),
            misread: found.misread.iter().map(wrong).collect(),
            outlines: OutlineFigures::of(&found.lines),
            warnings: Vec::new(),
            files: Vec::new(),
        }
    }
}

/// Reads pages back and compares every cell and outline with the chart.
///
/// # Errors
/// [`Error`] where there is nothing that can be read; what is read wrong is a result.
pub fn proof(request: &ProofRequest, progress: &dyn Progress) -> Result<ProofReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let bytes = files.bytes(&request.pages, Wanted::Pages)?;
    let chart = files.chart(&request.chart)?;
    files.may_take(Heavy::Pages(chart.size()), memory::page_read(chart.size(), request.dpi))?;
    let composed = files.worked(&chart)?;
    let options = ProofOptions {
        dpi: request.dpi,
        spoil: request.spoil,
        pages: request.most,
        ..ProofOptions::default()
    };
    let fail = |source: ProofError| match source {
        ProofError::Stopped(_) => Error::Stopped,
        source => Error::Proof { name: request.pages.to_string(), source },
    };
    let found = proof::proof(&bytes, &composed, options, &request.reader, progress).map_err(fail)?;
    let mut report = ProofReport::of(&found, &composed.chart, options);
    let stamp = files.stamps.first();
    let strays = stamp.and_then(|&stamp| set::apart_with(&request.chart, stamp, &request.pages, &bytes));
    files.warnings.extend(strays);
    report.warnings.clone_from(&files.warnings);
    if let Some(target) = &request.picture {
        let page = found.picture(&bytes, &composed.lines, &request.reader, progress).map_err(fail)?;
        let bytes = picture::png(image::DynamicImage::from(page).to_rgba8(), progress)?;
        let name = format!("{}.proof.png", request.pages.stem());
        let output = Output { what: What::ProofPicture, target: target.clone(), name, bytes };
        report.files = files.write(vec![output])?;
    }
    Ok(report)
}
