//! The kinds of stitch that a cell can be worked in.
//!
//! Owns their names and where their legs lie. Leaves how much they hide to [`CoverModel`](super::CoverModel)
//! and the order in which they are worked to `planning::route`.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A corner of a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Corner {
    /// Bottom left: where a quarter stitch lies if nothing else is asked.
    #[default]
    BottomLeft,
    /// Bottom right.
    BottomRight,
    /// Top left.
    TopLeft,
    /// Top right.
    TopRight,
}

impl Corner {
    /// All four.
    pub const ALL: [Self; 4] = [Self::BottomLeft, Self::BottomRight, Self::TopLeft, Self::TopRight];

    /// Its name: `bottom-left`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::BottomLeft => "bottom-left",
            Self::BottomRight => "bottom-right",
            Self::TopLeft => "top-left",
            Self::TopRight => "top-right",
        }
    }

    /// Its place in a cell whose top left is `[0, 0]` and whose side is 1; down is positive.
    #[must_use]
    pub fn place(self) -> [i32; 2] {
        match self {
            Self::BottomLeft => [0, 1],
            Self::BottomRight => [1, 1],
            Self::TopLeft => [0, 0],
            Self::TopRight => [1, 0],
        }
    }

    /// The diagonal that it is an end of.
    #[must_use]
    pub fn diagonal(self) -> Diagonal {
        match self {
            Self::BottomLeft | Self::TopRight => Diagonal::Rising,
            Self::BottomRight | Self::TopLeft => Diagonal::Falling,
        }
    }
}

/// A diagonal of a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Diagonal {
    /// From the lower left to the upper right: /
    Rising,
    /// From the upper left to the lower right: \
    Falling,
}

impl Diagonal {
    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Rising => Self::Falling,
            Self::Falling => Self::Rising,
        }
    }

    /// Its two ends, the left one first.
    #[must_use]
    pub fn ends(self) -> [Corner; 2] {
        match self {
            Self::Rising => [Corner::BottomLeft, Corner::TopRight],
            Self::Falling => [Corner::TopLeft, Corner::BottomRight],
        }
    }
}

/// How a cell is worked.
///
/// In a chart it is a text: `full-cross`, `half-cross`, `half-cross-back`, `quarter-bottom-left`,
/// `three-quarter-top-right` and so on; `quarter` and `three-quarter` alone mean the bottom left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum StitchKind {
    /// Both legs of the cross.
    #[default]
    FullCross,
    /// One leg only, from lower left to upper right.
    HalfCross,
    /// One leg only, from upper left to lower right.
    HalfCrossBack,
    /// A quarter stitch: half a leg, from this corner to the middle of the cell.
    Quarter(Corner),
    /// A three-quarter stitch: a quarter stitch in this corner and over it a half cross along the diagonal that
    /// does not meet the corner. Together they fill the half of the cell round the corner.
    ThreeQuarter(Corner),
}

impl StitchKind {
    /// Every kind, in every corner.
    pub fn all() -> impl Iterator<Item = Self> {
        [Self::FullCross, Self::HalfCross, Self::HalfCrossBack]
            .into_iter()
            .chain(Corner::ALL.map(Self::Quarter))
            .chain(Corner::ALL.map(Self::ThreeQuarter))
    }

