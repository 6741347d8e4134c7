//! What is worked out once for a picture and a card, whatever number of colours is then asked for.

use super::accents::{Accent, accents, costs};
use super::costs::Costs;
use super::histogram::Histogram;
use super::select::Demand;
use super::{Look, Options, ReduceError, Wish};
use crate::ground::colour::{Compared, Lab32};
use crate::ground::progress::{Progress, ask};
use crate::ground::units::GridSize;
use crate::making::frame::StitchField;

/// Side of the cubes that looks are chosen by, in Lab units. The time goes with the number of cubes.
const COARSE: f32 = 4.0;

/// The most cubes of half that side: where there are no more, they are taken. That lowers the error of small charts by
/// 0.04 % (31 pictures).
const HALVED: usize = 6_000;

/// Side of the cubes that cells are labelled by, in Lab units. Cubes of 2 cost 0.5 % of the error, of 1 a tenth of
/// one per cent (31 pictures).
const FINE: f32 = 1.0;

/// The most costs, of a colour in a look, for which each cell is labelled by its own colour and not by a cube's.
const EXACT_COSTS: usize = 2_000_000;

/// The most cubes of that side; where there are more, they have twice the side.
pub(super) const MOST_FINE: usize = 200_000;

/// How much more the error of a cell in a protected area weighs when looks are chosen.
const DETAIL_WEIGHT: f32 = 4.0;

/// A picture and a card, made ready.
pub(super) struct Survey<'a> {
    pub(super) size: GridSize,
    pub(super) cells: &'a [Option<Lab32>],
    /// How much the error of each cell counts, as the options say; nothing where all count the same.
    pub(super) weights: Option<&'a [f32]>,
    /// Cells that the cloth is close enough to.
    pub(super) bareable: Vec<bool>,
    pub(super) looks: Vec<Compared>,
    /// What cells look like that are left bare by choice.
    pub(super) bare: Option<Compared>,
    /// Looks that must be used, in the order of the card.
    pub(super) fixed: Vec<usize>,
    /// Looks that may be used, the fixed ones left out, in the order of the card.
    pub(super) usable: Vec<usize>,
    /// Colours of the cells to be stitched, in large cubes.
    pub(super) coarse: Histogram,
    /// ΔE00 of each look (row) to each large cube (column).
    pub(super) coarse_costs: Costs,
    /// What stands out.
    pub(super) accents: Vec<Accent>,
    /// What each look (row) costs for each accent.
    pub(super) accent_costs: Vec<Vec<f32>>,
    /// What a look costs by being chosen.
    pub(super) price: Vec<f64>,
    /// Mean ΔE00 when every look is used.
    pub(super) floor: f64,
    /// How many different colours the cells to be stitched have, counted up to the number of looks.
    pub(super) different: usize,
}

impl<'a> Survey<'a> {
    pub(super) fn new(
        field: &'a StitchField,
        looks: &[Look],
        options: &'a Options,
        progress: &dyn Progress,
    ) -> Result<Self, ReduceError> {
        let cells = field.cells();
        check(cells, looks, options)?;
        let compared: Vec<Compared> = looks.iter().map(|look| Compared::from(look.lab)).collect();
        let having = |wish: fn(Wish) -> bool| {
            (0..looks.len()).filter(|&look| wish(looks[look].wish)).collect::<Vec<usize>>()
        };
        let fixed = having(|wish| wish == Wish::Fixed);
        let usable = having(|wish| matches!(wish, Wish::Allowed | Wish::Preferred));
        let bareable = bareable(cells, options);
        ask(progress)?;
        let stitched: Vec<_> =
            cells.iter().zip(&bareable).map(|(&cell, &bare)| if bare { None } else { cell }).collect();
        let weights = weights(options);
        let weight = |cell: usize| f64::from(weights.get(cell).copied().unwrap_or(1.0));
        let coarse = Histogram::within(HALVED, &stitched, COARSE / 2.0, weight, |_| false)
            .unwrap_or_else(|| Histogram::new(&stitched, COARSE, weight, |_| false));
        ask(progress)?;
        let coarse_costs = Costs::new(&compared, &coarse.colours, progress)?;
        let total: f64 = coarse.weights.iter().sum();
        let preferring = looks.iter().any(|look| look.wish == Wish::Preferred);
        let accents = accents(&stitched, field.size(), progress)?;
        let accent_costs = costs(&accents, &compared, &[&fixed[..], &usable].concat(), total);
        let price = looks
            .iter()
            .map(
                |look| {
                    if preferring && look.wish == Wish::Allowed { options.reluctance * total } else { 0.0 }
                },
            )
            .collect();
        let floor = floor(&coarse, &coarse_costs, fixed.iter().chain(&usable));
        ask(progress)?;
        let different = different(&stitched, looks.len());
        Ok(Self {
            size: field.size(),
            cells,
            weights: options.weights.as_deref(),
            bareable,
            looks: compared,
            bare: options.bare.map(|bare| Compared::from(bare.look)),
            fixed,
            usable,
            coarse,
            coarse_costs,
            accents,
            accent_costs,
            price,
            floor,
            different,
        })
    }

    /// The colours that `cells` are labelled by where so many `looks` are used: as fine as their number allows. Cells
    /// that may be bare share none with others.
    pub(super) fn fine(&self, cells: &[Option<Lab32>], looks: usize) -> Histogram {
        if cells.len() * looks <= EXACT_COSTS && cells.len() <= MOST_FINE {
            return Histogram::ungathered(cells);
        }
        let apart = |cell: usize| self.bareable[cell];
        Histogram::within(MOST_FINE, cells, FINE, |_| 1.0, apart)
            .unwrap_or_else(|| Histogram::new(cells, 2.0 * FINE, |_| 1.0, apart))
    }

