//! The colours of a picture gathered into cubes of CIELAB, so that costs are worked out a colour, not a cell.

use crate::ground::colour::{Compared, Lab, Lab32};

/// No colour: a cell that is bare from the start.
pub(super) const NO_BIN: u32 = u32::MAX;

/// Colours gathered into cubes: the mean and the weight of each, and which cube each cell fell into.
#[derive(Debug)]
pub(super) struct Histogram {
    /// The mean colour of what fell into each cube, in the order in which they were first met.
    pub(super) colours: Vec<Compared>,
    /// What fell into each cube, in cells (more where a cell counts for more).
    pub(super) weights: Vec<f64>,
    /// The cube of each cell, or [`NO_BIN`].
    pub(super) bin_of: Vec<u32>,
}

/// Cubes along a side of the blocks that they are looked up in.
const BLOCK: usize = 8;

/// Which cube along one axis; what lies beyond the gamut of sRGB by far shares the outermost cube.
fn step(value: f32, lowest: f32, width: f32, steps: usize) -> usize {
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and more")]
    let step = ((value - lowest) / width).clamp(0.0, (steps - 1) as f32) as usize;
    step
}

impl Histogram {
    /// Gathers `cells` into cubes of side `width` (Lab units), each cell weighing what `weight` says; those
    /// that are set `apart` share no cube with the others.
    pub(super) fn new(
        cells: &[Option<Lab32>],
        width: f32,
        weight: impl Fn(usize) -> f64,
        apart: impl Fn(usize) -> bool,
    ) -> Self {
        Self::within(usize::MAX, cells, width, weight, apart).expect("there is no limit")
    }

    /// The same, or nothing where there are more than `most` cubes.
    pub(super) fn within(
        most: usize,
        cells: &[Option<Lab32>],
        width: f32,
        weight: impl Fn(usize) -> f64,
        apart: impl Fn(usize) -> bool,
    ) -> Option<Self> {
        #[allow(clippy::cast_sign_loss, reason = "width is a positive constant of ours")]
        let steps = |span: f32| (span / width).ceil() as usize + 1;
        let (across_l, across_ab) = (steps(100.0), steps(256.0));
        // Most of the space is empty: cubes are looked up in blocks, of which only those in use have a table.
        let blocks_ab = across_ab.div_ceil(BLOCK);
        let blocks = across_l.div_ceil(BLOCK) * blocks_ab * blocks_ab;
        let mut block_at = vec![NO_BIN; 2 * blocks];
        let mut place: Vec<u32> = Vec::new();
        let mut sums: Vec<([f64; 3], f64)> = Vec::new();
        let mut bin_of = Vec::with_capacity(cells.len());
        for (cell, colour) in cells.iter().enumerate() {
            let Some(lab) = *colour else {
                bin_of.push(NO_BIN);
                continue;
            };
            let l = step(lab.l, 0.0, width, across_l);
            let [a, b] = [lab.a, lab.b].map(|axis| step(axis, -128.0, width, across_ab));
            let block = (l / BLOCK * blocks_ab + a / BLOCK) * blocks_ab + b / BLOCK;
            let block = &mut block_at[block + if apart(cell) { blocks } else { 0 }];
            if *block == NO_BIN {
                *block = place.len() as u32;
                place.resize(place.len() + BLOCK.pow(3), NO_BIN);
            }
            let cube = *block as usize + (l % BLOCK * BLOCK + a % BLOCK) * BLOCK + b % BLOCK;
            if place[cube] == NO_BIN {
                if sums.len() == most {
                    return None;
                }
                place[cube] = sums.len() as u32;
                sums.push(([0.0; 3], 0.0));
            }
            let bin = place[cube];
            let (sum, total) = &mut sums[bin as usize];
            let share = weight(cell);
            for (axis, value) in sum.iter_mut().zip(lab.axes()) {
                *axis += share * f64::from(value);
            }
            *total += share;
            bin_of.push(bin);
        }
        let colours = sums
            .iter()
            .map(|([l, a, b], total)| Compared::from(Lab { l: l / total, a: a / total, b: b / total }))
            .collect();
        let weights = sums.into_iter().map(|(_, total)| total).collect();
        Some(Self { colours, weights, bin_of })
    }

    /// Each of the `cells` by itself.
    pub(super) fn ungathered(cells: &[Option<Lab32>]) -> Self {
        let mut colours = Vec::with_capacity(cells.len());
        let bin_of = cells
            .iter()
            .map(|colour| {
                let Some(lab) = *colour else { return NO_BIN };
                colours.push(Compared::from(lab));
                (colours.len() - 1) as u32
            })
            .collect();
        Self { weights: vec![1.0; colours.len()], colours, bin_of }
    }

    /// The number of colours.
    pub(super) fn len(&self) -> usize {
        self.colours.len()
    }
}
