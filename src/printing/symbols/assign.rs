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
//! Twins, whose prints correlate, are not both in the pool while there are symbols without them (that is for 40 needles
//! and more at every size, see the tests), nor is a figure whose white parts fill at this size, nor, as long as that
//! lasts, a figure in two turns; beyond, twins cost so much where they touch that they do not, and turned forms count as
//! less far apart than they look. All distances are those in squares of the size that is printed.
//!
//! `touch` is the share of its neighbours that the smaller of two needles has in the other, `nearness` is
//! 1 / (1 + (ΔL* / 10)²), ranks run from 0 to 1, `use` is the root of a needle's stitches over the most of any, `crowd`
//! the largest share that it has of a part of the chart about as large as a page (of two needles, the larger).
//! Cost and weights are our own; the weights were tried on charts, see the tests.

use super::adjacency::{Adjacency, crowds};
use super::{Squares, SymbolId};
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

/// The most that a figure and its turned or mirrored form count as apart: print shows the difference, but left
/// and right are soon confused, above all on a page laid askew. Lower would leave large charts without such pairs.
const TURNED: f64 = 0.12;

/// How alike twins are, where 1 is a pair at the set's least distance: more than any other two, so that they touch only
/// where all that touches is twins.
const TWIN: f64 = 40.0;

/// How alike two symbols are that were taken for each other in print: never both, while there are others.
const CONFUSED: f64 = 4000.0;

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

/// What symbols have to be told apart in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Apart<'a> {
    /// The size of the squares.
    pub squares: Squares,
    /// Pairs that were taken for each other in print; a symbol that was taken for bare cloth, beside itself.
    pub confused: &'a [[SymbolId; 2]],
}

impl Apart<'_> {
    fn is_confused(&self, a: SymbolId, b: SymbolId) -> bool {
        self.confused.iter().any(|pair| *pair == [a, b] || *pair == [b, a])
    }

    /// Whether two may both be used where there is a choice.
    fn are_strangers(&self, a: SymbolId, b: SymbolId) -> bool {
        !a.is_twin(b, self.squares) && !self.is_confused(a, b)
    }

    /// How well two symbols are told apart: their distance, for a symbol and its turned or mirrored form no more
    /// than [`TURNED`].
    fn distance(&self, a: SymbolId, b: SymbolId) -> f64 {
        let distance = a.distance_in(b, self.squares);
        if a.is_turned(b) { distance.min(TURNED) } else { distance }
    }

    /// How alike two are: 1 at the set's least distance.
    fn alike(&self, a: SymbolId, b: SymbolId) -> f64 {
        if a == b {
            return 1.0;
        }
        let distance = self.distance(a, b);
        let alike = if distance > 0.0 { (SymbolId::least_distance() / distance).powi(3) } else { 1.0 };
        match (self.is_confused(a, b), a.is_twin(b, self.squares)) {
            (true, _) => CONFUSED,
            (false, true) => alike + TWIN,
            (false, false) => alike,
        }
    }
}

/// A symbol for every needle, in the order of `needles`: no two share one, fixed ones are kept, the same input
/// gives the same symbols. Where two needles ask for one symbol, the first keeps it. Should symbols run out
/// ([`SymbolId::count`]), the least used needles get [`SymbolId::unknown`].
#[must_use]
pub fn assign(needles: &[NeedleUse], touches: &Adjacency, apart: Apart) -> Vec<SymbolId> {
    let mut fixed: Vec<Option<SymbolId>> = Vec::new();
    for needle in needles {
        let free = needle.fixed.filter(|symbol| !fixed.contains(&Some(*symbol)));
        fixed.push(free.filter(|&symbol| symbol != SymbolId::unknown()));
    }
    let held: Vec<SymbolId> = fixed.iter().copied().flatten().collect();
    let pool = pool(needles.len(), &held, apart);
    let mut problem = Problem::new(needles, touches, &pool, apart);
    let place = |symbol: SymbolId| pool.iter().position(|&one| one == symbol);
    let fixed: Vec<Option<usize>> = fixed.into_iter().map(|symbol| symbol.and_then(place)).collect();
    problem.start(needles, &fixed);
    problem.improve(&fixed);
    problem.given.iter().map(|place| place.map_or_else(SymbolId::unknown, |place| pool[place])).collect()
}

