//! Where a page joins its neighbours: a line along its own cells, a bar in the margin beside those that are repeated,
//! and the number of the page that they belong to.

use std::ops::Range;

use super::super::measures::RULES;
use super::super::{Align, Area, Layer, Page, Shape, Stroke};
use super::{CENTRE_MARK, GHOST_INK, Part};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, mm};
use crate::printing::typeface::{self, Weight};

/// A long dash and two dots, as ISO 128-2 draws the outlines of adjacent parts (line type 05; from memory); no outline
/// and no centre line looks like it. In cells: five together, so that it falls alike on every ten.
const DASHES: [f64; 6] = [3.3, 0.45, 0.175, 0.45, 0.175, 0.45];

/// How wide that line is in cells: as much as symbols leave free. And so many bold rules at the least, that it is seen
/// on one.
const WIDE: f64 = 0.2;
const LEAST: f64 = 1.4;

/// The bar in the margin: how far from the cells, so that no rule seems to go on into it, and how thick.
const BAR: [Length; 2] = [mm(0.8), mm(0.6)];

/// From the cells to the number of a row beside a bar.
pub(super) const BESIDE_BAR: Length = mm(1.8);

/// The size of the numbers of neighbours beside that of the rulers' numbers.
const NUMBER: f64 = 0.85;

/// A part of the cells that are shown which is another page's.
struct Repeated {
    /// The line at which this page ends.
    join: u32,
    /// The columns (or rows), counted from 0.
    lines: Range<u32>,
    /// Whether they come before the page's own.
    is_before: bool,
}

