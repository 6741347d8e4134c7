//! Accents brought to their mean colour.
//!
//! Where no thread is near enough to what stands out, threads on both sides of it make its colour between them; cell by
//! cell each would take the nearer one.

use super::super::accents::Accent;
use super::{Labels, Sum, VOID, WORTH};
use crate::ground::colour::{Compared, LinearRgb};
use crate::ground::progress::{Progress, Stopped, ask};

/// How far, in ΔE00, an accent's mean may be off and cost nothing.
const NEAR: f64 = 1.5;

/// The price of the cube of what it is off beyond that, in ΔE of single cells: the worst move first and furthest. Less
/// leaves accents further off, more makes them restless.
const PRICE: f64 = 7.5;

/// A cell takes no label that is worse than its cheapest by more than this, in ΔE00: a red stitch in a pale shell brings the
/// mean of the shell nearer, and is seen as a speck. With 8 worst accents are 1 % nearer, with 4 no calmer.
const REACH: f32 = 6.0;

/// Times over an accent's cells at the most.
const PASSES: usize = 6;

impl Labels<'_> {
    /// Moves cells of accents to other labels, so that the mean light of each accent comes near the picture's. Leaves no
    /// more than `most` single stitches. `seen` is what each label looks like.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub(in super::super) fn balance(
        &mut self,
        accents: &[Accent],
        seen: &[Compared],
        most: usize,
        progress: &dyn Progress,
    ) -> Result<(), Stopped> {
        let lights: Vec<[f64; 3]> = seen.iter().map(|look| look.lab().linear().channels).collect();
        let mut spare = most as f32 - self.singles() as f32;
        for accent in accents {
            ask(progress)?;
            self.balance_one(accent, &lights, &mut spare);
        }
        // Whatever was found of cells' reasons to move was found before.
        self.rest.fill(0.0);
        self.pair_rest.fill(0.0);
        Ok(())
    }

    fn balance_one(&mut self, accent: &Accent, lights: &[[f64; 3]], spare: &mut f32) {
        let cells: Vec<usize> = accent.cells.iter().map(|&cell| self.padded(cell as usize)).collect();
        let mut mean = Mean::new(accent, &cells, lights, &self.label);
        for _ in 0..PASSES {
            let before = mean.price;
            self.move_class(&cells, &mut mean, spare);
            for &at in &cells {
                if mean.price <= 0.0 {
                    return;
                }
                self.move_cell(at, &mut mean, spare);
            }
            if mean.price >= before {
                return;
            }
        }
    }

    /// Gives a cell the label that lowers the sum most.
    fn move_cell(&mut self, at: usize, mean: &mut Mean<'_>, spare: &mut f32) {
        if self.held[at] {
            return;
        }
        let row = self.row_of[at] as usize;
        let costs = self.costs.row(row);
        let limit = costs[usize::from(self.best[row])] + REACH;
        let from = self.label[at];
        let mut best = (-WORTH, VOID, 0.0);
        for to in (0..self.looks as u16).filter(|&to| to != from && costs[usize::from(to)] <= limit) {
            let change = self.change(at, to);
            let alone = change.at(self.single_price);
            // More than its price the mean cannot gain.
            if alone - mean.price >= best.0 || change.singles > spare.max(0.0) {
                continue;
            }
            let whole = alone + mean.price_with(1, from, to) - mean.price;
            if whole < best.0 {
                best = (whole, to, change.singles);
            }
        }
        if best.1 != VOID {
            mean.exchange(1, from, best.1);
            self.put(at, best.1);
            *spare -= best.2;
        }
    }

    /// Gives all cells of an accent that have one label another: what lowers the sum most, if it does. So a thing of few
    /// stitches changes its thread, and does not become a mixture.
    fn move_class(&mut self, cells: &[usize], mean: &mut Mean<'_>, spare: &mut f32) {
        let mut free: Vec<(u16, usize)> = cells
            .iter()
            .map(|&at| (self.label[at], at))
            .filter(|&(label, at)| usize::from(label) < self.looks && !self.held[at])
            .collect();
        free.sort_unstable();
        let mut best = (-WORTH, VOID, &free[..0]);
        for class in free.chunk_by(|one, two| one.0 == two.0) {
            let from = class[0].0;
            // The last cells of a label stay.
            if self.used[usize::from(from)] as usize <= class.len() {
                continue;
            }
            for to in (0..self.looks as u16).filter(|&to| to != from) {
                let mut whole = mean.price_with(class.len(), from, to) - mean.price;
                if whole >= best.0 {
                    continue;
                }
                let mut beyond = 0.0;
                for &(_, at) in class {
                    let row = self.row_of[at] as usize;
                    let costs = self.costs.row(row);
                    beyond += costs[usize::from(to)] - costs[usize::from(self.best[row])];
                    let about = self.about(at).map(|other| if other == from { to } else { other });
                    whole += self.cost(at, to) - self.cost(at, from) + self.sides_to(at, to, about)
                        - self.sides(at, from);
                }
                if whole < best.0 && beyond <= REACH * class.len() as f32 {
                    best = (whole, to, class);
                }
            }
        }
        let (_, to, class) = best;
        let Some(&(from, _)) = class.first() else { return };
        let mut change = Sum::default();
        for &(_, at) in class {
            change = change.and(self.change(at, to));
            self.put(at, to);
        }
        let nearer = mean.price_with(class.len(), from, to) - mean.price;
        if change.singles > spare.max(0.0) || change.at(self.single_price) + nearer >= 0.0 {
            class.iter().for_each(|&(_, at)| self.put(at, from));
            return;
        }
        mean.exchange(class.len(), from, to);
        *spare -= change.singles;
    }
}

