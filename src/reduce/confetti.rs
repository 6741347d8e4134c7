//! What a single stitch is allowed to cost before it goes.
//!
//! A single stitch is a bother to work: a thread is started and ended for it. It stays under
//! [`Confetti::Few`](super::Confetti) only where the eye would miss it: a star in a night sky, the light in
//! an eye. What the eye misses is a contrast against quiet surroundings; in gravel or fur the texture hides
//! it (visual masking: Legge & Foley 1980, "Contrast masking in human vision", J. Opt. Soc. Am. 70: 1458-1471).

use rayon::prelude::*;

use crate::units::GridSize;

/// How unlike each other the eight cells around a cell are: the mean distance in CIELAB from their mean,
/// the cell itself left out, so that a lone star does not count as texture. 0 for a cell without colour.
pub(super) fn texture(size: GridSize, cells: &[Option<[f32; 3]>]) -> Vec<f32> {
    let (width, height) = (size.width(), size.height());
    let mut texture = vec![0.0; cells.len()];
    texture.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, value) in row.iter_mut().enumerate() {
            let mut around = [[0.0_f32; 3]; 8];
            let mut found = 0;
            for v in y.saturating_sub(1)..(y + 2).min(height) {
                for u in x.saturating_sub(1)..(x + 2).min(width) {
                    if let (Some(colour), false) = (cells[v * width + u], (u, v) == (x, y)) {
                        around[found] = colour;
                        found += 1;
                    }
                }
            }
            *value = spread(&around[..found]);
        }
    });
    texture
}

fn spread(colours: &[[f32; 3]]) -> f32 {
    if colours.is_empty() {
        return 0.0;
    }
    let count = colours.len() as f32;
    let mut mean = [0.0_f32; 3];
    for colour in colours {
        for (sum, value) in mean.iter_mut().zip(colour) {
            *sum += value / count;
        }
    }
    let distance = |colour: &[f32; 3]| {
        colour.iter().zip(mean).map(|(value, mean)| (value - mean) * (value - mean)).sum::<f32>().sqrt()
    };
    colours.iter().map(distance).sum::<f32>() / count
}
