//! A page as a person will see it, in its colours, for a screen. It is for pages that this process made a moment ago; what
//! comes from elsewhere goes by `proof`, whose gate holds it.

use hayro::RenderSettings;
use hayro::hayro_syntax::Pdf;
use image::RgbaImage;

use super::picture;

/// A page, from 0, at so many dots an inch, on white; nothing where the file has no such page.
#[must_use]
pub fn page(pdf: Vec<u8>, page: usize, dpi: f64) -> Option<RgbaImage> {
    let pixmap = picture::pixels(&Pdf::new(pdf).ok()?, page, dpi, &RenderSettings::default())?;
    // On white nothing is see-through.
    let bytes = pixmap.data().iter().flat_map(|p| [p.r, p.g, p.b, u8::MAX]).collect();
    RgbaImage::from_raw(u32::from(pixmap.width()), u32::from(pixmap.height()), bytes)
}
