//! A page as a person will see it, in its colours, for a screen. It is for pages that this process made a moment ago; what
//! comes from elsewhere goes by `proof`, whose gate holds it.

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings, render};
use image::RgbaImage;

/// Points of an inch (ISO 32000-1, 8.3.2.3).
const POINTS: f64 = 72.0;

/// A page, from 0, at so many dots an inch, on white; nothing where the file has no such page.
#[must_use]
pub fn page(pdf: Vec<u8>, page: usize, dpi: f64) -> Option<RgbaImage> {
    let pdf = Pdf::new(pdf).ok()?;
    let scale = (dpi / POINTS) as f32;
    let settings = PixmapSettings { x_scale: scale, y_scale: scale, bg_color: WHITE };
    let (cache, how) = (RenderCache::new(), InterpreterSettings::default());
    let pixmap = render(pdf.pages().get(page)?, &cache, &how, &RenderSettings::default(), &settings);
    // On white nothing is see-through.
    let bytes = pixmap.data().iter().flat_map(|p| [p.r, p.g, p.b, u8::MAX]).collect();
    RgbaImage::from_raw(u32::from(pixmap.width()), u32::from(pixmap.height()), bytes)
}
