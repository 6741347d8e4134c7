//! The colours of a picture as an eye sees them: hue and chroma coarser than lightness.
//!
//! Grain of colour alone is not seen stitch by stitch (the eye's filters for red against green and for blue against yellow
//! are wider than that for lightness: Andersson et al. 2020, as in `eye`), yet it makes small patches and ragged borders. So
//! each cell is meant to have the chroma of the cells about it that are like it, and its own lightness. Cells that differ
//! plainly give nothing, so that no colour runs over an edge (a bilateral filter: Tomasi & Manduchi 1998, "Bilateral
//! filtering for gray and color images", Proc. 6th ICCV: 839-846).

use rayon::prelude::*;

use crate::ground::colour::Lab32;
use crate::ground::progress::{Progress, Stopped, ask};
use crate::ground::units::GridSize;

/// How far away cells still give colour.
const REACH: usize = 2;

/// Deviations of the Gaussians that they give by, of red against green and of blue against yellow, in cells: a little wider
/// than those of an eye that sees twenty cells in a degree. Half of them leave a twentieth more steps and patches.
const WIDE: [f32; 2] = [1.5, 2.0];

/// Cells that differ by so much in CIELAB give nothing. More takes small things their colour, less leaves the grain.
const APART: f32 = 10.0;

/// Lightness where there is no colour: apart from all that there are.
const NONE: f32 = 1e4;

/// The colour that each cell is meant to have.
pub(super) fn soft(
    cells: &[Option<Lab32>],
    size: GridSize,
    progress: &dyn Progress,
) -> Result<Vec<Option<Lab32>>, Stopped> {
    let (width, height) = (size.width(), size.height());
    // Rows with a border on both sides, channel by channel, so that whole rows are worked on at once.
    let stride = width + 2 * REACH;
    let row = |y: usize| {
        let mut row = [vec![NONE; stride], vec![0.0; stride], vec![0.0; stride]];
        for (x, cell) in cells[y * width..(y + 1) * width].iter().enumerate() {
            if let Some(cell) = cell {
                for (channel, value) in row.iter_mut().zip(cell.axes()) {
                    channel[x + REACH] = value;
                }
            }
        }
        row
    };
    let mut softened = cells.to_vec();
    softened.par_chunks_mut(width * BAND).enumerate().try_for_each(|(band, softened)| {
        ask(progress)?;
        let top = band * BAND;
        let first = top.saturating_sub(REACH);
        let rows: Vec<_> = (first..(top + BAND + REACH).min(height)).map(row).collect();
        for (y, softened) in (top..).zip(softened.chunks_exact_mut(width)) {
            let own = &rows[y - first];
            let mut sums = Sums::new(width);
            for other in y.saturating_sub(REACH)..(y + REACH + 1).min(height) {
                for across in 0..=2 * REACH {
                    let far = (other.abs_diff(y).pow(2) + across.abs_diff(REACH).pow(2)) as f32;
                    let shares = WIDE.map(|wide| (-far / (2.0 * wide * wide)).exp());
                    sums.add(own, &rows[other - first], across, shares);
                }
            }
            for (x, cell) in softened.iter_mut().enumerate() {
                if let Some(cell) = cell {
                    (cell.a, cell.b) = (sums.a[x] / sums.of_a[x], sums.b[x] / sums.of_b[x]);
                }
            }
        }
        Ok(())
    })?;
    Ok(softened)
}

/// Rows that are softened at once.
const BAND: usize = 16;

/// What the cells of a row are given, and the shares that it was given by.
struct Sums {
    a: Vec<f32>,
    b: Vec<f32>,
    of_a: Vec<f32>,
    of_b: Vec<f32>,
}

impl Sums {
    fn new(width: usize) -> Self {
        let none = || vec![0.0; width];
        Self { a: none(), b: none(), of_a: none(), of_b: none() }
    }

    /// Adds what the cells of `other` give that lie [`REACH`] less than `across` to the right.
    fn add(
        &mut self,
        own: &[Vec<f32>; 3],
        other: &[Vec<f32>; 3],
        across: usize,
        [share_a, share_b]: [f32; 2],
    ) {
        let width = self.a.len();
        let [own_l, own_a, own_b] = own.each_ref().map(|row| &row[REACH..][..width]);
        let [l, a, b] = other.each_ref().map(|row| &row[across..][..width]);
        let sums = self.a.iter_mut().zip(&mut self.b).zip(self.of_a.iter_mut().zip(&mut self.of_b));
        let colours = l.iter().zip(a).zip(b).zip(own_l.iter().zip(own_a).zip(own_b));
        for (((sum_a, sum_b), (of_a, of_b)), (((l, a), b), ((own_l, own_a), own_b))) in sums.zip(colours) {
            let [dl, da, db] = [l - own_l, a - own_a, b - own_b];
            // Tukey's biweight: no root and no power in it.
            let like = (1.0 - (dl * dl + da * da + db * db) * (1.0 / (APART * APART))).max(0.0);
            let like = like * like;
            *sum_a += share_a * like * a;
            *sum_b += share_b * like * b;
            *of_a += share_a * like;
            *of_b += share_b * like;
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::progress::Silent;

    #[test]
    fn grain_of_colour_goes_lightness_and_edges_stay() {
        // A green with grain of 2 to each side, and a red thing of 3 x 3 cells in it.
        let inside = |cell: usize| (8..11).contains(&(cell % 20)) && (8..11).contains(&(cell / 20));
        let colour = |cell: usize| {
            let grain = if (cell % 20 + cell / 20).is_multiple_of(2) { 2.0 } else { -2.0 };
            let l = 50.0 + grain;
            if inside(cell) {
                Lab32 { l, a: 60.0, b: 40.0 }
            } else {
                Lab32 { l, a: -30.0 + grain, b: 20.0 - grain }
            }
        };
        let cells: Vec<Option<Lab32>> = (0..400).map(|cell| (cell != 5).then(|| colour(cell))).collect();
        let soft = soft(&cells, GridSize::new(20, 20).unwrap(), &Silent).unwrap();
        assert_eq!(soft[5], None);
        for (cell, (soft, was)) in soft.iter().zip(&cells).enumerate().filter(|(cell, _)| *cell != 5) {
            let (soft, was) = (soft.unwrap(), was.unwrap());
            assert_eq!(soft.l.to_bits(), was.l.to_bits());
            let [a, b] = if inside(cell) { [60.0, 40.0] } else { [-30.0, 20.0] };
            assert!((soft.a - a).abs() < 1.5 && (soft.b - b).abs() < 1.5, "cell {cell}: {soft:?}");
        }
    }
}
