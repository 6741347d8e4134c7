//! The parts of a chart that one needle's order is shown in, and what lies in each.
//!
//! Owns the cutting: every cell and every piece of the line is looked at once, whatever the size of the chart.

use std::ops::Range;

use super::path::{Needleful, within};

/// So many columns and rows are shown at the least: with ten columns one bold rule and its number are among them.
const LEAST: [u32; 2] = [10, 4];

/// A part of the chart, and what of a needle's order lies in it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Window {
    pub(super) columns: Range<u32>,
    pub(super) rows: Range<u32>,
    /// Needlefuls whose line passes through it, and which of their pieces do.
    pub(super) runs: Vec<(usize, Range<usize>)>,
    /// Needlefuls that begin in it.
    pub(super) starts: Vec<usize>,
    /// Needlefuls that end in it.
    pub(super) ends: Vec<usize>,
    is_worked: bool,
}

impl Window {
    /// Left, top, right and bottom, in cells.
    pub(super) fn edges(&self) -> [f64; 4] {
        [self.columns.start, self.rows.start, self.columns.end, self.rows.end].map(f64::from)
    }
}

/// How a needle's part of the chart is cut.
pub(super) struct Cut {
    columns: Vec<Range<u32>>,
    rows: Vec<Range<u32>>,
}

impl Cut {
    /// `worked` are the columns and rows that the needle works, `size` those of the chart, `most` those that have room
    /// on a page: as few parts as can be, of like length.
    pub(super) fn of(worked: &[Range<u32>; 2], size: [u32; 2], most: [u32; 2]) -> Self {
        let [columns, rows] =
            [0, 1].map(|axis| parts(&widened(&worked[axis], LEAST[axis], size[axis]), most[axis]));
        Self { columns, rows }
    }

    /// The columns and rows of the largest part.
    pub(super) fn largest(&self) -> [u32; 2] {
        [&self.columns, &self.rows]
            .map(|parts| parts.iter().map(|part| part.end - part.start).max().unwrap_or(1))
    }

    /// Which windows a stretch from a point to another may pass through.
    fn through(&self, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2]) -> impl Iterator<Item = usize> {
        let across = span(&self.columns, x1.min(x2), x1.max(x2));
        let down = span(&self.rows, y1.min(y2), y1.max(y2));
        let count = self.columns.len();
        down.flat_map(move |row| across.clone().map(move |column| row * count + column))
    }

    /// The windows in which there is anything to show: a cell, or thread that crosses on the back.
    pub(super) fn windows(
        &self,
        cells: impl IntoIterator<Item = [u32; 2]>,
        threads: &[Needleful],
    ) -> Vec<Window> {
        let window = |rows: &Range<u32>, columns: &Range<u32>| Window {
            columns: columns.clone(),
            rows: rows.clone(),
            runs: Vec::new(),
            starts: Vec::new(),
            ends: Vec::new(),
            is_worked: false,
        };
        let mut windows: Vec<Window> = self
            .rows
            .iter()
            .flat_map(|rows| self.columns.iter().map(move |columns| window(rows, columns)))
            .collect();
        for cell in cells {
            let middle = cell.map(|at| f64::from(at) + 0.5);
            self.through(middle, middle).for_each(|at| windows[at].is_worked = true);
        }
        for (number, thread) in threads.iter().enumerate() {
            self.through(thread.start, thread.start).for_each(|at| windows[at].starts.push(number));
            self.through(thread.end, thread.end).for_each(|at| windows[at].ends.push(number));
            for (index, piece) in thread.pieces.iter().enumerate() {
                for at in self.through(piece.from, piece.to) {
                    if within(piece, windows[at].edges()).is_none() {
                        continue;
                    }
                    match windows[at].runs.last_mut() {
                        Some((last, run)) if *last == number && run.end == index => run.end += 1,
                        _ => windows[at].runs.push((number, index..index + 1)),
                    }
                }
            }
        }
        windows.retain(|window| window.is_worked || !window.runs.is_empty());
        windows
    }
}

/// Which parts, each beginning where the one before ends, hold anything of a stretch.
fn span(parts: &[Range<u32>], from: f64, to: f64) -> Range<usize> {
    let first = parts.partition_point(|part| f64::from(part.end) <= from);
    let end = parts.partition_point(|part| f64::from(part.start) <= to);
    first..end.max(first).min(parts.len())
}

/// The range with neighbours on both sides, where it is shorter.
fn widened(range: &Range<u32>, least: u32, total: u32) -> Range<u32> {
    let more = least.min(total).saturating_sub(range.end - range.start);
    let start = range.start.saturating_sub(more / 2);
    let end = (range.end + more - (range.start - start)).min(total);
    // What has no room at the end is added at the start.
    let start = if end - start < least.min(total) { end - least.min(total) } else { start };
    start..end
}

/// Parts of like length, none longer than `most`.
fn parts(range: &Range<u32>, most: u32) -> Vec<Range<u32>> {
    let length = range.end - range.start;
    let count = length.div_ceil(most.max(1));
    let end = |part: u32| range.start + part * (length / count) + part.min(length % count);
    (0..count).map(|part| end(part)..end(part + 1)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_range_has_neighbours_on_both_sides() {
        for (range, wanted) in
            [(0..1, 0..10), (3..4, 0..10), (20..22, 16..26), (44..45, 35..45), (5..30, 5..30)]
        {
            assert_eq!(widened(&range, 10, 45), wanted);
        }
        assert_eq!(widened(&(2..3), 10, 6), 0..6);
    }

    #[test]
    fn a_stretch_is_in_the_parts_that_it_passes() {
        let parts = parts(&(5..35), 10);
        assert_eq!(parts, [5..15, 15..25, 25..35]);
        assert_eq!(span(&parts, 6.5, 6.5), 0..1);
        assert_eq!(span(&parts, 14.9, 25.1), 0..3);
        // At an edge it is in the part that begins there, and in no part beyond the last.
        assert_eq!(span(&parts, 15.0, 15.0), 1..2);
        assert_eq!(span(&parts, 36.0, 40.0), 3..3);
    }
}
