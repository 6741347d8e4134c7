//! Which threads, and which of them each cell is worked in: the heart of brede.
//!
//! Owns the choice among *looks* (a needle worked in one stitch on one cloth; only its colour matters here)
//! and the removal of single stitches. Leaves to `shades` which threads there are, to `cloth` what they look
//! like, and to `chart` what becomes of the labels.
//!
//! The way: the picture's colours are gathered into cubes of CIELAB; k-means gives a first set of looks, a
//! greedy pass another; both are improved by exchanges over the whole card, by CIEDE2000; the better one
//! labels the cells; and the labels are made calm where the picture is quiet, and smoothed as asked, or mixed for an eye
//! that is far away. What stands out from its surroundings is served as a thing of its own, however small. The result is
//! the same on any number of threads.

use std::str::FromStr;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::ground::advice::Advice;
use crate::ground::colour::{Compared, Lab, Lab32};
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};
use crate::making::frame::StitchField;

mod accents;
mod chart;
mod costs;
mod dither;
mod eye;
mod histogram;
mod labels;
mod means;
mod quiet;
mod select;
mod soft;
mod survey;

use survey::Survey;

/// A needle worked on the cloth, as a candidate. Its place in the list of looks is its name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// What is seen of it.
    pub lab: Lab,
    /// Whether it is wanted.
    pub wish: Wish,
}

/// What the stitcher says of a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Wish {
    /// It may be used.
    #[default]
    Allowed,
    /// It is used rather than another that is hardly better: a thread at hand.
    Preferred,
    /// It must be used.
    Fixed,
    /// It must not be used.
    Forbidden,
}

/// How many looks to use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Colours {
    /// So many, or as many as there are.
    Exactly(u16),
    /// Where one more hardly helps.
    Auto,
}

/// A text that is no number of colours.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("give a number from 2 to 200, or auto")]
pub struct ColoursError;

impl FromStr for Colours {
    type Err = ColoursError;
    fn from_str(text: &str) -> Result<Self, ColoursError> {
        match text.trim() {
            "auto" => Ok(Self::Auto),
            number => match number.parse() {
                Ok(count @ 2..=200) => Ok(Self::Exactly(count)),
                _ => Err(ColoursError),
            },
        }
    }
}

/// What to do with single stitches: those with no side neighbour of the same look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confetti {
    /// Every cell has the look nearest to it.
    Keep,
    /// Single stitches go, and patches of two and three, but for those that the eye would miss.
    #[default]
    Few,
    /// No single stitch is left, whatever it costs; patches of two and three as with [`Confetti::Few`]. A stitch that is bare all round becomes bare too.
    None,
}

/// Leaves cells bare where the cloth is close enough to the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BareCloth {
    /// The colour of the cloth.
    pub look: Lab,
    /// How close the cloth must come, in ΔE00.
    pub within: f64,
}

/// How to reduce a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// How many looks.
    pub colours: Colours,
    /// What becomes of single stitches.
    pub confetti: Confetti,
    /// Start of the seeded random numbers; another seed may find slightly other threads.
    pub seed: u64,
    /// Whether the cloth serves as a colour.
    pub bare: Option<BareCloth>,
    /// A mark for each cell that is bare by choice; where there is none, those that the cloth is close enough to are.
    pub bare_cells: Option<Vec<bool>>,
    /// A mark for each cell of a protected area, where nothing is smoothed and error weighs more. Only
    /// [`Confetti::None`] still removes its single stitches.
    pub detail: Option<Vec<bool>>,
    /// How much the error of each cell counts, row by row, when looks are chosen and when labels are smoothed: 1 is
    /// ordinary, more matters more. All count the same where there is none.
    pub weights: Option<Vec<f32>>,
    /// By how much, in mean ΔE00 over the picture, a look that is merely allowed must be better than one
    /// that is preferred.
    pub reluctance: f64,
    /// Mixes looks cell by cell where none is near enough, as long as the share of single stitches, 0 to 1, stays
    /// under this. [`Confetti::None`] still leaves none.
    pub dither: Option<f64>,
    /// How many cells a degree of sight holds where the chart is seen from so far that neighbouring stitches mix: looks
    /// are then mixed for that eye. [`Confetti::Keep`] and `dither` say how many single stitches that may leave, else it
    /// is 2 % of all. With none, each cell is seen by itself.
    pub afar: Option<f64>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            colours: Colours::Exactly(30),
            confetti: Confetti::Few,
            seed: 1,
            bare: None,
            bare_cells: None,
            detail: None,
            weights: None,
            reluctance: 0.02,
            dither: None,
            afar: None,
        }
    }
}

