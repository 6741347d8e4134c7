//! From a photo to a chart: the stages in their order.
//!
//! Owns nothing but the order: each stage stands in its own module.

mod blend;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::chart::{Cell, Chart, ChartError, MAX_NEEDLES, Made, Needle, Thread};
use crate::ground::advice::Advice;
use crate::ground::progress::Progress;
use crate::making::frame::{FrameError, FrameOptions, Framed, Kind};
use crate::making::photo::Photo;
use crate::making::reduce::{self, Figures, Look, ReduceError, Wish};
use crate::thread::cloth::{Cloth, CoverModel, StitchKind};
use crate::thread::code;
use crate::thread::kind::is_metallic;
use crate::thread::shades::ShadeCard;

/// What the person asked for.
#[derive(Debug, Clone)]
pub struct MakeOptions {
    /// What the chart is called.
    pub title: String,
    /// The part of the photo and the size in stitches.
    pub frame: FrameOptions,
    /// What it is worked on.
    pub cloth: Cloth,
    /// Strands in the needle.
    pub strands: u8,
    /// How thread covers the cloth.
    pub cover: CoverModel,
    /// Codes of threads that are worked in half crosses: they are chosen for how they look so.
    pub half_cross: Vec<String>,
    /// By how much, in ΔE00, two threads in one needle must beat any single thread to be laid together; `None`
    /// for no blends.
    pub blends: Option<f64>,
    /// How threads are chosen.
    pub reduce: reduce::Options,
    /// Whether threads that are owned go before others that are hardly better.
    pub owned: Owned,
    /// Codes of threads that must be used.
    pub fixed: Vec<String>,
    /// Codes of threads that must not be used.
    pub forbidden: Vec<String>,
    /// Every setting by the name of its option, for the chart to remember.
    pub settings: BTreeMap<String, String>,
}

impl MakeOptions {
    /// What a chart remembers of how it was made, from a file of this name and fingerprint.
    #[must_use]
    pub fn made(&self, file: &str, sha256: &str, card: &ShadeCard, mean_delta_e: f64) -> Made {
        Made {
            photo: file.to_owned(),
            photo_sha256: sha256.to_owned(),
            brede: env!("CARGO_PKG_VERSION").to_owned(),
            card: card.name().to_owned(),
            seed: self.reduce.seed,
            settings: self.settings.clone(),
            mean_delta_e: (mean_delta_e * 1000.0).round() / 1000.0,
            request: None,
        }
    }
}

/// What it counts for that a thread is owned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Owned {
    /// Nothing.
    #[default]
    AsOthers,
    /// It is used rather than another that is hardly better.
    Preferred,
}

