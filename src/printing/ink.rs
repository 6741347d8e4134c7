//! A laid-out sheet becomes a file.
//!
//! Owns the PDF, and is alone in knowing PDF points and `printpdf`. Leaves what stands where to `sheet`.

mod content;
mod file;
mod finish;
mod fonts;
mod links;
mod names;
mod numbers;
mod pdf;
mod pen;
mod shown;
mod tags;
mod tints;

use crate::ground::progress::Stopped;

pub use pdf::pdf;
pub(crate) use shown::shown;

/// What a PDF says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PdfOptions {
    /// When it was made, in seconds since 1970.
    pub created: i64,
    /// Who made the chart, if they say so.
    pub author: String,
    /// The charts that the pages belong to, as their stamps say it in full, spaces between.
    pub stamp: Option<String>,
}

/// A font that cannot be cut down to the glyphs that are used.
#[derive(Debug, thiserror::Error)]
pub enum FontFault {
    /// Its tables cannot be read.
    #[error(transparent)]
    Face(#[from] ttf_parser::FaceParsingError),
    /// Its glyphs cannot be taken over.
    #[error(transparent)]
    Subset(#[from] subsetter::Error),
}

/// A sheet that could not be turned into a file.
#[derive(Debug, thiserror::Error)]
pub enum InkError {
    /// A font that cannot be cut down.
    #[error("a font that comes with brede cannot be embedded")]
    Font(#[source] FontFault),
    /// A picture that cannot be encoded.
    #[error("a picture of the sheet cannot be encoded")]
    Picture(#[source] image::ImageError),
    /// A number that is not finite would spoil the file.
    #[error("page {page} cannot be drawn: a fault of brede's own")]
    Nowhere {
        /// From 1.
        page: usize,
    },
    /// The file could not be put together.
    #[error("the PDF cannot be put together")]
    Write(#[source] std::io::Error),
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

#[cfg(test)]
mod tests;