/// Why a picture cannot be reduced.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReduceError {
    /// Every look is forbidden, or there is none.
    #[error("no thread may be used: of {looks} on the card, {looks} are ruled out")]
    NothingAllowed {
        /// How many looks there are.
        looks: usize,
    },
    /// No look was asked for.
    #[error("a chart of no colours was asked for")]
    NoColours,
    /// More looks are fixed than may be used.
    #[error("{fixed} threads must be used, but the chart may have only {asked} colours")]
    TooManyFixed {
        /// How many must be used.
        fixed: usize,
        /// How many colours were asked for.
        asked: usize,
    },
    /// A colour in the picture is not a number.
    #[error("the colour of square {cell} is not a number")]
    Cell {
        /// The cell, counted row by row from 0.
        cell: usize,
    },
    /// A look's colour is not a number.
    #[error("the colour of thread {look} on the card is not a number")]
    Look {
        /// The look, counted from 0.
        look: usize,
    },
    /// The protected area is for another picture.
    #[error("the protected area has {given} squares, the picture {cells}")]
    Detail {
        /// Marks given.
        given: usize,
        /// Cells in the picture.
        cells: usize,
    },
    /// The weights are for another picture.
    #[error("there are {given} weights, the picture has {cells} squares")]
    Weights {
        /// Weights given.
        given: usize,
        /// Cells in the picture.
        cells: usize,
    },
    /// A weight that nothing can weigh.
    #[error("the weight of square {cell} is not above 0")]
    Weight {
        /// The cell, counted row by row from 0.
        cell: usize,
    },
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

impl ReduceError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        Some(match self {
            Self::NothingAllowed { .. } => Advice::AllowThread,
            Self::NoColours => Advice::TwoColours,
            Self::TooManyFixed { .. } => Advice::MoreColours,
            Self::Cell { .. } | Self::Look { .. } => Advice::LookAtColours,
            Self::Detail { .. } => Advice::PaintDetail,
            // Weights are worked out by brede itself.
            Self::Weights { .. } | Self::Weight { .. } | Self::Stopped(_) => return None,
        })
    }
}

/// How well a reduction serves its picture.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Figures {
    /// Mean ΔE00 of all squares to the picture: stitches as they look, squares left bare by choice as cloth. Squares
    /// that the picture leaves open do not count.
    pub mean_delta_e: f64,
    /// The ΔE00 that 95 of 100 of these stay under.
    pub p95_delta_e: f64,
    /// Mean ΔE00 with every allowed look of the card at once and the same squares bare: no choice can be better. Worked out on the
    /// picture's colours in cubes, so to about one part in a hundred.
    pub floor_delta_e: f64,
    /// The share of stitches, 0 to 1, with no side neighbour of the same look.
    pub singles_share: f64,
    /// The stitches.
    pub stitches: u64,
    /// Cells left bare because the cloth is close enough.
    pub bare_by_choice: u64,
    /// With [`Colours::Auto`]: a further thread would gain less than this in mean ΔE00.
    pub enough: Option<f64>,
}

/// With [`Colours::Auto`], threads are added while each gains at least this in mean ΔE00. Half of it takes about
/// half as many threads again (measured on eight pictures).
pub const ENOUGH: f64 = 0.03;

