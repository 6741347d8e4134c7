//! Why an operation has no result.

use std::fmt;
use std::io;
use std::path::PathBuf;

use crate::chart::DocumentError;
use crate::chart::marks::MarkError;
use crate::ground::advice::Advice;
use crate::ground::progress::Stopped;
use crate::ground::store::StoreError;
use crate::ground::units::GridSize;
use crate::making::exact::ExactError;
use crate::making::frame::FrameError;
use crate::making::make::MakeError;
use crate::making::photo::PhotoError;
use crate::making::reduce::ReduceError;
use crate::printing::ink::InkError;
use crate::printing::sheet::SheetError;
use crate::printing::symbols::FixError;
use crate::reading::proof::ProofError;
use crate::thread::cloth::CoverError;
use crate::thread::shades::ShadesError;

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
    Sheet(#[from] SheetError),
    /// Pages cannot be written as PDF.
    #[error(transparent)]
    Ink(InkError),
    /// A photo cannot be read.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// A shade card cannot be used.
    #[error("could not use the shade card {name}")]
    Card {
        /// What it is called.
        name: String,
        /// Why.
        source: ShadesError,
    },
    /// Measures of cover cannot be used.
    #[error("could not use {name}")]
    Cover {
        /// What they are called.
        name: String,
        /// Why.
        source: CoverError,
    },
    /// A chart cannot be made.
    #[error(transparent)]
    Make(MakeError),
    /// A chart cannot be taken cell by cell.
    #[error(transparent)]
    Take(#[from] ExactError),
    /// Blends are asked for with one strand.
    #[error("one strand cannot be two threads")]
    OneStrand,
    /// A job may take more memory than is allowed.
    #[error("a chart of {size} cells may take {} MiB of memory; at most {} MiB may be used", needed.div_ceil(1 << 20), limit >> 20)]
    Memory {
        /// The size of the chart.
        size: GridSize,
        /// Bytes at the most.
        needed: u64,
        /// Bytes allowed.
        limit: u64,
    },
    /// A chart does not say how it was made.
    #[error("the chart {name} does not hold the request that it was made by")]
    NoRequest {
        /// What it is called.
        name: String,
    },
    /// What it says cannot be read.
    #[error("the request that the chart {name} was made by is damaged")]
    DamagedRequest {
        /// What it is called.
        name: String,
        /// Why.
        source: serde_json::Error,
    },
    /// A picture is another than the one that a chart was made of.
    #[error("{photo} is not the picture that the chart {name} was made of")]
    OtherPhoto {
        /// What the picture is called.
        photo: String,
        /// What the chart is called.
        name: String,
    },
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
            Self::OverRead { .. } | Self::OtherKind { .. } => Advice::OtherName,
            Self::Store(error) => error.advice(),
            Self::ChartTooLarge { .. } => Advice::SimplerMasks,
            Self::Chart { source, .. } => source.advice(),
            Self::Mark(error) => error.advice(),
            Self::Symbol(error) => error.advice(),
            Self::Sheet(error) => error.advice(),
            Self::Proof { source, .. } => return source.advice(),
            Self::Photo(error) => error.advice(),
            Self::Card { source, .. } => source.advice(),
            Self::Cover { source, .. } => source.advice(),
            Self::Make(error) => return error.advice(),
            Self::Take(error) => error.advice(),
            Self::OneStrand => Advice::TwoStrands,
            Self::Memory { .. } => Advice::SmallerJob,
            Self::NoRequest { .. } => Advice::MakeAnew,
            Self::DamagedRequest { .. } => Advice::EarlierCopy,
            Self::OtherPhoto { .. } => Advice::SamePhoto,
        })
    }
}

impl From<Stopped> for Error {
    fn from(Stopped: Stopped) -> Self {
        Self::Stopped
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

impl From<MakeError> for Error {
    fn from(error: MakeError) -> Self {
        match error {
            MakeError::Frame(FrameError::Stopped(_)) | MakeError::Reduce(ReduceError::Stopped(_)) => {
                Self::Stopped
            }
            error => Self::Make(error),
        }
    }
}

impl From<FrameError> for Error {
    fn from(error: FrameError) -> Self {
        MakeError::from(error).into()
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
    /// A shade card.
    Card,
    /// Measures of how thread covers.
    Cover,
    /// A table of codes.
    Table,
}

impl Wanted {
    fn advice(self) -> Advice {
        match self {
            Self::Chart => Advice::GiveChart,
            Self::KeptChart => Advice::KeptChart,
            Self::Pages => Advice::GivePages,
            Self::Card => Advice::GiveCard,
            Self::Cover => Advice::GiveMeasures,
            Self::Table => Advice::GiveTable,
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
