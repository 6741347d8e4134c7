//! The pages of a chart that is there already.

use std::collections::BTreeMap;

use serde::Serialize;

use super::figures::places3;
use super::files::{self, Files, Output};
use super::memory;
use super::set::apart;
use super::{Error, Heavy, Moment, Replace, Report, Source, Target, Warning, What, Written};
use crate::basket::{Basket, Missing, Printing};
use crate::chart::marks::Composed;
use crate::chart::{Chart, Done, Stamp};
use crate::ground::progress::Progress;
use crate::ground::units::Millimetres;
use crate::making::photo::Limits;
use crate::planning;
use crate::printing::ink::{self, PdfOptions};
use crate::printing::sheet::boxes::{self, BoxOrder};
use crate::printing::sheet::{self, ChartSheet, Ink, Paper, Print, Screen, Sheet, SheetOptions, Show};
use crate::printing::symbols::Squares;
use crate::printing::{picture, symbols};
use crate::reading::proof::{self, ProofError};

/// How pages are to be printed.
#[derive(Debug, Clone, Default)]
pub struct PageSettings {
    /// The paper.
    pub paper: Paper,
    /// Pale tints under black symbols, or greys.
    pub ink: Ink,
    /// The side of a cell on paper; else as the paper allows.
    pub cell: Option<Millimetres>,
    /// Usual or large.
    pub print: Print,
    /// What fills the cells.
    pub show: Show,
    /// One long page for a screen of this size, instead of paper.
    pub tablet: Option<Screen>,
    /// Symbols that threads are to have: codes and names.
    pub symbols: Vec<(String, String)>,
    /// How threads stand in the key and beside the chart: as they lie in their box.
    pub key_order: BoxOrder,
    /// Who made the chart, for the description of the PDF.
    pub author: String,
}

impl PageSettings {
    /// The size of squares for which symbols are chosen: that asked for, else what pages have at the least.
    pub(super) fn squares(&self) -> Squares {
        self.cell.map_or_else(Squares::default, Squares::of)
    }

    pub(super) fn options(&self, moment: Moment) -> SheetOptions {
        let Self { paper, ink, cell, print, show, tablet, .. } = *self;
        SheetOptions { paper, ink, cell, print, show, tablet, date: moment.day(), order: Vec::new() }
    }

    /// Whether the pages are paper pages with symbols: others are for looking at, and proof-reading would refuse them.
    pub(super) fn can_be_proof_read(&self) -> bool {
        self.tablet.is_none() && self.show != Show::Colours
    }

    /// Gives needles the symbols that they are to have.
    pub(super) fn give_wished(&self, chart: &mut Chart) -> Result<(), Error> {
        if self.symbols.is_empty() {
            return Ok(());
        }
        Ok(symbols::fix_for(chart, &self.symbols, self.squares())?)
    }

    /// What a trial print takes for one another, where squares are smaller than those for which symbols are usually
    /// chosen, or symbols were asked for. A chart that is there keeps its symbols: somebody may be stitching from them.
    fn hard_to_tell(
        &self,
        composed: &Composed,
        moment: Moment,
        progress: &dyn Progress,
    ) -> Result<Option<Warning>, Error> {
        let is_usual = self.squares() == Squares::default() && self.symbols.is_empty();
        if is_usual || !self.can_be_proof_read() {
            return Ok(None);
        }
        match proof::try_symbols(&composed.chart, &composed.lines, &self.options(moment), progress) {
            Ok(settled) => Ok(Warning::confused(&composed.chart, &settled, &self.symbols)),
            Err(ProofError::Stopped(_)) => Err(Error::Stopped),
            Err(error) => Ok(Some(Warning::not_read(&error))),
        }
    }

    /// Gives needles symbols, where they have none, and those that they are to have.
    pub(super) fn give_symbols(&self, chart: &mut Chart) -> Result<(), Error> {
        symbols::give_symbols_for(chart, self.squares());
        self.give_wished(chart)
    }

    /// Lays a chart out and inks it.
    pub(super) fn pages(
        &self,
        composed: &Composed,
        stamps: &[Stamp],
        moment: Moment,
        progress: &dyn Progress,
    ) -> Result<(ChartSheet, Vec<u8>), Error> {
        let chart = &composed.chart;
        let preview = picture::preview(chart, &composed.lines, progress)?;
        let mut options = self.options(moment);
        if self.key_order != BoxOrder::Code {
            let uses = planning::thread_uses(chart, &composed.lines, progress)?;
            options.order = boxes::needles_in_order(chart, &uses, self.key_order);
        }
        let mut laid = sheet::lay_out(chart, &composed.lines, preview, &options, progress)?;
        let bytes = inked(&mut laid.sheet, stamps, &self.author, moment, progress)?;
        Ok((laid, bytes))
    }
}

