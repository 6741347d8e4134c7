//! Which needles lie side by side on a chart, and which fill parts of it.

use crate::chart::{Cell, Chart};

/// The side of a part of the chart that is about as large as a page, in cells.
const PART: usize = 40;

/// How often the cells of two needles touch: by a side counts 2, by a corner 1. A needle does not touch itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Adjacency {
    needles: usize,
    touches: Vec<u64>,
}

impl Adjacency {
    /// Counts the touches in the base of a chart.
    #[must_use]
    pub fn of(chart: &Chart) -> Self {
        let needles = chart.needles().len();
        // One place more for bare cells: no branch in the count.
        let wide = needles + 1;
        let mut counts = vec![0u64; wide * wide];
        let place = |cell: Cell| cell.needle().unwrap_or(needles);
        let rows = chart.size().height();
        for row in 0..rows {
            let (this, below) = (chart.row(row), chart.row(row + 1));
            for pair in this.windows(2) {
                counts[place(pair[0]) * wide + place(pair[1])] += 2;
            }
            for (up, down) in this.iter().zip(below) {
                counts[place(*up) * wide + place(*down)] += 2;
            }
            for (up, down) in this.windows(2).zip(below.windows(2)) {
                counts[place(up[0]) * wide + place(down[1])] += 1;
                counts[place(up[1]) * wide + place(down[0])] += 1;
            }
        }
        let touches = (0..needles * needles).map(|at| {
            let (a, b) = (at / needles, at % needles);
            if a == b { 0 } else { counts[a * wide + b] + counts[b * wide + a] }
        });
        Self { needles, touches: touches.collect() }
    }

    /// How often two needles touch: sides counted twice, corners once; 0 for a needle that is not there.
    #[must_use]
    pub fn between(&self, a: usize, b: usize) -> u64 {
        if a.max(b) < self.needles { self.touches[a * self.needles + b] } else { 0 }
    }

    /// All touches of a needle.
    pub(super) fn all_of(&self, needle: usize) -> u64 {
        (0..self.needles).map(|other| self.between(needle, other)).sum()
    }
}

/// For each needle the largest share that it has of any square of 40 cells a side; the last squares of a row
/// or column reach back over the ones before.
#[must_use]
pub fn crowds(chart: &Chart) -> Vec<f64> {
    let (width, height) = (chart.size().width(), chart.size().height());
    let starts = |side: usize| {
        let last = side.saturating_sub(PART);
        (0..last).step_by(PART).chain([last])
    };
    let mut most = vec![0.0f64; chart.needles().len()];
    for top in starts(height) {
        for left in starts(width) {
            let rows = top..height.min(top + PART);
            let columns = left..width.min(left + PART);
            let cells = (rows.len() * columns.len()) as f64;
            let mut counts = vec![0u32; most.len()];
            for row in rows {
                for needle in chart.row(row)[columns.clone()].iter().filter_map(|cell| cell.needle()) {
                    counts[needle] += 1;
                }
            }
            for (most, count) in most.iter_mut().zip(counts) {
                *most = most.max(f64::from(count) / cells);
            }
        }
    }
    most
}
