//! `brede proof`: whether printed pages say what the chart says.

mod lines;

use std::fmt::Write as _;
use std::path::PathBuf;

use brede::chart::Chart;
use brede::printing::picture;
use brede::printing::sheet::thousands;
use brede::reading::proof::{self, Pair, Proof, ProofError, ProofOptions, Spoil};
use clap::{Args, ValueEnum};
use serde_json::json;

use super::bar::{Bar, Chatter};
use super::files::{read, save};
use super::print::{compose, read_chart};
use super::{Failure, tell};

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede proof rock-pool.pdf rock-pool.chart.json
  brede proof rock-pool.pdf rock-pool.chart.json --spoil harsh --picture worst.png

Fails (exit code 1) where a cell or the pattern of an outline is misread.")]
pub(super) struct ProofArgs {
    /// The pages: a PDF that `brede make` or `brede print` wrote
    pdf: PathBuf,
    /// The chart that they were printed from
    chart: PathBuf,
    /// Read the pages at so many dots an inch, 100 to 600
    #[arg(long, value_name = "N", default_value_t = 150.0)]
    dpi: f64,
    /// Spoil the pages first: home as a printer low on ink, harsh as a worse one with the paper askew
    #[arg(long, value_enum, default_value_t = SpoilArg::None)]
    spoil: SpoilArg,
    /// Read so many chart pages, spread over the chart; else all
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pages: Option<u32>,
    /// Write the worst page as it was read, wrong cells and outlines marked in red
    #[arg(long, value_name = "FILE.png")]
    picture: Option<PathBuf>,
    /// Write what was found as JSON to standard output
    #[arg(long)]
    json: bool,
    /// Say nothing but errors
    #[arg(short, long)]
    quiet: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum SpoilArg {
    None,
    Home,
    Harsh,
}

impl ProofArgs {
    fn options(&self) -> ProofOptions {
        ProofOptions {
            dpi: self.dpi,
            spoil: match self.spoil {
                SpoilArg::None => Spoil::None,
                SpoilArg::Home => Spoil::Home,
                SpoilArg::Harsh => Spoil::Harsh,
            },
            pages: self.pages.map(|pages| pages as usize),
        }
    }
}

#[derive(Debug, thiserror::Error)]
#[error("could not proof-read {}", path.display())]
struct PdfError {
    path: PathBuf,
    source: ProofError,
}

#[derive(Debug, thiserror::Error)]
enum MisreadError {
    #[error("{wrong} of {cells} cells are misread")]
    Cells { wrong: usize, cells: u64 },
    #[error("the patterns of {wrong} of {judged} outlines are misread")]
    Lines { wrong: usize, judged: u64 },
}

pub(super) fn run(args: &ProofArgs) -> Result<(), Failure> {
    let bytes = read(&args.pdf, "give the PDF that `brede make` or `brede print` wrote")?;
    let composed = compose(&read_chart(&args.chart)?)?;
    let bar = Bar::new(if args.quiet { Chatter::Quiet } else { Chatter::Usual });
    let fail = |source: ProofError| match source {
        ProofError::Stopped(_) => Failure::Stopped,
        source => {
            let hint = source.hint();
            Failure::new(PdfError { path: args.pdf.clone(), source }, hint)
        }
    };
    let found = proof::proof(&bytes, &composed, args.options(), &bar).map_err(fail)?;
    if let Some(path) = &args.picture {
        let png = picture::png(
            &image::DynamicImage::from(found.picture(&bytes, &composed.lines).map_err(fail)?).to_rgba8(),
        )?;
        save(path, &png)?;
    }
    bar.finish();
    if args.json {
        tell::data(&format!("{}\n", summary(&found, &composed.chart, args)))?;
    } else if !args.quiet {
        tell::result(&told(&found, &composed.chart))?;
    }
    if found.is_right() {
        return Ok(());
    }
    Err(misread(&found))
}

/// That the pages say something else than the chart.
pub(super) fn misread(found: &Proof) -> Failure {
    let error = match found.misread.len() {
        0 => MisreadError::Lines { wrong: found.lines.misread.len(), judged: found.lines.judged },
        wrong => MisreadError::Cells { wrong, cells: found.own.cells + found.repeated.cells },
    };
    Failure::new(
        error,
        "print this chart again with `brede print`; larger cells (--cell 3mm) are easier to read, and `brede proof \
         --picture` shows where",
    )
}

/// A needle's code and symbol, or bare cloth.
fn needle(chart: &Chart, needle: Option<usize>) -> String {
    needle
        .and_then(|needle| chart.needles().get(needle))
        .map_or_else(|| "bare cloth".to_owned(), |needle| format!("{} ({})", needle.code(), needle.symbol))
}

/// So many near pairs are told.
const PAIRS_TOLD: usize = 5;

/// So many wrong cells are told.
const CELLS_TOLD: usize = 12;

fn told(found: &Proof, chart: &Chart) -> String {
    let mut text =
        format!("proof-read: {} of {} cells", thousands(found.own.right), thousands(found.own.cells));
    _ = write!(text, " on {} of {} chart pages", found.pages, found.of_pages);
    if found.repeated.cells > 0 {
        let (right, cells) = (thousands(found.repeated.right), thousands(found.repeated.cells));
        _ = write!(text, ", and {right} of {cells} repeated at the joins");
    }
    if let Some(margin) = found.margin() {
        _ = write!(text, "\nsmallest margin {margin:.2} (1 beyond doubt, 0 a tie); nearest were");
    }
    text.push('\n');
    for Pair { read, second, margin } in found.nearest.iter().take(PAIRS_TOLD) {
        _ = writeln!(text, "  {margin:.2}  {} to {}", needle(chart, *read), needle(chart, *second));
    }
    for cell in found.misread.iter().take(CELLS_TOLD) {
        _ = writeln!(
            text,
            "page {}, column {}, row {}: the page shows {}, the chart has {}",
            cell.page,
            cell.column,
            cell.row,
            needle(chart, cell.read),
            needle(chart, cell.chart)
        );
    }
    if let Some(more) = found.misread.len().checked_sub(CELLS_TOLD).filter(|&more| more > 0) {
        _ = writeln!(text, "and {more} more cells");
    }
    text.push_str(&lines::told(&found.lines));
    text
}

/// A margin for other programs, to four places.
fn round(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

fn summary(found: &Proof, chart: &Chart, args: &ProofArgs) -> serde_json::Value {
    let named = |at: Option<usize>| {
        at.and_then(|at| chart.needles().get(at))
            .map_or(serde_json::Value::Null, |needle| json!({"code": needle.code(), "symbol": needle.symbol}))
    };
    let misread = |cell: &proof::Misread| {
        json!({
            "page": cell.page,
            "column": cell.column,
            "row": cell.row,
            "repeated": cell.repeated,
            "chart": named(cell.chart),
            "read": named(cell.read),
            "margin": round(cell.margin),
        })
    };
    let nearest = |pair: &Pair| json!({"read": named(pair.read), "second": named(pair.second), "margin": round(pair.margin)});
    json!({
        "cells": found.own.cells,
        "right": found.own.right,
        "wrong": found.own.cells - found.own.right,
        "repeated": {"cells": found.repeated.cells, "right": found.repeated.right},
        "pages": found.pages,
        "chart_pages": found.of_pages,
        "places": found.places().map(|(page, [column, row], [columns, rows])| {
            json!({"page": page, "column": column, "row": row, "columns": columns, "rows": rows})
        }).collect::<Vec<_>>(),
        "dpi": args.dpi,
        "spoil": args.spoil.to_possible_value().map(|value| value.get_name().to_owned()),
        "margin": found.margin().map(round),
        "nearest": found.nearest.iter().take(PAIRS_TOLD).map(nearest).collect::<Vec<_>>(),
        "misread": found.misread.iter().map(misread).collect::<Vec<_>>(),
        "outlines": lines::summary(&found.lines),
    })
}
