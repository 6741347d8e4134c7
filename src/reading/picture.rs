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
    let grey =
        |r: u8, g: u8, b: u8| (u32::from(r) * 13933 + u32::from(g) * 46871 + u32::from(b) * 4732) >> 16;
    let values = pixmap.data().iter().map(|p| grey(p.r, p.g, p.b).min(255) as u8).collect();
    GrayImage::from_raw(u32::from(pixmap.width()), u32::from(pixmap.height()), values)
}

/// The value at a place in pixels (the middle of the first is at 0.5, 0.5), by bilinear interpolation; beyond
/// the edge as at the edge.
pub(super) fn value(page: &GrayImage, x: f64, y: f64) -> f32 {
    let (width, height) = (page.width() as usize, page.height() as usize);
    let (x, y) = ((x - 0.5).clamp(0.0, width as f64 - 1.001), (y - 0.5).clamp(0.0, height as f64 - 1.001));
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
    let (left, top) = (x as usize, y as usize);
    let (dx, dy) = ((x - left as f64) as f32, (y - top as f64) as f32);
    let raw = page.as_raw();
    let at = top * width + left;
    let [a, b] = [raw[at], raw[at + 1]].map(f32::from);
    let [c, d] = [raw[at + width], raw[at + width + 1]].map(f32::from);
    let above = a + (b - a) * dx;
    let below = c + (d - c) * dx;
    above + (below - above) * dy
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
        let mut counts = [0u64; 256];
        for &value in page.as_raw() {
            counts[usize::from(value)] += 1;
        }
        let total = page.as_raw().len() as u64;
        let level = |share: f64| {
            let mut seen = 0;
            let found = counts.iter().position(|count| {
                seen += count;
                seen as f64 > total as f64 * share
            });
            found.unwrap_or(255) as f32
        };
        Self { ink: level(0.004), paper: level(0.98) }
    }

    pub(super) fn contrast(self) -> f32 {
        (self.paper - self.ink).max(1.0)
    }
}
