//! A contact sheet: one chart on several cloths, all to one scale, each with its caption.
//!
//! Owns the small pictures. Leaves the large picture of the finished piece to `picture`.

use image::{Rgb, RgbImage};

use super::words::{BODY, TITLE, words};
use crate::chart::{Cell, Chart};
use crate::ground::colour::{LinearRgb, Srgb8};
use crate::ground::units::counted;
use crate::planning::fit::CountFit;
use crate::printing::typeface::Weight;
use crate::thread::cloth::CoverModel;

/// The widest and tallest piece, in pixels: four of them fill a screen.
const LARGEST: f64 = 420.0;

/// Room round the pieces, in pixels.
const GAP: u32 = 28;

/// Pieces in a row.
const ACROSS: usize = 4;

const TABLE: Srgb8 = Srgb8 { r: 0xff, g: 0xff, b: 0xff };
const INK: Srgb8 = Srgb8 { r: 0x20, g: 0x20, b: 0x20 };
const EDGE: Srgb8 = Srgb8 { r: 0x90, g: 0x90, b: 0x90 };

/// What stands under a piece.
fn caption(fit: &CountFit) -> [String; 2] {
    let strands = fit
        .strands
        .map_or_else(String::new, |strands| format!(", {}", counted(u64::from(strands), "strand")));
    [
        format!("{} count{strands}", fit.design.count),
        format!("{:.1} x {:.1} cm", fit.design.finished.width.cm(), fit.design.finished.height.cm()),
    ]
}

/// The chart on each count, cut from cloth of `colour` with its allowance, all to one scale.
#[must_use]
pub fn contact_sheet(chart: &Chart, fits: &[CountFit], colour: Srgb8, cover: &CoverModel) -> RgbImage {
    let longest =
        fits.iter().map(|fit| fit.design.cut.width.mm().max(fit.design.cut.height.mm())).fold(1.0, f64::max);
    let scale = LARGEST / longest;
    let pieces: Vec<RgbImage> = fits.iter().map(|fit| piece(chart, fit, colour, cover, scale)).collect();
    let captions: Vec<[String; 2]> = fits.iter().map(caption).collect();
    side_by_side("The design on other counts, all to one scale", &pieces, &captions)
}

/// Pictures in rows of four on one sheet under its title, each over its two lines of caption; a column is as wide as the
/// widest in it.
#[must_use]
pub fn side_by_side(title: &str, pieces: &[RgbImage], captions: &[[String; 2]]) -> RgbImage {
    let title = words(title, Weight::Bold, TITLE, INK);
    let captions: Vec<[RgbImage; 2]> = captions
        .iter()
        .map(|[first, second]| {
            [words(first, Weight::Bold, BODY, INK), words(second, Weight::Regular, BODY, INK)]
        })
        .collect();
    let columns = pieces.len().clamp(1, ACROSS);
    let line = captions.iter().flatten().map(RgbImage::height).max().unwrap_or(1);
    let wide = |index: usize| {
        let of_words = captions.get(index).into_iter().flatten().map(RgbImage::width);
        of_words.chain(pieces.get(index).map(RgbImage::width)).max().unwrap_or(1)
    };
    let lefts: Vec<u32> = (0..columns)
        .scan(GAP, |left, column| {
            let here = *left;
            *left += (column..pieces.len()).step_by(columns).map(wide).max().unwrap_or(1) + GAP;
            Some(here)
        })
        .collect();
    let last = (columns - 1..pieces.len()).step_by(columns).map(wide).max().unwrap_or(1);
    let width = (lefts.last().copied().unwrap_or(GAP) + last).max(GAP + title.width()) + GAP;
    let heights: Vec<u32> = pieces
        .chunks(columns)
        .map(|row| row.iter().map(RgbImage::height).max().unwrap_or(1) + 2 * line + 6 + GAP)
        .collect();
    let head = GAP + title.height() + GAP / 2;
    let mut sheet = RgbImage::from_pixel(width, heights.iter().sum::<u32>() + head, pixel(TABLE));
    lay(&mut sheet, &title, GAP, GAP);
    for (index, (piece, captions)) in pieces.iter().zip(&captions).enumerate() {
        let (x, row) = (lefts[index % columns], index / columns);
        let top = head + heights[..row].iter().sum::<u32>();
        let base = top + heights[row] - GAP - 6 - 2 * line;
        // All stand on one line, so that their sizes can be compared.
        lay(&mut sheet, piece, x, base - piece.height());
        for (at, caption) in (0..).zip(captions) {
            lay(&mut sheet, caption, x, base + 6 + at * line);
        }
    }
    sheet
}

