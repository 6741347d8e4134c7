//! Lighter or darker, stronger or flatter, more or less colourful.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::ground::colour::Lab32;

/// A change of tone, each part in per cent, -100 to 100; 0 leaves the picture as it is.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Tone {
    /// Added to L* (which runs from 0 to 100).
    pub lightness: f64,
    /// How much farther from middle grey (L* = 50) each lightness is moved.
    pub contrast: f64,
    /// How much farther from grey each colour is moved.
    pub saturation: f64,
}

/// A text that is no change of tone.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{text}` is no change of tone; give such as lightness=10, contrast=-20 or saturation=15 (-100 to 100)"
)]
pub struct ToneError {
    /// What was given.
    pub text: String,
}

impl Tone {
    /// The colour of a cell after the change, L* kept within 0 to 100.
    pub(super) fn apply(&self, colour: Lab32) -> Lab32 {
        if *self == Self::default() {
            return colour;
        }
        let (lightness, contrast, saturation) =
            (self.lightness as f32, 1.0 + self.contrast as f32 / 100.0, 1.0 + self.saturation as f32 / 100.0);
        let l = (50.0 + (colour.l - 50.0) * contrast + lightness).clamp(0.0, 100.0);
        Lab32 { l, a: colour.a * saturation, b: colour.b * saturation }
    }

    /// Both changes.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            lightness: self.lightness + other.lightness,
            contrast: self.contrast + other.contrast,
            saturation: self.saturation + other.saturation,
        }
    }
}

impl FromStr for Tone {
    type Err = ToneError;
    fn from_str(text: &str) -> Result<Self, ToneError> {
        let bad = || ToneError { text: text.to_owned() };
        let (name, value) = text.split_once('=').ok_or_else(bad)?;
        let value: f64 = value.trim().parse().map_err(|_| bad())?;
        if !(-100.0..=100.0).contains(&value) {
            return Err(bad());
        }
        let mut tone = Self::default();
        match name.trim() {
            "lightness" => tone.lightness = value,
            "contrast" => tone.contrast = value,
            "saturation" => tone.saturation = value,
            _ => return Err(bad()),
        }
        Ok(tone)
    }
}

impl fmt::Display for Tone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "lightness={},contrast={},saturation={}", self.lightness, self.contrast, self.saturation)
    }
}
