//! `--detail`: which part of the picture is protected.

use std::path::{Path, PathBuf};
use std::str::FromStr;

use brede::desk::{Crop, CropError};

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
