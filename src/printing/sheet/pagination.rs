//! Which columns and rows go on which page.

use std::ops::Range;

use crate::ground::units::GridSize;

/// The columns and rows repeated from the neighbouring page where two join.
pub(super) const REPEATED: u32 = 2;

/// Fewer columns or rows of its own make a page a sliver, which no evenness of tens is worth.
const LEAST: u32 = 6;

/// Joins are on tens as long as the shortest page has so much of the longest, as a fraction: 50 and 55 columns are
/// taken for equal, 20 and 10 are not.
const EVEN: [u32; 2] = [3, 4];

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

/// Cuts `total` columns into as few pages of at most `room` as can be, as equal as they can be with joins on tens: a
/// page then begins and ends at a bold rule, and nobody counts off squares at its edges to find the next ten. Where
/// the tens would leave pages unequal, as where they are few to a page, equality goes first.
pub(super) fn cut(total: u32, room: u32) -> Option<Vec<Range<u32>>> {
    if total <= room {
        return Some(std::iter::once(0..total).collect());
    }
    for pages in 2..=total {
        let joins = if pages == 2 { 1 } else { 2 };
        let most = room.checked_sub(joins * REPEATED).filter(|&most| most >= 10)?;
        if total.div_ceil(pages) > most {
            continue;
        }
        let ranges = |end: &dyn Fn(u32) -> u32| -> Vec<Range<u32>> {
            (0..pages).map(|page| end(page)..end(page + 1)).collect()
        };
        // The tens nearest to equal parts.
        let tens = ranges(&|page| {
            if page == pages { total } else { (page * total * 2 + pages * 10) / (pages * 20) * 10 }
        });
        let (least, fullest) = extremes(&tens);
        if fullest <= most && least >= LEAST && least * EVEN[1] >= fullest * EVEN[0] {
            return Some(tens);
        }
        // As equal as whole columns go: the longer pages first.
        return Some(ranges(&|page| page * (total / pages) + page.min(total % pages)));
    }
    None
}

/// The shortest and the longest of some ranges.
fn extremes(cut: &[Range<u32>]) -> (u32, u32) {
    let lengths = || cut.iter().map(|own| own.end.saturating_sub(own.start));
    (lengths().min().unwrap_or(0), lengths().max().unwrap_or(0))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn joins_fall_on_tens_where_that_costs_no_page() {
        assert_eq!(cut(140, 62).unwrap(), [0..50, 50..90, 90..140]);
        assert_eq!(cut(60, 62).unwrap(), std::slice::from_ref(&(0..60)));
    }

    /// 105 rows are 50 and 55, not 60 and 45, and 53 and 52 where 55 have no room; 50 in pages of 20 are no 20, 10 and 20.
    #[test]
    fn pages_are_equal_before_joins_are_on_tens() {
        assert_eq!(cut(105, 70).unwrap(), [0..50, 50..105]);
        assert_eq!(cut(105, 56).unwrap(), [0..53, 53..105]);
        assert_eq!(cut(50, 24).unwrap(), [0..17, 17..34, 34..50]);
    }

    #[test]
    fn joins_on_tens_that_leave_pages_unequal_are_given_up() {
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