/// A sheet as PDF, whose pages and metadata say which charts it belongs to.
pub(super) fn inked(
    sheet: &mut Sheet,
    stamps: &[Stamp],
    author: &str,
    moment: Moment,
    progress: &dyn Progress,
) -> Result<Vec<u8>, Error> {
    let short: Vec<String> = stamps.iter().map(Stamp::short).collect();
    sheet.mark(short.iter().map(String::as_str));
    let stamp = files::text_of(stamps);
    let options = PdfOptions { created: moment.seconds(), author: author.trim().to_owned(), stamp };
    Ok(ink::pdf(sheet, &options, progress)?)
}

/// Two pictures of a chart as PNG: one pixel a cell, and the piece as it will look.
pub(super) fn pictures(composed: &Composed, progress: &dyn Progress) -> Result<[Vec<u8>; 2], Error> {
    let cells = picture::png(picture::cells(&composed.chart), progress)?;
    let stitched = picture::stitched(&composed.chart, &composed.lines, progress)?;
    Ok([cells, picture::png_of_stitches(stitched, progress)?])
}

/// Whether pictures and the thread list are written beside pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Pictures {
    /// They are not.
    #[default]
    None,
    /// One pixel a cell, the piece as it will look, and the thread list; marks included.
    Beside,
}

/// What is to be printed, and how.
#[derive(Debug, Clone)]
pub struct PrintRequest {
    /// The chart.
    pub chart: Source,
    /// How its pages are to be.
    pub page: PageSettings,
    /// Where they go.
    pub output: Target,
    /// Whether pictures go beside them.
    pub pictures: Pictures,
    /// Where the chart goes with the symbols of these pages, so that they stay.
    pub keep: Option<Target>,
    /// Where a sheet of all symbols with their names goes.
    pub symbol_names: Option<Target>,
    /// What the pages are dated with.
    pub moment: Moment,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// Ink of the chart pages, in hundredths of a page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InkFigures {
    /// The mean of the chart pages.
    #[serde(serialize_with = "places3")]
    pub mean: f64,
    /// The fullest chart page.
    #[serde(serialize_with = "places3")]
    pub most: f64,
    /// Every page.
    #[serde(serialize_with = "places3")]
    pub pages: Vec<f64>,
}

/// Threads that look alike to some eyes and not to most.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alike {
    /// Their codes.
    pub codes: [String; 2],
    /// How far apart they are to usual eyes (CIEDE2000).
    #[serde(serialize_with = "places3")]
    pub delta_e: f64,
    /// How far apart they are to the eyes to which they look alike, by the name of the vision.
    #[serde(serialize_with = "places3")]
    pub seen: BTreeMap<&'static str, f64>,
}

/// What is worth knowing of pages.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PageFigures {
    /// What the chart is called.
    pub title: String,
    /// How many pages.
    pub pages: usize,
    /// How many of them show cells.
    pub chart_pages: usize,
    /// The side of a cell.
    #[serde(rename = "cell_mm", serialize_with = "places3")]
    pub cell: f64,
    /// Ink.
    #[serde(rename = "ink_percent")]
    pub ink: InkFigures,
    /// Threads that look alike to some eyes.
    pub alike: Vec<Alike>,
}

impl PageFigures {
    pub(super) fn of(laid: &ChartSheet) -> Self {
        let pages: Vec<f64> = laid.coverage.iter().map(|share| share * 100.0).collect();
        let chart = &pages[pages.len().saturating_sub(laid.chart_pages)..];
        let mean = chart.iter().sum::<f64>() / chart.len().max(1) as f64;
        let most = chart.iter().copied().fold(0.0, f64::max);
        let alike = laid.alike.iter().map(|pair| Alike {
            codes: pair.codes.clone(),
            delta_e: pair.usual,
            seen: pair.to.iter().map(|(vision, apart)| (vision.name(), *apart)).collect(),
        });
        Self {
            title: laid.sheet.title.clone(),
            pages: laid.sheet.pages.len(),
            chart_pages: laid.chart_pages,
            cell: laid.cell.to_mm(),
            alike: alike.collect(),
            ink: InkFigures { mean, most, pages },
        }
    }
}

