//! The key: each symbol with its thread, and how much of it.

use super::eyes;
use super::grid::MARGIN;
use super::lines::{self, Kind};
use super::{Align, Area, Layout, Page, Print, Shape, SheetOptions, Stroke, thousands};
use crate::chart::{Chart, Needle, Thread, WorkedLine};
use crate::cloth::StitchKind;
use crate::colour::Srgb8;
use crate::kit::ThreadUse;
use crate::symbols;
use crate::symbols::AlikePair;
use crate::typeface::{self, Weight};

/// Up to so many needles the key is one broad column.
const ONE_COLUMN: usize = 34;

/// A column of the key is at least so many text sizes wide.
const NARROWEST: f64 = 28.0;

/// The measures of the key on this paper.
pub(super) struct Measures {
    heading: f64,
    pub(super) body: f64,
    pub(super) row: f64,
    columns: usize,
    per_column: usize,
    pub(super) width: f64,
    top: f64,
}

impl Measures {
    fn of(rows: usize, [width, height]: [f64; 2], print: Print) -> Self {
        // Where the page is narrow, text is smaller, so that its columns stand apart.
        let narrow = |size: f64, parts: f64| size.min((width - 2.0 * MARGIN) / parts);
        let (heading, body) = (narrow(print.text(18.0), 10.0), narrow(print.text(10.0), NARROWEST));
        let row = body * 1.95;
        let top = MARGIN + heading * 1.3 + body * 2.2;
        let note = body * 5.6;
        #[allow(clippy::cast_sign_loss, reason = "paper is taller than its margins")]
        let per_column = (((height - MARGIN - note - top) / row).floor() as usize).max(1);
        let wide_enough = width - 2.0 * MARGIN > 55.0 * body;
        let columns = if rows > ONE_COLUMN.min(per_column) && wide_enough { 2 } else { 1 };
        let room = (width - 2.0 * MARGIN - (columns as f64 - 1.0) * 6.0) / columns as f64;
        // Wider, the eye would lose its row between name and figures.
        let width = room.min(45.0 * body);
        Self { heading, body, row, columns, per_column, width, top }
    }

    fn per_page(&self) -> usize {
        self.columns * self.per_column
    }

    /// The top left of a row. The place on the page counts down the first column, then the second.
    fn top_left(&self, place: usize) -> [f64; 2] {
        let x = MARGIN + (place / self.per_column) as f64 * (self.width + 6.0);
        [x, self.top + (place % self.per_column) as f64 * self.row]
    }

    /// Where code, name, strands (middle), stitches and skeins (right ends) stand from the column's left.
    fn stops(&self, code: f64) -> [f64; 5] {
        let body = self.body;
        let code_from = self.row * 2.0 + body * 0.5;
        [
            code_from,
            code_from + code + body * 0.8,
            self.width - body * 10.4,
            self.width - body * 4.6,
            self.width,
        ]
    }
}

/// What the rows of the key show: needles, then, each under a heading, lines, and pairs that some eyes take for one.
enum Row<'a> {
    Needle(usize),
    LinesHeading,
    Line(Kind<'a>),
    PairsHeading,
    Pairs(eyes::Row<'a>),
}

/// The rows of the key, and how they are set.
pub(super) struct Key<'a> {
    rows: Vec<Row<'a>>,
    measures: Measures,
}

impl<'a> Key<'a> {
    pub(super) fn new(
        chart: &Chart,
        lines: &'a [WorkedLine],
        pairs: &'a [AlikePair],
        options: &SheetOptions,
    ) -> Self {
        Self::on(chart, lines, pairs, options.paper.size(), options.print)
    }

    /// The key as one block on a page so wide, its heading under `top`.
    pub(super) fn on_one_page(
        chart: &Chart,
        lines: &'a [WorkedLine],
        pairs: &'a [AlikePair],
        print: Print,
        [width, top]: [f64; 2],
    ) -> Self {
        let mut key = Self::on(chart, lines, pairs, [width, f64::from(u16::MAX)], print);
        key.measures.per_column = key.rows.len().div_ceil(key.measures.columns);
        key.measures.top += top - MARGIN;
        key
    }

