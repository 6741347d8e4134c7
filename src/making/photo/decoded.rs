//! Decoding within limits, in a thread that can be left behind.

use std::cell::Cell;
use std::sync::Arc;
use std::sync::mpsc::sync_channel;

use image::metadata::Orientation;
use image::{ColorType, DynamicImage, ImageDecoder, ImageError, ImageFormat};

use super::decoder::{self, decoder};
use super::jpeg::{self, Extent};
use super::reach::{self, Measured};
use super::{Limits, PhotoError, PhotoWarning, Reach, fingerprint_in_steps};
use crate::ground::progress::{Progress, wait_for};

/// What a decoder gave.
pub(super) struct Decoded {
    pub(super) picture: DynamicImage,
    pub(super) orientation: Orientation,
    pub(super) profile: Option<Vec<u8>>,
    /// Whether it is known that no pixel lets anything through.
    pub(super) is_opaque: bool,
    pub(super) warning: Option<PhotoWarning>,
    /// SHA-256 of the file, in hexadecimal.
    pub(super) sha256: String,
}

/// The steps from a file to a photo, for reckoning beforehand what they take.
struct Steps {
    /// Bytes of a pixel as it is decoded.
    pixel: u64,
    /// Whether that is as it is kept.
    is_as_kept: bool,
    has_profile: bool,
    is_turned: bool,
}

impl Steps {
    /// The most bytes a pixel that lie in memory at once: each step holds what it reads and what it writes.
    fn bytes_a_pixel(&self) -> u64 {
        // Deep pictures are brought to sRGB at 16 bits a channel.
        let managed = match (self.has_profile, self.pixel > 4) {
            (false, _) => self.pixel,
            (true, false) => 4,
            (true, true) => 8,
        };
        let managing = if self.has_profile { self.pixel + managed } else { self.pixel };
        let turning = if self.is_turned { 2 * managed } else { managed };
        let keeping = if self.is_as_kept { 4 } else { managed + 4 };
        managing.max(turning).max(keeping)
    }
}

/// Decodes a picture of which no pixel is missing.
pub(super) fn decoded(
    name: &str,
    bytes: &Arc<Vec<u8>>,
    limits: &Limits,
    progress: &dyn Progress,
) -> Result<Decoded, PhotoError> {
    let ((begin, begun), (end, ended)) = (sync_channel(1), sync_channel(1));
    let (own_name, own_bytes, own_limits) = (name.to_owned(), Arc::clone(bytes), *limits);
    let work = move || {
        // Nobody listens any more where the job was stopped.
        match opened(&own_name, &own_bytes, &own_limits) {
            Ok(opened) => {
                _ = begin.send(opened.format);
                _ = end.send(opened.finish(&own_name, &own_bytes, &own_limits));
            }
            Err(error) => _ = end.send(Err(error)),
        }
    };
    std::thread::Builder::new().name("brede decodes".to_owned()).spawn(work).map_err(PhotoError::Thread)?;
    // Beside the decoder, which would fill with grey what is missing.
    let extent = match wait_for(&begun, progress)? {
        Some(Some(ImageFormat::Jpeg)) => jpeg::extent(bytes, progress)?,
        _ => Extent::Unknown,
    };
    let short = |reach| PhotoError::Short { name: name.to_owned(), reach };
    match extent {
        Extent::Short { pass: Some(pass), rows: there, of } => {
            return Err(short(Reach::Pass { pass, there, of }));
        }
        Extent::Short { pass: None, rows: there, of } => return Err(short(Reach::Rows { there, of })),
        _ => {}
    }
    let sha256 = fingerprint_in_steps(bytes, progress)?;
    let Finished { picture, orientation, profile, is_opaque } =
        wait_for(&ended, progress)?.unwrap_or_else(|| Err(fell(name)))?;
    let warning = (extent == Extent::Nearly).then_some(PhotoWarning::Spoilt);
    Ok(Decoded { picture, orientation, profile, is_opaque, warning, sha256 })
}

/// That a decoder panicked.
pub(super) fn fell(name: &str) -> PhotoError {
    let source = std::io::Error::other("its decoder fell over it");
    PhotoError::Decode { name: name.to_owned(), source: source.into() }
}

/// What the thread gives.
struct Finished {
    picture: DynamicImage,
    orientation: Orientation,
    profile: Option<Vec<u8>>,
    is_opaque: bool,
}

/// A file whose headers were read and found within the limits.
struct Opened<'a> {
    format: Option<ImageFormat>,
    decoder: Box<dyn ImageDecoder + 'a>,
    orientation: Orientation,
    profile: Option<Vec<u8>>,
}

fn opened<'a>(name: &str, bytes: &'a [u8], limits: &Limits) -> Result<Opened<'a>, PhotoError> {
    let fail = |source| refused(name, source, reach::by_its_head(bytes));
    let (format, mut decoder) = decoder(bytes, limits).map_err(fail)?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 {
        return Err(PhotoError::NoPixels { name: name.to_owned(), width, height });
    }
    if pixels > limits.max_pixels {
        return Err(PhotoError::Pixels { width, height, pixels, limit: limits.max_pixels });
    }
    // A broken note on how the camera was held, or a broken profile, must not cost the picture.
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let profile = decoder.icc_profile().ok().flatten();
    let by_itself = is_usual(format, decoder.color_type());
    let pixel = if by_itself { 4 } else { decoder.color_type().bytes_per_pixel().into() };
    let is_turned = orientation != Orientation::NoTransforms;
    let is_as_kept = by_itself || decoder.color_type() == ColorType::Rgba8;
    let steps = Steps { pixel, is_as_kept, has_profile: profile.is_some(), is_turned };
    let needed = (bytes.len() as u64).saturating_add(pixels.saturating_mul(steps.bytes_a_pixel()));
    if needed > limits.max_memory {
        return Err(PhotoError::Memory { needed, limit: limits.max_memory });
    }
    Ok(Opened { format, decoder, orientation, profile })
}

/// Whether a file is the usual photo, which is decoded by itself.
fn is_usual(format: Option<ImageFormat>, colour: ColorType) -> bool {
    format == Some(ImageFormat::Jpeg) && colour == ColorType::Rgb8
}

impl Opened<'_> {
    fn finish(self, name: &str, bytes: &[u8], limits: &Limits) -> Result<Finished, PhotoError> {
        let Self { format, decoder, orientation, profile } = self;
        if is_usual(format, decoder.color_type())
            && let Some(picture) = decoder::usual(bytes, decoder.dimensions())
        {
            return Ok(Finished { picture: picture.into(), orientation, profile, is_opaque: true });
        }
        let reach = Cell::new(None);
        let measured = Measured { decoder, format, bytes, limits: *limits, reach: &reach };
        let picture =
            DynamicImage::from_decoder(measured).map_err(|source| refused(name, source, reach.get()))?;
        let is_opaque = !picture.color().has_alpha();
        Ok(Finished { picture, orientation, profile, is_opaque })
    }
}

/// What a decoder gave up, with how far it goes where that is known.
fn refused(name: &str, source: ImageError, reach: Option<Reach>) -> PhotoError {
    let name = name.to_owned();
    match (source, reach) {
        (ImageError::Decoding(_) | ImageError::IoError(_), Some(reach)) => PhotoError::Short { name, reach },
        (source, _) => PhotoError::Decode { name, source },
    }
}
