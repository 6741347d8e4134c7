//! Pictures of a chart: one pixel a cell, and the finished piece as it will look on its cloth.
//!
//! Owns how a stitch is drawn. Leaves how much cloth a thread hides to `cloth`, and laying marks over the base
//! to `marks`: charts come here composed, with their lines beside them.
//!
//! Each stitch is drawn once for every thread and kind in a few versions, by light on its legs (`thread`), and
//! set so that the mean of a patch is what [`CoverModel::look`](crate::thread::cloth::CoverModel::look) says
//! (`tiles`). A picture is then those tiles side by side, with lines of backstitch over them (`lines`). A quick look at
//! marks is drawn flat (`sketch`).

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ImageBuffer, PixelWithColorType, RgbImage, Rgba, RgbaImage};
use rayon::prelude::*;

use crate::chart::{Chart, Needle, WorkedLine};
use crate::ground::progress::{Progress, Stage, Stopped, aside, ask, tell};
use crate::ground::units::GridSize;
use tiles::Tiles;

pub mod contact;
mod lines;
mod sketch;
mod subject;
mod thread;
mod tiles;
mod words;

pub use sketch::{show, sketch, sketched_side};
pub use subject::{SUBJECT_SIDE, subject};

/// The longer side that a picture of the finished piece aims for, in pixels: a screen shows it whole.
const LONGEST: u32 = 2400;

/// The fewest and the most pixels a cell has. Under four the legs of a cross cannot be told; over twelve,
/// nothing more is seen.
const SIDES: [u32; 2] = [4, 12];

/// The longer side that a preview aims for, in pixels: fine enough for the cover of a page.
const PREVIEW: u32 = 900;

/// The same where legs of crosses could not be told anyway: grain that small doubles the file for nothing.
const PREVIEW_PLAIN: u32 = 600;

/// The most pixels along a preview's side before it is made smaller.
const PREVIEW_MOST: u32 = 1350;

/// How many rows of cells are drawn between two looks at whether to stop.
const ROWS_AT_ONCE: usize = 64;

/// One pixel a cell in the thread's own colour; bare cells are transparent.
#[must_use]
pub fn cells(chart: &Chart) -> RgbaImage {
    let colours: Vec<Rgba<u8>> = chart
        .needles()
        .iter()
        .map(Needle::colour)
        .map(|colour| Rgba([colour.r, colour.g, colour.b, u8::MAX]))
        .collect();
    let width = chart.size().width();
    RgbaImage::from_fn(chart.size().columns(), chart.size().rows(), |x, y| {
        let cell = chart.cells()[y as usize * width + x as usize];
        cell.needle().map_or(Rgba([0; 4]), |needle| colours[needle])
    })
}

/// How many pixels along its side a cell of the chart has in [`stitched`]: 4 to 12, so that the longer side
/// is at most 2400 where that leaves four.
#[must_use]
pub fn cell_side(chart: &Chart) -> u32 {
    side_of(chart.size())
}

/// The same for a chart of this size.
#[must_use]
pub fn side_of(size: GridSize) -> u32 {
    (LONGEST / size.columns().max(size.rows())).clamp(SIDES[0], SIDES[1])
}

fn longest(chart: &Chart) -> u32 {
    chart.size().columns().max(chart.size().rows())
}

/// The finished piece on its cloth: crosses of twisted thread whose upper leg goes from the upper left to the
/// lower right throughout, as `planning::route` works them, lit from the upper left, with `lines` of backstitch over them. Columns and rows
/// times [`cell_side`] pixels.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn stitched(chart: &Chart, lines: &[WorkedLine], progress: &dyn Progress) -> Result<RgbImage, Stopped> {
    drawn(chart, lines, cell_side(chart), progress)
}

