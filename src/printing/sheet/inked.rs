//! The ink of a colour, and how much of it a page may have.
//!
//! A colour takes the ink that ISO 32000-1, 10.3.4, gives it (cyan, magenta and yellow are what red, green and blue
//! lack; what all three lack is black instead): the sum of the four, so that 1 is a page full of one ink. What a
//! printer lays down beyond that is its own affair.

use crate::ground::colour::Srgb8;

/// The most ink of a page, as a share of it: a quarter is dear enough for home printers (our own limit).
pub(super) const MOST: f64 = 0.25;

/// The ink that tints are made paler for: half a hundredth less, for what the reckoning before a page is drawn
/// leaves out.
pub(super) const ALLOWED: f64 = 0.245;

/// The ink of a colour, 0 (white) to 2 (pure red, green or blue).
pub(super) fn ink_of(colour: Srgb8) -> f64 {
    let [c, m, y] = [colour.r, colour.g, colour.b].map(|value| 1.0 - f64::from(value) / 255.0);
    let black = c.min(m).min(y);
    c + m + y - 2.0 * black
}
