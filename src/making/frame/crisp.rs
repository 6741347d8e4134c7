//! Fewer values than pixels, with a leaning to what stands out.
//!
//! A mean drowns an eye or a thin line in what lies about it. Here each pixel that a cell covers counts the more,
//! the more it differs from the mean of the cell and its neighbours, so that small things of strong contrast stay
//! (after Weber, Waechter, Amend, Guthe & Goesele 2016, "Rapid, detail-preserving image downscaling", ACM Trans.
//! Graph. 35(6): 205). Colours are mixed in linear light; difference is taken in sRGB, which is nearer to the eye.

use image::RgbaImage;
use rayon::prelude::*;

use super::Part;
use crate::ground::colour::LinearRgb;
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};
use crate::ground::units::GridSize;

/// What a pixel counts that does not differ at all, so that a cell of one colour has one.
const LEAST: f32 = 1e-3;

/// Linear red, green, blue and opacity for each cell, row by row; `means` are the same by plain averaging.
pub(super) fn resample(
    picture: &RgbaImage,
    part: Part,
    size: GridSize,
    means: &[[f32; 4]],
    progress: &dyn Progress,
) -> Result<Vec<[f32; 4]>, Stopped> {
    let about = about(means, size, progress)?;
    let across = spans(part.left, part.width, size.width(), picture.width());
    let down = spans(part.top, part.height, size.height(), picture.height());
    let mut cells = vec![[0.0; 4]; size.cells()];
    let rows =
        cells.chunks_mut(size.width() * BAND).zip(down.chunks(BAND)).zip(about.chunks(size.width() * BAND));
    for (band, ((cells, down), about)) in rows.enumerate() {
        tell(progress, Stage::Framing, (band * BAND) as u64, u64::from(size.rows()))?;
        let rows = cells.par_chunks_mut(size.width()).zip(down).zip(about.par_chunks(size.width()));
        rows.try_for_each(|((cells, down), about)| {
            ask(progress)?;
            for ((cell, across), about) in cells.iter_mut().zip(&across).zip(about) {
                *cell = leaning(picture, across, down, *about);
            }
            Ok(())
        })?;
    }
    Ok(cells)
}

/// Rows between two looks at whether to stop.
const BAND: usize = 64;

/// The pixels along one side that a cell covers: the first, and how much of each.
struct Span {
    first: u32,
    shares: Vec<f32>,
}

fn spans(start: f64, length: f64, cells: usize, pixels: u32) -> Vec<Span> {
    let step = length / cells as f64;
    let span = |cell: usize| {
        let (from, to) = (start + cell as f64 * step, start + (cell + 1) as f64 * step);
        #[allow(clippy::cast_sign_loss, reason = "a part lies within its picture")]
        let first = (from.max(0.0).floor() as u32).min(pixels - 1);
        #[allow(clippy::cast_sign_loss, reason = "a part lies within its picture")]
        let last = (to.ceil().max(0.0) as u32).clamp(first + 1, pixels);
        let share = |pixel: u32| {
            let (left, right) = (f64::from(pixel).max(from), f64::from(pixel + 1).min(to));
            (right - left).max(0.0) as f32
        };
        Span { first, shares: (first..last).map(share).collect() }
    };
    (0..cells).map(span).collect()
}

/// For each cell the sRGB of the mean of itself and its eight neighbours, the nearer counting more (1 2 1 both ways).
fn about(means: &[[f32; 4]], size: GridSize, progress: &dyn Progress) -> Result<Vec<[f32; 3]>, Stopped> {
    let (width, height) = (size.width(), size.height());
    let at = |cell: usize| {
        let (x, y) = (cell % width, cell / width);
        let (mut sum, mut weight) = ([0.0_f32; 3], 0.0_f32);
        for v in y.saturating_sub(1)..(y + 2).min(height) {
            for u in x.saturating_sub(1)..(x + 2).min(width) {
                let [r, g, b, alpha] = means[v * width + u];
                let share = alpha * (2 - u.abs_diff(x)) as f32 * (2 - v.abs_diff(y)) as f32;
                for (axis, value) in sum.iter_mut().zip([r, g, b]) {
                    *axis += share * value;
                }
                weight += share;
            }
        }
        if weight > 0.0 { encoded(sum.map(|axis| axis / weight)) } else { [0.0; 3] }
    };
    (0..size.cells()).into_par_iter().map(|cell| ask(progress).map(|()| at(cell))).collect()
}

/// sRGB, 0 to 1, of linear light.
fn encoded(light: [f32; 3]) -> [f32; 3] {
    let colour = LinearRgb { channels: light.map(f64::from) }.srgb8();
    [colour.r, colour.g, colour.b].map(|value| f32::from(value) / 255.0)
}

fn leaning(picture: &RgbaImage, across: &Span, down: &Span, about: [f32; 3]) -> [f32; 4] {
    let (mut light, mut weight, mut opaque, mut area) = ([0.0_f32; 3], 0.0_f32, 0.0_f32, 0.0_f32);
    for (y, &tall) in (down.first..).zip(&down.shares) {
        for (x, &wide) in (across.first..).zip(&across.shares) {
            let [r, g, b, alpha] = picture.get_pixel(x, y).0;
            let share = tall * wide;
            let alpha = f32::from(alpha) / 255.0 * share;
            let from = |value: u8, mean: f32| (f32::from(value) / 255.0 - mean).powi(2);
            let difference = from(r, about[0]) + from(g, about[1]) + from(b, about[2]);
            // The root of the distance: the exponent of 0.5 of the paper.
            let lean = difference.sqrt().sqrt() + LEAST;
            for (axis, value) in light.iter_mut().zip([r, g, b]) {
                *axis += alpha * lean * super::resample::light(value);
            }
            weight += alpha * lean;
            opaque += alpha;
            area += share;
        }
    }
    if weight == 0.0 {
        return [0.0; 4];
    }
    let [r, g, b] = light.map(|axis| axis / weight);
    [r, g, b, opaque / area]
}
