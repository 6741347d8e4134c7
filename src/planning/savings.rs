//! Ways to spend less: what each would save, and what it would cost in colour.
//!
//! Owns the offers. Changes nothing itself: an offer is applied by `apply` on a copy.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive as _;
use serde::Serialize;

use super::Handling;
use super::shopping::{Drawer, Item, Project, ShoppingList, pool};
use crate::chart::{Cell, Chart, Needle, Thread};
use crate::ground::colour::Lab;
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};
use crate::thread::cloth::{Cloth, CoverModel, StitchKind};
use crate::thread::code;

/// What could be changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Change {
    /// Work one thread's stitches in another.
    Merge {
        /// The code of the one.
        from: String,
        /// The code of the other.
        into: String,
    },
    /// Leave a thread's stitches bare.
    Bare {
        /// Its code.
        code: String,
    },
    /// Work every full cross of one thread in one strand less.
    FewerStrands {
        /// From so many strands.
        from: u8,
    },
}

/// A change, what it saves and what it costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The change.
    pub change: Change,
    /// What it saves in money after the offers before it.
    pub saves: Decimal,
    /// Stitches that come out otherwise.
    pub stitches: u64,
    /// Mean ΔE00 on these stitches.
    pub delta_e: f64,
    /// What it adds to the mean ΔE00 over all stitches of all charts.
    pub mean_delta_e: f64,
    /// What all threads come to after it.
    pub total: Decimal,
}

/// The offers, in the order in which they are to be taken, and where they lead.
#[derive(Debug, Clone, PartialEq)]
pub struct Savings {
    /// What the threads cost as the charts are.
    pub before: Decimal,
    /// The offers.
    pub offers: Vec<Offer>,
    /// What the threads cost with all of them.
    pub after: Decimal,
}

/// A needle of a chart as it was, and what is made of it.
struct Part {
    chart: usize,
    needle: usize,
    /// The place of its thread among the list's items; `None` for a blend, which is left alone.
    thread: Option<usize>,
    strands: u8,
    stitch: StitchKind,
    stitches: u64,
    original: Lab,
    now: Now,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Now {
    Thread(usize),
    Bare,
}

struct Bench<'a> {
    cloths: Vec<Cloth>,
    cover: &'a CoverModel,
    parts: Vec<Part>,
    threads: Vec<Thread>,
    /// Threads that lines or blends need: they are not given up.
    kept: Vec<bool>,
    all: f64,
}

impl Bench<'_> {
    fn look(&self, part: &Part, now: Now, strands: u8) -> Lab {
        let cloth = &self.cloths[part.chart];
        match now {
            Now::Bare => cloth.colour.lab(),
            Now::Thread(thread) => {
                self.cover.look(cloth, self.threads[thread].colour.linear(), strands, part.stitch)
            }
        }
    }

    /// How far a part would be from what it was, and how far it is.
    fn shift(&self, part: &Part, now: Now, strands: u8) -> [f64; 2] {
        let is = self.look(part, part.now, part.strands).ciede2000(part.original);
        [self.look(part, now, strands).ciede2000(part.original), is]
    }

    /// The parts that a change is about, and what each becomes.
    fn changed(&self, change: &Proposal) -> Vec<(usize, Now, u8)> {
        let of = |(index, part): (usize, &Part)| match *change {
            Proposal::Give { from, to } => {
                (part.thread.is_some() && part.now == Now::Thread(from)).then_some((index, to, part.strands))
            }
            Proposal::FewerStrands(strands) => {
                let fits = part.thread.is_some()
                    && part.now != Now::Bare
                    && part.stitch == StitchKind::FullCross
                    && part.strands == strands;
                fits.then_some((index, part.now, strands - 1))
            }
        };
        self.parts.iter().enumerate().filter_map(of).collect()
    }
}

/// A change by places.
#[derive(Debug, Clone, Copy)]
enum Proposal {
    Give { from: usize, to: Now },
    FewerStrands(u8),
}

