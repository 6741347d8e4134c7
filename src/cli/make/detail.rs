//! `--detail`: which part of the picture is protected.

use std::fmt;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use brede::making::frame::{Crop, CropError, Protected};

use super::{Failure, LimitArgs};

/// What `--detail` may name.
#[derive(Debug, Clone)]
pub(super) enum Detail {
    Part(Crop),
    Mask(PathBuf),
}

impl FromStr for Detail {
    type Err = CropError;

    /// Four measures are a part; other text is the name of a file, if it is not meant as measures.
    fn from_str(text: &str) -> Result<Self, CropError> {
        match text.parse() {
            Ok(crop) => Ok(Self::Part(crop)),
            Err(error) if Path::new(text).extension().is_none() || text.matches(',').count() == 3 => {
                Err(error)
            }
            Err(_) => Ok(Self::Mask(text.into())),
        }
    }
}

impl fmt::Display for Detail {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Part(crop) => crop.fmt(f),
            Self::Mask(path) => path.display().fmt(f),
        }
    }
}

impl Detail {
    /// The area itself; a mask is read.
    pub(super) fn protected(&self, limits: &LimitArgs) -> Result<Protected, Failure> {
        match self {
            Self::Part(crop) => Ok(Protected::Part(*crop)),
            Self::Mask(path) => Ok(Protected::Mask(limits.open(path)?.into_pixels())),
        }
    }
}
