//! The desk: what a person can do, one operation each. Both faces call nothing else.
//!
//! An operation takes a plain request and a [`Progress`](crate::ground::progress::Progress) and gives a report that
//! can be written as JSON: figures, typed warnings, and what was written. It has no words for people; each face has
//! its own. It knows no clock and no environment, and keeps nothing from one operation to the next.

mod again;
mod compare;
mod error;
mod files;
mod given;
mod make;
mod memory;
mod note;
mod print;
mod proof;
mod report;
mod source;
mod take;
mod warning;

pub use again::{AgainRequest, make_again};
pub use compare::{CompareReport, CompareRequest, Tried, compare};
pub use error::{Error, FileKind, Wanted};
pub use make::{
    Kept, KeptCover, KeptMask, MakeReport, MakeRequest, MakeSettings, Sample, SetRequest, SizeWish,
    TakeSettings, make, name_of_set,
};
pub use memory::Job;
pub use note::Note;
pub use print::{Alike, InkFigures, PageFigures, PageSettings, Pictures, PrintReport, PrintRequest, print};
pub use proof::{
    LineNear, LineWrong, Named, Near, OutlineFigures, Place, ProofReport, ProofRequest, Wrong, proof,
};
pub use report::{Report, What, Written};
pub use source::{Moment, Replace, Source, Target};
pub use take::{Matched, TakeRequest, take};
pub use warning::Warning;

// What requests and reports are made of.
pub use crate::chart::{LinePattern, OpeningNote};
pub use crate::making::frame::{Crop, CropError, Kind, Sampling, Tone};
pub use crate::making::make::Owned;
pub use crate::making::photo::{Limits, PhotoWarning};
pub use crate::making::reduce::{Colours, Confetti};
pub use crate::planning::ThreadCount;
pub use crate::planning::shift::{Help, SHIFT_LIMIT, Shift};
pub use crate::printing::sheet::{Ink, Paper, Print, Screen, SheetWarning, Show, thousands};
pub use crate::reading::proof::{Count, Spoil};
pub use crate::thread::cloth::Cloth;

#[cfg(test)]
mod tests;
