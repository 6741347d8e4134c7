//! A skein or reel of thread: how long it is, and of how many strands.

use std::fmt;

use super::kind::is_metallic;
use crate::ground::units::Millimetres;

/// The length of the customary skein, in millimetres: 8 m (common practice, no source).
pub const SKEIN_MM: f64 = 8000.0;

/// The strands that a skein parts into: 6 (common practice, no source).
pub const SKEIN_STRANDS: u8 = 6;

/// The strands that a reel of metallic thread parts into: none, its length is that of one (common practice, no
/// source). Some metallic thread is sold in six strands: then the card says so.
pub const METALLIC_STRANDS: u8 = 1;

/// The most strands that a card may say a skein parts into: twice what the thickest sold does (common practice, no
/// source).
pub const MOST_STRANDS: u8 = 24;

/// What is sold of a thread at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skein {
    /// How long it is.
    pub length: Millimetres,
    /// Of how many strands that is the length.
    pub strands: u8,
}

impl Skein {
    /// A skein as far as it is known: without a length the customary 8 m, without a number of strands six, or one for
    /// metallic thread.
    #[must_use]
    pub fn of(length: Option<Millimetres>, strands: Option<u8>, kind: Option<&str>) -> Self {
        let usual = if is_metallic(kind) { METALLIC_STRANDS } else { SKEIN_STRANDS };
        let customary = || Millimetres::new(SKEIN_MM).expect("a constant within the limits");
        Self { length: length.unwrap_or_else(customary), strands: strands.unwrap_or(usual) }
    }

    /// All its strands laid end to end, in metres.
    #[must_use]
    pub fn strand_metres(self) -> f64 {
        self.length.mm() / 1000.0 * f64::from(self.strands)
    }

    /// Whether its length is of six strands, as people expect; else lists say what they reckon with.
    #[must_use]
    pub fn is_of_six(self) -> bool {
        self.strands == SKEIN_STRANDS
    }
}

impl fmt::Display for Skein {
    /// `20 m of 1 strand`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let metres = (self.length.mm() / 10.0).round() / 100.0;
        let strands = if self.strands == 1 { "strand" } else { "strands" };
        write!(f, "{metres} m of {} {strands}", self.strands)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_reel_of_metallic_is_as_long_as_it_says_and_a_skein_of_cotton_six_times_so() {
        let metres = |metres: f64| Some(Millimetres::new(metres * 1000.0).unwrap());
        // By hand: 20 m on a reel are 20 m in the needle, 8 m in six strands are 48 m.
        let of = |length, strands, kind| Skein::of(length, strands, kind).strand_metres();
        assert!((of(metres(20.0), None, Some("metallic")) - 20.0).abs() < 1e-9);
        assert!((of(metres(8.0), None, Some("cotton")) - 48.0).abs() < 1e-9);
        assert!((of(None, None, None) - 48.0).abs() < 1e-9);
        // What the card says counts before what is usual.
        assert!((of(metres(8.0), Some(6), Some("metallic")) - 48.0).abs() < 1e-9);
        assert!((of(metres(25.0), Some(4), None) - 100.0).abs() < 1e-9);
        let said = |length, strands, kind| Skein::of(length, strands, kind).to_string();
        assert_eq!(said(metres(20.0), None, Some("metallic")), "20 m of 1 strand");
        assert_eq!(said(metres(7.5), Some(4), None), "7.5 m of 4 strands");
    }
}
