//! A piece of which only the finished size is known, such as a bought kit, on other counts.

use serde::Serialize;

use super::figures::{displayed, places3};
use super::{Report, Warning, Written};
use crate::ground::colour::Srgb8;
use crate::ground::units::{FabricCount, Millimetres};
use crate::planning::fit::{Eyes, InFrame, OnPiece, Piece, customary_needle, minutes_of_arc};
use crate::planning::shift::customary_strands;
use crate::thread::cloth::{Cloth, CoverModel};

/// What is known of the piece, and what it is held against.
#[derive(Debug, Clone)]
pub struct SizesRequest {
    /// Width and height as finished on the first count.
    pub size: Piece,
    /// The piece's own count, then the others.
    pub counts: Vec<FabricCount>,
    /// The colour of the cloth.
    pub cloth: Srgb8,
    /// Cloth that is left on each side.
    pub allowance: Millimetres,
    /// A piece of cloth at hand.
    pub have: Option<Piece>,
    /// A frame or hoop, measured inside.
    pub frame: Option<Piece>,
    /// From the eye to the work.
    pub distance: Millimetres,
}

/// The piece on one count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizeFigures {
    /// The count.
    #[serde(serialize_with = "displayed")]
    pub count: FabricCount,
    /// Width and height of the finished design.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// Width and height of the cloth to cut.
    #[serde(rename = "cloth_to_cut_mm", serialize_with = "places3")]
    pub cut: [Millimetres; 2],
    /// The side of a stitch.
    #[serde(rename = "stitch_mm", serialize_with = "places3")]
    pub stitch: Millimetres,
    /// How large it looks, in minutes of arc.
    #[serde(rename = "stitch_arc_minutes", serialize_with = "places3")]
    pub minutes: f64,
    /// How that is to the eyes.
    pub eyes: Eyes,
    /// The strands that are customary.
    #[serde(rename = "customary_strands")]
    pub strands: Option<u8>,
    /// The size of the customary tapestry needle.
    #[serde(rename = "tapestry_needle")]
    pub needle: u8,
    /// Whether the piece at hand is large enough.
    pub fits_cloth: Option<OnPiece>,
    /// Whether the design lies within the frame.
    pub fits_frame: Option<InFrame>,
}

/// A piece on every count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizesReport {
    /// Stitches across.
    pub columns: u32,
    /// Stitches down.
    pub rows: u32,
    /// The counts, as they were asked for.
    pub counts: Vec<SizeFigures>,
    /// What the person should know: nothing.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for SizesReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Holds a piece against counts of cloth.
#[must_use]
pub fn sizes(request: &SizesRequest) -> SizesReport {
    let own = request.counts.first().copied().unwrap_or_default();
    let [columns, rows] = [request.size.width, request.size.height].map(|side| own.stitches_in(side));
    let figures = |&count: &FabricCount| {
        let [width, height] = [columns, rows].map(|side| count.length_of(side));
        let finished = Piece { width, height };
        let [wide, high] = [width, height].map(|side| side.with_margin(request.allowance));
        let cut = Piece { width: wide, height: high };
        SizeFigures {
            count,
            finished: [width, height],
            cut: [wide, high],
            stitch: count.cell(),
            minutes: minutes_of_arc(count.cell(), request.distance),
            eyes: Eyes::of(&Cloth { count, colour: request.cloth }),
            strands: customary_strands(count, &CoverModel::default()),
            needle: customary_needle(count),
            fits_cloth: request.have.map(|piece| OnPiece::of(&cut, &piece)),
            fits_frame: request.frame.map(|frame| InFrame::of(&finished, &frame)),
        }
    };
    let counts = request.counts.iter().map(figures).collect();
    SizesReport { columns, rows, counts, warnings: Vec::new(), files: Vec::new() }
}