/// The mean light of an accent as it is worked.
struct Mean<'a> {
    wanted: Compared,
    cells: f64,
    lights: &'a [[f64; 3]],
    sum: [f64; 3],
    /// What it costs that it is off.
    price: f32,
}

impl<'a> Mean<'a> {
    fn new(accent: &Accent, cells: &[usize], lights: &'a [[f64; 3]], labels: &[u16]) -> Self {
        let mut sum = [0.0; 3];
        for &at in cells {
            for (sum, value) in sum.iter_mut().zip(lights[usize::from(labels[at])]) {
                *sum += value;
            }
        }
        let mut mean =
            Self { wanted: accent.mean.into(), cells: cells.len() as f64, lights, sum, price: 0.0 };
        mean.price = mean.price_of(sum);
        mean
    }

    fn price_of(&self, sum: [f64; 3]) -> f32 {
        let mean = LinearRgb { channels: sum.map(|sum| sum / self.cells) }.lab();
        let off = (self.wanted.ciede2000(&mean.into()) - NEAR).max(0.0);
        (PRICE * off * off * off) as f32
    }

    fn sum_with(&self, cells: usize, from: u16, to: u16) -> [f64; 3] {
        let [from, to] = [from, to].map(|label| self.lights[usize::from(label)]);
        std::array::from_fn(|channel| self.sum[channel] + cells as f64 * (to[channel] - from[channel]))
    }

    /// The price were so many cells of one label of another.
    fn price_with(&self, cells: usize, from: u16, to: u16) -> f32 {
        self.price_of(self.sum_with(cells, from, to))
    }

    fn exchange(&mut self, cells: usize, from: u16, to: u16) {
        self.sum = self.sum_with(cells, from, to);
        self.price = self.price_of(self.sum);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::colour::{Lab, Lab32};
    use crate::ground::progress::Silent;
    use crate::ground::units::GridSize;
    use crate::making::reduce::costs::Costs;
    use crate::making::reduce::histogram::Histogram;

    #[test]
    fn a_thing_of_few_stitches_changes_its_thread_as_a_whole_where_no_single_may_come() {
        let grey = |l: f64| Compared::from(Lab { l, a: 0.0, b: 0.0 });
        // The ground is 44 light, and so is at first the thing of 4 x 3 cells, which should be 52.
        let looks = [grey(44.0), grey(52.0)];
        let inside = |cell: usize| (3..7).contains(&(cell % 10)) && (3..6).contains(&(cell / 10));
        let colour = |cell: usize| Some(Lab32 { l: if inside(cell) { 52.0 } else { 44.0 }, a: 0.0, b: 0.0 });
        let cells: Vec<Option<Lab32>> = (0..100).map(colour).collect();
        let fine = Histogram::ungathered(&cells);
        let costs = Costs::new(&fine.colours, &looks, &Silent).unwrap();
        let mut labels = Labels::cheapest(GridSize::new(10, 10).unwrap(), &fine, 2, costs, None);
        let thing: Vec<u32> = (0..100).filter(|&cell| inside(cell as usize)).collect();
        for &cell in &thing {
            let at = labels.padded(cell as usize);
            labels.put(at, 0);
        }
        let accent = Accent { cells: thing, mean: Lab { l: 52.0, a: 0.0, b: 0.0 } };
        labels.balance(&[accent], &looks, 0, &Silent).unwrap();
        for (cell, label) in labels.rows().into_iter().enumerate() {
            assert_eq!(label, u16::from(inside(cell)), "cell {cell}");
        }
        assert_eq!(labels.singles(), 0);
    }
}
