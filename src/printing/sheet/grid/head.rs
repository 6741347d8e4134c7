//! What stands at the head of a chart page.

use std::ops::Range;

use super::super::measures::MARGIN;
use super::super::{Align, Area, Layout, Link, Page, Said, Shape, Stroke};
use super::{Part, triangle};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, Point, mm};
use crate::printing::typeface::{self, Weight};

/// How the head of a page says which page it is and what it shows; all pages of a chart say it alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// `Page 3 of 9: columns 1 to 50, rows 71 to 140`.
    Whole,
    /// `columns 1 to 50, rows 71 to 140`, and the number beside the title.
    Apart,
    /// `columns 1–50, rows 71–140`, and the number beside the title.
    Short,
}

impl Form {
    /// The longest form that has room on every page.
    fn of([columns, rows]: [u32; 2], pages: usize, size: Length, room: Length) -> Self {
        // No number of a page is wider than the last one's digits, all eights.
        let widest = |number: u32| 8 * (0..=number.max(1).ilog10()).fold(0, |sum, _| sum * 10 + 1);
        let [columns, rows] = [columns, rows].map(widest);
        let pages = widest(u32::try_from(pages).unwrap_or(u32::MAX / 10)) as usize;
        let fits = |form: &Self| {
            let text = form.place([columns - 1..columns, rows - 1..rows], pages, pages);
            typeface::width(&text, Weight::Regular, size) <= room
        };
        [Self::Whole, Self::Apart].into_iter().find(fits).unwrap_or(Self::Short)
    }

    fn place(self, [columns, rows]: [Range<u32>; 2], number: usize, pages: usize) -> String {
        let (a, b, c, d) = (columns.start + 1, columns.end, rows.start + 1, rows.end);
        match self {
            Self::Whole => {
                format!("Page {number} of {pages}: columns {a} to {b}, rows {c} to {d}")
            }
            Self::Apart => format!("columns {a} to {b}, rows {c} to {d}"),
            Self::Short => format!("columns {a}–{b}, rows {c}–{d}"),
        }
    }

    fn beside(self, number: usize, pages: usize) -> String {
        match self {
            Self::Whole => String::new(),
            Self::Apart | Self::Short => format!("  page {number} of {pages}"),
        }
    }
}

impl Part<'_> {
    /// Title, number and place of the page, and the numbers of its neighbours.
    pub(super) fn header(&self, page: &mut Page, across: usize, down: usize) {
        let layout = self.layout;
        let small = self.measures.small;
        let large = small * 1.45;
        let neighbours = neighbours(layout, across, down);
        let compass = 5.0 * small * 2.0;
        let room = page.width - 2.0 * MARGIN - compass - mm(4.0);
        let number = layout.page_of(across, down) + 1;
        let size = layout.chart.size();
        let form = Form::of([size.columns(), size.rows()], layout.pages, small * 1.15, room);
        let [columns, rows] = &self.own;
        let place = form.place([columns.clone(), rows.clone()], number, layout.pages);
        // With the number of the page beside it, the title gives way.
        let mut beside = form.beside(number, layout.pages);
        if typeface::width(&beside, Weight::Regular, small * 1.15) > room {
            // The number alone stands among its neighbours' too.
            beside.clear();
        }
        let title_room = room - typeface::width(&beside, Weight::Regular, small * 1.15);
        let title = typeface::shortened(&layout.title, Weight::Bold, large, title_room);
        let top = MARGIN + large * 0.85;
        // The title stands on every page, and the compass is there as links.
        page.begin(Said::Nothing);
        page.text([MARGIN, top], &title, large, Weight::Bold, Align::Left);
        if !beside.is_empty() {
            let x = MARGIN + typeface::width(&title, Weight::Bold, large);
            page.text([x, top], &beside, small * 1.15, Weight::Regular, Align::Left);
        }
        // Where even the short form is too long, it is set smaller: what a page shows is never cut.
        let fits = room / typeface::width(&place, Weight::Regular, small * 1.15).max(mm(1e-9));
        let text = small * 1.15 * fits.min(1.0);
        page.begin(Said::Heading(2));
        page.text([MARGIN, top + small * 1.6], &place, text, Weight::Regular, Align::Left);
        page.begin(Said::Paragraph);
        // What is another page's: with its number, else without, which the compass has too.
        let said = [true, false].map(|pages| self.repeats_said(across, down, pages));
        let wide = |said: &String| typeface::width(said, Weight::Regular, small);
        let said = said.iter().find(|said| wide(said) <= room).unwrap_or(&said[1]);
        let text = small * (room / wide(said).max(mm(1e-9))).min(1.0);
        if !said.is_empty() {
            page.text([MARGIN, top + small * 2.9], said, text, Weight::Regular, Align::Left);
        }
        page.begin(Said::Nothing);
        self.compass(page, compass, number, neighbours);
    }

    /// The page's own number among those of its neighbours, each with an arrow that leads there.
    fn compass(&self, page: &mut Page, width: Length, number: usize, neighbours: [Option<usize>; 4]) {
        let small = self.measures.small;
        let pitch = small * 1.32;
        let middle = page.width - MARGIN - width / 2.0;
        let none = Length::ZERO;
        let places: [Point; 4] = [[none, -pitch], [width * 0.34, none], [none, pitch], [-width * 0.34, none]];
        let line = MARGIN + pitch + small * 0.75;
        page.text([middle, line], &number.to_string(), small, Weight::Bold, Align::Centre);
        let frame = Area {
            x: middle - width * 0.15,
            y: line - small * 0.95,
            width: width * 0.3,
            height: small * 1.25,
        };
        page.add(Shape::Frame { area: frame, stroke: Stroke::solid(Srgb8::BLACK, mm(0.25)) });
        for (direction, (target, [dx, dy])) in neighbours.into_iter().zip(places).enumerate() {
            let Some(target) = target else { continue };
            let (x, y) = (middle + dx, line + dy);
            let text = (target + 1).to_string();
            let half = typeface::width(&text, Weight::Regular, small) / 2.0;
            page.text([x + small * 0.5, y], &text, small, Weight::Regular, Align::Centre);
            let tip = [x - half - small * 0.1, y - small * 0.33];
            page.add(arrow(tip, small * 0.36, direction));
            let area = Area { x: x - width * 0.16, y: y - small, width: width * 0.32, height: small * 1.3 };
            page.links.push(Link { area, page: target, part: None });
        }
    }
}

/// The pages above, to the right, below and to the left.
fn neighbours(layout: &Layout, across: usize, down: usize) -> [Option<usize>; 4] {
    let (columns, rows) = (layout.plan.columns.len(), layout.plan.rows.len());
    [
        down.checked_sub(1).map(|down| layout.page_of(across, down)),
        (across + 1 < columns).then(|| layout.page_of(across + 1, down)),
        (down + 1 < rows).then(|| layout.page_of(across, down + 1)),
        across.checked_sub(1).map(|across| layout.page_of(across, down)),
    ]
}

/// A small arrow about a middle.
fn arrow(middle: Point, half: Length, direction: usize) -> Shape {
    let [x, y] = middle;
    let tip = match direction {
        0 => [x, y - half],
        1 => [x + half, y],
        2 => [x, y + half],
        _ => [x - half, y],
    };
    Shape::Polygon { points: triangle(tip, half * 2.0, direction), colour: Srgb8::BLACK }
}