/// Skeins of each thread, and what is bought of them.
fn cost(items: &[Item], skeins: &[f64]) -> Decimal {
    items.iter().zip(skeins).fold(Decimal::ZERO, |sum, (item, &skeins_exact)| {
        if skeins_exact <= 1e-9 {
            return sum;
        }
        let item = Item { skeins_exact, ..item.clone() };
        sum.saturating_add(item.cost().unwrap_or_default())
    })
}

/// The offers that bring the threads of the projects within `budget`, cheapest in colour first: at each step the
/// change that costs least ΔE00 for the money it saves.
///
/// Offered are: to work a thread's crosses in another that is in the charts already, to leave them bare, and to
/// use a strand less throughout. Threads of blends and of lines stay. Lengths are added for the choice; the
/// last figure is reckoned on the changed charts. Where nothing more can be saved the list ends, even above
/// the budget.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn savings(
    projects: &[Project],
    drawer: &Drawer,
    budget: Decimal,
    cover: &CoverModel,
    handling: &Handling,
    progress: &dyn Progress,
) -> Result<Savings, Stopped> {
    tell(progress, Stage::Planning, 0, 1)?;
    let list = pool(projects, drawer);
    let before = list.total();
    let mut bench = bench(projects, &list, cover);
    let mut skeins: Vec<f64> = list.items.iter().map(|item| item.skeins_exact).collect();
    let mut total = before;
    let mut offers = Vec::new();
    while total > budget {
        let Some((proposal, offer, after)) = best(&bench, &list.items, &skeins, total, progress)? else {
            break;
        };
        for (index, now, strands) in bench.changed(&proposal) {
            bench.parts[index].now = now;
            bench.parts[index].strands = strands;
        }
        (total, skeins) = (offer.total, after);
        offers.push(offer);
    }
    let after = if offers.is_empty() {
        before
    } else {
        let changed: Vec<Project> = projects
            .iter()
            .enumerate()
            .map(|(index, project)| {
                let chart = changed_chart(&bench, index, project);
                Project::new(chart, project.lines.clone(), handling, progress)
            })
            .collect::<Result<_, Stopped>>()?;
        pool(&changed, drawer).total()
    };
    Ok(Savings { before, offers, after })
}

fn bench<'a>(projects: &[Project], list: &ShoppingList, cover: &'a CoverModel) -> Bench<'a> {
    let by_code: BTreeMap<String, &Thread> =
        projects.iter().flat_map(Project::threads).map(|thread| (code::key(&thread.code), thread)).collect();
    let threads: Vec<Thread> = list
        .items
        .iter()
        .filter_map(|item| by_code.get(&code::key(&item.code)).map(|&t| t.clone()))
        .collect();
    let place = |code: &str| list.items.iter().position(|item| code::same(&item.code, code));
    let mut kept = vec![false; threads.len()];
    let mut parts = Vec::new();
    for (chart, project) in projects.iter().enumerate() {
        for line in &project.lines {
            for thread in line.threads.iter().filter_map(|thread| place(&thread.code)) {
                kept[thread] = true;
            }
        }
        for (index, (needle, stitches)) in
            project.chart.needles().iter().zip(project.chart.stitches()).enumerate()
        {
            if needle.threads.len() > 1 {
                for thread in needle.threads.iter().filter_map(|thread| place(&thread.code)) {
                    kept[thread] = true;
                }
                continue;
            }
            let Some(thread) = place(&needle.threads[0].code) else { continue };
            let cloth = &project.chart.cloth;
            let light = needle.colour().linear();
            parts.push(Part {
                chart,
                needle: index,
                thread: Some(thread),
                strands: needle.strands(),
                stitch: needle.stitch,
                stitches,
                original: cover.look(cloth, light, needle.strands(), needle.stitch),
                now: Now::Thread(thread),
            });
        }
    }
    let all = projects.iter().flat_map(|project| project.chart.stitches()).sum::<u64>() as f64;
    let cloths = projects.iter().map(|project| project.chart.cloth).collect();
    Bench { cloths, cover, parts, threads, kept, all: all.max(1.0) }
}

