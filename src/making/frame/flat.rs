//! Flat drawings: few colours and hard edges, where a mean of two colours is a third that nobody drew.

use image::RgbaImage;
use rayon::prelude::*;

use super::{OPAQUE, Part};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};
use crate::ground::units::GridSize;

/// A drawing has nearly all its pixels in so many colours.
const COLOURS: usize = 64;

/// The share of opaque pixels in those colours. Smoothed edges have the rest.
const IN_THEM: f64 = 0.95;

/// The share of pixels that equal their right neighbour. A photo, noisy even where it is dark, is far below.
const EQUAL: f64 = 0.85;

/// Rows that are looked at; more make no difference.
const ROWS: usize = 600;

/// Whether a part of a picture is a flat drawing, by its colours and edges.
pub(super) fn is_drawing(picture: &RgbaImage, part: Part) -> bool {
    let (left, top) = (part.left as usize, part.top as usize);
    let (width, height) = (part.width as usize, part.height as usize);
    let step = height.div_ceil(ROWS).max(1);
    let across = picture.width() as usize * 4;
    let rows = || {
        (top..top + height).step_by(step).map(|y| {
            let row = &picture.as_raw()[y * across + left * 4..y * across + (left + width) * 4];
            row.as_chunks::<4>().0
        })
    };
    let (mut pairs, mut equal) = (0_u64, 0_u64);
    for row in rows() {
        pairs += row.len().saturating_sub(1) as u64;
        // What is clear is of one colour.
        let colour =
            |pixel: [u8; 4]| if pixel[3] >= OPAQUE { [pixel[0], pixel[1], pixel[2], 255] } else { [0; 4] };
        let alike = row.iter().zip(row.iter().skip(1)).filter(|&(&one, &next)| colour(one) == colour(next));
        equal += alike.count() as u64;
    }
    if (equal as f64) < EQUAL * pairs as f64 {
        return false;
    }
    let opaque = |pixel: &&[u8; 4]| pixel[3] >= OPAQUE;
    let mut colours: Vec<u32> =
        rows().flatten().filter(opaque).map(|&[r, g, b, _]| u32::from_be_bytes([0, r, g, b])).collect();
    if colours.is_empty() {
        return false;
    }
    let all = colours.len();
    colours.par_sort_unstable();
    let mut counts: Vec<usize> = colours.chunk_by(|one, two| one == two).map(<[u32]>::len).collect();
    counts.sort_unstable_by(|one, two| two.cmp(one));
    counts.iter().take(COLOURS).sum::<usize>() as f64 >= IN_THEM * all as f64
}

/// Each cell the colour that most of it has; bare where that is nothing. Pixels count by their centres; a cell
/// smaller than a pixel is the pixel at its own centre. Of equals the least as a number is taken, so that the
/// choice is always the same.
pub(super) fn by_majority(
    picture: &RgbaImage,
    part: Part,
    size: GridSize,
    progress: &dyn Progress,
) -> Result<Vec<Option<Srgb8>>, Stopped> {
    tell(progress, Stage::Framing, 0, size.rows().into())?;
    let across = picture.width() as usize;
    let pixel = |x: usize, y: usize| {
        let at = (y * across + x) * 4;
        let [r, g, b, alpha] = picture.as_raw()[at..at + 4] else { unreachable!("four channels") };
        (alpha >= OPAQUE).then_some(Srgb8 { r, g, b })
    };
    // Pixels whose centre lies between two borders; the one at the middle where there is none.
    let span = |start: f64, length: f64, index: usize, count: usize, most: u32| {
        let border = |index: f64| start + length * index / count as f64;
        let (from, to) = (border(index as f64), border(index as f64 + 1.0));
        #[allow(clippy::cast_sign_loss, reason = "within the picture")]
        let (first, last) = ((from - 0.5).ceil().max(0.0) as usize, (to - 0.5).ceil().max(0.0) as usize);
        #[allow(clippy::cast_sign_loss, reason = "within the picture")]
        let middle = (border(index as f64 + 0.5).floor() as usize).min(most as usize - 1);
        if first < last.min(most as usize) { first..last.min(most as usize) } else { middle..middle + 1 }
    };
    let cells: Result<_, Stopped> = (0..size.cells())
        .into_par_iter()
        .map(|cell| {
            ask(progress)?;
            let columns = span(part.left, part.width, cell % size.width(), size.width(), picture.width());
            let rows = span(part.top, part.height, cell / size.width(), size.height(), picture.height());
            let mut found: Vec<Option<Srgb8>> =
                rows.flat_map(|y| columns.clone().map(move |x| (x, y))).map(|(x, y)| pixel(x, y)).collect();
            found.sort_unstable();
            let runs = found.chunk_by(|one, two| one == two);
            // `max_by_key` takes the last of equals; reversed, the least colour.
            Ok(runs.rev().max_by_key(|run| run.len()).and_then(|run| run[0]))
        })
        .collect();
    cells
}