/// Symbols for the needles of a chart that keeps those it has: a needle whose symbol is of the set and not that
/// of a needle before it keeps it, the others get the best of the rest.
#[must_use]
pub fn complete(chart: &Chart, squares: Squares) -> Vec<SymbolId> {
    assign(&uses(chart), &Adjacency::of(chart), Apart { squares, confused: &[] })
}

/// Symbols for the needles of a chart of which those in `loose` get others: the best that are not confused with any that
/// is kept.
#[must_use]
pub fn exchange(chart: &Chart, loose: &[usize], apart: Apart) -> Vec<SymbolId> {
    let mut needles = uses(chart);
    for &needle in loose {
        if let Some(needle) = needles.get_mut(needle) {
            needle.fixed = None;
        }
    }
    assign(&needles, &Adjacency::of(chart), apart)
}

/// As [`complete`], for squares of 3 mm, the first `known` needles; then each of the others in turn gets the best that is left, far from
/// those that stand near it. One more needle at the end changes none before it.
#[must_use]
pub fn complete_in_turn(chart: &Chart, known: usize) -> Vec<SymbolId> {
    let mut needles = uses(chart);
    let touches = Adjacency::of(chart);
    let mut symbols = Vec::new();
    for count in known.clamp(1, needles.len().max(1))..=needles.len() {
        symbols = assign(&needles[..count], &touches, Apart::default());
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

/// Symbols to choose from: those held and others, no two of them twins or turned forms of one figure while there are
/// enough without, as far apart as can be.
fn pool(needles: usize, held: &[SymbolId], apart: Apart) -> Vec<SymbolId> {
    let wanted = (needles + (needles / 3).clamp(SPARE.0, SPARE.1)).min(SymbolId::count());
    // A symbol that is taken for bare cloth is told from nothing.
    let all: Vec<SymbolId> = SymbolId::all().filter(|&symbol| !apart.is_confused(symbol, symbol)).collect();
    let open: Vec<SymbolId> = all.iter().copied().filter(|symbol| symbol.stays_open(apart.squares)).collect();
    let strangers = |a: SymbolId, b: SymbolId| {
        if apart.are_strangers(a, b) { apart.distance(a, b) } else { NEVER }
    };
    let straight = |a: SymbolId, b: SymbolId| if a.is_turned(b) { NEVER } else { strangers(a, b) };
    let first = Choice::new(held, &open, straight).enough(needles, wanted);
    let second = || Choice::new(held, &open, strangers).enough(needles, wanted);
    let mut pool = first.or_else(second).unwrap_or_else(|| {
        // All that have no twins, then, far from those, twins, and at the last those that fill.
        let some = Choice::new(held, &open, strangers).sparse(0);
        let more = Choice::new(&some, &open, |a, b| apart.distance(a, b)).farthest(wanted);
        Choice::new(&more, &all, |a, b| apart.distance(a, b)).farthest(wanted)
    });
    pool.sort_unstable();
    pool
}

/// The distance of two that may not both be chosen.
const NEVER: f64 = -1.0;

/// Levels of distance, in 255ths, are gone through in such steps.
const LEVEL: usize = 3;

/// Symbols that are chosen already, others to choose from, in the order of the set, and how far all are from all.
struct Choice {
    symbols: Vec<SymbolId>,
    held: usize,
    /// In 255ths, as the tables have them; under 0 for pairs that may not be.
    apart: Vec<i16>,
}

impl Choice {
    fn new(held: &[SymbolId], from: &[SymbolId], distance: impl Fn(SymbolId, SymbolId) -> f64) -> Self {
        let mut symbols = held.to_vec();
        symbols.extend(from.iter().filter(|symbol| !held.contains(symbol)));
        let count = symbols.len();
        let apart = (0..count * count)
            .map(|at| (distance(symbols[at / count], symbols[at % count]) * 255.0).round() as i16)
            .collect();
        Self { symbols, held: held.len(), apart }
    }

    fn named(&self, places: &[usize]) -> Vec<SymbolId> {
        places.iter().map(|&place| self.symbols[place]).collect()
    }

    /// As many as are wanted, or at least as many as are needed, at the greatest distance that gives them; `None` where
    /// none does.
    fn enough(&self, needed: usize, wanted: usize) -> Option<Vec<SymbolId>> {
        let most = self.farthest(wanted);
        if most.len() >= wanted {
            return Some(most);
        }
        let levels = (0..=u8::MAX).rev().step_by(LEVEL);
        let mut found = levels.map(|least| self.sparse(least)).find(|sparse| sparse.len() >= needed)?;
        found.truncate(wanted.max(self.held));
        Some(found)
    }

    /// Added in the order of the set, as far from all before as still gives enough; where that is not to be had, all that
    /// may be.
    fn farthest(&self, wanted: usize) -> Vec<SymbolId> {
        let count = self.symbols.len();
        let at = |least: i16| {
            let mut chosen: Vec<usize> = (0..self.held).collect();
            for symbol in self.held..count {
                let is_far = |other: &usize| self.apart[symbol * count + other] >= least;
                if chosen.len() < wanted && chosen.iter().all(is_far) {
                    chosen.push(symbol);
                }
            }
            chosen
        };
        let chosen = (1..=255).rev().map(at).find(|chosen| chosen.len() >= wanted).unwrap_or_else(|| at(0));
        self.named(&chosen)
    }

    /// As many that are so far apart as a greedy choice finds: again and again the one that is near to the fewest of those
    /// that are left.
    fn sparse(&self, least: u8) -> Vec<SymbolId> {
        let count = self.symbols.len();
        let near = |a: usize, b: usize| self.apart[a * count + b] < i16::from(least);
        let mut chosen: Vec<usize> = (0..self.held).collect();
        let mut left: Vec<bool> = (0..count)
            .map(|symbol| symbol >= self.held && !chosen.iter().any(|&held| near(symbol, held)))
            .collect();
        let mut degree: Vec<usize> = (0..count)
            .map(|symbol| {
                (0..count).filter(|&other| other != symbol && left[other] && near(symbol, other)).count()
            })
            .collect();
        while let Some(next) = (0..count).filter(|&symbol| left[symbol]).min_by_key(|&symbol| degree[symbol])
        {
            chosen.push(next);
            let gone: Vec<usize> =
                (0..count).filter(|&other| left[other] && (other == next || near(next, other))).collect();
            for gone in gone {
                left[gone] = false;
                for other in (0..count).filter(|&other| other != gone && near(gone, other)) {
                    degree[other] -= 1;
                }
            }
        }
        self.named(&chosen)
    }
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
    fn new(needles: &[NeedleUse], touches: &Adjacency, pool: &[SymbolId], apart: Apart) -> Self {
        let (count, places) = (needles.len(), pool.len());
        let borders: Vec<u64> = (0..count).map(|needle| touches.all_of(needle)).collect();
        let weight = (0..count * count).map(|at| {
            let (a, b) = (at / count, at % count);
            let least = borders[a].min(borders[b]).max(1);
            let touch = touches.between(a, b) as f64 / least as f64;
            let lighter = (light(&needles[a]) - light(&needles[b])) / NEAR_BY;
            let crowd = needles[a].crowd.max(needles[b].crowd);
            if a == b {
                0.0
            } else {
                EVERY + TOUCH * touch + NEAR / (1.0 + lighter * lighter) + CROWD * crowd * crowd
            }
        });
        let alike = (0..places * places).map(|at| apart.alike(pool[at / places], pool[at % places]));
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
