//! A picture file becomes a photo: decoded, upright, in sRGB, alpha kept.
//!
//! Owns decoding, limits and colour management; only this module knows decoders. Leaves cropping and size
//! to `frame`.

use std::io::{Cursor, Read as _};
use std::path::{Path, PathBuf};

use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder as _, ImageFormat, ImageReader, RgbaImage};
use serde::Serialize;
use sha2::{Digest as _, Sha256};

use crate::ground::advice::Advice;

mod profile;

/// How much a photo may take.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// The most pixels.
    pub max_pixels: u64,
    /// The most bytes that decoding may take.
    pub max_memory: u64,
}

impl Default for Limits {
    /// 200 million pixels and 2 GiB: above any camera in common use, below what a small machine has.
    fn default() -> Self {
        Self { max_pixels: 200_000_000, max_memory: 2 << 30 }
    }
}

/// The most bytes of a PNG that a row and unpacked notes may take together, 64 MiB: no colour profile in use is
/// a tenth of that, and a note of a few KiB can claim to unpack to any size.
const PNG_NOTES: u64 = 64 << 20;

/// The steps from a file to a photo, for reckoning beforehand what they take.
struct Steps {
    /// Bytes of a pixel as it is decoded.
    pixel: u64,
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
        managing.max(turning).max(managed + 4)
    }
}

/// A photo: upright, straight alpha, 8-bit sRGB.
#[derive(Debug)]
pub struct Photo {
    name: String,
    sha256: String,
    pixels: RgbaImage,
    warnings: Vec<PhotoWarning>,
}

/// Something about the photo that the person should know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum PhotoWarning {
    /// A colour profile that cannot be used: its colours are taken as sRGB.
    Profile,
    /// A profile for inks, where the decoder has already made red, green and blue of them, by a plain conversion.
    Inks,
}

/// A photo that cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum PhotoError {
    /// The file cannot be read.
    #[error("could not read {}", path.display())]
    Read {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// It holds nothing.
    #[error("`{name}` is empty")]
    Empty {
        /// Its name.
        name: String,
    },
    /// It says of itself that it has no width or no height.
    #[error("`{name}` has {width} x {height} pixels")]
    NoPixels {
        /// Its name.
        name: String,
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// It cannot be decoded.
    #[error("`{name}` cannot be read as a picture")]
    Decode {
        /// Its name.
        name: String,
        /// Why.
        source: image::ImageError,
    },
    /// Too many pixels.
    #[error("the picture has {width} x {height} = {pixels} pixels; at most {limit} are taken")]
    Pixels {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
        /// How many.
        pixels: u64,
        /// The limit.
        limit: u64,
    },
    /// Too large for the memory it may take.
    #[error("reading the picture takes {} MiB of memory; at most {} MiB may be used", needed >> 20, limit >> 20)]
    Memory {
        /// Bytes needed.
        needed: u64,
        /// Bytes allowed.
        limit: u64,
    },
}

impl PhotoError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Read { .. } => Advice::GivePicture,
            Self::Empty { .. } | Self::NoPixels { .. } | Self::Decode { .. } => Advice::KnownPicture,
            Self::Pixels { .. } => Advice::FewerPixels,
            Self::Memory { .. } => Advice::SmallerPicture,
        }
    }
}

impl Photo {
    /// Reads a photo from a file.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn open(path: &Path, limits: &Limits) -> Result<Self, PhotoError> {
        let fail = |source| PhotoError::Read { path: path.to_owned(), source };
        let file = std::fs::File::open(path).map_err(fail)?;
        if file.metadata().map_err(fail)?.is_dir() {
            return Err(fail(std::io::ErrorKind::IsADirectory.into()));
        }
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        Self::from_reader(&name, file, limits, fail)
    }

    /// Reads a photo from a stream, such as standard input.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn from_stream(name: &str, stream: impl std::io::Read, limits: &Limits) -> Result<Self, PhotoError> {
        Self::from_reader(name, stream, limits, |source| PhotoError::Read { path: name.into(), source })
    }

    fn from_reader(
        name: &str,
        reader: impl std::io::Read,
        limits: &Limits,
        fail: impl Fn(std::io::Error) -> PhotoError,
    ) -> Result<Self, PhotoError> {
        let mut bytes = Vec::new();
        reader.take(limits.max_memory.saturating_add(1)).read_to_end(&mut bytes).map_err(fail)?;
        if bytes.len() as u64 > limits.max_memory {
            return Err(PhotoError::Memory { needed: bytes.len() as u64, limit: limits.max_memory });
        }
        Self::read(name, &bytes, limits)
    }

    /// Reads a photo from bytes. The kind of picture is told from the bytes, never from the name; of a moving
    /// picture the first frame is taken, of a file of many pages the first page.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn read(name: &str, bytes: &[u8], limits: &Limits) -> Result<Self, PhotoError> {
        if bytes.is_empty() {
            return Err(PhotoError::Empty { name: name.to_owned() });
        }
        let fail = |source| PhotoError::Decode { name: name.to_owned(), source };
        let mut reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|source| fail(source.into()))?;
        let mut allowed = image::Limits::no_limits();
        allowed.max_alloc = Some(match reader.format() {
            // Counts for rows and packed notes alone here, not for the pixels.
            Some(ImageFormat::Png) => limits.max_memory.min(PNG_NOTES),
            _ => limits.max_memory,
        });
        reader.limits(allowed);
        let mut decoder = reader.into_decoder().map_err(fail)?;
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
        let icc = decoder.icc_profile().ok().flatten();
        let pixel = decoder.color_type().bytes_per_pixel().into();
        let steps =
            Steps { pixel, has_profile: icc.is_some(), is_turned: orientation != Orientation::NoTransforms };
        let needed = (bytes.len() as u64).saturating_add(pixels.saturating_mul(steps.bytes_a_pixel()));
        if needed > limits.max_memory {
            return Err(PhotoError::Memory { needed, limit: limits.max_memory });
        }
        let mut warnings = Vec::new();
        let picture = DynamicImage::from_decoder(decoder).map_err(fail)?;
        let mut picture = match icc {
            Some(icc) => profile::to_srgb(picture, &icc).unwrap_or_else(|(picture, warning)| {
                warnings.push(warning);
                picture
            }),
            None => picture,
        };
        picture.apply_orientation(orientation);
        let (name, sha256) = (name.to_owned(), fingerprint(bytes));
        Ok(Self { name, sha256, pixels: picture.into_rgba8(), warnings })
    }

    /// The file's name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// SHA-256 of the file, in hexadecimal.
    #[must_use]
    pub fn sha256(&self) -> &str {
        &self.sha256
    }

    /// The pixels.
    #[must_use]
    pub fn pixels(&self) -> &RgbaImage {
        &self.pixels
    }

    /// The pixels, for keeps.
    #[must_use]
    pub fn into_pixels(self) -> RgbaImage {
        self.pixels
    }

    /// What the person should know.
    #[must_use]
    pub fn warnings(&self) -> &[PhotoWarning] {
        &self.warnings
    }
}

/// SHA-256 of a file's bytes, in hexadecimal.
#[must_use]
pub fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests;
