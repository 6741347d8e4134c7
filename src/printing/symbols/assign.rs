//! Which needle gets which symbol.
//!
//! First a pool: of all symbols, as many as the needles need and some more, lying as far apart as can be, so
//! that a chart of few needles has symbols that nobody confuses. Then the needles, most used first, each take
//! the symbol of the pool that costs least, and symbols are swapped and moved while that lowers the cost:
//!
//! ```text
//! sum over pairs of needles   (EVERY + TOUCH * touch + NEAR * nearness + CROWD * crowd^2) * (least distance / distance)^3
//! sum over needles            DARK * (rank by darkness - rank by ink)^2
//!                           + PLAIN * use * (parts - 1) / 3
//!                           + BLACK * max(0, crowd * ink - FULL)
//! ```
//!
//! A figure and its turned or mirrored twin count as less far apart than they look.
//!
//! `touch` is the share of its neighbours that the smaller of two needles has in the other, `nearness` is
//! 1 / (1 + (ΔL* / 10)²), ranks run from 0 to 1, `use` is the root of a needle's stitches over the most of any, `crowd`
//! the largest share that it has of a part of the chart about as large as a page (of two needles, the larger).
//! Cost and weights are our own; the weights were tried on charts, see the tests.

use super::SymbolId;
use super::adjacency::{Adjacency, crowds};
use crate::chart::Chart;

/// What is asked of every pair of needles, touching or not: the eye searches the whole key.
const EVERY: f64 = 0.05;

/// What touching adds, for a needle that touches one other alone.
const TOUCH: f64 = 2.0;

/// What nearness in luminance adds: such needles cannot be told apart by their tint in grey. Greater than
/// touching would put look-alikes side by side.
const NEAR: f64 = 0.3;

/// What a symbol too light or too dark costs. Lower loses the picture on a grey page, higher gives neighbours
/// of like darkness like symbols.
const DARK: f64 = 1.0;

/// What a busy symbol costs the most used needle.
const PLAIN: f64 = 0.15;

/// The share of a cell that symbols may ink all over a page: with rules and tints, such a page stays under a quarter.
const FULL: f64 = 0.24;

/// What a symbol costs that inks more than [`FULL`] of a page: a needle that fills whole pages, such as the night in
/// a picture of the sky, gets a lighter one whatever its colour.
const BLACK: f64 = 20.0;

/// What it adds that one of the two fills pages: taken for another once, it would be so thousands of times.
const CROWD: f64 = 1.0;

/// Luminance (L*) between two needles at which nearness is half.
const NEAR_BY: f64 = 10.0;

/// The most that a figure and its turned or mirrored twin count as apart: print shows the difference, but left
/// and right are soon confused, above all on a page laid askew. Lower would leave large charts without twins.
const TWINS: f64 = 0.12;

/// Symbols in the pool beyond the needles: a third of them, but no fewer and no more than this. More give the
/// optimisation a choice, fewer keep the pool far apart.
const SPARE: (usize, usize) = (4, 16);

/// Rounds of swaps at most; on charts tried it ends by itself within 10.
const ROUNDS: usize = 30;

/// The least gain that counts: rounding must not swap for ever.
const GAIN: f64 = 1e-9;

/// A needle as far as its symbol goes.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedleUse {
    /// L* of its thread, 0 black to 100 white.
    pub luminance: f64,
    /// Cells worked with it.
    pub stitches: u64,
    /// The largest share that it has of any part of the chart about as large as a page, 0 to 1.
    pub crowd: f64,
    /// The symbol that it has and keeps.
    pub fixed: Option<SymbolId>,
}

/// A symbol for every needle, in the order of `needles`: no two share one, fixed ones are kept, the same input
/// gives the same symbols. Where two needles ask for one symbol, the first keeps it. Should symbols run out
/// ([`SymbolId::count`]), the least used needles get [`SymbolId::unknown`].
#[must_use]
pub fn assign(needles: &[NeedleUse], touches: &Adjacency) -> Vec<SymbolId> {
    let mut fixed: Vec<Option<SymbolId>> = Vec::new();
    for needle in needles {
        let free = needle.fixed.filter(|symbol| !fixed.contains(&Some(*symbol)));
        fixed.push(free.filter(|&symbol| symbol != SymbolId::unknown()));
    }
    let held: Vec<SymbolId> = fixed.iter().copied().flatten().collect();
    let pool = pool(needles.len(), &held);
    let mut problem = Problem::new(needles, touches, &pool);
    let place = |symbol: SymbolId| pool.iter().position(|&one| one == symbol);
    let fixed: Vec<Option<usize>> = fixed.into_iter().map(|symbol| symbol.and_then(place)).collect();
    problem.start(needles, &fixed);
    problem.improve(&fixed);
    problem.given.iter().map(|place| place.map_or_else(SymbolId::unknown, |place| pool[place])).collect()
}

