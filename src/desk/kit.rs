//! What to buy and have ready for one chart or several together, and its sheets.

mod sheets;

use rust_decimal::Decimal;
use serde::Serialize;

use super::figures::{displayed, displayed_or_null, places3};
use super::files::{Files, Output};
use super::memory;
use super::print::inked;
use super::set::apart;
use super::{Error, Heavy, Moment, Replace, Report, Source, Target, Warning, What, Written};
use crate::basket::{Basket, Missing};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, ask};
use crate::making::photo::Limits;
use crate::planning::owned::read_owned;
use crate::planning::savings::{Change, Savings, savings};
use crate::planning::shopping::{
    Drawer, Forecast, Item, Project, ShoppingList, drawer_of, forecast, pool, shopping_csv,
};
use crate::planning::{Handling, list_note};
use crate::printing::sheet::Paper;
use crate::printing::sheet::boxes::{BoxOrder, Compartments};
use crate::printing::symbols;

/// Sheets that go with a kit, each where it is asked for.
#[derive(Debug, Clone, Default)]
pub struct KitSheets {
    /// The list as CSV.
    pub csv: Option<Target>,
    /// The list as pages.
    pub pages: Option<Target>,
    /// Cards that sort threads; for one chart.
    pub sorter: Option<Target>,
    /// Labels for bobbins.
    pub bobbins: Option<Target>,
    /// The compartments of the box that labels and cards are laid out for, and in which order; their sheets begin with a
    /// plan of it.
    pub in_box: Option<(Compartments, BoxOrder)>,
    /// Working orders; for one chart.
    pub order: Option<Target>,
    /// Only the orders of these threads, by code; else of all.
    pub only: Vec<String>,
    /// The most pages of working orders behind their list; else 40, or as many as threads asked for by code take.
    pub order_pages: Option<usize>,
    /// The paper of these.
    pub paper: Paper,
    /// What amounts are in, written beside them.
    pub currency: Option<String>,
}

/// What a kit is reckoned for.
#[derive(Debug, Clone)]
pub struct KitRequest {
    /// The charts.
    pub charts: Vec<Source>,
    /// One's own card, whose prices, lengths and what is owned count before those that charts remember.
    pub card: Option<Source>,
    /// A table of what is owned.
    pub owned: Option<Source>,
    /// What the whole is to cost at the most: changes towards it are offered.
    pub budget: Option<Decimal>,
    /// How thread covers, for what a change does to colours.
    pub cover: Option<Source>,
    /// How thread is handled.
    pub handling: Handling,
    /// Crosses that are worked in an hour.
    pub stitches_an_hour: f64,
    /// Hours of stitching in a week.
    pub hours_a_week: Option<f64>,
    /// Sheets.
    pub sheets: KitSheets,
    /// What sheets are dated with.
    pub moment: Moment,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// A thread of the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitThread {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its colour.
    #[serde(serialize_with = "displayed")]
    pub colour: Srgb8,
    /// The places of the charts that use it, from 0.
    pub charts: Vec<usize>,
    /// Crosses.
    pub stitches: u64,
    /// Backstitches.
    pub backstitches: u64,
    /// Metres of single strand.
    #[serde(serialize_with = "places3")]
    pub strand_metres: f64,
    /// Skeins used up.
    #[serde(rename = "skeins_used", serialize_with = "places3")]
    pub skeins_exact: f64,
    /// Whole skeins to have.
    pub skeins: u64,
    /// Skeins owned.
    #[serde(serialize_with = "displayed")]
    pub owned: Decimal,
    /// Skeins to buy.
    pub buy: u64,
    /// What one costs, where it is known.
    #[serde(serialize_with = "displayed_or_null")]
    pub price: Option<Decimal>,
    /// What these cost, where it is known.
    #[serde(serialize_with = "displayed_or_null")]
    pub cost: Option<Decimal>,
    /// Metres of a skein, as they are reckoned with.
    #[serde(rename = "skein_m", serialize_with = "places3")]
    pub skein_metres: f64,
    /// The strands that these are the metres of.
    pub skein_strands: u8,
    /// Whether hardly anything is left over.
    pub nearly_used_up: bool,
    /// What the list says beside it.
    pub note: String,
}

