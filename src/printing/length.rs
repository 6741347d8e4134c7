//! Lengths on a page.
//!
//! Owns what is done with them: they are added, taken a number of times, and held against one another. A length of
//! cloth, thread or paper that a person gives is [`Millimetres`], which is checked and never below zero; from
//! there the page goes on with its own, as a way to the left or upwards is less than nothing.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use crate::ground::units::{MM_PER_INCH, Millimetres};

/// A length on a page, or a place on it from its left or its top. It may be negative.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Length(f64);

/// A point of a page: from its left and from its top.
pub type Point = [Length; 2];

/// So many millimetres.
#[must_use]
pub const fn mm(value: f64) -> Length {
    Length(value)
}

/// The size of text of so many points: 72 to the inch (common practice in type set by computers, and PDF's own unit:
/// ISO 32000-1, 8.3.2.3).
#[must_use]
pub const fn text_points(value: f64) -> Length {
    Length(value * (MM_PER_INCH / 72.0))
}

impl Length {
    /// None at all: the left or the top of a page.
    pub const ZERO: Self = Self(0.0);

    /// The number of millimetres.
    #[must_use]
    pub const fn to_mm(self) -> f64 {
        self.0
    }

    /// The sum, for constants.
    pub(super) const fn plus(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }

    /// So many times, for constants.
    pub(super) const fn times(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }

    /// The shorter of two.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }

    /// The longer of two.
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }

    /// How long it is, whichever way it goes.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// The way of one that goes so far aside and so far down.
    #[must_use]
    pub fn hypot(self, other: Self) -> Self {
        Self(self.0.hypot(other.0))
    }

    /// Whether it is a number at all.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.0.is_finite()
    }

    /// How many of `each` fit into it whole: none where it is shorter, or below zero. What is short by no more than
    /// `slack` of one counts, as sums of fractions come out a little off.
    pub(super) fn holds(self, each: Self, slack: f64) -> u32 {
        #[allow(clippy::cast_sign_loss, reason = "at least 0")]
        let count = (self / each + slack).floor().max(0.0) as u32;
        count
    }
}

impl From<Millimetres> for Length {
    fn from(length: Millimetres) -> Self {
        Self(length.mm())
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.plus(other)
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Length {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        self.times(factor)
    }
}

impl Mul<Length> for f64 {
    type Output = Length;
    fn mul(self, length: Length) -> Length {
        length.times(self)
    }
}

impl Div<f64> for Length {
    type Output = Self;
    fn div(self, parts: f64) -> Self {
        Self(self.0 / parts)
    }
}

impl Div for Length {
    /// How many times the other goes into this one.
    type Output = f64;
    fn div(self, other: Self) -> f64 {
        self.0 / other.0
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        Self(lengths.map(|length| length.0).sum())
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)?;
        f.write_str(" mm")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_add_up_and_are_told_with_their_unit() {
        let way = mm(3.0) - mm(4.5);
        assert_eq!(way, mm(-1.5));
        assert_eq!(way.abs() + 2.0 * mm(1.0), mm(3.5));
        assert!((mm(9.0) / mm(2.0) - 4.5).abs() < 1e-12);
        assert_eq!([mm(1.0), mm(2.5)].into_iter().sum::<Length>().to_string(), "3.5 mm");
        assert_eq!(format!("{:.2}", mm(2.0) / 3.0), "0.67 mm");
    }

    #[test]
    fn a_text_of_72_points_is_an_inch_tall() {
        assert!((text_points(72.0).to_mm() - 25.4).abs() < 1e-12);
    }

    #[test]
    fn whole_cells_are_counted_into_a_room() {
        assert_eq!(mm(9.0).holds(mm(3.0), 0.0), 3);
        assert_eq!((mm(0.3) * 3.0 - mm(0.0)).holds(mm(0.3), 1e-9), 3);
        assert_eq!(mm(-1.0).holds(mm(3.0), 0.0), 0);
    }
}
