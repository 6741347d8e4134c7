//! `brede kit`: the shopping list for one chart or several together.

use std::path::PathBuf;

use brede::desk::{
    self, BoxOrder, Change, Compartments, Handling, KitReport, KitRequest, KitSavings, KitSheets, KitThread,
    Paper, decimal,
};
use brede::ground::plain::table;
use brede::ground::told;
use brede::ground::units::{Millimetres, counted};
use clap::{ArgGroup, Args};
use rust_decimal::Decimal;

use super::Failure;
use super::basket::BasketArgs;
use super::doing;
use super::moment::moment;
use super::over::OverArgs;
use super::tell::TellArgs;
use super::values::{number, one_of};

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/kit.txt"), group = ArgGroup::new("boxed").multiple(true))]
pub(super) struct KitArgs {
    /// Charts: NAME.chart.json files that `brede make` wrote
    #[arg(required = true)]
    charts: Vec<PathBuf>,
    /// Your shade card: its prices, lengths and what is owned count before those that a chart remembers
    #[arg(long, value_name = "CARD.csv")]
    shades: Option<PathBuf>,
    /// Skeins that you own: CSV with the columns code,owned
    #[arg(long, value_name = "FILE.csv")]
    owned: Option<PathBuf>,
    /// What amounts are in, to be written beside them
    #[arg(long, value_name = "TEXT")]
    currency: Option<String>,
    /// Offer the changes that bring the cost down to this at the least loss of colour
    #[arg(long, value_name = "AMOUNT", value_parser = amount_of)]
    budget: Option<Decimal>,
    /// Write the list as CSV
    #[arg(long, value_name = "FILE.csv")]
    csv: Option<PathBuf>,
    /// Write the list as pages to print
    #[arg(long, value_name = "FILE.pdf")]
    pdf: Option<PathBuf>,
    /// Write cards that sort threads, a hole for each thread or blend; for one chart
    #[arg(long, value_name = "FILE.pdf", group = "boxed")]
    sorter: Option<PathBuf>,
    /// Write labels for thread on bobbins, to cut out
    #[arg(long, value_name = "FILE.pdf", group = "boxed")]
    bobbins: Option<PathBuf>,
    /// With --bobbins or --sorter: a box with so many rows and columns of compartments, such as 10x5; they begin with a
    /// plan of it and follow its order
    #[arg(long = "box", value_name = "ROWSxCOLUMNS", requires = "boxed")]
    compartments: Option<Compartments>,
    /// How threads lie in the box
    #[arg(long, requires = "compartments", default_value = "code", value_parser = one_of::<BoxOrder>(&["code", "colour", "use"]))]
    box_order: BoxOrder,
    /// Write the working order of each thread as pages: starts, rows there and back, travels, ends; for one chart
    #[arg(long, value_name = "FILE.pdf")]
    order: Option<PathBuf>,
    /// With --order: only these threads and their blends
    #[arg(long, value_name = "CODE,...", value_delimiter = ',', requires = "order")]
    only: Vec<String>,
    /// With --order: so many pages at the most behind the list; else 40, or as many as the threads of --only take
    #[arg(long, value_name = "N", requires = "order", value_parser = clap::value_parser!(u16).range(1..=2000))]
    order_pages: Option<u16>,
    /// The paper of these: a4, a3, letter, or a size such as 20x30cm
    #[arg(long, default_value = "a4")]
    paper: Paper,
    #[command(flatten)]
    tell: TellArgs,
    /// How your thread covers, for what a change does to colours: a TOML file as for brede cloth
    #[arg(long, value_name = "FILE.toml")]
    cover: Option<PathBuf>,
    #[command(flatten)]
    over: OverArgs,
    #[command(flatten)]
    handling: HandlingArgs,
    /// Crosses that you work in an hour (common practice, no source: time yourself)
    #[arg(long, value_name = "N", default_value_t = 100, value_parser = clap::value_parser!(u16).range(1..=1000), help_heading = "Time")]
    stitches_an_hour: u16,
    /// Hours that you stitch in a week
    #[arg(long, value_name = "N", value_parser = number(0.1..=168.0), help_heading = "Time")]
    hours_a_week: Option<f64>,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "How you handle thread")]
