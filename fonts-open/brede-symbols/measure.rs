//! How alike two figures look in print: drawn small, blurred, faded and laid on each other.
//!
//! The distance of two figures is, for one size of cell, the geometric mean of two shares,
//!
//! ```text
//! d(a, b) = least over shifts s of  sqrt( D / (sum a + sum b)  *  D / cell ),   D = sum |a - b(s)|
//! ```
//!
//! where `a` and `b` are the ink of every pixel, `cell` is the ink of a full cell and the shifts are up to one
//! pixel each way by half pixels: 0 for equal figures, 1 for two that fill the cell without sharing ink. The
//! least over the three sizes counts. The share of their own ink (the first) alone would find any two heavy
//! figures alike, the share of the cell (the second) any two light ones. The measure is our own.

use kurbo::{BezPath, ParamCurve, Shape};
use rayon::prelude::*;

/// Sides of the cell in pixels: 2.0, 2.5 and 3.0 mm at 150 dots an inch, a middling scan or a tablet's screen.
const SIDES: [f64; 3] = [2.0 / 25.4 * 150.0, 2.5 / 25.4 * 150.0, 3.0 / 25.4 * 150.0];

/// The blur in pixels (standard deviation of a Gaussian): ink that spreads, a scan or an eye a little off.
const BLUR: f64 = 0.6;

/// The ink that a worn printer loses: coverage below this share stays paper.
const FADE: f64 = 0.1;

/// Samples along a pixel's side.
const FINE: usize = 8;

/// Pixels of paper round the cell: a shift and the blur must stay inside.
const MARGIN: usize = 3;

/// A figure as print: one byte of ink a pixel.
struct Print {
    cell: f64,
    ink: Vec<u8>,
    sum: u64,
}

/// A figure in every size and shift.
pub(super) struct Looks {
    /// By size: as it stands.
    still: Vec<Print>,
    /// By size: at every shift.
    moved: Vec<Vec<Print>>,
}

impl Looks {
    pub(super) fn of(outline: &BezPath) -> Self {
        let mut still = Vec::new();
        let mut moved = Vec::new();
        for side in SIDES {
            let shifts =
                (-2..=2).flat_map(|x| (-2..=2).map(move |y| (f64::from(x) / 2.0, f64::from(y) / 2.0)));
            moved.push(shifts.map(|shift| print(outline, side, shift)).collect());
            still.push(print(outline, side, (0.0, 0.0)));
        }
        Self { still, moved }
    }

    /// The distance of two figures, 0 to 1.
    pub(super) fn distance(&self, other: &Self) -> f64 {
        let sizes = self.still.iter().zip(&other.moved);
        sizes
            .map(|(a, shifts)| shifts.iter().map(|b| apart(a, b)).fold(f64::INFINITY, f64::min))
            .fold(1.0, f64::min)
    }
}

fn apart(a: &Print, b: &Print) -> f64 {
    let unlike: u32 = a.ink.iter().zip(&b.ink).map(|(&a, &b)| u32::from(a.abs_diff(b))).sum();
    f64::from(unlike) / ((a.sum + b.sum).max(1) as f64 * a.cell).sqrt()
}

/// The distances of all figures from all, row by row, in 255ths; a figure is 0 from itself.
pub(super) fn distances(outlines: &[BezPath]) -> Vec<Vec<u8>> {
    let looks: Vec<Looks> = outlines.par_iter().map(Looks::of).collect();
    let upper: Vec<Vec<u8>> = looks
        .par_iter()
        .enumerate()
        .map(|(index, a)| looks[index + 1..].iter().map(|b| (a.distance(b) * 255.0).round() as u8).collect())
        .collect();
    let mut all = vec![vec![0; outlines.len()]; outlines.len()];
    for (a, row) in upper.iter().enumerate() {
        for (further, &distance) in row.iter().enumerate() {
            let b = a + 1 + further;
            all[a][b] = distance;
            all[b][a] = distance;
        }
    }
    all
}

