//! Paper sizes.

use std::str::FromStr;

use crate::units::Millimetres;

/// A sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
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
#[error("`{text}` is not a paper size")]
pub struct PaperError {
    /// What was given.
    pub text: String,
}

/// Papers smaller than this have no room for a page of cells beside rulers and margins; larger than this no
/// home or shop printer takes (common practice, no source).
const SIDE_LIMITS_MM: std::ops::RangeInclusive<f64> = 100.0..=1200.0;

impl Paper {
    /// Width and height in millimetres, upright.
    #[must_use]
    pub fn size(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::A3 => [297.0, 420.0],
            Self::Letter => [215.9, 279.4],
            Self::Custom { width, height } => [width.mm(), height.mm()],
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
    let fits = |side: Millimetres| SIDE_LIMITS_MM.contains(&side.mm());
    (fits(width) && fits(height)).then_some(Paper::Custom { width, height })
}
