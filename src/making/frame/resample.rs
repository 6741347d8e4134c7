//! Fewer values than pixels: resampling in linear light, a band of rows at a time.

use std::sync::LazyLock;

use fast_image_resize::images::{TypedImage, TypedImageRef};
use fast_image_resize::pixels::{U8x4, U16x3, U16x4};
use fast_image_resize::{FilterType, PixelTrait, ResizeAlg, ResizeOptions, Resizer};
use image::RgbaImage;
use rayon::prelude::*;

use super::Part;
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, Stopped, tell};
use crate::ground::units::GridSize;
use crate::making::photo::Photo;

/// How many source pixels are held in linear light at a time. At eight bytes each this is 8 MB, which the system gives once
/// and not for each band; fewer makes more bands whose edges are worked twice.
const BAND_PIXELS: f64 = 1e6;

/// 16-bit linear light of each 8-bit sRGB value: the darkest step is 20 of 65,535, so none is lost.
static LINEAR: LazyLock<[u16; 256]> = LazyLock::new(|| {
    std::array::from_fn(|value| {
        let value = value as u8;
        #[allow(clippy::cast_sign_loss, reason = "linear light of sRGB is 0 to 1")]
        let light = (Srgb8 { r: value, g: value, b: value }.linear().channels[0] * 65_535.0).round() as u16;
        light
    })
});

/// A pixel in linear light.
trait Light: PixelTrait + Default + Send + Sync {
    /// Of red, green, blue and opacity; what is clear lends no colour.
    fn of(pixel: [u8; 4], table: &[u16; 256]) -> Self;

    /// Red, green, blue and opacity, 0 to 1, colour not multiplied by it.
    fn values(self) -> [f32; 4];
}

impl Light for U16x3 {
    #[inline]
    fn of([r, g, b, _]: [u8; 4], table: &[u16; 256]) -> Self {
        Self::new([table[usize::from(r)], table[usize::from(g)], table[usize::from(b)]])
    }

    fn values(self) -> [f32; 4] {
        let [r, g, b] = self.0.map(|value| f32::from(value) / 65_535.0);
        [r, g, b, 1.0]
    }
}

impl Light for U16x4 {
    #[inline]
    fn of([r, g, b, alpha]: [u8; 4], table: &[u16; 256]) -> Self {
        let opacity = u32::from(alpha);
        let [r, g, b] = [r, g, b].map(|value| {
            // Times its opacity, which is linear already.
            ((u32::from(table[usize::from(value)]) * opacity + 127) / 255) as u16
        });
        Self::new([r, g, b, (opacity * 257) as u16])
    }

    fn values(self) -> [f32; 4] {
        let [r, g, b, alpha] = self.0.map(|value| f32::from(value) / 65_535.0);
        let whole = if alpha > 0.0 { 1.0 / alpha } else { 0.0 };
        [r * whole, g * whole, b * whole, alpha]
    }
}

/// Linear red, green, blue and opacity (0 to 1, colour not multiplied by it) for each cell, row by row.
pub(super) fn resample(
    photo: &Photo,
    part: Part,
    size: GridSize,
    progress: &dyn Progress,
) -> Result<Vec<[f32; 4]>, Stopped> {
    if photo.is_opaque() {
        in_light::<U16x3>(photo.pixels(), part, size, progress)
    } else {
        in_light::<U16x4>(photo.pixels(), part, size, progress)
    }
}

fn in_light<P: Light>(
    picture: &RgbaImage,
    part: Part,
    size: GridSize,
    progress: &dyn Progress,
) -> Result<Vec<[f32; 4]>, Stopped> {
    let scale = part.height / f64::from(size.rows());
    // Reducing: a plain mean. Catmull-Rom and Lanczos look crisper, but stand further from the picture by FLIP
    // (DEVELOPERS.md has the figures). Enlarging: Catmull-Rom, since a mean would show the pixels.
    let (filter, reach) = if scale > 1.0 { (FilterType::Box, 0.5) } else { (FilterType::CatmullRom, 2.0) };
    let reach = (reach * scale.max(1.0)).ceil() + 1.0;
    // Whole pixels that hold the part: what lies outside must not run into it.
    let bounds = Bounds::of(part, picture);
    let rows_at_once = (BAND_PIXELS / f64::from(bounds.right - bounds.left) - 2.0 * reach) / scale;
    #[allow(clippy::cast_sign_loss, reason = "at least one row, at most all of them")]
    let rows_at_once = rows_at_once.clamp(1.0, f64::from(size.rows())) as u32;
    let mut cells = Vec::with_capacity(size.cells());
    let mut resizer = Resizer::new();
    let mut held = Vec::new();
    let mut first = 0;
    while first < size.rows() {
        tell(progress, Stage::Framing, u64::from(first), u64::from(size.rows()))?;
        let rows = rows_at_once.min(size.rows() - first);
        let top = part.top + f64::from(first) * scale;
        #[allow(clippy::cast_sign_loss, reason = "kept within the bounds")]
        let (from, to) = (
            ((top - reach).floor().max(0.0) as u32).max(bounds.top),
            ((top + f64::from(rows) * scale + reach).ceil() as u32).min(bounds.bottom),
        );
        let block = Bounds { top: from, bottom: to, ..bounds };
        let band = linear_band(picture, &block, &mut held);
        let mut small = TypedImage::<P>::new(size.columns(), rows);
        // Sums of fractions can pass the edge by a rounding error, which the resampler would refuse.
        let left = (part.left - f64::from(bounds.left)).max(0.0);
        let top = (top - f64::from(from)).max(0.0);
        let width = part.width.min(f64::from(bounds.right - bounds.left) - left);
        let height = (f64::from(rows) * scale).min(f64::from(to - from) - top);
        // Colours are multiplied by their opacity already, and divided by it below.
        let options = ResizeOptions::new()
            .use_alpha(false)
            .resize_alg(ResizeAlg::Convolution(filter))
            .crop(left, top, width, height);
        // With the kind of pixel named, not found out at run time: else the crate is compiled for them all.
        resizer.resize_typed(&band, &mut small, &options).expect("the part lies within the band");
        cells.extend(small.pixels().iter().map(|pixel| pixel.values()));
        first += rows;
    }
    Ok(cells)
}

