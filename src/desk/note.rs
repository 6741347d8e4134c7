//! What is worth knowing of a result.

use serde::Serialize;

use crate::ground::colour::{Compared, Srgb8};
use crate::ground::progress::{Progress, Stopped};
use crate::making::frame::StitchField;
use crate::making::make::Making;
use crate::planning::{self, ThreadUse};

/// Something worth knowing.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Note {
    /// What it saves to leave cloth bare, against the same chart stitched all over.
    BareSaves {
        /// Stitches.
        stitches: u64,
        /// Metres of single strand.
        strand_metres: f64,
        /// Whole skeins.
        skeins: u64,
    },
    /// How many cells lie how near to the cloth, to choose a limit by.
    NearCloth {
        /// Limits in ΔE00, and cells within each.
        within: Vec<(f64, usize)>,
    },
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

impl Note {
    pub(super) fn bare_saves(
        bare: &Making,
        whole: &Making,
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let total = |making: &Making| {
            let uses = planning::thread_uses(&making.chart, &[], progress)?;
            let metres: f64 = uses.iter().map(|thread| thread.strand_metres).sum();
            Ok((metres, uses.iter().map(ThreadUse::skeins).sum::<u64>()))
        };
        let (metres, skeins) = total(bare)?;
        let (all_metres, all_skeins) = total(whole)?;
        Ok(Self::BareSaves {
            stitches: bare.figures.bare_by_choice,
            strand_metres: (all_metres - metres).max(0.0),
            skeins: all_skeins.saturating_sub(skeins),
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