/// The change that costs least ΔE00 for the money, what it comes to and the skeins after it.
fn best(
    bench: &Bench,
    items: &[Item],
    skeins: &[f64],
    total: Decimal,
    progress: &dyn Progress,
) -> Result<Option<(Proposal, Offer, Vec<f64>)>, Stopped> {
    let mut proposals: Vec<Proposal> = Vec::new();
    let live: Vec<usize> = (0..items.len()).filter(|&thread| skeins[thread] > 1e-9).collect();
    for &from in live.iter().filter(|&&thread| !bench.kept[thread]) {
        let others = live.iter().filter(|&&to| to != from).map(|&to| Now::Thread(to));
        proposals.extend(others.chain([Now::Bare]).map(|to| Proposal::Give { from, to }));
    }
    proposals.extend((2..=6).map(Proposal::FewerStrands));
    let mut best: Option<(f64, Proposal, Offer, Vec<f64>)> = None;
    for proposal in proposals {
        ask(progress)?;
        let changed = bench.changed(&proposal);
        if changed.is_empty() {
            continue;
        }
        let after = skeins_after(bench, &proposal, items, skeins);
        let new_total = cost(items, &after);
        let saves = total.saturating_sub(new_total);
        if saves <= Decimal::ZERO {
            continue;
        }
        let (mut worse, mut shifted, mut stitches) = (0.0, 0.0, 0);
        for &(index, now, strands) in &changed {
            let part = &bench.parts[index];
            let [will_be, is] = bench.shift(part, now, strands);
            worse += (will_be - is) * part.stitches as f64;
            shifted += will_be * part.stitches as f64;
            stitches += part.stitches;
        }
        let rate = worse / saves.to_f64().unwrap_or(f64::INFINITY);
        if best.as_ref().is_none_or(|(least, ..)| rate < *least) {
            let code = |thread: usize| items[thread].code.clone();
            let change = match proposal {
                Proposal::Give { from, to: Now::Thread(to) } => {
                    Change::Merge { from: code(from), into: code(to) }
                }
                Proposal::Give { from, to: Now::Bare } => Change::Bare { code: code(from) },
                Proposal::FewerStrands(from) => Change::FewerStrands { from },
            };
            let offer = Offer {
                change,
                saves,
                stitches,
                delta_e: shifted / (stitches as f64).max(1.0),
                mean_delta_e: worse / bench.all,
                total: new_total,
            };
            best = Some((rate, proposal, offer, after));
        }
    }
    Ok(best.map(|(_, proposal, offer, after)| (proposal, offer, after)))
}

/// Skeins of each thread once a change is made: lengths move from one to the other as they are.
fn skeins_after(bench: &Bench, proposal: &Proposal, items: &[Item], skeins: &[f64]) -> Vec<f64> {
    let mut after = skeins.to_vec();
    match *proposal {
        Proposal::Give { from, to } => {
            // Skeins of one length may not be skeins of the other.
            let metres = |thread: usize| items[thread].strand_metres / items[thread].skeins_exact.max(1e-12);
            if let Now::Thread(to) = to {
                after[to] += skeins[from] * metres(from) / metres(to);
            }
            after[from] = 0.0;
        }
        Proposal::FewerStrands(strands) => {
            let share = |thread: usize| {
                let of = |wanted: Option<u8>| -> f64 {
                    bench
                        .parts
                        .iter()
                        .filter(|part| part.now == Now::Thread(thread))
                        .filter(|part| {
                            wanted.is_none_or(|strands| {
                                part.strands == strands && part.stitch == StitchKind::FullCross
                            })
                        })
                        .map(|part| part.stitches as f64 * f64::from(part.strands))
                        .sum()
                };
                of(Some(strands)) / of(None).max(1.0) / f64::from(strands)
            };
            for (thread, skeins) in after.iter_mut().enumerate().filter(|(thread, _)| !bench.kept[*thread]) {
                *skeins *= 1.0 - share(thread);
            }
        }
    }
    after
}

