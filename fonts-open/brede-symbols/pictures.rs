//! Pictures for the eye: the distances as a square, the symbols on a sheet.

use image::{GrayImage, Luma};

use super::symbol_set::SymbolSet;
use super::symbol_set::measure::sampled;

/// Distances as grey, from black for 0 to white for 0.6 and more in sixteen steps; two pixels a pair, in the order
/// of the set.
pub(crate) fn matrix(set: &SymbolSet) -> GrayImage {
    let side = set.symbols.len() as u32;
    GrayImage::from_fn(side * 2, side * 2, |x, y| {
        let distance = f64::from(set.distances[(y / 2) as usize][(x / 2) as usize]) / 255.0;
        Luma([(distance / 0.6 * 15.0).round().min(15.0) as u8 * 17])
    })
}

/// The symbols in order, 16 a row, at 64 pixels, then as printed: cells of 3 mm and of 2 mm at
/// 150 dots an inch; last the pairs that are most alike, 2.5 mm at 150 dots an inch enlarged.
pub(crate) fn sheet(set: &SymbolSet) -> GrayImage {
    let count = set.symbols.len() as u32;
    let rows = count.div_ceil(16);
    let mut sheet = GrayImage::from_pixel(16 * 72, rows * 72 + 400 + 7 * 100, Luma([255]));
    for (index, symbol) in set.symbols.iter().enumerate() {
        let index = index as u32;
        place(&mut sheet, &symbol.outline, index % 16 * 72 + 4, index / 16 * 72 + 4, 64.0);
        let (x, y) = (index % 50, index / 50);
        place(&mut sheet, &symbol.outline, 10 + x * 22, rows * 72 + 20 + y * 22, 17.7);
        place(&mut sheet, &symbol.outline, 10 + x * 22, rows * 72 + 200 + y * 22, 11.8);
    }
    for (index, (_, a, b)) in nearest(set).into_iter().take(42).enumerate() {
        let (x, y) = (index as u32 % 6 * 190 + 10, rows * 72 + 400 + index as u32 / 6 * 100);
        for (aside, symbol) in [(0, a), (90, b)] {
            let mut small = GrayImage::from_pixel(15, 15, Luma([255]));
            place(&mut small, &set.symbols[symbol].outline, 0, 0, 14.76);
            let large = image::imageops::resize(&small, 90, 90, image::imageops::FilterType::Nearest);
            image::imageops::replace(&mut sheet, &large, i64::from(x + aside), i64::from(y));
        }
    }
    sheet
}

/// All pairs, the most alike first: their distance and their places.
fn nearest(set: &SymbolSet) -> Vec<(u8, usize, usize)> {
    let row = |a: usize| (0..a).map(move |b| (set.distances[a][b], b, a));
    let mut pairs: Vec<_> = (0..set.symbols.len()).flat_map(row).collect();
    pairs.sort_unstable();
    pairs
}

fn place(sheet: &mut GrayImage, outline: &kurbo::BezPath, left: u32, top: u32, side: f64) {
    let pixels = side.ceil() as usize;
    let unit = 1000.0 / side / 8.0;
    let raster = sampled(outline, pixels * 8, pixels * 8, unit, (0.0, 1000.0 - pixels as f64 * 8.0 * unit));
    for y in 0..pixels {
        for x in 0..pixels {
            let samples = (0..64).filter(|at| raster[(y * 8 + at / 8) * pixels * 8 + x * 8 + at % 8]);
            let ink = samples.count() as f64 / 64.0;
            sheet.put_pixel(left + x as u32, top + y as u32, Luma([(255.0 - ink * 255.0).round() as u8]));
        }
    }
}
