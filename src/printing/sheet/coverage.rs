//! How much of a page is ink.
//!
//! Owns the reckoning from shapes. Leaves the ink of a colour to `inked`.

use image::RgbImage;
use rayon::prelude::*;

use super::inked::ink_of;
use super::measures::{GHOST_TINT, RULES, THIN_RULE, turned};
use super::pagination::with_repeats;
use super::uses::uses_in;
use super::{Area, CORNER, Layer, Layout, Page, Shape, Sheet};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, Point};
use crate::printing::typeface;

/// The share of a chart page that its text and small marks ink: seen on our own pages, 0.6 to 1.1 %.
pub(super) const TEXT: f64 = 0.012;

/// The mean ink of a picture.
pub(super) fn ink_of_picture(picture: &RgbImage) -> f64 {
    // A hundredth of the pixels tells the mean of a picture of thread well enough.
    let step = if picture.width() > 200 { 7 } else { 1 };
    let pixels = picture.pixels().step_by(step);
    let (sum, count) = pixels.fold((0.0, 0usize), |(sum, count), pixel| {
        let [r, g, b] = pixel.0;
        (sum + ink_of(Srgb8 { r, g, b }), count + 1)
    });
    sum / count.max(1) as f64
}

impl Sheet {
    /// The share of each page that is ink, all inks together: 0.25 is a quarter of the page full of one ink.
    /// Within a hundredth of what poppler draws, by our tests.
    #[must_use]
    pub fn coverage(&self) -> Vec<f64> {
        let pictures: Vec<f64> = self.pictures.iter().map(ink_of_picture).collect();
        self.pages.par_iter().map(|page| of_page(page, &pictures)).collect()
    }
}

/// The ink of the rules of a cell so large, as a share of it: nine thin and one bold of ten each way.
fn rules_ink(cell: Length) -> f64 {
    let [thin, bold] = RULES;
    2.0 * (0.9 * thin * ink_of(THIN_RULE) + 0.1 * bold) / cell
}

/// For each page of the plan, before it is drawn: its ink without tints, and the share of the page that each colour
/// would fill and leave free of symbols.
pub(super) fn expected(layout: &Layout) -> Vec<(f64, Vec<(Srgb8, f64)>)> {
    let [width, height] = turned(layout.options.paper.size(), layout.plan.turned);
    let cell = square(layout.cell, layout.cell) / square(width, height);
    let size = layout.chart.size();
    // Of a cell: its thin and its share of bold rules.
    let rules = rules_ink(layout.cell);
    let ghost = ink_of(GHOST_TINT);
    let mut pages = Vec::new();
    for rows in &layout.plan.rows {
        for columns in &layout.plan.columns {
            let own = uses_in(layout.chart, columns, rows);
            let shown_rows = with_repeats(rows, size.rows());
            let shown_columns = with_repeats(columns, size.columns());
            let shown = uses_in(layout.chart, &shown_columns, &shown_rows);
            let inked = |uses: &[u64]| -> f64 {
                layout.symbols.iter().zip(uses).map(|(symbol, &used)| symbol.ink() * used as f64).sum()
            };
            let cells = (shown_rows.len() * shown_columns.len()) as f64;
            let ghosts = cells - (rows.len() * columns.len()) as f64;
            let bare = inked(&shown) + cells * rules + ghosts * ghost;
            let shares = layout.chart.needles().iter().zip(&layout.symbols).zip(&own);
            let shares = shares.map(|((needle, symbol), &used)| {
                (needle.colour(), used as f64 * (1.0 - symbol.ink() - rules).max(0.0) * cell)
            });
            pages.push((bare * cell + TEXT, shares.collect()));
        }
    }
    pages
}

/// Square millimetres.
fn square(width: Length, height: Length) -> f64 {
    width.to_mm() * height.to_mm()
}

fn length(points: &[Point]) -> Length {
    points.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum()
}

/// The area of a polygon in square millimetres (the shoelace formula).
fn area_of(points: &[Point]) -> f64 {
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points.iter().zip(next).map(|(a, b)| square(a[0], b[1]) - square(b[0], a[1])).sum();
    twice.abs() / 2.0
}

/// The part of a dashed line that is drawn.
fn drawn(dash: &[Length]) -> f64 {
    let on: Length = dash.iter().step_by(2).copied().sum();
    let all: Length = dash.iter().copied().sum();
    if all > Length::ZERO { on / all } else { 1.0 }
}

fn of_page(page: &Page, pictures: &[f64]) -> f64 {
    let size = |area: &Area| square(area.width, area.height);
    // The ink in square millimetres; the mean tint, over which rules are drawn, and the fill under a symbol.
    let (mut ink, mut ground, mut fill) = (0.0, 0.0, 0.0);
    for (layer, shape) in &page.shapes {
        match shape {
            Shape::Fill { area, colour } => {
                ink += ink_of(*colour) * size(area);
                fill = ink_of(*colour);
            }
            Shape::Frame { area, stroke } => {
                ink += ink_of(stroke.colour) * square(stroke.width, 2.0 * (area.width + area.height));
                fill = 0.0;
            }
            Shape::Line { points, stroke } => {
                let under = if *layer == Some(Layer::Grid) { ground } else { 0.0 };
                let wide = square(stroke.width, length(points)) * drawn(&stroke.dash);
                ink += (ink_of(stroke.colour) - under) * wide;
            }
            Shape::Polygon { points, colour } => ink += ink_of(*colour) * area_of(points),
            Shape::Text { text, size, weight, colour, .. } => {
                let area: f64 = text.chars().map(|letter| typeface::ink(letter, *weight)).sum();
                ink += ink_of(*colour) * area * square(*size, *size);
            }
            Shape::Symbol { area, symbol } => ink += symbol.ink() * size(area) * (1.0 - fill),
            Shape::Tints { block, tints } => {
                let cell = square(block.cell, block.cell);
                let all = f64::from(block.columns) * f64::from(block.rows);
                for tint in tints {
                    let cells: f64 = tint.rects.iter().map(|r| f64::from(r[2]) * f64::from(r[3])).sum();
                    ink += ink_of(tint.colour) * cells * cell;
                    ground += ink_of(tint.colour) * cells / all;
                }
            }
            Shape::Symbols { block, runs, colour, .. } => {
                // A heavy symbol stands on a dark tint more often than not; the mean tint is near enough.
                let share: f64 = runs.iter().flat_map(|run| &run.symbols).map(|symbol| symbol.ink()).sum();
                ink += share * square(block.cell, block.cell) * (ink_of(*colour) - ground).max(0.0);
            }
            Shape::Corners { block, corners, colour } => {
                // Triangles with two sides of `CORNER` of the cell's.
                let side = CORNER * block.cell;
                ink += square(side, side) / 2.0 * corners.len() as f64 * (ink_of(*colour) - ground).max(0.0);
            }
            Shape::Picture { area, picture } => {
                ink += pictures.get(*picture).copied().unwrap_or_default() * size(area);
            }
        }
    }
    ink / square(page.width, page.height)
}
