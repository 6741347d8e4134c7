//! What the person should know though all went well.

use serde::Serialize;

use super::proof::Named;
use crate::chart::{Chart, Needle, OpeningNote};
use crate::ground::advice::Advice;
use crate::ground::units::Millimetres;
use crate::making::photo::PhotoWarning;
use crate::planning::shift::Shift;
use crate::printing::sheet::SheetWarning;
use crate::reading::proof::{Confused, ProofError, Settled};

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
