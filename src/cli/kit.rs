//! `brede kit`: the shopping list for one chart or several together.

mod pages;

use std::path::{Path, PathBuf};

use brede::ground::units::Millimetres;
use brede::planning::Handling;
use brede::planning::savings::{Change, Savings, savings};
use brede::planning::shopping::{
    Drawer, Forecast, Item, Project, ShoppingList, drawer_of, forecast, pool, shopping_csv,
};
use brede::printing::sheet::Paper;
use brede::printing::symbols::give_symbols;
use brede::thread::shades::decimal;
use clap::Args;
use rust_decimal::Decimal;
use serde_json::json;

use super::cloth::read_cover;
use super::files::{read, rounded, save};
use super::old::read_card;
use super::old::{compose, read_chart};
use super::table::{Flush, table};
use super::{Failure, tell};

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede kit pool.chart.json
  brede kit pool.chart.json harbour.chart.json --shades tin.csv --csv shopping.csv
  brede kit pool.chart.json --owned drawer.csv --budget 40 --currency EUR
  brede kit pool.chart.json --stitches-an-hour 120 --hours-a-week 6
  brede kit pool.chart.json --pdf shopping.pdf --sorter sorter.pdf --paper letter
  brede kit pool.chart.json --bobbins bobbins.pdf --order order.pdf --only S01,S07

A file for --owned, a row a thread; parts of a skein count:
  code,owned
  S01,2
  S07,0.5

Buy all of a shade in one dye lot. Needles, scissors and bobbins away from small children.")]
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
    /// Write cards that sort threads, a hole for each needle; for one chart
    #[arg(long, value_name = "FILE.pdf")]
    sorter: Option<PathBuf>,
    /// Write labels for thread on bobbins, to cut out
    #[arg(long, value_name = "FILE.pdf")]
    bobbins: Option<PathBuf>,
    /// Write the working order of each needle as pages: starts, rows there and back, travels, ends; for one chart
    #[arg(long, value_name = "FILE.pdf")]
    order: Option<PathBuf>,
    /// With --order: only the needles of these threads
    #[arg(long, value_name = "CODE,...", value_delimiter = ',', requires = "order")]
    only: Vec<String>,
    /// The paper of these: a4, a3, letter, or a size such as 20x30cm
    #[arg(long, default_value = "a4")]
    paper: Paper,
    /// Write the list as JSON to standard output
    #[arg(long)]
    json: bool,
    /// How your thread covers, for what a change does to colours: a TOML file as for brede cloth
    #[arg(long, value_name = "FILE.toml")]
    cover: Option<PathBuf>,
    #[command(flatten)]
    handling: HandlingArgs,
    /// Crosses that you work in an hour (common practice, no source: time yourself)
    #[arg(long, value_name = "N", default_value_t = 100, value_parser = clap::value_parser!(u16).range(1..=1000), help_heading = "Time")]
    stitches_an_hour: u16,
    /// Hours that you stitch in a week
    #[arg(long, value_name = "N", value_parser = hours, help_heading = "Time")]
    hours_a_week: Option<f64>,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "How you handle thread")]
struct HandlingArgs {
    /// The longest float on the back, in cells; beyond, the thread is ended off
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
    /// Added for tension, unpicking and ends too short to use, in per cent
    #[arg(long, value_name = "PERCENT", default_value_t = 10, value_parser = clap::value_parser!(u8).range(0..=100))]
    waste: u8,
}

fn hours(text: &str) -> Result<f64, String> {
    let hours: f64 = text.trim().replace(',', ".").parse().map_err(|_| "not a number of hours".to_owned())?;
    if hours > 0.0 && hours <= 168.0 { Ok(hours) } else { Err("a week has 168 hours".to_owned()) }
}

#[derive(Debug, thiserror::Error)]
#[error("a needleful of {needleful} leaves nothing to sew with after a start of {start} and an end of {end}")]
struct NoThreadLeft {
    needleful: Millimetres,
    start: Millimetres,
    end: Millimetres,
}

