//! Colour profiles: what the pixels mean, brought to sRGB by relative colorimetry.

use image::{DynamicImage, ImageBuffer, Rgba};
use moxcms::{ColorProfile, DataColorSpace, Layout, RenderingIntent, TransformOptions};
use rayon::prelude::*;

/// Whether a profile describes inks (CMYK): the decoder has turned those into red, green and blue already.
pub(super) fn speaks_of_inks(icc: Option<&[u8]>) -> bool {
    icc.and_then(|icc| ColorProfile::new_from_slice(icc).ok())
        .is_some_and(|profile| profile.color_space == DataColorSpace::Cmyk)
}

/// Brings a picture from its profile to sRGB; gives it back as it was where the profile is of no use.
pub(super) fn to_srgb(picture: DynamicImage, icc: &[u8]) -> Result<DynamicImage, DynamicImage> {
    let Ok(profile) = ColorProfile::new_from_slice(icc) else { return Err(picture) };
    match profile.color_space {
        DataColorSpace::Rgb => {}
        // A grey profile is a tone curve; as red, green and blue it is the same curve three times.
        DataColorSpace::Gray => return grey_to_srgb(picture, &profile),
        _ => return Err(picture),
    }
    let options =
        TransformOptions { rendering_intent: RenderingIntent::RelativeColorimetric, ..Default::default() };
    let srgb = ColorProfile::new_srgb();
    let Ok(eight) = profile.create_transform_8bit(Layout::Rgba, &srgb, Layout::Rgba, options) else {
        return Err(picture);
    };
    if is_idle(|from, to| eight.transform(from, to).is_ok()) {
        return Ok(picture);
    }
    // Deep pictures are often in linear light or wide primaries: at 8 bits their shadows would be lost first.
    if picture.color().bytes_per_pixel() > 4 {
        let Ok(deep) = profile.create_transform_16bit(Layout::Rgba, &srgb, Layout::Rgba, options) else {
            return Err(picture);
        };
        let mut pixels = picture.into_rgba16();
        let row = pixels.width() as usize * 4;
        let done = pixels.par_chunks_mut(row.max(1)).all(|row| {
            let from = row.to_vec();
            deep.transform(&from, row).is_ok()
        });
        let picture = DynamicImage::from(pixels);
        return if done { Ok(picture) } else { Err(picture) };
    }
    let mut pixels = picture.into_rgba8();
    let row = pixels.width() as usize * 4;
    let done = pixels.par_chunks_mut(row.max(1)).all(|row| {
        let from = row.to_vec();
        eight.transform(&from, row).is_ok()
    });
    let picture = DynamicImage::from(pixels);
    if done { Ok(picture) } else { Err(picture) }
}

/// Applies a grey profile as a table of 256 tones.
fn grey_to_srgb(picture: DynamicImage, profile: &ColorProfile) -> Result<DynamicImage, DynamicImage> {
    let options =
        TransformOptions { rendering_intent: RenderingIntent::RelativeColorimetric, ..Default::default() };
    let srgb = ColorProfile::new_srgb();
    let Ok(transform) = profile.create_transform_8bit(Layout::Gray, &srgb, Layout::Rgb, options) else {
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
