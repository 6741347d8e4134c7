//! Why an operation has no result.

use std::fmt;
use std::io;
use std::path::PathBuf;

use crate::chart::DocumentError;
use crate::chart::marks::MarkError;
use crate::ground::advice::Advice;
use crate::ground::progress::Stopped;
use crate::ground::store::StoreError;
use crate::printing::ink::InkError;
use crate::printing::picture::PngError;
use crate::printing::sheet::SheetError;
use crate::printing::symbols::FixError;
use crate::reading::proof::ProofError;

/// Why an operation has no result. Nothing is lost by it: what stood anywhere is as it was.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// It was told to stop.
    #[error("stopped")]
    Stopped,
    /// Something cannot be read.
    #[error("could not read {name}")]
    Read {
        /// What it is called.
        name: String,
        /// What it was to be.
        wanted: Wanted,
        /// Why.
        source: io::Error,
    },
    /// Something that is read in this operation would be written over.
    #[error("{} was read just now and would be lost", path.display())]
    OverRead {
        /// Which.
        path: PathBuf,
    },
    /// A file of another kind is in the place of a result.
    #[error("{} is there and is {found}; {new} would take its place", path.display())]
    OtherKind {
        /// Which.
        path: PathBuf,
        /// What is there.
        found: FileKind,
        /// What was to be written.
        new: FileKind,
    },
    /// Something cannot be written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A chart so large that it could not be read again.
    #[error("the chart would take {} megabytes; at most {} can be read again", found >> 20, limit >> 20)]
    ChartTooLarge {
        /// Its bytes.
        found: u64,
        /// The most that are read.
        limit: u64,
    },
    /// Something is no chart that can be used.
    #[error("could not use the chart {name}")]
    Chart {
        /// What it is called.
        name: String,
        /// Why.
        source: DocumentError,
    },
    /// A mark cannot be worked.
    #[error(transparent)]
    Mark(#[from] MarkError),
    /// A symbol cannot be given.
    #[error(transparent)]
    Symbol(#[from] FixError),
    /// Pages cannot be laid out.
    #[error(transparent)]
    Sheet(SheetError),
    /// Pages cannot be written as PDF.
    #[error(transparent)]
    Ink(InkError),
    /// A picture cannot be encoded.
    #[error(transparent)]
    Picture(io::Error),
    /// Pages cannot be read back.
    #[error("could not proof-read {name}")]
    Proof {
        /// What they are called.
        name: String,
        /// Why.
        source: ProofError,
    },
}

impl Error {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        Some(match self {
            Self::Stopped | Self::Ink(_) | Self::Picture(_) => return None,
            Self::Read { wanted, .. } => wanted.advice(),
            Self::OverRead { .. } => Advice::OtherName,
            Self::OtherKind { .. } => Advice::AllowReplacing,
            Self::Store(error) => error.advice(),
            Self::ChartTooLarge { .. } => Advice::SimplerMasks,
            Self::Chart { source, .. } => source.advice(),
            Self::Mark(error) => error.advice(),
            Self::Symbol(error) => error.advice(),
            Self::Sheet(error) => error.advice(),
            Self::Proof { source, .. } => return source.advice(),
        })
    }
}

impl From<Stopped> for Error {
    fn from(Stopped: Stopped) -> Self {
        Self::Stopped
    }
}

impl From<SheetError> for Error {
    fn from(error: SheetError) -> Self {
        match error {
            SheetError::Stopped(_) => Self::Stopped,
            error => Self::Sheet(error),
        }
    }
}

impl From<PngError> for Error {
    fn from(error: PngError) -> Self {
        match error {
            PngError::Stopped(_) => Self::Stopped,
            PngError::Encode(error) => Self::Picture(error),
        }
    }
}

impl From<InkError> for Error {
    fn from(error: InkError) -> Self {
        match error {
            InkError::Stopped(_) => Self::Stopped,
            error => Self::Ink(error),
        }
    }
}

/// What something that is read was to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A chart.
    Chart,
    /// What was kept of a chart.
    KeptChart,
    /// Printed pages.
    Pages,
}

impl Wanted {
    fn advice(self) -> Advice {
        match self {
            Self::Chart => Advice::GiveChart,
            Self::KeptChart => Advice::KeptChart,
            Self::Pages => Advice::GivePages,
        }
    }
}

/// What a file is by how it begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// PDF.
    Pdf,
    /// PNG.
    Png,
    /// JPEG.
    Jpeg,
    /// GIF, WebP, TIFF or BMP.
    OtherPicture,
    /// JSON, as charts are.
    Chart,
    /// Anything else.
    Text,
}

impl fmt::Display for FileKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Pdf => "a PDF",
            Self::Png => "a PNG picture",
            Self::Jpeg => "a JPEG picture",
            Self::OtherPicture => "a picture",
            Self::Chart => "a chart",
            Self::Text => "a text or a table",
        })
    }
}
