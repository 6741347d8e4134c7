//! Sizes of paper and of screens.

use std::str::FromStr;

use crate::ground::units::Millimetres;
use crate::printing::length::{Length, mm};

/// A sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    #[default]
    A4,
    /// 297 x 420 mm (ISO 216).
    A3,
    /// 8.5 x 11 in (ANSI/ASME Y14.1).
    Letter,
    /// Any other, upright.
    Custom {
        /// The shorter side.
        width: Millimetres,
        /// The longer side.
        height: Millimetres,
    },
}

/// A paper that brede does not know.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{text}` is not a paper size: give a4, a3, letter, or a size such as 148x210mm, 100 to 1200 mm a side"
)]
pub struct PaperError {
    /// What was given.
    pub text: String,
}

/// Papers smaller than this have no room for a page of cells beside rulers and margins; larger than this no
/// home or shop printer takes (common practice, no source).
const SIDE_LIMITS: std::ops::RangeInclusive<Length> = mm(100.0)..=mm(1200.0);

impl Paper {
    /// Width and height, upright.
    #[must_use]
    pub fn size(self) -> [Length; 2] {
        match self {
            Self::A4 => [mm(210.0), mm(297.0)],
            Self::A3 => [mm(297.0), mm(420.0)],
            Self::Letter => [mm(215.9), mm(279.4)],
            Self::Custom { width, height } => [width.into(), height.into()],
        }
    }
}

impl FromStr for Paper {
    type Err = PaperError;
    fn from_str(text: &str) -> Result<Self, PaperError> {
        match text.trim().to_ascii_lowercase().as_str() {
            "a4" => Ok(Self::A4),
            "a3" => Ok(Self::A3),
            "letter" => Ok(Self::Letter),
            other => custom(other).ok_or_else(|| PaperError { text: text.to_owned() }),
        }
    }
}

/// `148x210mm`, `20x30cm`, `8x10in`: the unit stands at the end.
fn custom(text: &str) -> Option<Paper> {
    let (one, two) = text.split_once('x')?;
    let unit = two.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let one: Millimetres = format!("{one}{unit}").parse().ok()?;
    let two: Millimetres = two.parse().ok()?;
    let (width, height) = if one.mm() <= two.mm() { (one, two) } else { (two, one) };
    let fits = |side: Millimetres| SIDE_LIMITS.contains(&side.into());
    (fits(width) && fits(height)).then_some(Paper::Custom { width, height })
}

/// A screen to read on, as it is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screen {
    /// Across.
    pub width: Millimetres,
    /// Down.
    pub height: Millimetres,
}

/// A text that is no size of a screen.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not a screen's size such as 160x230mm or 768x1024px, 60 to 1200 mm a side")]
pub struct ScreenError {
    /// What was given.
    pub text: String,
}

/// A pixel as web pages count them: 96 to the inch (W3C, CSS Values and Units 3, 6.2), whatever the screen has.
const PIXEL: Length = mm(25.4 / 96.0);

/// Smaller than a telephone, or larger than a wall screen.
const SCREEN_LIMITS: std::ops::RangeInclusive<Length> = mm(60.0)..=mm(1200.0);

impl Screen {
    /// Width and height.
    #[must_use]
    pub fn size(self) -> [Length; 2] {
        [self.width.into(), self.height.into()]
    }
}

impl FromStr for Screen {
    type Err = ScreenError;
    fn from_str(text: &str) -> Result<Self, ScreenError> {
        let read = || {
            let lower = text.trim().to_ascii_lowercase();
            let (width, height) = lower.split_once('x')?;
            let unit = height.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
            let width = width.strip_suffix(unit).unwrap_or(width);
            let side = |number: &str| -> Option<Millimetres> {
                let side = match unit {
                    "px" => {
                        let pixels: f64 = number.trim_end_matches("px").parse().ok()?;
                        format!("{}mm", (pixels * PIXEL).to_mm())
                    }
                    _ => format!("{}{unit}", number.trim_end_matches(unit)),
                };
                side.parse().ok().filter(|side: &Millimetres| SCREEN_LIMITS.contains(&Length::from(*side)))
            };
            Some(Self { width: side(width)?, height: side(height)? })
        };
        read().ok_or_else(|| ScreenError { text: text.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_screen_is_given_in_lengths_or_pixels_of_a_96th_of_an_inch() {
        assert_eq!("160x230mm".parse::<Screen>().unwrap().size(), [160.0, 230.0].map(mm));
        assert_eq!("16cmx23cm".parse::<Screen>().unwrap().size(), [160.0, 230.0].map(mm));
        let [width, height] = "768x1024px".parse::<Screen>().unwrap().size().map(Length::to_mm);
        // 8 in across, 10 2/3 in down.
        assert!((width - 203.2).abs() < 1e-9 && (height - 270.933_333).abs() < 1e-5, "{width} x {height}");
        for bad in ["", "768", "768x1024", "x", "10x10px", "160xmm", "-160x230mm", "1e9x230mm", "160x230"] {
            assert!(bad.parse::<Screen>().is_err(), "{bad}");
        }
    }
}