impl KitThread {
    fn of(item: &Item) -> Self {
        Self {
            code: item.code.clone(),
            name: item.name.clone(),
            colour: item.colour,
            charts: item.charts.clone(),
            stitches: item.stitches,
            backstitches: item.backstitches,
            strand_metres: item.strand_metres,
            skeins_exact: item.skeins_exact,
            skeins: item.skeins(),
            owned: item.owned,
            buy: item.to_buy(),
            price: item.price,
            cost: item.cost(),
            skein_metres: item.skein.length.mm() / 1000.0,
            skein_strands: item.skein.strands,
            nearly_used_up: item.nearly_used_up(),
            note: list_note(item.nearly_used_up(), item.skein),
        }
    }
}

/// A change that saves money.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitOffer {
    /// What is changed.
    pub change: Change,
    /// What that saves.
    #[serde(serialize_with = "displayed")]
    pub saves: Decimal,
    /// What all of it costs then.
    #[serde(rename = "total_after", serialize_with = "displayed")]
    pub total: Decimal,
    /// How many stitches it changes.
    pub stitches: u64,
    /// By how much it changes them (CIEDE2000).
    #[serde(serialize_with = "places3")]
    pub delta_e: f64,
    /// What that adds to the mean of all.
    #[serde(rename = "mean_delta_e_added", serialize_with = "places3")]
    pub mean_delta_e: f64,
}

/// Changes towards a budget.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitSavings {
    /// What it costs as it is.
    #[serde(serialize_with = "displayed")]
    pub before: Decimal,
    /// What it costs after all offers.
    #[serde(serialize_with = "displayed")]
    pub after: Decimal,
    /// The one that costs least colour first.
    pub offers: Vec<KitOffer>,
}

impl KitSavings {
    fn of(saved: Savings) -> Self {
        let offers = saved.offers.into_iter().map(|offer| KitOffer {
            change: offer.change,
            saves: offer.saves,
            total: offer.total,
            stitches: offer.stitches,
            delta_e: offer.delta_e,
            mean_delta_e: offer.mean_delta_e,
        });
        Self { before: saved.before, after: saved.after, offers: offers.collect() }
    }
}

