//! `brede print`: the pages of a chart that is there already.

use std::path::PathBuf;

use brede::desk::{
    self, BoxOrder, Ink, PageFigures, PageSettings, Paper, Pictures, Print, PrintReport, PrintRequest,
    Screen, Show,
};
use brede::ground::units::{Millimetres, counted};
use clap::Args;

use super::Failure;
use super::basket::BasketArgs;
use super::doing;
use super::moment::moment;
use super::over::OverArgs;
use super::tell::TellArgs;
use super::values::one_of;

/// How the pages are to be printed; shared by `make` and `print`.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Page")]
pub(super) struct PageArgs {
    /// The paper: a4, a3, letter, or a size such as 20x30cm
    #[arg(long, default_value = "a4")]
    pub(super) paper: Paper,
    /// colour puts pale tints under black symbols; grey uses a few greys and no colour
    #[arg(long, default_value = "colour", value_parser = one_of::<Ink>(&["colour", "grey"]))]
    ink: Ink,
    /// The side of a square on paper, such as 3.0mm; else as the paper allows
    #[arg(long, value_name = "LENGTH")]
    pub(super) cell: Option<Millimetres>,
    /// Cells of 4.5 mm and text of 16 points
    #[arg(long)]
    pub(super) large_print: bool,
    /// What fills the squares: both symbols and pale colours, symbols alone, or the threads' colours alone
    #[arg(long, default_value = "both", value_parser = one_of::<Show>(&["both", "symbols", "colours"]))]
    show: Show,
    /// One long page for a screen of this size, such as 160x230mm or 768x1024px (96 to the inch), instead of paper
    #[arg(long, value_name = "WxH", conflicts_with_all = ["paper", "cell"])]
    pub(super) tablet: Option<Screen>,
    /// Give a thread this symbol, by code and name, such as T001=disc-solid; may be given again
    #[arg(long, value_name = "CODE=NAME", value_parser = wish)]
    pub(super) symbol: Vec<(String, String)>,
    /// How threads stand in the key and under the chart: by code, or as they lie in the box that `kit --box-order` plans
    #[arg(long, default_value = "code", value_parser = one_of::<BoxOrder>(&["code", "colour", "use"]))]
    key_order: BoxOrder,
    /// Who made the chart, kept in the description of the PDF
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    pub(super) author: String,
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

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/print.txt"))]
pub(super) struct PrintArgs {
    /// The chart: a NAME.chart.json that `brede make` wrote
    chart: PathBuf,
    /// Where the pages go; the thread list of the chart as it is now goes beside them: FILE.threads.csv
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
    /// Write what goes with the pages too, marks included: FILE.cells.png, FILE.stitched.png and FILE.threads.csv
    #[arg(long)]
    pictures: bool,
    #[command(flatten)]
    over: OverArgs,
    #[command(flatten)]
    tell: TellArgs,
}

impl PageArgs {
    /// How the pages are to be.
    pub(super) fn settings(&self) -> PageSettings {
        PageSettings {
            paper: self.paper,
            ink: self.ink,
            cell: self.cell,
            print: if self.large_print { Print::Large } else { Print::Usual },
            show: self.show,
            tablet: self.tablet,
            symbols: self.symbol.clone(),
            key_order: self.key_order,
            author: self.author.clone(),
        }
    }
}

/// What a person reads of the pages when they are done.
pub(super) fn page_line(pages: &PageFigures) -> String {
    format!(
        "{}, {} of them chart, squares of {:.2} mm; ink covers {:.0} % of a chart page, {:.0} % at most",
        counted(pages.pages as u64, "page"),
        pages.chart_pages,
        pages.cell,
        pages.ink.mean,
        pages.ink.most,
    )
}

pub(super) fn run(args: &PrintArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let request = PrintRequest {
        chart: basket.chart(&args.chart)?,
        page: args.page.settings(),
        output: args.output.clone().into(),
        pictures: if args.pictures { Pictures::Beside } else { Pictures::None },
        keep: args.keep.clone().map(Into::into),
        symbol_names: args.symbol_names.clone().map(Into::into),
        moment: moment()?,
        limits: args.over.limits(),
        replace: args.over.replace(),
    };
    let words = |report: &PrintReport| format!("{}: {}\n", args.output.display(), page_line(&report.pages));
    doing::told(args.tell, |bar| desk::print(&request, bar), words).map(drop)
}
