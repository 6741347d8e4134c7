//! Words in pictures: captions, titles and numbers, in the type of pages.

use image::{Rgb, RgbImage};

use crate::ground::colour::Srgb8;
use crate::printing::typeface::{self, Weight};

/// The height of a letter's body in captions and beside rulers, in pixels, and in titles.
pub(super) const BODY: f64 = 17.0;
pub(super) const TITLE: f64 = 30.0;

/// From the top to the base line and to the foot, in bodies: room for accents and tails.
const BASE: f64 = 0.95;
const FOOT: f64 = 1.25;

/// So many stretches of a row of pixels are inked one by one, so that slanting edges are soft.
const PARTS: u32 = 5;

/// A line of text on white, its letters as large as `body` says.
pub(super) fn words(text: &str, weight: Weight, body: f64, ink: Srgb8) -> RgbImage {
    let (text, _) = typeface::showable(text);
    let (edges, long) = typeface::edges(&text, weight);
    #[allow(clippy::cast_sign_loss, reason = "a text is no shorter than nothing")]
    let [width, height] = [long * body, FOOT * body].map(|side| (side.ceil() as u32).max(1));
    let mut covered = vec![0.0_f64; (width * height) as usize];
    let mut crossings: Vec<(f64, i32)> = Vec::new();
    for part in 0..height * PARTS {
        let y = (f64::from(part) + 0.5) / f64::from(PARTS) / body - BASE;
        crossings.clear();
        for &[[x1, y1], [x2, y2]] in &edges {
            if (y1 <= y) != (y2 <= y) {
                let x = x1 + (y - y1) / (y2 - y1) * (x2 - x1);
                crossings.push((x * body, if y1 <= y { 1 } else { -1 }));
            }
        }
        crossings.sort_by(|one, other| one.0.total_cmp(&other.0));
        let row = &mut covered[((part / PARTS) * width) as usize..][..width as usize];
        // What an outline winds round is ink (the non-zero rule of TrueType).
        let mut winding = 0;
        for pair in crossings.windows(2) {
            winding += pair[0].1;
            if winding != 0 {
                cover(row, pair[0].0, pair[1].0);
            }
        }
    }
    RgbImage::from_fn(width, height, |x, y| {
        let share = (covered[(y * width + x) as usize] / f64::from(PARTS)).min(1.0);
        #[allow(clippy::cast_sign_loss, reason = "between ink and white")]
        Rgb([ink.r, ink.g, ink.b].map(|ink| (255.0 - share * (255.0 - f64::from(ink))).round() as u8))
    })
}

/// Adds to each pixel of a row the share of it that lies between two places.
fn cover(row: &mut [f64], from: f64, to: f64) {
    let (from, to) = (from.max(0.0), to.min(row.len() as f64));
    #[allow(clippy::cast_sign_loss, reason = "not before the row")]
    let (first, last) = (from.floor() as usize, to.ceil().max(0.0) as usize);
    for (at, share) in row.iter_mut().enumerate().take(last).skip(first) {
        *share += (to.min(at as f64 + 1.0) - from.max(at as f64)).max(0.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_much_is_inked_as_the_outlines_hold() {
        for (text, weight) in [("14 count, 2 strands", Weight::Regular), ("Ω Щ ø", Weight::Bold)] {
            let drawn = words(text, weight, 40.0, Srgb8::BLACK);
            let inked: f64 = drawn.pixels().map(|pixel| 1.0 - f64::from(pixel.0[0]) / 255.0).sum();
            let area: f64 = text.chars().map(|letter| typeface::ink(letter, weight)).sum();
            let wanted = area * 40.0 * 40.0;
            assert!((inked / wanted - 1.0).abs() < 0.02, "{text}: {inked} {wanted}");
        }
    }
}
