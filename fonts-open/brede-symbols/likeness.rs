//! Which figures are twins: thick and thin forms of one shape, which a printer that runs low on toner makes one.
//!
//! The distance of `measure.rs` asks in how much ink two figures differ. Where black has become grey that cannot be
//! seen, and what is left is where the ink lies: the correlation of two prints, whatever their strengths. It is the
//! greatest of three, each with one of the two shifted by up to half a pixel:
//!
//! - blurred and faded, as `measure.rs` has it;
//! - as a laser printer lays it down and a scanner sees it: 600 dots an inch, each black or white, four by four of them
//!   a pixel;
//! - the same after ink has run as far as `proof` runs it on a tired printer.
//!
//! Beside it stands what becomes of white parts: a hole that fills makes one figure of two.

use std::collections::VecDeque;

use imageproc::distance_transform::euclidean_squared_distance_transform;
use kurbo::BezPath;
use rayon::prelude::*;

use super::measure::{BLUR, FINE, MARGIN, SIDES, prints, sampled};

/// Dots of the printer along a pixel of the scanner: 600 to 150 an inch.
const DOTS: usize = 4;

/// Samples along a dot.
const IN_A_DOT: usize = 4;

/// How far ink runs on a tired printer, in pixels of 150 to the inch: 0.05 mm, what `proof` calls `home`.
const RUN: f64 = 0.05 / 25.4 * 150.0;

/// How far it runs on a worse one: 0.08 mm, `harsh`.
const RUN_FAR: f64 = 0.08 / 25.4 * 150.0;

/// The white that must be left in the middle of an enclosed part, of 1: nested rings at 3 mm (0.69) are taken for a disc at
/// a glance, a slashed ring (0.74) is not (by eye, no source). Higher would drop barred and slotted bodies.
const WHITE: f64 = 0.73;

/// Enclosed parts smaller than this share of the cell are corners between strokes, not holes.
const SPECK: f64 = 0.005;

/// The ink of every pixel, whole numbers, and some zeros so that it goes in eights; their sum, and the sum of squares about
/// their mean times the pixels, so that all but the last division is exact on every machine.
struct Print {
    ink: Vec<u8>,
    sum: i64,
    spread: f64,
}

impl Print {
    fn new(mut ink: Vec<u8>) -> Self {
        let pixels = ink.len() as i64;
        let sum = ink.iter().map(|&ink| i64::from(ink)).sum();
        ink.resize(ink.len().next_multiple_of(8), 0);
        let spread = (pixels * product(&ink, &ink) - sum * sum) as f64;
        Self { ink, sum, spread }
    }
}

/// A figure at one size under one model: as it is, and shifted.
struct Look {
    pixels: i64,
    still: usize,
    shifted: Vec<Print>,
}

impl Look {
    fn new(prints: Vec<Vec<u8>>) -> Self {
        let pixels = prints.first().map_or(0, Vec::len) as i64;
        // The middle one of nine is not shifted.
        Self { pixels, still: prints.len() / 2, shifted: prints.into_iter().map(Print::new).collect() }
    }

    fn correlation(&self, other: &Self) -> f64 {
        let still = &self.shifted[self.still];
        let with = |shifted: &Print| {
            let common = self.pixels * product(&still.ink, &shifted.ink) - still.sum * shifted.sum;
            common as f64 / (still.spread * shifted.spread).sqrt().max(1.0)
        };
        other.shifted.iter().map(with).fold(0.0, f64::max)
    }
}

/// The sum of products, in eight lanes: plain loops are quick in a debug build too.
fn product(one: &[u8], other: &[u8]) -> i64 {
    let mut lanes = [0u32; 8];
    for (a, b) in one.chunks_exact(8).zip(other.chunks_exact(8)) {
        for lane in 0..8 {
            lanes[lane] += u32::from(a[lane]) * u32::from(b[lane]);
        }
    }
    lanes.iter().map(|&lane| i64::from(lane)).sum()
}