    fn on(
        chart: &Chart,
        lines: &'a [WorkedLine],
        pairs: &'a [AlikePair],
        paper: [f64; 2],
        print: Print,
    ) -> Self {
        let mut rows: Vec<Row> = (0..chart.needles().len()).map(Row::Needle).collect();
        if !lines.is_empty() {
            rows.push(Row::LinesHeading);
            rows.extend(lines::kinds(lines).into_iter().map(Row::Line));
        }
        let measures = Measures::of(rows.len(), paper, print);
        if pairs.is_empty() {
            return Self { rows, measures };
        }
        // How many rows the pairs take depends on how wide they are, and that on the number of rows. They should
        // not cost a page: then fewer are shown.
        let with = |most: usize| {
            let first = eyes::rows(pairs, &measures, most).len() + 1;
            let measures = Measures::of(rows.len() + first, paper, print);
            let shown = eyes::rows(pairs, &measures, most);
            let pages = (rows.len() + 1 + shown.len()).div_ceil(measures.per_page());
            (pages, shown, measures)
        };
        let pages = rows.len().div_ceil(measures.per_page());
        let fewest = (1..=eyes::MOST_ROWS).rev().map(with).find(|(with_pairs, ..)| *with_pairs == pages);
        let (_, shown, measures) = fewest.unwrap_or_else(|| with(eyes::MOST_ROWS));
        rows.push(Row::PairsHeading);
        rows.extend(shown.into_iter().map(Row::Pairs));
        Self { rows, measures }
    }

    /// How many pages the key takes.
    pub(super) fn page_count(&self) -> usize {
        self.rows.len().div_ceil(self.measures.per_page()).max(1)
    }

    /// Where the rows end that stand on one page.
    pub(super) fn bottom(&self) -> f64 {
        self.measures.top + self.measures.per_column.min(self.rows.len()) as f64 * self.measures.row
    }

    /// The pages of the key.
    pub(super) fn pages(&self, layout: &Layout, uses: &[ThreadUse]) -> Vec<Page> {
        (0..self.page_count())
            .map(|index| {
                let mut page = Page::new(layout.options.paper.size());
                self.draw(&mut page, layout, uses, index);
                notes(&mut page, layout, &self.measures);
                page
            })
            .collect()
    }

    /// Draws the rows of one page; gives the places of the needles among them.
    pub(super) fn draw(
        &self,
        page: &mut Page,
        layout: &Layout,
        uses: &[ThreadUse],
        index: usize,
    ) -> Vec<(usize, Area)> {
        let Self { rows, measures } = self;
        let count = self.page_count();
        let heading =
            if count == 1 { "Key".to_owned() } else { format!("Key, part {} of {count}", index + 1) };
        let y = measures.top - measures.body * 2.2 - measures.heading * 0.3;
        page.text([MARGIN, y], &heading, measures.heading, Weight::Bold, Align::Left);
        let shown = rows.iter().skip(index * measures.per_page()).take(measures.per_page());
        let mut places = Vec::new();
        for (place, row) in shown.enumerate() {
            let spot = Spot::of(layout, measures, place);
            if place.is_multiple_of(measures.per_column) && !row.is_of_pairs() {
                headings(page, measures, spot.x, spot.stops);
            }
            match row {
                Row::Needle(needle) => {
                    needle_row(page, layout, measures, &spot, uses, *needle);
                    let Measures { width, row: height, .. } = *measures;
                    places.push((*needle, Area { x: spot.x, y: spot.y, width, height }));
                }
                Row::LinesHeading => spot.lines_heading(page, measures),
                Row::Line(kind) => line_row(page, layout, measures, &spot, uses, kind),
                Row::PairsHeading => spot.pairs_heading(page, measures),
                Row::Pairs(row) => row.draw(page, layout, measures, [spot.x, spot.y]),
            }
        }
        places
    }
}