impl HandlingArgs {
    fn handling(&self) -> Result<Handling, Failure> {
        let (needleful, start, end) = (self.needleful, self.start, self.end);
        if needleful.mm() < start.mm() + end.mm() + 10.0 {
            let error = NoThreadLeft { needleful, start, end };
            return Err(Failure::new(error, "cut longer lengths, such as --needleful 50cm"));
        }
        let (travel, waste) = (f64::from(self.travel), f64::from(self.waste) / 100.0);
        Ok(Handling { travel, start, end, needleful, waste })
    }
}

/// An amount of money, with a point or a comma before the cents.
fn amount_of(text: &str) -> Result<Decimal, String> {
    decimal(text)
        .filter(|amount| !amount.is_sign_negative())
        .ok_or_else(|| "give an amount such as 40 or 30.50".to_owned())
}

#[derive(Debug, thiserror::Error)]
enum OwnedError {
    #[error("row {row} of {} cannot be read", path.display())]
    Row { path: PathBuf, row: u64, source: csv::Error },
    #[error("{} has no columns code and owned", path.display())]
    Columns { path: PathBuf },
    #[error("row {row} of {}: `{text}` is no number of skeins", path.display())]
    Number { path: PathBuf, row: u64, text: String },
    #[error("row {row} of {}: the code `{code}` stands there twice", path.display())]
    Twice { path: PathBuf, row: u64, code: String },
}

/// Lays what a CSV says is owned over what the card says.
fn read_owned(path: &Path, drawer: &mut Drawer) -> Result<(), Failure> {
    let hint = "give a CSV file with the columns code,owned, such as S01,2";
    let bytes = read(path, hint)?;
    let fail = |error: OwnedError| Failure::new(error, hint);
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(&bytes);
    let first = text.split(|&byte| byte == b'\n').next().unwrap_or_default();
    let delimiter = [b';', b'\t'].into_iter().find(|mark| first.contains(mark)).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).flexible(true).from_reader(text);
    let path = || path.to_owned();
    let row_of = |source: csv::Error| {
        let row = source.position().map_or(0, csv::Position::line);
        fail(OwnedError::Row { path: path(), row, source })
    };
    let headers = reader.headers().map_err(row_of)?.clone();
    let place = |name: &str| headers.iter().position(|header| header.trim().eq_ignore_ascii_case(name));
    let (Some(code_at), Some(owned_at)) = (place("code"), place("owned")) else {
        return Err(fail(OwnedError::Columns { path: path() }));
    };
    let mut seen = std::collections::BTreeSet::new();
    for (index, record) in reader.records().enumerate() {
        let record = record.map_err(row_of)?;
        let row = index as u64 + 2;
        let field = |at: usize| record.get(at).unwrap_or_default().trim();
        let (code, text) = (field(code_at).to_owned(), field(owned_at).to_owned());
        // An empty field says nothing.
        if code.is_empty() || text.is_empty() {
            continue;
        }
        let Some(owned) =
            decimal(&text).filter(|&owned| owned >= Decimal::ZERO && owned <= Decimal::from(1_000_000))
        else {
            return Err(fail(OwnedError::Number { path: path(), row, text }));
        };
        if !seen.insert(brede::thread::code::key(&code)) {
            return Err(fail(OwnedError::Twice { path: path(), row, code }));
        }
        drawer.entry(&code).owned = Some(owned);
    }
    Ok(())
}

#[derive(Debug, thiserror::Error)]
#[error("{option} is for one chart, and {charts} were given")]
struct OneChart {
    option: &'static str,
    charts: usize,
}

