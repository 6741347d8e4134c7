//! A bought piece of which only the size is known, on other counts.

use serde::Serialize;

use super::figures::{displayed, places3};
use super::{Error, Report, Warning, Written};
use crate::ground::colour::Srgb8;
use crate::ground::units::{FabricCount, GridSize, Millimetres};
use crate::planning::fit::{Ease, InFrame, OnPiece, Piece, customary_needle, minutes_of_arc};
use crate::planning::shift::customary_strands;
use crate::thread::cloth::CoverModel;

/// A piece as its packet tells of it.
#[derive(Debug, Clone)]
pub struct BoughtRequest {
    /// Its size, finished.
    pub size: Piece,
    /// The count on which it has that size.
    pub count: FabricCount,
    /// The counts to hold it against.
    pub counts: Vec<FabricCount>,
    /// Cloth that is left on each side of the design.
    pub allowance: Millimetres,
    /// A piece of cloth at hand.
    pub have: Option<Piece>,
    /// A frame or hoop, measured inside.
    pub frame: Option<Piece>,
    /// From the eye to the work.
    pub distance: Millimetres,
    /// The colour of the cloth.
    pub cloth: Srgb8,
}

/// The piece on a count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoughtOn {
    /// The count.
    #[serde(serialize_with = "displayed")]
    pub count: FabricCount,
    /// Width and height of the finished design.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// Width and height of the cloth to cut.
    #[serde(rename = "cloth_to_cut_mm", serialize_with = "places3")]
    pub cut: [Millimetres; 2],
    /// Whether the piece of cloth at hand is large enough.
    pub fits_cloth: Option<OnPiece>,
    /// Whether the design lies within the frame.
    pub fits_frame: Option<InFrame>,
    /// The side of a stitch.
    #[serde(rename = "stitch_mm", serialize_with = "places3")]
    pub stitch: Millimetres,
    /// How large it looks, in minutes of arc.
    #[serde(rename = "stitch_arc_minutes", serialize_with = "places3")]
    pub minutes: f64,
    /// How that is for the eyes.
    #[serde(rename = "eyes")]
    pub ease: Ease,
    /// The strands that are customary.
    #[serde(rename = "customary_strands")]
    pub strands: Option<u8>,
    /// The size of the customary tapestry needle.
    #[serde(rename = "tapestry_needle")]
    pub needle: u8,
}

/// The piece on every count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoughtReport {
    /// Stitches across, as the size says.
    pub columns: u32,
    /// Stitches down.
    pub rows: u32,
    /// Count by count.
    pub counts: Vec<BoughtOn>,
}

impl Report for BoughtReport {
    fn warnings(&self) -> &[Warning] {
        &[]
    }
    fn files(&self) -> &[Written] {
        &[]
    }
}

/// Holds a piece of which only the size is known against counts.
///
/// # Errors
/// [`Error`] where it has fewer stitches or more than a chart may have.
pub fn bought(request: &BoughtRequest) -> Result<BoughtReport, Error> {
    let stitches = |length: Millimetres| request.count.stitches_in(length);
    let size =
        GridSize::new(stitches(request.size.width), stitches(request.size.height)).map_err(Error::Bought)?;
    let on = |&count: &FabricCount| {
        let finished = Piece { width: count.length_of(size.columns()), height: count.length_of(size.rows()) };
        let [width, height] =
            [finished.width, finished.height].map(|side| side.with_margin(request.allowance));
        let minutes = minutes_of_arc(count.cell(), request.distance);
        BoughtOn {
            count,
            finished: [finished.width, finished.height],
            cut: [width, height],
            fits_cloth: request.have.map(|have| OnPiece::of(&Piece { width, height }, &have)),
            fits_frame: request.frame.map(|frame| InFrame::of(&finished, &frame)),
            stitch: count.cell(),
            minutes,
            ease: Ease::of(minutes, request.cloth),
            strands: customary_strands(count, &CoverModel::default()),
            needle: customary_needle(count),
        }
    };
    let counts = request.counts.iter().map(on).collect();
    Ok(BoughtReport { columns: size.columns(), rows: size.rows(), counts })
}
