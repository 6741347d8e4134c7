//! A bought piece of which only the size is known, on other counts.

use serde::Serialize;

use super::{DesignFigures, Error, Report, Warning, Written};
use crate::ground::colour::Srgb8;
use crate::ground::units::{FabricCount, GridSize, Millimetres};
use crate::planning::fit::{DesignFit, FitOptions, Piece};

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

/// The piece on every count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoughtReport {
    /// Stitches across, as the size says.
    pub columns: u32,
    /// Stitches down.
    pub rows: u32,
    /// Count by count.
    pub counts: Vec<DesignFigures>,
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
    let options = FitOptions {
        allowance: request.allowance,
        have: request.have,
        frame: request.frame,
        distance: request.distance,
        ..FitOptions::default()
    };
    let on = |&count: &FabricCount| DesignFit::of(size, count, request.cloth, &options).into();
    let counts = request.counts.iter().map(on).collect();
    Ok(BoughtReport { columns: size.columns(), rows: size.rows(), counts })
}
