//! The search for the labels that look most like the picture from afar.
//!
//! Direct search (Lieberman & Allebach 2000, "A dual interpretation for direct binary search and its implications for
//! tone reproduction and texture quality", IEEE Trans. Image Process. 9: 1950-1963): each cell in turn takes the label
//! that lowers most what the eye sees of the error, with what a side and a single stitch cost, until few move. Errors as
//! they are seen are kept up to date, so that to try a label costs no more than a few products.

use rayon::prelude::*;

use super::super::eye::{Eye, opponent, slope};
use super::{Labels, Sum, VOID, WORTH};
use crate::ground::colour::{Compared, Lab, Lab32};
use crate::ground::progress::{Progress, Stopped, ask};

/// What an eye sees of the labels, cell by cell with the border.
#[derive(Debug)]
struct Sight<'a> {
    eye: &'a Eye,
    /// Each label's colour in the opponent space, and each cell's in the picture.
    labels: Vec<[f32; 3]>,
    picture: Vec<[f32; 3]>,
    /// What a difference in that space is in CIELAB.
    slope: Vec<f32>,
    /// The error, filtered.
    seen: Vec<[f32; 3]>,
    /// What its square costs at each cell.
    weight: Vec<f32>,
}

/// Errors are costed as `sqrt(error² + SMOOTH²)`, so that those that are seen anyhow do not rule all others; half or
/// double changes little.
const SMOOTH: f32 = 3.0;

/// How much the likeness of each cell by itself counts beside what is seen from afar. With none of it a chart is as good
/// from afar and twice as restless from near.
const NEAR: f32 = 0.2;

/// A label is tried where it is at most so much worse, in ΔE00, than the cell's cheapest: what lies further apart is seen
/// as speckle, not as a mix. It is also much quicker.
const REACH: f32 = 12.0;

/// Sweeps over all cells at the most, and the share of them that must have moved for another.
const SWEEPS: usize = 4;
const FEW: usize = 200;

/// The price on a single stitch at first and by how much it is raised at a time.
const SINGLE: f32 = 1.0;
const STEP: f32 = 1.3;

/// Whether a move may make more single stitches than it mends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Singles {
    MayCome,
    MayNot,
}

