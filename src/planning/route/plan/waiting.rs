//! The cells of one needle that wait for their thread, as bits, and the nearest of them.

/// No place in the reach.
const NONE: u32 = u32::MAX;

/// Bits of a word.
const WORD: usize = u64::BITS as usize;

/// Column and row of a cell: a chart has no more than 2,000 of either.
pub(super) type Place = [u16; 2];

/// What lies within reach of a cell.
pub(super) struct Reach {
    /// How far it goes across and down, in cells.
    far: usize,
    /// The place of each offset, row by row: the nearest is 0. [`NONE`] for what is out of reach.
    places: Vec<u32>,
    /// Its rows, each with the least place in it; the least first.
    order: Vec<(u32, usize)>,
    /// The square of the distance of each place.
    squares: Vec<usize>,
}

impl Reach {
    /// `travel` is the longest way between two holes, in cells: at most
    /// [`LONGEST_TRAVEL`](crate::planning::route::LONGEST_TRAVEL).
    pub(super) fn new(travel: f64) -> Self {
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
        let rows = places.chunks_exact(side).enumerate().map(|(down, row)| (least(row), down));
        let mut order: Vec<(u32, usize)> = rows.filter(|(least, _)| *least < NONE).collect();
        order.sort_unstable();
        let squares = reach.into_iter().map(|[x, y]| (x * x + y * y).unsigned_abs() as usize).collect();
        Self { far, places, order, squares }
    }

    /// The square of the farthest.
    pub(super) fn most(&self) -> usize {
        self.squares.last().copied().unwrap_or_default()
    }
}

/// The cells of a needle, by their numbers in the order of rows.
pub(super) struct Waiting<'a> {
    reach: &'a Reach,
    rows: usize,
    /// Words a row: one before the first column, so that a window may begin outside, and one behind the last.
    across: usize,
    /// Those that wait.
    words: Vec<u64>,
    /// All of them, and how many come before those of each word.
    all: Vec<u64>,
    earlier: Vec<u32>,
}

impl<'a> Waiting<'a> {
    /// None waits yet.
    pub(super) fn new([columns, rows]: [u32; 2], reach: &'a Reach) -> Self {
        let (columns, rows) = (columns as usize, rows as usize);
        let across = columns / WORD + 3;
        let words = across * rows;
        Self { reach, rows, across, words: vec![0; words], all: vec![0; words], earlier: vec![0; words] }
    }

    /// The word and the bit of a cell.
    fn at(&self, [column, row]: Place) -> (usize, u64) {
        let column = usize::from(column) + WORD;
        (usize::from(row) * self.across + column / WORD, 1 << (column % WORD))
    }

    /// The cells of another needle, in the order of rows, all of which wait; `before` are those of the one before.
    pub(super) fn turn_to(&mut self, cells: &[Place], before: &[Place]) {
        for &cell in before {
            let (word, _) = self.at(cell);
            (self.words[word], self.all[word]) = (0, 0);
        }
        for (number, &cell) in (0..).zip(cells) {
            let (word, bit) = self.at(cell);
            if self.all[word] == 0 {
                self.earlier[word] = number;
            }
            self.all[word] |= bit;
            self.words[word] |= bit;
        }
    }

    /// The number of the cell there, if it is the needle's.
    pub(super) fn number(&self, cell: Place) -> Option<u32> {
        let (word, bit) = self.at(cell);
        (self.all[word] & bit != 0).then(|| self.number_at(word, bit))
    }

    fn number_at(&self, word: usize, bit: u64) -> u32 {
        self.earlier[word] + (self.all[word] & (bit - 1)).count_ones()
    }

    pub(super) fn take(&mut self, cell: Place) {
        let (word, bit) = self.at(cell);
        self.words[word] &= !bit;
    }

    pub(super) fn holds(&self, cell: Place) -> bool {
        let (word, bit) = self.at(cell);
        self.words[word] & bit != 0
    }

