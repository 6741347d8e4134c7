//! A picture file becomes a photo: decoded, upright, in sRGB, alpha kept.

use std::fmt;
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use image::{DynamicImage, ImageDecoder as _, ImageReader, RgbaImage};
use sha2::{Digest as _, Sha256};

/// How much a photo may take.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// The most pixels.
    pub max_pixels: u64,
    /// The most bytes that decoding may take.
    pub max_memory: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { max_pixels: 200_000_000, max_memory: 2 << 30 }
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
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoWarning {
    /// A colour profile that cannot be used.
    #[error("the picture's colour profile cannot be used; its colours are taken as sRGB")]
    Profile,
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
    /// It cannot be decoded.
    #[error("`{name}` cannot be read as a picture")]
    Decode {
        /// Its name.
        name: String,
        /// Why.
        source: image::ImageError,
    },
    /// Too many pixels.
    #[error("the picture has {pixels} pixels; at most {limit} are taken")]
    Pixels {
        /// How many.
        pixels: u64,
        /// The limit.
        limit: u64,
    },
}

impl PhotoError {
    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::Read { .. } => "give the path of a picture file".into(),
            Self::Decode { .. } => {
                "give a JPEG, PNG, WebP, TIFF, GIF or BMP file that opens elsewhere".into()
            }
            Self::Pixels { .. } => "make the picture smaller, or lift the limit with --max-pixels".into(),
        }
    }
}

impl Photo {
    /// Reads a photo from a file.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn open(path: &Path, limits: &Limits) -> Result<Self, PhotoError> {
        let bytes =
            std::fs::read(path).map_err(|source| PhotoError::Read { path: path.to_owned(), source })?;
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        Self::read(&name, &bytes, limits)
    }

    /// Reads a photo from bytes.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn read(name: &str, bytes: &[u8], limits: &Limits) -> Result<Self, PhotoError> {
        let fail = |source| PhotoError::Decode { name: name.to_owned(), source };
        let reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|source| fail(source.into()))?;
        let mut decoder = reader.into_decoder().map_err(fail)?;
        let (width, height) = decoder.dimensions();
        let pixels = u64::from(width) * u64::from(height);
        if pixels > limits.max_pixels {
            return Err(PhotoError::Pixels { pixels, limit: limits.max_pixels });
        }
        let orientation = decoder.orientation().map_err(fail)?;
        let mut picture = DynamicImage::from_decoder(decoder).map_err(fail)?;
        picture.apply_orientation(orientation);
        let sha256 = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        Ok(Self { name: name.to_owned(), sha256, pixels: picture.into_rgba8(), warnings: Vec::new() })
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

    /// What the person should know.
    #[must_use]
    pub fn warnings(&self) -> &[PhotoWarning] {
        &self.warnings
    }
}

/// A part of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Crop(String);

impl FromStr for Crop {
    type Err = std::convert::Infallible;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Ok(Self(text.to_owned()))
    }
}

impl fmt::Display for Crop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
