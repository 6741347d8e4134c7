//! A size on a count that fits the cloth at hand.

use serde::Serialize;

use super::figures::{displayed, places3};
use crate::ground::units::{FabricCount, Millimetres};
use crate::planning::fit::Ease;

/// A piece on a count, as large as the cloth holds it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Offer {
    /// The count.
    #[serde(serialize_with = "displayed")]
    pub count: FabricCount,
    /// Stitches across.
    pub columns: u32,
    /// Stitches down.
    pub rows: u32,
    /// Width and height as finished.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// How a stitch is for the eyes on cloth of this colour.
    #[serde(rename = "eyes")]
    pub ease: Ease,
    /// The strands that are customary on this count.
    #[serde(rename = "customary_strands")]
    pub strands: Option<u8>,
    /// Whether the chart is made so.
    pub chosen: bool,
}
