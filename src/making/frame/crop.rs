//! The part of a picture to use, as a person writes it.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::Part;
use crate::ground::advice::Advice;

/// One measure of a crop.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Measure {
    Pixels(f64),
    PerCent(f64),
}

impl Measure {
    /// In pixels, along a side of so many.
    fn along(self, side: u32) -> f64 {
        match self {
            Self::Pixels(pixels) => pixels,
            Self::PerCent(share) => (share / 100.0 * f64::from(side)).round(),
        }
    }
}

/// A part of a picture: left, top, width and height, each in pixels or in per cent of its side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Crop {
    left: Measure,
    top: Measure,
    width: Measure,
    height: Measure,
}

/// A part that is none.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CropError {
    /// The text cannot be read.
    #[error("`{text}` is no part of a picture")]
    Text {
        /// What was given.
        text: String,
    },
    /// The text is no place.
    #[error("`{text}` is no place in a picture")]
    Spot {
        /// What was given.
        text: String,
    },
    /// The place is not in what is used of the picture.
    #[error("the place {spot} is not within the part of the picture that is used")]
    SpotOutside {
        /// What was asked.
        spot: Spot,
    },
    /// The part leaves the picture.
    #[error("the part {crop} is not within the picture of {width} x {height} pixels")]
    Outside {
        /// What was asked.
        crop: Crop,
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
}

impl CropError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Text { .. } => Advice::WritePart,
            Self::Spot { .. } | Self::SpotOutside { .. } => Advice::WriteSpot,
            Self::Outside { .. } => Advice::PartInside,
        }
    }
}

impl Crop {
    /// The part in pixels of a picture of this size.
    pub(super) fn part_of(&self, width: u32, height: u32) -> Result<Part, CropError> {
        let [left, wide] = span(self.left, self.width, width);
        let [top, high] = span(self.top, self.height, height);
        let part = Part { left, top, width: wide, height: high };
        let inside = part.width >= 1.0
            && part.height >= 1.0
            && part.left + part.width <= f64::from(width)
            && part.top + part.height <= f64::from(height);
        if inside { Ok(part) } else { Err(CropError::Outside { crop: *self, width, height }) }
    }
}

/// Where a part begins and how long it is, in pixels of a side. Two shares that make all of it, both rounded up, would lead a
/// pixel past its end.
fn span(from: Measure, length: Measure, side: u32) -> [f64; 2] {
    let [start, long] = [from, length].map(|measure| measure.along(side));
    match (from, length) {
        (Measure::PerCent(one), Measure::PerCent(other)) if one + other <= 100.0 + 1e-9 => {
            [start, long.min(f64::from(side) - start)]
        }
        _ => [start, long],
    }
}

/// Whole pixels, or per cent from 0 to 100.
fn measure(text: &str) -> Option<Measure> {
    let text = text.trim();
    let Some(share) = text.strip_suffix('%') else {
        return text.parse::<u32>().ok().map(|value| Measure::Pixels(f64::from(value)));
    };
    let value: f64 = share.trim().parse().ok()?;
    (0.0..=100.0).contains(&value).then_some(Measure::PerCent(value))
}

impl FromStr for Crop {
    type Err = CropError;
    fn from_str(text: &str) -> Result<Self, CropError> {
        let bad = || CropError::Text { text: text.to_owned() };
        let measure = |text| measure(text).ok_or_else(bad);
        let [left, top, width, height] = text.split(',').collect::<Vec<_>>()[..] else { return Err(bad()) };
        Ok(Self {
            left: measure(left)?,
            top: measure(top)?,
            width: measure(width)?,
            height: measure(height)?,
        })
    }
}

/// A place in a picture: across and down, each in pixels or in per cent of its side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Spot {
    x: Measure,
    y: Measure,
}

impl Spot {
    /// The place in pixels of a picture of this size; the last pixel for a hundred per cent.
    pub(super) fn place_in(&self, width: u32, height: u32) -> [f64; 2] {
        [(self.x, width), (self.y, height)].map(|(at, side)| match at {
            Measure::Pixels(at) => at + 0.5,
            Measure::PerCent(share) => (share / 100.0 * f64::from(side)).min(f64::from(side) - 0.5),
        })
    }
}

impl FromStr for Spot {
    type Err = CropError;
    fn from_str(text: &str) -> Result<Self, CropError> {
        let bad = || CropError::Spot { text: text.to_owned() };
        let [x, y] = text.split(',').collect::<Vec<_>>()[..] else { return Err(bad()) };
        Ok(Self { x: measure(x).ok_or_else(bad)?, y: measure(y).ok_or_else(bad)? })
    }
}

impl TryFrom<String> for Spot {
    type Error = CropError;
    fn try_from(text: String) -> Result<Self, CropError> {
        text.parse()
    }
}

impl From<Spot> for String {
    fn from(spot: Spot) -> Self {
        spot.to_string()
    }
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{},{}", self.x, self.y)
    }
}

impl TryFrom<String> for Crop {
    type Error = CropError;
    fn try_from(text: String) -> Result<Self, CropError> {
        text.parse()
    }
}

impl From<Crop> for String {
    fn from(crop: Crop) -> Self {
        crop.to_string()
    }
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pixels(value) => write!(f, "{value}"),
            Self::PerCent(value) => write!(f, "{value}%"),
        }
    }
}

impl fmt::Display for Crop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{},{},{},{}", self.left, self.top, self.width, self.height)
    }
}
