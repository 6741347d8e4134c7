//! Files that cannot be proof-read, and what to do about them.

use crate::ground::advice::Advice;
use crate::ground::progress::Stopped;
use crate::ground::units::counted;

/// A file that cannot be proof-read.
#[derive(Debug, thiserror::Error)]
pub enum ProofError {
    /// No PDF.
    #[error("this is not a PDF, or it is damaged")]
    NotPdf,
    /// Locked with a password.
    #[error("this PDF is encrypted")]
    Locked,
    /// More bytes, or more of them unpacked, than any chart has.
    #[error("this PDF is larger than any that brede prints: over 64 MB, or over 16 MB in one stream")]
    TooLarge,
    /// A page too large to be rendered.
    #[error("page {page} is {:.0} x {:.0} mm: at {dpi} dots an inch that is more than the 100 million pixels that are read", mm[0], mm[1])]
    Page {
        /// From 1.
        page: usize,
        /// Its width and height.
        mm: [f64; 2],
        /// The resolution asked for.
        dpi: f64,
    },
    /// A page with other things on it than brede draws.
    #[error("page {page} holds what no page of brede's does")]
    Foreign {
        /// From 1.
        page: usize,
    },
    /// It takes beyond all measure to read.
    #[error("reading this PDF takes more than {seconds} seconds; no page of brede's takes one")]
    TooLong {
        /// How long was waited.
        seconds: u64,
    },
    /// It takes beyond all memory to read.
    #[error("reading this PDF takes more than the {} MB of memory that it may take", limit >> 20)]
    Memory {
        /// The limit in bytes.
        limit: u64,
    },
    /// It brought the process down that read it.
    #[error("reading this PDF brought down the process that read it ({how})")]
    Fell {
        /// How that ended, as the system tells it.
        how: String,
    },
    /// The process that reads answers what makes no sense.
    #[error("the process that was to read this PDF is no brede like this one")]
    Answer,
    /// No process to read in.
    #[error("no process can be begun to read this PDF in")]
    Process(#[source] std::io::Error),
    /// No thread to read in.
    #[error("no thread can be begun to read the pages in")]
    Thread(#[source] std::io::Error),
    /// No chart of brede's.
    #[error("no page of this PDF says that it shows a part of a chart that brede printed")]
    NotOurs,
    /// Pages from before they said what they show, or lists that show no chart.
    #[error(
        "no page of this PDF says which squares it shows: it is no chart, or an earlier brede printed it"
    )]
    Unmarked,
    /// A page for a screen.
    #[error("this PDF is one page for a screen; pages for paper are proof-read")]
    Screen,
    /// The chart is of another size.
    #[error("the pages show {} x {} squares, the chart has {} x {}", found[0], found[1], wanted[0], wanted[1])]
    OtherSize {
        /// Columns and rows of the pages.
        found: [u32; 2],
        /// Columns and rows of the chart with its marks.
        wanted: [u32; 2],
    },
    /// A resolution outside the limits.
    #[error("{dpi} dots an inch are outside 100 to 600")]
    Dpi {
        /// What was asked.
        dpi: f64,
    },
    /// The key cannot be found in the picture.
    #[error("the boxes of {} cannot be found on the pages of the key", counted(*needles as u64, "symbol"))]
    Key {
        /// How many the chart has.
        needles: usize,
    },
    /// A page whose grid cannot be found.
    #[error("the grid of page {page} cannot be found: {reason}")]
    Grid {
        /// From 1.
        page: usize,
        /// Why.
        reason: GridFault,
    },
    /// A page whose grid is not what it should be.
    #[error("the grid of page {page} has {} x {} squares, not {} x {}", found[0], found[1], wanted[0], wanted[1])]
    OtherGrid {
        /// From 1.
        page: usize,
        /// Columns and rows in the picture.
        found: [u32; 2],
        /// Columns and rows that the page says.
        wanted: [u32; 2],
    },
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// Why the grid of a page cannot be found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum GridFault {
    /// No rules as heavy as each tenth is.
    #[error("there are no bold rules")]
    NoBoldRules,
    /// Rules that stand unevenly.
    #[error("no even grid fits the bold rules")]
    NoEvenGrid,
    /// Bold rules where no tenth is.
    #[error("its bold rules are not on the tens")]
    NotOnTens,
}

impl ProofError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        Some(match self {
            Self::NotPdf
            | Self::NotOurs
            | Self::Locked
            | Self::TooLarge
            | Self::Foreign { .. }
            | Self::TooLong { .. }
            | Self::Memory { .. }
            | Self::Fell { .. } => Advice::GivePages,
            Self::Unmarked | Self::Screen => Advice::PrintAgain,
            Self::OtherSize { .. } | Self::Key { .. } => Advice::ChartOfPages,
            Self::Page { .. } => Advice::LowerResolution,
            Self::Thread(_) | Self::Process(_) => Advice::FreeThreads,
            Self::Answer => Advice::DoAgain,
            Self::Dpi { .. } => Advice::UsualResolution,
            Self::Grid { .. } | Self::OtherGrid { .. } => Advice::HigherResolution,
            Self::Stopped(_) => return None,
        })
    }
}
