//! The cells of a page as it shows them.
//!
//! How dark black ink is changes down a page, as a print head leaves bands. The bold rules that stand upright run
//! through them all and say it for each row of points.

use std::ops::Range;

use image::GrayImage;

use super::drawn::Cover;
use super::figures::sampled;
use super::lattice::Lattice;
use super::points::{ACROSS, Figure, WHOLE, WINDOW, centred, share, whole};
use crate::ground::progress::{Progress, Stopped, ask};
use crate::reading::picture::{Levels, value};

/// How dark the grey ink of repeats is, against black: 0x44 of 0xff in `sheet`.
const REPEATED_INK: f32 = 0.733;

/// A cell in shares of black ink, without its mean.
pub(super) struct Shown {
    pub(super) figure: Figure,
    /// What was taken off.
    pub(super) mean: f32,
    pub(super) energy: f32,
    /// How dark its ink is against black.
    pub(super) shade: f32,
}

/// A page whose cells are known, and how dark its ink is.
pub(super) struct Inked<'a> {
    pub(super) page: &'a GrayImage,
    pub(super) lattice: &'a Lattice,
    paper: f32,
    /// How dark black ink is, row by row of cells.
    black: Vec<Blacks>,
}

impl<'a> Inked<'a> {
    pub(super) fn new(page: &'a GrayImage, lattice: &'a Lattice) -> Self {
        let levels = Levels::of(page);
        let black = (0..lattice.rows).map(|row| black(page, lattice, levels, row)).collect();
        Self { page, lattice, paper: levels.paper, black }
    }

    /// The ink at a column and row, in shares of black.
    pub(super) fn at(&self, [column, row]: [f64; 2]) -> f32 {
        let [x, y] = self.lattice.at(column, row);
        let last = self.black.len().saturating_sub(1);
        #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
        let black = self
            .black
            .get((row.max(0.0) as usize).min(last))
            .map_or(255.0, |row_of| at_share(row_of, row.max(0.0).fract()));
        (self.paper - value(self.page, x, y)) / black
    }
}

/// The cells of a page, row by row.
pub(super) struct Cells {
    pub(super) shown: Vec<Shown>,
    /// What is drawn across them, if anything is.
    pub(super) covers: Vec<Option<Box<Cover>>>,
}

impl Cells {
    /// Those of some rows, with what is drawn across them; `is_repeated` says which are printed in the grey of repeats.
    pub(super) fn new(
        inked: &Inked,
        rows: Range<u32>,
        covers: Vec<Option<Box<Cover>>>,
        is_repeated: impl Fn([u32; 2]) -> bool,
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let Inked { page, lattice, paper, black } = inked;
        let mut shown = Vec::with_capacity(covers.len());
        for row in rows {
            ask(progress)?;
            let Some(black) = black.get(row as usize) else { break };
            for column in 0..lattice.columns {
                let mut figure = sampled(page, *paper, lattice, [column, row]);
                for (points, black) in figure.chunks_mut(ACROSS).zip(black) {
                    points.iter_mut().for_each(|point| *point /= black);
                }
                let mean = figure.iter().sum::<f32>() / WHOLE;
                let energy = centred(&mut figure, &whole(), WHOLE);
                let shade = if is_repeated([column, row]) { REPEATED_INK } else { 1.0 };
                shown.push(Shown { figure, mean, energy, shade });
            }
        }
        Ok(Self { shown, covers })
    }
}

/// How much darker than paper black ink is at each row of points of a row of cells, in levels.
type Blacks = [f32; ACROSS];

/// That at this share of the cell's height.
fn at_share(blacks: &Blacks, share: f64) -> f32 {
    let place = ((share - WINDOW[0]) / (WINDOW[1] - WINDOW[0])).clamp(0.0, 0.999) * ACROSS as f64;
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
    let place = place as usize;
    blacks[place]
}

/// The median of bold rules, as outlines may hide one.
fn black(page: &GrayImage, lattice: &Lattice, levels: Levels, row: u32) -> Blacks {
    let off = 0.8 / lattice.side();
    let mut black = [0.0; ACROSS];
    for (place, black) in black.iter_mut().enumerate() {
        let y = f64::from(row) + share(place);
        let at = |x: f64| {
            let [x, y] = lattice.at(x, y);
            levels.paper - value(page, x, y)
        };
        let rules = (lattice.bold[0]..=lattice.columns).step_by(10).map(f64::from);
        let mut inks: Vec<f32> = rules.map(|x| (at(x - off) + at(x) + at(x + off)) / 3.0).collect();
        inks.sort_by(f32::total_cmp);
        let middle = inks.get(inks.len() / 4..inks.len() - inks.len() / 4).unwrap_or_default();
        let mean = middle.iter().sum::<f32>() / middle.len().max(1) as f32;
        // A rule that is hidden or not printed here says nothing.
        *black = mean.max(0.3 * levels.contrast());
    }
    black
}