/// How alike all pairs are at each size, below the diagonal, row by row, in 255ths.
pub(super) fn all(outlines: &[&BezPath]) -> Vec<Vec<u8>> {
    let tables = SIDES.into_iter().map(|side| {
        let looks: Vec<[Look; 3]> = outlines.par_iter().map(|outline| looks(outline, side)).collect();
        let rows = (0..looks.len()).into_par_iter().flat_map_iter(|row| {
            let (looks, this) = (&looks, &looks[row]);
            (0..row).map(move |other| {
                let models = looks[other].iter().zip(this);
                let most = models.map(|(a, b)| a.correlation(b)).fold(0.0, f64::max);
                (most * 255.0).round() as u8
            })
        });
        rows.collect()
    });
    tables.collect()
}

fn looks(outline: &BezPath, side: f64) -> [Look; 3] {
    [soft(outline, side), dotted(outline, side, 0.0), dotted(outline, side, RUN)].map(Look::new)
}

/// Blurred and faded, at nine shifts; the pixels of the cell alone.
fn soft(outline: &BezPath, side: f64) -> Vec<Vec<u8>> {
    let pixels = side.ceil() as usize + 2 * MARGIN;
    let inner = MARGIN..pixels - MARGIN;
    let cell = |ink: Vec<u8>| {
        let rows = ink.chunks(pixels).take(inner.end).skip(inner.start);
        rows.flat_map(|row| row[inner.clone()].iter().copied()).collect()
    };
    prints(outline, side, 1).into_iter().map(|print| cell(print.ink)).collect()
}

/// Black dots, scanned at nine shifts.
fn dotted(outline: &BezPath, side: f64, run: f64) -> Vec<Vec<u8>> {
    let pixels = side.ceil() as usize;
    // A pixel more on every side, for ink from there and for the shifts.
    let dots = (pixels + 2) * DOTS;
    let fine = dots * IN_A_DOT;
    let unit = 1000.0 / (side * (DOTS * IN_A_DOT) as f64);
    let aside = (1000.0 - fine as f64 * unit) / 2.0;
    let raster = sampled(outline, fine, fine, unit, (aside, aside));
    let mut cover = vec![0usize; dots * dots];
    for (at, _) in raster.iter().enumerate().filter(|&(_, &inked)| inked) {
        cover[at / fine / IN_A_DOT * dots + at % fine / IN_A_DOT] += 1;
    }
    let black: Vec<bool> = cover.into_iter().map(|samples| 2 * samples >= IN_A_DOT * IN_A_DOT).collect();
    let black = spread(&black, dots, run * DOTS as f64);
    let half = DOTS as isize / 2;
    let shifts = (-1..=1).flat_map(|down| (-1..=1).map(move |right| (down, right)));
    let scanned = |(down, right): (isize, isize)| {
        let from = |at: usize, by: isize| ((at + 1) * DOTS).wrapping_add_signed(by * half);
        let pixel = |at: usize| {
            let (top, left) = (from(at / pixels, down), from(at % pixels, right));
            let dots = (0..DOTS * DOTS).filter(|dot| black[(top + dot / DOTS) * dots + left + dot % DOTS]);
            dots.count() as u8
        };
        (0..pixels * pixels).map(pixel).collect()
    };
    shifts.map(scanned).collect()
}

/// Ink that has run so many samples.
fn spread(inked: &[bool], side: usize, reach: f64) -> Vec<bool> {
    if reach <= 0.0 || !inked.contains(&true) {
        return inked.to_vec();
    }
    let side = side as u32;
    let picture = image::GrayImage::from_fn(side, side, |x, y| {
        image::Luma([if inked[(y * side + x) as usize] { 255 } else { 0 }])
    });
    let squares = euclidean_squared_distance_transform(&picture);
    squares.pixels().map(|square| square.0[0] <= reach * reach + 1e-9).collect()
}

