//! How far a picture goes that its decoder has given up.

use std::cell::Cell;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};

use image::{ColorType, ImageDecoder, ImageError, ImageFormat, ImageResult};

use super::decoder::decoder;
use super::{Limits, Reach};

/// A decoder that says how far it came where it gives up, and does not give up where nothing but the end of the data is
/// missing.
pub(super) struct Measured<'a> {
    pub(super) decoder: Box<dyn ImageDecoder + 'a>,
    pub(super) format: Option<ImageFormat>,
    pub(super) bytes: &'a [u8],
    pub(super) limits: Limits,
    /// How far it came, where that can be told: the rows that were filled, or else the bytes, against what the file
    /// says of itself.
    pub(super) reach: &'a Cell<Option<Reach>>,
}

impl ImageDecoder for Measured<'_> {
    fn dimensions(&self) -> (u32, u32) {
        self.decoder.dimensions()
    }

    fn color_type(&self) -> ColorType {
        self.decoder.color_type()
    }

    fn read_image(self, pixels: &mut [u8]) -> ImageResult<()> {
        let Err(error) = self.decoder.read_image(pixels) else { return Ok(()) };
        // The decoder of JPEGs fills rows that are not there, and what those lack was seen before.
        let is_broken = matches!(error, ImageError::Decoding(_) | ImageError::IoError(_));
        if !is_broken || self.format == Some(ImageFormat::Jpeg) {
            return Err(error);
        }
        match rows(self.bytes, &self.limits) {
            Some((there, of)) if there == of => return Ok(()),
            Some((there, of)) if there > 0 => self.reach.set(Some(Reach::Rows { there, of })),
            none => {
                let none = none.map(|(there, of)| Reach::Rows { there, of });
                self.reach.set(by_its_head(self.bytes).or(none));
            }
        }
        Err(error)
    }

    fn read_image_boxed(self: Box<Self>, pixels: &mut [u8]) -> ImageResult<()> {
        (*self).read_image(pixels)
    }
}

/// Rows that a decoder fills before it gives up: those that come out alike whatever stood there before. None is filled
/// by those that hand over all at the end. Gives the rows that are filled, and all.
fn rows(bytes: &[u8], limits: &Limits) -> Option<(u32, u32)> {
    let filled = |before: u8| {
        let (_, decoder) = decoder(bytes, limits).ok()?;
        let (of, size) = (decoder.dimensions().1, usize::try_from(decoder.total_bytes()).ok()?);
        let mut pixels = vec![before; size];
        decoder.read_image(&mut pixels).err()?;
        let row = (size / (of as usize).max(1)).max(1);
        let rows = pixels.chunks_exact(row).map(|row| {
            let mut hasher = DefaultHasher::new();
            row.hash(&mut hasher);
            hasher.finish()
        });
        Some((of, rows.collect::<Vec<u64>>()))
    };
    let (of, dark) = filled(0)?;
    let (_, light) = filled(u8::MAX)?;
    let there = dark.iter().zip(&light).filter(|(dark, light)| dark == light).count() as u32;
    Some((there.min(of), of))
}

/// Bytes that are there, where the head says that there were more.
pub(super) fn by_its_head(bytes: &[u8]) -> Option<Reach> {
    let there = bytes.len() as u64;
    let of = match image::guess_format(bytes).ok()? {
        // The size of what follows (RFC 9649, 2.4).
        ImageFormat::WebP => number(bytes, 4, u32::from_le_bytes)? + 8,
        ImageFormat::Bmp => number(bytes, 2, u32::from_le_bytes)?,
        // Where the directory stands (TIFF revision 6.0, section 2): seldom before the pixels; two bytes at least.
        ImageFormat::Tiff if bytes.starts_with(b"II") => number(bytes, 4, u32::from_le_bytes)? + 2,
        ImageFormat::Tiff => number(bytes, 4, u32::from_be_bytes)? + 2,
        _ => return None,
    };
    (of > there).then_some(Reach::Bytes { there, of })
}

fn number(bytes: &[u8], at: usize, read: fn([u8; 4]) -> u32) -> Option<u64> {
    bytes.get(at..)?.first_chunk::<4>().map(|four| read(*four).into())
}