fn pixel(colour: Srgb8) -> Rgb<u8> {
    Rgb([colour.r, colour.g, colour.b])
}

fn lay(sheet: &mut RgbImage, picture: &RgbImage, x: u32, y: u32) {
    image::imageops::replace(sheet, picture, i64::from(x), i64::from(y));
}

/// One piece of cloth with the design in its middle: each pixel the mean light of what lies under it.
fn piece(chart: &Chart, fit: &CountFit, colour: Srgb8, cover: &CoverModel, scale: f64) -> RgbImage {
    let cloth = crate::thread::cloth::Cloth { count: fit.design.count, colour };
    let ground = colour.linear();
    let looks: Vec<LinearRgb> = chart
        .needles()
        .iter()
        .map(|needle| {
            let strands = fit.worked(needle).strands();
            cover.look(&cloth, needle.colour().linear(), strands, needle.stitch).linear()
        })
        .collect();
    #[allow(clippy::cast_sign_loss, reason = "lengths are not negative")]
    let side = |length: f64| ((length * scale).round() as u32).max(1);
    let (width, height) = (side(fit.design.cut.width.mm()), side(fit.design.cut.height.mm()));
    let margin = (fit.design.cut.width.mm() - fit.design.finished.width.mm()) / 2.0;
    let cell = fit.design.cell.mm();
    // From a pixel's edge to cells from the design's corner.
    let at = |pixel: u32| (f64::from(pixel) / scale - margin) / cell;
    RgbImage::from_fn(width, height, |x, y| {
        if x == 0 || y == 0 || x + 1 == width || y + 1 == height {
            return pixel(EDGE);
        }
        let mut sum = [0.0; 3];
        let mut weight = 0.0;
        for (row, tall) in spans(at(y), at(y + 1)) {
            for (column, wide) in spans(at(x), at(x + 1)) {
                let needle = cell_at(chart, column, row).and_then(Cell::needle);
                let light = needle.map_or(ground, |needle| looks[needle]);
                for (sum, channel) in sum.iter_mut().zip(light.channels) {
                    *sum += channel * wide * tall;
                }
                weight += wide * tall;
            }
        }
        pixel(LinearRgb { channels: sum.map(|channel| channel / weight) }.srgb8())
    })
}

fn cell_at(chart: &Chart, column: i64, row: i64) -> Option<Cell> {
    let (column, row) = (usize::try_from(column).ok()?, usize::try_from(row).ok()?);
    chart.row(row).get(column).copied()
}

/// The cells that a stretch of a line lies over, and how much of it lies over each.
fn spans(from: f64, to: f64) -> impl Iterator<Item = (i64, f64)> {
    let first = from.floor() as i64;
    let last = (to.ceil() as i64).max(first + 1);
    (first..last).map(move |cell| {
        let (start, end) = (cell as f64, cell as f64 + 1.0);
        (cell, (to.min(end) - from.max(start)).max(1e-9))
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::progress::Silent;
    use crate::planning::fit::{FitOptions, fit};
    use crate::planning::route::tests::chart;
    use crate::thread::cloth::StitchKind;

    #[test]
    fn pieces_are_to_scale_and_their_light_is_that_of_the_design() {
        let chart = chart(60, &[1; 60 * 40], StitchKind::FullCross);
        let counts = ["10", "20"].map(|count| count.parse().unwrap());
        let fits = fit(&chart, &[], &counts, &FitOptions::default(), &Silent).unwrap();
        let cloth: Srgb8 = "#f4ecd8".parse().unwrap();
        let scale = 1.0;
        let of = |fit: &CountFit| piece(&chart, fit, cloth, &CoverModel::default(), scale);
        let (large, small) = (of(&fits[0]), of(&fits[1]));
        // 60 stitches are 152.4 mm on 10 count, half of that on 20; 10 cm of cloth beside.
        assert_eq!((large.width(), small.width()), (252, 176));
        let middle = large.get_pixel(126, 101);
        let thread: Srgb8 = "#306090".parse().unwrap();
        assert_eq!(*middle, pixel(thread), "three strands cover 10 count");
        assert_eq!(*large.get_pixel(20, 20), pixel(cloth));
        let sheet = contact_sheet(&chart, &fits, cloth, &CoverModel::default());
        assert!(sheet.width() > 700 && sheet.height() > 300, "{:?}", sheet.dimensions());
        // A column is no wider than its picture, and the title and captions are there.
        assert!(sheet.width() < 252 * 420 / 252 + 420 + 3 * GAP, "{:?}", sheet.dimensions());
        let dark = sheet.pixels().filter(|p| p.0[2] < 0x60).count();
        assert!(dark > 1000, "{dark}");
    }
}
