//! What stands out from its surroundings, however small: a red beetle on a leaf, the white of an eye.
//!
//! The picture is parted into regions after Felzenszwalb & Huttenlocher (2004), "Efficient graph-based image
//! segmentation", Int. J. Comput. Vision 59: 167-181. A region whose mean light differs plainly from that of the cells
//! about it is an accent. The mean over all cells hardly feels what becomes of accents, and so they would lose their
//! threads; each of them is served as one thing instead, however few cells it has.

mod regions;

use rayon::prelude::*;

use crate::ground::colour::{Compared, Lab, Lab32, LinearRgb, Many, Srgb8};
use crate::ground::progress::{Progress, Stopped, ask};
use crate::ground::units::GridSize;
use regions::Regions;

/// A region that stands out.
#[derive(Debug)]
pub(super) struct Accent {
    /// Its cells, row by row.
    pub(super) cells: Vec<u32>,
    /// Its mean light.
    pub(super) mean: Lab,
}

/// The fewest cells of an accent: what a stitcher can work as a thing of its own.
const LEAST: usize = 12;

/// The largest share of a picture that an accent can be: what is larger is what others stand out from.
const MOST: f64 = 0.25;

/// How far, in ΔE00, an accent's mean lies from that of the cells about it: a difference that is seen at a glance.
const PLAIN: f64 = 12.0;

/// How much all accents together count for, as a share of what all cells do, where there are many of them. Twice as much
/// brings the mean accent 2 % nearer and the worst no nearer.
const SHARE: f64 = 0.055;

/// Accents of which there is at least so many count [`SHARE`]; fewer count less, so that one does not claim it all.
const MANY: f64 = 10.0;

/// The excess over what the card has, in ΔE00, at which an accent counts as much as so many cells of the same error.
const PAR: f64 = 5.0;

/// The regions of a picture that stand out, in the order of their first cells.
pub(super) fn accents(
    cells: &[Option<Lab32>],
    size: GridSize,
    progress: &dyn Progress,
) -> Result<Vec<Accent>, Stopped> {
    let light = |cell: &Option<Lab32>| cell.map(|lab| Lab::from(lab).linear().channels.map(|v| v as f32));
    let lights: Vec<Option<[f32; 3]>> = cells.par_iter().map(light).collect();
    ask(progress)?;
    let encoded = |light: [f32; 3]| {
        let Srgb8 { r, g, b } = LinearRgb { channels: light.map(f64::from) }.srgb8();
        [r, g, b].map(f32::from)
    };
    let colours: Vec<Option<[f32; 3]>> = lights.par_iter().map(|light| light.map(encoded)).collect();
    ask(progress)?;
    let regions = Regions::new(&colours, size, LEAST as u32, progress)?;
    drop(colours);
    let mean = |part: &[u32]| {
        let mut sum = [0.0_f64; 3];
        for light in part.iter().filter_map(|&cell| lights[cell as usize]) {
            for (sum, value) in sum.iter_mut().zip(light) {
                *sum += f64::from(value);
            }
        }
        LinearRgb { channels: sum.map(|sum| sum / part.len() as f64) }.lab()
    };
    let most = cells.len() as f64 * MOST;
    let mut accents = Vec::new();
    let mut seen = vec![u32::MAX; cells.len()];
    for region in 0..regions.len() {
        ask(progress)?;
        let part = regions.cells(region);
        if part.len() < LEAST || part.len() as f64 > most {
            continue;
        }
        let about = regions.about(region, &mut seen);
        let own = mean(part);
        if !about.is_empty() && own.ciede2000(mean(&about)) >= PLAIN {
            accents.push(Accent { cells: part.to_vec(), mean: own });
        }
    }
    Ok(accents)
}

/// What each look (row) costs for each accent (column), where the usable looks would serve it best and all cells of the
/// picture weigh `whole`. It grows with the square of the excess over the best of them: an accent that has lost its
/// colour counts more than many that are a little off, and what the card has no thread for counts for none.
pub(super) fn costs(accents: &[Accent], looks: &[Compared], usable: &[usize], whole: f64) -> Vec<Vec<f32>> {
    let share = SHARE * whole / (accents.len() as f64).max(MANY);
    let means: Vec<Compared> = accents.iter().map(|accent| accent.mean.into()).collect();
    let means = Many::new(&means);
    let mut rows: Vec<Vec<f32>> = looks
        .par_iter()
        .map(|look| {
            let mut row = vec![0.0; accents.len()];
            means.ciede2000(look, &mut row);
            row
        })
        .collect();
    let mut best = vec![f32::INFINITY; accents.len()];
    for &look in usable {
        for (best, &off) in best.iter_mut().zip(&rows[look]) {
            *best = best.min(off);
        }
    }
    for row in &mut rows {
        for (off, best) in row.iter_mut().zip(&best) {
            let excess = f64::from((*off - best).max(0.0));
            *off = (share * excess * excess / PAR) as f32;
        }
    }
    rows
}
