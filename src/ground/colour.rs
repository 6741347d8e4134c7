//! Colours as types: 8-bit sRGB, linear light, CIELAB; and how far apart two look.
//!
//! Owns the choice of white (D65, 2 degrees), matrix (IEC 61966-2-1) and difference (CIEDE2000). The
//! arithmetic itself is the `palette` crate's. Leaves ICC profiles to `photo` and cloth to `cloth`.

use std::fmt;
use std::str::FromStr;
use std::sync::LazyLock;

use palette::FromColor as _;
use serde::{Deserialize, Serialize};

mod difference;
mod many;
mod names;
mod vision;

pub use difference::Compared;
pub use many::Many;
pub use vision::Vision;

/// Light of each 8-bit value.
static LIGHT: LazyLock<[f64; 256]> = LazyLock::new(|| std::array::from_fn(|value| light(value as f64)));

/// The light at which each 8-bit value but 0 begins: half a value below it.
static BEGINS: LazyLock<[f64; 255]> =
    LazyLock::new(|| std::array::from_fn(|value| light(value as f64 + 0.5)));

/// Light of a value of 0 to 255.
fn light(value: f64) -> f64 {
    palette::Srgb::new(value / 255.0, 0.0, 0.0).into_linear().red
}

/// A text that is no colour.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not a colour written as #rrggbb, such as #2f6f8f")]
pub struct ColourError {
    /// What was given.
    pub text: String,
}

/// A colour in 8-bit sRGB (IEC 61966-2-1), written `#rrggbb`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Srgb8 {
    /// Red, 0 to 255.
    pub r: u8,
    /// Green, 0 to 255.
    pub g: u8,
    /// Blue, 0 to 255.
    pub b: u8,
}

/// A colour in linear light with the sRGB primaries; 0 to 1 within the gamut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinearRgb {
    /// Red, green and blue.
    pub channels: [f64; 3],
}

/// A colour in CIELAB (CIE 15:2004) under D65, 2-degree observer. L* runs from 0 to 100.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// Lightness, 0 to 100.
    pub l: f64,
    /// Green (negative) to red (positive).
    pub a: f64,
    /// Blue (negative) to yellow (positive).
    pub b: f64,
}

/// The same in single precision, as pictures of millions of cells hold it: half the memory, and far finer than a
/// difference that is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab32 {
    /// Lightness, 0 to 100.
    pub l: f32,
    /// Green (negative) to red (positive).
    pub a: f32,
    /// Blue (negative) to yellow (positive).
    pub b: f32,
}

impl Lab32 {
    /// L*, a* and b*.
    #[must_use]
    pub fn axes(self) -> [f32; 3] {
        [self.l, self.a, self.b]
    }
}

impl From<Lab> for Lab32 {
    fn from(Lab { l, a, b }: Lab) -> Self {
        Self { l: l as f32, a: a as f32, b: b as f32 }
    }
}

impl From<Lab32> for Lab {
    fn from(Lab32 { l, a, b }: Lab32) -> Self {
        Self { l: f64::from(l), a: f64::from(a), b: f64::from(b) }
    }
}

impl Srgb8 {
    /// Paper white.
    pub const WHITE: Self = Self { r: 255, g: 255, b: 255 };
    /// Ink black.
    pub const BLACK: Self = Self { r: 0, g: 0, b: 0 };

    /// The colour as light.
    #[must_use]
    pub fn linear(self) -> LinearRgb {
        LinearRgb { channels: [self.r, self.g, self.b].map(|value| LIGHT[usize::from(value)]) }
    }

    /// The colour in CIELAB.
    #[must_use]
    pub fn lab(self) -> Lab {
        self.linear().lab()
    }

    /// WCAG 2 relative luminance, 0 to 1.
    #[must_use]
    pub fn luminance(self) -> f64 {
        self.linear().luminance()
    }

    /// WCAG 2 contrast ratio with another colour, 1 to 21.
    #[must_use]
    pub fn contrast(self, other: Self) -> f64 {
        let (x, y) = (self.luminance() + 0.05, other.luminance() + 0.05);
        if x > y { x / y } else { y / x }
    }

