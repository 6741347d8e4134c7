//! The decoder for a file, within limits.

use std::io::Cursor;

use image::{ImageDecoder, ImageError, ImageFormat, ImageReader};

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
