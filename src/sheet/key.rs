//! The key: each symbol with its thread, and how much of it.

use super::grid::MARGIN;
use super::{Align, Area, Layout, Page, Shape, SheetOptions, Stroke, thousands};
use crate::chart::Chart;
use crate::colour::Srgb8;
use crate::kit::ThreadUse;
use crate::typeface::{self, Weight};

/// Up to so many needles the key is one broad column.
const ONE_COLUMN: usize = 34;

/// The measures of the key on this paper.
struct Measures {
    heading: f64,
    body: f64,
    row: f64,
    columns: usize,
    per_column: usize,
    width: f64,
    top: f64,
}

impl Measures {
    fn of(needles: usize, options: &SheetOptions) -> Self {
        let [width, height] = options.paper.size();
        let (heading, body) = (options.print.text(18.0), options.print.text(10.0));
        let row = body * 1.95;
        let top = MARGIN + heading * 1.3 + body * 2.2;
        let note = body * 5.6;
        #[allow(clippy::cast_sign_loss, reason = "paper is taller than its margins")]
        let per_column = (((height - MARGIN - note - top) / row).floor() as usize).max(1);
        let wide_enough = width - 2.0 * MARGIN > 55.0 * body;
        let columns = if needles > ONE_COLUMN.min(per_column) && wide_enough { 2 } else { 1 };
        let room = (width - 2.0 * MARGIN - (columns as f64 - 1.0) * 6.0) / columns as f64;
        // Wider, the eye would lose its row between name and figures.
        let width = room.min(45.0 * body);
        Self { heading, body, row, columns, per_column, width, top }
    }

    fn per_page(&self) -> usize {
        self.columns * self.per_column
    }

    /// Where code, name, strands (middle), stitches and skeins (right ends) stand from the column's left.
    fn stops(&self, code: f64) -> [f64; 5] {
        let body = self.body;
        let code_from = self.row * 2.0 + body * 0.5;
        [
            code_from,
            code_from + code + body * 0.8,
            self.width - body * 8.4,
            self.width - body * 2.9,
            self.width,
        ]
    }
}

/// How many pages the key takes.
pub(super) fn page_count(chart: &Chart, options: &SheetOptions) -> usize {
    let needles = chart.needles().len();
    needles.div_ceil(Measures::of(needles, options).per_page()).max(1)
}

/// The pages of the key.
pub(super) fn pages(layout: &Layout, uses: &[ThreadUse]) -> Vec<Page> {
    let needles = layout.chart.needles().len();
    let measures = Measures::of(needles, layout.options);
    let count = page_count(layout.chart, layout.options);
    (0..count)
        .map(|index| {
            let mut page = Page::new(layout.options.paper.size());
            let heading =
                if count == 1 { "Key".to_owned() } else { format!("Key, part {} of {count}", index + 1) };
            let y = MARGIN + measures.heading;
            page.text([MARGIN, y], &heading, measures.heading, Weight::Bold, Align::Left);
            let first = index * measures.per_page();
            for needle in first..(first + measures.per_page()).min(needles) {
                row(&mut page, layout, &measures, uses, needle, needle - first);
            }
            notes(&mut page, layout, &measures);
            page
        })
        .collect()
}

fn code_width(layout: &Layout, measures: &Measures) -> f64 {
    let codes = layout.chart.needles().iter();
    codes
        .map(|needle| typeface::width(&typeface::showable(&needle.code()).0, Weight::Bold, measures.body))
        .fold(measures.body * 2.2, f64::max)
        .min(measures.width * 0.25)
}

