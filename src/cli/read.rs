//! `brede read`: a chart that was printed elsewhere.

use std::path::PathBuf;

use brede::desk::{self, ReadReport, ReadRequest, Source, file_name_of, thousands};
use clap::Args;

use super::{Failure, doing, over::OverArgs, tell::TellArgs};

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
    let name = args.name.clone().unwrap_or_else(|| Source::from(args.files[0].clone()).called());
    let request = ReadRequest {
        pages: args.files.iter().cloned().map(Source::from).collect(),
        key: args.key.clone().map(Into::into),
        card: args.shades.clone().map(Into::into),
        size: [args.columns, args.rows],
        name: args.name.clone(),
        folder: args.out.clone().unwrap_or_else(|| file_name_of(&name).into()).into(),
        limits: args.over.limits(),
        replace: args.over.replace(),
        reader: crate::apart::reader(),
    };
    doing::told(args.tell, |bar| desk::read(&request, bar), told).map(drop)
}

fn told(found: &ReadReport) -> String {
    let figures = [found.columns as usize, found.rows as usize, found.symbols.len(), found.lines.len()];
    let [columns, rows, symbols, lines] = figures.map(|figure| thousands(figure as u64));
    let stitches = thousands(found.stitches);
    format!(include_str!("words/read.txt"), columns, rows, stitches, symbols, lines)
}
