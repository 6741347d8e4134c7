//! Which symbol a cell shows.
//!
//! A cell is taken for ground and ink: `value = ground + strength * figure`, the ground free (tints and the grey
//! of repeats do not matter), the strength between bounds. The distance from a symbol is the root of the mean
//! square that is left, in shares of black ink; the distance from bare cloth is the cell's own standard
//! deviation. The nearest wins, and its margin is `1 - nearest / second`: 1 beyond doubt, 0 a tie.

use super::cells::Cells;
use super::over;
use super::points::{Figure, WHOLE, centred, dot};
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
    /// Every cell by these symbols, of which some stand over lines and take the points that are `owned` for themselves.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub(super) fn read(
        &self,
        signs: &Signs,
        owned: &[Figure],
        progress: &dyn Progress,
    ) -> Result<Vec<Read>, Stopped> {
        self.shown
            .iter()
            .zip(&self.covers)
            .map(|(cell, cover)| {
                ask(progress)?;
                // Where lines leave less than a quarter of a cell, all of it must do.
                let free = cover.as_ref().map(|cover| (cover, cover.free.iter().sum::<f32>()));
                let found = match free {
                    Some((cover, _)) if cover.is_under => over::nearest(cell, cover, signs, owned),
                    Some((cover, count)) if count > WHOLE / 4.0 => {
                        let masked: Vec<Sign> =
                            signs.signs.iter().map(|sign| sign.masked(&cover.free, count)).collect();
                        let mut figure = cell.figure;
                        let energy = centred(&mut figure, &cover.free, count);
                        let products = masked.iter().map(|sign| (dot(&figure, &sign.figure), sign));
                        nearest(energy, signs.strength.map(|strength| strength * cell.shade), products)
                    }
                    _ => signs.nearest(cell),
                };
                let [left, next] = [found.left, found.next].map(|left| left.max(0.0).sqrt());
                let margin = if next > 0.0 { 1.0 - left / next } else { 0.0 };
                Ok(Read { best: found.best, second: found.second, margin })
            })
            .collect()
    }
}
