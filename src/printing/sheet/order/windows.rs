//! The parts of the chart that a needle's order is shown in.

use std::ops::Range;

use super::super::measures::MARGIN;
use super::path::{self, Needleful};
use super::{HEADER, LEGEND, RULER};
use crate::chart::Chart;
use crate::printing::length::{Length, mm};

/// Columns and rows shown together, and the side of their cells.
pub(super) type Window = ([Range<u32>; 2], Length);

/// The side of a cell: two lanes can be told apart from 3.4 mm on; over 5 nothing is gained.
const CELL: [Length; 2] = [mm(3.4), mm(5.0)];

/// So many columns and rows are shown at the least: with ten columns one bold rule and its number are among them.
const LEAST: [u32; 2] = [10, 4];

/// The range with neighbours on both sides, where it is shorter.
pub(super) fn widened(range: &Range<u32>, least: u32, total: u32) -> Range<u32> {
    let more = least.min(total).saturating_sub(range.end - range.start);
    let start = range.start.saturating_sub(more / 2);
    let end = (range.end + more - (range.start - start)).min(total);
    // What has no room at the end is added at the start.
    let start = if end - start < least.min(total) { end - least.min(total) } else { start };
    start..end
}

/// The columns and rows that a needle works.
fn extent(chart: &Chart, needle: usize) -> [Range<u32>; 2] {
    let width = chart.size().width();
    let cells = chart.cells().iter().enumerate().filter(|(_, cell)| cell.needle() == Some(needle));
    let start = [u32::MAX, u32::MAX, 0, 0];
    let [left, top, right, bottom] = cells.fold(start, |[left, top, right, bottom], (at, _)| {
        let (x, y) = ((at % width) as u32, (at / width) as u32);
        [left.min(x), top.min(y), right.max(x + 1), bottom.max(y + 1)]
    });
    [left..right, top..bottom]
}

/// Parts of like length, none longer than `most`.
fn parts(range: &Range<u32>, most: u32) -> Vec<Range<u32>> {
    let length = range.end - range.start;
    let count = length.div_ceil(most.max(1));
    let end = |part: u32| range.start + part * (length / count) + part.min(length % count);
    (0..count).map(|part| end(part)..end(part + 1)).collect()
}

/// The parts of the chart that a needle's order is shown in: as few as can be, with cells as large as then fit.
pub(super) fn windows(
    chart: &Chart,
    needle: usize,
    threads: &[Needleful],
    paper: [Length; 2],
) -> Vec<Window> {
    let room = [paper[0] - 2.0 * (MARGIN + RULER), paper[1] - 2.0 * (MARGIN + RULER) - HEADER - LEGEND];
    let size = [chart.size().columns(), chart.size().rows()];
    let worked = extent(chart, needle);
    let whole = [0, 1].map(|axis| widened(&worked[axis], LEAST[axis], size[axis]));
    let most = room.map(|room| room.holds(CELL[0], 1e-9));
    let [columns, rows] = [0, 1].map(|axis| parts(&whole[axis], most[axis]));
    let longest = |parts: &[Range<u32>]| parts.iter().map(ExactSizeIterator::len).max().unwrap_or(1) as f64;
    let cell = (room[0] / longest(&columns)).min(room[1] / longest(&rows)).max(CELL[0]).min(CELL[1]);
    rows.iter()
        .flat_map(|rows| columns.iter().map(|columns| [columns.clone(), rows.clone()]))
        .filter(|window| is_touched(chart, needle, threads, window))
        .map(|window| (window, cell))
        .collect()
}

/// Whether there is anything to show: a cell, or thread that crosses on the back.
fn is_touched(
    chart: &Chart,
    needle: usize,
    threads: &[Needleful],
    [columns, rows]: &[Range<u32>; 2],
) -> bool {
    let edges = [columns.start, rows.start, columns.end, rows.end].map(f64::from);
    let worked = || {
        rows.clone().any(|row| {
            let cells = &chart.row(row as usize)[columns.start as usize..columns.end as usize];
            cells.iter().any(|cell| cell.needle() == Some(needle))
        })
    };
    let crossed =
        || threads.iter().flat_map(|thread| &thread.pieces).any(|piece| path::within(piece, edges).is_some());
    worked() || crossed()
}
