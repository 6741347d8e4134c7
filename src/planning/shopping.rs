//! The shopping list: the threads of one chart or several together, what is owned, what to buy, what it costs.
//!
//! Owns pooling and prices. Leaves lengths to `lengths` and ways to spend less to `savings`.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive as _;
use serde::Serialize;

use super::{Handling, ThreadUse, list_note, safe_field, table};
use crate::chart::{Chart, Thread, WorkedLine};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, Stopped, tell};
use crate::ground::units::Millimetres;
use crate::thread::code;
use crate::thread::shades::ShadeCard;
use crate::thread::skein::Skein;

/// A thread with less than this share of it left over is nearly used up: a tenth. A looser hand or a mended
/// mistake takes as much, and another dye lot may differ (common practice, no source).
pub const NEARLY: f64 = 0.10;

/// What a person knows of a thread beside the charts.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stock {
    /// Skeins owned; parts count.
    pub owned: Option<Decimal>,
    /// What a skein costs.
    pub price: Option<Decimal>,
    /// The length of a skein.
    pub length: Option<Millimetres>,
    /// The strands that this is the length of.
    pub strands: Option<u8>,
    /// What it is spun of.
    pub kind: Option<String>,
}

impl Stock {
    /// What is sold of a thread at a time: what is known here counts before what the chart remembers.
    fn skein(&self, thread: &Thread) -> Skein {
        Skein::of(
            self.length.or(thread.skein_mm),
            self.strands.or(thread.skein_strands),
            self.kind.as_deref().or(thread.kind.as_deref()),
        )
    }
}

/// Stock by code, whatever its capitals and spaces.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawer(BTreeMap<String, Stock>);

impl Drawer {
    /// Nothing is known.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// What is known of a thread.
    #[must_use]
    pub fn get(&self, code: &str) -> Option<&Stock> {
        self.0.get(&code::key(code))
    }

    /// The place for what is known of a thread.
    pub fn entry(&mut self, code: &str) -> &mut Stock {
        self.0.entry(code::key(code)).or_default()
    }
}

impl FromIterator<(String, Stock)> for Drawer {
    fn from_iter<I: IntoIterator<Item = (String, Stock)>>(stocks: I) -> Self {
        Self(stocks.into_iter().map(|(code, stock)| (code::key(&code), stock)).collect())
    }
}

impl<const N: usize> From<[(String, Stock); N]> for Drawer {
    fn from(stocks: [(String, Stock); N]) -> Self {
        stocks.into_iter().collect()
    }
}

/// What a card says of the threads on it.
#[must_use]
pub fn drawer_of(card: &ShadeCard) -> Drawer {
    let stock = |shade: &crate::thread::shades::Shade| {
        let stock = Stock {
            owned: shade.owned,
            price: shade.price,
            length: shade.length,
            strands: shade.strands,
            kind: shade.kind.clone(),
        };
        (shade.code.clone(), stock)
    };
    card.shades().iter().map(stock).collect()
}

/// A chart as worked, with what it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Project {
    /// The chart, its marks worked in.
    pub chart: Chart,
    /// The lines on it.
    pub lines: Vec<WorkedLine>,
    /// What it takes of each thread.
    pub uses: Vec<ThreadUse>,
    /// How many threads are begun.
    pub needlefuls: u64,
}

impl Project {
    /// Reckons what a worked chart takes.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub fn new(
        chart: Chart,
        lines: Vec<WorkedLine>,
        handling: &Handling,
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        tell(progress, Stage::Planning, 0, 1)?;
        let lengths = super::Lengths::of(&chart, &lines, handling.travel, progress)?;
        let uses = lengths.uses(&chart, &lines, chart.cloth.count, handling);
        let needlefuls = lengths.needlefuls(chart.cloth.count, handling);
        Ok(Self { chart, lines, uses, needlefuls })
    }

    /// Every thread in its needles and lines.
    pub fn threads(&self) -> impl Iterator<Item = &Thread> {
        let of_needles = self.chart.needles().iter().flat_map(|needle| &needle.threads);
        of_needles.chain(self.lines.iter().flat_map(|line| &line.threads))
    }
}

/// One thread of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its colour.
    pub colour: Srgb8,
    /// The places of the charts that use it.
    pub charts: Vec<usize>,
    /// Crosses in all.
    pub stitches: u64,
    /// Backstitches in all.
    pub backstitches: u64,
    /// Metres of single strand in all.
    pub strand_metres: f64,
    /// Skeins used up in all: the fractions of the charts are added before anything is rounded.
    pub skeins_exact: f64,
    /// Skeins owned.
    pub owned: Decimal,
    /// What one costs, where it is known.
    pub price: Option<Decimal>,
    /// What is taken for one.
    pub skein: Skein,
}

/// Whether so little of what is at hand is left over that one more is wise ([`NEARLY`]).
pub(super) fn is_nearly_used_up(at_hand: f64, used: f64) -> bool {
    at_hand - used < NEARLY * at_hand
}

