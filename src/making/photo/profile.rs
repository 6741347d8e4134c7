//! Colour profiles: what the pixels mean, brought to sRGB by relative colorimetry.

use image::{DynamicImage, ImageBuffer, Rgba};
use moxcms::{ColorProfile, DataColorSpace, Layout, RenderingIntent, TransformOptions};
use rayon::prelude::*;

use super::PhotoWarning;
use crate::ground::progress::{Progress, Stopped, ask};

/// A picture brought to sRGB, or as it was, with what is to be said of it.
type Managed = Result<DynamicImage, (DynamicImage, PhotoWarning)>;

/// Brings a picture from its profile to sRGB; gives it back with a warning where the profile is of no use.
pub(super) fn to_srgb(
    picture: DynamicImage,
    icc: &[u8],
    progress: &dyn Progress,
) -> Result<Managed, Stopped> {
    let Ok(profile) = ColorProfile::new_from_slice(icc) else {
        return Ok(Err((picture, PhotoWarning::Profile)));
    };
    let done = match profile.color_space {
        DataColorSpace::Rgb => rgb_to_srgb(picture, &profile, progress)?,
        // A grey profile is a tone curve; as red, green and blue it is the same curve three times.
        DataColorSpace::Gray => grey_to_srgb(picture, &profile, progress)?,
        // The decoder has turned inks into red, green and blue already.
        DataColorSpace::Cmyk => return Ok(Err((picture, PhotoWarning::Inks))),
        _ => Err(picture),
    };
    Ok(done.map_err(|picture| (picture, PhotoWarning::Profile)))
}

fn options() -> TransformOptions {
    TransformOptions { rendering_intent: RenderingIntent::RelativeColorimetric, ..Default::default() }
}

/// The picture in sRGB, or as it was where the profile is of no use.
type Tried = Result<DynamicImage, DynamicImage>;

fn rgb_to_srgb(
    picture: DynamicImage,
    profile: &ColorProfile,
    progress: &dyn Progress,
) -> Result<Tried, Stopped> {
    let srgb = ColorProfile::new_srgb();
    let Ok(eight) = profile.create_transform_8bit(Layout::Rgba, &srgb, Layout::Rgba, options()) else {
        return Ok(Err(picture));
    };
    if is_idle(|from, to| eight.transform(from, to).is_ok()) {
        return Ok(Ok(picture));
    }
    // Deep pictures are often in linear light or wide primaries: at 8 bits their shadows would be lost first.
    let (done, picture): (bool, DynamicImage) = if picture.color().bytes_per_pixel() > 4 {
        let Ok(deep) = profile.create_transform_16bit(Layout::Rgba, &srgb, Layout::Rgba, options()) else {
            return Ok(Err(picture));
        };
        let mut pixels = picture.into_rgba16();
        (by_rows(&mut pixels, |from, to| deep.transform(from, to).is_ok(), progress)?, pixels.into())
    } else {
        let mut pixels = picture.into_rgba8();
        (by_rows(&mut pixels, |from, to| eight.transform(from, to).is_ok(), progress)?, pixels.into())
    };
    Ok(if done { Ok(picture) } else { Err(picture) })
}

/// Changes a picture in place, rows side by side; whether all of them could be.
fn by_rows<T: image::Primitive + Send + Sync>(
    pixels: &mut ImageBuffer<Rgba<T>, Vec<T>>,
    transform: impl Fn(&[T], &mut [T]) -> bool + Sync,
    progress: &dyn Progress,
) -> Result<bool, Stopped>
where
    Rgba<T>: image::Pixel<Subpixel = T>,
{
    let row = (pixels.width() as usize * 4).max(1);
    let done = pixels.par_chunks_mut(row).try_for_each(|row| {
        ask(progress).map_err(Some)?;
        let from = row.to_vec();
        transform(&from, row).then_some(()).ok_or(None)
    });
    match done {
        Ok(()) => Ok(true),
        Err(None) => Ok(false),
        Err(Some(stopped)) => Err(stopped),
    }
}

/// Applies a grey profile as a table of 256 tones.
fn grey_to_srgb(
    picture: DynamicImage,
    profile: &ColorProfile,
    progress: &dyn Progress,
) -> Result<Tried, Stopped> {
    let srgb = ColorProfile::new_srgb();
    let Ok(transform) = profile.create_transform_8bit(Layout::Gray, &srgb, Layout::Rgb, options()) else {
        return Ok(Err(picture));
    };
    let tones: Vec<u8> = (0..=255).collect();
    let mut table = vec![0; 256 * 3];
    if transform.transform(&tones, &mut table).is_err() {
        return Ok(Err(picture));
    }
    let mut pixels: ImageBuffer<Rgba<u8>, Vec<u8>> = picture.into_rgba8();
    for row in pixels.rows_mut() {
        ask(progress)?;
        for channel in row.flat_map(|pixel| &mut pixel.0[..3]) {
            *channel = table[usize::from(*channel) * 3];
        }
    }
    Ok(Ok(pixels.into()))
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
