//! Lengths and colours as the numbers that a PDF has for them.

use crate::ground::colour::Srgb8;
use crate::printing::length::Length;

/// PDF points in a millimetre (ISO 32000-1, 8.3.2.3: 72 to the inch).
const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// A length in points, to a hundredth: 0.004 mm, finer than any printer.
pub(super) fn points(length: Length) -> f32 {
    ((length.to_mm() * POINTS_PER_MM * 100.0).round() / 100.0) as f32
}

/// A length in points, as near as a PDF has it: for what is multiplied by many cells.
pub(super) fn exact(length: Length) -> f32 {
    (length.to_mm() * POINTS_PER_MM) as f32
}

/// Red, green and blue, 0 to 1.
pub(super) fn parts(colour: Srgb8) -> [f32; 3] {
    // Three figures keep every 8-bit value apart.
    [colour.r, colour.g, colour.b].map(|value| ((f64::from(value) / 255.0 * 1000.0).round() / 1000.0) as f32)
}
