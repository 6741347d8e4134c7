//! The rows of the key on the page.

use super::super::lines::Kind;
use super::super::{Align, Area, Layout, Page, Said, Shape, Show, Stroke, thousands};
use super::{BOX_FRAME, Measures, Placed, symbol_area};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, mm};
use crate::printing::typeface::{self, Weight};

/// Where a row stands: its top left, its base line and its stops.
pub(super) struct Spot<'a> {
    pub(super) x: Length,
    pub(super) y: Length,
    base: Length,
    pub(super) stops: [Length; 5],
    placed: &'a Placed<'a>,
}

impl<'a> Spot<'a> {
    pub(super) fn of(measures: &Measures, placed: &'a Placed) -> Self {
        let Measures { body, row, .. } = *measures;
        let [x, y] = placed.corner(measures);
        let stops = measures.stops().map(|stop| x + stop);
        Self { x, y, base: y + row / 2.0 + body * 0.34, stops, placed }
    }

    fn put(&self, page: &mut Page, measures: &Measures, figures: [&str; 3]) {
        let body = measures.body;
        let [code_at, name_at, strands_at, stitches_at, skeins_at] = self.stops;
        for (text, at, weight) in
            [(&self.placed.code, code_at, Weight::Code), (&self.placed.name, name_at, Weight::Regular)]
        {
            if weight == Weight::Regular {
                page.begin_cell(self.row());
            }
            for (line, base) in text.lines.iter().zip(measures.bases(text)) {
                page.text([at, self.y + base], line, text.size, weight, Align::Left);
            }
        }
        let mut put = |at: Length, text: &str, align: Align, limit: Length| {
            // A blend of many takes less room without spaces.
            let is_long = typeface::width(text, Weight::Regular, body) > limit;
            let text = if is_long { text.replace(' ', "") } else { text.to_owned() };
            let text = typeface::shortened(&text, Weight::Regular, body, limit);
            page.begin_cell(self.row());
            page.text([at, self.base], &text, body, Weight::Regular, align);
        };
        let [strands, stitches, skeins] = figures;
        put(strands_at, strands, Align::Centre, body * 3.0);
        put(stitches_at, stitches, Align::Right, body * 5.0);
        put(skeins_at, skeins, Align::Right, body * 4.0);
        self.rule(page, measures, Stroke::solid(Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 }, mm(0.1)));
        page.begin(Said::Texts);
    }

    /// The row of the table, one number for each of a page.
    fn row(&self) -> usize {
        #[allow(clippy::cast_sign_loss, reason = "rows stand under the top")]
        let down = (self.placed.down.to_mm() * 10.0).max(0.0) as usize;
        1 + self.placed.column * 100_000 + down
    }

    /// The first cell of the row, with its symbol or its line.
    fn begin(&self, page: &mut Page, symbol: String) {
        page.begin(Said::Cell { row: self.row(), is_head: false, symbol: Some(symbol) });
    }

    fn rule(&self, page: &mut Page, measures: &Measures, stroke: Stroke) {
        let y = self.y + self.placed.height;
        page.add(Shape::Line { points: vec![[self.x, y], [self.x + measures.width, y]], stroke });
    }

    pub(super) fn lines_heading(&self, page: &mut Page, measures: &Measures) {
        let size = measures.body * 0.85;
        let base = self.y + measures.row - size * 0.6;
        let [_, _, _, length_at, _] = self.stops;
        page.text([self.x, base], "Outlines and letters", measures.body, Weight::Bold, Align::Left);
        page.text([length_at, base], "Length", size, Weight::Regular, Align::Right);
        self.rule(page, measures, Stroke::solid(Srgb8::BLACK, mm(0.3)));
    }

    pub(super) fn pairs_heading(&self, page: &mut Page, measures: &Measures, show: Show) {
        let base = self.y + measures.row - measures.body * 0.5;
        let title = match show {
            Show::Colours => "Alike to colour-blind eyes: go by code",
            Show::Both | Show::Symbols => "Alike to colour-blind eyes: go by symbol and code",
        };
        let title = typeface::shortened(title, Weight::Bold, measures.body, measures.width);
        page.text([self.x, base], &title, measures.body, Weight::Bold, Align::Left);
        self.rule(page, measures, Stroke::solid(Srgb8::BLACK, mm(0.3)));
    }

    fn swatch(&self, page: &mut Page, measures: &Measures, colour: Srgb8) {
        let Measures { row, .. } = *measures;
        let swatch = Area { x: self.x + row, y: self.y, width: row * 0.8, height: row }.inset(row * 0.07);
        page.add(Shape::Fill { area: swatch, colour });
        page.add(Shape::Frame { area: swatch, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
    }
}

/// One line: its pattern as drawn on the pages, its thread and how long it is in front of the cloth.
pub(super) fn line_row(
    page: &mut Page,
    layout: &Layout,
    measures: &Measures,
    spot: &Spot,
    skeins: &str,
    kind: &Kind,
) {
    let Measures { row, .. } = *measures;
    spot.begin(page, format!("line: {}", kind.pattern().name()));
    let cell = layout.cell.min(row * 0.8);
    let middle = spot.y + row / 2.0;
    let ends = [spot.x + row * 0.05, spot.x + row * 0.95];
    kind.sample(page, layout.options.ink, ends, middle, cell);
    spot.swatch(page, measures, kind.colour());
    let metres = kind.length() * layout.chart.cloth.count.cell().mm() / 1000.0;
    spot.put(page, measures, [&kind.strands(), &format!("{metres:.2} m"), skeins]);
}

/// One needle: its symbol, its thread, its stitches and what to have ready of it.
pub(super) fn needle_row(
    page: &mut Page,
    layout: &Layout,
    measures: &Measures,
    spot: &Spot,
    skeins: &str,
    index: usize,
) {
    let needle = &layout.chart.needles()[index];
    spot.begin(page, format!("symbol: {}", layout.symbols[index].id()));
    if layout.options.show == Show::Colours {
        // No symbol to show: one swatch in the place of both.
        let row = measures.row;
        let area = Area { x: spot.x, y: spot.y, width: row * 1.8, height: row }.inset(row * 0.07);
        layout.show_needle(page, area, index, Stroke::solid(Srgb8::BLACK, mm(0.15)));
    } else {
        let symbol = symbol_area([spot.x, spot.y], measures.row);
        layout.show_needle(page, symbol, index, Stroke::solid(Srgb8::BLACK, BOX_FRAME));
        spot.swatch(page, measures, needle.colour());
    }
    spot.put(page, measures, [&needle.strands_text(), &thousands(layout.uses[index]), skeins]);
}

pub(super) fn headings(page: &mut Page, measures: &Measures, x: Length, stops: [Length; 5], amount: &str) {
    let size = measures.body * 0.85;
    let y = measures.top - size * 0.6;
    let titles = ["Code", "Name", "Strands", amount, "Skeins"];
    let aligns = [Align::Left, Align::Left, Align::Centre, Align::Right, Align::Right];
    for ((title, align), stop) in titles.into_iter().zip(aligns).zip(stops) {
        page.begin(Said::Cell { row: 0, is_head: true, symbol: None });
        page.text([stop, y], title, size, Weight::Regular, align);
    }
    let rule = vec![[x, measures.top], [x + measures.width, measures.top]];
    page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, mm(0.3)) });
    page.begin(Said::Texts);
}