pub(super) fn run(args: &KitArgs) -> Result<(), Failure> {
    for (option, asked) in [("--sorter", &args.sorter), ("--order", &args.order)] {
        if asked.is_some() && args.charts.len() > 1 {
            let error = OneChart { option, charts: args.charts.len() };
            return Err(Failure::new(error, "ask for one chart at a time"));
        }
    }
    let handling = args.handling.handling()?;
    let mut drawer =
        args.shades.as_deref().map(read_card).transpose()?.map_or_else(Drawer::new, |card| drawer_of(&card));
    if let Some(path) = &args.owned {
        read_owned(path, &mut drawer)?;
    }
    let mut projects = Vec::new();
    for path in &args.charts {
        let mut chart = read_chart(path)?;
        // The same as brede print shows.
        give_symbols(&mut chart);
        let composed = compose(&chart)?;
        projects.push(Project::new(composed.chart, composed.lines, &handling));
    }
    let list = pool(&projects, &drawer);
    for warning in &list.warnings {
        tell::warning(&warning.to_string());
    }
    let cover = read_cover(args.cover.as_deref())?;
    if args.budget.is_some() && !list.unpriced().is_empty() {
        tell::warning(&format!(
            "the budget leaves out {} threads whose price is not known: give it in the column price of a card with \
             --shades",
            list.unpriced().len()
        ));
    }
    let saved = args.budget.map(|budget| savings(&projects, &drawer, budget, &cover, &handling));
    let time = forecast(&projects, f64::from(args.stitches_an_hour), args.hours_a_week);
    if let Some(path) = &args.csv {
        save(path, shopping_csv(&list, &projects).as_bytes())?;
    }
    pages::write(args, &list, &projects, &handling)?;
    if args.json {
        return Ok(tell::data(&format!("{}\n", value(&list, &projects, saved.as_ref(), &time)))?);
    }
    let mut text = list_text(&list, &projects, args);
    if let (Some(saved), Some(budget)) = (&saved, args.budget) {
        text.push_str(&savings_text(saved, budget, args));
    }
    text.push_str(&time_text(&time, args));
    Ok(tell::result(&text)?)
}

fn money(amount: Decimal, args: &KitArgs) -> String {
    match &args.currency {
        Some(currency) => format!("{amount} {currency}"),
        None => amount.to_string(),
    }
}

fn list_text(list: &ShoppingList, projects: &[Project], args: &KitArgs) -> String {
    let headings = [
        ("code", Flush::Left),
        ("name", Flush::Left),
        ("stitches", Flush::Right),
        ("strand m", Flush::Right),
        ("used", Flush::Right),
        ("skeins", Flush::Right),
        ("owned", Flush::Right),
        ("buy", Flush::Right),
        ("price", Flush::Right),
        ("cost", Flush::Right),
        ("note", Flush::Left),
    ];
    let several = projects.len() > 1;
    let row = |item: &Item| {
        let amount = |amount: Option<Decimal>| amount.map_or_else(|| "?".to_owned(), |a| a.to_string());
        let mut notes = Vec::new();
        if item.nearly_used_up() {
            notes.push("nearly used up: one more of the same dye lot".to_owned());
        }
        if several && item.charts.len() > 1 {
            notes.push(format!("in {} charts", item.charts.len()));
        }
        vec![
            item.code.clone(),
            item.name.chars().take(28).collect(),
            (item.stitches + item.backstitches).to_string(),
            format!("{:.1}", item.strand_metres),
            format!("{:.2}", item.skeins_exact),
            item.skeins().to_string(),
            item.owned.normalize().to_string(),
            item.to_buy().to_string(),
            amount(item.price),
            if item.to_buy() == 0 { "-".to_owned() } else { amount(item.cost()) },
            notes.join("; "),
        ]
    };
    let titles: Vec<&str> = projects.iter().map(|project| project.chart.title.as_str()).collect();
    let mut text = format!("{}\n\n", titles.join(", "));
    text.push_str(&table(&headings, &list.items.iter().map(row).collect::<Vec<_>>()));
    let sum = |of: fn(&Item) -> u64| list.items.iter().map(of).sum::<u64>();
    let metres: f64 = list.items.iter().map(|item| item.strand_metres).sum();
    text.push_str(&format!(
        "\n{} threads, {metres:.0} m of single strand, {} skeins; {} to buy, {} in all",
        list.items.len(),
        sum(Item::skeins),
        sum(Item::to_buy),
        money(list.total(), args),
    ));
    let unpriced = list.unpriced();
    if !unpriced.is_empty() {
        text.push_str(&format!("; without the {} threads whose price is not known", unpriced.len()));
    }
    text.push('\n');
    let beyond = list.beyond_one_each();
    if beyond.is_empty() {
        text.push_str("One skein of each is enough, as in a boxed set.\n");
    } else {
        text.push_str(&format!("One skein of each is not enough for: {}\n", beyond.join(", ")));
    }
    if args.shades.is_none() && args.owned.is_none() {
        text.push_str(
            "Nothing is counted as owned: give your card with --shades, or what is in the drawer with --owned.\n",
        );
    }
    if list.items.iter().any(|item| item.to_buy() > 1) {
        text.push_str("Buy all skeins of a shade in one dye lot.\n");
    }
    text
}