/// Rounds up, but not by the last bits of a sum.
pub(super) fn whole(skeins: f64) -> u64 {
    #[allow(clippy::cast_sign_loss, reason = "held above nothing")]
    let whole = (skeins - 1e-9).ceil().max(0.0) as u64;
    whole
}

impl Item {
    /// Whole skeins to have, owned ones among them.
    #[must_use]
    pub fn skeins(&self) -> u64 {
        whole(self.skeins_exact).max(1)
    }

    /// Whole skeins to buy.
    #[must_use]
    pub fn to_buy(&self) -> u64 {
        whole(self.skeins_exact - self.owned.to_f64().unwrap_or(0.0))
    }

    /// What these cost, where the price is known.
    #[must_use]
    pub fn cost(&self) -> Option<Decimal> {
        if self.to_buy() == 0 {
            return Some(Decimal::ZERO);
        }
        self.price.and_then(|price| price.checked_mul(Decimal::from(self.to_buy())))
    }

    /// Skeins left over when all is worked.
    #[must_use]
    pub fn left(&self) -> f64 {
        self.owned.to_f64().unwrap_or(0.0) + self.to_buy() as f64 - self.skeins_exact
    }

    /// Whether under a tenth of what is at hand is left over: one more of the same dye lot is wise.
    #[must_use]
    pub fn nearly_used_up(&self) -> bool {
        is_nearly_used_up(self.skeins_exact + self.left(), self.skeins_exact)
    }

    /// Whether one skein is enough, as in a boxed set of one each.
    #[must_use]
    pub fn one_is_enough(&self) -> bool {
        self.skeins_exact <= 1.0 + 1e-9
    }
}

/// Something that the person should know.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum ShoppingWarning {
    /// One code, two colours.
    TwoColours {
        /// The code.
        code: String,
        /// One colour.
        one: Srgb8,
        /// The other.
        other: Srgb8,
    },
}

/// The list for all charts.
#[derive(Debug, Clone, PartialEq)]
pub struct ShoppingList {
    /// The threads, in the order of their codes: `K2` before `K10`.
    pub items: Vec<Item>,
    /// What the person should know.
    pub warnings: Vec<ShoppingWarning>,
}

impl ShoppingList {
    /// What all of it costs; threads without a price are left out, see [`Self::unpriced`].
    #[must_use]
    pub fn total(&self) -> Decimal {
        self.items.iter().filter_map(Item::cost).fold(Decimal::ZERO, |sum, cost| sum.saturating_add(cost))
    }

    /// Whether the price of anything that is to be bought is known; else a total of nothing would say that all is free.
    #[must_use]
    pub fn is_priced(&self) -> bool {
        let mut bought = self.items.iter().filter(|item| item.to_buy() > 0).peekable();
        bought.peek().is_none() || bought.any(|item| item.price.is_some())
    }

    /// Codes of threads to buy whose price is not known.
    #[must_use]
    pub fn unpriced(&self) -> Vec<&str> {
        let of = |item: &&Item| item.cost().is_none();
        self.items.iter().filter(of).map(|item| item.code.as_str()).collect()
    }

    /// Codes of threads of which a boxed set with one skein each has too little.
    #[must_use]
    pub fn beyond_one_each(&self) -> Vec<&str> {
        self.items.iter().filter(|item| !item.one_is_enough()).map(|item| item.code.as_str()).collect()
    }
}

/// The threads of all projects together.
#[must_use]
pub fn pool(projects: &[Project], drawer: &Drawer) -> ShoppingList {
    let mut items: Vec<Item> = Vec::new();
    let mut warnings = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    for (chart, project) in projects.iter().enumerate() {
        let threads: BTreeMap<&str, &Thread> =
            project.threads().map(|thread| (thread.code.as_str(), thread)).collect();
        // A needle that nothing is worked with buys no skein.
        for thread_use in project.uses.iter().filter(|thread| thread.is_worked()) {
            let Some(thread) = threads.get(thread_use.code.as_str()) else { continue };
            let stock = drawer.get(&thread.code);
            let skein = stock.map_or_else(|| thread.skein(), |stock| stock.skein(thread));
            let place = *places.entry(code::key(&thread.code)).or_insert_with(|| {
                items.push(Item {
                    code: thread.code.clone(),
                    name: thread.name.clone(),
                    colour: thread.colour,
                    charts: Vec::new(),
                    stitches: 0,
                    backstitches: 0,
                    strand_metres: 0.0,
                    skeins_exact: 0.0,
                    owned: stock.and_then(|stock| stock.owned).unwrap_or_default(),
                    price: stock.and_then(|stock| stock.price).or(thread.price),
                    skein,
                });
                items.len() - 1
            });
            let item = &mut items[place];
            if item.colour != thread.colour {
                warnings.push(ShoppingWarning::TwoColours {
                    code: item.code.clone(),
                    one: item.colour,
                    other: thread.colour,
                });
            }
            // One chart may write a code in two ways.
            if item.charts.last() != Some(&chart) {
                item.charts.push(chart);
            }
            item.stitches += thread_use.stitches;
            item.backstitches += thread_use.backstitches;
            item.strand_metres += thread_use.strand_metres;
            item.skeins_exact += thread_use.strand_metres / skein.strand_metres();
            if item.price.is_none() {
                item.price = thread.price;
            }
        }
    }
    items.sort_by(|one, other| by_number(&one.code).cmp(&by_number(&other.code)));
    ShoppingList { items, warnings }
}

