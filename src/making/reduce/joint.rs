//! Looks chosen anew for what smoothing made of the picture.
//!
//! Smoothing turns cells into patches that take one look as a whole. So after it, the looks are chosen again
//! with patches, not cells, as what is to be served: a look that only lone cells wanted makes room for one
//! that patches want. Patches of nearly the same mean colour are taken together.

use rayon::prelude::*;

use super::costs::Costs;
use super::histogram::{Histogram, NO_BIN};
use super::labels::{Labels, VOID};
use super::survey::Survey;
use crate::ground::colour::{Lab, Lab32};
use crate::ground::progress::{Progress, Stopped, ask};

/// Side of the cubes that patches are taken together by, in Lab units. Half of it changes the error by less than
/// 0.01 % and takes twice as long.
const ALIKE: f32 = 4.0;

/// Weighted cost of each look (row) for each group of patches (column).
pub(super) fn groups(
    survey: &Survey<'_>,
    labels: &Labels<'_>,
    progress: &dyn Progress,
) -> Result<Costs, Stopped> {
    let patch_of = labels.patches();
    ask(progress)?;
    let patches =
        patch_of.iter().filter(|&&patch| patch != NO_BIN).max().map_or(0, |&last| last as usize + 1);
    let mut sums = vec![([0.0_f64; 3], 0.0_f64); patches];
    for (colour, &patch) in survey.cells.iter().zip(&patch_of) {
        let (Some(colour), true) = (colour, patch != NO_BIN) else { continue };
        let (sum, count) = &mut sums[patch as usize];
        for (axis, value) in sum.iter_mut().zip(colour.axes()) {
            *axis += f64::from(value);
        }
        *count += 1.0;
    }
    ask(progress)?;
    let mean = |(sum, count): &([f64; 3], f64)| {
        let [l, a, b] = sum.map(|axis| axis / count);
        Some(Lab { l, a, b }.into())
    };
    let means: Vec<Option<Lab32>> = sums.iter().map(mean).collect();
    let alike = Histogram::new(&means, ALIKE, |_| 1.0, |_| false);
    // How much of each coarse colour each group holds: cells are listed group by group first.
    let group_of = |cell: usize| match patch_of[cell] {
        NO_BIN => NO_BIN,
        patch => alike.bin_of[patch as usize],
    };
    let mut starts = vec![0_usize; alike.len() + 1];
    let groups: Vec<u32> = (0..patch_of.len()).map(group_of).collect();
    groups.iter().filter(|&&group| group != NO_BIN).for_each(|&group| starts[group as usize + 1] += 1);
    for group in 0..alike.len() {
        starts[group + 1] += starts[group];
    }
    ask(progress)?;
    let mut cells = vec![0_u32; starts[alike.len()]];
    let mut next = starts.clone();
    for (cell, &group) in groups.iter().enumerate().filter(|(_, group)| **group != NO_BIN) {
        cells[next[group as usize]] = cell as u32;
        next[group as usize] += 1;
    }
    ask(progress)?;
    let mut sums = vec![0.0_f32; survey.coarse.len()];
    let mut bins = Vec::new();
    let mut held: Vec<(u32, u32, f32)> = Vec::new();
    for group in 0..alike.len() {
        for &cell in &cells[starts[group]..starts[group + 1]] {
            let bin = survey.coarse.bin_of[cell as usize];
            if bin != NO_BIN {
                if sums[bin as usize] == 0.0 {
                    bins.push(bin);
                }
                sums[bin as usize] += survey.weights.map_or(1.0, |weights| weights[cell as usize]);
            }
        }
        // The same order as that of the cubes is read quickest.
        bins.sort_unstable();
        held.extend(bins.drain(..).map(|bin| (group as u32, bin, std::mem::take(&mut sums[bin as usize]))));
    }
    ask(progress)?;
    let columns = alike.len() + survey.accents.len();
    let mut values = vec![0.0_f32; survey.looks.len() * columns];
    values.par_chunks_mut(columns.max(1)).enumerate().try_for_each(|(look, row)| {
        ask(progress)?;
        let costs = survey.coarse_costs.row(look);
        for &(group, bin, count) in &held {
            row[group as usize] += costs[bin as usize] * count;
        }
        row[alike.len()..].copy_from_slice(&survey.accent_costs[look]);
        Ok(())
    })?;
    Ok(Costs::from_rows(columns, values))
}

impl Labels<'_> {
    /// The patch of each cell, row by row: side neighbours of one label, numbered from 0 as they are met.
    /// Bare cells have [`NO_BIN`].
    fn patches(&self) -> Vec<u32> {
        let rows = self.rows();
        let width = self.size().width();
        let bare = self.looks() as u16;
        let mut patch_of = vec![NO_BIN; rows.len()];
        let mut next = 0;
        let mut stack = Vec::new();
        for start in 0..rows.len() {
            if patch_of[start] != NO_BIN || rows[start] == VOID || rows[start] == bare {
                continue;
            }
            patch_of[start] = next;
            stack.push(start);
            while let Some(cell) = stack.pop() {
                let x = cell % width;
                let sides = [
                    (cell >= width).then(|| cell - width),
                    (cell + width < rows.len()).then_some(cell + width),
                    (x > 0).then(|| cell - 1),
                    (x + 1 < width).then_some(cell + 1),
                ];
                for side in sides.into_iter().flatten() {
                    if rows[side] == rows[start] && patch_of[side] == NO_BIN {
                        patch_of[side] = next;
                        stack.push(side);
                    }
                }
            }
            next += 1;
        }
        patch_of
    }
}