/// Where the box of each needle's symbol stands: the page of the key, from 0, and the place on it.
pub(crate) fn symbol_areas(
    chart: &Chart,
    lines: &[WorkedLine],
    options: &SheetOptions,
) -> Vec<(usize, Area)> {
    let pairs = symbols::alike(chart);
    let Key { measures, .. } = Key::new(chart, lines, &pairs, options);
    (0..chart.needles().len())
        .map(|needle| {
            let place = needle % measures.per_page();
            (needle / measures.per_page(), symbol_area(measures.top_left(place), &measures))
        })
        .collect()
}

fn symbol_area([x, y]: [f64; 2], measures: &Measures) -> Area {
    let row = measures.row;
    Area { x, y, width: row, height: row }.inset(row * 0.07)
}

impl Row<'_> {
    fn is_of_pairs(&self) -> bool {
        matches!(self, Self::PairsHeading | Self::Pairs(_))
    }
}

/// Where a row stands: its top left, its base line and its stops.
struct Spot {
    x: f64,
    y: f64,
    base: f64,
    stops: [f64; 5],
}

impl Spot {
    fn of(layout: &Layout, measures: &Measures, place: usize) -> Self {
        let Measures { body, row, .. } = *measures;
        let [x, y] = measures.top_left(place);
        let stops = measures.stops(code_width(layout, measures)).map(|stop| x + stop);
        Self { x, y, base: y + row / 2.0 + body * 0.34, stops }
    }

    fn put(&self, page: &mut Page, measures: &Measures, texts: [&str; 5]) {
        let body = measures.body;
        let [code_at, name_at, strands_at, stitches_at, skeins_at] = self.stops;
        let mut put = |at: f64, text: &str, weight: Weight, align: Align, limit: f64| {
            let (text, _) = typeface::showable(text);
            let text = typeface::shortened(&text, weight, body, limit);
            page.text([at, self.base], &text, body, weight, align);
        };
        let [code, name, strands, stitches, skeins] = texts;
        put(code_at, code, Weight::Bold, Align::Left, name_at - code_at - body * 0.4);
        put(name_at, name, Weight::Regular, Align::Left, strands_at - body * 1.6 - name_at);
        put(strands_at, strands, Weight::Regular, Align::Centre, body * 3.0);
        put(stitches_at, stitches, Weight::Regular, Align::Right, body * 5.0);
        put(skeins_at, skeins, Weight::Regular, Align::Right, body * 3.0);
        let rule = vec![[self.x, self.y + measures.row], [self.x + measures.width, self.y + measures.row]];
        let stroke = Stroke::solid(Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 }, 0.1);
        page.add(Shape::Line { points: rule, stroke });
    }

    fn lines_heading(&self, page: &mut Page, measures: &Measures) {
        let size = measures.body * 0.85;
        let base = self.y + measures.row - size * 0.6;
        let [_, _, _, length_at, _] = self.stops;
        page.text([self.x, base], "Lines of backstitch", measures.body, Weight::Bold, Align::Left);
        page.text([length_at, base], "Length", size, Weight::Regular, Align::Right);
        let y = self.y + measures.row;
        let rule = vec![[self.x, y], [self.x + measures.width, y]];
        page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, 0.3) });
    }

    fn pairs_heading(&self, page: &mut Page, measures: &Measures) {
        let base = self.y + measures.row - measures.body * 0.5;
        let title = "Alike to colour-blind eyes: go by symbol and code";
        let title = typeface::shortened(title, Weight::Bold, measures.body, measures.width);
        page.text([self.x, base], &title, measures.body, Weight::Bold, Align::Left);
        let y = self.y + measures.row;
        let rule = vec![[self.x, y], [self.x + measures.width, y]];
        page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, 0.3) });
    }

    fn swatch(&self, page: &mut Page, measures: &Measures, colour: Srgb8) {
        let Measures { row, .. } = *measures;
        let swatch = Area { x: self.x + row, y: self.y, width: row * 0.8, height: row }.inset(row * 0.07);
        page.add(Shape::Fill { area: swatch, colour });
        page.add(Shape::Frame { area: swatch, stroke: Stroke::solid(Srgb8::BLACK, 0.15) });
    }
}

