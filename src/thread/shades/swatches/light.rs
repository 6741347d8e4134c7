//! How evenly a photo is lit, by the paper on it.

use image::RgbaImage;

use super::{Layout, Part, lights};

/// The paper is looked at in so many pieces each way at the most.
const PIECES: u32 = 12;

/// A slope counts that is so many times its own standard error.
const SURE: f64 = 3.0;

/// How much less light falls on the darkest corner of paper and grid than on the lightest, 0 to 1; 0 where the paper
/// does not tell.
///
/// Light is taken to fall off by the same share from each step to the next. Its slopes across and down are those of
/// the logarithms of the paper's light by least squares, carried on over the grid. Light that is uneven where no
/// paper lies, a spot in the middle say, is not seen.
pub(super) fn fall_off(photo: &RgbaImage, layout: &Layout) -> f64 {
    let Layout { paper, grid, .. } = *layout;
    let [columns, rows] = [paper.width, paper.height].map(|side| (side / 2).clamp(1, PIECES));
    let mut seen = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let [(left, right), (top, bottom)] =
                [(paper.x, paper.width, columns, column), (paper.y, paper.height, rows, row)].map(
                    |(from, length, count, at)| {
                        (from + length * at / count, from + length * (at + 1) / count)
                    },
                );
            let piece = Part { x: left, y: top, width: right - left, height: bottom - top };
            seen.push((
                [f64::from(left + right) / 2.0, f64::from(top + bottom) / 2.0],
                light(photo, piece).ln(),
            ));
        }
    }
    // The pieces fill a rectangle, so both slopes can be found apart.
    let count = seen.len() as f64;
    let centre = [0, 1].map(|axis| seen.iter().map(|(at, _)| at[axis]).sum::<f64>() / count);
    let level = seen.iter().map(|(_, light)| light).sum::<f64>() / count;
    let squares =
        [0, 1].map(|axis| seen.iter().map(|(at, _)| (at[axis] - centre[axis]).powi(2)).sum::<f64>());
    let slopes = [0, 1].map(|axis| {
        let sum: f64 = seen.iter().map(|(at, light)| (at[axis] - centre[axis]) * (light - level)).sum();
        if squares[axis] > 0.0 { sum / squares[axis] } else { 0.0 }
    });
    let left_over: f64 = seen
        .iter()
        .map(|(at, light)| {
            let fitted: f64 = [0, 1].iter().map(|&axis| slopes[axis] * (at[axis] - centre[axis])).sum();
            (light - level - fitted).powi(2)
        })
        .sum();
    let variance = left_over / (count - 3.0).max(1.0);
    let span = |paper_from: u32, paper_length: u32, grid_from: u32, grid_length: u32| {
        let end = (paper_from + paper_length).max(grid_from + grid_length);
        f64::from(end - paper_from.min(grid_from))
    };
    let spans =
        [span(paper.x, paper.width, grid.x, grid.width), span(paper.y, paper.height, grid.y, grid.height)];
    let fall: f64 = [0, 1]
        .into_iter()
        .filter(|&axis| slopes[axis].abs() > SURE * (variance / squares[axis].max(f64::MIN_POSITIVE)).sqrt())
        .map(|axis| slopes[axis].abs() * spans[axis])
        .sum();
    1.0 - (-fall).exp()
}

/// The mean light of a part, all channels together; never nothing.
fn light(photo: &RgbaImage, part: Part) -> f64 {
    let lights = lights(photo, part);
    let sum: f64 = lights.iter().flatten().sum();
    (sum / lights.len().max(1) as f64).max(1e-6)
}