impl Labels<'_> {
    /// Moves cells until the chart looks most like its picture from afar, then as many as it takes so that no more than
    /// `most` are single stitches, as far as that can be had under the price `dearest`. `looks` is what labels look like.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub(in super::super) fn settle_afar(
        &mut self,
        eye: &Eye,
        cells: &[Option<Lab32>],
        looks: &[Compared],
        (most, dearest): (usize, f32),
        progress: &dyn Progress,
    ) -> Result<(), Stopped> {
        let boundary = self.boundary_price;
        let mut sight = self.sight(eye, cells, looks);
        let all: Vec<u32> = self.stitches().map(|at| at as u32).collect();
        self.set_prices(boundary, if most >= all.len() { 0.0 } else { SINGLE });
        for _ in 0..SWEEPS {
            self.look(&mut sight, progress)?;
            if self.sweep(&mut sight, &all, Singles::MayCome, progress)? * FEW < all.len() {
                break;
            }
        }
        while self.singles() > most && self.single_price < dearest {
            self.set_prices(boundary, self.single_price * STEP);
            self.look(&mut sight, progress)?;
            let about = self.about_singles();
            self.sweep(&mut sight, &about, Singles::MayCome, progress)?;
        }
        self.look(&mut sight, progress)?;
        self.sweep(&mut sight, &all, Singles::MayNot, progress)?;
        self.rest.fill(0.0);
        self.pair_rest.fill(0.0);
        Ok(())
    }

    fn sight<'a>(&self, eye: &'a Eye, cells: &[Option<Lab32>], looks: &[Compared]) -> Sight<'a> {
        let mut picture = vec![[0.0; 3]; self.label.len()];
        let mut slopes = vec![0.0; self.label.len()];
        for (cell, colour) in cells.iter().enumerate() {
            if let Some(colour) = colour.map(Lab::from) {
                let at = self.padded(cell);
                (picture[at], slopes[at]) = (opponent(colour), slope(colour));
            }
        }
        let labels = looks.iter().map(|look| opponent(look.lab())).collect();
        let (seen, weight) = (vec![[0.0; 3]; self.label.len()], vec![0.0; self.label.len()]);
        Sight { eye, labels, picture, slope: slopes, seen, weight }
    }

    /// Filters the errors anew, and costs them.
    fn look(&self, sight: &mut Sight<'_>, progress: &dyn Progress) -> Result<(), Stopped> {
        let (stride, length) = (self.stride, self.label.len());
        let error = |at: usize| {
            let (Some(label), picture) = (sight.labels.get(usize::from(self.label[at])), sight.picture[at])
            else {
                return [0.0; 3];
            };
            std::array::from_fn(|channel| label[channel] - picture[channel])
        };
        let errors: Vec<[f32; 3]> = (0..length).into_par_iter().map(error).collect();
        let (eye, slope) = (sight.eye, &sight.slope);
        let rows = sight.seen.par_chunks_mut(stride).zip(sight.weight.par_chunks_mut(stride)).enumerate();
        rows.try_for_each(|(y, (seen, weights))| {
            ask(progress)?;
            for (x, (seen, weight)) in seen.iter_mut().zip(weights).enumerate() {
                for (channel, seen) in seen.iter_mut().enumerate() {
                    let mut sum = 0.0;
                    eye.filters[channel].about(x, y, stride, length, |other, share| {
                        sum += share * errors[other][channel];
                    });
                    *seen = sum;
                }
                let at = y * stride + x;
                let off = slope[at] * seen.iter().map(|value| value * value).sum::<f32>().sqrt();
                let cost = 0.5 / (off * off + SMOOTH * SMOOTH).sqrt();
                *weight = slope[at] * slope[at] * self.weight[at] * cost;
            }
            Ok(())
        })
    }

    /// Single stitches and those beside them.
    fn about_singles(&mut self) -> Vec<u32> {
        let mut about = Vec::new();
        for at in self.singled() {
            let at = at as usize;
            about.extend(self.neighbours(at).into_iter().chain([at]).filter(|&n| self.label[n] != VOID));
        }
        about.sort_unstable();
        about.dedup();
        about.into_iter().map(|at| at as u32).collect()
    }

    /// Lets each of the cells take the label that lowers the sum most. Gives how many moved.
    fn sweep(
        &mut self,
        sight: &mut Sight<'_>,
        cells: &[u32],
        singles: Singles,
        progress: &dyn Progress,
    ) -> Result<usize, Stopped> {
        let mut moved = 0;
        for (count, &at) in cells.iter().enumerate() {
            if count.is_multiple_of(1 << 11) {
                ask(progress)?;
            }
            let at = at as usize;
            if self.held[at] || usize::from(self.label[at]) >= self.looks {
                continue;
            }
            if let Some(to) = self.better(sight, at, singles) {
                moved += 1;
                let [old, new] = [self.label[at], to].map(|label| sight.labels[usize::from(label)]);
                self.put(at, to);
                let (x, y) = (at % self.stride, at / self.stride);
                let Sight { eye, seen, .. } = sight;
                for (channel, filter) in eye.filters.iter().enumerate() {
                    let change = new[channel] - old[channel];
                    filter.about(x, y, self.stride, seen.len(), |other, share| {
                        seen[other][channel] += share * change;
                    });
                }
            }
        }
        Ok(moved)
    }

    /// The label that lowers the sum most, if one does.
    fn better(&self, sight: &Sight<'_>, at: usize, singles: Singles) -> Option<u16> {
        // What the error does to the sum around, and what the square of a change does.
        let (mut pull, mut stiff) = ([0.0_f32; 3], [0.0_f32; 3]);
        let (x, y) = (at % self.stride, at / self.stride);
        for (channel, filter) in sight.eye.filters.iter().enumerate() {
            filter.about(x, y, self.stride, self.label.len(), |other, share| {
                let weighed = share * sight.weight[other];
                pull[channel] += weighed * sight.seen[other][channel];
                stiff[channel] += weighed * share;
            });
        }
        let from = self.label[at];
        let own = sight.labels[usize::from(from)];
        let row = self.row_of[at] as usize;
        let costs = self.costs.row(row);
        let (cost, limit) = (costs[usize::from(from)], costs[usize::from(self.best[row])] + REACH);
        let about = self.about(at);
        let stay = self.stay(at);
        let mut best = (-WORTH, None);
        for to in 0..self.looks as u16 {
            let label = usize::from(to);
            if to == from || (costs[label] > limit && !about.contains(&to)) {
                continue;
            }
            let seen: f32 = (0..3)
                .map(|channel| {
                    let change = sight.labels[label][channel] - own[channel];
                    change * (2.0 * pull[channel] + change * stiff[channel])
                })
                .sum();
            let likeness = self.weight[at] * (costs[label] - cost);
            // Of the sum of the near, likeness counts in part, the rest in full.
            let entry = self.entry(at, to).less(stay);
            if singles == Singles::MayNot && entry.singles > 0.0 {
                continue;
            }
            let rest = Sum { plain: entry.plain - likeness, singles: entry.singles }.at(self.single_price);
            let change = seen + NEAR * likeness + rest;
            if change < best.0 {
                best = (change, Some(to));
            }
        }
        best.1
    }
}

impl super::super::eye::Filter {
    /// Calls `with` for each cell within reach of column `x` in row `y`, of `length` cells in rows of `stride`, with what
    /// the filter gives it.
    #[inline]
    fn about(&self, x: usize, y: usize, stride: usize, length: usize, mut with: impl FnMut(usize, f32)) {
        let reach = self.reach;
        let side = 2 * reach + 1;
        let (left, right) = (x.saturating_sub(reach), (x + reach).min(stride - 1));
        for row in y.saturating_sub(reach)..=(y + reach).min(length / stride - 1) {
            let shares = &self.shares[(row + reach - y) * side + left + reach - x..];
            for (other, &share) in (row * stride + left..=row * stride + right).zip(shares) {
                with(other, share);
            }
        }
    }
}
