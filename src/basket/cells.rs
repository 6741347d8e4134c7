//! Sets of cells as runs, in reading order.

use super::{BasketError, pack};

/// Cells, counted row by row from the top left: runs that neither touch nor overlap, in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cells {
    /// Where each begins, and one past its end.
    runs: Vec<[u32; 2]>,
}

/// The longest form that is kept as it is: longer ones are packed.
const PLAIN: usize = 64;

impl Cells {
    /// The cells of runs, each its first cell and one past its last, in any order.
    #[must_use]
    pub fn of_runs(runs: impl IntoIterator<Item = [u32; 2]>) -> Self {
        let mut all: Vec<[u32; 2]> = runs.into_iter().filter(|[from, to]| from < to).collect();
        if !all.is_sorted() {
            all.sort_unstable();
        }
        let mut runs: Vec<[u32; 2]> = Vec::with_capacity(all.len());
        for [from, to] in all {
            match runs.last_mut() {
                Some(last) if last[1] >= from => last[1] = last[1].max(to),
                _ => runs.push([from, to]),
            }
        }
        Self { runs }
    }

    /// Its runs, in order.
    #[must_use]
    pub fn runs(&self) -> &[[u32; 2]] {
        &self.runs
    }

    /// Each cell, in order.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.runs.iter().flat_map(|&[from, to]| from as usize..to as usize)
    }

    /// How many there are.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.runs.iter().map(|[from, to]| u64::from(to - from)).sum()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.runs.is_empty()
    }

    /// Whether a cell is among them.
    #[must_use]
    pub fn has(&self, cell: usize) -> bool {
        let place = self.runs.partition_point(|run| run[1] as usize <= cell);
        self.runs.get(place).is_some_and(|run| run[0] as usize <= cell)
    }

    /// Those that are not among the others.
    #[must_use]
    pub fn without(&self, other: &Self) -> Self {
        let mut runs = Vec::with_capacity(self.runs.len());
        let mut others = other.runs.iter().peekable();
        for &[mut from, to] in &self.runs {
            while others.next_if(|run| run[1] <= from).is_some() {}
            // A run of the others may reach into the next of these: it is looked at, not taken.
            let mut ahead = others.clone();
            while let Some(&[start, end]) = ahead.next_if(|run| run[0] < to) {
                if start > from {
                    runs.push([from, start]);
                }
                from = from.max(end);
            }
            if from < to {
                runs.push([from, to]);
            }
        }
        Self { runs }
    }

    /// One past the last cell.
    pub(super) fn end(&self) -> usize {
        self.runs.last().map_or(0, |run| run[1] as usize)
    }

    /// As they are kept: `0` and then for each run the cells passed over since the last and its length, in groups of
    /// seven bits, the lowest first, the highest bit set where more follow; `1` before the same packed.
    pub(super) fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = vec![0];
        let mut end = 0;
        for &[from, to] in &self.runs {
            for mut number in [from - end, to - from] {
                while number > 0x7f {
                    bytes.push(number as u8 | 0x80);
                    number >>= 7;
                }
                bytes.push(number as u8);
            }
            end = to;
        }
        if bytes.len() <= PLAIN {
            return bytes;
        }
        let mut small = vec![1];
        small.extend(pack::packed(&bytes[1..]));
        if small.len() < bytes.len() { small } else { bytes }
    }

    /// From what is kept; of a chart with so many cells.
    pub(super) fn from_bytes(bytes: &[u8], cells: usize) -> Result<Self, BasketError> {
        let damaged = || BasketError::Damaged { what: "a list of cells cannot be read".to_owned() };
        let most = cells.saturating_mul(10);
        let unpacked;
        let mut rest = match bytes.split_first().ok_or_else(damaged)? {
            (0, rest) => rest,
            (1, rest) => {
                unpacked = pack::whole(rest, most, "a list of cells")?;
                &unpacked
            }
            _ => return Err(damaged()),
        };
        let mut runs = Vec::new();
        let mut end = 0u32;
        let mut number = || {
            let mut number = 0u32;
            for shift in [0, 7, 14, 21, 28] {
                let (&byte, after) = rest.split_first()?;
                rest = after;
                number |= u32::from(byte & 0x7f).checked_shl(shift)?;
                if byte & 0x80 == 0 {
                    return Some((number, rest.is_empty()));
                }
            }
            None
        };
        if bytes.len() > 1 {
            loop {
                let (skip, _) = number().ok_or_else(damaged)?;
                let (length, is_last) = number().ok_or_else(damaged)?;
                let from = end.checked_add(skip).ok_or_else(damaged)?;
                end = from.checked_add(length).filter(|&end| end as usize <= cells).ok_or_else(damaged)?;
                runs.push([from, end]);
                if is_last {
                    break;
                }
            }
        }
        Ok(Self::of_runs(runs))
    }
}

/// In any order; cells beyond what can be counted are left out.
impl FromIterator<usize> for Cells {
    fn from_iter<I: IntoIterator<Item = usize>>(cells: I) -> Self {
        let mut cells: Vec<u32> = cells.into_iter().filter_map(|cell| u32::try_from(cell).ok()).collect();
        if !cells.is_sorted() {
            cells.sort_unstable();
        }
        let mut runs: Vec<[u32; 2]> = Vec::new();
        for cell in cells {
            match runs.last_mut() {
                Some(last) if last[1] >= cell => last[1] = last[1].max(cell.saturating_add(1)),
                _ => runs.push([cell, cell.saturating_add(1)]),
            }
        }
        Self { runs }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn cells_are_a_set_whatever_they_come_from(
            one in proptest::collection::vec(0usize..400, 0..200),
            two in proptest::collection::vec(0usize..400, 0..200),
        ) {
            let (a, b): (Cells, Cells) = (one.iter().copied().collect(), two.iter().copied().collect());
            let (sa, sb): (BTreeSet<usize>, BTreeSet<usize>) = (one.into_iter().collect(), two.into_iter().collect());
            prop_assert_eq!(a.iter().collect::<Vec<_>>(), sa.iter().copied().collect::<Vec<_>>());
            prop_assert_eq!(a.count(), sa.len() as u64);
            let rest: Vec<usize> = a.without(&b).iter().collect();
            prop_assert_eq!(rest, sa.difference(&sb).copied().collect::<Vec<_>>());
            prop_assert!((0..400).all(|cell| a.has(cell) == sa.contains(&cell)));
            prop_assert_eq!(Cells::from_bytes(&a.to_bytes(), 400).unwrap(), a.clone());
            prop_assert_eq!(Cells::of_runs(a.runs().iter().rev().copied()), a);
        }

        #[test]
        fn no_bytes_make_more_cells_than_there_are(bytes in proptest::collection::vec(any::<u8>(), 0..80)) {
            if let Ok(cells) = Cells::from_bytes(&bytes, 1000) {
                prop_assert!(cells.end() <= 1000);
            }
        }
    }

    #[test]
    fn a_row_worked_in_one_go_takes_a_few_bytes() {
        let row = Cells::of_runs([[2_000_000, 2_002_000]]);
        assert!(row.to_bytes().len() <= 6);
        let comb: Cells = (0..100_000).step_by(2).collect();
        assert!(comb.to_bytes().len() < 2000, "{}", comb.to_bytes().len());
    }
}
