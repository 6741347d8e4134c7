//! A quick picture of a worked chart, to see marks before they are stitched: flat cells and drawn lines.

use std::ops::Range;

use image::imageops::{FilterType, crop_imm, replace, resize};
use image::{Rgb, RgbImage};
use imageproc::drawing::draw_polygon_mut;
use imageproc::point::Point;

use crate::chart::marks::{Composed, Region, exact};
use crate::chart::{Chart, LinePattern, Needle, WorkedLine};
use crate::ground::colour::Srgb8;
use crate::ground::units::GridSize;
use crate::thread::cloth::{CoverModel, StitchKind};

/// The picture is drawn so many times larger and then made small, for smooth lines.
const FINER: u32 = 2;

/// The widest picture in pixels a side, before which cells become smaller.
const WIDEST: u32 = 6000;

/// How much wider than its line a casing is on each side, in cells: enough to part the line from a cell of
/// its own colour.
const CASING: f64 = 0.07;

fn pixel(colour: Srgb8) -> Rgb<u8> {
    Rgb([colour.r, colour.g, colour.b])
}

/// The colour of each cell of some rows of a chart in a square of `side` pixels, with a gap between cells where they are
/// large enough for one. What is no full cross, or too thin to cover, shows as much cloth as it will.
fn flat(chart: &Chart, rows: Range<u32>, side: u32, shade: impl Fn(u32, u32, Srgb8) -> Srgb8) -> RgbImage {
    let cover = CoverModel::default();
    let seen = |needle: &Needle| {
        cover.look(&chart.cloth, needle.colour().linear(), needle.strands(), needle.stitch).linear().srgb8()
    };
    let colours: Vec<Srgb8> = chart.needles().iter().map(seen).collect();
    let size = chart.size();
    let cloth = chart.cloth.colour;
    RgbImage::from_fn(size.columns() * side, (rows.end - rows.start) * side, |x, y| {
        let (column, row) = (x / side, rows.start + y / side);
        let gap = side >= 8 && (x % side == 0 || y % side == 0);
        let cell = chart.cells()[row as usize * size.width() + column as usize];
        let colour = cell.needle().map_or(cloth, |needle| colours[needle]);
        let colour = if gap { colour.linear().mix(cloth.linear(), 0.85).srgb8() } else { colour };
        pixel(shade(column, row, colour))
    })
}

/// The pixels along the side of a cell that a sketch has of a chart of this size, where `side` were asked for.
#[must_use]
pub fn sketched_side(size: GridSize, side: u32) -> u32 {
    side.min(WIDEST / size.columns().max(size.rows())).max(1)
}

/// The worked chart with its lines, about `side` pixels a cell; fewer where it would be over 6,000 wide.
#[must_use]
pub fn sketch(composed: &Composed, side: u32) -> RgbImage {
    sketch_by(composed, side, BAND)
}

/// The same in parts of so many bytes.
fn sketch_by(composed: &Composed, side: u32, band: u64) -> RgbImage {
    let side = sketched_side(composed.chart.size(), side);
    let (large, size) = (side * FINER, composed.chart.size());
    let (width, total) = (size.columns() * side, size.rows());
    let mut picture = RgbImage::new(width, total * side);
    let each =
        (band / (u64::from(size.columns()) * 3 * u64::from(large).pow(2))).clamp(1, total.into()) as u32;
    for first in (0..total).step_by(each as usize) {
        let end = (first + each).min(total);
        // What is made smaller looks beyond its edge, by less than a cell.
        let rows = first.saturating_sub(1)..(end + 1).min(total);
        let mut band = flat(&composed.chart, rows.clone(), large, |_, _, colour| colour);
        let is_near = |line: &&WorkedLine| {
            let near = f64::from(rows.start) - REACH..=f64::from(rows.end) + REACH;
            let range = line.points.iter().map(|point| f64::from(point[1]));
            let (top, bottom) =
                range.fold((f64::MAX, f64::MIN), |(top, bottom), y| (top.min(y), bottom.max(y)));
            top <= *near.end() && bottom >= *near.start()
        };
        for line in composed.lines.iter().filter(is_near) {
            draw(&mut band, line, f64::from(large), f64::from(rows.start));
        }
        let small = resize(&band, width, (rows.end - rows.start) * side, FilterType::Triangle);
        let kept = crop_imm(&small, 0, (first - rows.start) * side, width, (end - first) * side);
        replace(&mut picture, &*kept, 0, i64::from(first * side));
    }
    picture
}

/// The most bytes of a part of the picture that is drawn larger: all of the largest at once would take half a gigabyte,
/// and parts much smaller draw long lines again for each.
const BAND: u64 = 32 << 20;

/// How far beyond its holes a line in a lane of its own is drawn at the most, in cells: hundreds share a stitch before one
/// is drawn further off.
const REACH: f64 = 50.0;

/// The cells of a choice in their colours over the rest of the chart paled, about `side` pixels a cell.
#[must_use]
pub fn show(chart: &Chart, region: &Region, side: u32) -> RgbImage {
    let side = sketched_side(chart.size(), side);
    let dark = Srgb8 { r: 0xb0, g: 0x00, b: 0x50 };
    let mut picture = flat(chart, 0..chart.size().rows(), side, |column, row, colour| {
        let (x, y) = (column as i32, row as i32);
        if region.has(x, y) { colour } else { colour.linear().mix(Srgb8::WHITE.linear(), 0.4).srgb8() }
    });
    // The edge of the choice, two pixels wide.
    for points in exact(region) {
        for at in 0..points.len() {
            let (from, to) = (points[at], points[(at + 1) % points.len()]);
            stroke(
                &mut picture,
                [from, to].map(|hole| hole.map(|at| f64::from(at) * f64::from(side))),
                2.0,
                dark,
            );
        }
    }
    picture
}

