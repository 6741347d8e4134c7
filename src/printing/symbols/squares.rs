//! How large the squares of a chart are printed, as far as symbols go.

use crate::ground::units::Millimetres;

/// Sizes of squares for which symbols were measured. What blurs by the same tenth of a millimetre leaves less of a small
/// figure than of a large one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Squares {
    /// Under 2.5 mm; measured at 2.0.
    Small,
    /// Under 3 mm; measured at 2.5.
    Middle,
    /// 3 mm and more, as pages have them where nothing else is asked; measured at 3.0.
    #[default]
    Large,
}

impl Squares {
    /// All of them, the smallest first.
    pub const ALL: [Self; 3] = [Self::Small, Self::Middle, Self::Large];

    /// Those with a side of so many millimetres.
    #[must_use]
    pub fn of(side: Millimetres) -> Self {
        // A hundredth is less than any printer lays down.
        match side.mm() + 0.01 {
            side if side < 2.5 => Self::Small,
            side if side < 3.0 => Self::Middle,
            _ => Self::Large,
        }
    }

    /// Their place in the tables.
    pub(super) fn table(self) -> usize {
        match self {
            Self::Small => 0,
            Self::Middle => 1,
            Self::Large => 2,
        }
    }

    /// The side at which they were measured, in tenths of a millimetre.
    pub(super) fn tenths(self) -> u8 {
        [20, 25, 30][self.table()]
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_square_is_taken_for_the_next_smaller_size_that_was_measured() {
        let of = |mm: f64| Squares::of(Millimetres::new(mm).unwrap());
        assert_eq!([1.5, 2.0, 2.4].map(of), [Squares::Small; 3]);
        assert_eq!([2.5, 2.9].map(of), [Squares::Middle; 2]);
        assert_eq!([3.0, 4.5].map(of), [Squares::Large; 2]);
    }
}
