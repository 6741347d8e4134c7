//! The desk: what a person can do, one operation each. Both faces call nothing else.
//!
//! An operation takes a plain request and a [`Progress`](crate::ground::progress::Progress) and gives a report that
//! can be written as JSON: figures, typed warnings, and what was written. It has no words for people; each face has
//! its own. It knows no clock and no environment, and keeps nothing from one operation to the next.

mod again;
mod calibrate;
mod cloth;
mod compare;
mod error;
mod files;
mod given;
mod kit;
mod make;
pub mod mark;
mod memory;
mod note;
mod print;
mod proof;
mod report;
mod set;
mod setting;
mod shades;
mod source;
mod stray;
mod swatches;
mod take;
mod warning;
mod workers;

pub use again::{AgainRequest, make_again};
pub use calibrate::{CalibrateReport, CalibrateRequest, Swatch, SwatchColour, SwatchPhoto, calibrate};
pub use cloth::{ClothReport, ClothRequest, CountFigures, OnCounts, cloth};
pub use compare::{CompareReport, CompareRequest, Tried, compare};
pub use error::{Error, FileKind, SwatchPlace, Wanted};
pub use kit::{KitOffer, KitReport, KitRequest, KitSavings, KitSheets, KitThread, kit};
pub use make::{
    Detail, Kept, KeptCover, KeptMask, MakeReport, MakeRequest, MakeSettings, Matched, Sample, SetRequest,
    SizeWish, TakeSettings, make,
};
pub use mark::{
    ChooseReport, ChooseRequest, MarkChange, MarkFigures, MarkReport, MarkRequest, MarkSetting, MarkSettings,
    StepRequest, choose, mark, redo, undo,
};
pub use memory::Job;
pub use note::Note;
pub use print::{Alike, InkFigures, PageFigures, PageSettings, Pictures, PrintReport, PrintRequest, print};
pub use proof::{
    LineNear, LineWrong, Named, Near, OutlineFigures, Place, ProofReport, ProofRequest, Wrong, proof,
};
pub use report::{Report, What, Written};
pub use shades::{
    CompareCardsReport, CompareCardsRequest, MoveReport, MoveRequest, MovedThread, NearestFigures,
    ShadeFigures, ShowCardReport, ShowCardRequest, compare_cards, move_to_card, show_card,
};
pub use source::{Moment, MomentError, Replace, Source, Target};
pub use stray::{Of, Stray};
pub use swatches::{CardFromPhotoReport, CardFromPhotoRequest, card_from_photo};
pub use take::{TakeRequest, take};
pub use warning::Warning;
pub use workers::workers;

// What requests and reports are made of.
pub use crate::chart::marks::MarkWarning;
pub use crate::chart::{Done, LinePattern, OpeningNote, Revision, Stamp, StepError};
pub use crate::making::frame::{Crop, CropError, Kind, Sampling, Tone};
pub use crate::making::make::{Owned, USUAL_MIXES};
pub use crate::making::photo::{Limits, PhotoWarning};
pub use crate::making::reduce::{Colours, Confetti};
pub use crate::making::rethread::{POOR, Sharing, Short, Supply};
pub use crate::planning::fit::{InFrame, OnPiece, Piece, USUAL_COUNTS};
pub use crate::planning::savings::Change;
pub use crate::planning::shift::{Help, SHIFT_LIMIT, Shift};
pub use crate::planning::shopping::ShoppingWarning;
pub use crate::planning::{Handling, ThreadCount};
pub use crate::printing::sheet::{Ink, Paper, Print, Screen, SheetWarning, Show, thousands};
pub use crate::reading::proof::{Count, Program, Reader, Spoil, serve};
pub use crate::thread::cloth::{COVERS, Cloth, ClothWeight, Sought, StitchKind};
pub use crate::thread::shades::swatches::{Part, SwatchWarning};
pub use crate::thread::shades::{COLUMNS as CARD_COLUMNS, CardWarning, decimal};

#[cfg(test)]
mod tests;