/// The part in so many pixels, by the mean of values as they are encoded: a third of the work, and near enough for looking
/// at what a picture is about.
pub(super) fn glance(photo: &Photo, part: Part, size: GridSize) -> RgbaImage {
    let picture = photo.pixels();
    let (width, height) = picture.dimensions();
    let pixels =
        TypedImageRef::<U8x4>::from_buffer(width, height, picture.as_raw()).expect("four bytes a pixel");
    let mut small = TypedImage::<U8x4>::new(size.columns(), size.rows());
    let filter = if part.height > f64::from(size.rows()) { FilterType::Box } else { FilterType::CatmullRom };
    let within = |start: f64, length: f64, most: u32| length.min(f64::from(most) - start);
    let (left, top) = (part.left.max(0.0), part.top.max(0.0));
    // Opacity that is asked for costs a copy of the picture.
    let options = ResizeOptions::new()
        .use_alpha(!photo.is_opaque())
        .resize_alg(ResizeAlg::Convolution(filter))
        .crop(left, top, within(left, part.width, width), within(top, part.height, height));
    Resizer::new().resize_typed(&pixels, &mut small, &options).expect("the part lies within the picture");
    let bytes = small.pixels().iter().flat_map(|pixel| pixel.0).collect();
    RgbaImage::from_raw(size.columns(), size.rows(), bytes).expect("a pixel for each of the glance")
}

/// Linear light, 0 to 1, of an 8-bit sRGB value.
pub(super) fn light(value: u8) -> f32 {
    f32::from(LINEAR[usize::from(value)]) / 65_535.0
}

/// A block of whole pixels.
#[derive(Debug, Clone, Copy)]
struct Bounds {
    left: u32,
    right: u32,
    top: u32,
    bottom: u32,
}

impl Bounds {
    /// The whole pixels that a part touches.
    #[allow(clippy::cast_sign_loss, reason = "a part lies within its picture")]
    fn of(part: Part, picture: &RgbaImage) -> Self {
        // A part that ends within a thousandth of a pixel's edge ends there: the rest is rounding.
        // It holds one pixel at least, however small the part: every picture has one.
        let along = |start: f64, length: f64, most: u32| {
            let first = ((start + 1e-3).floor() as u32).min(most - 1);
            let last = ((start + length - 1e-3).ceil() as u32).clamp(first + 1, most);
            (first, last)
        };
        let (left, right) = along(part.left, part.width, picture.width());
        let (top, bottom) = along(part.top, part.height, picture.height());
        Self { left, right, top, bottom }
    }
}

/// A block of the picture in linear light, in memory that is held from block to block.
fn linear_band<'a, P: Light>(
    picture: &RgbaImage,
    block: &Bounds,
    held: &'a mut Vec<P>,
) -> TypedImageRef<'a, P> {
    let across = picture.width() as usize * 4;
    let (width, height) = (block.right - block.left, block.bottom - block.top);
    let source = &picture.as_raw()[block.top as usize * across..block.bottom as usize * across];
    let table = &*LINEAR;
    held.resize(width as usize * height as usize, P::default());
    held.par_chunks_mut(width as usize).zip(source.par_chunks(across)).for_each(|(row, source)| {
        let (source, _) = source[block.left as usize * 4..block.right as usize * 4].as_chunks::<4>();
        for (pixel, &source) in row.iter_mut().zip(source) {
            *pixel = P::of(source, table);
        }
    });
    TypedImageRef::new(width, height, held).expect("a pixel for each of the block")
}