/// The chart with what the bench has made of its needles.
fn changed_chart(bench: &Bench, index: usize, project: &Project) -> Chart {
    let chart = &project.chart;
    let mut needles: Vec<Needle> = chart.needles().to_vec();
    let mut bare = vec![false; needles.len()];
    for part in bench.parts.iter().filter(|part| part.chart == index) {
        match part.now {
            Now::Bare => bare[part.needle] = true,
            Now::Thread(thread) => {
                let thread = Thread { strands: part.strands, ..bench.threads[thread].clone() };
                needles[part.needle].threads = vec![thread];
            }
        }
    }
    // Needles that have come to the same thread are one, so that their patches are worked together.
    let mut first = vec![0; needles.len()];
    for (at, needle) in needles.iter().enumerate() {
        let same = |other: &Needle| other.threads == needle.threads && other.stitch == needle.stitch;
        first[at] = needles.iter().position(same).unwrap_or(at);
    }
    let cell = |cell: &Cell| match cell.needle() {
        Some(needle) if !bare[needle] => Cell::worked(first[needle]),
        _ => Cell::BARE,
    };
    let cells = chart.cells().iter().map(cell).collect();
    Chart::new(chart.title.clone(), chart.size(), chart.cloth, needles, cells)
        .expect("threads of checked charts in a checked chart")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::route::tests::chart;
    use super::super::shopping::Stock;
    use super::*;
    use crate::ground::progress::Silent;

    /// Three shades, the first two alike, 100 crosses of each, at 1.50 a skein.
    fn work() -> (Vec<Project>, Drawer) {
        let cells: Vec<u8> = (0..300).map(|at| (at / 100) as u8 + 1).collect();
        let plain = chart(20, &cells, StitchKind::FullCross);
        let mut needles = plain.needles().to_vec();
        for (needle, colour) in needles.iter_mut().zip(["#306090", "#326292", "#c03020"]) {
            needle.threads[0].colour = colour.parse().unwrap();
        }
        let chart =
            Chart::new("t".into(), plain.size(), plain.cloth, needles, plain.cells().to_vec()).unwrap();
        let stock = Stock { price: Some("1.50".parse().unwrap()), ..Stock::default() };
        let drawer = ["N1", "N2", "N3"].map(|code| (code.to_owned(), stock.clone())).into();
        (vec![Project::new(chart, Vec::new(), &Handling::default(), &Silent).unwrap()], drawer)
    }

    fn offered(budget: &str) -> Savings {
        let (projects, drawer) = work();
        let budget = budget.parse().unwrap();
        savings(&projects, &drawer, budget, &CoverModel::default(), &Handling::default(), &Silent).unwrap()
    }

    #[test]
    fn the_nearest_shades_are_merged_first() {
        let savings = offered("3.00");
        assert_eq!(savings.before.to_string(), "4.50");
        assert_eq!(savings.offers.len(), 1);
        let offer = &savings.offers[0];
        let merge = |from: &str, into: &str| Change::Merge { from: from.into(), into: into.into() };
        assert!([merge("N1", "N2"), merge("N2", "N1")].contains(&offer.change), "{offer:?}");
        assert_eq!((offer.saves.to_string(), offer.total.to_string()), ("1.50".into(), "3.00".into()));
        // The card colours' own difference, on a third of the stitches.
        let lab = |colour: &str| colour.parse::<crate::ground::colour::Srgb8>().unwrap().lab();
        let delta = lab("#306090").ciede2000(lab("#326292"));
        assert!((offer.delta_e - delta).abs() < 0.05, "{} {delta}", offer.delta_e);
        assert!((offer.mean_delta_e - offer.delta_e / 3.0).abs() < 1e-9);
        assert_eq!(savings.after.to_string(), "3.00");
    }

    #[test]
    fn offers_go_on_until_the_budget_is_met_or_nothing_is_left() {
        let savings = offered("1.50");
        assert_eq!((savings.offers.len(), savings.after.to_string()), (2, "1.50".into()));
        assert!(savings.offers[0].mean_delta_e <= savings.offers[1].mean_delta_e);
        let nothing = offered("0");
        assert!(nothing.after <= "1.50".parse().unwrap() && nothing.offers.len() <= 4);
        assert!(offered("10").offers.is_empty());
    }
}