/// What a code is sorted by: its runs of digits as numbers, without leading noughts, the shorter first; equal
/// ones by the code itself.
fn by_number(code: &str) -> (Vec<(usize, &str)>, &str) {
    let mut parts = Vec::new();
    let mut rest = code;
    while let Some(first) = rest.chars().next() {
        let is_digit = first.is_ascii_digit();
        let end = rest.find(|c: char| c.is_ascii_digit() != is_digit).unwrap_or(rest.len());
        let (part, after) = rest.split_at(end);
        let part = if is_digit { part.trim_start_matches('0') } else { part };
        // Letters stand after numbers, whatever their length.
        parts.push(if is_digit { (part.len(), part) } else { (usize::MAX, part) });
        rest = after;
    }
    (parts, code)
}

/// The list as CSV, a row a thread: `code,name,colour,charts,stitches,backstitches,metres,skeins_used,skeins,owned,buy,price,cost,note`.
///
/// `metres` are of single strand, `skeins_used` the exact share, `charts` the titles that share it, parted by
/// `; `. What is not known is left empty.
#[must_use]
pub fn shopping_csv(list: &ShoppingList, projects: &[Project]) -> String {
    let headings = [
        "code",
        "name",
        "colour",
        "charts",
        "stitches",
        "backstitches",
        "metres",
        "skeins_used",
        "skeins",
        "owned",
        "buy",
        "price",
        "cost",
        "note",
    ];
    let rows = list.items.iter().map(|item| {
        let charts: Vec<&str> = item
            .charts
            .iter()
            .filter_map(|&chart| projects.get(chart))
            .map(|project| project.chart.title.as_str())
            .collect();
        let note = list_note(item.nearly_used_up(), item.skein);
        let amount = |amount: Option<Decimal>| amount.map_or_else(String::new, |amount| amount.to_string());
        [
            safe_field(&item.code),
            safe_field(&item.name),
            item.colour.to_string(),
            safe_field(&charts.join("; ")),
            item.stitches.to_string(),
            item.backstitches.to_string(),
            format!("{:.2}", item.strand_metres),
            format!("{:.3}", item.skeins_exact),
            item.skeins().to_string(),
            item.owned.to_string(),
            item.to_buy().to_string(),
            amount(item.price),
            amount(item.cost()),
            note,
        ]
    });
    table(headings, rows)
}

/// How long the work may take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Crosses to work, a half cross, a quarter stitch or a backstitch counting a half.
    pub crosses: f64,
    /// Hours at the least and at the most.
    pub hours: [f64; 2],
    /// Weeks at the least and at the most, where hours a week are given.
    pub weeks: Option<[f64; 2]>,
}

/// How far off the person's own pace is taken to be, either way: a quarter (common practice, no source).
pub const PACE_SPREAD: f64 = 0.25;

/// The time that threading, starting and ending one thread takes, in hours, at the least and at the most: half a
/// minute to a minute (common practice, no source). With scattered stitches it is most of the work.
pub const NEEDLEFUL_HOURS: [f64; 2] = [0.5 / 60.0, 1.0 / 60.0];

/// How long the projects may take at so many crosses an hour.
#[must_use]
pub fn forecast(projects: &[Project], stitches_an_hour: f64, hours_a_week: Option<f64>) -> Forecast {
    let mut crosses = 0.0;
    let mut needlefuls = 0.0;
    for project in projects {
        for (needle, stitches) in project.chart.needles().iter().zip(project.chart.stitches()) {
            crosses += needle.stitch.crosses() * stitches as f64;
        }
        let backstitches: usize = project.lines.iter().map(|line| line.stitches().count()).sum();
        crosses += 0.5 * backstitches as f64;
        needlefuls += project.needlefuls as f64;
    }
    let [quick, slow] = NEEDLEFUL_HOURS;
    let hours = [
        crosses / (stitches_an_hour * (1.0 + PACE_SPREAD)) + needlefuls * quick,
        crosses / (stitches_an_hour * (1.0 - PACE_SPREAD)) + needlefuls * slow,
    ];
    Forecast { crosses, hours, weeks: hours_a_week.map(|week| hours.map(|hours| hours / week)) }
}

#[cfg(test)]
mod tests;
