//! A picture file becomes a photo: decoded, upright, in sRGB, alpha kept.
//!
//! Owns decoding, limits and colour management; only this module knows decoders. Leaves cropping and size
//! to `frame`.

use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use image::{DynamicImage, RgbaImage};
use serde::Serialize;
use sha2::{Digest as _, Sha256};

use crate::ground::advice::Advice;
use crate::ground::progress::{Progress, Stage, Stopped, aside, ask, tell};

#[cfg(test)]
mod cut;
mod decoded;
mod decoder;
mod jpeg;
mod other;
mod profile;
mod reach;

use decoded::Decoded;
pub use other::Other;

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

/// A photo: upright, straight alpha, 8-bit sRGB.
#[derive(Debug)]
pub struct Photo {
    name: String,
    sha256: String,
    pixels: RgbaImage,
    is_opaque: bool,
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
    /// A few pixels are missing or spoilt.
    Spoilt,
}

/// How far the data of a picture goes that is cut short or damaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// Rows of pixels.
    Rows {
        /// Those that are there.
        there: u32,
        /// All.
        of: u32,
    },
    /// Rows of one of several passes over the picture, each of which makes it finer.
    Pass {
        /// Which, from 1.
        pass: u32,
        /// Its rows that are there.
        there: u32,
        /// All.
        of: u32,
    },
    /// Bytes of the file.
    Bytes {
        /// Those that are there.
        there: u64,
        /// All, by what the file says of itself; there may have been more.
        of: u64,
    },
}

impl std::fmt::Display for Reach {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Rows { there, of } => write!(out, "{there} of its {of} rows of pixels are there"),
            Self::Pass { pass, there, of } => {
                write!(out, "of its pass {pass}, which makes it finer, {there} of {of} rows are there")
            }
            Self::Bytes { there, of } => write!(out, "{there} of at least {of} bytes are there"),
        }
    }
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
    /// It is no picture that can be read.
    #[error("`{name}` is {kind}")]
    Other {
        /// Its name.
        name: String,
        /// What it is.
        kind: Other,
    },
    /// Pixels are missing.
    #[error("`{name}` is cut short or damaged: {reach}")]
    Short {
        /// Its name.
        name: String,
        /// How far it goes.
        reach: Reach,
    },
    /// No thread to decode in.
    #[error("no thread can be begun to read the picture in")]
    Thread(#[source] std::io::Error),
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
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
    #[error("reading the picture takes {} MB of memory; at most {} MB may be used", needed >> 20, limit >> 20)]
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
            Self::Other { kind, .. } => kind.advice(),
            Self::Short { .. } => Advice::WholeFile,
            Self::Thread(_) => Advice::FreeThreads,
            Self::Stopped(_) => Advice::DoAgain,
        }
    }
}

/// The pixels with their opacity. Pictures of red, green and blue are done by themselves: the crate's way for any kind of
/// pixel takes as long as decoding half of a photo.
fn with_opacity(picture: DynamicImage) -> RgbaImage {
    let DynamicImage::ImageRgb8(rgb) = picture else { return picture.into_rgba8() };
    let (width, height) = rgb.dimensions();
    let mut pixels = vec![u8::MAX; width as usize * height as usize * 4];
    let both = pixels.chunks_exact_mut(4).zip(rgb.as_raw().chunks_exact(3));
    both.for_each(|(to, from)| to[..3].copy_from_slice(from));
    RgbaImage::from_raw(width, height, pixels).expect("four bytes a pixel")
}

