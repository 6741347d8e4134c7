//! Tables of how unlike colours are.

use rayon::prelude::*;

use crate::ground::colour::{Compared, Many};
use crate::ground::progress::{Progress, Stopped, ask};

/// The ΔE00 that cells usually are off: prices are those of what is so far off.
const USUAL: f32 = 5.0;

/// Differences (ΔE00, or sums of them), row by row.
#[derive(Debug, Clone)]
pub(super) struct Costs {
    columns: usize,
    values: Vec<f32>,
}

impl Costs {
    /// ΔE00 of every colour of `down` (rows) to every colour of `across` (columns).
    pub(super) fn new(
        down: &[Compared],
        across: &[Compared],
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let columns = across.len();
        let mut values = vec![0.0; down.len() * columns];
        if columns > 0 {
            let across = Many::new(across);
            values.par_chunks_mut(columns).zip(down).try_for_each(|(row, one)| {
                ask(progress)?;
                across.ciede2000(one, row);
                Ok(())
            })?;
        }
        Ok(Self { columns, values })
    }

    /// Lets what is further off than [`USUAL`] count for less than in proportion, as an eye sees it: by its power of 0.75,
    /// as steep there as below. FLIP takes 0.7 (Andersson et al. 2020, 4.1.2); 0.75 needs only roots. Accents are 2 % nearer
    /// by it.
    pub(super) fn bend(&mut self) {
        let scale = USUAL.sqrt().sqrt() / 0.75;
        let less = USUAL / 3.0;
        self.values.par_chunks_mut(1 << 14).for_each(|values| {
            for value in values {
                let root = value.sqrt();
                let bent = scale * root * root.sqrt() - less;
                *value = if *value > USUAL { bent } else { *value };
            }
        });
    }

    /// A table made elsewhere, row by row.
    pub(super) fn from_rows(columns: usize, values: Vec<f32>) -> Self {
        debug_assert_eq!(values.len() % columns.max(1), 0, "whole rows");
        Self { columns, values }
    }

    /// One row.
    pub(super) fn row(&self, row: usize) -> &[f32] {
        &self.values[row * self.columns..(row + 1) * self.columns]
    }

    /// The number of columns.
    pub(super) fn columns(&self) -> usize {
        self.columns
    }

    /// The table with one more column.
    pub(super) fn with_column(self, value: impl Fn(usize) -> f32) -> Self {
        let rows = self.values.chunks_exact(self.columns.max(1)).enumerate();
        let values = rows.flat_map(|(row, values)| values.iter().copied().chain([value(row)])).collect();
        Self { columns: self.columns + 1, values }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_far_off_counts_for_less_than_in_proportion_and_what_is_near_as_it_is() {
        let mut costs = Costs::from_rows(6, vec![0.0, 1.0, 5.0, 5.01, 20.0, 80.0]);
        costs.bend();
        let bent = costs.row(0);
        assert_eq!(bent[..3], [0.0, 1.0, 5.0]);
        // By hand: 5 (1 + ((20 / 5)^0.75 - 1) / 0.75), and no jump at 5.
        assert!((bent[4] - 17.189).abs() < 1e-3 && (bent[3] - 5.01).abs() < 1e-3, "{bent:?}");
        assert!(bent[5] > bent[4]);
    }
}
