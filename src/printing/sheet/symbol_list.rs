//! All symbols with their names, to choose from.

use super::measures::MARGIN;
use super::{Align, Area, Page, Paper, Shape, Sheet, Stroke, lists};
use crate::chart::Chart;
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, mm, text_points};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::{self, Weight};

/// A row, and the least width of a column.
const ROW: Length = mm(7.4);
const COLUMN: Length = mm(46.0);

/// Text sizes: 18 and 8.5 points.
const HEADING: Length = text_points(18.0);
const SMALL: Length = text_points(8.5);

/// Pages of every symbol with its name and, where a needle of the chart has it, that needle's code.
#[must_use]
pub fn symbol_list(chart: &Chart, paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let top = MARGIN + HEADING * 1.4;
    let inner = width - 2.0 * MARGIN;
    let columns = inner.holds(COLUMN, 0.0).max(1) as usize;
    let rows = (height - MARGIN - top).holds(ROW, 0.0).max(1) as usize;
    let wide = inner / columns as f64;
    let symbols: Vec<SymbolId> = SymbolId::all().collect();
    let count = symbols.len().div_ceil(columns * rows);
    let pages = symbols.chunks(columns * rows).enumerate().map(|(index, part)| {
        let mut page = Page::new([width, height]);
        lists::heading(&mut page, "Symbols", HEADING, index, count);
        for (place, &symbol) in part.iter().enumerate() {
            let x = MARGIN + (place / rows) as f64 * wide;
            let y = top + (place % rows) as f64 * ROW;
            let area = Area { x, y: y + mm(0.4), width: ROW - mm(0.8), height: ROW - mm(0.8) };
            page.add(Shape::Symbol { area, symbol });
            page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.1)) });
            let left = x + ROW + mm(0.6);
            let needle = chart.needles().iter().find(|needle| needle.symbol == symbol.id());
            let code = needle.map_or_else(String::new, |needle| typeface::showable(&needle.code()).0);
            let room = wide - ROW - mm(2.0);
            let name = typeface::shortened(symbol.id(), Weight::Regular, SMALL, room);
            let first = if code.is_empty() { y + ROW / 2.0 + SMALL * 0.33 } else { y + ROW / 2.0 - mm(0.3) };
            page.text([left, first], &name, SMALL, Weight::Regular, Align::Left);
            if !code.is_empty() {
                let code = typeface::shortened(&code, Weight::Code, SMALL, room);
                page.text([left, first + SMALL * 1.05], &code, SMALL, Weight::Code, Align::Left);
            }
        }
        page
    });
    Sheet::list("Symbols", pages.collect())
}
