//! A chart that was printed elsewhere, read from its pages.

use serde::Serialize;

use super::files::{Files, Output};
use super::source::file_name_of;
use super::warning::Unsure;
use super::{Error, Replace, Report, Source, Target, Wanted, Warning, What, Written};
use crate::chart::PrintedSymbol;
use crate::chart::marks::Composed;
use crate::ground::progress::Progress;
use crate::ground::units::GridSize;
use crate::making::photo::Limits;
use crate::printing::{picture, symbols};
use crate::reading::Reader;
use crate::reading::read::{
    self, Doubt, DoubtKind, FoundSymbol, Joined, Read, ReadError, ReadLine, ReadOptions, Shown, answers,
};

/// What is to be read, and where it goes.
#[derive(Debug, Clone)]
pub struct ReadRequest {
    /// The files with its pages, in order.
    pub pages: Vec<Source>,
    /// What the person says of symbols, as a table.
    pub key: Option<Source>,
    /// The card in which codes are looked up.
    pub card: Option<Source>,
    /// Columns and rows of the chart, where its pages do not say how they join.
    pub size: [Option<u32>; 2],
    /// What the chart and its files are called; else as the first file.
    pub name: Option<String>,
    /// The folder that they go to.
    pub folder: Target,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
    /// Where the pages are read: those from outside belong in a child.
    pub reader: Reader,
}

/// A symbol that is in doubt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Doubtful {
    /// Its number.
    pub number: usize,
    /// In how many squares it stands.
    pub stitches: u64,
    /// The needle that it became, from 0.
    pub needle: Option<usize>,
    /// Why.
    pub doubts: Vec<DoubtKind>,
}

/// What was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadReport {
    /// Columns of the chart.
    pub columns: u32,
    /// Rows of the chart.
    pub rows: u32,
    /// Squares that are stitched.
    pub stitches: u64,
    /// Symbols, or colours where there are no symbols.
    pub symbols: Vec<FoundSymbol>,
    /// Symbols in doubt.
    pub doubts: Vec<Doubtful>,
    /// Backstitch.
    pub lines: Vec<ReadLine>,
    /// Knots and beads by what they look like.
    pub knotted: Vec<ReadLine>,
    /// Pages of the files.
    pub pages: usize,
    /// Those that show the chart, from 1.
    pub chart_pages: Vec<usize>,
    /// How they were joined.
    pub joined: Joined,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for ReadReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// The endings of what is written.
const ENDINGS: [(What, &str); 4] = [
    (What::Chart, "chart.json"),
    (What::Cells, "cells.png"),
    (What::Found, "found.png"),
    (What::Doubts, "doubts.csv"),
];

/// Reads a chart.
///
/// # Errors
/// [`Error`] says what was missing; then nothing is written.
pub fn read(request: &ReadRequest, progress: &dyn Progress) -> Result<ReadReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let first = request.pages.first().cloned().unwrap_or(Source::Input);
    let called = request.name.clone().unwrap_or_else(|| first.called());
    let name = file_name_of(&called);
    let target = |ending: &str| request.folder.within(&format!("{name}.{ending}"));
    for (what, ending) in ENDINGS {
        files.may_write(what, &target(ending))?;
    }
    let shown = shown(&mut files, &request.pages, request.size, &request.reader)?;
    let mut options =
        ReadOptions { title: crate::ground::plain::lettered(&called), ..ReadOptions::default() };
    if let Some(card) = &request.card {
        options.card = Some(files.card(card)?);
    }
    if let Some(key) = &request.key {
        let bytes = files.bytes(key, Wanted::Answers)?;
        options.answers =
            answers(&bytes).map_err(|source| Error::Answers { name: key.to_string(), source })?;
    }
    let Answered { found, composed, doubtful, warnings: unsure } =
        answered(&mut files, &shown, &options, &first.to_string())?;
    files.belong_only_to(&found.chart);
    let cells = picture::png(picture::cells(&composed.chart), progress)?;
    let symbols = image::DynamicImage::from(read::found(&found)).to_rgba8();
    let bytes = [
        found.chart.to_json().into_bytes(),
        cells,
        picture::png(symbols, progress)?,
        table(&found, &doubtful).into_bytes(),
    ];
    let outputs = ENDINGS.into_iter().zip(bytes).map(|((what, ending), bytes)| Output {
        what,
        target: target(ending),
        name: format!("{name}.{ending}"),
        bytes,
    });
    let mut warnings = std::mem::take(&mut files.warnings);
    warnings.extend(unsure);
    let written = files.write_into(&request.folder, outputs.collect())?;
    Ok(report(found, doubtful, warnings, written))
}

/// What pages show, nothing said of it yet.
pub(super) fn shown(
    files: &mut Files,
    pages: &[Source],
    size: [Option<u32>; 2],
    reader: &Reader,
) -> Result<Shown, Error> {
    let name = pages.first().map(Source::to_string).unwrap_or_default();
    let bytes =
        pages.iter().map(|pages| files.bytes(pages, Wanted::PrintedChart)).collect::<Result<Vec<_>, _>>()?;
    read::read(&bytes, size, reader, files.progress).map_err(|source| refused(&name, source))
}

fn refused(name: &str, source: ReadError) -> Error {
    match source {
        ReadError::Stopped(_) => Error::Stopped,
        source => Error::NoChartRead { name: name.to_owned(), source },
    }
}