fn skeins<'a>(threads: impl IntoIterator<Item = &'a Thread>, uses: &[ThreadUse]) -> String {
    let skeins: Vec<String> = threads
        .into_iter()
        .filter_map(|thread| uses.iter().find(|thread_use| thread_use.code == thread.code))
        .map(|thread_use| thread_use.skeins().to_string())
        .collect();
    skeins.join(" + ")
}

/// One line: its pattern as drawn on the pages, its thread and how long it is in front of the cloth.
fn line_row(
    page: &mut Page,
    layout: &Layout,
    measures: &Measures,
    spot: &Spot,
    uses: &[ThreadUse],
    kind: &Kind,
) {
    let Measures { row, .. } = *measures;
    let cell = layout.cell.min(row * 0.8);
    let middle = spot.y + row / 2.0;
    let colour = lines::ink_colour(kind.colour(), layout.options.ink);
    for (aside, stroke) in lines::strokes(kind.pattern(), colour, cell) {
        let y = middle + aside * cell;
        let points = vec![[spot.x + row * 0.05, y], [spot.x + row * 0.95, y]];
        page.add(Shape::Line { points, stroke });
    }
    spot.swatch(page, measures, kind.colour());
    let metres = kind.length() * layout.chart.cloth.count.cell().mm() / 1000.0;
    let texts =
        [kind.code(), kind.text(), kind.strands(), format!("{metres:.2} m"), skeins(kind.threads(), uses)];
    spot.put(page, measures, texts.each_ref().map(String::as_str));
}

fn code_width(layout: &Layout, measures: &Measures) -> f64 {
    let of_needles = layout.chart.needles().iter().map(Needle::code);
    let of_lines = lines::kinds(layout.lines).into_iter().map(|kind| kind.code());
    of_needles
        .chain(of_lines)
        .map(|code| typeface::width(&typeface::showable(&code).0, Weight::Bold, measures.body))
        .fold(measures.body * 2.2, f64::max)
        .min(measures.width * 0.25)
}

/// One needle: its symbol, its thread, its stitches and what to have ready of it.
fn needle_row(
    page: &mut Page,
    layout: &Layout,
    measures: &Measures,
    spot: &Spot,
    uses: &[ThreadUse],
    index: usize,
) {
    let needle = &layout.chart.needles()[index];
    let symbol = symbol_area([spot.x, spot.y], measures);
    layout.show_needle(page, symbol, index, Stroke::solid(Srgb8::BLACK, 0.15));
    spot.swatch(page, measures, needle.colour());
    let name = if needle.threads.len() > 1 {
        let part = |thread: &Thread| format!("{} of {}", thread.strands, thread.name);
        needle.threads.iter().map(part).collect::<Vec<_>>().join(" + ")
    } else {
        needle.name()
    };
    let name = match needle.stitch.words() {
        None => name,
        Some(stitch) => format!("{name}, {stitch}"),
    };
    let texts = [
        needle.code(),
        name,
        needle.strands_text(),
        thousands(layout.uses[index]),
        skeins(&needle.threads, uses),
    ];
    spot.put(page, measures, texts.each_ref().map(String::as_str));
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
    let is_other = |needle: &Needle| needle.stitch != StitchKind::FullCross;
    let corners = if layout.chart.needles().iter().any(is_other) {
        " A stitch that is no full cross has black the corners of its cell in which its legs begin and end."
    } else {
        ""
    };
    let notes = format!(
        "Stitches in all: {}. A skein is what the shade card says, else 8 m of six strands. Thread is reckoned by \
         a working order with 4 cm for each start and end, and a tenth is added. Cells without a symbol stay \
         bare cloth.{corners}",
        thousands(worked)
    );
    let lines = typeface::wrapped(&notes, Weight::Regular, size, page.width - 2.0 * MARGIN, 4);
    let mut y = page.height - MARGIN - (lines.len() as f64 - 0.5) * size * 1.35;
    for line in lines {
        page.text([MARGIN, y], &line, size, Weight::Regular, Align::Left);
        y += size * 1.35;
    }
}
