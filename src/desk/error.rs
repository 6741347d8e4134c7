//! Why an operation has no result.

use std::fmt;
use std::io;
use std::path::PathBuf;

use serde::Serialize;

use super::What;
use super::setting::MarkSetting;
use crate::basket::BasketError;
use crate::chart::mark::MarkKind;
use crate::chart::marks::{FileError, MarkError, ThreadError};
use crate::chart::{DocumentError, StepError};
use crate::ground::advice::Advice;
use crate::ground::progress::Stopped;
use crate::ground::store::StoreError;
use crate::ground::units::{GridSize, Millimetres, UnitError, counted};
use crate::making::exact::ExactError;
use crate::making::frame::FrameError;
use crate::making::make::MakeError;
use crate::making::photo::PhotoError;
use crate::making::reduce::ReduceError;
use crate::planning::fit::Piece;
use crate::planning::owned::OwnedError;
use crate::printing::ink::InkError;
use crate::printing::picture::PngError;
use crate::printing::sheet::SheetError;
use crate::printing::symbols::FixError;
use crate::reading::proof::ProofError;
use crate::reading::read::{AnswersError, ReadError};
use crate::thread::cloth::{CoverError, SwatchFitError};
use crate::thread::shades::ShadesError;
use crate::thread::shades::swatches::SwatchError;

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
    /// Two results would have one name.
    #[error("two of them would be called {name}")]
    SameName {
        /// Which.
        name: String,
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
    /// The workbasket cannot be used so.
    #[error(transparent)]
    Basket(#[from] BasketError),
    /// A chart that was changed apart from the piece that it would take the place of.
    #[error("{piece} in the workbasket was changed apart from {chart}")]
    PieceApart {
        /// What the piece is called.
        piece: String,
        /// What the chart is called.
        chart: String,
    },
    /// Something that is to be ticked lies beyond the chart.
    #[error("{what} lies beyond the chart, which has {size}")]
    BeyondChart {
        /// What was asked for.
        what: String,
        /// Columns and rows as worked.
        size: GridSize,
    },
    /// Nothing of a piece was printed.
    #[error("no printing of {piece} was kept")]
    NotPrinted {
        /// What it is called.
        piece: String,
    },
    /// A page that the last printing does not have.
    #[error("the last printing has {count} pages and no page {page}")]
    NoSuchPage {
        /// What was asked for.
        page: u32,
        /// How many there are.
        count: u32,
    },
    /// A page without cells.
    #[error("page {page} of the last printing shows no part of the chart")]
    NoCellsOnPage {
        /// Which.
        page: u32,
    },
    /// A time of day that no clock shows.
    #[error("{minutes} minutes after midnight are no time of day")]
    NoTimeOfDay {
        /// What was given.
        minutes: u32,
    },
    /// A sitting of more than a day.
    #[error("a sitting of {minutes} minutes is longer than a day")]
    LongSitting {
        /// What was given.
        minutes: u32,
    },
    /// A row of a table of days cannot be read.
    #[error("row {row} of {name}: {what}")]
    DiaryTable {
        /// What the table is called.
        name: String,
        /// The row, from 1.
        row: u64,
        /// What is wrong.
        what: String,
    },
    /// A mark cannot be worked.
    #[error(transparent)]
    Mark(MarkError),
    /// Nothing of this name is on the chart.
    #[error("the chart has no mark called `{name}`")]
    NoSuchMark {
        /// The name.
        name: String,
        /// Those that there are.
        names: Vec<String>,
    },
    /// The name of a new mark is that of another.
    #[error("two marks are called `{name}`")]
    MarkNameTaken {
        /// The name.
        name: String,
    },
    /// A setting that such a mark does not have.
    #[error("mark `{name}` is {kind}: {setting} does not go with it")]
    MarkMisfit {
        /// The mark.
        name: String,
        /// Its kind.
        kind: MarkKind,
        /// The setting.
        setting: MarkSetting,
    },
    /// A mark that cannot be moved.
    #[error("nothing to move: mark `{name}` holds no place of its own")]
    NoPlaceOfItsOwn {
        /// The mark.
        name: String,
        /// Its kind.
        kind: MarkKind,
    },
    /// A mark about nothing.
    #[error("mark `{mark}`: no square is chosen")]
    NothingChosen {
        /// The mark.
        mark: String,
    },
    /// An area that is to be worked as it is.
    #[error("mark `{mark}` says neither stitch nor strands nor a thread to add")]
    NothingAsked {
        /// The mark.
        mark: String,
    },
    /// A file of marks, or a mark as it was asked for, cannot be used.
    #[error(transparent)]
    MarkFile(FileError),
    /// A thread is not known, or cannot be threaded.
    #[error(transparent)]
    Thread(#[from] ThreadError),
    /// A step cannot be taken back or done again.
    #[error(transparent)]
    Step(#[from] StepError),
    /// A symbol cannot be given.
    #[error(transparent)]
    Symbol(#[from] FixError),
    /// Pages cannot be laid out.
    #[error(transparent)]
    Sheet(SheetError),
    /// Pages cannot be written as PDF.
    #[error(transparent)]
    Ink(InkError),
    /// Printed cells are read as others than the chart has.
    #[error("{wrong} of {cells} squares {} misread", if *wrong == 1 { "is" } else { "are" })]
    MisreadCells {
        /// How many.
        wrong: usize,
        /// Of how many, repeated ones counted.
        cells: u64,
    },
    /// Printed outlines are read as others than the chart has.
    #[error("{wrong} of {judged} outlines {} misread", if *wrong == 1 { "is" } else { "are" })]
    MisreadLines {
        /// How many.
        wrong: usize,
        /// Of how many.
        judged: u64,
    },
    /// A photo cannot be read.
    #[error(transparent)]
    Photo(PhotoError),
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
    /// What is for one chart was asked for several.
    #[error("{what} is for one chart, and {charts} were given")]
    OneChart {
        /// What was asked for.
        what: What,
        /// How many charts were given.
        charts: usize,
    },
    /// A table of what is owned cannot be used.
    #[error("could not use {name}")]
    Owned {
        /// What it is called.
        name: String,
        /// Why.
        source: OwnedError,
    },
    /// A needleful that leaves nothing to sew with.
    #[error(
        "a needleful of {needleful} leaves nothing to sew with after a start of {start} and an end of {end}"
    )]
    NoThreadLeft {
        /// The length that is cut.
        needleful: Millimetres,
        /// Held under where it starts.
        start: Millimetres,
        /// Run under where it ends.
        end: Millimetres,
    },
    /// A thread that the chart does not have.
    #[error("the chart has no thread `{code}`")]
    NoSuchThreadInChart {
        /// Its code.
        code: String,
    },
    /// Not one count of a swatch's cloth.
    #[error("the count of the swatch's cloth is not said")]
    SwatchCount,
    /// A colour of a swatch that is not known.
    #[error("the colour of the {} is not said", if *place == SwatchPlace::Cloth { "cloth" } else { "thread" })]
    NoSwatchColour {
        /// Which.
        place: SwatchPlace,
    },
    /// A place on the photo of a swatch cannot be used.
    #[error("could not calibrate by {name}")]
    SwatchPhoto {
        /// What it is called.
        name: String,
        /// Why.
        source: SwatchError,
    },
    /// A swatch that tells nothing.
    #[error("could not calibrate by the swatch")]
    Swatch(#[source] SwatchFitError),
    /// A photo of threads cannot be used.
    #[error("could not use the photo {name}")]
    Swatches {
        /// What it is called.
        name: String,
        /// Why.
        source: SwatchError,
    },
    /// A card made of a photo could not be read again.
    #[error(transparent)]
    PhotographedCard(ShadesError),
    /// Codes that do not go with the places of a grid.
    #[error("{name} names {}, and the grid has {}", counted(*found as u64, "thread"), counted(*places as u64, "place"))]
    CodesOfPlaces {
        /// What it is called.
        name: String,
        /// How many it names.
        found: usize,
        /// How many there are.
        places: usize,
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
    /// A bought piece is smaller or larger than a chart can be.
    #[error("so large a piece cannot be charted")]
    Bought(#[source] UnitError),
    /// Nothing can be worked on the cloth at hand.
    #[error(
        "{cloth} of cloth with {:.1} cm left on each side{} have no room for it",
        margin.cm(), frame.map_or_else(String::new, |frame| format!(" and a frame of {frame}"))
    )]
    NoRoomOnCloth {
        /// The cloth.
        cloth: Piece,
        /// The frame.
        frame: Option<Piece>,
        /// What is left on each side.
        margin: Millimetres,
    },
    /// A job may take more memory than is allowed.
    #[error("{what} may take {} MB of memory; at most {} MB may be used", needed.div_ceil(1 << 20), limit >> 20)]
    Memory {
        /// What would take it.
        what: Heavy,
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
    /// No chart can be read from pages.
    #[error("could not read a chart from {name}")]
    NoChartRead {
        /// What they are called.
        name: String,
        /// Why.
        source: ReadError,
    },
    /// A table of answers that cannot be used.
    #[error("could not use the answers in {name}")]
    Answers {
        /// What it is called.
        name: String,
        /// Why.
        source: AnswersError,
    },
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
    /// Holds what is for one chart to one.
    pub(super) fn hold_to_one(what: What, charts: usize) -> Result<(), Self> {
        if charts > 1 { Err(Self::OneChart { what, charts }) } else { Ok(()) }
    }

    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        Some(match self {
            Self::Stopped | Self::Ink(_) | Self::Picture(_) => return None,
            Self::Read { wanted, .. } => wanted.advice(),
            Self::OverRead { .. } | Self::SameName { .. } => Advice::OtherName,
            Self::OtherKind { .. } => Advice::AllowReplacing,
            Self::Store(error) => error.advice(),
            Self::ChartTooLarge { .. } => Advice::SimplerMasks,
            Self::Chart { source, .. } => source.advice(),
            Self::Mark(error) => return error.advice(),
            Self::Basket(error) => return error.advice(),
            Self::PieceApart { .. } => Advice::KeepAsNew,
            Self::NoTimeOfDay { .. } | Self::LongSitting { .. } => Advice::SayMinutes,
            Self::DiaryTable { .. } => Advice::NameDiaryColumns,
            Self::BeyondChart { .. } => Advice::CountOnRulers,
            Self::NotPrinted { .. } => Advice::PrintPiece,
            Self::NoSuchPage { .. } | Self::NoCellsOnPage { .. } => Advice::PageOfChart,
            Self::NoSuchMark { names, .. } => Advice::MarksThere { names: names.clone() },
            Self::MarkNameTaken { .. } => Advice::OtherNameOrChange,
            Self::MarkMisfit { setting: MarkSetting::Thread, .. } => Advice::AddThread,
            Self::MarkMisfit { .. } => Advice::SettingsOfMark,
            Self::NoPlaceOfItsOwn { kind: MarkKind::Key, .. } => Advice::PlaceOfKey,
            Self::NoPlaceOfItsOwn { .. } => Advice::OtherCells,
            Self::NothingChosen { .. } => Advice::ChooseCells,
            Self::NothingAsked { .. } => Advice::SayHow,
            Self::MarkFile(error) => error.advice(),
            Self::Thread(error) => error.advice(),
            Self::Step(StepError::NothingDone) => Advice::LookAtEarlier,
            Self::Step(StepError::NothingUndone) => Advice::UndoFirst,
            Self::Step(StepError::OtherChart) => Advice::GoOnFromHere,
            Self::Step(StepError::Damaged(_)) => Advice::EarlierCopy,
            Self::Symbol(error) => error.advice(),
            Self::Sheet(error) => error.advice(),
            Self::Proof { source, .. } => return source.advice(),
            Self::NoChartRead { source, .. } => return source.advice(),
            Self::Answers { .. } => Advice::MendAnswers,
            Self::MisreadCells { .. } | Self::MisreadLines { .. } => Advice::PrintLarger,
            Self::Photo(error) => error.advice(),
            Self::Card { source, .. } => source.advice(),
            Self::Cover { source, .. } => source.advice(),
            Self::OneChart { .. } => Advice::OneChart,
            Self::Owned { source, .. } => source.advice(),
            Self::NoThreadLeft { .. } => Advice::LongerNeedleful,
            Self::NoSuchThreadInChart { .. } => Advice::ThreadOfKey,
            Self::SwatchCount => Advice::CountOfSwatch,
            Self::NoSwatchColour { place } => {
                let what = if *place == SwatchPlace::Cloth { "cloth" } else { "thread" };
                Advice::ColourOf { what: what.to_owned() }
            }
            Self::SwatchPhoto { source, .. } | Self::Swatches { source, .. } => source.advice(),
            Self::Swatch(error) => error.advice(),
            Self::PhotographedCard(error) => error.advice(),
            Self::CodesOfPlaces { .. } => Advice::LineAThread,
            Self::Make(error) => return error.advice(),
            Self::Take(error) => error.advice(),
            Self::OneStrand => Advice::TwoStrands,
            Self::NoRoomOnCloth { .. } => Advice::LargerCloth,
            Self::Bought(_) => Advice::WriteLength,
            Self::Memory { what: Heavy::Chart(_), .. } => Advice::SmallerJob,
            Self::Memory { .. } => Advice::LessOrMoreMemory,
            Self::NoRequest { .. } => Advice::MakeAnew,
            Self::DamagedRequest { .. } => Advice::EarlierCopy,
            Self::OtherPhoto { .. } => Advice::SamePhoto,
        })
    }
}

impl From<MarkError> for Error {
    fn from(error: MarkError) -> Self {
        match error {
            MarkError::Stopped(_) => Self::Stopped,
            error => Self::Mark(error),
        }
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

impl From<PhotoError> for Error {
    fn from(error: PhotoError) -> Self {
        match error {
            PhotoError::Stopped(_) => Self::Stopped,
            error => Self::Photo(error),
        }
    }
}

impl From<FrameError> for Error {
    fn from(error: FrameError) -> Self {
        MakeError::from(error).into()
    }
}

/// What may take more memory than is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heavy {
    /// A chart that is made, with its pages and pictures.
    Chart(GridSize),
    /// The pages and pictures of a chart that is there.
    Pages(GridSize),
    /// A chart with its marks, and a picture of them.
    Marked(GridSize),
    /// The working order of a chart.
    Order(GridSize),
    /// Charts together.
    Together(usize),
}

impl fmt::Display for Heavy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Chart(size) => write!(f, "a chart of {size} squares"),
            Self::Pages(size) => write!(f, "the pages and pictures of a chart of {size} squares"),
            Self::Marked(size) => write!(f, "a chart of {size} squares with its marks"),
            Self::Order(size) => write!(f, "the working order of a chart of {size} squares"),
            Self::Together(charts) => write!(f, "so much of {}", counted(*charts as u64, "chart")),
        }
    }
}

/// A part of a swatch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SwatchPlace {
    /// The thread's.
    Thread,
    /// The cloth's.
    Cloth,
    /// The stitches.
    Stitches,
}

