//! What is drawn across cells: outlines and lettering, under which points of a cell do not count.

use super::points::{ACROSS, Figure, share, whole};

/// Points that count in a cell, where something is drawn across it: 1 or 0.
pub(super) type Mask = Figure;

/// For every cell, row by row, which of its points are free of lines; `None` where all are.
pub(super) fn masks([columns, rows]: [u32; 2], lines: &[Drawn]) -> Vec<Option<Box<Mask>>> {
    let mut masks: Vec<Option<Box<Mask>>> = vec![None; columns as usize * rows as usize];
    for line in lines {
        line.cover(columns, rows, &mut masks);
    }
    masks
}

/// A stroke across the cells of a page, in cells from its top left, and half its width with its casing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Drawn {
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
    pub(super) half: f64,
}

impl Drawn {
    /// How far a point is from its middle line.
    pub(super) fn distance(&self, [x, y]: [f64; 2]) -> f64 {
        let [dx, dy] = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
        let length = (dx * dx + dy * dy).max(1e-12);
        let along = (((x - self.from[0]) * dx + (y - self.from[1]) * dy) / length).clamp(0.0, 1.0);
        (self.from[0] + along * dx - x).hypot(self.from[1] + along * dy - y)
    }

    /// Takes the points under the stroke out of the masks of the cells that it crosses.
    fn cover(&self, columns: u32, rows: u32, masks: &mut [Option<Box<Mask>>]) {
        let span = |axis: usize, limit: u32| {
            let low = self.from[axis].min(self.to[axis]) - self.half;
            let high = self.from[axis].max(self.to[axis]) + self.half;
            #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
            let cells = low.floor().max(0.0) as u32..high.ceil().clamp(0.0, f64::from(limit)) as u32;
            cells
        };
        for row in span(1, rows) {
            for column in span(0, columns) {
                let mask = &mut masks[row as usize * columns as usize + column as usize];
                for place in 0..ACROSS * ACROSS {
                    let point =
                        [f64::from(column) + share(place % ACROSS), f64::from(row) + share(place / ACROSS)];
                    if self.distance(point) < self.half {
                        mask.get_or_insert_with(|| Box::new(whole()))[place] = 0.0;
                    }
                }
            }
        }
    }
}