impl Photo {
    /// Reads a photo from a file.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn open(path: &Path, limits: &Limits, progress: &dyn Progress) -> Result<Self, PhotoError> {
        let fail = |source| PhotoError::Read { path: path.to_owned(), source };
        let file = std::fs::File::open(path).map_err(fail)?;
        if file.metadata().map_err(fail)?.is_dir() {
            return Err(fail(std::io::ErrorKind::IsADirectory.into()));
        }
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        Self::from_reader(&name, file, limits, fail, progress)
    }

    /// Reads a photo from a stream, such as standard input.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn from_stream(
        name: &str,
        stream: impl std::io::Read,
        limits: &Limits,
        progress: &dyn Progress,
    ) -> Result<Self, PhotoError> {
        let fail = |source| PhotoError::Read { path: name.into(), source };
        Self::from_reader(name, stream, limits, fail, progress)
    }

    fn from_reader(
        name: &str,
        reader: impl std::io::Read,
        limits: &Limits,
        fail: impl Fn(std::io::Error) -> PhotoError,
        progress: &dyn Progress,
    ) -> Result<Self, PhotoError> {
        tell(progress, Stage::ReadingPicture, 0, STEPS)?;
        let mut bytes = Vec::new();
        reader.take(limits.max_memory.saturating_add(1)).read_to_end(&mut bytes).map_err(fail)?;
        if bytes.len() as u64 > limits.max_memory {
            return Err(PhotoError::Memory { needed: bytes.len() as u64, limit: limits.max_memory });
        }
        Self::of_shared(name, Arc::new(bytes), limits, progress)
    }

    /// Reads a photo from bytes. The kind of picture is told from the bytes, never from the name; of a moving
    /// picture the first frame is taken, of a file of many pages the first page. A picture of which pixels are missing
    /// is refused, with how far it goes.
    ///
    /// A decoder cannot be asked in the middle: when `progress` wants to stop, it is left behind in a thread of its
    /// own, and its memory is free again when it has ended.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn read(
        name: &str,
        bytes: &[u8],
        limits: &Limits,
        progress: &dyn Progress,
    ) -> Result<Self, PhotoError> {
        Self::of_shared(name, Arc::new(bytes.to_vec()), limits, progress)
    }

    fn of_shared(
        name: &str,
        bytes: Arc<Vec<u8>>,
        limits: &Limits,
        progress: &dyn Progress,
    ) -> Result<Self, PhotoError> {
        if bytes.is_empty() {
            return Err(PhotoError::Empty { name: name.to_owned() });
        }
        if let Some(kind) = Other::of(&bytes) {
            return Err(PhotoError::Other { name: name.to_owned(), kind });
        }
        tell(progress, Stage::ReadingPicture, 1, STEPS)?;
        let decoded = decoded::decoded(name, &bytes, limits, progress)?;
        tell(progress, Stage::ReadingPicture, 2, STEPS)?;
        let mut warnings: Vec<PhotoWarning> = decoded.warning.into_iter().collect();
        let mut picture = match decoded.profile {
            Some(icc) => {
                profile::to_srgb(decoded.picture, &icc, progress)?.unwrap_or_else(|(picture, warning)| {
                    warnings.push(warning);
                    picture
                })
            }
            None => decoded.picture,
        };
        tell(progress, Stage::ReadingPicture, 3, STEPS)?;
        let Decoded { orientation, is_opaque, .. } = decoded;
        let upright = move || {
            picture.apply_orientation(orientation);
            let pixels = with_opacity(picture);
            let is_opaque = is_opaque || pixels.as_chunks::<4>().0.iter().all(|pixel| pixel[3] == u8::MAX);
            (pixels, is_opaque)
        };
        let (pixels, is_opaque) = aside(progress, upright)?.ok_or_else(|| decoded::fell(name))?;
        tell(progress, Stage::ReadingPicture, 4, STEPS)?;
        Ok(Self { name: name.to_owned(), sha256: decoded.sha256, pixels, is_opaque, warnings })
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

    /// Whether no pixel lets anything through.
    #[must_use]
    pub fn is_opaque(&self) -> bool {
        self.is_opaque
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

/// Steps told to [`Progress`]: bytes, pixels, colours, upright.
const STEPS: u64 = 4;

/// SHA-256 of a file's bytes, in hexadecimal.
#[must_use]
pub fn fingerprint(bytes: &[u8]) -> String {
    hexadecimal(Sha256::digest(bytes).as_slice())
}

/// The same, in steps that take a few hundredths of a second.
fn fingerprint_in_steps(bytes: &[u8], progress: &dyn Progress) -> Result<String, Stopped> {
    let mut digest = Sha256::new();
    for part in bytes.chunks(1 << 22) {
        ask(progress)?;
        digest.update(part);
    }
    Ok(hexadecimal(digest.finalize().as_slice()))
}

fn hexadecimal(digest: &[u8]) -> String {
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests;