    /// Its legs in front of the cloth, in the order in which they are worked: the diagonal, and the corner from
    /// which a leg that ends in the middle comes up.
    ///
    /// A quarter goes down in the middle, where the needle parts the threads of the cloth, and lies under the
    /// half cross that holds it (common practice, no source).
    #[must_use]
    pub fn legs(self) -> &'static [(Diagonal, Option<Corner>)] {
        use Corner::{BottomLeft, BottomRight, TopLeft, TopRight};
        use Diagonal::{Falling, Rising};
        match self {
            Self::FullCross => &[(Rising, None), (Falling, None)],
            Self::HalfCross => &[(Rising, None)],
            Self::HalfCrossBack => &[(Falling, None)],
            Self::Quarter(BottomLeft) => &[(Rising, Some(BottomLeft))],
            Self::Quarter(TopRight) => &[(Rising, Some(TopRight))],
            Self::Quarter(BottomRight) => &[(Falling, Some(BottomRight))],
            Self::Quarter(TopLeft) => &[(Falling, Some(TopLeft))],
            Self::ThreeQuarter(BottomLeft) => &[(Rising, Some(BottomLeft)), (Falling, None)],
            Self::ThreeQuarter(TopRight) => &[(Rising, Some(TopRight)), (Falling, None)],
            Self::ThreeQuarter(BottomRight) => &[(Falling, Some(BottomRight)), (Rising, None)],
            Self::ThreeQuarter(TopLeft) => &[(Falling, Some(TopLeft)), (Rising, None)],
        }
    }

    /// The corners of the cell in which its legs begin or end; none for a full cross, the usual stitch, which
    /// has all four. The page marks them.
    #[must_use]
    pub fn marked_corners(self) -> Vec<Corner> {
        if self == Self::FullCross {
            return Vec::new();
        }
        let ends = |&(diagonal, corner): &(Diagonal, Option<Corner>)| match corner {
            Some(corner) => vec![corner],
            None => diagonal.ends().to_vec(),
        };
        self.legs().iter().flat_map(ends).collect()
    }

    /// What part of a full cross it is in the working: a half cross half of one, a quarter as much, as it too is
    /// once up and once down, and a three-quarter stitch one.
    #[must_use]
    pub fn crosses(self) -> f64 {
        self.legs().len() as f64 / 2.0
    }

    /// What the key says of it; nothing for the usual full cross.
    #[must_use]
    pub fn words(self) -> Option<String> {
        let corner = |corner: Corner| corner.name().replace('-', " ");
        match self {
            Self::FullCross => None,
            Self::HalfCross => Some("half cross /".into()),
            Self::HalfCrossBack => Some("half cross \\".into()),
            Self::Quarter(at) => Some(format!("quarter stitch, {}", corner(at))),
            Self::ThreeQuarter(at) => Some(format!("three-quarter stitch, {}", corner(at))),
        }
    }
}

impl fmt::Display for StitchKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FullCross => f.write_str("full-cross"),
            Self::HalfCross => f.write_str("half-cross"),
            Self::HalfCrossBack => f.write_str("half-cross-back"),
            Self::Quarter(corner) => write!(f, "quarter-{}", corner.name()),
            Self::ThreeQuarter(corner) => write!(f, "three-quarter-{}", corner.name()),
        }
    }
}

/// A text that names no kind of stitch.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is no kind of stitch; there are full-cross, half-cross (/), half-cross-back (\\), quarter and \
     three-quarter, the last two with a corner where it is not the bottom left, such as quarter-top-right"
)]
pub struct StitchKindError(String);

impl FromStr for StitchKind {
    type Err = StitchKindError;
    fn from_str(text: &str) -> Result<Self, StitchKindError> {
        match text {
            "quarter" => Ok(Self::Quarter(Corner::default())),
            "three-quarter" => Ok(Self::ThreeQuarter(Corner::default())),
            _ => Self::all()
                .find(|kind| kind.to_string() == text)
                .ok_or_else(|| StitchKindError(text.chars().take(60).collect())),
        }
    }
}

impl TryFrom<String> for StitchKind {
    type Error = StitchKindError;
    fn try_from(text: String) -> Result<Self, StitchKindError> {
        text.parse()
    }
}

impl From<StitchKind> for String {
    fn from(kind: StitchKind) -> Self {
        kind.to_string()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_kind_is_read_as_it_is_written_and_old_charts_too() {
        assert_eq!(StitchKind::all().count(), 11);
        for kind in StitchKind::all() {
            let text = serde_json::to_string(&kind).unwrap();
            assert_eq!(serde_json::from_str::<StitchKind>(&text).unwrap(), kind, "{text}");
        }
        // As charts had them before there were corners.
        for (text, kind) in [
            ("full-cross", StitchKind::FullCross),
            ("half-cross", StitchKind::HalfCross),
            ("half-cross-back", StitchKind::HalfCrossBack),
            ("quarter", StitchKind::Quarter(Corner::BottomLeft)),
        ] {
            assert_eq!(text.parse::<StitchKind>().unwrap(), kind);
        }
        assert!("quarter-middle".parse::<StitchKind>().is_err());
    }

    #[test]
    fn legs_end_in_the_corners_that_are_marked() {
        for kind in StitchKind::all().filter(|&kind| kind != StitchKind::FullCross) {
            let corners = kind.marked_corners();
            let wanted = match kind {
                StitchKind::Quarter(_) => 1,
                StitchKind::ThreeQuarter(_) => 3,
                _ => 2,
            };
            assert_eq!(corners.len(), wanted, "{kind}");
            if let StitchKind::Quarter(corner) | StitchKind::ThreeQuarter(corner) = kind {
                assert_eq!(corners[0], corner);
                // The half cross of a three-quarter stitch runs past the quarter's corner.
                assert!(corners[1..].iter().all(|end| end.diagonal() != corner.diagonal()));
            }
        }
    }
}
