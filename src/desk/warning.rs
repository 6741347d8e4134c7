//! What the person should know though all went well.

use serde::Serialize;

use super::{Named, Stray};
use crate::basket::PieceId;
use crate::chart::marks::{Composed, MarkWarning};
use crate::chart::{Chart, Mark, Needle, OpeningNote, PlacedMark, Revision};
use crate::ground::advice::Advice;
use crate::ground::units::Millimetres;
use crate::making::frame::Spot;
use crate::making::photo::PhotoWarning;
use crate::making::rethread::Short;
use crate::planning::shift::{SHIFT_LIMIT, Shift, shifts};
use crate::planning::shopping::ShoppingWarning;
use crate::printing::sheet::SheetWarning;
use crate::reading::proof::{Confused, ProofError, Settled};
use crate::thread::cloth::CoverModel;
use crate::thread::shades::CardWarning;
use crate::thread::shades::swatches::SwatchWarning;

/// Something to know.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Warning {
    /// Of a chart that was read.
    Opened {
        /// What it is called.
        chart: String,
        /// What.
        note: OpeningNote,
    },
    /// A chart had become so large that it forgot its oldest steps.
    StepsForgotten {
        /// How many.
        steps: usize,
    },
    /// Files beside a chart that belong to another chart, or show another revision of it.
    Apart {
        /// What the chart is called.
        chart: String,
        /// Its revision.
        revision: Revision,
        /// Which files.
        files: Vec<Stray>,
    },
    /// The file that a piece of the workbasket is a copy of was changed since.
    FileChanged {
        /// What the piece is called.
        piece: String,
        /// The file.
        file: String,
    },
    /// Another piece of the workbasket is called the same.
    SameName {
        /// The piece.
        piece: PieceId,
        /// What both are called.
        name: String,
        /// What no piece is called.
        free: String,
    },
    /// Pages were ticked that show another revision of the chart.
    PrintedBefore {
        /// What the piece is called.
        piece: String,
        /// The revision that they show.
        revision: Revision,
    },
    /// The backup of the day could not be made.
    NoBackup {
        /// Why.
        why: String,
    },
    /// No card was given, so that the demonstration card is used.
    DemonstrationCard,
    /// Of a photo.
    Photo {
        /// What.
        warning: PhotoWarning,
    },
    /// The picture shows a chart in squares of one colour each, and is not taken cell by cell.
    ShowsSquares {
        /// Pixels from square to square.
        pitch: f64,
        /// Squares across and down.
        size: [u32; 2],
    },
    /// The picture looks like a printed page of a chart.
    ShowsPage,
    /// The cloth shows through a thread and shifts its colour.
    Shift {
        /// Which thread, by how much, and what would help.
        shift: Shift,
    },
    /// It shifts more threads than are told one by one.
    MoreShifts {
        /// How many.
        threads: usize,
    },
    /// Of a mark.
    Mark {
        /// What.
        warning: MarkWarning,
    },
    /// The letters of a key are in a thread like the cloth.
    PaleKey {
        /// The code of the thread.
        code: String,
        /// Its name.
        name: String,
        /// How far it is from the cloth (CIEDE2000).
        delta_e: f64,
    },
    /// A place was pointed at to be left bare, and nothing there is near the cloth.
    NothingBareAt {
        /// The place.
        spot: Spot,
        /// How near it would have to be, in ΔE00.
        within: f64,
        /// How far it is, where the picture is not clear there.
        delta_e: Option<f64>,
    },
    /// The piece suffers from what is left bare.
    BareHarms {
        /// How far the bare cells are from the picture, in mean ΔE00.
        delta_e: f64,
        /// Of a hundred cells of the subject's edge, so many meet bare cloth of nearly their own colour.
        lost_edge_percent: f64,
    },
    /// Threads that hardly work a stitch.
    SpareThreads {
        /// How many work fewer than `few` stitches.
        spare: usize,
        /// How many there are.
        threads: usize,
        /// So many stitches are hardly worth a skein.
        few: u64,
    },
    /// Of a shade card.
    Card {
        /// What it is called.
        card: String,
        /// What.
        warning: CardWarning,
    },
    /// Of a list of threads.
    Shopping {
        /// What.
        warning: ShoppingWarning,
    },
    /// Threads whose price is not known, left out of a budget.
    Unpriced {
        /// How many.
        threads: usize,
    },
    /// Threads whose working order had no room on so many pages.
    OrderLeftOut {
        /// How many threads are shown whole.
        shown: usize,
        /// How many are not.
        left_out: usize,
        /// The most pages that were allowed.
        pages: usize,
        /// The code of one that is not shown, or not whole, to ask for alone.
        example: String,
    },
    /// Not even the first thread's working order had room on so many pages.
    OrderCutShort {
        /// Its code.
        code: String,
        /// How many others are not shown at all.
        left_out: usize,
        /// The most pages that were allowed.
        pages: usize,
    },
    /// Columns of a table of what is owned that are not used.
    OwnedColumns {
        /// What it is called.
        table: String,
        /// Their names.
        columns: Vec<String>,
    },
    /// Threads that were to be worked in half crosses and are not on the chart.
    HalfCrossNotChosen {
        /// Their codes.
        codes: Vec<String>,
    },
    /// Threads of which more is asked for than is owned.
    ShortOfThread {
        /// Which, and how much.
        threads: Vec<Short>,
    },
    /// Threads that are plainly another colour than those whose place they took.
    PoorThreads {
        /// How many.
        threads: usize,
    },
    /// Threads that are metallic for plain or the other way round.
    OtherKinds {
        /// How many.
        threads: usize,
    },
    /// A place on a photo of threads that is uneven.
    UnevenPlace {
        /// The code of its thread.
        code: String,
        /// Half of it is further off than this (CIEDE2000).
        delta_e: f64,
    },
    /// Of a photo of threads.
    Swatches {
        /// What.
        warning: SwatchWarning,
    },
    /// A card was read off a photo.
    NoSpectrophotometer,
    /// Colours of a card are as a screen shows them.
    NotMeasured {
        /// The card.
        card: String,
    },
    /// Of pages.
    Sheet {
        /// What.
        warning: SheetWarning,
    },
    /// Symbols that a trial print takes for one another.
    Confused {
        /// The side of a square.
        #[serde(rename = "cell_mm")]
        cell: Millimetres,
        /// Threads with their symbols, the worst first; no second where one is taken for bare cloth.
        pairs: Vec<[Option<Named>; 2]>,
        /// The side of squares in which none is.
        #[serde(rename = "enough_mm")]
        enough: Option<Millimetres>,
    },
    /// Of a chart that was read.
    Reading {
        /// What.
        about: Unsure,
        /// How many.
        count: usize,
    },
    /// Pages were printed and cannot be read back.
    NotProofRead {
        /// Why, as the error says it.
        why: String,
        /// What to do about it.
        advice: Option<Advice>,
    },
}

