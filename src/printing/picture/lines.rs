//! Lines of backstitch over the crosses.

use image::{Rgb, RgbImage};

use crate::chart::{Needle, WorkedLine};
use crate::ground::colour::{LinearRgb, Srgb8};
use crate::ground::units::FabricCount;
use crate::printing::near::along_row;
use crate::thread::cloth::{CoverModel, StitchKind};

/// How wide a backstitch lies as a share of what as many strands of a cross do: pulled straight and tight, it
/// spreads less (common practice, no source).
const TIGHT: f64 = 0.6;

/// The least width in pixels: a thinner line would be lost among the crosses.
const LEAST: f64 = 0.9;

/// Where the shade of a line falls, in cells to the right and down, and how dark it is.
const SHADE_AT: [f64; 2] = [0.05, 0.07];
const SHADE: f64 = 0.38;

/// Draws a line over a picture of `side` pixels a cell.
pub(super) fn draw(picture: &mut RgbImage, line: &WorkedLine, side: u32, count: FabricCount) {
    let needle =
        Needle { symbol: String::new(), threads: line.threads.clone(), stitch: StitchKind::FullCross };
    let side = f64::from(side);
    let width = CoverModel::default().width_mm(needle.strands()) / count.cell().mm() * TIGHT;
    let half = (width * side).max(LEAST) / 2.0;
    let colour = needle.colour().linear();
    let mut points = line.drawn(0.0);
    if line.closed {
        points.extend(points.first().copied());
    }
    for pair in points.windows(2) {
        let [from, to] = [pair[0], pair[1]].map(|point| point.map(|at| at * side));
        let shift = |point: [f64; 2]| [point[0] + SHADE_AT[0] * side, point[1] + SHADE_AT[1] * side];
        paint(picture, [shift(from), shift(to)], half, |_, _, under, cover| {
            under.mix(LinearRgb { channels: [0.0; 3] }, 1.0 - SHADE * cover)
        });
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let long = libm::hypot(dx, dy).max(1e-9);
        // How much the left edge looks to the light at the upper left.
        let tilt = (dy - dx) / long * std::f64::consts::FRAC_1_SQRT_2;
        paint(picture, [from, to], half, |along, across, under, cover| {
            // Mean 1 across a line: lit on one side, dark at the edges and where it enters the cloth.
            let hole = 0.72 + 0.34 * (along.min(1.0 - along) / 0.2).clamp(0.0, 1.0);
            let light = (1.1 - 0.32 * across * tilt - 0.3 * across * across) * hole;
            let lit = LinearRgb { channels: colour.channels.map(|part| (part * light).min(1.0)) };
            lit.mix(under, cover)
        });
    }
}

/// Changes the pixels of a straight piece. `change` has how far along (0 to 1) and how far across (-1 to 1) a
/// pixel is, its light and how much of it is covered.
fn paint(
    picture: &mut RgbImage,
    [from, to]: [[f64; 2]; 2],
    half: f64,
    change: impl Fn(f64, f64, LinearRgb, f64) -> LinearRgb,
) {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let square = (dx * dx + dy * dy).max(1e-9);
    let long = square.sqrt();
    let room = half + 1.0;
    let pixels = |low: f64, high: f64, end: u32| {
        #[allow(clippy::cast_sign_loss, reason = "clamped to the picture")]
        let [first, last] = [low.floor(), high.ceil()].map(|at| at.clamp(0.0, f64::from(end)) as u32);
        first..last
    };
    for y in pixels(from[1].min(to[1]) - room, from[1].max(to[1]) + room, picture.height()) {
        let [left, right] = along_row([from, to], room, f64::from(y) + 0.5);
        for x in pixels(left, right, picture.width()) {
            let (px, py) = (f64::from(x) + 0.5 - from[0], f64::from(y) + 0.5 - from[1]);
            let along = ((px * dx + py * dy) / square).clamp(0.0, 1.0);
            let away = libm::hypot(px - dx * along, py - dy * along);
            let cover = (half + 0.5 - away).clamp(0.0, 1.0).min(2.0 * half);
            if cover <= 0.0 {
                continue;
            }
            let across = ((dx * py - dy * px) / long / half).clamp(-1.0, 1.0);
            let pixel = picture.get_pixel_mut(x, y);
            let [r, g, b] = pixel.0;
            let colour = change(along, across, Srgb8 { r, g, b }.linear(), cover).srgb8();
            *pixel = Rgb([colour.r, colour.g, colour.b]);
        }
    }
}