impl Part<'_> {
    /// What is repeated across (0) or down (1).
    fn repeated(&self, axis: usize) -> impl Iterator<Item = Repeated> {
        let (own, shown) = (&self.own[axis], &self.shown[axis]);
        let before = Repeated { join: own.start, lines: shown.start..own.start, is_before: true };
        let after = Repeated { join: own.end, lines: own.end..shown.end, is_before: false };
        [before, after].into_iter().filter(|repeated| !repeated.lines.is_empty())
    }

    /// Whether the page joins another at this line.
    pub(super) fn is_join(&self, axis: usize, line: u32) -> bool {
        self.repeated(axis).any(|repeated| repeated.join == line)
    }

    /// Whether a line lies at or among what is repeated.
    pub(super) fn is_repeated(&self, axis: usize, line: u32) -> bool {
        self.repeated(axis).any(|repeated| (repeated.lines.start..=repeated.lines.end).contains(&line))
    }

    /// Lines along the cells of this page alone, and bars beside the others.
    pub(super) fn joins(&self, page: &mut Page) {
        let (area, cell) = (self.area(), self.block.cell);
        let [_, bold] = RULES;
        let width = (WIDE * cell).max(LEAST * bold * self.measures.pen);
        let stroke =
            Stroke { colour: Srgb8::BLACK, width, dash: DASHES.map(|length| length * cell).to_vec() };
        let [from, thick] = BAR;
        let mut bar = |area: Area| page.add_in(Layer::Grid, Shape::Fill { area, colour: GHOST_INK });
        for Repeated { lines, .. } in self.repeated(0) {
            let (x, width) = (self.line_x(f64::from(lines.start)), lines.len() as f64 * cell);
            for y in [area.y - from - thick, area.bottom() + from] {
                bar(Area { x, y, width, height: thick });
            }
        }
        for Repeated { lines, .. } in self.repeated(1) {
            let (y, height) = (self.line_y(f64::from(lines.start)), lines.len() as f64 * cell);
            for x in [area.x - from - thick, area.right() + from] {
                bar(Area { x, y, width: thick, height });
            }
        }
        for Repeated { join, .. } in self.repeated(0) {
            let x = self.line_x(f64::from(join));
            let points = vec![[x, area.y], [x, area.bottom()]];
            page.add_in(Layer::Grid, Shape::Line { points, stroke: stroke.clone() });
        }
        for Repeated { join, .. } in self.repeated(1) {
            let y = self.line_y(f64::from(join));
            let points = vec![[area.x, y], [area.right(), y]];
            page.add_in(Layer::Grid, Shape::Line { points, stroke: stroke.clone() });
        }
    }

    /// The page that repeated columns or rows belong to, in the rulers, where there is room beside the tens.
    pub(super) fn names_of_joins(&self, page: &mut Page, across: usize, down: usize) {
        let (area, cell) = (self.area(), self.block.cell);
        let usual = self.measures.small * 0.95;
        let size = usual * NUMBER;
        let number = |other: usize| format!("p {}", other + 1);
        let is_free = |lines: &Range<u32>, join: u32| {
            (lines.start..=lines.end).all(|line| line == join || !line.is_multiple_of(10))
        };
        for Repeated { join, lines, is_before } in self.repeated(0) {
            let other = if is_before { across - 1 } else { across + 1 };
            let text = number(self.layout.page_of(other, down));
            let beside = typeface::width(&join.to_string(), Weight::Regular, usual) / 2.0 + mm(0.9);
            let beside = if join.is_multiple_of(10) { beside } else { CENTRE_MARK };
            let long = typeface::width(&text, Weight::Regular, size);
            if !is_free(&lines, join) || beside + long > lines.len() as f64 * cell + self.measures.ruler {
                continue;
            }
            let x = self.line_x(f64::from(join));
            let (x, align) = if is_before { (x - beside, Align::Right) } else { (x + beside, Align::Left) };
            for y in [area.y - mm(2.3), area.bottom() + mm(2.3) + usual * 0.72] {
                page.text([x, y], &text, size, Weight::Regular, align);
            }
        }
        for Repeated { join, lines, is_before } in self.repeated(1) {
            let other = if is_before { down - 1 } else { down + 1 };
            let text = number(self.layout.page_of(across, other));
            let high = lines.len() as f64 * cell;
            // Half of the number of a ten stands on this side of the join.
            let free = if join.is_multiple_of(10) { high - usual * 0.5 } else { high };
            if !is_free(&lines, join) || free < size * 0.9 {
                continue;
            }
            let gap = BESIDE_BAR;
            let size = size.min((self.measures.ruler + mm(1.0) - gap) / text.len() as f64 / 0.5);
            let middle = if is_before { high - free / 2.0 - (high - free) } else { high - free / 2.0 };
            let y = self.line_y(f64::from(lines.start)) + middle + size * 0.36;
            page.text([area.x - gap, y], &text, size, Weight::Regular, Align::Right);
            page.text([area.right() + gap, y], &text, size, Weight::Regular, Align::Left);
        }
    }

    /// What the page repeats, in words: each part with the number of its page, or without.
    pub(super) fn repeats_said(&self, across: usize, down: usize, pages: bool) -> String {
        let said = |axis: usize, name: &str| -> Vec<String> {
            let numbers = |repeated: &Repeated| -> String {
                let numbers: Vec<String> =
                    repeated.lines.clone().map(|line| (line + 1).to_string()).collect();
                numbers.join(", ")
            };
            if !pages {
                let all: Vec<String> = self.repeated(axis).map(|repeated| numbers(&repeated)).collect();
                let said = (!all.is_empty()).then(|| format!("{name} {}", all.join(", ")));
                return said.into_iter().collect();
            }
            let parts = self.repeated(axis).map(|repeated| {
                let other = |at: usize| if repeated.is_before { at - 1 } else { at + 1 };
                let page = match axis {
                    0 => self.layout.page_of(other(across), down),
                    _ => self.layout.page_of(across, other(down)),
                };
                format!("{name} {} of page {}", numbers(&repeated), page + 1)
            });
            parts.collect()
        };
        let parts = [said(0, "columns"), said(1, "rows")].concat();
        if parts.is_empty() { String::new() } else { format!("Repeated in grey: {}", parts.join(", ")) }
    }
}