/// What is not sure of a chart that was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unsure {
    /// Symbols are in doubt.
    Symbols,
    /// Threads whose colour nothing shows.
    Colours,
    /// Strokes of backstitch that end between holes.
    LooseLines,
    /// Threads of backstitch that the key does not name.
    UnnamedLines,
    /// Knots and beads that are kept as places, and not drawn.
    Knots,
    /// Columns and rows before the first page.
    PagesMissing,
    /// Squares that pages show differently.
    PagesDisagree,
}

/// Needles that are told of one by one; the rest are counted.
const SHIFTS_TOLD: usize = 6;

/// Letters nearer to the cloth than this, in ΔE00, are hard to read in the hand (common practice, no source).
const PALE_KEY: f64 = 15.0;

impl Warning {
    /// What is read wrong in a trial, and what was asked for and nearly is.
    pub(super) fn confused(chart: &Chart, settled: &Settled, wished: &[(String, String)]) -> Option<Self> {
        let is_wished = |needle: usize| {
            let code = chart.needles().get(needle).map(Needle::code);
            wished.iter().any(|(wish, _)| Some(wish) == code.as_ref())
        };
        let counts = |pair: &&Confused| {
            pair.is_misread() || is_wished(pair.needle) || pair.other.is_some_and(is_wished)
        };
        let named = |pair: &Confused| [Named::of(chart, Some(pair.needle)), Named::of(chart, pair.other)];
        let pairs: Vec<_> = settled.confused.iter().filter(counts).map(named).collect();
        let (cell, enough) = (settled.cell, settled.enough);
        (!pairs.is_empty()).then_some(Self::Confused { cell, pairs, enough })
    }

    /// That pages cannot be read back.
    pub(super) fn not_read(error: &ProofError) -> Self {
        Self::NotProofRead { why: error.to_string(), advice: error.advice() }
    }

    /// What marks bring up: their own warnings, needles through which the cloth shows now, and a key in a thread like
    /// the cloth.
    #[must_use]
    pub fn of_marks(chart: &Chart, composed: &Composed) -> Vec<Self> {
        let own = composed.warnings.iter().cloned().map(|warning| Self::Mark { warning });
        let cover = CoverModel::default();
        let same = |one: &Shift, two: &Shift| Shift { needle: two.needle, ..one.clone() } == *two;
        let known = shifts(chart, &cover, SHIFT_LIMIT);
        let mut new = shifts(&composed.chart, &cover, SHIFT_LIMIT);
        new.retain(|shift| !known.iter().any(|old| same(old, shift)));
        let cloth = chart.cloth.colour.lab();
        let pale = |mark: &PlacedMark| {
            let Mark::Key(key) = mark.mark() else { return None };
            let thread = key.thread.first()?;
            let delta_e = thread.colour.lab().ciede2000(cloth);
            let (code, name) = (thread.code.clone(), thread.name.clone());
            (delta_e < PALE_KEY).then_some(Self::PaleKey { code, name, delta_e })
        };
        own.chain(Self::shifts(new)).chain(chart.marks.iter().filter_map(pale)).collect()
    }

    /// Where the cloth shows through, needle by needle, the worst first.
    pub(super) fn shifts(mut shifts: Vec<Shift>) -> impl Iterator<Item = Self> {
        let more = shifts.len().saturating_sub(SHIFTS_TOLD);
        shifts.truncate(SHIFTS_TOLD);
        let rest = (more > 0).then_some(Self::MoreShifts { threads: more });
        shifts.into_iter().map(|shift| Self::Shift { shift }).chain(rest)
    }
}

impl From<ShoppingWarning> for Warning {
    fn from(warning: ShoppingWarning) -> Self {
        Self::Shopping { warning }
    }
}

impl From<SheetWarning> for Warning {
    fn from(warning: SheetWarning) -> Self {
        Self::Sheet { warning }
    }
}

impl From<PhotoWarning> for Warning {
    fn from(warning: PhotoWarning) -> Self {
        Self::Photo { warning }
    }
}
