//! What is drawn across cells, outlines and lettering: which points of a cell lie under it.

use std::collections::BTreeSet;

use super::points::{ACROSS, Figure, share, whole};

/// What is drawn across a cell.
#[derive(Debug, Clone)]
pub(super) struct Cover {
    /// The points that are free of it: 1 or 0.
    pub(super) free: Figure,
    /// How dark it may be, as a share of black.
    pub(super) ink: f32,
    /// Whether the cell's symbol stands over it.
    pub(super) is_under: bool,
}

/// For every cell, row by row, what is drawn across it, if anything is; `crossed` are the cells whose symbols stand over that.
pub(super) fn covers(
    [columns, rows]: [u32; 2],
    lines: &[Drawn],
    crossed: &BTreeSet<[i64; 2]>,
) -> Vec<Option<Box<Cover>>> {
    let mut covers: Vec<Option<Box<Cover>>> = vec![None; columns as usize * rows as usize];
    for line in lines {
        line.cover([columns, rows], crossed, &mut covers);
    }
    covers
}

/// A stroke across the cells of a page, in cells from its top left, and half its width with its casing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Drawn {
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
    pub(super) half: f64,
    /// How dark it may be, as a share of black.
    pub(super) ink: f32,
}

impl Drawn {
    /// How far a point is from its middle line.
    pub(super) fn distance(&self, [x, y]: [f64; 2]) -> f64 {
        let [dx, dy] = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
        let length = (dx * dx + dy * dy).max(1e-12);
        let along = (((x - self.from[0]) * dx + (y - self.from[1]) * dy) / length).clamp(0.0, 1.0);
        (self.from[0] + along * dx - x).hypot(self.from[1] + along * dy - y)
    }

    /// Takes the points under the stroke out of those that are free in the cells that it crosses.
    fn cover(
        &self,
        [columns, rows]: [u32; 2],
        crossed: &BTreeSet<[i64; 2]>,
        covers: &mut [Option<Box<Cover>>],
    ) {
        let whole = |column: u32, row: u32| {
            let is_under = crossed.contains(&[column, row].map(i64::from));
            Box::new(Cover { free: whole(), ink: 0.0, is_under })
        };
        let span = |axis: usize, limit: u32| {
            let low = self.from[axis].min(self.to[axis]) - self.half;
            let high = self.from[axis].max(self.to[axis]) + self.half;
            #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
            let cells = low.floor().max(0.0) as u32..high.ceil().clamp(0.0, f64::from(limit)) as u32;
            cells
        };
        for row in span(1, rows) {
            for column in span(0, columns) {
                let cover = &mut covers[row as usize * columns as usize + column as usize];
                for place in 0..ACROSS * ACROSS {
                    let point =
                        [f64::from(column) + share(place % ACROSS), f64::from(row) + share(place / ACROSS)];
                    if self.distance(point) < self.half {
                        let cover = cover.get_or_insert_with(|| whole(column, row));
                        cover.free[place] = 0.0;
                        cover.ink = cover.ink.max(self.ink);
                    }
                }
            }
        }
    }
}