struct HandlingArgs {
    /// The longest float on the back, in squares; beyond, the thread is ended off
    #[arg(long, value_name = "CELLS", default_value_t = 5, value_parser = clap::value_parser!(u8).range(1..=20))]
    travel: u8,
    /// Thread held under where you start
    #[arg(long, value_name = "LENGTH", default_value = "4cm")]
    start: Millimetres,
    /// Thread run under where you end
    #[arg(long, value_name = "LENGTH", default_value = "4cm")]
    end: Millimetres,
    /// The length that you cut for the needle
    #[arg(long, value_name = "LENGTH", default_value = "50cm")]
    needleful: Millimetres,
    /// Added for tension, unpicking and ends too short to use, in per cent; thread is reckoned by the order that --order
    /// prints, and plain rows take 5 % more than that on a drawing, up to 27 on a photo
    #[arg(long, value_name = "PERCENT", default_value_t = 10, value_parser = clap::value_parser!(u8).range(0..=100))]
    waste: u8,
}

/// An amount of money, with a point or a comma before the cents.
fn amount_of(text: &str) -> Result<Decimal, String> {
    decimal(text)
        .filter(|amount| !amount.is_sign_negative())
        .ok_or_else(|| "give an amount such as 40 or 30.50".to_owned())
}

pub(super) fn run(args: &KitArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let &HandlingArgs { travel, start, end, needleful, waste } = &args.handling;
    let (travel, waste) = (f64::from(travel), f64::from(waste) / 100.0);
    let handling = Handling { travel, start, end, needleful, waste };
    let target = |path: &Option<PathBuf>| path.clone().map(Into::into);
    let request = KitRequest {
        charts: basket.charts(&args.charts)?,
        card: args.shades.clone().map(Into::into),
        owned: args.owned.clone().map(Into::into),
        budget: args.budget,
        cover: args.cover.clone().map(Into::into),
        handling,
        stitches_an_hour: f64::from(args.stitches_an_hour),
        hours_a_week: args.hours_a_week,
        sheets: KitSheets {
            csv: target(&args.csv),
            pages: target(&args.pdf),
            sorter: target(&args.sorter),
            bobbins: target(&args.bobbins),
            in_box: args.compartments.map(|compartments| (compartments, args.box_order)),
            order: target(&args.order),
            only: args.only.clone(),
            order_pages: args.order_pages.map(usize::from),
            paper: args.paper,
            currency: args.currency.clone(),
        },
        moment: moment()?,
        limits: args.over.limits(),
        replace: args.over.replace(),
    };
    let offers_worded = |report: &KitReport, value: &mut serde_json::Value| {
        let offers = report.savings.iter().flat_map(|saved| &saved.offers).enumerate();
        offers.for_each(|(at, offer)| {
            value["savings"]["offers"][at]["change"] = change_text(&offer.change).into();
        });
    };
    let words = |report: &KitReport| {
        let mut text = list_text(report, args);
        if let (Some(saved), Some(budget)) = (&report.savings, args.budget) {
            text.push_str(&savings_text(saved, budget, args));
        }
        text + &time_text(report, args)
    };
    doing::told_with(args.tell, |bar| desk::kit(&request, bar), offers_worded, words).map(drop)
}

fn money(amount: Decimal, args: &KitArgs) -> String {
    match &args.currency {
        Some(currency) => format!("{amount} {currency}"),
        None => amount.to_string(),
    }
}

