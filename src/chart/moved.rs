//! Where the cells of a chart go when it is changed as a whole: part of it is cut off or added, it is mirrored or turned.

use serde::{Deserialize, Serialize};

use crate::ground::units::GridSize;

/// A way of the cells of one chart to those of another: each goes to one place or, where that is off the chart, to none.
///
/// The column of a cell, from 0, becomes `across[0] * column + across[1] * row + by[0]`, and its row
/// `down[0] * column + down[1] * row + by[1]`; of each pair one is 1 or -1 and the other 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CellMap {
    across: [i32; 2],
    down: [i32; 2],
    by: [i32; 2],
}

impl CellMap {
    /// All cells stay; those that a smaller chart does not have go.
    pub const STAY: Self = Self { across: [1, 0], down: [0, 1], by: [0, 0] };

    /// All cells go so many columns to the right and rows down: where a border is added at the left and top, or, with
    /// numbers below 0, where columns and rows are cut off there.
    #[must_use]
    pub fn shifted(columns: i32, rows: i32) -> Self {
        Self { by: [columns, rows], ..Self::STAY }
    }

    /// Left becomes right.
    #[must_use]
    pub fn mirrored(size: GridSize) -> Self {
        Self { across: [-1, 0], by: [size.columns() as i32 - 1, 0], ..Self::STAY }
    }

    /// Top becomes bottom.
    #[must_use]
    pub fn upside_down(size: GridSize) -> Self {
        Self { down: [0, -1], by: [0, size.rows() as i32 - 1], ..Self::STAY }
    }

    /// A quarter turn clockwise of a chart of this size.
    #[must_use]
    pub fn turned(size: GridSize) -> Self {
        Self { across: [0, -1], down: [1, 0], by: [size.rows() as i32 - 1, 0] }
    }

    /// This way, and then another.
    #[must_use]
    pub fn then(self, next: Self) -> Self {
        let whole = |of: [i32; 2]| {
            [
                of[0] * self.across[0] + of[1] * self.down[0],
                of[0] * self.across[1] + of[1] * self.down[1],
                of[0] * self.by[0] + of[1] * self.by[1],
            ]
        };
        let ([a, b, e], [c, d, f]) = (whole(next.across), whole(next.down));
        Self { across: [a, b], down: [c, d], by: [e + next.by[0], f + next.by[1]] }
    }

    /// The way back.
    #[must_use]
    pub fn back(self) -> Self {
        // The inverse of a matrix of ones and zeros whose columns stand at right angles is its transpose.
        let (across, down) = ([self.across[0], self.down[0]], [self.across[1], self.down[1]]);
        let [x, y] = self.by;
        Self { across, down, by: [-(across[0] * x + across[1] * y), -(down[0] * x + down[1] * y)] }
    }

    /// The place, row by row, of the cell at a place of a chart of size `from` on one of size `to`.
    #[must_use]
    pub fn place(self, from: GridSize, to: GridSize, cell: usize) -> Option<usize> {
        let (x, y) = ((cell % from.width()) as i32, (cell / from.width()) as i32);
        let column = usize::try_from(self.across[0] * x + self.across[1] * y + self.by[0]).ok()?;
        let row = usize::try_from(self.down[0] * x + self.down[1] * y + self.by[1]).ok()?;
        (column < to.width() && row < to.height()).then(|| row * to.width() + column)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_way_leads_back() {
        let size = GridSize::new(7, 5).unwrap();
        let turned = GridSize::new(5, 7).unwrap();
        let ways = [
            (CellMap::STAY, size),
            (CellMap::mirrored(size), size),
            (CellMap::upside_down(size), size),
            (CellMap::turned(size), turned),
            (CellMap::turned(size).then(CellMap::mirrored(turned)), turned),
            (CellMap::shifted(3, 2), GridSize::new(12, 9).unwrap()),
        ];
        for (way, to) in ways {
            let mut seen = std::collections::BTreeSet::new();
            for cell in 0..size.cells() {
                let there = way.place(size, to, cell).unwrap();
                assert!(seen.insert(there));
                assert_eq!(way.back().place(to, size, there), Some(cell), "{way:?}");
                assert_eq!(way.then(way.back()), CellMap::STAY);
            }
        }
        // By hand: the top left corner of 7 x 5 becomes the top right of 5 x 7.
        assert_eq!(CellMap::turned(size).place(size, turned, 0), Some(4));
        assert_eq!(CellMap::shifted(-1, 0).place(size, size, 0), None);
    }
}
