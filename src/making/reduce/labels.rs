//! Which chosen look each cell is worked in, and what confetti that leaves.
//!
//! The labels lower one sum: the ΔE00 of every cell to its look, a price on each side between two stitches of
//! different looks (a Potts model), and a price on each single stitch, one with no side neighbour of its own
//! look. A cell at a time moves to the label among its neighbours', or its own best, that lowers the sum most
//! (iterated conditional modes: Besag 1986, "On the statistical analysis of dirty pictures", J. R. Stat. Soc.
//! B 48: 259-302), then singles take a neighbour with them to a third look where that is cheaper.

mod afar;
mod balance;
mod patches;
mod settle;

use rayon::prelude::*;

use super::costs::Costs;
use super::histogram::{Histogram, NO_BIN};
use super::quiet::Borders;
use crate::ground::units::GridSize;

/// Less than this many ΔE00 is no reason to move a cell; it guards against rounding going in circles.
const WORTH: f32 = 1e-3;

/// No thread and none to come: a cell bare from the start, or outside the chart.
pub(super) const VOID: u16 = u16::MAX;

/// The labels of a chart's cells while they are settled. Cells are kept with a border of one [`VOID`] cell
/// all round, so that each has four neighbours.
#[derive(Debug)]
pub(super) struct Labels<'a> {
    size: GridSize,
    stride: usize,
    /// How many of the labels are looks.
    looks: usize,
    costs: Costs,
    /// The cheapest label of each row of costs.
    best: Vec<u16>,
    /// The second cheapest; the cheapest again where there is no other.
    second: Vec<u16>,
    /// How much dearer that is.
    gap: Vec<f32>,
    row_of: Vec<u32>,
    /// How much the error of each cell counts.
    weight: Vec<f32>,
    label: Vec<u16>,
    /// How many side neighbours share the label.
    same: Vec<u8>,
    /// Cells that may be single stitches: every one that is, some that no longer are, some twice.
    lone: Vec<u32>,
    /// What it costs that a cell is a single stitch.
    single_price: f32,
    /// Cells that are left as they are.
    held: Vec<bool>,
    /// The price on a single stitch under which the cell has no reason to move, as long as nothing about it does.
    rest: Vec<f32>,
    /// The same of a single stitch that would take a neighbour with it.
    pair_rest: Vec<f32>,
    boundary_price: f32,
    /// What sides cost beyond that; nothing where all sides cost the same.
    borders: Option<Borders<'a>>,
    /// How many cells have each label.
    used: Vec<u32>,
}

/// A part of the sum that the labels lower, or a change of it.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    /// Likeness and sides, in ΔE00.
    plain: f32,
    /// Single stitches.
    singles: f32,
}

impl Sum {
    fn less(self, other: Self) -> Self {
        Self { plain: self.plain - other.plain, singles: self.singles - other.singles }
    }

    fn and(self, other: Self) -> Self {
        Self { plain: self.plain + other.plain, singles: self.singles + other.singles }
    }

    /// The whole, with a price on a single stitch.
    fn at(self, price: f32) -> f32 {
        self.plain + price * self.singles
    }
}

impl<'a> Labels<'a> {
    /// Each cell with a colour gets its cheapest label; `costs` has a row a colour of `fine`, a column a label,
    /// the looks first, then perhaps bare cloth.
    pub(super) fn cheapest(
        size: GridSize,
        fine: &Histogram,
        looks: usize,
        costs: Costs,
        weights: Option<&[f32]>,
    ) -> Self {
        let rows = (0..fine.len()).into_par_iter().map(|row| costs.row(row));
        let two: Vec<_> = rows.map(two_cheapest).collect();
        let best: Vec<u16> = two.iter().map(|&(best, ..)| best as u16).collect();
        let second = two.iter().map(|&(_, next, _)| next as u16).collect();
        let gap = two.iter().map(|&(.., gap)| gap).collect();
        let stride = size.width() + 2;
        let padded = stride * (size.height() + 2);
        let mut labels = Self {
            size,
            stride,
            looks,
            used: vec![0; costs.columns()],
            costs,
            best,
            second,
            gap,
            row_of: vec![NO_BIN; padded],
            weight: vec![1.0; padded],
            label: vec![VOID; padded],
            same: vec![0; padded],
            lone: Vec::new(),
            single_price: 0.0,
            held: vec![false; padded],
            rest: vec![0.0; padded],
            pair_rest: vec![0.0; padded],
            boundary_price: 0.0,
            borders: None,
        };
        for (cell, &bin) in fine.bin_of.iter().enumerate() {
            if bin != NO_BIN {
                let at = labels.padded(cell);
                labels.row_of[at] = bin;
                labels.label[at] = labels.best[bin as usize];
            }
        }
        for (cell, &weight) in weights.unwrap_or(&[]).iter().enumerate() {
            let at = labels.padded(cell);
            labels.weight[at] = weight;
        }
        labels.recount();
        labels
    }

