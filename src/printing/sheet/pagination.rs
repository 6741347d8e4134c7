//! Which columns and rows go on which page.

use std::ops::Range;

use crate::ground::units::GridSize;

/// The columns and rows repeated from the neighbouring page where two join.
pub(super) const REPEATED: u32 = 2;

/// Fewer columns or rows of its own make a page a sliver, which no evenness of tens is worth.
const LEAST: u32 = 6;

/// A chart cut into pages: every column and row is in exactly one range.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Plan {
    pub(super) columns: Vec<Range<u32>>,
    pub(super) rows: Vec<Range<u32>>,
    /// The paper lies on its side.
    pub(super) turned: bool,
}

impl Plan {
    /// Everything on one page.
    pub(super) fn whole(size: GridSize) -> Self {
        let all = |length: u32| vec![0..length; 1];
        Self { columns: all(size.columns()), rows: all(size.rows()), turned: false }
    }

    pub(super) fn pages(&self) -> usize {
        self.columns.len() * self.rows.len()
    }
}

/// A range with the columns (or rows) repeated from its neighbours.
pub(crate) fn with_repeats(own: &Range<u32>, total: u32) -> Range<u32> {
    own.start.saturating_sub(REPEATED)..(own.end + REPEATED).min(total)
}

/// The longest range of a cut, repeats counted.
pub(super) fn longest(cut: &[Range<u32>], total: u32) -> u32 {
    cut.iter().map(|own| with_repeats(own, total).len() as u32).max().unwrap_or(0)
}

/// Cuts `total` columns into as few pages of at most `room` as can be, of even length, in tens where that
/// costs no page: the bold rules then fall on the joins, and no page is a sliver.
pub(super) fn cut(total: u32, room: u32) -> Option<Vec<Range<u32>>> {
    if total <= room {
        return Some(std::iter::once(0..total).collect());
    }
    for pages in 2..=total {
        let joins = if pages == 2 { 1 } else { 2 };
        let most = room.checked_sub(joins * REPEATED).filter(|&most| most >= 10)?;
        let even = total.div_ceil(pages);
        if even > most {
            continue;
        }
        let tens = even.next_multiple_of(10);
        let last = i64::from(total) - i64::from(tens) * i64::from(pages - 1);
        let end = |page: u32| {
            if tens <= most && last >= i64::from(LEAST) && last * 2 >= i64::from(tens) {
                (page * tens).min(total)
            } else {
                // As even as whole columns go: the longer pages first.
                page * (total / pages) + page.min(total % pages)
            }
        };
        return Some((0..pages).map(|page| end(page)..end(page + 1)).collect());
    }
    None
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn joins_fall_on_tens_where_that_costs_no_page() {
        assert_eq!(cut(140, 62).unwrap(), [0..50, 50..100, 100..140]);
        assert_eq!(cut(60, 62).unwrap(), std::slice::from_ref(&(0..60)));
    }

    #[test]
    fn joins_on_tens_that_leave_five_rows_over_are_given_up() {
        let pages = cut(145, 14).unwrap();
        assert_eq!(pages.len(), 15);
        assert!(pages.iter().all(|page| [9, 10].contains(&page.len())), "{pages:?}");
    }

    proptest! {
        #[test]
        fn every_column_is_on_one_page_and_no_page_is_a_sliver(total in 4u32..=2000, room in 14u32..200) {
            let pages = cut(total, room).unwrap();
            prop_assert_eq!(pages[0].start, 0);
            prop_assert_eq!(pages.last().unwrap().end, total);
            for pair in pages.windows(2) {
                prop_assert_eq!(pair[0].end, pair[1].start);
            }
            let most = pages.iter().map(|page| page.len()).max().unwrap();
            for page in &pages {
                prop_assert!(with_repeats(page, total).len() as u32 <= room);
                prop_assert!(page.len() >= 6 || pages.len() == 1, "{:?}", pages);
                prop_assert!(page.len() * 2 >= most, "{:?}", pages);
            }
        }
    }
}