/// What came of printing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PrintReport {
    /// The pages.
    #[serde(flatten)]
    pub pages: PageFigures,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for PrintReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Remembers which page of a piece shows what.
fn keep_printing(request: &PrintRequest, stamp: Option<Stamp>, laid: &ChartSheet) -> Result<(), Error> {
    let (Source::Piece(piece), Some(stamp)) = (&request.chart, stamp) else { return Ok(()) };
    let cells = |page: &sheet::Page| match &page.shows {
        Some(sheet::Shows::Cells { columns, rows }) => {
            Some([columns.start, rows.start, columns.end, rows.end])
        }
        Some(sheet::Shows::All) => Some([0, 0, u32::MAX, u32::MAX]),
        _ => None,
    };
    let mut basket = Basket::open(&piece.folder, Missing::Refuse)?;
    let id = basket.find(&piece.piece)?;
    let printing = Printing { stamp, pages: laid.sheet.pages.iter().map(cells).collect() };
    Ok(basket.keep_printing(&id, &printing, piece.when)?)
}

/// Prints a chart.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn print(request: &PrintRequest, progress: &dyn Progress) -> Result<PrintReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    if request.keep.is_some() {
        files.hold(&request.chart)?;
    }
    let mut chart = files.chart(&request.chart)?;
    files.may_write(What::Pages, &request.output)?;
    if request.pictures == Pictures::Beside {
        files.may_write(What::Cells, &request.output.beside("cells.png"))?;
        files.may_write(What::Stitched, &request.output.beside("stitched.png"))?;
    }
    if request.output.is_place() {
        files.may_write(What::Threads, &request.output.beside("threads.csv"))?;
    }
    for (what, target) in [(What::Chart, &request.keep), (What::SymbolNames, &request.symbol_names)] {
        target.iter().try_for_each(|target| files.may_write(what, target))?;
    }
    match &request.keep {
        // What is kept is a change like any other.
        Some(target) => {
            let from = chart.stamp();
            chart.change(Done::SymbolsGiven, |chart| request.page.give_symbols(chart))?;
            if !target.is_same_as(&request.chart.as_target()) {
                chart.copy_as(&target.file_name().unwrap_or_default(), &from);
            }
        }
        None => request.page.give_symbols(&mut chart)?,
    }
    if request.keep.is_some() {
        files.belong_only_to(&chart);
    }
    let stamp = files.stamps.first().copied();
    let composed = files.worked(&chart)?;
    files.may_take(Heavy::Pages(chart.size()), memory::pages(&composed, request.page.paper))?;
    let (laid, bytes) = request.page.pages(&composed, &files.stamps, request.moment, progress)?;
    let hard_to_tell = request.page.hard_to_tell(&composed, request.moment, progress)?;
    let stem = request.chart.set();
    let mut outputs = Vec::new();
    let mut put = |what, target: Target, ending: &str, bytes| {
        outputs.push(Output { what, target, name: format!("{stem}.{ending}"), bytes });
    };
    put(What::Pages, request.output.clone(), "pdf", bytes);
    // The list of before knows nothing of what was changed since. Beside a device or a pipe there is no place for one.
    if request.output.is_place() {
        let list = planning::thread_list_csv(&laid.thread_uses).into_bytes();
        put(What::Threads, request.output.beside("threads.csv"), "threads.csv", list);
    }
    if request.pictures == Pictures::Beside {
        let [cells, stitched] = pictures(&composed, progress)?;
        put(What::Cells, request.output.beside("cells.png"), "cells.png", cells);
        put(What::Stitched, request.output.beside("stitched.png"), "stitched.png", stitched);
    }
    if let Some(target) = &request.keep {
        put(What::Chart, target.clone(), "chart.json", chart.to_json().into_bytes());
    }
    if let Some(target) = &request.symbol_names {
        let mut list = sheet::symbol_list(&composed.chart, request.page.paper);
        let bytes = inked(&mut list, &[], &request.page.author, request.moment, progress)?;
        put(What::SymbolNames, target.clone(), "symbols.pdf", bytes);
    }
    let written = files.write(outputs)?;
    keep_printing(request, stamp, &laid)?;
    let strays = request.chart.path().zip(stamp).and_then(|(path, stamp)| apart(path, stamp));
    files.warnings.extend(strays);
    let mut warnings = std::mem::take(&mut files.warnings);
    warnings.extend(laid.warnings.iter().cloned().map(Warning::from));
    warnings.extend(hard_to_tell);
    Ok(PrintReport { pages: PageFigures::of(&laid), warnings, files: written })
}