/// The share of the cell that is inked, 0 to 1.
pub(super) fn ink_share(outline: &BezPath) -> f64 {
    let raster = sampled(outline, 1000, 1000, 1.0, (0.0, 0.0));
    raster.iter().filter(|&&inked| inked).count() as f64 / raster.len() as f64
}

/// The figure at so many pixels a cell, moved by so many pixels, blurred and faded.
fn print(outline: &BezPath, side: f64, shift: (f64, f64)) -> Print {
    let pixels = side.ceil() as usize + 2 * MARGIN;
    let unit = 1000.0 / (side * FINE as f64);
    let aside = (pixels as f64 - side) / 2.0;
    let origin = (-(aside + shift.0) * unit * FINE as f64, -(aside + shift.1) * unit * FINE as f64);
    let fine = pixels * FINE;
    let raster = sampled(outline, fine, fine, unit, origin);
    let mut cover = vec![0.0; pixels * pixels];
    for (at, _) in raster.iter().enumerate().filter(|&(_, &inked)| inked) {
        cover[at / fine / FINE * pixels + at % fine / FINE] += 1.0 / (FINE * FINE) as f64;
    }
    let soft = blurred(&blurred(&cover, pixels, 1), pixels, pixels);
    let faded = |ink: f64| (((ink - FADE).max(0.0) / (1.0 - FADE)) * 255.0).round().min(255.0) as u8;
    let ink: Vec<u8> = soft.into_iter().map(faded).collect();
    let sum = ink.iter().map(|&ink| u64::from(ink)).sum();
    Print { cell: side * side * 255.0, ink, sum }
}

/// One pass of the blur, along rows (`step` 1) or columns (`step` the width).
fn blurred(cover: &[f64], side: usize, step: usize) -> Vec<f64> {
    let weight = |offset: f64| (-(offset * offset) / (2.0 * BLUR * BLUR)).exp();
    let kernel = [weight(2.0), weight(1.0), 1.0, weight(1.0), weight(2.0)];
    let total: f64 = kernel.iter().sum();
    let place = |at: usize| if step == 1 { at % side } else { at / side };
    (0..cover.len())
        .map(|at| {
            let taps = kernel.iter().enumerate().map(|(tap, weight)| {
                let there = place(at) + tap;
                let inside = (2..side + 2).contains(&there);
                if inside { cover[at + tap * step - 2 * step] * weight } else { 0.0 }
            });
            taps.sum::<f64>() / total
        })
        .collect()
}

/// Which samples of a raster lie in the ink (the nonzero rule): `wide` by `high`, `unit` apart, from `origin`.
pub(crate) fn sampled(
    outline: &BezPath,
    wide: usize,
    high: usize,
    unit: f64,
    origin: (f64, f64),
) -> Vec<bool> {
    let mut edges = Vec::new();
    for segment in outline.segments() {
        let pieces: u32 = if matches!(segment, kurbo::PathSeg::Line(_)) { 1 } else { 16 };
        for piece in 0..pieces {
            let part = |index: u32| segment.eval(f64::from(index) / f64::from(pieces));
            edges.push((part(piece), part(piece + 1)));
        }
    }
    let mut inked = vec![false; wide * high];
    let bounds = outline.bounding_box();
    for row in 0..high {
        let y = origin.1 + (row as f64 + 0.5) * unit;
        if y < bounds.y0 || y > bounds.y1 {
            continue;
        }
        let mut hits: Vec<(f64, i32)> = edges
            .iter()
            .filter(|(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| (a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x), if a.y < b.y { 1 } else { -1 }))
            .collect();
        hits.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut winding = 0;
        for pair in hits.windows(2) {
            winding += pair[0].1;
            if winding != 0 {
                let start = ((pair[0].0 - origin.0) / unit - 0.5).ceil().max(0.0) as usize;
                let end = ((pair[1].0 - origin.0) / unit - 0.5).ceil().clamp(0.0, wide as f64) as usize;
                // Rows count upwards here; a picture counts them downwards.
                let line = (high - 1 - row) * wide;
                inked[line + start.min(end)..line + end].fill(true);
            }
        }
    }
    inked
}
