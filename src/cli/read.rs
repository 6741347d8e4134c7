//! `brede read`: a chart that was printed elsewhere.

use std::fmt::Write as _;
use std::path::PathBuf;

use brede::desk::{self, ReadReport, ReadRequest, Source, thousands};
use brede::ground::units::counted;
use clap::Args;

use super::Failure;
use super::doing;
use super::over::OverArgs;
use super::tell::TellArgs;

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/read.txt"))]
pub(super) struct ReadArgs {
    /// The chart as PDF; several files in the order of their pages
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// What you know of symbols that the key does not name: CSV by the numbers of NAME.found.png
    #[arg(long, value_name = "KEY.csv")]
    key: Option<PathBuf>,
    /// The card in which the key's codes are looked up
    #[arg(long, value_name = "CARD.csv")]
    shades: Option<PathBuf>,
    /// Columns of the whole chart, where its pages do not say how they join
    #[arg(long, value_name = "N", requires = "rows")]
    columns: Option<u32>,
    /// Rows of the whole chart
    #[arg(long, value_name = "N", requires = "columns")]
    rows: Option<u32>,
    /// What to call it; else as the first file
    #[arg(long)]
    name: Option<String>,
    /// The folder to write to; else one of that name
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    over: OverArgs,
    #[command(flatten)]
    tell: TellArgs,
}

pub(super) fn run(args: &ReadArgs) -> Result<(), Failure> {
    let pages: Vec<Source> = args.files.iter().cloned().map(Source::from).collect();
    let name = args.name.clone().or_else(|| pages.first().map(Source::result_name)).unwrap_or_default();
    let request = ReadRequest {
        pages,
        key: args.key.clone().map(Into::into),
        card: args.shades.clone().map(Into::into),
        size: [args.columns, args.rows],
        name: args.name.clone(),
        folder: args.out.clone().unwrap_or_else(|| name.into()).into(),
        limits: args.over.limits(),
        replace: args.over.replace(),
        reader: crate::apart::reader(),
    };
    doing::told(args.tell, |bar| desk::read(&request, bar), told)?;
    Ok(())
}

fn told(found: &ReadReport) -> String {
    let mut text = format!(
        "read {} x {} squares, {} stitched, in {} from {} of {}\n",
        found.columns,
        found.rows,
        thousands(found.stitches),
        counted(found.symbols.len() as u64, "symbol"),
        found.chart_pages.len(),
        counted(found.pages as u64, "page")
    );
    for line in &found.lines {
        _ = writeln!(text, "backstitch {}: {:.0} squares long", line.mark, line.length);
    }
    for path in found.files.iter().filter_map(|file| file.path.as_deref()) {
        _ = writeln!(text, "  {}", path.display());
    }
    text += "what may be done with a chart that you bought, its maker's terms and local law decide\n";
    text
}
