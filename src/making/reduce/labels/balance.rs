//! Accents brought to their mean colour.
//!
//! Where no thread is near enough to what stands out, threads on both sides of it make its colour between them; cell by
//! cell each would take the nearer one.

use super::super::accents::Accent;
use super::{Labels, VOID, WORTH};
use crate::ground::colour::{Compared, LinearRgb};
use crate::ground::progress::{Progress, Stopped, ask};

/// How far, in ΔE00, an accent's mean may be off and cost nothing.
const NEAR: f64 = 1.5;

/// The price of the cube of what it is off beyond that, in ΔE of single cells: the worst move first and furthest. Less
/// leaves accents further off, more makes them restless.
const PRICE: f64 = 15.0;

/// A cell takes no label that is worse than its cheapest by more than this, in ΔE00: a red stitch in a pale shell brings the
/// mean of the shell nearer, and is seen as a speck. With 8 worst accents are 1 % nearer, with 4 no calmer.
const REACH: f32 = 6.0;

/// Times over an accent's cells at the most.
const PASSES: usize = 6;

impl Labels<'_> {
    /// Moves cells of accents to their own two cheapest labels or those beside them, so that the mean light of each
    /// accent comes near the picture's. Makes no single stitch. `seen` is what each label looks like.
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
        let wanted = Compared::from(accent.mean);
        let cells: Vec<usize> = accent.cells.iter().map(|&cell| self.padded(cell as usize)).collect();
        let price = |sum: [f64; 3]| {
            let mean = LinearRgb { channels: sum.map(|sum| sum / cells.len() as f64) }.lab();
            let off = (wanted.ciede2000(&mean.into()) - NEAR).max(0.0);
            (PRICE * off * off * off) as f32
        };
        let exchanged = |sum: [f64; 3], from: u16, to: u16| -> [f64; 3] {
            let [from, to] = [from, to].map(|label| lights[usize::from(label)]);
            std::array::from_fn(|channel| sum[channel] - from[channel] + to[channel])
        };
        let mut sum = [0.0; 3];
        for &at in &cells {
            for (sum, value) in sum.iter_mut().zip(lights[usize::from(self.label[at])]) {
                *sum += value;
            }
        }
        let mut now = price(sum);
        for _ in 0..PASSES {
            let before = now;
            for &at in cells.iter().filter(|&&at| !self.held[at]).collect::<Vec<_>>() {
                if now <= 0.0 {
                    return;
                }
                let row = self.row_of[at] as usize;
                let costs = self.costs.row(row);
                let [up, left, right, down] = self.about(at);
                let from = self.label[at];
                let mut best = (-WORTH, VOID, now, 0.0);
                for to in [self.best[row], self.second[row], up, left, right, down] {
                    if to == VOID || to == from || usize::from(to) >= self.looks {
                        continue;
                    }
                    if costs[usize::from(to)] > costs[usize::from(self.best[row])] + REACH {
                        continue;
                    }
                    let change = self.change(at, to);
                    if change.singles > spare.max(0.0) {
                        continue;
                    }
                    let then = price(exchanged(sum, from, to));
                    let whole = change.at(self.single_price) + then - now;
                    if whole < best.0 {
                        best = (whole, to, then, change.singles);
                    }
                }
                if best.1 != VOID {
                    sum = exchanged(sum, from, best.1);
                    self.put(at, best.1);
                    now = best.2;
                    *spare -= best.3;
                }
            }
            if now >= before {
                return;
            }
        }
    }
}
