//! How alike two figures look in print: drawn small, blurred, faded and laid on each other.
//!
//! The distance of two figures is, for one size of cell, the geometric mean of two shares,
//!
//! ```text
//! d(a, b) = least over s of  sqrt( D / (sum a + sum b(s))  *  D / cell ),   D = sum |a - b(s)|
//! ```
//!
//! where `a` and `b` are the ink of every pixel, `cell` is the ink of a full cell and `s` runs over shifts of up to
//! one pixel each way by half pixels and, with shifts of up to half a pixel, over `b` a little smaller and larger:
//! 0 for equal figures, 1 for two that fill the cell without sharing ink. Which figures the set has goes by the least over the
//! three sizes. The share of their own ink (the first) alone would find any two heavy
//! figures alike, the share of the cell (the second) any two light ones. The measure is our own.

use kurbo::{BezPath, ParamCurve, Shape};
use rayon::prelude::*;

use super::pen::{MIDDLE, scaled};

/// Sides of the cell in pixels: 2.0, 2.5 and 3.0 mm at 150 dots an inch, a middling scan or a tablet's screen.
pub(super) const SIDES: [f64; 3] = [2.0 / 25.4 * 150.0, 2.5 / 25.4 * 150.0, 3.0 / 25.4 * 150.0];

/// The blur in pixels (standard deviation of a Gaussian): ink that spreads, a scan or an eye a little off.
pub(super) const BLUR: f64 = 0.6;

/// The ink that a worn printer loses: coverage below this share stays paper.
const FADE: f64 = 0.1;

/// Samples along a pixel's side.
pub(super) const FINE: usize = 8;

/// Pixels of paper round the cell. Ink keeps a tenth of the cell away from its sides; a shift and the blur take
/// up what these add.
pub(super) const MARGIN: usize = 2;

/// How much smaller and larger a figure is tried: size alone must not tell two figures apart.
const GROWN: [f64; 2] = [0.92, 1.0 / 0.92];

/// A figure as print: one byte of ink a pixel, and some zeros so that it goes in eights.
pub(super) struct Print {
    pub(super) ink: Vec<u8>,
    sum: u32,
}

/// A figure at one size of cell.
struct Look {
    /// The ink of a full cell.
    cell: f64,
    still: Print,
    /// Shifted, smaller and larger.
    moved: Vec<Print>,
}

/// A figure in every size.
struct Looks(Vec<Look>);

impl Looks {
    fn of(outline: &BezPath) -> Self {
        let look = |side: f64| {
            let mut moved = prints(outline, side, 2);
            for factor in GROWN {
                moved.extend(prints(&scaled(outline, MIDDLE, factor), side, 1));
            }
            let still = prints(outline, side, 0).remove(0);
            Look { cell: side * side * 255.0, still, moved }
        };
        Self(SIDES.into_iter().map(look).collect())
    }

    /// The distance of two figures at each size, 0 to 1.
    fn distance(&self, other: &Self) -> [f64; 3] {
        std::array::from_fn(|size| {
            let (a, b) = (&self.0[size], &other.0[size]);
            let mut least: f64 = 1.0;
            for moved in &b.moved {
                let scale = (f64::from((a.still.sum + moved.sum).max(1)) * a.cell).sqrt();
                // The difference is no less than that of the sums: most need no closer look.
                if f64::from(a.still.sum.abs_diff(moved.sum)) < least * scale {
                    least = least.min(f64::from(unlike(&a.still.ink, &moved.ink)) / scale);
                }
            }
            least
        })
    }
}

/// The sum of differences, in eight lanes: plain loops are quick in a debug build too.
fn unlike(a: &[u8], b: &[u8]) -> u32 {
    let mut lanes = [0u32; 8];
    for (a, b) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for lane in 0..8 {
            lanes[lane] += u32::from(a[lane].abs_diff(b[lane]));
        }
    }
    lanes.iter().sum()
}

/// The distances of all figures from all at each size, row by row, in 255ths; a figure is 0 from itself.
pub(super) fn distances(outlines: &[BezPath]) -> Vec<Vec<[u8; 3]>> {
    let looks: Vec<Looks> = outlines.par_iter().map(Looks::of).collect();
    let bytes = |a: &Looks, b: &Looks| a.distance(b).map(|distance| (distance * 255.0).round() as u8);
    let upper: Vec<Vec<[u8; 3]>> = looks
        .par_iter()
        .enumerate()
        .map(|(index, a)| looks[index + 1..].iter().map(|b| bytes(a, b)).collect())
        .collect();
    let mut all = vec![vec![[0; 3]; outlines.len()]; outlines.len()];
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

/// The figure at so many pixels a cell, blurred and faded, at all shifts of up to so many half pixels each way.
pub(super) fn prints(outline: &BezPath, side: f64, reach: usize) -> Vec<Print> {
    let pixels = side.ceil() as usize + 2 * MARGIN;
    // Half pixels on every side for the shifts.
    let halves = pixels * 2 + 2 * reach;
    let half = FINE / 2;
    let fine = halves * half;
    let unit = 1000.0 / (side * FINE as f64);
    let aside = (1000.0 - fine as f64 * unit) / 2.0;
    let raster = sampled(outline, fine, fine, unit, (aside, aside));
    let mut cover = vec![0u32; halves * halves];
    for (at, _) in raster.iter().enumerate().filter(|&(_, &inked)| inked) {
        cover[at / fine / half * halves + at % fine / half] += 1;
    }
    let shifts = (0..=2 * reach).flat_map(|down| (0..=2 * reach).map(move |right| (down, right)));
    shifts.map(|(down, right)| print(&cover, halves, pixels, (down, right))).collect()
}

/// Whole pixels from half ones, from so many half pixels down and right.
fn print(cover: &[u32], halves: usize, pixels: usize, (down, right): (usize, usize)) -> Print {
    let samples = (0..pixels * pixels).map(|at| {
        let from = (at / pixels * 2 + down) * halves + at % pixels * 2 + right;
        cover[from] + cover[from + 1] + cover[from + halves] + cover[from + halves + 1]
    });
    let sharp: Vec<f64> = samples.map(|samples| f64::from(samples) / (FINE * FINE) as f64).collect();
    let soft = blurred(&blurred(&sharp, pixels, 1), pixels, pixels);
    let faded = |ink: f64| (((ink - FADE).max(0.0) / (1.0 - FADE)) * 255.0).round().min(255.0) as u8;
    let mut ink: Vec<u8> = soft.into_iter().map(faded).collect();
    ink.resize(ink.len().next_multiple_of(8), 0);
    let sum = ink.iter().map(|&ink| u32::from(ink)).sum();
    Print { ink, sum }
}

/// One pass of the blur, along rows (`step` 1) or columns (`step` the width).
fn blurred(cover: &[f64], side: usize, step: usize) -> Vec<f64> {
    // The same to the last digit on every machine.
    let weight = |offset: f64| libm::exp(-(offset * offset) / (2.0 * BLUR * BLUR));
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
