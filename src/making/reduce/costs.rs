//! Tables of how unlike colours are.

use rayon::prelude::*;

use crate::ground::colour::{Compared, Many};
use crate::ground::progress::{Progress, Stopped, ask};

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
