//! The cells that a mark is about, once they are found: a mask as one line of text.
//!
//! `34,60: 1 3/0 5*2/1 3` begins at column 34, row 60 (from 1). Rows are parted by `/`; each is lengths of runs, out, in,
//! out, ..., and `*` with a number after the last says how often it stands. What follows its last run is out.

use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

use crate::ground::units::GridSize;

/// Cells as a mask. It is checked against a chart where it is used.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Mask(String);

/// A mask that does not fit its chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("row {row} of a choice of squares does not fit")]
pub struct MaskError {
    /// The row of the chart, from 1.
    pub row: usize,
}

/// A run of cells that a mask holds, from 0: row, first column and one past the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MaskRun {
    /// The row.
    pub row: u32,
    /// Its first column.
    pub from: u32,
    /// One past its last column.
    pub to: u32,
}

impl Mask {
    /// A mask of rows of runs, from a column and row counted from 0 on.
    pub(super) fn of_rows([left, top]: [i32; 2], rows: &[Vec<u32>]) -> Self {
        let mut text = String::new();
        if !rows.is_empty() {
            _ = write!(text, "{},{}:", left + 1, top + 1);
        }
        for (index, same) in rows.chunk_by(|one, next| one == next).enumerate() {
            text.push(if index == 0 { ' ' } else { '/' });
            let runs: Vec<String> = same[0].iter().map(ToString::to_string).collect();
            text.push_str(&runs.join(" "));
            if same.len() > 1 {
                _ = write!(text, "*{}", same.len());
            }
        }
        Self(text)
    }

    /// The cells of the window that holds it.
    ///
    /// # Errors
    /// [`MaskError`] where it is damaged or reaches beyond the chart.
    pub fn window(&self, size: GridSize) -> Result<u64, MaskError> {
        let runs = self.runs(size)?;
        let (Some(first), Some(last)) = (runs.first(), runs.last()) else { return Ok(0) };
        let left = runs.iter().map(|run| run.from).min().unwrap_or_default();
        let right = runs.iter().map(|run| run.to).max().unwrap_or_default();
        Ok(u64::from(last.row - first.row + 1) * u64::from(right - left))
    }

    /// Its runs on a chart of this size, row by row.
    ///
    /// # Errors
    /// [`MaskError`] where it is damaged or reaches beyond the chart.
    pub fn runs(&self, size: GridSize) -> Result<Vec<MaskRun>, MaskError> {
        let mut runs = Vec::new();
        if self.0.is_empty() {
            return Ok(runs);
        }
        let place = |text: &str, most: u32| text.parse::<u32>().ok().filter(|at| (1..=most).contains(at));
        let read = || {
            let (at, rows) = self.0.split_once(": ")?;
            let (left, top) = at.split_once(',')?;
            Some((place(left, size.columns())? - 1, place(top, size.rows())? - 1, rows))
        };
        let (left, mut row, rows) = read().ok_or(MaskError { row: 1 })?;
        for text in rows.split('/') {
            let fail = || MaskError { row: row as usize + 1 };
            let (text, times) = text.split_once('*').unwrap_or((text, "1"));
            let times = place(times, size.rows() - row).ok_or_else(fail)?;
            let start = runs.len();
            let mut at = left;
            for (index, length) in text.split_ascii_whitespace().enumerate() {
                let length: u32 = length.parse().map_err(|_| fail())?;
                let to = at.checked_add(length).filter(|&to| to <= size.columns()).ok_or_else(fail)?;
                if index % 2 == 1 && length > 0 {
                    runs.push(MaskRun { row, from: at, to });
                }
                at = to;
            }
            let end = runs.len();
            for below in 1..times {
                for index in start..end {
                    let run = runs[index];
                    runs.push(MaskRun { row: run.row + below, ..run });
                }
            }
            row += times;
        }
        Ok(runs)
    }
}