/// One needle: its place on the page counts down the first column, then the second.
fn row(
    page: &mut Page,
    layout: &Layout,
    measures: &Measures,
    uses: &[ThreadUse],
    needle: usize,
    place: usize,
) {
    let Measures { body, row, width, top, per_column, .. } = *measures;
    let x = MARGIN + (place / per_column) as f64 * (width + 6.0);
    let y = top + (place % per_column) as f64 * row;
    let stops = measures.stops(code_width(layout, measures)).map(|stop| x + stop);
    if place.is_multiple_of(per_column) {
        headings(page, measures, x, stops);
    }
    let index = needle;
    let needle = &layout.chart.needles()[needle];
    let symbol = Area { x, y, width: row, height: row }.inset(row * 0.07);
    if let Some(colour) = layout.tint_of(index) {
        page.add(Shape::Fill { area: symbol, colour });
    }
    page.add(Shape::Symbol { area: symbol, symbol: layout.symbols[index] });
    page.add(Shape::Frame { area: symbol, stroke: Stroke::solid(Srgb8::BLACK, 0.15) });
    let swatch = Area { x: x + row, y, width: row * 0.8, height: row }.inset(row * 0.07);
    page.add(Shape::Fill { area: swatch, colour: needle.colour() });
    page.add(Shape::Frame { area: swatch, stroke: Stroke::solid(Srgb8::BLACK, 0.15) });

    let base = y + row / 2.0 + body * 0.34;
    let [code_at, name_at, strands_at, stitches_at, skeins_at] = stops;
    let mut put = |at: f64, text: &str, weight: Weight, align: Align, limit: f64| {
        let (text, _) = typeface::showable(text);
        let text = typeface::shortened(&text, weight, body, limit);
        page.text([at, base], &text, body, weight, align);
    };
    put(code_at, &needle.code(), Weight::Bold, Align::Left, name_at - code_at - body * 0.4);
    let name = if needle.threads.len() > 1 {
        let part = |thread: &crate::chart::Thread| format!("{} of {}", thread.strands, thread.name);
        needle.threads.iter().map(part).collect::<Vec<_>>().join(" + ")
    } else {
        needle.name()
    };
    put(name_at, &name, Weight::Regular, Align::Left, strands_at - body * 1.6 - name_at);
    put(strands_at, &needle.strands_text(), Weight::Regular, Align::Centre, body * 3.0);
    put(stitches_at, &thousands(layout.uses[index]), Weight::Regular, Align::Right, body * 5.0);
    let skeins: Vec<String> = needle
        .threads
        .iter()
        .filter_map(|thread| uses.iter().find(|thread_use| thread_use.code == thread.code))
        .map(|thread_use| thread_use.skeins().to_string())
        .collect();
    put(skeins_at, &skeins.join(" + "), Weight::Regular, Align::Right, body * 3.0);
    let rule = vec![[x, y + row], [x + width, y + row]];
    let stroke = Stroke::solid(Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 }, 0.1);
    page.add(Shape::Line { points: rule, stroke });
}

fn headings(page: &mut Page, measures: &Measures, x: f64, stops: [f64; 5]) {
    let size = measures.body * 0.85;
    let y = measures.top - size * 0.6;
    let titles = ["Code", "Name", "Strands", "Stitches", "Skeins"];
    let aligns = [Align::Left, Align::Left, Align::Centre, Align::Right, Align::Right];
    for ((title, align), stop) in titles.into_iter().zip(aligns).zip(stops) {
        page.text([stop, y], title, size, Weight::Regular, align);
    }
    let rule = vec![[x, measures.top], [x + measures.width, measures.top]];
    page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, 0.3) });
}

/// What the figures mean, at the foot.
fn notes(page: &mut Page, layout: &Layout, measures: &Measures) {
    let size = measures.body * 0.9;
    let worked: u64 = layout.uses.iter().sum();
    let notes = format!(
        "Stitches in all: {}. A skein is what the shade card says, else 8 m of six strands; 20 % is added to \
         the geometry of the stitches for starts, ends and travels. Cells without a symbol stay bare cloth.",
        thousands(worked)
    );
    let lines = typeface::wrapped(&notes, Weight::Regular, size, page.width - 2.0 * MARGIN, 4);
    let mut y = page.height - MARGIN - (lines.len() as f64 - 0.5) * size * 1.35;
    for line in lines {
        page.text([MARGIN, y], &line, size, Weight::Regular, Align::Left);
        y += size * 1.35;
    }
}