fn change_text(change: &Change) -> String {
    match change {
        Change::Merge { from, into } => format!("work {from} in {into}"),
        Change::Bare { code } => format!("leave {code} bare"),
        Change::FewerStrands { from } => format!("{} strands for {from} throughout", from - 1),
    }
}

fn savings_text(saved: &Savings, budget: Decimal, args: &KitArgs) -> String {
    let budget_text = money(budget, args);
    if saved.offers.is_empty() {
        return if saved.before <= budget {
            format!("\nWithin {budget_text} as it is.\n")
        } else {
            format!("\nNothing can be saved towards {budget_text}.\n")
        };
    }
    let headings = [
        ("change", Flush::Left),
        ("saves", Flush::Right),
        ("then", Flush::Right),
        ("stitches", Flush::Right),
        ("ΔE there", Flush::Right),
        ("ΔE overall", Flush::Right),
    ];
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
        table(&headings, &rows),
        money(saved.after, args),
        money(saved.before, args),
    )
}

fn time_text(time: &Forecast, args: &KitArgs) -> String {
    let [low, high] = time.hours;
    let weeks = match time.weeks {
        Some([low, high]) => format!(", {:.0} to {:.0} weeks", low.floor(), high.ceil()),
        None => String::new(),
    };
    format!(
        "At about {} crosses an hour: {low:.0} to {high:.0} hours{weeks}. A guess: your own pace decides.\n",
        args.stitches_an_hour
    )
}

/// Everything for other programs; money as text, so that no digit is lost.
fn value(
    list: &ShoppingList,
    projects: &[Project],
    saved: Option<&Savings>,
    time: &Forecast,
) -> serde_json::Value {
    let money = |amount: Decimal| amount.to_string();
    let item = |item: &Item| {
        json!({
            "code": item.code,
            "name": item.name,
            "colour": item.colour.to_string(),
            "charts": item.charts,
            "stitches": item.stitches,
            "backstitches": item.backstitches,
            "strand_metres": rounded(item.strand_metres),
            "skeins_used": rounded(item.skeins_exact),
            "skeins": item.skeins(),
            "owned": money(item.owned),
            "buy": item.to_buy(),
            "price": item.price.map(money),
            "cost": item.cost().map(money),
            "nearly_used_up": item.nearly_used_up(),
        })
    };
    let offers = |saved: &Savings| {
        let offer = |offer: &brede::planning::savings::Offer| {
            json!({
                "change": change_text(&offer.change),
                "saves": money(offer.saves),
                "total_after": money(offer.total),
                "stitches": offer.stitches,
                "delta_e": rounded(offer.delta_e),
                "mean_delta_e_added": rounded(offer.mean_delta_e),
            })
        };
        json!({
            "before": money(saved.before),
            "after": money(saved.after),
            "offers": saved.offers.iter().map(offer).collect::<Vec<_>>(),
        })
    };
    json!({
        "charts": projects.iter().map(|project| &project.chart.title).collect::<Vec<_>>(),
        "threads": list.items.iter().map(item).collect::<Vec<_>>(),
        "skeins": list.items.iter().map(Item::skeins).sum::<u64>(),
        "buy": list.items.iter().map(Item::to_buy).sum::<u64>(),
        "total": money(list.total()),
        "unpriced": list.unpriced(),
        "one_of_each_is_enough": list.beyond_one_each().is_empty(),
        "beyond_one_of_each": list.beyond_one_each(),
        "savings": saved.map(offers),
        "crosses": time.crosses,
        "hours": time.hours.map(rounded),
        "weeks": time.weeks.map(|weeks| weeks.map(rounded)),
        "warnings": list.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}