/// What something that is read was to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A chart.
    Chart,
    /// What was kept of a chart.
    KeptChart,
    /// The photo that a chart was made of.
    Photo,
    /// Printed pages.
    Pages,
    /// A shade card.
    Card,
    /// Measures of how thread covers.
    Cover,
    /// A table of codes.
    Table,
    /// A table of what is owned.
    Owned,
    /// Codes and names, a line a thread.
    Codes,
    /// A file of marks.
    Marks,
    /// A picture of a mask.
    Mask,
    /// A chart that was printed elsewhere.
    PrintedChart,
    /// Answers about the symbols of one.
    Answers,
}

impl Wanted {
    fn advice(self) -> Advice {
        match self {
            Self::Chart => Advice::GiveChart,
            Self::KeptChart => Advice::KeptChart,
            Self::Photo => Advice::GivePicture,
            Self::Pages => Advice::GivePages,
            Self::Card => Advice::GiveCard,
            Self::Cover => Advice::GiveMeasures,
            Self::Table => Advice::GiveTable,
            Self::Owned => Advice::GiveOwned,
            Self::Codes => Advice::LineAThread,
            Self::Marks => Advice::GiveMarks,
            Self::Mask => Advice::SaveMask,
            Self::PrintedChart => Advice::PagesOfChart,
            Self::Answers => Advice::MendAnswers,
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
