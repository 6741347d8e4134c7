//! The decoder for a file, within limits.

use std::io::Cursor;

use image::{ImageDecoder, ImageError, ImageFormat, ImageReader, RgbaImage};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::Limits;

/// The most bytes of a PNG that a row and unpacked notes may take together, 64 MiB: no colour profile in use is
/// a tenth of that, and a note of a few KiB can claim to unpack to any size.
const PNG_NOTES: u64 = 64 << 20;

/// The decoder for a file.
pub(super) fn decoder<'a>(
    bytes: &'a [u8],
    limits: &Limits,
) -> Result<(Option<ImageFormat>, Box<dyn ImageDecoder + 'a>), ImageError> {
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format()?;
    let format = reader.format();
    let mut allowed = image::Limits::no_limits();
    allowed.max_alloc = Some(match format {
        // Counts for rows and packed notes alone here, not for the pixels.
        Some(ImageFormat::Png) => limits.max_memory.min(PNG_NOTES),
        _ => limits.max_memory,
    });
    reader.limits(allowed);
    Ok((format, Box::new(reader.into_decoder()?)))
}

/// The pixels of a usual photo with their opacity, as they are kept, by the decoder that `image` has too, which gives none:
/// adding it later takes as long as decoding half of the photo. Nothing where the photo is not of so many pixels, is not of
/// light and two colours (ITU-T T.871), or is broken: then `image` has the word.
pub(super) fn usual(bytes: &[u8], (width, height): (u32, u32)) -> Option<RgbaImage> {
    let options = DecoderOptions::default()
        .set_strict_mode(false)
        .set_max_width(width as usize)
        .set_max_height(height as usize)
        .jpeg_set_out_colorspace(ColorSpace::RGBA);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().ok()?;
    let all = width as usize * height as usize * 4;
    if decoder.input_colorspace() != Some(ColorSpace::YCbCr) || decoder.output_buffer_size() != Some(all) {
        return None;
    }
    let mut pixels = vec![0; all];
    decoder.decode_into(&mut pixels).ok()?;
    RgbaImage::from_raw(width, height, pixels)
}
