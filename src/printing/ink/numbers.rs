//! Lengths and colours as the numbers that a PDF has for them.

use std::io::Write as _;

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

/// A number as briefly as it can be said, as `Display` says it too. Nearly all are whole thousandths, for which nothing needs to be
/// sought: a coordinate is said ten thousand times a page.
pub(super) fn number(bytes: &mut Vec<u8>, value: f32) {
    let thousandths = (f64::from(value) * 1000.0).round();
    // Up to here floats lie nearer to one another than thousandths: no shorter number is the same float.
    if thousandths.abs() > 8.0e6 || (thousandths / 1000.0) as f32 != value {
        // A vector takes all that is written to it.
        _ = write!(bytes, "{value}");
        return;
    }
    if thousandths < 0.0 {
        bytes.push(b'-');
    }
    #[allow(clippy::cast_sign_loss, reason = "a magnitude")]
    let (mut whole, mut part) = ((thousandths.abs() as u32) / 1000, (thousandths.abs() as u32) % 1000);
    let mut digits = [0u8; 4];
    let mut first = digits.len();
    while first == digits.len() || whole > 0 {
        first -= 1;
        digits[first] = b'0' + (whole % 10) as u8;
        whole /= 10;
    }
    bytes.extend_from_slice(&digits[first..]);
    if part > 0 {
        bytes.push(b'.');
    }
    while part > 0 {
        bytes.push(b'0' + (part / 100) as u8);
        part = part % 100 * 10;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn numbers_are_said_as_display_says_them(
            thousandths in -9_000_000i32..9_000_000,
            step in prop::sample::select(vec![1, 10, 1000]),
            any in any::<f32>().prop_filter("finite, and no minus before nothing", |any| any.is_finite() && *any != 0.0),
        ) {
            let whole = (f64::from(thousandths / step * step) / 1000.0) as f32;
            for value in [whole, any] {
                let mut bytes = Vec::new();
                number(&mut bytes, value);
                prop_assert_eq!(String::from_utf8_lossy(&bytes), value.to_string());
            }
        }
    }
}
