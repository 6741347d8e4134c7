//! Symbols as a page shows them: from the key, then from the cells themselves.
//!
//! In the key a symbol is larger than in a cell, so ink that has run and blur weigh less there: of a few spreads
//! and blurs, those are laid on the key's figures that leave least between a sample of cells and the symbols
//! nearest to them. Then each symbol becomes the mean of the cells that were taken for it, on all pages looked at
//! together: grain averages out, and what was wrong with the model with it.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::cells::{Cells, Shown};
use super::figures::{Fine, Lens, spread};
use super::points::{Figure, WHOLE, centred, dot, whole};
use crate::ground::progress::{Progress, Stopped, ask};

/// The strengths that a symbol may have before its own is known, in shares of black ink: black on the darkest
/// tint has 0.69, and thin strokes are paler than ink even under the blur laid on them.
const STRENGTH: [f32; 2] = [0.4, 1.5];

/// How far a cell may be from the strength at which its symbol was learnt. Wider, a pale disc passes for a ring.
const LEARNT_STRENGTH: [f32; 2] = [0.75, 1.25];

/// How far ink may have run beyond what it did in the key, in cells.
const SPREADS: [f32; 5] = [0.0, 0.006, 0.012, 0.02, 0.03];

/// Blurs beyond the key's, as standard deviations in cells.
const BLURS: [f32; 5] = [0.0, 0.02, 0.03, 0.04, 0.055];

/// Cells that say how soft the pages are.
const SAMPLE: usize = 600;

/// So many symbols that come near to such a cell are followed from blur to blur.
const FEW: usize = 6;

/// So many cells of a symbol teach, at least.
const ENOUGH: usize = 4;

/// The share of a symbol's cells that teach, the nearest first: others' cells among them lie far.
const NEAREST: f64 = 0.9;

/// The key counts as so many cells.
const KEY_WEIGHT: f32 = 2.0;

/// How often symbols are learnt; the third time changes nothing worth its while.
const ROUNDS: usize = 2;

/// A symbol that is so much rarer than another and would come nearer to it than this share of their distance in
/// the key has been taught by the other's cells, and stays as it was.
const RARER: usize = 8;
const NEARER: f32 = 0.75;

/// A figure without its mean, and the sum of its squares.
#[derive(Clone)]
pub(super) struct Sign {
    pub(super) figure: Box<Figure>,
    pub(super) energy: f32,
}

impl Sign {
    fn new(mut figure: Figure) -> Self {
        let energy = centred(&mut figure, &whole(), WHOLE);
        Self { figure: Box::new(figure), energy }
    }

    pub(super) fn masked(&self, mask: &Figure, count: f32) -> Self {
        let mut figure = self.figure.clone();
        let energy = centred(&mut figure, mask, count);
        Self { figure, energy }
    }

    /// What it leaves of a cell of this energy whose product with it is known, with a strength within bounds, and which strength
    /// it would have without.
    fn left(&self, energy: f32, product: f32, [low, high]: [f32; 2]) -> (f32, f32) {
        let free = product / self.energy.max(1e-6);
        let strength = free.clamp(low, high);
        (energy - 2.0 * strength * product + strength * strength * self.energy, free)
    }

    /// How far the shapes of two are apart, whatever their strengths: 0 to 2.
    fn apart(&self, other: &Self) -> f32 {
        let alike = dot(&self.figure, &other.figure) / (self.energy * other.energy).sqrt().max(1e-9);
        (2.0 - 2.0 * alike).max(0.0).sqrt()
    }
}

/// The signs of all needles, and between which strengths they are expected.
#[derive(Clone)]
pub(super) struct Signs {
    pub(super) signs: Vec<Sign>,
    pub(super) strength: [f32; 2],
}

impl Signs {
    /// As the key shows them.
    pub(super) fn new(figures: &[Fine]) -> Self {
        let run: Vec<Fine> = figures.iter().map(|figure| spread(figure, 0.0)).collect();
        Self::softened(&run, 0.0)
    }

    /// Figures whose ink has run, under a blur.
    fn softened(run: &[Fine], blur: f32) -> Self {
        let lens = Lens::new(blur);
        let signs = run.iter().map(|figure| Sign::new(lens.seen(figure))).collect();
        Self { signs, strength: STRENGTH }
    }

