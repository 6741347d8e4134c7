//! The picture of a page: rendered by a program that did not write it, and measured.

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::vello_cpu::Pixmap;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings, render};
use image::GrayImage;

/// Points of an inch (ISO 32000-1, 8.3.2.3).
const POINTS: f64 = 72.0;

/// A page, from 0, at so many dots an inch, on white; nothing where the file has no such page.
pub(super) fn pixels(pdf: &Pdf, page: usize, dpi: f64, how: &RenderSettings) -> Option<Pixmap> {
    let scale = (dpi / POINTS) as f32;
    let settings = PixmapSettings { x_scale: scale, y_scale: scale, bg_color: WHITE };
    let (cache, interpreter) = (RenderCache::new(), InterpreterSettings::default());
    Some(render(pdf.pages().get(page)?, &cache, &interpreter, how, &settings))
}

/// Each character drawn where it stands. Kept ones are moved to whole pixels, up or down by half of one: in squares of 3 mm
/// at 150 dots an inch that is more than half a point of those at which symbols are compared, and halved the margins.
const EXACT: RenderSettings = RenderSettings {
    force_image_interpolation: false,
    aliasing_threshold: None,
    hinting: false,
    glyph_caching: false,
};

/// A page in grey, 255 white.
pub(super) fn rendered(pdf: &Pdf, page: usize, dpi: f64) -> Option<GrayImage> {
    let pixmap = pixels(pdf, page, dpi, &EXACT)?;
    // Luma of ITU-R BT.709, as a printer's driver makes grey of colour.
    // The weights are 65,536 together, so that nothing overflows; without that question, many points are made at once.
    let part = |value: u8, weight: u32| u32::from(value).wrapping_mul(weight);
    let grey = |r: u8, g: u8, b: u8| {
        (part(r, 13933).wrapping_add(part(g, 46871)).wrapping_add(part(b, 4732)) >> 16) as u8
    };
    let values = pixmap.data().iter().map(|p| grey(p.r, p.g, p.b)).collect();
    GrayImage::from_raw(u32::from(pixmap.width()), u32::from(pixmap.height()), values)
}

/// The value at a place in pixels (the middle of the first is at 0.5, 0.5), by bilinear interpolation; beyond
/// the edge as at the edge.
#[inline]
pub(super) fn value(page: &GrayImage, x: f64, y: f64) -> f32 {
    let (width, height) = (page.width() as usize, page.height() as usize);
    let (x, y) = ((x - 0.5).clamp(0.0, width as f64 - 1.001), (y - 0.5).clamp(0.0, height as f64 - 1.001));
    // Sides are numbers of 16 bits; a cast to 32 is the cheapest that there is.
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
    let (left, top) = (x as i32 as usize, y as i32 as usize);
    let (dx, dy) = ((x - left as f64) as f32, (y - top as f64) as f32);
    let at = top * width + left;
    let points = &page.as_raw()[at..at + width + 2];
    let [a, b, c, d] = [points[0], points[1], points[width], points[width + 1]].map(f32::from);
    let above = a + (b - a) * dx;
    let below = c + (d - c) * dx;
    above + (below - above) * dy
}

/// How many points have each level. White ones, of which a page has most, are counted eight at a time; of the others, each second
/// goes into a table of its own, as a count must be there before it can be counted on.
pub(super) fn counted(points: &[u8]) -> [u32; 256] {
    let mut counts = [[0u32; 256]; 2];
    let (eights, rest) = points.as_chunks::<8>();
    for eight in eights {
        if *eight == [u8::MAX; 8] {
            counts[0][255] += 8;
            continue;
        }
        for [one, other] in eight.as_chunks::<2>().0 {
            counts[0][usize::from(*one)] += 1;
            counts[1][usize::from(*other)] += 1;
        }
    }
    rest.iter().for_each(|&one| counts[0][usize::from(one)] += 1);
    let [mut all, other] = counts;
    all.iter_mut().zip(other).for_each(|(sum, count)| *sum += count);
    all
}

/// The levels of ink and of paper on a page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Levels {
    pub(super) ink: f32,
    pub(super) paper: f32,
}

impl Levels {
    /// Ink is darker than 99.6 % of the page, paper lighter than 98 %: bold rules alone ink over 0.8 % of a page that
    /// the chart half fills, and margins
    /// alone leave over 5 % white.
    pub(super) fn of(page: &GrayImage) -> Self {
        let counts = counted(page.as_raw());
        let total = page.as_raw().len() as u64;
        let level = |share: f64| {
            let mut seen = 0;
            let found = counts.iter().position(|count| {
                seen += count;
                f64::from(seen) > total as f64 * share
            });
            found.unwrap_or(255) as f32
        };
        Self { ink: level(0.004), paper: level(0.98) }
    }

    pub(super) fn contrast(self) -> f32 {
        (self.paper - self.ink).max(1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_counted_by_level_white_or_not_and_to_the_last() {
        // Runs of white that begin and end anywhere, and a rest that is no eight.
        let points: Vec<u8> =
            (0..1_003_u32).map(|at| if at % 61 < 37 { u8::MAX } else { (at * 7 % 256) as u8 }).collect();
        let mut counts = [0; 256];
        points.iter().for_each(|&point| counts[usize::from(point)] += 1);
        assert_eq!(counted(&points), counts);
    }

    #[test]
    fn a_value_between_pixels_is_their_mean_and_beyond_the_edge_that_of_the_edge() {
        let page = GrayImage::from_fn(3, 2, |x, y| image::Luma([(10 * x + 100 * y) as u8]));
        let near = |x: f64, y: f64, wanted: f32| {
            let found = value(&page, x, y);
            assert!((found - wanted).abs() < 0.2, "{x}, {y}: {found}, not {wanted}");
        };
        near(0.5, 0.5, 0.0);
        near(1.0, 0.5, 5.0);
        near(1.5, 1.0, 60.0);
        near(-4.0, 0.5, 0.0);
        near(9.0, 9.0, 120.0);
    }
}
