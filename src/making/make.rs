//! From a photo to a chart: the stages in their order.
//!
//! Owns nothing but the order: each stage stands in its own module.

mod blend;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::chart::{Cell, Chart, ChartError, MAX_NEEDLES, Made, Needle, Thread};
use crate::ground::advice::Advice;
use crate::ground::colour::{Lab, LinearRgb};
use crate::ground::progress::Progress;
use crate::ground::units::Millimetres;
use crate::making::frame::{FrameError, FrameOptions, Framed, Kind};
use crate::making::photo::Photo;
use crate::making::reduce::{self, Colours, Figures, Look, ReduceError, Reduction, Wish};
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
    /// How far the eye is away that the chart is made for: threads are chosen for how they look from there, and where
    /// stitches are so small that they begin to mix, they are mixed for it.
    pub seen_from: Millimetres,
    /// Codes of threads that are worked in half crosses: they are chosen for how they look so.
    pub half_cross: Vec<String>,
    /// Lays two of the threads in one needle where their mix is so much, in ΔE00, off each thread alone; `None` for no
    /// blends.
    pub blends: Option<f64>,
    /// How many blends at the most come on top of the threads.
    pub mixes: u16,
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
    /// What is taken for the colour of a thread, or of several in one needle, on the cloth.
    fn seen(&self, thread: LinearRgb, stitch: StitchKind) -> Lab {
        self.cover.seen(&self.cloth, thread, self.strands, stitch, self.seen_from)
    }

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

/// Stitches to a degree of sight from which on they mix: 2.6 m from 14 count. There the eye passes on less than half of the
/// contrast of stitches that alternate (the filter of lightness in `reduce`, at half as many lines a degree); from the
/// usual distance that is so on no cloth up to 22 count. Where a degree holds fewer, each stitch is seen by itself, and
/// specks would only trouble.
const BEGIN_TO_MIX: f64 = 25.0;

/// Blends that come on top unless somebody says: with so many, twenty threads come nearer than thirty plain ones (eight
/// pictures), and a key of forty needles can still be read.
pub const USUAL_MIXES: u16 = 20;

/// The most mixes that are chosen from at once, however many come on top.
pub const MOST_MIXED: usize = blend::MOST;

/// Where the eye is taken to be unless somebody says: 1.5 m away, as one stands before a framed piece on a wall. There
/// stitches of usual cloths are still seen one by one, and gaps between them are seen as cloth.
#[must_use]
pub fn usually_seen_from() -> Millimetres {
    Millimetres::new(1500.0).expect("a length")
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
    let looks = looks(card, options)?;
    let cells_a_degree = options.cloth.count.cells_a_degree(options.seen_from);
    let choosing = reduce::Options {
        detail: framed.detail.clone(),
        afar: (cells_a_degree > BEGIN_TO_MIX).then_some(cells_a_degree),
        ..options.reduce.clone()
    };
    let mut reduction = reduce::reduce(field, &looks, &choosing, progress)?;
    let mut pairs = Vec::new();
    if let Some(gain) = options.blends {
        let seen = |light| options.seen(light, StitchKind::FullCross);
        let threads = &reduction.chosen;
        let found = blend::mixes(field, threads, card, options.strands, gain, seen);
        let count = (threads.len() + usize::from(options.mixes)).min(MAX_COLOURS);
        if !found.is_empty() && count > threads.len() {
            // The threads stay as they are chosen; mixes of them come on top.
            let alone = threads.iter().map(|&thread| Look { wish: Wish::Fixed, ..looks[thread] });
            let with: Vec<Look> = alone.chain(found.iter().map(|(_, look)| *look)).collect();
            let choosing = reduce::Options { colours: Colours::Exactly(count as u16), ..choosing };
            let blended = reduce::reduce(field, &with, &choosing, progress)?;
            if blended.figures.mean_delta_e < reduction.figures.mean_delta_e {
                let place = |&look: &usize| match look.checked_sub(threads.len()) {
                    Some(pair) => looks.len() + pair,
                    None => threads[look],
                };
                let chosen = blended.chosen.iter().map(place).collect();
                let figures = Figures {
                    enough: reduction.figures.enough,
                    floor_delta_e: reduction.figures.floor_delta_e,
                    ..blended.figures
                };
                reduction = Reduction { chosen, figures, ..blended };
                pairs.extend(found.into_iter().map(|(blend, _)| blend));
            }
        }
    }
    let threads = |look: usize| match look.checked_sub(looks.len()).and_then(|at| pairs.get(at)) {
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
        Look { lab: options.seen(shade.lab.linear(), stitch), wish }
    };
    Ok(card.shades().iter().enumerate().map(look).collect())
}

/// The most threads that a chart can be made with.
pub const MAX_COLOURS: usize = if MAX_NEEDLES < 200 { MAX_NEEDLES } else { 200 };
