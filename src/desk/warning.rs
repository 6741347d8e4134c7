//! What the person should know though all went well.

use serde::Serialize;

use super::Stray;
use crate::chart::marks::{Composed, MarkWarning};
use crate::chart::{Chart, Mark, OpeningNote, PlacedMark, Revision};
use crate::ground::advice::Advice;
use crate::making::photo::PhotoWarning;
use crate::making::rethread::Short;
use crate::planning::shift::{SHIFT_LIMIT, Shift, shifts};
use crate::planning::shopping::ShoppingWarning;
use crate::printing::sheet::SheetWarning;
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
    /// Of pages.
    Sheet {
        /// What.
        warning: SheetWarning,
    },
    /// Pages were printed and cannot be read back.
    NotProofRead {
        /// Why, as the error says it.
        why: String,
        /// What to do about it.
        advice: Option<Advice>,
    },
}

/// Needles that are told of one by one; the rest are counted.
const SHIFTS_TOLD: usize = 6;

/// Letters nearer to the cloth than this, in ΔE00, are hard to read in the hand (common practice, no source).
const PALE_KEY: f64 = 15.0;

impl Warning {
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