fn list_text(report: &KitReport, args: &KitArgs) -> String {
    let headings = "code|name|>stitches|>strand m|>used|>skeins|>owned|>buy|>price|>cost|note";
    let several = report.charts.len() > 1;
    let row = |thread: &KitThread| {
        let amount = |amount: Option<Decimal>| amount.map_or_else(|| "?".to_owned(), |a| a.to_string());
        let in_charts = several && thread.charts.len() > 1;
        let in_charts = in_charts.then(|| format!("in {} charts", thread.charts.len()));
        let note = (!thread.note.is_empty()).then(|| thread.note.clone());
        vec![
            thread.code.clone(),
            thread.name.chars().take(28).collect(),
            (thread.stitches + thread.backstitches).to_string(),
            format!("{:.1}", thread.strand_metres),
            format!("{:.2}", thread.skeins_exact),
            thread.skeins.to_string(),
            thread.owned.normalize().to_string(),
            thread.buy.to_string(),
            amount(thread.price),
            if thread.buy == 0 { "-".to_owned() } else { amount(thread.cost) },
            note.into_iter().chain(in_charts).collect::<Vec<_>>().join("; "),
        ]
    };
    let mut text = format!("{}\n\n", report.charts.join(", "));
    text.push_str(&table(headings, &report.threads.iter().map(row).collect::<Vec<_>>()));
    let metres: f64 = report.threads.iter().map(|thread| thread.strand_metres).sum();
    text.push_str(&format!(
        "\n{}, {metres:.0} m of single strand, {}; {} to buy",
        counted(report.threads.len() as u64, "thread"),
        counted(report.skeins, "skein"),
        report.buy,
    ));
    text.push_str(&cost_text(report, args));
    if report.one_of_each_is_enough {
        text.push_str("One skein of each is enough, as in a boxed set.\n");
    } else {
        let codes = report.beyond_one_of_each.join(", ");
        text.push_str(&format!("One skein of each is not enough for: {codes}\n"));
    }
    if args.shades.is_none() && args.owned.is_none() {
        text.push_str(
            "Nothing is counted as owned: give your card with --shades, or what is in the drawer with --owned.\n",
        );
    }
    if report.threads.iter().any(|thread| thread.buy > 1) {
        text.push_str("Buy all skeins of a shade in one dye lot.\n");
    }
    text
}

/// What it costs in all, as far as prices are known.
fn cost_text(report: &KitReport, args: &KitArgs) -> String {
    let to_buy = report.threads.iter().filter(|thread| thread.buy > 0).count();
    match report.unpriced.len() {
        unpriced if unpriced == to_buy && to_buy > 0 => "; no price is known\n".to_owned(),
        0 => format!(", {} in all\n", money(report.total, args)),
        unpriced => format!(
            ", {} in all; without the {} whose price is not known\n",
            money(report.total, args),
            counted(unpriced as u64, "thread")
        ),
    }
}

fn change_text(change: &Change) -> String {
    match change {
        Change::Merge { from, into } => format!("work {from} in {into}"),
        Change::Bare { code } => format!("leave {code} bare"),
        Change::FewerStrands { from } => {
            format!("{} for {from} throughout", counted(u64::from(from - 1), "strand"))
        }
    }
}

fn savings_text(saved: &KitSavings, budget: Decimal, args: &KitArgs) -> String {
    let budget_text = money(budget, args);
    if saved.offers.is_empty() {
        return if saved.before <= budget {
            format!("\nWithin {budget_text} as it is.\n")
        } else {
            format!("\nNothing can be saved towards {budget_text}.\n")
        };
    }
    let headings = "change|>saves|>then|>stitches|>ΔE there|>ΔE overall";
    let rows: Vec<Vec<String>> = saved
        .offers
        .iter()
        .map(|offer| {
            vec![
                change_text(&offer.change),
                offer.saves.to_string(),
                offer.total.to_string(),
                offer.stitches.to_string(),
                format!("{:.1}", offer.delta_e),
                format!("{:+.2}", offer.mean_delta_e),
            ]
        })
        .collect();
    let reached = if saved.after <= budget { "" } else { "; nothing more can be saved" };
    format!(
        "\nTowards {budget_text}, the change that costs least colour first (CIEDE2000; nothing has been changed):\n\n{}\
         \nAll of them: {} for {}{reached}\n",
        table(headings, &rows),
        money(saved.after, args),
        money(saved.before, args),
    )
}

fn time_text(report: &KitReport, args: &KitArgs) -> String {
    let weeks = match report.weeks {
        Some([_, high]) if high <= 1.0 => ", within a week".to_owned(),
        Some([low, high]) => format!(", {}", told::range([low.floor(), high.ceil()], "week")),
        None => String::new(),
    };
    format!(
        "At about {} an hour: {}{weeks}. A guess: your own pace decides.\n",
        counted(args.stitches_an_hour.into(), "cross"),
        told::hours(report.hours),
    )
}
