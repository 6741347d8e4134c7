//! `brede proof`: whether printed pages say what the chart says.

use std::fmt::Write as _;
use std::path::PathBuf;

use brede::desk::{
    self, LineNear, LinePattern, LineWrong, Named, OutlineFigures, ProofReport, ProofRequest, Spoil,
    thousands,
};
use brede::ground::units::counted;
use clap::Args;

use super::Failure;
use super::basket::BasketArgs;
use super::doing;
use super::over::OverArgs;
use super::tell::TellArgs;
use super::values::one_of;

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/proof.txt"))]
pub(super) struct ProofArgs {
    /// The pages: a PDF that `brede make` or `brede print` wrote
    pdf: PathBuf,
    /// The chart that they were printed from
    chart: PathBuf,
    /// Read the pages at so many dots an inch, 100 to 600
    #[arg(long, value_name = "N", default_value_t = 150.0)]
    dpi: f64,
    /// Spoil the pages first: home as a printer low on ink, harsh as a worse one with the paper askew
    #[arg(long, default_value = "none", value_parser = one_of::<Spoil>(&["none", "home", "harsh"]))]
    spoil: Spoil,
    /// Read so many chart pages, spread over the chart; else all
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pages: Option<u32>,
    /// Write the worst page as it was read, wrong squares and outlines marked in red
    #[arg(long, value_name = "FILE.png")]
    picture: Option<PathBuf>,
    #[command(flatten)]
    over: OverArgs,
    #[command(flatten)]
    tell: TellArgs,
}

pub(super) fn run(args: &ProofArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let request = ProofRequest {
        pages: args.pdf.clone().into(),
        chart: basket.chart(&args.chart)?,
        dpi: args.dpi,
        spoil: args.spoil,
        most: args.pages.map(|pages| pages as usize),
        picture: args.picture.clone().map(Into::into),
        limits: args.over.limits(),
        replace: args.over.replace(),
        reader: crate::apart::reader(),
    };
    let report = doing::told(args.tell, |bar| desk::proof(&request, bar), told)?;
    Ok(report.right()?)
}

/// A thread's code and symbol, or bare cloth.
fn needle(needle: Option<&Named>) -> String {
    needle.map_or_else(|| "bare cloth".to_owned(), |needle| format!("{} ({})", needle.code, needle.symbol))
}

/// What a margin says. The least on clean pages of sixty threads in squares of 3 mm is some 0.2 to 0.4.
fn apart(margin: f64) -> &'static str {
    if margin < LOOK_TWICE { "look twice at some" } else { "easily told apart" }
}

/// Symbols with a smaller margin are worth a second look.
const LOOK_TWICE: f64 = 0.15;

/// So many wrong squares are told.
const CELLS_TOLD: usize = 12;

fn told(found: &ProofReport) -> String {
    let mut text = format!("checked: {} of {} squares", thousands(found.right), thousands(found.cells));
    _ = write!(text, " on {} of {}", found.pages, counted(found.chart_pages as u64, "chart page"));
    if found.repeated.cells > 0 {
        let (right, cells) = (thousands(found.repeated.right), thousands(found.repeated.cells));
        _ = write!(text, ", and {right} of {cells} repeated at the joins");
    }
    if let Some(margin) = found.margin {
        _ = write!(
            text,
            "\n{}: the least margin is {margin:.2} (1 beyond doubt, 0 a tie); nearest were",
            apart(margin)
        );
    }
    text.push('\n');
    for pair in &found.nearest {
        let (read, second) = (needle(pair.read.as_ref()), needle(pair.second.as_ref()));
        _ = writeln!(text, "  {:.2}  {read} to {second}", pair.margin);
    }
    for cell in found.misread.iter().take(CELLS_TOLD) {
        _ = writeln!(
            text,
            "page {}, column {}, row {}: the page shows {}, the chart has {}",
            cell.page,
            cell.column,
            cell.row,
            needle(cell.read.as_ref()),
            needle(cell.chart.as_ref())
        );
    }
    if let Some(more) = found.misread.len().checked_sub(CELLS_TOLD).filter(|&more| more > 0) {
        _ = writeln!(text, "and {}", counted(more as u64, "more square"));
    }
    text.push_str(&lines_told(&found.outlines));
    text
}

/// So many wrong outlines are told.
const LINES_TOLD: usize = 8;

fn pattern(pattern: Option<LinePattern>) -> &'static str {
    pattern.map_or("no line", LinePattern::name)
}

/// For people; nothing where the chart has no lines.
fn lines_told(lines: &OutlineFigures) -> String {
    let mut text = String::new();
    if lines.judged == 0 && lines.too_short == 0 {
        return text;
    }
    let [right, judged] = [lines.right, lines.judged].map(thousands);
    _ = write!(text, "outlines: {right} of {judged} told apart by their patterns");
    if lines.too_short > 0 {
        _ = write!(text, ", {} too short to judge", thousands(lines.too_short));
    }
    text.push('\n');
    if let Some(LineNear { read, second, margin }) = lines.nearest.first() {
        _ = writeln!(text, "  {margin:.2}  {} to {}", pattern(*read), pattern(*second));
    }
    for line in lines.misread.iter().take(LINES_TOLD) {
        let LineWrong { page, column, row, mark, chart, read, .. } = line;
        _ = writeln!(
            text,
            "page {page}, the outline `{mark}` at column {column}, row {row}: the page shows {}, the chart has {}",
            pattern(*read),
            chart.name()
        );
    }
    if let Some(more) = lines.misread.len().checked_sub(LINES_TOLD).filter(|&more| more > 0) {
        _ = writeln!(text, "and {}", counted(more as u64, "more outline"));
    }
    text
}