/// At which of the sizes the white parts that a figure encloses stay open when ink runs far.
pub(super) fn stays_open(outline: &BezPath) -> [bool; 3] {
    SIDES.map(|side| {
        let pixels = side.ceil() as usize + 2 * MARGIN;
        let fine = pixels * FINE;
        let unit = 1000.0 / (side * FINE as f64);
        let aside = (1000.0 - fine as f64 * unit) / 2.0;
        let raster = sampled(outline, fine, fine, unit, (aside, aside));
        let least = (SPECK * (side * FINE as f64).powi(2)) as usize;
        let holes: Vec<Vec<usize>> =
            enclosed(&raster, fine).into_iter().filter(|hole| hole.len() >= least).collect();
        if holes.is_empty() {
            return true;
        }
        let seen = Seen::of(&spread(&raster, fine, RUN_FAR * FINE as f64), fine);
        let white = |at: usize| seen.at(at % fine, at / fine).is_some_and(|ink| 1.0 - ink >= WHITE);
        holes.iter().all(|hole| hole.iter().any(|&at| white(at)))
    })
}

/// The white parts from which no way leads to the edge.
fn enclosed(inked: &[bool], side: usize) -> Vec<Vec<usize>> {
    let mut met = inked.to_vec();
    let mut parts = Vec::new();
    for start in 0..met.len() {
        if met[start] {
            continue;
        }
        let (mut part, mut waiting) = (Vec::new(), VecDeque::from([start]));
        met[start] = true;
        while let Some(at) = waiting.pop_front() {
            part.push(at);
            let (x, y) = (at % side, at / side);
            let beside = [
                (x > 0).then(|| at - 1),
                (x + 1 < side).then_some(at + 1),
                (y > 0).then(|| at - side),
                (y + 1 < side).then_some(at + side),
            ];
            for next in beside.into_iter().flatten() {
                if !std::mem::replace(&mut met[next], true) {
                    waiting.push_back(next);
                }
            }
        }
        parts.push(part);
    }
    // The first is met in the corner, outside.
    parts.drain(..1.min(parts.len()));
    parts
}

/// Ink as a scanner sees it: pixels, blurred as in `measure.rs`, about every half pixel.
struct Seen {
    halves: usize,
    /// The ink of the pixel about each corner of half pixels.
    pixels: Vec<f64>,
}

impl Seen {
    const HALF: usize = FINE / 2;

    fn of(inked: &[bool], side: usize) -> Self {
        let halves = side / Self::HALF;
        let mut cover = vec![0.0; halves * halves];
        for (at, _) in inked.iter().enumerate().filter(|&(_, &inked)| inked) {
            cover[at / side / Self::HALF * halves + at % side / Self::HALF] += 1.0 / (FINE * FINE) as f64;
        }
        let about = |at: usize| {
            let (x, y) = (at % halves, at / halves);
            let beside = |x: usize, y: usize| cover[y * halves + x];
            if x == 0 || y == 0 {
                0.0
            } else {
                beside(x - 1, y - 1) + beside(x, y - 1) + beside(x - 1, y) + beside(x, y)
            }
        };
        Self { halves, pixels: (0..halves * halves).map(about).collect() }
    }

    /// The ink about a sample; `None` where it lies between half pixels.
    fn at(&self, x: usize, y: usize) -> Option<f64> {
        if x % Self::HALF != 0 || y % Self::HALF != 0 {
            return None;
        }
        let weight = |step: isize| libm::exp(-((step * step) as f64) / (2.0 * BLUR * BLUR));
        let (mut sum, mut all) = (0.0, 0.0);
        for down in -2..=2isize {
            for right in -2..=2isize {
                let weight = weight(down) * weight(right);
                all += weight;
                let [x, y] = [(x / Self::HALF, right), (y / Self::HALF, down)]
                    .map(|(at, step)| at.checked_add_signed(2 * step).filter(|&at| at < self.halves));
                if let (Some(x), Some(y)) = (x, y) {
                    sum += weight * self.pixels[y * self.halves + x];
                }
            }
        }
        Some(sum / all)
    }
}
