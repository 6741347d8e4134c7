//! The cells of one needle that wait for their thread, as bits, and the nearest of them.

/// No place in the reach.
const NONE: u32 = u32::MAX;

/// Bits of a word.
const WORD: usize = u64::BITS as usize;

pub(super) struct Waiting {
    columns: usize,
    rows: usize,
    /// Words a row: one before the first column, so that a window may begin outside, and one behind the last.
    across: usize,
    words: Vec<u64>,
    /// How far the reach goes across and down, in cells.
    far: usize,
    /// The place in the reach of each offset, row by row: the nearest is 0. [`NONE`] for what is out of reach.
    places: Vec<u32>,
    /// Rows of the reach, each with the least place in it; the least first.
    order: Vec<(u32, usize)>,
    /// The square of the distance of each place.
    squares: Vec<usize>,
}

impl Waiting {
    /// None waits yet. `travel` is the longest way between two holes, in cells: at most
    /// [`LONGEST_TRAVEL`](crate::planning::route::LONGEST_TRAVEL).
    pub(super) fn new([columns, rows]: [u32; 2], travel: f64) -> Self {
        let (columns, rows) = (columns as usize, rows as usize);
        let across = columns / WORD + 3;
        let reach = reach(travel);
        #[allow(clippy::cast_sign_loss, reason = "a travel is not negative")]
        let far = travel.floor() as usize + 1;
        let side = 2 * far + 1;
        debug_assert!(side <= WORD, "a row of the reach fits into a word");
        let mut places = vec![NONE; side * side];
        for (place, &[x, y]) in (0..).zip(&reach) {
            let at = |offset: i32| (far as i32 + offset).unsigned_abs() as usize;
            places[at(y) * side + at(x)] = place;
        }
        let least = |row: &[u32]| row.iter().copied().min().unwrap_or(NONE);
        let mut order: Vec<(u32, usize)> =
            places.chunks_exact(side).enumerate().map(|(down, row)| (least(row), down)).collect();
        order.sort_unstable();
        let squares = reach.into_iter().map(|[x, y]| (x * x + y * y).unsigned_abs() as usize).collect();
        Self { columns, rows, across, words: vec![0; across * rows], far, places, order, squares }
    }

    /// The word and the bit of a cell.
    fn at(&self, cell: u32) -> (usize, u64) {
        let (row, column) = (cell as usize / self.columns, cell as usize % self.columns + WORD);
        (row * self.across + column / WORD, 1 << (column % WORD))
    }

    pub(super) fn add(&mut self, cell: u32) {
        let (word, bit) = self.at(cell);
        self.words[word] |= bit;
    }

    pub(super) fn take(&mut self, cell: u32) {
        let (word, bit) = self.at(cell);
        self.words[word] &= !bit;
    }

    pub(super) fn holds(&self, cell: u32) -> bool {
        let (word, bit) = self.at(cell);
        self.words[word] & bit != 0
    }

    /// The nearest cell that waits, from place `cursor` of the reach on: the cell, the square of its distance and its
    /// place in the reach.
    pub(super) fn nearest(&self, cell: u32, cursor: u32) -> Option<(u32, usize, u32)> {
        let (row, column) = (cell as usize / self.columns, cell as usize % self.columns);
        let side = 2 * self.far + 1;
        let left = column + WORD - self.far;
        let mut best = (NONE, 0);
        for &(least, down) in self.order.iter().take_while(|(least, _)| *least < NONE) {
            if least > best.0 {
                break;
            }
            let Some(there) = (row + down).checked_sub(self.far).filter(|&there| there < self.rows) else {
                continue;
            };
            let words = &self.words[there * self.across + left / WORD..];
            let shift = left % WORD;
            let behind = if shift > 0 { words[1] << (WORD - shift) } else { 0 };
            let mut window = (words[0] >> shift | behind) & (u64::MAX >> (WORD - side));
            while window != 0 {
                let along = window.trailing_zeros() as usize;
                window &= window - 1;
                let place = self.places[down * side + along];
                if place >= cursor && place < best.0 {
                    best = (place, there * self.columns + column + along - self.far);
                }
            }
        }
        let (place, cell) = best;
        (place != NONE).then(|| (cell as u32, self.squares[place as usize], place))
    }
}

/// Offsets of cells that have a hole within `travel` of one's own, the nearest first; of equals those in the
/// row first, so that rows are worked along.
fn reach(travel: f64) -> Vec<[i32; 2]> {
    let far = travel.floor() as i32 + 1;
    let gap = |offset: i32| f64::from((offset.abs() - 1).max(0));
    let mut reach: Vec<[i32; 2]> = (-far..=far)
        .flat_map(|y| (-far..=far).map(move |x| [x, y]))
        .filter(|&[x, y]| (x != 0 || y != 0) && libm::hypot(gap(x), gap(y)) <= travel)
        .collect();
    reach.sort_by_key(|&[x, y]| (x * x + y * y, y.abs(), -y, -x));
    reach
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::planning::route::LONGEST_TRAVEL;

    proptest! {
        /// Against going through the reach place by place.
        #[test]
        fn the_nearest_is_the_first_that_waits(
            columns in 1u32..150,
            rows in 1u32..40,
            travel in 1.0..=LONGEST_TRAVEL,
            seeds in prop::collection::vec((0u32..6000, any::<bool>()), 1..120),
            from in 0u32..6000,
            cursor in 0u32..300,
        ) {
            let cells = columns * rows;
            let mut waiting = Waiting::new([columns, rows], travel);
            let mut plain = vec![false; cells as usize];
            for (seed, stays) in seeds {
                let cell = seed % cells;
                waiting.add(cell);
                if !stays {
                    waiting.take(cell);
                }
                plain[cell as usize] = stays;
                prop_assert_eq!(waiting.holds(cell), stays);
            }
            let from = from % cells;
            let (x, y) = ((from % columns) as i32, (from / columns) as i32);
            let wanted = (0..).zip(reach(travel)).skip(cursor as usize).find_map(|(place, [dx, dy])| {
                let (column, row) = (u32::try_from(x + dx).ok()?, u32::try_from(y + dy).ok()?);
                let cell = (column < columns && row < rows).then_some(row * columns + column)?;
                plain[cell as usize].then_some((cell, (dx * dx + dy * dy).unsigned_abs() as usize, place))
            });
            prop_assert_eq!(waiting.nearest(from, cursor), wanted);
        }
    }
}
