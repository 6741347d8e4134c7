//! The desk: what a person can do, one operation each. Both faces call nothing else.
//!
//! An operation takes a plain request and a [`Progress`](crate::ground::progress::Progress) and gives a report that
//! can be written as JSON: figures, typed warnings, and what was written. It has no words for people; each face has
//! its own. It knows no clock and no environment, and keeps nothing from one operation to the next.

mod again;
mod backup;
mod bag;
mod beside;
mod bought;
mod calibrate;
mod cloth;
mod compare;
mod diary;
mod done;
mod error;
mod figures;
mod files;
mod given;
mod kit;
mod leave;
mod left;
mod look;
mod make;
pub mod mark;
mod memory;
mod named;
mod note;
mod offer;
mod pieces;
mod print;
mod proof;
mod read;
mod reading;
mod report;
mod set;
mod setting;
mod shades;
mod shown;
mod source;
mod stray;
mod swatches;
mod take;
mod trial;
mod warning;
mod work;
mod workers;

pub use again::{AgainRequest, MadeOf, made_of, make_again};
pub use backup::{BackupAct, BackupReport, BackupRequest, backup};
pub use bag::{
    BagRequest, BoxReport, BoxRequest, PieceChange, PieceReport, PieceRequest, change_piece, keep_box,
};
pub use beside::{
    DoneCells, PrintedPage, SentTick, Watch, changes, done_cells, piece_name, piece_picture, printed_pages,
    ticks,
};
pub use bought::{BoughtReport, BoughtRequest, bought};
pub use calibrate::{CalibrateReport, CalibrateRequest, Swatch, SwatchColour, SwatchPhoto, calibrate};
pub use cloth::{ClothReport, ClothRequest, CountFigures, DesignFigures, OnCounts, cloth};
pub use compare::{Choice, Choices, ChoicesError, CompareReport, CompareRequest, Tried, compare};
pub use diary::{DiaryColumns, DiaryReport, DiaryRequest, Lasted, NewSitting, diary, time_of_day};
pub use done::{DoneReport, DoneRequest, Stitches, done};
pub use error::{Error, FileKind, Heavy, SwatchPlace, Wanted};
pub use kit::{KitOffer, KitReport, KitRequest, KitSavings, KitSheets, KitThread, kit};
pub use leave::{LeaveReport, LeaveRequest, leave};
pub use left::{LastTick, LeftMark, LeftReport, LeftRequest, LeftThread, USUAL_PACE, WorkedOtherwise, left};
pub use look::{LookLine, LookNeedle, LookReport, LookRequest, SYMBOL_FONT, look};
pub use make::{
    AtHand, BareAt, BareBy, Detail, Kept, KeptCover, KeptMask, MakeReport, MakeRequest, MakeSettings,
    Matched, Sample, SeenFromError, SetRequest, SizeWish, TakeSettings, USUAL_MARGIN, make, seen_from,
};
pub use mark::{
    ChooseReport, ChooseRequest, MarkChange, MarkFigures, MarkReport, MarkRequest, MarkSetting, MarkSettings,
    StepRequest, choose, mark, redo, undo,
};
pub use memory::Job;
pub use named::Named;
pub use note::Note;
pub use offer::Offer;
pub use pieces::{
    Came, KeepAs, KeepReport, KeepRequest, PieceFigures, PiecesReport, PiecesRequest, keep, pieces,
};
pub use print::{Alike, InkFigures, PageFigures, PageSettings, Pictures, PrintReport, PrintRequest, print};
pub use proof::{LineNear, LineWrong, Near, OutlineFigures, Place, ProofReport, ProofRequest, Wrong, proof};
pub use read::{Doubtful, ReadReport, ReadRequest, read};
pub use reading::{
    AskedSymbol, InReading, OpenPages, ReadingChange, ReadingReport, Said, begin_reading, open_pages,
    reading_of_piece, readings, wants_size,
};
pub use report::{Report, What, Written};
pub use shades::{
    CompareCardsReport, CompareCardsRequest, MoveReport, MoveRequest, MovedThread, NearestFigures,
    ShadeFigures, ShowCardReport, ShowCardRequest, compare_cards, move_to_card, show_card,
};
pub use shown::{PageShownReport, PageShownRequest, page_shown};
pub use source::{InBasket, Moment, MomentError, Replace, Source, Target, file_name_of};
pub use stray::{Of, Stray};
pub use swatches::{CardFromPhotoReport, CardFromPhotoRequest, card_from_photo};
pub use take::{TakeRequest, take};
pub use trial::{OpenPhoto, TrialReport, TrialRequest, open_photo, try_out};
pub use warning::{Unsure, Warning};
pub use workers::workers;

// What requests and reports are made of.
pub use crate::basket::{
    Backup, Carried, DeviceId, DiaryDay, InBox, Piece as KeptPiece, PieceId, Reading, TickResult, Turn, Way,
};
pub use crate::chart::marks::{MarkPair, MarkWarning};
pub use crate::chart::{Done, LinePattern, OpeningNote, Revision, Stamp, StepError};
pub use crate::making::frame::{Crop, CropError, Kind, Sampling, Spot, Tone};
pub use crate::making::make::{Owned, USUAL_MIXES};
pub use crate::making::photo::{Limits, PhotoWarning};
pub use crate::making::reduce::{Colours, Confetti};
pub use crate::making::rethread::{POOR, Sharing, Short, Supply};
pub use crate::making::subject::Seek;
pub use crate::planning::fit::{Ease, InFrame, OnPiece, Piece, USUAL_COUNTS};
pub use crate::planning::savings::Change;
pub use crate::planning::shift::{Help, SHIFT_LIMIT, Shift};
pub use crate::planning::shopping::ShoppingWarning;
pub use crate::planning::verdict::{ChartVerdict, NeedleVerdict, Verdict};
pub use crate::planning::{Handling, ThreadCount};
pub use crate::printing::sheet::boxes::{BoxOrder, Compartments};
pub use crate::printing::sheet::{Ink, Paper, Print, Screen, SheetWarning, Show, thousands};
pub use crate::reading::proof::{Count, Spoil};
pub use crate::reading::read::{
    Answer, AnswersError, DoubtKind, FoundSymbol, Joined, PagePlace, ReadError, ReadLine,
};
pub use crate::reading::{Program, Reader, serve};
pub use crate::thread::cloth::{COVERS, Cloth, ClothWeight, Sought, StitchKind};
pub use crate::thread::shades::swatches::{Part, SwatchWarning};
pub use crate::thread::shades::{COLUMNS as CARD_COLUMNS, CardWarning, decimal};

#[cfg(test)]
mod tests;
