//! `brede print`: the pages of a chart that is there already.

use std::path::{Path, PathBuf};

use brede::chart::Chart;
use brede::chart::marks::Composed;
use brede::ground::progress::Progress;
use brede::ground::units::{Millimetres, counted};
use brede::printing::ink::{self, InkError, PdfOptions};
use brede::printing::picture;
use brede::printing::sheet::{self, Ink, Paper, Print, Screen, Sheet, SheetOptions, Show};
use brede::printing::symbols;
use brede::printing::symbols::give_symbols;
use clap::{Args, ValueEnum};
use serde_json::json;

use super::bar::{Bar, Chatter};
use super::files::{kept_told, name_of, read, rounded, save_all};
use super::{Failure, tell};

/// How the pages are to be printed; shared by `make` and `print`.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Page")]
pub(super) struct PageArgs {
    /// The paper: a4, a3, letter, or a size such as 20x30cm
    #[arg(long, default_value = "a4")]
    pub(super) paper: Paper,
    /// colour puts pale tints under black symbols; grey uses a few greys and no colour
    #[arg(long, value_enum, default_value_t = InkArg::Colour)]
    pub(super) ink: InkArg,
    /// The side of a cell on paper, such as 3.0mm; else as the paper allows
    #[arg(long, value_name = "LENGTH")]
    pub(super) cell: Option<Millimetres>,
    /// Cells of 4.5 mm and text of 16 points
    #[arg(long)]
    pub(super) large_print: bool,
    /// What fills the cells: both symbols and pale colours, symbols alone, or the threads' colours alone
    #[arg(long, value_enum, default_value_t = ShowArg::Both)]
    pub(super) show: ShowArg,
    /// One long page for a screen of this size, such as 160x230mm or 768x1024px (96 to the inch), instead of paper
    #[arg(long, value_name = "WxH", conflicts_with_all = ["paper", "cell"])]
    pub(super) tablet: Option<Screen>,
    /// Give a thread this symbol, by code and name, such as T001=disc-solid; may be given again
    #[arg(long, value_name = "CODE=NAME", value_parser = wish)]
    pub(super) symbol: Vec<(String, String)>,
    /// Who made the chart, kept in the description of the PDF
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    pub(super) author: String,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum ShowArg {
    Both,
    Symbols,
    Colours,
}

/// A code, which may hold `=`, and the name of a symbol, which does not.
fn wish(text: &str) -> Result<(String, String), String> {
    match text.rsplit_once('=') {
        Some((code, name)) if !code.trim().is_empty() && !name.trim().is_empty() => {
            Ok((code.trim().to_owned(), name.trim().to_owned()))
        }
        _ => Err("give a thread's code and a symbol's name, such as T001=disc-solid".to_owned()),
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum InkArg {
    Colour,
    Grey,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede print rock-pool.chart.json -o rock-pool.pdf
  brede print rock-pool.chart.json -o grey.pdf --ink grey --paper letter
  brede print rock-pool.chart.json -o large.pdf --large-print
  brede print rock-pool.chart.json -o tablet.pdf --tablet 160x230mm
  brede print rock-pool.chart.json -o mine.pdf --symbol T001=disc-solid --keep mine.chart.json
  brede print marked.chart.json -o marked.pdf --pictures")]
pub(super) struct PrintArgs {
    /// The chart: a NAME.chart.json that `brede make` wrote
    chart: PathBuf,
    /// Where the pages go
    #[arg(short, long, value_name = "FILE.pdf")]
    output: PathBuf,
    #[command(flatten)]
    page: PageArgs,
    /// Write the chart with the symbols of these pages too, so that they stay
    #[arg(long, value_name = "NEW.chart.json")]
    keep: Option<PathBuf>,
    /// Write a sheet of all symbols with their names too, to choose from
    #[arg(long, value_name = "FILE.pdf")]
    symbol_names: Option<PathBuf>,
    /// Write the pictures beside the pages too, marks included: FILE.cells.png and FILE.stitched.png
    #[arg(long)]
    pictures: bool,
    /// Tell what came of it as JSON, for other programs
    #[arg(long)]
    json: bool,
    /// Say nothing but errors
    #[arg(short, long)]
    quiet: bool,
}

impl PageArgs {
    /// The paper that was asked for.
    pub(super) fn paper(&self) -> Paper {
        self.paper
    }

    /// Whether the pages are paper pages with symbols: others are for looking at, and proof-reading would refuse them.
    pub(super) fn can_be_proof_read(&self) -> bool {
        self.tablet.is_none() && !matches!(self.show, ShowArg::Colours)
    }

    fn options(&self, date: String) -> SheetOptions {
        SheetOptions {
            paper: self.paper,
            ink: match self.ink {
                InkArg::Colour => Ink::Colour,
                InkArg::Grey => Ink::Grey,
            },
            cell: self.cell,
            print: if self.large_print { Print::Large } else { Print::Usual },
            show: match self.show {
                ShowArg::Both => Show::Both,
                ShowArg::Symbols => Show::Symbols,
                ShowArg::Colours => Show::Colours,
            },
            tablet: self.tablet,
            date,
        }
    }
}

/// The day and second of making: now, or as `SOURCE_DATE_EPOCH` says (reproducible-builds.org), so that the
/// same input can give the same bytes.
pub(super) fn made_at() -> jiff::Timestamp {
    std::env::var("SOURCE_DATE_EPOCH")
        .ok()
        .and_then(|text| jiff::Timestamp::from_second(text.trim().parse().ok()?).ok())
        .unwrap_or_else(jiff::Timestamp::now)
}

/// Reads a chart document.
pub(super) fn read_chart(path: &Path) -> Result<Chart, Failure> {
    chart_of(path, &read(path, "give a NAME.chart.json that brede wrote")?)
}

/// The chart of the bytes that a file holds.
pub(super) fn chart_of(path: &Path, bytes: &[u8]) -> Result<Chart, Failure> {
    Chart::from_json(bytes).map_err(|source| {
        let hint = source.hint();
        Failure::new(ChartFileError { path: path.to_owned(), source }, hint)
    })
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
        let hint = error.hint();
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
    let made_at = made_at();
    let date = made_at.strftime("%-d %B %Y").to_string();
    let chart = &composed.chart;
    let preview = picture::preview(chart, &composed.lines, progress)?;
    let sheet = sheet::lay_out(chart, &composed.lines, preview, &args.options(date)).map_err(|error| {
        let hint = error.hint();
        Failure::new(error, hint)
    })?;
    let bytes = inked(&sheet, args, made_at, progress)?;
    Ok((sheet, bytes))
}

fn inked(
    sheet: &Sheet,
    args: &PageArgs,
    made_at: jiff::Timestamp,
    progress: &dyn Progress,
) -> Result<Vec<u8>, Failure> {
    let options = PdfOptions { created: made_at.as_second(), author: args.author.trim().to_owned() };
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

/// What a person reads of the pages when they are done.
pub(super) fn page_line(sheet: &Sheet) -> String {
    let [mean, most] = ink_percent(&sheet.coverage(), sheet.chart_pages);
    format!(
        "{}, {} of them chart, cells of {:.2} mm; ink covers {mean:.0} % of a chart page, {most:.0} % at most",
        counted(sheet.pages.len() as u64, "page"),
        sheet.chart_pages,
        sheet.cell
    )
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
        "cell_mm": rounded(sheet.cell),
        "ink_percent": {
            "mean": rounded(mean),
            "most": rounded(most),
            "pages": coverage.into_iter().map(|share| rounded(share * 100.0)).collect::<Vec<_>>(),
        },
        "alike": alike.collect::<Vec<_>>(),
    })
}

pub(super) fn run(args: &PrintArgs) -> Result<(), Failure> {
    let mut chart = read_chart(&args.chart)?;
    give_symbols(&mut chart);
    fix_wished_symbols(&mut chart, &args.page)?;
    let bar = Bar::new(if args.quiet { Chatter::Quiet } else { Chatter::Usual });
    let composed = compose(&chart)?;
    let (sheet, bytes) = pages(&composed, &args.page, &bar)?;
    let mut files = vec![(args.output.clone(), bytes)];
    if args.pictures {
        let stitched = picture::stitched(&composed.chart, &composed.lines, &bar)?;
        files
            .push((args.output.with_extension("cells.png"), picture::png(&picture::cells(&composed.chart))?));
        files.push((args.output.with_extension("stitched.png"), picture::png(&stitched)?));
    }
    if let Some(path) = &args.keep {
        files.push((path.clone(), chart.to_json().into_bytes()));
    }
    if let Some(path) = &args.symbol_names {
        let list = sheet::symbol_list(&composed.chart, args.page.paper);
        files.push((path.clone(), inked(&list, &args.page, made_at(), &bar)?));
    }
    let mut warnings: Vec<String> = sheet.warnings.iter().map(ToString::to_string).collect();
    warnings.extend(save_all(None, &files)?.iter().map(|kept| kept_told(kept)));
    bar.finish();
    if !args.quiet {
        for warning in &warnings {
            tell::warning(warning);
        }
    }
    if args.json {
        let mut summary = page_figures(&sheet);
        summary["files"] = files.iter().map(|(path, _)| name_of(path)).collect();
        summary["warnings"] = warnings.into();
        tell::data(&format!("{summary}\n"))?;
    } else if !args.quiet {
        let text = format!("{}: {}\n", args.output.display(), page_line(&sheet));
        tell::result(&text)?;
    }
    Ok(())
}