/// What pages come to by what is said of their symbols.
pub(super) struct Answered {
    pub(super) found: Read,
    pub(super) composed: Composed,
    pub(super) doubtful: Vec<Doubtful>,
    pub(super) warnings: Vec<Warning>,
}

/// Makes the chart of pages, with symbols of brede's own and those of the paper beside them.
pub(super) fn answered(
    files: &mut Files,
    shown: &Shown,
    options: &ReadOptions,
    name: &str,
) -> Result<Answered, Error> {
    let mut found = shown.chart(options).map_err(|source| refused(name, source))?;
    symbols::give_symbols(&mut found.chart);
    let printed = found.symbols.iter().filter_map(|symbol| {
        let shapes = symbol.printed();
        let needle = found.chart.needles().get(symbol.needle?)?;
        (!shapes.is_empty()).then(|| PrintedSymbol { symbol: needle.symbol.clone(), shapes })
    });
    found.chart.printed = printed.filter(PrintedSymbol::is_kept).collect();
    found.chart.identify();
    found.chart.settle()?;
    let composed = files.worked(&found.chart)?;
    let doubtful = doubtful(&found);
    let warnings = warnings(&found, &doubtful);
    Ok(Answered { found, composed, doubtful, warnings })
}

fn report(found: Read, doubts: Vec<Doubtful>, warnings: Vec<Warning>, files: Vec<Written>) -> ReadReport {
    let size: GridSize = found.chart.size();
    ReadReport {
        columns: size.columns(),
        rows: size.rows(),
        stitches: found.chart.stitches().iter().sum(),
        symbols: found.symbols,
        doubts,
        lines: found.lines,
        knotted: found.knotted,
        pages: found.pages,
        chart_pages: found.chart_pages,
        joined: found.joined,
        warnings,
        files,
    }
}

/// Doubts symbol by symbol.
fn doubtful(found: &Read) -> Vec<Doubtful> {
    let of = |symbol: &FoundSymbol| {
        let own = found.doubts.iter().filter(|doubt: &&Doubt| doubt.number == symbol.number);
        let doubts: Vec<DoubtKind> = own.map(|doubt| doubt.kind.clone()).collect();
        let FoundSymbol { number, stitches, needle, .. } = *symbol;
        (!doubts.is_empty()).then_some(Doubtful { number, stitches, needle, doubts })
    };
    found.symbols.iter().filter_map(of).collect()
}

fn warnings(found: &Read, doubtful: &[Doubtful]) -> Vec<Warning> {
    let loose: usize = found.lines.iter().map(|line| line.loose).sum();
    let unnamed = found.lines.iter().filter(|line| !line.named).count();
    let [columns, rows] = found.missing;
    let colours = |doubtful: &&Doubtful| doubtful.doubts != [DoubtKind::NoColour];
    let in_doubt = doubtful.iter().filter(colours).count();
    let all = [
        (Unsure::Symbols, in_doubt),
        (Unsure::Colours, doubtful.len() - in_doubt),
        (Unsure::LooseLines, loose),
        (Unsure::UnnamedLines, unnamed),
        (Unsure::Knots, found.knots),
        (Unsure::PagesMissing, (columns + rows) as usize),
        (Unsure::PagesDisagree, found.disagreeing),
    ];
    let told = all.into_iter().filter(|(_, count)| *count > 0);
    told.map(|(about, count)| Warning::Reading { about, count }).collect()
}

/// The doubts as a table that can be filled in and given back.
fn table(found: &Read, doubtful: &[Doubtful]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header = ["number", "stitches", "code", "name", "colour", "strands", "same", "bare", "doubt"];
    // Writing to memory does not fail.
    _ = writer.write_record(header);
    for doubt in doubtful {
        let Some(symbol) = found.symbols.get(doubt.number - 1) else { continue };
        let told: Vec<String> = doubt.doubts.iter().map(told).collect();
        let (number, stitches) = (doubt.number.to_string(), doubt.stitches.to_string());
        let [code, name] = [&symbol.code, &symbol.name].map(|text| text.as_deref().unwrap_or_default());
        _ = writer.write_record([&number, &stitches, code, name, "", "", "", "", &told.join("; ")]);
    }
    let unnamed = |line: &&ReadLine| !line.named;
    let kinds = [
        (&found.lines, "backstitch that the key does not name"),
        (&found.knotted, "knots or beads that the key does not name"),
    ];
    for (lines, told) in kinds {
        for line in lines.iter().filter(unnamed) {
            _ = writer.write_record([&line.number.to_string(), "", "", "", "", "", "", "", told]);
        }
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// A doubt in the table.
fn told(doubt: &DoubtKind) -> String {
    match doubt {
        DoubtKind::NotInKey => "the key does not name it".to_owned(),
        DoubtKind::OtherCount { key } => format!("the key says {key} stitches"),
        DoubtKind::NotOnCard => "its code is not on the card".to_owned(),
        DoubtKind::NoColour => "nothing shows its colour".to_owned(),
        DoubtKind::Like { number } => format!("it is drawn much like number {number}"),
        DoubtKind::TwiceInKey => "the key has it twice".to_owned(),
        DoubtKind::OtherColours => "it stands on squares of different colours".to_owned(),
        DoubtKind::PartStitch { number } => {
            format!("it is part of a stitch, small in a corner, as number {number}")
        }
        DoubtKind::SecondPart { number } => {
            format!("a second part of a stitch is left out, as number {number}")
        }
    }
}
