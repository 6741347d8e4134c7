//! Fewer values than pixels: resampling in linear light, a band of rows at a time.

use std::sync::LazyLock;

use fast_image_resize::images::Image;
use fast_image_resize::{FilterType, PixelType, ResizeAlg, ResizeOptions, Resizer};
use image::RgbaImage;
use rayon::prelude::*;

use super::Part;
use crate::colour::Srgb8;
use crate::progress::{Progress, Stopped, tell};
use crate::units::GridSize;

/// How many source pixels are held in linear light at a time. At eight bytes each this is 32 MB; fewer makes
/// more bands whose edges are worked twice, more makes large photos take more memory.
const BAND_PIXELS: f64 = 4e6;

/// 16-bit linear light of each 8-bit sRGB value: the darkest step is 20 of 65,535, so none is lost.
static LINEAR: LazyLock<[u16; 256]> = LazyLock::new(|| {
    std::array::from_fn(|value| {
        let value = value as u8;
        #[allow(clippy::cast_sign_loss, reason = "linear light of sRGB is 0 to 1")]
        let light = (Srgb8 { r: value, g: value, b: value }.linear().channels[0] * 65_535.0).round() as u16;
        light
    })
});

/// Linear red, green, blue and opacity (0 to 1, colour not multiplied by it) for each cell, row by row.
pub(super) fn resample(
    picture: &RgbaImage,
    part: Part,
    size: GridSize,
    progress: &dyn Progress,
) -> Result<Vec<[f32; 4]>, Stopped> {
    // Reducing: Catmull-Rom keeps edges where averaging turns them to mud, with less ringing than Lanczos.
    let (filter, reach) = (FilterType::CatmullRom, 2.0);
    let scale = part.height / f64::from(size.rows());
    let reach = (reach * scale.max(1.0)).ceil() + 1.0;
    let rows_at_once = (BAND_PIXELS / f64::from(picture.width()) - 2.0 * reach) / scale;
    #[allow(clippy::cast_sign_loss, reason = "at least one row, at most all of them")]
    let rows_at_once = rows_at_once.clamp(1.0, f64::from(size.rows())) as u32;
    let mut cells = Vec::with_capacity(size.cells());
    let mut resizer = Resizer::new();
    let mut first = 0;
    while first < size.rows() {
        tell(progress, "framing the picture", u64::from(first), u64::from(size.rows()))?;
        let rows = rows_at_once.min(size.rows() - first);
        let top = part.top + f64::from(first) * scale;
        #[allow(clippy::cast_sign_loss, reason = "within the picture")]
        let (from, to) = (
            (top - reach).floor().max(0.0) as u32,
            (top + f64::from(rows) * scale + reach).ceil().min(f64::from(picture.height())) as u32,
        );
        let band = linear_band(picture, from, to);
        let mut small = Image::new(size.columns(), rows, PixelType::U16x4);
        let options = ResizeOptions::new()
            .resize_alg(ResizeAlg::Convolution(filter))
            .crop(
                part.left,
                top - f64::from(from),
                part.width,
                (f64::from(rows) * scale).min(f64::from(to) - top),
            )
            .use_alpha(true);
        resizer
            .resize(&band, &mut small, &options)
            .expect("the part lies within the band and both have the same kind of pixels");
        cells.extend(small.buffer().chunks_exact(8).map(|bytes| {
            std::array::from_fn(|channel| {
                f32::from(u16::from_ne_bytes([bytes[channel * 2], bytes[channel * 2 + 1]])) / 65_535.0
            })
        }));
        first += rows;
    }
    Ok(cells)
}

/// Rows `from` to `to` of the picture in linear light; opacity is linear already.
fn linear_band(picture: &RgbaImage, from: u32, to: u32) -> Image<'static> {
    let width = picture.width() as usize;
    let mut bytes = vec![0u8; width * (to - from) as usize * 8];
    let source = &picture.as_raw()[from as usize * width * 4..to as usize * width * 4];
    let table = &*LINEAR;
    bytes.par_chunks_mut(width * 8).zip(source.par_chunks(width * 4)).for_each(|(row, source)| {
        for (pixel, source) in row.chunks_exact_mut(8).zip(source.chunks_exact(4)) {
            for channel in 0..3 {
                let light = table[usize::from(source[channel])];
                pixel[channel * 2..channel * 2 + 2].copy_from_slice(&light.to_ne_bytes());
            }
            pixel[6..8].copy_from_slice(&(u16::from(source[3]) * 257).to_ne_bytes());
        }
    });
    Image::from_vec_u8(picture.width(), to - from, bytes, PixelType::U16x4)
        .expect("eight bytes for each pixel of the band")
}
