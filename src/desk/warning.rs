//! What the person should know though all went well.

use serde::Serialize;

use crate::chart::OpeningNote;
use crate::ground::advice::Advice;
use crate::making::photo::PhotoWarning;
use crate::planning::shift::Shift;
use crate::printing::sheet::SheetWarning;

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
    /// Threads that hardly work a stitch.
    SpareThreads {
        /// How many work fewer than `few` stitches.
        spare: usize,
        /// How many there are.
        threads: usize,
        /// So many stitches are hardly worth a skein.
        few: u64,
    },
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

impl Warning {
    /// Where the cloth shows through, needle by needle, the worst first.
    pub(super) fn shifts(mut shifts: Vec<Shift>) -> impl Iterator<Item = Self> {
        let more = shifts.len().saturating_sub(SHIFTS_TOLD);
        shifts.truncate(SHIFTS_TOLD);
        let rest = (more > 0).then_some(Self::MoreShifts { threads: more });
        shifts.into_iter().map(|shift| Self::Shift { shift }).chain(rest)
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
