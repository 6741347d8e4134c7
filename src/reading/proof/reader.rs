//! Which symbol a cell shows.
//!
//! A cell is taken for ground and ink: `value = ground + strength * figure`, the ground free (tints and the grey
//! of repeats do not matter), the strength between bounds. The distance from a symbol is the root of the mean
//! square that is left, in shares of black ink; the distance from bare cloth is the cell's own standard
//! deviation. The nearest wins, and its margin is `1 - nearest / second`: 1 beyond doubt, 0 a tie.

use super::cells::Cells;
use super::points::{WHOLE, centred, dot};
use super::signs::{Sign, Signs, nearest};
use crate::ground::progress::{Progress, Stopped, ask};

/// A page on which a cell has a smaller margin by the key alone teaches first.
pub(super) const DOUBT: f32 = 0.5;

/// What a cell was read as.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Read {
    /// A needle, or `None` for bare cloth.
    pub(super) best: Option<usize>,
    /// What came second.
    pub(super) second: Option<usize>,
    /// How clear that is.
    pub(super) margin: f32,
}

impl Cells {
    /// Every cell by these symbols.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub(super) fn read(&self, signs: &Signs, progress: &dyn Progress) -> Result<Vec<Read>, Stopped> {
        self.shown
            .iter()
            .zip(&self.masks)
            .map(|(cell, mask)| {
                ask(progress)?;
                // Where lines leave less than a quarter of a cell, all of it must do.
                let free = mask.as_ref().map(|mask| (mask, mask.iter().sum::<f32>()));
                let found = match free.filter(|(_, count)| *count > WHOLE / 4.0) {
                    Some((mask, count)) => {
                        let masked: Vec<Sign> =
                            signs.signs.iter().map(|sign| sign.masked(mask, count)).collect();
                        let mut figure = cell.figure;
                        let energy = centred(&mut figure, mask, count);
                        let products = masked.iter().map(|sign| (dot(&figure, &sign.figure), sign));
                        nearest(energy, signs.strength.map(|strength| strength * cell.shade), products)
                    }
                    None => signs.nearest(cell),
                };
                let [left, next] = [found.left, found.next].map(|left| left.max(0.0).sqrt());
                let margin = if next > 0.0 { 1.0 - left / next } else { 0.0 };
                Ok(Read { best: found.best, second: found.second, margin })
            })
            .collect()
    }
}