    /// As these pages show them.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub(super) fn learnt(
        figures: &[Fine],
        pages: &[&Cells],
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let cells: usize = pages.iter().map(|page| page.shown.len()).sum();
        let every = (cells / SAMPLE).max(1);
        let sample: Vec<&Shown> = pages.iter().flat_map(|page| &page.shown).step_by(every).collect();
        let mut key = Self::as_soft_as(figures, &sample, progress)?;
        let mut signs = key.clone();
        for round in 0..ROUNDS {
            let found: Vec<Vec<Nearest>> = pages
                .par_iter()
                .map(|page| {
                    let cells = page.shown.iter();
                    cells.map(|cell| ask(progress).map(|()| signs.nearest(cell))).collect()
                })
                .collect::<Result<_, Stopped>>()?;
            ask(progress)?;
            if round == 0 {
                key.strengthened(median(&found));
                signs.strengthened(median(&found));
            }
            signs = signs.taught(&key, pages, &found);
        }
        Ok(signs)
    }

    /// The key's figures with the spread and the blur that leave least between a sample of cells and the symbols nearest
    /// to them. What is left has one valley (looked at on pages of every spoiling), so it is gone down step by step:
    /// half of all pairs are never tried.
    fn as_soft_as(figures: &[Fine], sample: &[&Shown], progress: &dyn Progress) -> Result<Self, Stopped> {
        let mut runs: BTreeMap<usize, Vec<Fine>> = BTreeMap::new();
        let mut tried: BTreeMap<[usize; 2], Option<(Self, f32)>> = BTreeMap::new();
        let mut few: Option<Vec<Vec<usize>>> = None;
        let mut at = [SPREADS.len() / 2, BLURS.len() / 2];
        loop {
            let [run, blur] = at;
            let around = [
                Some([run, blur]),
                run.checked_sub(1).map(|run| [run, blur]),
                (run + 1 < SPREADS.len()).then_some([run + 1, blur]),
                blur.checked_sub(1).map(|blur| [run, blur]),
                (blur + 1 < BLURS.len()).then_some([run, blur + 1]),
            ];
            let new: Vec<[usize; 2]> =
                around.into_iter().flatten().filter(|place| !tried.contains_key(place)).collect();
            for [run, _] in &new {
                ask(progress)?;
                runs.entry(*run)
                    .or_insert_with(|| figures.par_iter().map(|one| spread(one, SPREADS[*run])).collect());
            }
            let softened = |[run, blur]: [usize; 2]| Self::softened(&runs[&run], BLURS[blur]);
            // A little more blur changes how far the symbols are that come near to a cell, and hardly which those are.
            let few = few.get_or_insert_with(|| {
                let signs = softened(at);
                sample.par_iter().map(|cell| signs.few(cell)).collect()
            });
            let new = new.into_par_iter().map(|place| {
                ask(progress)?;
                let signs = softened(place);
                let left = sample.iter().zip(few.iter()).map(|(cell, few)| signs.nearest_of(cell, few)).sum();
                Ok((place, Some((signs, left))))
            });
            tried.extend(new.collect::<Result<Vec<_>, Stopped>>()?);
            let left = |place: &[usize; 2]| tried[place].as_ref().map_or(f32::MAX, |(_, left)| *left);
            let best = around.into_iter().flatten().min_by(|one, other| left(one).total_cmp(&left(other)));
            let best = best.unwrap_or(at);
            if best == at {
                let found = tried.remove(&at).flatten();
                return Ok(found.map_or_else(|| Self::new(figures), |(signs, _)| signs));
            }
            at = best;
        }
    }

    /// The [`FEW`] symbols that come nearest to a cell.
    fn few(&self, cell: &Shown) -> Vec<usize> {
        let mut all: Vec<(f32, usize)> =
            (0..self.signs.len()).map(|needle| (self.left(cell, needle), needle)).collect();
        if all.len() > FEW {
            all.select_nth_unstable_by(FEW - 1, |one, other| one.0.total_cmp(&other.0));
            all.truncate(FEW);
        }
        all.into_iter().map(|(_, needle)| needle).collect()
    }

    /// What the nearest of some symbols leaves of a cell, or bare cloth.
    fn nearest_of(&self, cell: &Shown, needles: &[usize]) -> f32 {
        needles.iter().map(|&needle| self.left(cell, needle)).fold(cell.energy, f32::min)
    }

    fn left(&self, cell: &Shown, needle: usize) -> f32 {
        let sign = &self.signs[needle];
        let [low, high] = self.strength.map(|strength| strength * cell.shade);
        sign.left(cell.energy, dot(&cell.figure, &sign.figure), [low, high]).0
    }

    /// All symbols this many times as strong.
    fn strengthened(&mut self, by: f32) {
        for sign in &mut self.signs {
            sign.figure.iter_mut().for_each(|point| *point *= by);
            sign.energy *= by * by;
        }
    }

    /// The mean of the cells that were taken for each symbol; `key` is what the key shows, as strong.
    fn taught(&self, key: &Self, pages: &[&Cells], found: &[Vec<Nearest>]) -> Self {
        let mut cells: Vec<Vec<(f32, &Shown)>> = vec![Vec::new(); self.signs.len()];
        for (page, found) in pages.iter().zip(found) {
            for ((shown, found), cover) in page.shown.iter().zip(found).zip(&page.covers) {
                // Cells of neighbouring pages stand on grey; lines hide a part of others.
                if let (Some(needle), None, true) = (found.best, cover, shown.shade >= 1.0) {
                    cells[needle].push((found.left, shown));
                }
            }
        }
        let counts: Vec<usize> = cells.iter().map(Vec::len).collect();
        let learnt: Vec<Option<Sign>> = cells
            .into_par_iter()
            .zip(&self.signs)
            .map(|(mut cells, sign)| {
                if cells.len() < ENOUGH {
                    return None;
                }
                cells.sort_by(|one, other| one.0.total_cmp(&other.0));
                #[allow(clippy::cast_sign_loss, reason = "a share of a length")]
                cells.truncate((cells.len() as f64 * NEAREST).ceil() as usize);
                let mut mean = *sign.figure;
                mean.iter_mut().for_each(|point| *point *= KEY_WEIGHT);
                for (_, cell) in &cells {
                    mean.iter_mut().zip(&cell.figure).for_each(|(sum, point)| *sum += point);
                }
                let count = KEY_WEIGHT + cells.len() as f32;
                mean.iter_mut().for_each(|point| *point /= count);
                Some(Sign::new(mean))
            })
            .collect();
        let signs: Vec<Sign> = learnt
            .iter()
            .zip(&self.signs)
            .map(|(learnt, sign)| learnt.clone().unwrap_or_else(|| sign.clone()))
            .collect();
        let is_misled = |rare: usize| {
            (0..signs.len()).any(|common| {
                counts[rare] * RARER < counts[common]
                    && signs[rare].apart(&signs[common]) < NEARER * key.signs[rare].apart(&key.signs[common])
            })
        };
        let kept = (0..signs.len())
            .map(|needle| {
                let misled = learnt[needle].is_some() && is_misled(needle);
                if misled { key.signs[needle].clone() } else { signs[needle].clone() }
            })
            .collect();
        Self { signs: kept, strength: LEARNT_STRENGTH }
    }

    /// The nearest symbol to a cell.
    pub(super) fn nearest(&self, cell: &Shown) -> Nearest {
        let products = self.signs.iter().map(|sign| (dot(&cell.figure, &sign.figure), sign));
        nearest(cell.energy, self.strength.map(|strength| strength * cell.shade), products)
    }
}

