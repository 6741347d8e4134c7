//! Dithering: what one cell misses of its colour, the next ones make up.
//!
//! The colour that each cell misses is handed on to its neighbours in linear light, where the eye mixes stitches
//! seen from afar (error diffusion with the weights of Floyd & Steinberg 1976, "An adaptive algorithm for spatial
//! greyscale", Proc. SID 17: 75-77; every other row is walked backwards). What comes of it is a picture of the
//! colours that cells are *meant* to have; labels are then settled on that picture as on any other, so that the
//! price on single stitches bounds how many of them dithering may leave.

use super::survey::Survey;
use crate::ground::colour::{Compared, Lab, Lab32, LinearRgb, Many};
use crate::ground::progress::{Progress, Stopped, ask};

/// The share of a miss that is handed on. A little under all of it, so that a colour that no mix of the threads
/// can reach does not run far across the picture.
const HANDED_ON: f64 = 0.9;

/// The colour that each cell is meant to have so that, with its neighbours, it gives the picture's.
pub(super) fn meant(
    survey: &Survey<'_>,
    looks: &[usize],
    progress: &dyn Progress,
) -> Result<Vec<Option<Lab32>>, Stopped> {
    let (width, height) = (survey.size.width(), survey.size.height());
    let looks: Vec<Compared> = looks.iter().map(|&look| survey.looks[look]).collect();
    let many = Many::new(&looks);
    let lights: Vec<[f64; 3]> = looks.iter().map(|look| look.lab().linear().channels).collect();
    let mut cells = survey.cells.to_vec();
    let mut differences = vec![0.0; looks.len()];
    // Misses handed on to this row and to the next, with a cell to spare on both sides.
    let mut here = vec![[0.0_f64; 3]; width + 2];
    let mut below = here.clone();
    for y in 0..height {
        ask(progress)?;
        let backwards = y % 2 == 1;
        for step in 0..width {
            let x = if backwards { width - 1 - step } else { step };
            let cell = y * width + x;
            let Some(lab) = cells[cell] else { continue };
            if survey.bareable[cell] {
                continue;
            }
            let light = Lab::from(lab).linear().channels;
            let missed = here[x + 1];
            let meant: [f64; 3] = std::array::from_fn(|axis| (light[axis] + missed[axis]).clamp(0.0, 1.0));
            let lab = LinearRgb { channels: meant }.lab();
            cells[cell] = Some(lab.into());
            many.ciede2000(&Compared::from(lab), &mut differences);
            let given = lights[super::labels::cheapest(&differences)];
            let (ahead, behind) = if backwards { (x, x + 2) } else { (x + 2, x) };
            for axis in 0..3 {
                let miss = (meant[axis] - given[axis]) * HANDED_ON / 16.0;
                here[ahead][axis] += 7.0 * miss;
                below[behind][axis] += 3.0 * miss;
                below[x + 1][axis] += 5.0 * miss;
                below[ahead][axis] += miss;
            }
        }
        here.fill([0.0; 3]);
        std::mem::swap(&mut here, &mut below);
    }
    Ok(cells)
}
