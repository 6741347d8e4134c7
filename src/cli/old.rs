//! What commands still do that the desk will.

use std::path::{Path, PathBuf};

use brede::chart::Chart;
use brede::chart::marks::Composed;
use brede::ground::progress::Progress;
use brede::printing::ink::{self, InkError, PdfOptions};
use brede::printing::picture;
use brede::printing::sheet::{self, Sheet, SheetOptions};
use brede::printing::symbols;
use serde_json::json;

use super::Failure;
use super::files::{read, rounded};
use super::print::{PageArgs, moment};

/// Reads a chart document.
pub(super) fn read_chart(path: &Path) -> Result<Chart, Failure> {
    chart_of(path, &read(path, "give a NAME.chart.json that brede wrote")?)
}

/// The chart of the bytes that a file holds.
pub(super) fn chart_of(path: &Path, bytes: &[u8]) -> Result<Chart, Failure> {
    let opened = Chart::open(bytes).map_err(|source| {
        let hint = super::words::advice(&source.advice());
        Failure::new(ChartFileError { path: path.to_owned(), source }, hint)
    })?;
    for note in &opened.notes {
        super::tell::warning(&super::words::opened(&path.display().to_string(), note));
    }
    Ok(opened.chart)
}

#[derive(Debug, thiserror::Error)]
#[error("could not use the chart {}", path.display())]
struct ChartFileError {
    path: PathBuf,
    source: brede::chart::DocumentError,
}

/// Lays the marks of a chart over it.
pub(super) fn compose(chart: &Chart) -> Result<Composed, Failure> {
    brede::printing::worked(chart).map_err(|error| {
        let hint = super::words::advice(&error.advice());
        Failure::new(error, hint)
    })
}

/// Gives the needles that the person names the symbol that they want.
pub(super) fn fix_wished_symbols(chart: &mut Chart, args: &PageArgs) -> Result<(), Failure> {
    if args.symbol.is_empty() {
        return Ok(());
    }
    symbols::fix(chart, &args.symbol).map_err(|error| {
        let hint =
            "brede print CHART -o pages.pdf --symbol-names names.pdf shows all symbols with their names";
        Failure::new(error, hint)
    })
}

/// Lays a chart out and inks it.
pub(super) fn pages(
    composed: &Composed,
    args: &PageArgs,
    progress: &dyn Progress,
) -> Result<(Sheet, Vec<u8>), Failure> {
    let made_at = moment();
    let settings = args.settings();
    let options = SheetOptions {
        paper: settings.paper,
        ink: settings.ink,
        cell: settings.cell,
        print: settings.print,
        show: settings.show,
        tablet: settings.tablet,
        date: made_at.day(),
    };
    let chart = &composed.chart;
    let preview = picture::preview(chart, &composed.lines, progress)?;
    let sheet = sheet::lay_out(chart, &composed.lines, preview, &options).map_err(|error| {
        let hint = super::words::advice(&error.advice());
        Failure::new(error, hint)
    })?;
    let bytes = inked(&sheet, args, made_at, progress)?;
    Ok((sheet, bytes))
}

fn inked(
    sheet: &Sheet,
    args: &PageArgs,
    made_at: brede::desk::Moment,
    progress: &dyn Progress,
) -> Result<Vec<u8>, Failure> {
    let options = PdfOptions { created: made_at.seconds(), author: args.author.trim().to_owned() };
    ink::pdf(sheet, &options, progress).map_err(|error| match error {
        InkError::Stopped(_) => Failure::Stopped,
        error => Failure::Error(Box::new(error), None),
    })
}

/// Of the ink of all pages: the mean ink of the chart pages and that of the fullest, in hundredths of a page.
fn ink_percent(coverage: &[f64], chart_pages: usize) -> [f64; 2] {
    let chart = &coverage[coverage.len().saturating_sub(chart_pages)..];
    let mean = chart.iter().sum::<f64>() / chart.len().max(1) as f64;
    [mean, chart.iter().copied().fold(0.0, f64::max)].map(|share| share * 100.0)
}

/// What other programs may want to know of the pages.
pub(super) fn page_figures(sheet: &Sheet) -> serde_json::Value {
    let alike = sheet.alike.iter().map(|pair| {
        let to = pair.to.iter().map(|(vision, apart)| (vision.name().to_owned(), json!(rounded(*apart))));
        json!({
            "codes": pair.codes,
            "delta_e": rounded(pair.usual),
            "seen": to.collect::<serde_json::Map<_, _>>(),
        })
    });
    let coverage = sheet.coverage();
    let [mean, most] = ink_percent(&coverage, sheet.chart_pages);
    json!({
        "title": sheet.title,
        "pages": sheet.pages.len(),
        "chart_pages": sheet.chart_pages,
        "cell_mm": rounded(sheet.cell.to_mm()),
        "ink_percent": {
            "mean": rounded(mean),
            "most": rounded(most),
            "pages": coverage.into_iter().map(|share| rounded(share * 100.0)).collect::<Vec<_>>(),
        },
        "alike": alike.collect::<Vec<_>>(),
    })
}

pub(super) fn page_line(sheet: &Sheet) -> String {
    let [mean, most] = ink_percent(&sheet.coverage(), sheet.chart_pages);
    format!(
        "{}, {} of them chart, cells of {:.2} mm; ink covers {mean:.0} % of a chart page, {most:.0} % at most",
        brede::ground::units::counted(sheet.pages.len() as u64, "page"),
        sheet.chart_pages,
        sheet.cell.to_mm()
    )
}

#[derive(Debug, thiserror::Error)]
enum MisreadError {
    #[error("{wrong} of {cells} cells are misread")]
    Cells { wrong: usize, cells: u64 },
    #[error("the patterns of {wrong} of {judged} outlines are misread")]
    Lines { wrong: usize, judged: u64 },
}

pub(super) fn misread(found: &brede::reading::proof::Proof) -> Failure {
    let error = match found.misread.len() {
        0 => MisreadError::Lines { wrong: found.lines.misread.len(), judged: found.lines.judged },
        wrong => MisreadError::Cells { wrong, cells: found.own.cells + found.repeated.cells },
    };
    Failure::advised(error, &brede::ground::advice::Advice::PrintLarger)
}
