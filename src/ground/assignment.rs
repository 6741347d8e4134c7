//! Which of many goes to which: the assignment of least total cost (Kuhn 1955, Munkres 1957).
//!
//! Owns the pruning and the whole numbers that the method wants. Leaves what a cost means to its callers.

use pathfinding::kuhn_munkres::{Weights as _, kuhn_munkres_min};
use pathfinding::matrix::Matrix;

/// A column for each row, no column twice as long as there are enough, and the total in `units`. `rows` holds
/// the cost of each column for each row, all rows as long and none empty; costs are rounded to whole `1 / units`.
pub(crate) fn assign(rows: &[Vec<f64>], units: f64) -> (i64, Vec<usize>) {
    let width = rows.first().map_or(0, Vec::len);
    if width == 0 {
        return (0, Vec::new());
    }
    // Some best assignment uses, for each row, only columns among its best so many: of these one is free.
    let mut near = vec![false; width];
    for row in rows {
        let mut order: Vec<usize> = (0..width).collect();
        order.sort_by(|&one, &two| row[one].total_cmp(&row[two]).then(one.cmp(&two)));
        order.iter().take(rows.len()).for_each(|&at| near[at] = true);
    }
    let columns: Vec<usize> = (0..width).filter(|&at| near[at]).collect();
    // Too few columns are offered several times over.
    let times = rows.len().div_ceil(columns.len());
    let rows = rows.iter().map(|row| {
        let one: Vec<i64> = columns.iter().map(|&at| (row[at] * units).round() as i64).collect();
        one.repeat(times)
    });
    let weights = Matrix::from_rows(rows).expect("all rows have the columns kept");
    debug_assert!(weights.rows() <= weights.columns());
    let (total, chosen) = kuhn_munkres_min(&weights);
    (total, chosen.into_iter().map(|column| columns[column % columns.len()]).collect())
}