/// What a kit comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitReport {
    /// The titles of the charts.
    pub charts: Vec<String>,
    /// The threads, in the order of their codes.
    pub threads: Vec<KitThread>,
    /// Whole skeins to have.
    pub skeins: u64,
    /// Skeins to buy.
    pub buy: u64,
    /// What they cost, as far as it is known.
    #[serde(serialize_with = "displayed")]
    pub total: Decimal,
    /// Codes of threads to buy whose price is not known.
    pub unpriced: Vec<String>,
    /// Whether one skein of each is enough, as in a boxed set.
    pub one_of_each_is_enough: bool,
    /// Codes of those of which it is not.
    pub beyond_one_of_each: Vec<String>,
    /// Changes towards the budget.
    pub savings: Option<KitSavings>,
    /// Crosses to work.
    pub crosses: f64,
    /// Hours at the least and at the most.
    #[serde(serialize_with = "places3")]
    pub hours: [f64; 2],
    /// Weeks at the least and at the most.
    #[serde(serialize_with = "places3")]
    pub weeks: Option<[f64; 2]>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for KitReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Reckons a kit and writes its sheets.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn kit(request: &KitRequest, progress: &dyn Progress) -> Result<KitReport, Error> {
    let sheets = &request.sheets;
    for (what, asked) in [(What::SorterCards, &sheets.sorter), (What::WorkingOrder, &sheets.order)] {
        if asked.is_some() {
            Error::hold_to_one(what, request.charts.len())?;
        }
    }
    let Handling { needleful, start, end, .. } = request.handling;
    if needleful.mm() < start.mm() + end.mm() + LEAST_SEWN_MM {
        return Err(Error::NoThreadLeft { needleful, start, end });
    }
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let mut drawer = Drawer::new();
    if let Some(source) = &request.card {
        drawer = drawer_of(&files.card(source)?);
    }
    if let Some(source) = &request.owned {
        let bytes = files.bytes(source, super::Wanted::Owned)?;
        let columns = read_owned(&bytes, &mut drawer)
            .map_err(|error| Error::Owned { name: source.to_string(), source: error })?;
        if !columns.is_empty() {
            files.warnings.push(Warning::OwnedColumns { table: source.to_string(), columns });
        }
    }
    if request.card.is_none() && request.owned.is_none() {
        let pieces = request.charts.iter().find_map(|source| match source {
            Source::Piece(piece) => Some(piece),
            _ => None,
        });
        // What lies in the box of the workbasket.
        if let Some(piece) = pieces {
            for thread in Basket::open(&piece.folder, Missing::Refuse)?.in_box()? {
                drawer.entry(&thread.code).owned = Some(thread.owned);
            }
        }
    }
    let cover = files.cover_or_usual(request.cover.as_ref())?;
    let (mut projects, mut sizes) = (Vec::new(), Vec::new());
    for source in &request.charts {
        ask(progress)?;
        let mut chart = files.chart(source)?;
        files.warnings.extend(source.path().and_then(|path| apart(path, chart.stamp())));
        // The same as pages show.
        symbols::give_symbols(&mut chart);
        let composed = files.worked(&chart)?;
        let size = composed.chart.size();
        files.may_take(Heavy::Together(sizes.len() + 1), memory::planned(size, &sizes))?;
        sizes.push(size);
        projects.push(Project::new(composed.chart, composed.lines, &request.handling, progress)?);
    }
    let list = pool(&projects, &drawer);
    files.warnings.extend(list.warnings.iter().cloned().map(Warning::from));
    let unpriced: Vec<String> = list.unpriced().into_iter().map(str::to_owned).collect();
    if request.budget.is_some() && !unpriced.is_empty() {
        files.warnings.push(Warning::Unpriced { threads: unpriced.len() });
    }
    ask(progress)?;
    let saved = request
        .budget
        .map(|budget| savings(&projects, &drawer, budget, &cover, &request.handling, progress))
        .transpose()?;
    let time = forecast(&projects, request.stitches_an_hour, request.hours_a_week);
    let outputs = sheets::outputs(request, &list, &projects, &mut files, progress)?;
    let written = files.write(outputs)?;
    Ok(report(&list, &projects, unpriced, saved, time, files.warnings, written))
}

/// A needleful must leave at least this to sew with, in millimetres, beside its start and its end: a few stitches.
const LEAST_SEWN_MM: f64 = 10.0;

fn report(
    list: &ShoppingList,
    projects: &[Project],
    unpriced: Vec<String>,
    saved: Option<Savings>,
    time: Forecast,
    warnings: Vec<Warning>,
    files: Vec<Written>,
) -> KitReport {
    let beyond: Vec<String> = list.beyond_one_each().into_iter().map(str::to_owned).collect();
    KitReport {
        charts: projects.iter().map(|project| project.chart.title.clone()).collect(),
        threads: list.items.iter().map(KitThread::of).collect(),
        skeins: list.items.iter().map(Item::skeins).sum(),
        buy: list.items.iter().map(Item::to_buy).sum(),
        total: list.total(),
        unpriced,
        one_of_each_is_enough: beyond.is_empty(),
        beyond_one_of_each: beyond,
        savings: saved.map(KitSavings::of),
        crosses: time.crosses,
        hours: time.hours,
        weeks: time.weeks,
        warnings,
        files,
    }
}