/// A reduced picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduction {
    /// The looks used, by their place in the list given; the one with the most stitches first, of equals the
    /// one that stands first in the list.
    pub chosen: Vec<usize>,
    /// For each cell, row by row, a place in `chosen`; `None` is a bare cell.
    pub labels: Vec<Option<u16>>,
    /// How good it is.
    pub figures: Figures,
}

/// Chooses looks for a picture and labels its cells.
///
/// Exactly as many looks are used as asked, unless the picture has fewer different colours or the card fewer
/// allowed looks; a fixed look is always among them, as long as there are cells for it.
///
/// # Errors
/// When no look may be used, more are fixed than asked, a colour is not a number, the protected area does not
/// fit, or `progress` stops the job.
pub fn reduce(
    field: &StitchField,
    looks: &[Look],
    options: &Options,
    progress: &dyn Progress,
) -> Result<Reduction, ReduceError> {
    tell(progress, Stage::ChoosingThreads, 0, STEPS)?;
    let survey = Survey::new(field, looks, options, progress)?;
    tell(progress, Stage::ChoosingThreads, 1, STEPS)?;
    let count = match options.colours {
        Colours::Exactly(0) => return Err(ReduceError::NoColours),
        Colours::Exactly(count) => usize::from(count),
        Colours::Auto => chart::enough(&survey, progress)?,
    };
    let demand = survey.demand();
    let mut reduction = chart::chart(&survey, &demand, count, options, progress)?;
    if options.colours == Colours::Auto {
        reduction.figures.enough = Some(ENOUGH);
    }
    Ok(reduction)
}

/// Steps told to [`Progress`]: survey, choice, labels, done.
const STEPS: u64 = 4;

/// Figures of finished labels; `labels` are places in `chosen`.
fn figures(
    survey: &Survey<'_>,
    chosen: &[usize],
    labels: &[Option<u16>],
    progress: &dyn Progress,
) -> Result<Figures, Stopped> {
    let difference = |(label, colour): (&Option<u16>, &Option<Lab32>)| {
        let colour = Compared::from((*colour)?);
        let seen = match label {
            Some(label) => &survey.looks[chosen[usize::from(*label)]],
            None => survey.bare.as_ref()?,
        };
        Some(colour.ciede2000(seen) as f32)
    };
    let parts = labels.par_chunks(AT_ONCE).zip(survey.cells.par_chunks(AT_ONCE)).map(|(labels, colours)| {
        ask(progress)?;
        Ok(labels.iter().zip(colours).filter_map(difference).collect())
    });
    let mut differences = parts.collect::<Result<Vec<Vec<f32>>, Stopped>>()?.concat();
    ask(progress)?;
    let singles = (0..labels.len())
        .filter(|&cell| labels[cell].is_some())
        .filter(|&cell| survey.size.sides(cell).all(|side| labels[side] != labels[cell]))
        .count();
    let (stitches, squares) = (labels.iter().flatten().count(), differences.len());
    if squares == 0 {
        return Ok(Figures { bare_by_choice: survey.bare_by_choice(labels), ..Figures::default() });
    }
    let mean = differences.iter().map(|&d| f64::from(d)).sum::<f64>() / squares as f64;
    let place = (squares - 1) * 95 / 100;
    let (_, p95, _) = differences.select_nth_unstable_by(place, f32::total_cmp);
    Ok(Figures {
        mean_delta_e: mean,
        p95_delta_e: f64::from(*p95),
        floor_delta_e: survey.floor_with_bare(labels),
        singles_share: singles as f64 / stitches.max(1) as f64,
        stitches: stitches as u64,
        bare_by_choice: survey.bare_by_choice(labels),
        enough: None,
    })
}

/// Cells that are compared at once: some hundredths of a second.
const AT_ONCE: usize = 1 << 14;

#[cfg(test)]
mod tests;
