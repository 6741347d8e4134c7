//! The end of the key: pairs of threads that some eyes take for one colour, each thread with its symbol.

use super::super::{Align, Area, Layout, Page, Stroke};
use super::Measures;
use crate::ground::colour::{Srgb8, Vision};
use crate::printing::length::{Length, Point, mm};
use crate::printing::symbols::AlikePair;
use crate::printing::typeface::{self, Weight};

/// Rows for each kind of eyes at most; what does not fit is counted. More would make a list that nobody reads.
pub(super) const MOST_ROWS: usize = 3;

/// Some pairs for one kind of eyes.
pub(super) struct Row<'a> {
    vision: Vision,
    /// The first row of its kind says which.
    is_first: bool,
    pairs: Vec<&'a AlikePair>,
    /// Pairs that are left out after this row.
    more: usize,
}

/// How wide the name of the kind stands, and a pair.
struct Stops {
    name: Length,
    symbol: Length,
    code: Length,
    pair: Length,
    columns: usize,
}

impl Stops {
    fn of(pairs: &[AlikePair], measures: &Measures) -> Self {
        let Measures { body, row, width, .. } = *measures;
        let name = body * 6.2;
        let symbol = row * 0.8;
        let widest = |code: &String| typeface::width(&typeface::showable(code).0, Weight::Code, body);
        let code = pairs.iter().flat_map(|pair| &pair.codes).map(widest).fold(body, Length::max);
        // Two symbols, two codes, what stands between them, and the gap to the next pair.
        let beside = 2.0 * symbol + body * 2.7;
        let code = code.min((width - name - beside) / 2.0);
        let pair = beside + 2.0 * code;
        let columns = (width - name).holds(pair, 1e-9).max(1) as usize;
        Self { name, symbol, code, pair, columns }
    }
}

/// Rows of pairs for each kind of eyes, at most so many, the most alike first.
pub(super) fn rows<'a>(pairs: &'a [AlikePair], measures: &Measures, most: usize) -> Vec<Row<'a>> {
    let stops = Stops::of(pairs, measures);
    let mut rows = Vec::new();
    for vision in Vision::ALL {
        let mut own: Vec<(f64, &AlikePair)> = pairs
            .iter()
            .flat_map(|pair| pair.to.iter().map(move |(to, apart)| (*to, *apart, pair)))
            .filter(|(to, ..)| *to == vision)
            .map(|(_, apart, pair)| (apart, pair))
            .collect();
        own.sort_by(|a, b| a.0.total_cmp(&b.0));
        let room = stops.columns * most;
        // The count of the rest takes the place of a pair.
        let shown = if own.len() > room { (room - 1).max(1) } else { own.len() };
        let more = own.len() - shown;
        let parts: Vec<_> = own[..shown].chunks(stops.columns).collect();
        for (index, part) in parts.iter().enumerate() {
            rows.push(Row {
                vision,
                is_first: index == 0,
                pairs: part.iter().map(|(_, pair)| *pair).collect(),
                more: if index + 1 == parts.len() && part.len() < stops.columns { more } else { 0 },
            });
        }
        // Where each row is full, the count has one of its own.
        if more > 0 && parts.last().is_some_and(|part| part.len() == stops.columns) {
            rows.push(Row { vision, is_first: false, pairs: Vec::new(), more });
        }
    }
    rows
}

impl Row<'_> {
    pub(super) fn draw(&self, page: &mut Page, layout: &Layout, measures: &Measures, [x, y]: Point) {
        let Measures { body, row, .. } = *measures;
        let stops = Stops::of(layout.alike, measures);
        let base = y + row / 2.0 + body * 0.34;
        if self.is_first {
            page.text([x, base], self.vision.plain_name(), body, Weight::Regular, Align::Left);
        }
        let mut left = x + stops.name;
        for pair in &self.pairs {
            let mut at = left;
            for (needle, code) in pair.needles.into_iter().zip(&pair.codes) {
                let area = Area { x: at, y: y + row * 0.1, width: stops.symbol, height: stops.symbol };
                layout.show_needle(page, area, needle, Stroke::solid(Srgb8::BLACK, mm(0.15)));
                let (code, _) = typeface::showable(code);
                let code = typeface::shortened(&code, Weight::Code, body, stops.code);
                let from = at + stops.symbol + body * 0.25;
                page.text([from, base], &code, body, Weight::Code, Align::Left);
                at = from + stops.code + body * 0.35;
            }
            left += stops.pair;
        }
        if self.more > 0 {
            let text = format!("+ {} more", self.more);
            let limit = x + measures.width - left;
            let text = typeface::shortened(&text, Weight::Regular, body, limit);
            page.text([left, base], &text, body, Weight::Regular, Align::Left);
        }
    }
}
