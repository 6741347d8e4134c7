//! The same chart on other counts and colours of cloth.

use serde::Serialize;

use super::figures::{displayed, places3};
use super::files::{Files, Output};
use super::memory;
use super::{Error, Heavy, Replace, Report, Source, Target, Warning, What, Written};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, ask};
use crate::ground::units::{FabricCount, Millimetres};
use crate::making::photo::Limits;
use crate::planning::fit::{CountFit, DesignFit, Ease, FitOptions, InFrame, OnPiece, Piece, fit};
use crate::planning::verdict::{ChartVerdict, verdict};
use crate::printing::picture::{self, contact::contact_sheet};
use crate::thread::cloth::{ClothWeight, CoverModel};

/// Which charts are held against which cloths.
#[derive(Debug, Clone)]
pub struct ClothRequest {
    /// The charts.
    pub charts: Vec<Source>,
    /// The counts.
    pub counts: Vec<FabricCount>,
    /// Cloth that is left on each side of the design.
    pub allowance: Millimetres,
    /// A piece of cloth at hand.
    pub have: Option<Piece>,
    /// A frame or hoop, measured inside.
    pub frame: Option<Piece>,
    /// From the eye to the work.
    pub distance: Millimetres,
    /// The colour of the cloth, for the strands and in the picture; else the chart's.
    pub cloth: Option<Srgb8>,
    /// How thread covers, as measured.
    pub cover: Option<Source>,
    /// What evenweave weighs.
    pub weight: Option<ClothWeight>,
    /// Where a picture of the piece on each count goes; for one chart.
    pub picture: Option<Target>,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// A design on one count, whatever its threads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DesignFigures {
    /// The count.
    #[serde(serialize_with = "displayed")]
    pub count: FabricCount,
    /// Width and height of the finished design.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// Width and height of the cloth to cut.
    #[serde(rename = "cloth_to_cut_mm", serialize_with = "places3")]
    pub cut: [Millimetres; 2],
    /// Whether the piece at hand is large enough.
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
    /// The strands that are customary on this count, whatever the colours.
    #[serde(rename = "customary_strands")]
    pub customary: Option<u8>,
    /// The size of the customary tapestry needle.
    #[serde(rename = "tapestry_needle")]
    pub needle: u8,
}

impl From<DesignFit> for DesignFigures {
    fn from(fit: DesignFit) -> Self {
        let sides = |piece: Piece| [piece.width, piece.height];
        Self {
            count: fit.count,
            finished: sides(fit.finished),
            cut: sides(fit.cut),
            fits_cloth: fit.have,
            fits_frame: fit.frame,
            stitch: fit.cell,
            minutes: fit.minutes,
            ease: fit.ease,
            customary: fit.customary,
            needle: fit.needle,
        }
    }
}

/// A chart on one count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CountFigures {
    /// Its design.
    #[serde(flatten)]
    pub design: DesignFigures,
    /// The strands to work most crosses in, for these colours on this cloth; `None` where none cover it.
    #[serde(rename = "strands_that_cover")]
    pub strands: Option<u8>,
    /// Stitches that keep their own strands: blends, other stitches than full crosses, areas worked otherwise.
    #[serde(rename = "stitches_as_they_are")]
    pub kept: u64,
    /// The share of the cloth that these hide.
    #[serde(serialize_with = "places3")]
    pub covered: f64,
    /// The share of bare evenweave that is holes.
    #[serde(rename = "cloth_open", serialize_with = "places3")]
    pub open: Option<f64>,
    /// Metres of single strand.
    #[serde(serialize_with = "places3")]
    pub strand_metres: f64,
    /// Whole skeins.
    pub skeins: u64,
}

impl CountFigures {
    fn of(fit: &CountFit) -> Self {
        Self {
            design: fit.design.into(),
            strands: fit.strands,
            kept: fit.kept,
            covered: fit.covered,
            open: fit.open,
            strand_metres: fit.strand_metres(),
            skeins: fit.skeins(),
        }
    }
}

/// One chart on every count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OnCounts {
    /// What it is called.
    pub title: String,
    /// As it was given.
    pub chart: String,
    /// Columns, marks worked in.
    pub columns: u32,
    /// Rows.
    pub rows: u32,
    /// Stitches.
    pub stitches: u64,
    /// Whether its thread covers its cloth as it is worked now.
    pub verdict: ChartVerdict,
    /// The counts, as they were asked for.
    pub counts: Vec<CountFigures>,
}

/// What charts come to on cloths.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClothReport {
    /// Chart by chart.
    pub charts: Vec<OnCounts>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for ClothReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Holds charts against cloths.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn cloth(request: &ClothRequest, progress: &dyn Progress) -> Result<ClothReport, Error> {
    if request.picture.is_some() {
        Error::hold_to_one(What::Cloths, request.charts.len())?;
    }
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let cover = files.cover_or_usual(request.cover.as_ref())?;
    let options = FitOptions {
        allowance: request.allowance,
        have: request.have,
        frame: request.frame,
        distance: request.distance,
        cover,
        colour: request.cloth,
        weight: request.weight,
        ..FitOptions::default()
    };
    let (mut charts, mut outputs) = (Vec::new(), Vec::new());
    for source in &request.charts {
        ask(progress)?;
        let chart = files.chart(source)?;
        let composed = files.worked(&chart)?;
        let size = composed.chart.size();
        files.may_take(Heavy::Pages(size), memory::cloths(size, request.counts.len()))?;
        let fits = fit(&composed.chart, &composed.lines, &request.counts, &options, progress)?;
        if let Some(target) = &request.picture {
            let colour = request.cloth.unwrap_or(chart.cloth.colour);
            let sheet = contact_sheet(&composed.chart, &fits, colour, &options.cover);
            outputs.push(Output {
                what: What::Cloths,
                target: target.clone(),
                name: format!("{}.cloths.png", source.set()),
                bytes: picture::png(sheet, progress)?,
            });
        }
        let mut worked = composed.chart.clone();
        worked.cloth.colour = request.cloth.unwrap_or(chart.cloth.colour);
        charts.push(OnCounts {
            title: chart.title.clone(),
            chart: source.to_string(),
            columns: size.columns(),
            rows: size.rows(),
            stitches: composed.chart.stitches().iter().sum(),
            verdict: verdict(&worked, &options.cover),
            counts: fits.iter().map(CountFigures::of).collect(),
        });
    }
    let written = files.write(outputs)?;
    Ok(ClothReport { charts, warnings: files.warnings, files: written })
}

impl Files<'_> {
    /// How thread covers: as measured, else as is usual.
    pub(super) fn cover_or_usual(&mut self, source: Option<&Source>) -> Result<CoverModel, Error> {
        source.map_or_else(|| Ok(CoverModel::default()), |source| Ok(self.cover(source)?.measures))
    }
}