/// The same, small: about 900 pixels along the longer side, or 600 for a chart with too many cells to show
/// each as a cross.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn preview(chart: &Chart, lines: &[WorkedLine], progress: &dyn Progress) -> Result<RgbImage, Stopped> {
    let longest = longest(chart);
    let aim = if PREVIEW / longest < SIDES[0] { PREVIEW_PLAIN } else { PREVIEW };
    let side = ((aim + longest / 2) / longest).clamp(1, SIDES[1]);
    let picture = drawn(chart, lines, side, progress)?;
    if longest * side <= PREVIEW_MOST * aim / PREVIEW {
        return Ok(picture);
    }
    let scaled = |length: u32| (length * aim).div_ceil(longest * side).max(1);
    Ok(image::imageops::thumbnail(&picture, scaled(picture.width()), scaled(picture.height())))
}

fn drawn(
    chart: &Chart,
    lines: &[WorkedLine],
    side: u32,
    progress: &dyn Progress,
) -> Result<RgbImage, Stopped> {
    let size = chart.size();
    let total = size.height() as u64;
    tell(progress, Stage::Stitching, 0, total)?;
    let tiles = Tiles::new(chart, side);
    let mut picture = RgbImage::new(size.columns() * side, size.rows() * side);
    let line_bytes = size.width() * side as usize * 3;
    let row_bytes = line_bytes * side as usize;
    for (band, bytes) in picture.chunks_mut(row_bytes * ROWS_AT_ONCE).enumerate() {
        let first = band * ROWS_AT_ONCE;
        bytes.par_chunks_mut(row_bytes).enumerate().for_each(|(index, bytes)| {
            let row = first + index;
            let needles: Vec<Option<usize>> = chart.row(row).iter().map(|cell| cell.needle()).collect();
            for (line, bytes) in bytes.chunks_mut(line_bytes).enumerate() {
                for (column, pixels) in bytes.chunks_exact_mut(side as usize * 3).enumerate() {
                    pixels.copy_from_slice(tiles.row(needles[column], column, row, line));
                }
            }
        });
        tell(progress, Stage::Stitching, (first + ROWS_AT_ONCE).min(size.height()) as u64, total)?;
    }
    for line in lines {
        ask(progress)?;
        lines::draw(&mut picture, line, side, chart.cloth.count);
    }
    Ok(picture)
}

/// A picture that cannot be encoded.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    /// The encoder gives up.
    #[error(transparent)]
    Encode(#[from] std::io::Error),
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// The picture as PNG (ISO/IEC 15948), packed for speed. The encoder cannot be asked in the middle, and is left behind
/// when the job is to stop.
///
/// # Errors
/// When it cannot be encoded, or `progress` wants to stop.
pub fn png<P>(picture: ImageBuffer<P, Vec<u8>>, progress: &dyn Progress) -> Result<Vec<u8>, PngError>
where
    P: PixelWithColorType<Subpixel = u8> + Send + 'static,
{
    packed(picture, 2, FilterType::Up, progress)
}

/// The same of a picture of the finished piece, which repeats its stitches pixel for pixel.
///
/// # Errors
/// When it cannot be encoded, or `progress` wants to stop.
pub fn png_of_stitches(picture: RgbImage, progress: &dyn Progress) -> Result<Vec<u8>, PngError> {
    // Measured: half the time of the other way, at a tenth more bytes.
    packed(picture, 1, FilterType::NoFilter, progress)
}

fn packed<P>(
    picture: ImageBuffer<P, Vec<u8>>,
    level: u8,
    filter: FilterType,
    progress: &dyn Progress,
) -> Result<Vec<u8>, PngError>
where
    P: PixelWithColorType<Subpixel = u8> + Send + 'static,
{
    let fell = || std::io::Error::other("no thread to encode the picture in");
    let encoded = aside(progress, move || {
        let mut bytes = Vec::new();
        let encoder = PngEncoder::new_with_quality(&mut bytes, CompressionType::Level(level), filter);
        picture.write_with_encoder(encoder).map_err(std::io::Error::other)?;
        Ok(bytes)
    })?;
    Ok(encoded.unwrap_or_else(|| Err(fell()))?)
}

#[cfg(test)]
mod tests;
