//! A laid-out sheet becomes a file.
//!
//! Owns the PDF, and is alone in knowing PDF points and `printpdf`. Leaves what stands where to `sheet`.

mod content;
mod finish;
mod fonts;
mod pdf;
mod tints;

pub use pdf::{FontFault, InkError, PdfOptions, pdf};

#[cfg(test)]
mod tests;