/// What comes nearest to a cell, and second: sums of squares that are left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Nearest {
    pub(super) best: Option<usize>,
    pub(super) second: Option<usize>,
    pub(super) left: f32,
    pub(super) next: f32,
    /// How strong the nearest symbol is, whatever its bounds.
    strength: f32,
}

impl Nearest {
    /// Bare cloth, of which so much is left.
    pub(super) fn bare(left: f32) -> Self {
        Self { best: None, second: None, left, next: f32::MAX, strength: 0.0 }
    }

    /// Holds another symbol, of which so much is left, against what was nearest; whether it is nearer.
    pub(super) fn hold(&mut self, needle: usize, left: f32) -> bool {
        if left < self.left {
            (self.second, self.next) = (self.best, self.left);
            (self.best, self.left) = (Some(needle), left);
            return true;
        }
        if left < self.next {
            (self.second, self.next) = (Some(needle), left);
        }
        false
    }
}

/// The best of all symbols by their products with a cell of this energy; bare cloth leaves all of it.
pub(super) fn nearest<'s>(
    energy: f32,
    bounds: [f32; 2],
    signs: impl Iterator<Item = (f32, &'s Sign)>,
) -> Nearest {
    let mut found = Nearest::bare(energy);
    for (needle, (product, sign)) in signs.enumerate() {
        let (left, strength) = sign.left(energy, product, bounds);
        if found.hold(needle, left) {
            found.strength = strength;
        }
    }
    found
}

/// The median strength of cells.
fn median(found: &[Vec<Nearest>]) -> f32 {
    let worked = found.iter().flatten().filter(|found| found.best.is_some());
    let mut strengths: Vec<f32> = worked.map(|found| found.strength).collect();
    strengths.sort_by(f32::total_cmp);
    strengths.get(strengths.len() / 2).copied().unwrap_or(1.0)
}