    /// The grey of the same luminance.
    #[must_use]
    pub fn grey(self) -> Self {
        let value = LinearRgb::nearest(self.luminance());
        Self { r: value, g: value, b: value }
    }
}

impl LinearRgb {
    /// Relative luminance, 0 to 1 (IEC 61966-2-1; WCAG 2).
    #[must_use]
    pub fn luminance(self) -> f64 {
        let [r, g, b] = self.channels;
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// The colour in CIELAB.
    #[must_use]
    pub fn lab(self) -> Lab {
        let [r, g, b] = self.channels;
        let lab = palette::Lab::<palette::white_point::D65, f64>::from_color(palette::LinSrgb::new(r, g, b));
        Lab { l: lab.l, a: lab.a, b: lab.b }
    }

    /// The nearest 8-bit sRGB colour; what lies outside the gamut is clipped channel by channel.
    #[must_use]
    pub fn srgb8(self) -> Srgb8 {
        let [r, g, b] = self.channels.map(Self::nearest);
        Srgb8 { r, g, b }
    }

    /// The nearest 8-bit value, by where each begins: a power for each channel of a photo would take longer than the rest.
    fn nearest(light: f64) -> u8 {
        BEGINS.partition_point(|&begins| begins <= light) as u8
    }

    /// A mix of light: `share` (0 to 1) of this colour, the rest of `other`.
    #[must_use]
    pub fn mix(self, other: Self, share: f64) -> Self {
        let mut channels = self.channels;
        for (mine, theirs) in channels.iter_mut().zip(other.channels) {
            *mine = *mine * share + theirs * (1.0 - share);
        }
        Self { channels }
    }
}

impl Lab {
    /// The difference to another colour by CIEDE2000 (Sharma, Wu & Dalal 2005), all weights 1.
    #[must_use]
    pub fn ciede2000(self, other: Self) -> f64 {
        use palette::color_difference::Ciede2000 as _;
        let colour = |c: Self| palette::Lab::<palette::white_point::D65, f64>::new(c.l, c.a, c.b);
        colour(self).difference(colour(other))
    }

    /// The difference by CIE 1976: the plain distance in CIELAB.
    #[must_use]
    pub fn cie76(self, other: Self) -> f64 {
        ((self.l - other.l).powi(2) + (self.a - other.a).powi(2) + (self.b - other.b).powi(2)).sqrt()
    }

    /// The colour as light; may lie outside the sRGB gamut.
    #[must_use]
    pub fn linear(self) -> LinearRgb {
        let lab = palette::Lab::<palette::white_point::D65, f64>::new(self.l, self.a, self.b);
        let colour = palette::LinSrgb::<f64>::from_color(lab);
        LinearRgb { channels: [colour.red, colour.green, colour.blue] }
    }

    /// The nearest 8-bit sRGB colour.
    #[must_use]
    pub fn srgb8(self) -> Srgb8 {
        self.linear().srgb8()
    }

    /// C*ab, the distance from grey.
    #[must_use]
    pub fn chroma(self) -> f64 {
        libm::hypot(self.a, self.b)
    }
}

impl FromStr for Srgb8 {
    type Err = ColourError;
    fn from_str(text: &str) -> Result<Self, ColourError> {
        let bad = || ColourError { text: text.to_owned() };
        let digits = text.trim().strip_prefix('#').ok_or_else(bad)?;
        if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(bad());
        }
        let value = u32::from_str_radix(digits, 16).map_err(|_| bad())?;
        let [_, r, g, b] = value.to_be_bytes();
        Ok(Self { r, g, b })
    }
}

impl TryFrom<String> for Srgb8 {
    type Error = ColourError;
    fn try_from(text: String) -> Result<Self, ColourError> {
        text.parse()
    }
}

impl From<Srgb8> for String {
    fn from(colour: Srgb8) -> Self {
        colour.to_string()
    }
}

impl fmt::Display for Srgb8 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.r, self.g, self.b)
    }
}

#[cfg(test)]
mod tests;
