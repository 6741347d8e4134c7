//! What is wrong with pages, or what the person should know of them.

use serde::Serialize;

use crate::ground::advice::Advice;
use crate::ground::progress::Stopped;
use crate::ground::units::counted;
use crate::printing::length::Length;

/// Something about the page that the person should know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum SheetWarning {
    /// Characters that no face has, shown as boxes.
    Missing {
        /// Which.
        characters: Vec<char>,
    },
    /// Cells under 2 mm, hard to read without a lens.
    SmallCells {
        /// The side, in tenths of a millimetre.
        tenths_mm: u32,
    },
    /// A page that takes more than a quarter of its area in ink.
    MuchInk {
        /// The ink of the fullest page, in hundredths of the page.
        percent: u32,
    },
    /// Threads that some eyes cannot tell apart by colour.
    Alike {
        /// How many pairs.
        pairs: usize,
        /// The codes of the pair that is most alike.
        first: [String; 2],
    },
}

/// A chart that cannot be laid out as asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// A cell size outside the limits.
    #[error("squares of {side} are outside 1.5 to 10 mm")]
    Cell {
        /// The side asked for.
        side: Length,
    },
    /// The threads' colours on a page without colour.
    #[error("colours alone cannot be printed in grey")]
    ColoursInGrey,
    /// Too little room on the paper.
    #[error("the paper is too small for squares of {cell} and a key of {}", counted(*needles as u64, "thread"))]
    NoRoom {
        /// The side of a cell.
        cell: Length,
        /// The number of needles.
        needles: usize,
    },
    /// Too many pages.
    #[error("the chart would take {pages} pages; at most {limit} are printed")]
    TooManyPages {
        /// How many.
        pages: usize,
        /// The limit.
        limit: usize,
    },
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

impl SheetError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::ColoursInGrey => Advice::SymbolsInGrey,
            Self::Cell { .. } => Advice::UsualCell,
            Self::NoRoom { .. } | Self::TooManyPages { .. } => Advice::LargerPaper,
            Self::Stopped(_) => Advice::DoAgain,
        }
    }
}