    /// The labels row by row, without the border.
    pub(super) fn rows(&self) -> Vec<u16> {
        (0..self.size.cells()).map(|cell| self.label[self.padded(cell)]).collect()
    }

    /// The prices: on a side between different looks, and on being a single stitch.
    pub(super) fn set_prices(&mut self, boundary: f32, single: f32) {
        (self.boundary_price, self.single_price) = (boundary, single);
    }

    /// Lets sides cost by the contrast that they create.
    pub(super) fn set_borders(&mut self, borders: Borders<'a>) {
        self.borders = Some(borders);
    }

    /// Holds the cells, counted row by row, that are to stay as they are, and frees the others. What was found of
    /// any cell's reasons to move was found with others held.
    pub(super) fn hold(&mut self, held: impl Fn(usize) -> bool) {
        for cell in 0..self.size.cells() {
            let at = self.padded(cell);
            self.held[at] = held(cell);
        }
        self.rest.fill(0.0);
        self.pair_rest.fill(0.0);
    }

    /// How many cells have each label.
    pub(super) fn used(&self) -> &[u32] {
        &self.used
    }

    /// How many single stitches there are.
    pub(super) fn singles(&mut self) -> usize {
        self.singled().len()
    }

    /// The single stitches, row by row.
    fn singled(&mut self) -> Vec<u32> {
        let mut lone = std::mem::take(&mut self.lone);
        lone.retain(|&at| self.same[at as usize] == 0);
        lone.sort_unstable();
        lone.dedup();
        self.lone.clone_from(&lone);
        lone
    }

    /// Calls `found` with each stitch of a look that is single, by its place row by row.
    pub(super) fn lone(&self, mut found: impl FnMut(usize)) {
        for cell in 0..self.size.cells() {
            let at = self.padded(cell);
            if usize::from(self.label[at]) < self.looks && self.same[at] == 0 {
                found(cell);
            }
        }
    }

    /// The labels above, left, right and below.
    #[inline]
    fn about(&self, at: usize) -> [u16; 4] {
        let [up, left, right, down] = self.neighbours(at);
        [self.label[up], self.label[left], self.label[right], self.label[down]]
    }

    /// What the sides of the cell `at` cost were its label `own`.
    fn sides(&self, at: usize, own: u16) -> f32 {
        self.sides_to(at, own, self.about(at))
    }

    /// The same with other labels about it.
    #[inline]
    fn sides_to(&self, at: usize, own: u16, about: [u16; 4]) -> f32 {
        let others = about.iter().map(|&label| u8::from(label != VOID && label != own)).sum::<u8>();
        let created = match &self.borders {
            Some(borders) if others > 0 => borders.price(at, own, about, VOID),
            _ => 0.0,
        };
        self.boundary_price * f32::from(others) + created
    }

    fn padded(&self, cell: usize) -> usize {
        let width = self.size.width();
        (cell / width + 1) * self.stride + cell % width + 1
    }

