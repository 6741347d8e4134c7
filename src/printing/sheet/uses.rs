//! Which needles a part of the chart uses, and how much.

use std::ops::Range;

use crate::chart::Chart;

/// How many cells of a part of the chart each needle works.
pub(super) fn uses_in(chart: &Chart, columns: &Range<u32>, rows: &Range<u32>) -> Vec<u64> {
    let mut uses = vec![0; chart.needles().len()];
    for row in rows.clone() {
        let cells = chart.row(row as usize);
        for cell in cells.get(columns.start as usize..columns.end as usize).unwrap_or_default() {
            if let Some(needle) = cell.needle() {
                uses[needle] += 1;
            }
        }
    }
    uses
}

/// The needles used in a part of the chart, in the order of the key.
pub(super) fn needles_in(chart: &Chart, columns: &Range<u32>, rows: &Range<u32>) -> Vec<usize> {
    let uses = uses_in(chart, columns, rows);
    (0..uses.len()).filter(|&needle| uses[needle] > 0).collect()
}
