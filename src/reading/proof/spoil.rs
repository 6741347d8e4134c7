//! A clean page becomes the page that a tired printer gives.
//!
//! In the order in which it happens: ink spreads, the print head leaves bands, the ink is thin, the paper lies
//! askew, the eye (or the scanner) is a little out of focus, and everything is grainy. The figures are set by
//! eye against prints and scans, no source; what moves if they do is only how hard the proof is.

use image::{GrayImage, Luma};
use imageproc::filter::gaussian_blur_f32;
use imageproc::geometric_transformations::{Border, Interpolation, rotate_about_center};
use rand::{RngCore as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde::{Deserialize, Serialize};

/// How the printed page is spoiled before it is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Spoil {
    /// As it was written.
    #[default]
    None,
    /// A home printer low on ink.
    Home,
    /// A worse one, and the paper fed half a degree askew.
    Harsh,
}

/// How much of each fault.
struct Faults {
    /// How far ink spreads, in millimetres.
    spread: f64,
    /// The standard deviation of the blur, in millimetres.
    blur: f64,
    /// The share of the ink that is left.
    ink: f64,
    /// How much lighter than the rest a band prints, as a share.
    bands: f64,
    /// The standard deviation of the grain, in levels of 255.
    grain: f64,
    /// How far askew the paper lies, in degrees.
    skew: f64,
}

impl Faults {
    fn of(spoil: Spoil) -> Option<Self> {
        match spoil {
            Spoil::None => None,
            Spoil::Home => {
                Some(Self { spread: 0.05, blur: 0.09, ink: 0.6, bands: 0.15, grain: 8.0, skew: 0.0 })
            }
            Spoil::Harsh => {
                Some(Self { spread: 0.08, blur: 0.13, ink: 0.5, bands: 0.25, grain: 14.0, skew: 0.5 })
            }
        }
    }
}

/// The distance between passes of the print head, in millimetres: a head of about a third of an inch.
const BAND_MM: f64 = 8.5;

/// The page spoiled, the same for the same `seed`. `dpi` gives the size of a pixel.
#[must_use]
pub fn spoil(page: GrayImage, spoil: Spoil, dpi: f64, seed: u64) -> GrayImage {
    let Some(faults) = Faults::of(spoil) else { return page };
    let per_mm = dpi / 25.4;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut page = spread(&page, faults.spread * per_mm);
    fade(&mut page, &faults, per_mm, &mut random);
    if faults.skew > 0.0 {
        let side = if random.next_u32().is_multiple_of(2) { 1.0 } else { -1.0 };
        let turn = (side * faults.skew).to_radians() as f32;
        page = rotate_about_center(&page, turn, Interpolation::Bilinear, Border::Constant(Luma([255])));
    }
    let mut page = gaussian_blur_f32(&page, (faults.blur * per_mm) as f32);
    for value in page.iter_mut() {
        *value = level(f64::from(*value) + faults.grain * normal(&mut random));
    }
    page
}

/// The nearest level.
fn level(value: f64) -> u8 {
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
    let level = (value + 0.5).clamp(0.0, 255.0) as u8;
    level
}

/// Nearly a standard normal deviate: the sum of the four bytes of a number, centred (Irwin and Hall's sum).
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let sum: u32 = random.next_u32().to_le_bytes().into_iter().map(u32::from).sum();
    // Four bytes have a mean of 510 and a standard deviation of the root of 4 (256² - 1) / 12.
    (f64::from(sum) - 510.0) / 147.8
}

/// Ink that runs so many pixels into its surroundings: whole pixels take the darkest neighbour, a part of a
/// pixel takes that part of it.
fn spread(page: &GrayImage, pixels: f64) -> GrayImage {
    let mut page = page.clone();
    let mut left = pixels;
    while left > 1e-9 {
        let share = left.min(1.0);
        page = darkest(&darkest(&page, [1, 0], share), [0, 1], share);
        left -= 1.0;
    }
    page
}

fn darkest(page: &GrayImage, [dx, dy]: [usize; 2], share: f64) -> GrayImage {
    // What a point loses that is lighter than its neighbours by so much.
    let mut loses = [0u8; 256];
    for (by, loses) in (0u8..=255).zip(&mut loses) {
        *loses = 255 - level(255.0 - f64::from(by) * share);
    }
    let (width, height) = (page.width() as usize, page.height() as usize);
    let row = |y: usize| &page.as_raw()[y * width..(y + 1) * width];
    let mut darker = page.clone();
    for (y, to) in darker.chunks_exact_mut(width).enumerate() {
        let (above, here, below) = (row(y.saturating_sub(dy)), row(y), row((y + dy).min(height - 1)));
        for (x, to) in to.iter_mut().enumerate() {
            let before = above[x.saturating_sub(dx)];
            let after = below[(x + dx).min(width - 1)];
            let low = here[x].min(before).min(after);
            *to = here[x] - loses[usize::from(here[x] - low)];
        }
    }
    darker
}

/// Thin ink, thinner still in some passes of the head and along the seam between two.
fn fade(page: &mut GrayImage, faults: &Faults, per_mm: f64, random: &mut ChaCha8Rng) {
    let seam = 0.25;
    let mut passes: Vec<f64> = Vec::new();
    for (y, row) in page.rows_mut().enumerate() {
        let mm = y as f64 / per_mm;
        #[allow(clippy::cast_sign_loss, reason = "a place on the page is not negative")]
        let pass = (mm / BAND_MM) as usize;
        while passes.len() <= pass {
            passes.push(f64::from(random.next_u32()) / f64::from(u32::MAX));
        }
        let mut lost = faults.bands * passes[pass];
        if mm % BAND_MM < seam {
            lost = faults.bands;
        }
        let ink = faults.ink * (1.0 - lost);
        let mut faded = [0u8; 256];
        for (value, faded) in (0u8..=255).zip(&mut faded) {
            *faded = level(255.0 - f64::from(255 - value) * ink);
        }
        row.for_each(|pixel| pixel.0[0] = faded[usize::from(pixel.0[0])]);
    }
}
