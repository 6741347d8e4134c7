//! Lists on paper: the shopping list, cards that sort threads, and a shade card.
//!
//! Owns their design. Leaves what is bought to `planning` and what is on a card to `thread::shades`.

mod card;
mod shopping;
mod sorter;

use super::measures::MARGIN;
use super::{Align, Area, Page, Said, Shape, Stroke};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, Point, mm, text_points};
use crate::printing::typeface::{self, Weight};

pub use card::card_pages;
pub use shopping::shopping_pages;
pub use sorter::sorter_pages;

const RULE: Srgb8 = Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 };

/// Text sizes: 18, 10 and 8.5 points, as on the pages of a chart.
pub(super) const HEADING: Length = text_points(18.0);
pub(super) const BODY: Length = text_points(10.0);
pub(super) const SMALL: Length = text_points(8.5);

/// A line of a list is set as small as this, 8 points, before it is cut short.
const LEAST: Length = text_points(8.0);

/// A line of text, set smaller where it is longer than `limit`, and cut short where that is not enough.
pub(super) fn put(
    page: &mut Page,
    at: Point,
    text: &str,
    size: Length,
    weight: Weight,
    align: Align,
    limit: Length,
) {
    let (text, _) = typeface::showable(text);
    let fitting = size * (limit / typeface::width(&text, weight, size).max(limit * 1e-6));
    let size = fitting.max(LEAST).min(size);
    page.text(at, &typeface::shortened(&text, weight, size, limit + mm(1e-6)), size, weight, align);
}

/// The title at the top of a page, and which part it is where there are several.
pub(super) fn heading(page: &mut Page, title: &str, size: Length, index: usize, count: usize) {
    let part = if count == 1 { String::new() } else { format!(", part {} of {count}", index + 1) };
    let limit = page.width - 2.0 * MARGIN;
    page.begin(Said::Heading(1));
    put(page, [MARGIN, MARGIN + size], &format!("{title}{part}"), size, Weight::Bold, Align::Left, limit);
    page.begin(Said::Texts);
}

pub(super) fn swatch(page: &mut Page, area: Area, colour: Srgb8) {
    page.add(Shape::Fill { area, colour });
    page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
}

/// A text at the foot of a page, in so many lines at most.
pub(super) fn notes(page: &mut Page, text: &str, size: Length, lines: usize) {
    let limit = page.width - 2.0 * MARGIN;
    let lines = typeface::wrapped(text, Weight::Regular, size, limit, lines);
    let mut y = page.height - MARGIN - (lines.len() as f64 - 1.0) * size * 1.35;
    page.begin(Said::Paragraph);
    for line in lines {
        page.text([MARGIN, y], &line, size, Weight::Regular, Align::Left);
        y += size * 1.35;
    }
}

#[cfg(test)]
mod tests;
