//! `brede print`: the pages of a chart that is there already.

use std::path::{Path, PathBuf};

use brede::chart::Chart;
use brede::ink::{self, InkError, PdfOptions};
use brede::marks::{self, Composed};
use brede::picture;
use brede::progress::Progress;
use brede::sheet::{self, Ink, Paper, Print, Sheet, SheetOptions};
use brede::units::Millimetres;
use clap::{Args, ValueEnum};

use super::bar::{Bar, Chatter};
use super::files::save;
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
  brede print marked.chart.json -o marked.pdf --pictures")]
pub(super) struct PrintArgs {
    /// The chart: a NAME.chart.json that `brede make` wrote
    chart: PathBuf,
    /// Where the pages go
    #[arg(short, long, value_name = "FILE.pdf")]
    output: PathBuf,
    #[command(flatten)]
    page: PageArgs,
    /// Write the pictures beside the pages too, marks included: FILE.cells.png and FILE.stitched.png
    #[arg(long)]
    pictures: bool,
    /// Say nothing but errors
    #[arg(short, long)]
    quiet: bool,
}

impl PageArgs {
    fn options(&self, date: String) -> SheetOptions {
        SheetOptions {
            paper: self.paper,
            ink: match self.ink {
                InkArg::Colour => Ink::Colour,
                InkArg::Grey => Ink::Grey,
            },
            cell: self.cell,
            print: if self.large_print { Print::Large } else { Print::Usual },
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
    let bytes = std::fs::read(path).map_err(|source| {
        let error = ReadError { path: path.to_owned(), source };
        Failure::new(error, "give a NAME.chart.json that brede wrote")
    })?;
    Chart::from_json(&bytes).map_err(|source| {
        let hint = source.hint();
        Failure::new(ChartFileError { path: path.to_owned(), source }, hint)
    })
}

#[derive(Debug, thiserror::Error)]
#[error("could not read {}", path.display())]
pub(super) struct ReadError {
    pub(super) path: PathBuf,
    pub(super) source: std::io::Error,
}

#[derive(Debug, thiserror::Error)]
#[error("could not use the chart {}", path.display())]
struct ChartFileError {
    path: PathBuf,
    source: brede::chart::DocumentError,
}

/// Lays the marks of a chart over it.
pub(super) fn compose(chart: &Chart) -> Result<Composed, Failure> {
    marks::compose(chart).map_err(|error| {
        let hint = error.hint();
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
    let options = PdfOptions { created: made_at.as_second(), author: String::new() };
    let bytes = ink::pdf(&sheet, &options, progress).map_err(|error| match error {
        InkError::Stopped(_) => Failure::Stopped,
        error => Failure::Error(Box::new(error), None),
    })?;
    Ok((sheet, bytes))
}

pub(super) fn run(args: &PrintArgs) -> Result<(), Failure> {
    let chart = read_chart(&args.chart)?;
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
    for (path, bytes) in &files {
        save(path, bytes)?;
    }
    bar.finish();
    if !args.quiet {
        for warning in &sheet.warnings {
            tell::warning(&warning.to_string());
        }
        let text = format!(
            "{}: {} pages, {} of them chart, cells of {:.2} mm\n",
            args.output.display(),
            sheet.pages.len(),
            sheet.chart_pages,
            sheet.cell
        );
        tell::result(&text)?;
    }
    Ok(())
}
