//! The desk: what a person can do, one operation each. Both faces call nothing else.
//!
//! An operation takes a plain request and a [`Progress`](crate::ground::progress::Progress) and gives a report that
//! can be written as JSON: figures, typed warnings, and what was written. It has no words for people; each face has
//! its own. It knows no clock and no environment, and keeps nothing from one operation to the next.

mod error;
mod files;
mod given;
mod memory;
mod print;
mod proof;
mod report;
mod source;
mod warning;

pub use error::{Error, FileKind, Wanted};
pub use memory::Job;
pub use print::{Alike, InkFigures, PageFigures, PageSettings, Pictures, PrintReport, PrintRequest, print};
pub use proof::{
    LineNear, LineWrong, Named, Near, OutlineFigures, Place, ProofReport, ProofRequest, Wrong, proof,
};
pub use report::{Report, What, Written};
pub use source::{Moment, Replace, Source, Target};
pub use warning::Warning;

// What requests are made of.
pub use crate::chart::{LinePattern, OpeningNote};
pub use crate::printing::sheet::{Ink, Paper, Print, Screen, SheetWarning, Show, thousands};
pub use crate::reading::proof::{Count, Spoil};

#[cfg(test)]
mod tests;