    /// The nearest cell that waits, from place `cursor` of the reach on: its number, the square of its distance and its
    /// place in the reach.
    pub(super) fn nearest(&self, [column, row]: Place, cursor: u32) -> Option<(u32, usize, u32)> {
        let Reach { far, places, order, squares } = self.reach;
        let row = usize::from(row);
        let side = 2 * far + 1;
        let left = usize::from(column) + WORD - far;
        let (aside, shift) = (left / WORD, left % WORD);
        let mut best = (NONE, 0, 0);
        for &(least, down) in order {
            if least > best.0 {
                break;
            }
            let Some(there) = (row + down).checked_sub(*far).filter(|&there| there < self.rows) else {
                continue;
            };
            let start = there * self.across + aside;
            let words = &self.words[start..start + 2];
            let behind = if shift > 0 { words[1] << (WORD - shift) } else { 0 };
            let mut window = (words[0] >> shift | behind) & (u64::MAX >> (WORD - side));
            while window != 0 {
                let along = window.trailing_zeros() as usize;
                window &= window - 1;
                let place = places[down * side + along];
                if place >= cursor && place < best.0 {
                    best = (place, start, shift + along);
                }
            }
        }
        let (place, start, bit) = best;
        let number = || self.number_at(start + bit / WORD, 1 << (bit % WORD));
        (place != NONE).then(|| (number(), squares[place as usize], place))
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
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;
    use crate::planning::route::LONGEST_TRAVEL;

    proptest! {
        /// Against going through the reach place by place; of a needle that follows another.
        #[test]
        fn the_nearest_is_the_first_that_waits(
            columns in 1u32..150,
            rows in 1u32..40,
            travel in 1.0..=LONGEST_TRAVEL,
            earlier in prop::collection::vec(0u32..6000, 0..60),
            seeds in prop::collection::vec((0u32..6000, any::<bool>()), 1..120),
            from in 0u32..6000,
            cursor in 0u32..300,
        ) {
            let place = |seed: u32| [seed % columns, seed / columns % rows].map(|side| side as u16);
            let by_rows = |cell: &Place| (cell[1], cell[0]);
            let mut before: Vec<Place> = earlier.into_iter().map(place).collect();
            before.sort_unstable_by_key(by_rows);
            before.dedup();
            let stays: BTreeMap<Place, bool> = seeds.into_iter().map(|(seed, stays)| (place(seed), stays)).collect();
            let mut cells: Vec<Place> = stays.keys().copied().collect();
            cells.sort_unstable_by_key(by_rows);
            let reach_of = Reach::new(travel);
            let mut waiting = Waiting::new([columns, rows], &reach_of);
            waiting.turn_to(&before, &[]);
            waiting.turn_to(&cells, &before);
            for (&cell, &stays) in &stays {
                if !stays {
                    waiting.take(cell);
                }
                prop_assert_eq!(waiting.holds(cell), stays);
                let number = cells.iter().position(|&other| other == cell);
                prop_assert_eq!(waiting.number(cell).map(|number| number as usize), number);
            }
            let from = place(from);
            prop_assert_eq!(waiting.number(from).is_some(), stays.contains_key(&from));
            let number = |cell: Place| cells.iter().position(|&other| other == cell).and_then(|at| u32::try_from(at).ok());
            let wanted = (0..).zip(reach(travel)).skip(cursor as usize).find_map(|(at, [dx, dy])| {
                let there = [i32::from(from[0]) + dx, i32::from(from[1]) + dy];
                let there = [u16::try_from(there[0]).ok()?, u16::try_from(there[1]).ok()?];
                let cell = stays.get(&there).copied().unwrap_or(false).then_some(there)?;
                Some((number(cell)?, (dx * dx + dy * dy).unsigned_abs() as usize, at))
            });
            prop_assert_eq!(waiting.nearest(from, cursor), wanted);
        }
    }
}