/// Draws a line on a part of the chart that begins at a row.
fn draw(picture: &mut RgbImage, line: &WorkedLine, side: f64, top: f64) {
    let colour = thread_colour(line);
    let paper = if colour.luminance() > 0.4 { Srgb8::BLACK } else { Srgb8::WHITE };
    let casing = colour.linear().mix(paper.linear(), 0.35).srgb8();
    let weight = line.pattern.weight();
    let closed = |mut points: Vec<[f64; 2]>| {
        if line.closed {
            points.extend(points.first().copied());
        }
        points
    };
    let middle = closed(line.drawn(0.0));
    let wide = if line.pattern == LinePattern::Double { weight + 0.2 } else { weight };
    for pair in middle.windows(2) {
        stroke(picture, scaled(pair, side, top), (wide + 2.0 * CASING) * side, casing);
    }
    let strands = match line.pattern {
        LinePattern::Double => vec![closed(line.drawn(-0.08)), closed(line.drawn(0.08))],
        _ => vec![middle],
    };
    for points in strands {
        for [from, to] in dashes(&points, line.pattern.dashes()) {
            stroke(picture, scaled(&[from, to], side, top), (weight * side).max(1.0), colour);
        }
    }
}

fn thread_colour(line: &WorkedLine) -> Srgb8 {
    let needle =
        Needle { symbol: String::new(), threads: line.threads.clone(), stitch: StitchKind::FullCross };
    needle.colour()
}

fn scaled(pair: &[[f64; 2]], side: f64, top: f64) -> [[f64; 2]; 2] {
    [pair[0], pair[1]].map(|[x, y]| [x * side, (y - top) * side])
}

/// The parts of a line that are drawn, by lengths of dashes and gaps in turn.
fn dashes(points: &[[f64; 2]], pattern: &[f64]) -> Vec<[[f64; 2]; 2]> {
    let pairs = points.windows(2).map(|pair| [pair[0], pair[1]]);
    if pattern.is_empty() {
        return pairs.collect();
    }
    let mut drawn = Vec::new();
    let (mut place, mut left) = (0, pattern[0]);
    for [from, to] in pairs {
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        let at = |along: f64| [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * along / length);
        let mut along = 0.0;
        while length - along > 1e-9 {
            let step = left.min(length - along);
            if place % 2 == 0 {
                drawn.push([at(along), at(along + step)]);
            }
            along += step;
            left -= step;
            if left <= 1e-9 {
                place = (place + 1) % pattern.len();
                left = pattern[place];
            }
        }
    }
    drawn
}

/// A straight stroke of a width in pixels, a little longer at both ends so that bends close.
fn stroke(picture: &mut RgbImage, [from, to]: [[f64; 2]; 2], width: f64, colour: Srgb8) {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let length = dx.hypot(dy);
    if length < 1e-9 {
        return;
    }
    let half = width / 2.0;
    let (high, low) = (from[1].min(to[1]) - width, from[1].max(to[1]) + width);
    if low < 0.0 || high > f64::from(picture.height()) {
        return;
    }
    let along = [dx / length * half * 0.8, dy / length * half * 0.8];
    let aside = [-dy / length * half, dx / length * half];
    let corner = |point: [f64; 2], forth: f64, side: f64| {
        let place = |axis: usize| (point[axis] + along[axis] * forth + aside[axis] * side).round() as i32;
        Point::new(place(0), place(1))
    };
    let corners =
        [corner(from, -1.0, 1.0), corner(to, 1.0, 1.0), corner(to, 1.0, -1.0), corner(from, -1.0, -1.0)];
    // A polygon whose last corner is its first is not taken.
    if corners[0] != corners[3] {
        draw_polygon_mut(picture, &corners, pixel(colour));
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::chart::{LineLayer, LineStitch};
    use crate::planning::route::tests::chart;

    #[test]
    fn parts_of_a_sketch_join_without_a_seam() {
        let chart = chart(30, &[1; 30 * 23], StitchKind::FullCross);
        let line = |points: Vec<[i32; 2]>, pattern, lane| WorkedLine {
            mark: "crab".into(),
            label: "crab".into(),
            threads: chart.needles()[0].threads.clone(),
            pattern,
            stitch: LineStitch::Backstitch,
            points,
            closed: true,
            lane,
            layer: LineLayer::Outlines,
        };
        let lines = vec![
            line(vec![[2, 2], [27, 2], [27, 20], [2, 20]], LinePattern::Double, 0.5),
            line(vec![[5, 1], [15, 22], [25, 1]], LinePattern::DashDot, 0.0),
        ];
        let composed =
            Composed { chart, base_at: [0, 0], lines, crosses: Default::default(), warnings: Vec::new() };
        let whole = sketch_by(&composed, 14, u64::MAX);
        assert_eq!(whole.dimensions(), (30 * 14, 23 * 14));
        for cells in [1, 2, 7] {
            let parted = sketch_by(&composed, 14, 30 * 3 * 28 * 28 * cells);
            let off = whole
                .pixels()
                .zip(parted.pixels())
                .flat_map(|(one, two)| (0..3).map(|channel| one.0[channel].abs_diff(two.0[channel])));
            // Edges of lines are rounded to pixels on either side.
            assert!(off.max().unwrap() <= 1, "{cells} rows at once");
        }
        let flat = sketch_by(&Composed { lines: Vec::new(), ..composed }, 14, u64::MAX);
        assert!(whole != flat);
    }
}