    /// The demand of the cubes, each cube a group, and of the accents.
    pub(super) fn demand(&self) -> Demand {
        self.demand_with(|look| &self.accent_costs[look])
    }

    /// The demand of the cubes alone.
    pub(super) fn cubes(&self) -> Demand {
        self.demand_with(|_| &[])
    }

    fn demand_with<'b>(&'b self, more: impl Fn(usize) -> &'b [f32]) -> Demand {
        let columns = self.coarse.len() + more(0).len();
        let mut values = Vec::with_capacity(self.looks.len() * columns);
        for look in 0..self.looks.len() {
            let row = self.coarse_costs.row(look).iter().zip(&self.coarse.weights);
            values.extend(row.map(|(&cost, &weight)| cost * weight as f32));
            values.extend(more(look));
        }
        Demand { costs: Costs::from_rows(columns, values), price: self.price.clone() }
    }

    /// Mean ΔE00 of all squares when every look is used and those that are bare by choice stay so.
    pub(super) fn floor_with_bare(&self, labels: &[Option<u16>]) -> f64 {
        let Some(bare) = &self.bare else { return self.floor };
        let (mut sum, mut bare_cells, mut stitched) = (0.0, 0u64, 0u64);
        for (label, colour) in labels.iter().zip(self.cells) {
            let Some(colour) = colour else { continue };
            if label.is_some() {
                stitched += 1;
            } else {
                bare_cells += 1;
                sum += Compared::from(*colour).ciede2000(bare);
            }
        }
        (sum + self.floor * stitched as f64) / ((bare_cells + stitched) as f64).max(1.0)
    }

    /// How many cells are bare although they have a colour.
    pub(super) fn bare_by_choice(&self, labels: &[Option<u16>]) -> u64 {
        labels.iter().zip(self.cells).filter(|(label, cell)| label.is_none() && cell.is_some()).count() as u64
    }
}

fn check(cells: &[Option<Lab32>], looks: &[Look], options: &Options) -> Result<(), ReduceError> {
    let number = |colour: &Option<Lab32>| colour.is_none_or(|lab| lab.axes().iter().all(|v| v.is_finite()));
    if let Some(cell) = cells.iter().position(|colour| !number(colour)) {
        return Err(ReduceError::Cell { cell });
    }
    let number = |look: &Look| [look.lab.l, look.lab.a, look.lab.b].iter().all(|v| v.is_finite());
    if let Some(look) = looks.iter().position(|look| !number(look)) {
        return Err(ReduceError::Look { look });
    }
    if looks.iter().all(|look| look.wish == Wish::Forbidden) {
        return Err(ReduceError::NothingAllowed { looks: looks.len() });
    }
    match &options.detail {
        Some(detail) if detail.len() != cells.len() => {
            return Err(ReduceError::Detail { given: detail.len(), cells: cells.len() });
        }
        _ => {}
    }
    let Some(weights) = &options.weights else { return Ok(()) };
    if weights.len() != cells.len() {
        return Err(ReduceError::Weights { given: weights.len(), cells: cells.len() });
    }
    match weights.iter().position(|weight| !(weight.is_finite() && *weight > 0.0)) {
        Some(cell) => Err(ReduceError::Weight { cell }),
        None => Ok(()),
    }
}

/// How much the error of each cell counts when looks are chosen; nothing where all count the same.
fn weights(options: &Options) -> Vec<f32> {
    let mut weights = match (&options.weights, &options.detail) {
        (Some(weights), _) => weights.clone(),
        (None, Some(detail)) => vec![1.0; detail.len()],
        (None, None) => return Vec::new(),
    };
    for (weight, _) in weights.iter_mut().zip(options.detail.iter().flatten()).filter(|(_, held)| **held) {
        *weight *= DETAIL_WEIGHT;
    }
    weights
}

fn bareable(cells: &[Option<Lab32>], options: &Options) -> Vec<bool> {
    let Some(bare) = options.bare else { return vec![false; cells.len()] };
    if let Some(marks) = &options.bare_cells {
        let marked = |(cell, &mark): (&Option<Lab32>, &bool)| mark && cell.is_some();
        return cells.iter().zip(marks.iter().chain(std::iter::repeat(&false))).map(marked).collect();
    }
    let cloth = Compared::from(bare.look);
    let close = |colour: &Option<Lab32>| {
        colour.is_some_and(|lab| Compared::from(lab).ciede2000(&cloth) <= bare.within)
    };
    cells.iter().map(close).collect()
}

fn floor<'a>(coarse: &Histogram, costs: &Costs, looks: impl Iterator<Item = &'a usize>) -> f64 {
    let mut best = vec![f32::INFINITY; coarse.len()];
    for &look in looks {
        for (best, &cost) in best.iter_mut().zip(costs.row(look)) {
            *best = best.min(cost);
        }
    }
    let total: f64 = coarse.weights.iter().sum();
    let sum: f64 = best.iter().zip(&coarse.weights).map(|(&cost, &weight)| f64::from(cost) * weight).sum();
    if total > 0.0 { sum / total } else { 0.0 }
}

/// The number of different colours, counted no further than `most`.
fn different(cells: &[Option<Lab32>], most: usize) -> usize {
    let mut seen = std::collections::BTreeSet::new();
    for colour in cells.iter().flatten() {
        seen.insert(colour.axes().map(f32::to_bits));
        if seen.len() >= most {
            break;
        }
    }
    seen.len()
}
