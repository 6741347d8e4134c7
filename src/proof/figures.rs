//! What each needle's symbol looks like, taken from the printed key.
//!
//! `sheet` says about where the key's boxes stand; each is then found in the picture by its frame, so that a
//! page that lies askew or is a little large is read as well.

use image::GrayImage;

use super::picture::value;
use crate::sheet::Area;

/// Points across a cell at which it is compared: as many as a cell of 3 mm has pixels at 150 dots an inch.
pub(super) const ACROSS: usize = 14;

/// All points of a cell, and some zeros so that they go in eights.
pub(super) const POINTS: usize = (ACROSS * ACROSS).next_multiple_of(8);

/// The part of a cell that is compared, from its top left, in sides: symbols keep a tenth free, and half a bold
/// rule whose ink has run is an eighth of a cell of 2 mm.
pub(super) const WINDOW: [f64; 2] = [0.13, 0.87];

/// Ink at each point of a cell: 0 none, 1 full.
pub(super) type Figure = [f32; POINTS];

/// The share of a cell at which a point lies.
pub(super) fn share(place: usize) -> f64 {
    WINDOW[0] + (WINDOW[1] - WINDOW[0]) * (place as f64 + 0.5) / ACROSS as f64
}

/// Paper less value at each point of the cell whose places `at` gives, in levels; each point is the mean of
/// as many values as its own size in pixels asks.
pub(super) fn sampled(page: &GrayImage, paper: f32, side: f64, at: impl Fn(f64, f64) -> [f64; 2]) -> Figure {
    let pitch = (WINDOW[1] - WINDOW[0]) / ACROSS as f64;
    #[allow(clippy::cast_sign_loss, reason = "at least 1")]
    let fine = ((side * pitch / 1.3).ceil().max(1.0) as usize).min(6);
    let offs: Vec<f64> = (0..fine).map(|part| ((part as f64 + 0.5) / fine as f64 - 0.5) * pitch).collect();
    let mut figure = [0.0; POINTS];
    for (place, point) in figure.iter_mut().enumerate().take(ACROSS * ACROSS) {
        let (x, y) = (share(place % ACROSS), share(place / ACROSS));
        let mut sum = 0.0;
        for dy in &offs {
            for dx in &offs {
                let [px, py] = at(x + dx, y + dy);
                sum += value(page, px, py);
            }
        }
        *point = paper - sum / (fine * fine) as f32;
    }
    figure
}

/// The mean ink along the frame of a box less that just inside and outside of it.
fn frame(page: &GrayImage, [x, y]: [f64; 2], side: f64) -> f64 {
    const STEPS: i32 = 12;
    let round = |off: f64| {
        let (from, to) = (off, side - off);
        let mut sum = 0.0;
        for step in 0..STEPS {
            let along = from + (to - from) * (f64::from(step) + 0.5) / f64::from(STEPS);
            for [dx, dy] in [[along, from], [along, to], [from, along], [to, along]] {
                sum += 255.0 - f64::from(value(page, x + dx, y + dy));
            }
        }
        sum / f64::from(STEPS * 4)
    };
    let off = side * 0.055;
    round(0.0) - 0.5 * (round(off) + round(-off))
}

/// A box that was found: its top left in pixels, its side, and how clear its frame is.
#[derive(Debug, Clone, Copy)]
struct Found {
    at: [f64; 2],
    side: f64,
    clear: f64,
}

/// The box nearest to where it should be, not further off than `reach` pixels.
fn find_box(page: &GrayImage, near: [f64; 2], side: f64, reach: f64) -> Found {
    let mut best = Found { at: near, side, clear: f64::MIN };
    let (mut middle, mut reach, mut step) = (near, reach, 1.0);
    for _ in 0..3 {
        let steps = (reach / step).ceil() as i32;
        for down in -steps..=steps {
            for across in -steps..=steps {
                let at = [middle[0] + f64::from(across) * step, middle[1] + f64::from(down) * step];
                let clear = frame(page, at, side);
                if clear > best.clear {
                    best = Found { at, side, clear };
                }
            }
        }
        (middle, reach, step) = (best.at, step, step / 3.0);
    }
    best
}

/// The furthest that a box is looked for, in millimetres: half a degree over a page is 2.6, and half a row of
/// the key is 3.4.
const FIRST_REACH: f64 = 3.2;

/// The furthest from where the box before it leads one to expect, in millimetres.
const NEXT_REACH: f64 = 1.3;

/// A frame fainter than this, in levels of 255, is none.
const FAINTEST: f64 = 12.0;

/// The figures of the boxes on a page of the key, in levels, and how clear the faintest frame is, in levels;
/// `None` where there are no such boxes.
pub(super) fn on_page(
    page: &GrayImage,
    paper: f32,
    areas: &[Area],
    per_mm: f64,
) -> Option<(Vec<Figure>, f64)> {
    let mut found: Vec<Found> = Vec::new();
    let mut off = [0.0, 0.0];
    for area in areas {
        let near = [area.x * per_mm + off[0], area.y * per_mm + off[1]];
        let reach = if found.is_empty() { FIRST_REACH } else { NEXT_REACH };
        let this = find_box(page, near, area.width * per_mm, reach * per_mm);
        if this.clear < FAINTEST {
            return None;
        }
        off = [this.at[0] - area.x * per_mm, this.at[1] - area.y * per_mm];
        found.push(this);
    }
    let skew = lean(&found);
    let figure = |found: &Found| {
        let middle = found.side / 2.0;
        sampled(page, paper, found.side, |x, y| {
            let (dx, dy) = (x * found.side - middle, y * found.side - middle);
            [found.at[0] + middle + dx + skew * dy, found.at[1] + middle + dy - skew * dx]
        })
    };
    let faintest = found.iter().map(|found| found.clear).fold(f64::MAX, f64::min);
    Some((found.iter().map(figure).collect(), faintest))
}

/// How many pixels to the right the boxes of a column lean for each pixel down.
fn lean(found: &[Found]) -> f64 {
    let (mut run, mut rise) = (0.0, 0.0);
    for pair in found.windows(2) {
        let [dx, dy] = [pair[1].at[0] - pair[0].at[0], pair[1].at[1] - pair[0].at[1]];
        if dy > 0.0 && dx.abs() < dy {
            rise += dx;
            run += dy;
        }
    }
    if run > 0.0 { rise / run } else { 0.0 }
}

/// Levels become ink from 0 to 1: the ground under a symbol is its lightest tenth, full ink the darkest point
/// of the whole key.
pub(super) fn levelled(figures: &mut [Figure]) {
    let most = figures.iter().flatten().copied().fold(1.0f32, f32::max);
    for figure in figures {
        let mut points = figure[..ACROSS * ACROSS].to_vec();
        points.sort_by(f32::total_cmp);
        let ground = points[points.len() / 20].min(most - 1.0);
        for point in figure.iter_mut().take(ACROSS * ACROSS) {
            *point = ((*point - ground) / (most - ground)).clamp(0.0, 1.0);
        }
    }
}
