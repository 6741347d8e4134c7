//! Colour profiles: what the pixels mean, brought to sRGB by relative colorimetry.

use image::{DynamicImage, ImageBuffer, Rgba};
use moxcms::{ColorProfile, DataColorSpace, Layout, RenderingIntent, TransformOptions};
use rayon::prelude::*;

use super::PhotoWarning;

/// Brings a picture from its profile to sRGB; gives it back with a warning where the profile is of no use.
pub(super) fn to_srgb(
    picture: DynamicImage,
    icc: &[u8],
) -> Result<DynamicImage, (DynamicImage, PhotoWarning)> {
    let Ok(profile) = ColorProfile::new_from_slice(icc) else { return Err((picture, PhotoWarning::Profile)) };
    let done = match profile.color_space {
        DataColorSpace::Rgb => rgb_to_srgb(picture, &profile),
        // A grey profile is a tone curve; as red, green and blue it is the same curve three times.
        DataColorSpace::Gray => grey_to_srgb(picture, &profile),
        // The decoder has turned inks into red, green and blue already.
        DataColorSpace::Cmyk => return Err((picture, PhotoWarning::Inks)),
        _ => Err(picture),
    };
    done.map_err(|picture| (picture, PhotoWarning::Profile))
}

fn options() -> TransformOptions {
    TransformOptions { rendering_intent: RenderingIntent::RelativeColorimetric, ..Default::default() }
}

fn rgb_to_srgb(picture: DynamicImage, profile: &ColorProfile) -> Result<DynamicImage, DynamicImage> {
    let srgb = ColorProfile::new_srgb();
    let Ok(eight) = profile.create_transform_8bit(Layout::Rgba, &srgb, Layout::Rgba, options()) else {
        return Err(picture);
    };
    if is_idle(|from, to| eight.transform(from, to).is_ok()) {
        return Ok(picture);
    }
    // Deep pictures are often in linear light or wide primaries: at 8 bits their shadows would be lost first.
    let (done, picture): (bool, DynamicImage) = if picture.color().bytes_per_pixel() > 4 {
        let Ok(deep) = profile.create_transform_16bit(Layout::Rgba, &srgb, Layout::Rgba, options()) else {
            return Err(picture);
        };
        let mut pixels = picture.into_rgba16();
        (by_rows(&mut pixels, |from, to| deep.transform(from, to).is_ok()), pixels.into())
    } else {
        let mut pixels = picture.into_rgba8();
        (by_rows(&mut pixels, |from, to| eight.transform(from, to).is_ok()), pixels.into())
    };
    if done { Ok(picture) } else { Err(picture) }
}

/// Changes a picture in place, rows side by side; whether all of them could be.
fn by_rows<T: image::Primitive + Send + Sync>(
    pixels: &mut ImageBuffer<Rgba<T>, Vec<T>>,
    transform: impl Fn(&[T], &mut [T]) -> bool + Sync,
) -> bool
where
    Rgba<T>: image::Pixel<Subpixel = T>,
{
    let row = (pixels.width() as usize * 4).max(1);
    pixels.par_chunks_mut(row).all(|row| {
        let from = row.to_vec();
        transform(&from, row)
    })
}

/// Applies a grey profile as a table of 256 tones.
fn grey_to_srgb(picture: DynamicImage, profile: &ColorProfile) -> Result<DynamicImage, DynamicImage> {
    let srgb = ColorProfile::new_srgb();
    let Ok(transform) = profile.create_transform_8bit(Layout::Gray, &srgb, Layout::Rgb, options()) else {
        return Err(picture);
    };
    let tones: Vec<u8> = (0..=255).collect();
    let mut table = vec![0; 256 * 3];
    if transform.transform(&tones, &mut table).is_err() {
        return Err(picture);
    }
    let mut pixels: ImageBuffer<Rgba<u8>, Vec<u8>> = picture.into_rgba8();
    for pixel in pixels.pixels_mut() {
        for channel in &mut pixel.0[..3] {
            *channel = table[usize::from(*channel) * 3];
        }
    }
    Ok(pixels.into())
}

/// Whether a transform leaves greys and full colours as they are, within one step: such a profile is sRGB by
/// another name, and pixels that it would shift by rounding are better left alone.
fn is_idle(transform: impl Fn(&[u8], &mut [u8]) -> bool) -> bool {
    let mut from = Vec::new();
    for tone in 0..=255u8 {
        from.extend([tone, tone, tone, 255]);
        for channel in 0..3 {
            let mut pixel = [0, 0, 0, 255];
            pixel[channel] = tone;
            from.extend(pixel);
        }
    }
    let mut to = vec![0; from.len()];
    transform(&from, &mut to) && from.iter().zip(&to).all(|(from, to)| from.abs_diff(*to) <= 1)
}
