//! Files that hold no chart that can be read, and what was missing.

use super::MOST_PAGES;
use crate::chart::ChartError;
use crate::ground::advice::Advice;
use crate::ground::progress::Stopped;
use crate::ground::units::UnitError;
use crate::reading::ProofError;

/// Why no chart was read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
    /// A file that cannot be opened.
    #[error(transparent)]
    File(ProofError),
    /// A file larger than is read.
    #[error("the file is larger than 64 MB")]
    TooLarge,
    /// More pages than are read.
    #[error("{found} pages are more than the {MOST_PAGES} that are read at once")]
    Pages {
        /// How many.
        found: usize,
    },
    /// A page with more on it than any chart has.
    #[error("a page holds more lines and signs than the fullest chart")]
    TooFull,
    /// Pages of pictures.
    #[error(
        "its pages are pictures, as from a scanner: there is no drawing to read squares and symbols from"
    )]
    Pictures,
    /// Pages of text.
    #[error("its pages hold text and no grid of squares")]
    Text,
    /// No grid.
    #[error("no page shows a grid of squares with symbols or colours in them")]
    NoGrid,
    /// A chart for knitting.
    #[error(
        "this is a chart for knitting: its key speaks of knitting, and rows are counted upwards or squares are not even"
    )]
    Knitting,
    /// Rows that are counted from below.
    #[error(
        "its rows are numbered from below, as for knitting or weaving; those of cross stitch are numbered from above"
    )]
    Upwards,
    /// Squares that are not square.
    #[error("its squares are {:.1} mm wide and {:.1} mm tall; those of cross stitch are as tall as wide", cell[0] * 25.4 / 72.0, cell[1] * 25.4 / 72.0)]
    Uneven {
        /// Width and height in points.
        cell: [f64; 2],
    },
    /// Pages that cannot be joined.
    #[error(
        "nothing says how its {pages} chart pages join: no numbers beside the grid, no repeated columns or rows"
    )]
    Apart {
        /// How many.
        pages: usize,
    },
    /// An answer about a symbol that was not found.
    #[error("there is no symbol number {number}; {found} were found")]
    NoSuchSymbol {
        /// What was given.
        number: usize,
        /// How many there are.
        found: usize,
    },
    /// Too many symbols.
    #[error("{found} different symbols were found; a chart has at most 255")]
    TooMany {
        /// How many.
        found: usize,
    },
    /// A size that no chart has.
    #[error(transparent)]
    Size(#[from] UnitError),
    /// Parts that make no chart.
    #[error(transparent)]
    Chart(#[from] ChartError),
}

impl From<ProofError> for ReadError {
    fn from(error: ProofError) -> Self {
        match error {
            ProofError::Stopped(stopped) => Self::Stopped(stopped),
            ProofError::TooLarge => Self::TooLarge,
            other => Self::File(other),
        }
    }
}

impl ReadError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        Some(match self {
            Self::Stopped(_) => return None,
            Self::File(ProofError::Locked) => Advice::UnlockFirst,
            Self::File(ProofError::Thread(_) | ProofError::Process(_)) => Advice::FreeThreads,
            Self::File(ProofError::Answer) => Advice::DoAgain,
            Self::File(_) => Advice::PagesOfChart,
            Self::TooLarge | Self::Pages { .. } | Self::TooFull => Advice::PagesOfChart,
            Self::Pictures => Advice::DrawnPages,
            Self::Text | Self::NoGrid => Advice::PagesOfChart,
            Self::Knitting | Self::Upwards | Self::Uneven { .. } => Advice::CrossStitchChart,
            Self::Apart { .. } => Advice::SayColumnsAndRows,
            Self::NoSuchSymbol { .. } => Advice::NumbersOfFound,
            Self::TooMany { .. } => Advice::SameSymbols,
            Self::Size(error) => error.advice(),
            Self::Chart(error) => error.advice(),
        })
    }
}
