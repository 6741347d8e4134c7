#![allow(clippy::unwrap_used)]
use super::*;
use crate::reading::proof::spoil::{Spoil, spoil};
use image::Luma;
use imageproc::geometric_transformations::{Border, Interpolation, rotate_about_center};

/// The width of a bold rule in pixels: 0.38 mm at 150 dots an inch.
const BOLD: f64 = 2.244;

/// Nothing is known of the size.
const NONE: [u32; 2] = [0, 0];

/// A page of `columns` x `rows` cells of `side` pixels whose first line is line `first` of the design: thin
/// grey rules, black ones each ten, and in each cell a bar or a block that reaches to an eighth of its sides.
fn page(side: f64, columns: u32, rows: u32, first: [u32; 2]) -> GrayImage {
    page_of(side, columns, rows, first, |u, v| {
        let block = (u.floor() as i64 * 7 + v.floor() as i64 * 3).rem_euclid(5) < 2;
        let half = if block { 0.38 } else { 0.1 };
        (0.12..0.88).contains(&v.rem_euclid(1.0)) && (u.rem_euclid(1.0) - 0.5).abs() < half
    })
}

/// The same with other figures in its cells.
fn page_of(
    side: f64,
    columns: u32,
    rows: u32,
    first: [u32; 2],
    is_inked: impl Fn(f64, f64) -> bool,
) -> GrayImage {
    let (left, top) = (70.3, 95.6);
    let size = |cells: u32| (f64::from(cells) * side) as u32 + 200;
    let cover = |at: f64, middle: f64, width: f64| {
        let (from, to) = (middle - width / 2.0, middle + width / 2.0);
        ((at + 1.0).min(to) - at.max(from)).clamp(0.0, 1.0)
    };
    GrayImage::from_fn(size(columns), size(rows), |x, y| {
        let (px, py) = (f64::from(x), f64::from(y));
        let (u, v) = ((px + 0.5 - left) / side, (py + 0.5 - top) / side);
        let inside = |u: f64, cells: u32| u > -BOLD / 2.0 / side && u < f64::from(cells) + BOLD / 2.0 / side;
        if !(inside(u, columns) && inside(v, rows)) {
            return Luma([255]);
        }
        let mut light: f64 = 255.0;
        let in_design = u > 0.0 && v > 0.0 && u < f64::from(columns) && v < f64::from(rows);
        if in_design && is_inked(u, v) {
            light = 0.0;
        }
        for (at, share, start, from, cells) in
            [(px, u, left, first[0], columns), (py, v, top, first[1], rows)]
        {
            let line = share.round().clamp(0.0, f64::from(cells));
            let bold = (from + line as u32).is_multiple_of(10);
            let (width, ink) = if bold { (BOLD, 0.0) } else { (BOLD / 3.8, 128.0) };
            let covered = cover(at, start + line * side, width);
            light = light.min(255.0 + (ink - 255.0) * covered);
        }
        Luma([light.round() as u8])
    })
}

fn turned(page: &GrayImage, degrees: f32) -> GrayImage {
    rotate_about_center(page, degrees.to_radians(), Interpolation::Bilinear, Border::Constant(Luma([255])))
}

/// Where a point of the straight page lies once it is turned about its middle.
fn expected(page: &GrayImage, degrees: f64, [x, y]: [f64; 2]) -> [f64; 2] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let (cx, cy) = (f64::from(page.width()) / 2.0, f64::from(page.height()) / 2.0);
    let (dx, dy) = (x - cx, y - cy);
    [cx + dx * cos - dy * sin, cy + dx * sin + dy * cos]
}

#[test]
fn cells_are_found_to_a_part_of_a_pixel_on_a_page_that_lies_askew() {
    for (side, columns, rows, first) in
        [(17.72, 54, 72, [48, 138]), (11.81, 60, 44, [0, 8]), (26.6, 23, 31, [8, 0]), (17.72, 20, 20, [0, 0])]
    {
        for degrees in [0.0, 0.5, -0.5, 0.93] {
            let straight = page(side, columns, rows, first);
            let found = find(&turned(&straight, degrees), NONE).unwrap();
            assert_eq!([found.columns, found.rows], [columns, rows], "{side} px, {degrees} degrees");
            for (line, first) in found.bold.iter().zip(first) {
                assert!((line + first).is_multiple_of(10), "{side} px, {degrees} degrees: {found:?}");
            }
            for (column, row) in [(0, 0), (columns, 0), (0, rows), (columns, rows), (columns / 2, rows / 2)] {
                let (column, row) = (f64::from(column), f64::from(row));
                let [x, y] = found.at(column, row);
                let place = [70.3 + column * side, 95.6 + row * side];
                let [wanted_x, wanted_y] = expected(&straight, f64::from(degrees), place);
                let off = (x - wanted_x).hypot(y - wanted_y);
                assert!(off < 0.5, "{side} px, {degrees} degrees, {column} {row}: {off} px off");
            }
        }
    }
}

#[test]
fn cells_are_found_on_a_page_from_a_tired_printer() {
    for seed in 0..12 {
        let found = find(&spoil(page(17.72, 54, 72, [8, 8]), Spoil::Harsh, 150.0, seed), NONE).unwrap();
        assert_eq!([found.columns, found.rows], [54, 72]);
        // The first rules may be too faint to be found; those that are stand on tens.
        assert_eq!(found.bold.map(|line| (line + 8) % 10), [0, 0]);
    }
}

#[test]
fn symbols_that_look_like_rules_do_not_double_the_grid() {
    // A plus through the middle of every cell, grey enough to be taken for thin rules.
    let plus = |u: f64, v: f64| {
        let [u, v] = [u, v].map(|at| (at.rem_euclid(1.0) - 0.5).abs());
        u.min(v) < 0.03 && u.max(v) < 0.42
    };
    for side in [17.72, 26.6] {
        let found = find(&page_of(side, 37, 37, [0, 0], plus), [37, 37]).unwrap();
        assert_eq!([found.columns, found.rows], [37, 37], "{side}");
        assert!((found.side() - side).abs() < 0.05, "{side}: {}", found.side());
    }
}

#[test]
fn a_page_without_a_grid_is_none() {
    assert!(find(&GrayImage::from_pixel(300, 400, Luma([255])), NONE).is_err());
    let stripes = GrayImage::from_fn(300, 400, |x, y| Luma([if (x + y) / 5 % 3 == 0 { 0 } else { 255 }]));
    assert!(find(&stripes, NONE).is_err());
}