/// Symbols for the needles of a chart that keeps those it has: a needle whose symbol is of the set and not that
/// of a needle before it keeps it, the others get the best of the rest.
#[must_use]
pub fn complete(chart: &Chart) -> Vec<SymbolId> {
    assign(&uses(chart), &Adjacency::of(chart))
}

/// The same for the first `known` needles; then each of the others in turn gets the best that is left, far from
/// those that stand near it. One more needle at the end changes none before it.
#[must_use]
pub fn complete_in_turn(chart: &Chart, known: usize) -> Vec<SymbolId> {
    let mut needles = uses(chart);
    let touches = Adjacency::of(chart);
    let mut symbols = Vec::new();
    for count in known.clamp(1, needles.len().max(1))..=needles.len() {
        symbols = assign(&needles[..count], &touches);
        for (needle, symbol) in needles.iter_mut().zip(&symbols) {
            needle.fixed = Some(*symbol);
        }
    }
    symbols
}

fn uses(chart: &Chart) -> Vec<NeedleUse> {
    let needles = chart.needles().iter().zip(chart.stitches());
    needles
        .zip(crowds(chart))
        .map(|((needle, stitches), crowd)| NeedleUse {
            luminance: needle.colour().lab().l,
            stitches,
            crowd,
            fixed: SymbolId::named(&needle.symbol),
        })
        .collect()
}

/// Symbols to choose from: those held, then, in the order of the set, whatever keeps the greatest distance from
/// all before it that still gives enough of them.
fn pool(needles: usize, held: &[SymbolId]) -> Vec<SymbolId> {
    let wanted = (needles + (needles / 3).clamp(SPARE.0, SPARE.1)).min(SymbolId::count());
    let at = |least: u8| {
        let mut chosen = held.to_vec();
        for symbol in SymbolId::all() {
            let far = |other: &SymbolId| told_apart(symbol, *other) * 255.0 >= f64::from(least) - 0.5;
            if chosen.len() < wanted && !chosen.contains(&symbol) && chosen.iter().all(far) {
                chosen.push(symbol);
            }
        }
        chosen
    };
    let mut pool = (0..=u8::MAX).rev().map(at).find(|pool| pool.len() >= wanted).unwrap_or_default();
    pool.sort_unstable();
    pool
}

/// The optimisation: places in the pool for needles.
struct Problem {
    /// By pair of needles: how much they must be told apart.
    weight: Vec<f64>,
    /// By pair of places: how alike the symbols are, 1 at the set's least distance.
    alike: Vec<f64>,
    /// By needle and place: what the symbol costs the needle beside the symbols given to the others.
    cost: Vec<f64>,
    needles: usize,
    places: usize,
    given: Vec<Option<usize>>,
    free: Vec<bool>,
}

impl Problem {
    fn new(needles: &[NeedleUse], touches: &Adjacency, pool: &[SymbolId]) -> Self {
        let (count, places) = (needles.len(), pool.len());
        let borders: Vec<u64> = (0..count).map(|needle| touches.all_of(needle)).collect();
        let weight = (0..count * count).map(|at| {
            let (a, b) = (at / count, at % count);
            let least = borders[a].min(borders[b]).max(1);
            let touch = touches.between(a, b) as f64 / least as f64;
            let apart = (light(&needles[a]) - light(&needles[b])) / NEAR_BY;
            let crowd = needles[a].crowd.max(needles[b].crowd);
            if a == b {
                0.0
            } else {
                EVERY + TOUCH * touch + NEAR / (1.0 + apart * apart) + CROWD * crowd * crowd
            }
        });
        let least = SymbolId::least_distance();
        let alike = (0..places * places).map(|at| {
            let distance = told_apart(pool[at / places], pool[at % places]);
            if distance > 0.0 { (least / distance).powi(3) } else { 1.0 }
        });
        let dark = ranks(needles.iter().map(|needle| -light(needle)));
        let ink = ranks(pool.iter().map(|symbol| symbol.ink()));
        let most = needles.iter().map(|needle| needle.stitches).max().unwrap_or_default().max(1);
        let own = (0..count * places).map(|at| {
            let (needle, place) = (at / places, at % places);
            let grey = dark[needle] - ink[place];
            let used = (needles[needle].stitches as f64 / most as f64).sqrt();
            let black = (needles[needle].crowd * pool[place].ink() - FULL).max(0.0);
            DARK * grey * grey + PLAIN * used * f64::from(pool[place].parts() - 1) / 3.0 + BLACK * black
        });
        Self {
            weight: weight.collect(),
            alike: alike.collect(),
            cost: own.collect(),
            needles: count,
            places,
            given: vec![None; count],
            free: vec![true; places],
        }
    }

