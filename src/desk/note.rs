//! What is worth knowing of a result.

use serde::Serialize;

use super::figures::places3;
use super::offer::Offer;
use crate::ground::colour::{Compared, Srgb8};
use crate::ground::progress::{Progress, Stopped};
use crate::making::bare;
use crate::making::frame::StitchField;
use crate::making::make::Making;
use crate::making::subject::{Subject, Taken};
use crate::planning::{self, ThreadUse};

/// Something worth knowing.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Note {
    /// What fits the cloth at hand.
    Offers {
        /// The coarsest count first.
        offers: Vec<Offer>,
    },
    /// What it saves to leave cloth bare, against the same chart stitched all over.
    BareSaves {
        /// Stitches.
        stitches: u64,
        /// Metres of single strand.
        strand_metres: f64,
        /// Whole skeins.
        skeins: u64,
        /// Regions that are left bare.
        regions: usize,
        /// Evenings of two hours, at the least and at the most.
        #[serde(serialize_with = "places3")]
        evenings: [f64; 2],
    },
    /// How many cells lie how near to the cloth, to choose a limit by.
    NearCloth {
        /// Limits in ΔE00, and cells within each.
        within: Vec<(f64, usize)>,
    },
    /// Faces were taken for the subject.
    Faces {
        /// How many.
        faces: usize,
        /// Of a hundred cells, so many are part of them, with the heads.
        #[serde(serialize_with = "places3")]
        percent: f64,
    },
    /// What is sharp and stands out was taken for the subject, as there is no face.
    StandsOut {
        /// Of a hundred cells, so many are part of it.
        #[serde(serialize_with = "places3")]
        percent: f64,
    },
    /// Nothing was taken for the subject.
    NoSubject,
    /// Crosses of marks that were not ticked with others, since more of each mark lies elsewhere.
    OfMarks {
        /// How many.
        stitches: u64,
        /// The marks.
        marks: Vec<String>,
    },
    /// The picture was taken for a flat drawing.
    TakenForDrawing,
    /// The picture shows a chart in squares, each of which was taken as a cell.
    SquaresTaken {
        /// Pixels from square to square.
        pitch: f64,
        /// Squares across and down.
        size: [u32; 2],
    },
    /// One more thread would help by less than this.
    Enough {
        /// Threads chosen.
        threads: usize,
        /// What one more would bring, in mean ΔE00.
        delta_e: f64,
    },
}

/// The stitches of an evening of two hours: the most and the least (common practice, no source: 100 to 150 full crosses
/// an hour).
const EVENING: [f64; 2] = [300.0, 200.0];

impl Note {
    pub(super) fn subject(subject: &Subject) -> Self {
        let percent = subject.share() * 100.0;
        match subject.taken {
            Taken::Faces(faces) => Self::Faces { faces, percent },
            Taken::StandsOut => Self::StandsOut { percent },
            Taken::Nothing => Self::NoSubject,
        }
    }

    pub(super) fn bare_saves(
        bare_making: &Making,
        whole: &Making,
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let total = |making: &Making| {
            let uses = planning::thread_uses(&making.chart, &[], progress)?;
            let metres: f64 = uses.iter().map(|thread| thread.strand_metres).sum();
            Ok((metres, uses.iter().map(ThreadUse::skeins).sum::<u64>()))
        };
        let (metres, skeins) = total(bare_making)?;
        let (all_metres, all_skeins) = total(whole)?;
        let open: Vec<bool> = bare_making
            .chart
            .cells()
            .iter()
            .zip(whole.chart.cells())
            .map(|(bare, whole)| bare.needle().is_none() && whole.needle().is_some())
            .collect();
        Ok(Self::BareSaves {
            stitches: bare_making.figures.bare_by_choice,
            strand_metres: (all_metres - metres).max(0.0),
            skeins: all_skeins.saturating_sub(skeins),
            regions: bare::regions(&open, bare_making.chart.size()).len(),
            evenings: EVENING.map(|stitches| bare_making.figures.bare_by_choice as f64 / stitches),
        })
    }

    pub(super) fn near_cloth(field: &StitchField, cloth: Srgb8) -> Self {
        let cloth = Compared::from(cloth.linear().lab());
        let cells = field.cells().iter().flatten();
        let apart: Vec<f64> = cells.map(|&colour| Compared::from(colour).ciede2000(&cloth)).collect();
        let within = |limit: f64| (limit, apart.iter().filter(|&&apart| apart <= limit).count());
        Self::NearCloth { within: [4.0, 8.0, 12.0, 16.0, 20.0, 25.0].map(within).to_vec() }
    }
}