    fn stitches(&self) -> impl Iterator<Item = usize> + '_ {
        (self.stride..self.label.len() - self.stride).filter(|&at| self.label[at] != VOID)
    }

    #[inline]
    fn neighbours(&self, at: usize) -> [usize; 4] {
        [at - self.stride, at - 1, at + 1, at + self.stride]
    }

    fn cost(&self, at: usize, label: u16) -> f32 {
        self.weight[at] * self.costs.row(self.row_of[at] as usize)[usize::from(label)]
    }

    fn recount(&mut self) {
        self.used.fill(0);
        self.lone.clear();
        for at in self.stride..self.label.len() - self.stride {
            let label = self.label[at];
            if label == VOID {
                continue;
            }
            self.same[at] = self.count(at, label);
            if self.same[at] == 0 {
                self.lone.push(at as u32);
            }
            self.used[usize::from(label)] += 1;
        }
    }

    fn count(&self, at: usize, label: u16) -> u8 {
        self.neighbours(at).into_iter().map(|n| u8::from(self.label[n] == label)).sum()
    }

    /// How the sum changes when the cell `at` takes the label `to`.
    fn change(&self, at: usize, to: u16) -> Sum {
        if self.label[at] == to { Sum::default() } else { self.entry(at, to).less(self.stay(at)) }
    }

    /// What the cell's label costs where it is: its likeness, its sides, and singles that it makes or keeps
    /// from being.
    fn stay(&self, at: usize) -> Sum {
        let from = self.label[at];
        let leaves = self.same[at];
        let kept =
            self.neighbours(at).into_iter().filter(|&n| self.label[n] == from && self.same[n] == 1).count();
        Sum {
            plain: self.cost(at, from) + self.sides(at, from),
            singles: f32::from(u8::from(leaves == 0)) - kept as f32,
        }
    }

    /// The same for another label that the cell might take.
    fn entry(&self, at: usize, to: u16) -> Sum {
        let (mut joins, mut mended) = (0_u8, 0_u8);
        for n in self.neighbours(at) {
            let alike = self.label[n] == to;
            joins += u8::from(alike);
            mended += u8::from(alike && self.same[n] == 0);
        }
        Sum {
            plain: self.cost(at, to) + self.sides(at, to),
            singles: f32::from(u8::from(joins == 0)) - f32::from(mended),
        }
    }

    fn put(&mut self, at: usize, to: u16) {
        let from = self.label[at];
        if from == to {
            return;
        }
        let mut joins = 0;
        for n in self.neighbours(at) {
            if self.label[n] == from {
                self.same[n] -= 1;
                if self.same[n] == 0 {
                    self.lone.push(n as u32);
                }
            } else if self.label[n] == to {
                self.same[n] += 1;
                joins += 1;
            }
        }
        self.label[at] = to;
        self.same[at] = joins;
        if joins == 0 {
            self.lone.push(at as u32);
        }
        self.used[usize::from(from)] -= 1;
        self.used[usize::from(to)] += 1;
    }

    /// Gives the label `to`, which no cell has, to the two side neighbours that lose least by it, or with
    /// `alone` to one cell. Labels that would vanish by it are left alone. False when there is no such place.
    pub(super) fn introduce(&mut self, to: u16, alone: Alone, limit: f32) -> bool {
        let mut best: Option<(f32, usize, usize)> = None;
        // What likeness loses by it, cell by cell; of cells that are no stitches more than any limit.
        let loss = |at: usize| match self.label[at] {
            VOID => f32::INFINITY,
            label => self.cost(at, to) - self.cost(at, label),
        };
        let losses: Vec<f32> = (0..self.label.len()).into_par_iter().map(loss).collect();
        for at in self.stride..self.label.len() - self.stride {
            let mates = if alone == Alone::Yes { [at, at] } else { [at + 1, at + self.stride] };
            for mate in mates {
                let bound = losses[at] + if mate == at { 0.0 } else { losses[mate] };
                if bound >= best.map_or(f32::INFINITY, |(least, ..)| least) || !self.may_leave(at, mate) {
                    continue;
                }
                let before = (self.label[at], self.label[mate]);
                let mut change = self.change(at, to);
                self.put(at, to);
                change = change.and(self.change(mate, to));
                self.put(at, before.0);
                let change = change.at(self.single_price);
                if change < limit && best.is_none_or(|(least, ..)| change < least) {
                    best = Some((change, at, mate));
                }
            }
        }
        let Some((_, at, mate)) = best else { return false };
        self.put(at, to);
        self.put(mate, to);
        true
    }

    fn may_leave(&self, at: usize, mate: usize) -> bool {
        let (one, two) = (self.label[at], self.label[mate]);
        let left = |label: u16| self.used[usize::from(label)];
        // Two cells at least stay behind, so that a label is not left to a single stitch.
        if one == two && at != mate { left(one) >= 4 } else { left(one) >= 3 && left(two) >= 3 }
    }
}

/// Whether a thread may be brought in by a single stitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Alone {
    /// One cell will do.
    Yes,
    /// Two side by side.
    No,
}

/// The places of the least value and of the next, the first of equals, and how far they are apart. Where there is no
/// other, the next is the least again, infinitely far.
fn two_cheapest(row: &[f32]) -> (usize, usize, f32) {
    let (mut best, mut next) = ((f32::INFINITY, 0), (f32::INFINITY, None));
    for (place, &cost) in row.iter().enumerate() {
        if cost < next.0 {
            if cost < best.0 {
                next = (best.0, best.0.is_finite().then_some(best.1));
                best = (cost, place);
            } else {
                next = (cost, Some(place));
            }
        }
    }
    (best.1, next.1.unwrap_or(best.1), next.0 - best.0)
}

/// The place of the least value, the first of equals.
pub(super) fn cheapest(row: &[f32]) -> usize {
    let mut best = (f32::INFINITY, 0);
    for (place, &cost) in row.iter().enumerate() {
        if cost < best.0 {
            best = (cost, place);
        }
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_two_cheapest_are_the_first_two_when_sorted(row in prop::collection::vec(0_u8..9, 1..12)) {
            let row: Vec<f32> = row.into_iter().map(f32::from).collect();
            let mut order: Vec<usize> = (0..row.len()).collect();
            order.sort_by(|&x, &y| row[x].total_cmp(&row[y]));
            let (best, next, gap) = two_cheapest(&row);
            prop_assert_eq!(best, order[0]);
            match order.get(1) {
                Some(&second) => prop_assert_eq!((next, gap), (second, row[second] - row[best])),
                None => prop_assert_eq!((next, gap), (best, f32::INFINITY)),
            }
        }
    }
}