    /// Fixed symbols first; then, most used first, each needle takes what costs least beside those before it.
    fn start(&mut self, needles: &[NeedleUse], fixed: &[Option<usize>]) {
        for (needle, place) in fixed.iter().enumerate() {
            if let Some(place) = *place {
                self.give(needle, place);
            }
        }
        let mut order: Vec<usize> = (0..self.needles).filter(|&needle| fixed[needle].is_none()).collect();
        order.sort_by_key(|&needle| std::cmp::Reverse(needles[needle].stitches));
        for needle in order {
            if let Some(place) = self.best_free(needle) {
                self.give(needle, place);
            }
        }
    }

    fn best_free(&self, needle: usize) -> Option<usize> {
        let places = (0..self.places).filter(|&place| self.free[place]);
        places.min_by(|&a, &b| self.costs(needle, a).total_cmp(&self.costs(needle, b)))
    }

    fn costs(&self, needle: usize, place: usize) -> f64 {
        self.cost[needle * self.places + place]
    }

    fn alike(&self, a: usize, b: usize) -> f64 {
        self.alike[a * self.places + b]
    }

    /// Gives a needle a place, instead of the one it had.
    fn give(&mut self, needle: usize, place: usize) {
        let row = |place: usize| place * self.places..(place + 1) * self.places;
        let mut change = self.alike[row(place)].to_vec();
        if let Some(old) = self.given[needle].replace(place) {
            self.free[old] = true;
            for (change, old) in change.iter_mut().zip(&self.alike[row(old)]) {
                *change -= old;
            }
        }
        self.free[place] = false;
        // A needle weighs nothing beside itself: its own costs stay as they are.
        for (other, costs) in self.cost.chunks_exact_mut(self.places).enumerate() {
            let weight = self.weight[needle * self.needles + other];
            for (cost, change) in costs.iter_mut().zip(&change) {
                *cost += weight * change;
            }
        }
    }

    /// Moves and swaps for as long as that lowers the cost.
    fn improve(&mut self, fixed: &[Option<usize>]) {
        let loose: Vec<usize> = (0..self.needles)
            .filter(|&needle| fixed[needle].is_none() && self.given[needle].is_some())
            .collect();
        for _ in 0..ROUNDS {
            let mut better = false;
            for (at, &needle) in loose.iter().enumerate() {
                better |= self.moved(needle);
                for &other in &loose[at + 1..] {
                    better |= self.swapped(needle, other);
                }
            }
            if !better {
                break;
            }
        }
    }

    /// Moves a needle to the free place that costs it least, where that is better than its own.
    fn moved(&mut self, needle: usize) -> bool {
        let (Some(now), Some(place)) = (self.given[needle], self.best_free(needle)) else { return false };
        let better = self.costs(needle, place) < self.costs(needle, now) - GAIN;
        if better {
            self.give(needle, place);
        }
        better
    }

    /// Swaps the places of two needles where that is better.
    fn swapped(&mut self, a: usize, b: usize) -> bool {
        let (Some(at_a), Some(at_b)) = (self.given[a], self.given[b]) else { return false };
        let change = self.costs(a, at_b) - self.costs(a, at_a) + self.costs(b, at_a) - self.costs(b, at_b);
        // That counts each of the two beside the old place of the other; the pair stays as alike as it was.
        let pair = self.weight[a * self.needles + b];
        let unchanged = self.alike(at_a, at_a) + self.alike(at_b, at_b) - 2.0 * self.alike(at_a, at_b);
        let better = change - pair * unchanged < -GAIN;
        if better {
            self.give(a, at_b);
            self.give(b, at_a);
            self.free[at_a] = false;
            self.free[at_b] = false;
        }
        better
    }
}

/// How well two symbols are told apart: their distance, for a symbol and its turned or mirrored twin no more
/// than [`TWINS`].
fn told_apart(a: SymbolId, b: SymbolId) -> f64 {
    let distance = a.distance(b);
    if a.is_turned(b) { distance.min(TWINS) } else { distance }
}

/// L* within its bounds; a luminance that is no number counts as middle grey.
fn light(needle: &NeedleUse) -> f64 {
    if needle.luminance.is_nan() { 50.0 } else { needle.luminance.clamp(0.0, 100.0) }
}

/// Ranks from 0, the least, to 1, the greatest; equal values keep their order.
fn ranks(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let values: Vec<f64> = values.collect();
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    for (rank, at) in order.into_iter().enumerate() {
        ranks[at] = rank as f64 / (values.len() - 1).max(1) as f64;
    }
    ranks
}