/// A chart that could not be made.
#[derive(Debug, thiserror::Error)]
pub enum MakeError {
    /// The photo could not be framed.
    #[error(transparent)]
    Frame(#[from] FrameError),
    /// The threads could not be chosen.
    #[error(transparent)]
    Reduce(#[from] ReduceError),
    /// A thread was named that is not on the card.
    #[error("the shade card has no thread `{code}`")]
    NoSuchThread {
        /// The code.
        code: String,
    },
    /// The parts do not make a chart.
    #[error(transparent)]
    Chart(#[from] ChartError),
}

impl MakeError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        match self {
            Self::Frame(error) => error.advice(),
            Self::Reduce(error) => error.advice(),
            Self::NoSuchThread { .. } => Some(Advice::CodeOfCard),
            Self::Chart(error) => Some(error.advice()),
        }
    }
}

/// A chart and what is worth saying of it.
#[derive(Debug)]
pub struct Making {
    /// The chart.
    pub chart: Chart,
    /// How well it serves its picture.
    pub figures: Figures,
    /// What the picture was taken for.
    pub kind: Kind,
}

/// Makes a chart of a photo, framed as `options` ask, with the threads of a card.
///
/// # Errors
/// [`MakeError`] names the stage and the setting at fault.
pub fn make(
    photo: &Photo,
    framed: &Framed,
    card: &ShadeCard,
    options: &MakeOptions,
    progress: &dyn Progress,
) -> Result<Making, MakeError> {
    let field = &framed.field;
    let mut looks = looks(card, options)?;
    let choosing = reduce::Options { detail: framed.detail.clone(), ..options.reduce.clone() };
    let mut reduction = reduce::reduce(field, &looks, &choosing, progress)?;
    let mut pairs = Vec::new();
    if let Some(gain) = options.blends {
        let worked = (&options.cover, &options.cloth, options.strands);
        let found = blend::blends(field, &reduction, card, &looks, worked, gain);
        looks.extend(found.iter().map(|(_, look)| *look));
        pairs.extend(found.into_iter().map(|(blend, _)| blend));
        if !pairs.is_empty() {
            let blended = reduce::reduce(field, &looks, &choosing, progress)?;
            // More to choose from is not always chosen better: the first is kept where it serves as well.
            if blended.figures.mean_delta_e < reduction.figures.mean_delta_e {
                reduction = blended;
            }
        }
    }
    let threads = |look: usize| match look.checked_sub(card.shades().len()).and_then(|at| pairs.get(at)) {
        Some(blend) => blend
            .shades
            .iter()
            .zip(blend.strands)
            .map(|(&shade, strands)| Thread::of(&card.shades()[shade], strands))
            .collect(),
        None => vec![Thread::of(&card.shades()[look], options.strands)],
    };
    let needles: Vec<Needle> = reduction
        .chosen
        .iter()
        .map(|&look| {
            let threads: Vec<Thread> = threads(look);
            let is_half = threads.len() == 1
                && options.half_cross.iter().any(|wanted| code::same(wanted, &threads[0].code));
            let stitch = if is_half { StitchKind::HalfCross } else { StitchKind::FullCross };
            Needle { symbol: String::new(), threads, stitch }
        })
        .collect();
    let cells = reduction
        .labels
        .iter()
        .map(|label| label.map_or(Cell::BARE, |needle| Cell::worked(usize::from(needle))));
    let cells = cells.collect();
    let mut chart = Chart::new(options.title.clone(), field.size(), options.cloth, needles, cells)?;
    chart.made = Some(options.made(photo.name(), photo.sha256(), card, reduction.figures.mean_delta_e));
    chart.card = Some(card.clone());
    Ok(Making { chart, figures: reduction.figures, kind: framed.kind })
}

/// What each shade of the card looks like on the cloth, and whether it is wanted.
fn looks(card: &ShadeCard, options: &MakeOptions) -> Result<Vec<Look>, MakeError> {
    let place =
        |code: &String| card.position(code).ok_or_else(|| MakeError::NoSuchThread { code: code.clone() });
    let fixed: Vec<usize> = options.fixed.iter().map(place).collect::<Result<_, _>>()?;
    let forbidden: Vec<usize> = options.forbidden.iter().map(place).collect::<Result<_, _>>()?;
    let half: Vec<usize> = options.half_cross.iter().map(place).collect::<Result<_, _>>()?;
    // A thread that glitters is no plain colour: it is chosen by name, unless the card has nothing else.
    let glitters = |shade: &crate::thread::shades::Shade| is_metallic(shade.kind.as_deref());
    let has_plain = card.shades().iter().any(|shade| !glitters(shade));
    let cover = &options.cover;
    let look = |(index, shade): (usize, &crate::thread::shades::Shade)| {
        let wish = if forbidden.contains(&index) {
            Wish::Forbidden
        } else if fixed.contains(&index) {
            Wish::Fixed
        } else if has_plain && glitters(shade) && !half.contains(&index) {
            Wish::Forbidden
        } else if options.owned == Owned::Preferred && shade.owned.is_some_and(|owned| owned > 0.into()) {
            Wish::Preferred
        } else {
            Wish::Allowed
        };
        let stitch = if half.contains(&index) { StitchKind::HalfCross } else { StitchKind::FullCross };
        Look { lab: cover.look(&options.cloth, shade.lab.linear(), options.strands, stitch), wish }
    };
    Ok(card.shades().iter().enumerate().map(look).collect())
}

/// The most threads that a chart can be made with.
pub const MAX_COLOURS: usize = if MAX_NEEDLES < 200 { MAX_NEEDLES } else { 200 };
