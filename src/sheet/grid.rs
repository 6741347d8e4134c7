//! The chart pages: cells under rules, with rulers, centre marks, repeats at the joins and a strip of symbols.

use std::collections::BTreeMap;
use std::ops::{Range, RangeInclusive};

use super::pagination::{self, Plan, with_repeats};
use super::{
    Align, Area, Block, Layer, Layout, Link, Page, Shape, SheetError, SheetOptions, Stroke, SymbolRun,
    TintedCells,
};
use crate::chart::Chart;
use crate::cloth::Corner;
use crate::colour::Srgb8;
use crate::sheet::{MM_PER_POINT, Print};
use crate::symbols::SymbolId;
use crate::typeface::{self, Weight};

/// The cell sides that can be asked for, in millimetres: under 1.5 mm (0.2 degrees at 400 mm is 1.4 mm: Legge
/// & Bigelow 2011) nobody reads on; over 10 mm is a wall chart.
pub const CELL_LIMITS_MM: RangeInclusive<f64> = 1.5..=10.0;

/// The side of a cell where none is asked for. Its symbol then stands over 2 mm tall, 16 to 18 minutes of
/// arc at 400 mm (ISO 9241-3 asks for 16 at least).
const USUAL_CELL_MM: f64 = 3.0;

/// As wide as a cell grows to fill its paper.
const WIDEST_CELL_MM: f64 = 4.5;

/// The margin that home printers leave white: 6 mm is safe (common practice, no source); 8 leaves room for
/// paper that is fed askew.
pub(super) const MARGIN: f64 = 8.0;

/// More pages than anybody would stitch from, and a bound on memory.
const MAX_PAGES: usize = 2000;

const GHOST_TINT: Srgb8 = Srgb8 { r: 0xe6, g: 0xe6, b: 0xe6 };
/// 7.8:1 on [`GHOST_TINT`].
const GHOST_INK: Srgb8 = Srgb8 { r: 0x44, g: 0x44, b: 0x44 };
const THIN_RULE: Srgb8 = Srgb8 { r: 0x80, g: 0x80, b: 0x80 };

/// The height in millimetres of the triangles that mark the middle.
const CENTRE_MARK: f64 = 1.9;

/// The measures of a chart page that do not depend on its cells.
struct Measures {
    header: f64,
    ruler: f64,
    small: f64,
    strip_row: f64,
}

impl Measures {
    fn of(print: Print) -> Self {
        match print {
            Print::Usual => Self { header: 13.5, ruler: 5.6, small: 8.0 * MM_PER_POINT, strip_row: 4.7 },
            Print::Large => Self { header: 19.5, ruler: 8.6, small: 16.0 * MM_PER_POINT, strip_row: 7.6 },
        }
    }
}

/// How the strip of symbols is set: so many columns of so wide entries, with names or without.
struct Strip {
    columns: usize,
    width: f64,
    named: bool,
}

impl Strip {
    /// Entries with names where at most 30 needles share the chart's page; codes alone for more.
    fn new(chart: &Chart, most: usize, room: f64, measures: &Measures) -> Self {
        let codes = chart.needles().iter().map(|needle| code_width(&needle.code(), measures));
        let code = codes.fold(measures.small, f64::max).min(room / 2.0 - measures.strip_row);
        let bare = measures.strip_row + code + 2.0;
        let named = bare + 13.0 * measures.small / 2.2;
        let fits = |width: f64| {
            #[allow(clippy::cast_sign_loss, reason = "both are positive")]
            let columns = (room / width).floor() as usize;
            columns.max(1)
        };
        let columns = fits(named);
        if most.div_ceil(columns) <= 6 {
            Self { columns, width: room / columns as f64, named: true }
        } else {
            let columns = fits(bare);
            Self { columns, width: room / columns as f64, named: false }
        }
    }

    fn rows(&self, entries: usize) -> usize {
        entries.div_ceil(self.columns)
    }
}

fn code_width(code: &str, measures: &Measures) -> f64 {
    typeface::width(code, Weight::Bold, measures.small)
}

/// The room for cells on a page, in millimetres, with `strip_rows` rows of symbols at its foot.
fn room(paper: [f64; 2], measures: &Measures, strip_rows: usize) -> [f64; 2] {
    let [width, height] = paper;
    let strip = strip_rows as f64 * measures.strip_row + 2.5;
    [
        width - 2.0 * MARGIN - 2.0 * measures.ruler,
        height - 2.0 * MARGIN - measures.header - 2.0 * measures.ruler - strip,
    ]
}

fn turned(paper: [f64; 2], turned: bool) -> [f64; 2] {
    let [width, height] = paper;
    if turned { [height, width] } else { [width, height] }
}

/// The most needles that any page of the plan shows, repeats counted.
fn most_needles(chart: &Chart, plan: &Plan) -> usize {
    let size = chart.size();
    let mut most = 0;
    for rows in &plan.rows {
        for columns in &plan.columns {
            let columns = with_repeats(columns, size.columns());
            let rows = with_repeats(rows, size.rows());
            most = most.max(needles_in(chart, &columns, &rows).len());
        }
    }
    most
}

/// The needles used in a part of the chart, in the order of the key.
fn needles_in(chart: &Chart, columns: &Range<u32>, rows: &Range<u32>) -> Vec<usize> {
    let mut used = vec![false; chart.needles().len()];
    for row in rows.clone() {
        let cells = chart.row(row as usize);
        for cell in cells.get(columns.start as usize..columns.end as usize).unwrap_or_default() {
            if let Some(needle) = cell.needle() {
                used[needle] = true;
            }
        }
    }
    (0..used.len()).filter(|&needle| used[needle]).collect()
}

/// Cuts the chart into pages and settles the side of a cell.
pub(super) fn plan(chart: &Chart, options: &SheetOptions) -> Result<(Plan, f64), SheetError> {
    let asked = options.cell.map(|cell| cell.mm());
    if let Some(mm) = asked
        && !CELL_LIMITS_MM.contains(&mm)
    {
        return Err(SheetError::Cell { mm });
    }
    let least = match options.print {
        Print::Usual => USUAL_CELL_MM,
        Print::Large => 4.5,
    };
    let cell = asked.unwrap_or(least);
    let needles = chart.needles().len();
    let upright = try_plan(chart, options, cell, false);
    let turned = try_plan(chart, options, cell, true);
    let plan = match (upright, turned) {
        (Some(upright), Some(turned)) if turned.pages() < upright.pages() => turned,
        (Some(upright), _) => upright,
        (None, Some(turned)) => turned,
        (None, None) => return Err(SheetError::NoRoom { mm: cell, needles }),
    };
    if plan.pages() > MAX_PAGES {
        return Err(SheetError::TooManyPages { pages: plan.pages(), limit: MAX_PAGES });
    }
    let cell = if asked.is_some() { cell } else { grown(chart, options, &plan, cell) };
    Ok((plan, cell))
}

/// The plan at one way of laying the paper. The strip's height depends on the pages and the pages on the
/// strip's height: begin with room for every needle, then see what the fullest page needs.
fn try_plan(chart: &Chart, options: &SheetOptions, cell: f64, on_its_side: bool) -> Option<Plan> {
    let measures = Measures::of(options.print);
    let paper = turned(options.paper.size(), on_its_side);
    let width = paper[0] - 2.0 * MARGIN;
    let size = chart.size();
    let mut most = chart.needles().len();
    let mut best: Option<Plan> = None;
    for _ in 0..2 {
        let rows = Strip::new(chart, most, width, &measures).rows(most);
        let [across, down] = room(paper, &measures, rows).map(|mm| (mm / cell + 1e-9).floor().max(0.0));
        #[allow(clippy::cast_sign_loss, reason = "not below zero by the line above")]
        let (across, down) = (across as u32, down as u32);
        let Some(columns) = pagination::cut(size.columns(), across) else { break };
        let Some(rows_cut) = pagination::cut(size.rows(), down) else { break };
        let plan = Plan { columns, rows: rows_cut, turned: on_its_side };
        let needed = most_needles(chart, &plan);
        let fewer = best.as_ref().is_none_or(|best| plan.pages() < best.pages());
        // A plan made with less strip must still hold its own needles.
        if fewer && Strip::new(chart, needed, width, &measures).rows(needed) <= rows {
            best = Some(plan);
        }
        most = needed;
    }
    best
}

/// The cell as large as the pages of a plan can hold it, down to a twentieth of a millimetre.
fn grown(chart: &Chart, options: &SheetOptions, plan: &Plan, cell: f64) -> f64 {
    let measures = Measures::of(options.print);
    let paper = turned(options.paper.size(), plan.turned);
    let most = most_needles(chart, plan);
    let strip = Strip::new(chart, most, paper[0] - 2.0 * MARGIN, &measures).rows(most);
    let [width, height] = room(paper, &measures, strip);
    let size = chart.size();
    let across = width / f64::from(pagination::longest(&plan.columns, size.columns()));
    let down = height / f64::from(pagination::longest(&plan.rows, size.rows()));
    let widest = across.min(down).min(WIDEST_CELL_MM.max(cell));
    ((widest * 20.0).floor() / 20.0).max(cell)
}

/// A chart page.
pub(super) fn page(layout: &Layout, across: usize, down: usize) -> Page {
    let measures = Measures::of(layout.options.print);
    let paper = turned(layout.options.paper.size(), layout.plan.turned);
    let mut page = Page::new(paper);
    let size = layout.chart.size();
    let own = [layout.plan.columns[across].clone(), layout.plan.rows[down].clone()];
    let shown = [with_repeats(&own[0], size.columns()), with_repeats(&own[1], size.rows())];
    let needles = needles_in(layout.chart, &shown[0], &shown[1]);
    let most = most_needles(layout.chart, &layout.plan);
    let strip = Strip::new(layout.chart, most, paper[0] - 2.0 * MARGIN, &measures);
    let [room_across, _] = room(paper, &measures, strip.rows(most));
    let block = Block {
        x: MARGIN + measures.ruler + (room_across - shown[0].len() as f64 * layout.cell) / 2.0,
        y: MARGIN + measures.header + measures.ruler,
        cell: layout.cell,
        columns: shown[0].len() as u32,
        rows: shown[1].len() as u32,
    };
    let part = Part { layout, block, own, shown, measures: &measures };
    part.header(&mut page, across, down);
    part.cells(&mut page);
    part.rules(&mut page);
    super::lines::draw(&mut page, layout, &part.block, [part.shown[0].start, part.shown[1].start]);
    part.rulers(&mut page);
    part.centre(&mut page);
    part.strip(&mut page, &strip, &needles);
    page
}

/// The part of the chart that a page shows, and where.
struct Part<'a> {
    layout: &'a Layout<'a>,
    block: Block,
    /// Columns and rows of this page alone.
    own: [Range<u32>; 2],
    /// The same with repeats.
    shown: [Range<u32>; 2],
    measures: &'a Measures,
}

impl Part<'_> {
    fn area(&self) -> Area {
        let Block { x, y, cell, columns, rows } = self.block;
        Area { x, y, width: f64::from(columns) * cell, height: f64::from(rows) * cell }
    }

    /// The place of the line before a column (or row) of the chart.
    fn line_x(&self, column: f64) -> f64 {
        self.block.x + (column - f64::from(self.shown[0].start)) * self.block.cell
    }

    fn line_y(&self, row: f64) -> f64 {
        self.block.y + (row - f64::from(self.shown[1].start)) * self.block.cell
    }

    fn header(&self, page: &mut Page, across: usize, down: usize) {
        let layout = self.layout;
        let small = self.measures.small;
        let large = small * 1.45;
        let neighbours = neighbours(layout, across, down);
        let compass = 5.0 * small * 2.0;
        let room = page.width - 2.0 * MARGIN - compass - 4.0;
        let title = typeface::shortened(&layout.title, Weight::Bold, large, room);
        page.text([MARGIN, MARGIN + large * 0.85], &title, large, Weight::Bold, Align::Left);
        let [columns, rows] = &self.own;
        let place = format!(
            "columns {} to {}, rows {} to {}",
            columns.start + 1,
            columns.end,
            rows.start + 1,
            rows.end
        );
        let number = layout.page_of(across, down) + 1;
        let text = format!("Page {number} of {}: {place}", layout.pages);
        let text = typeface::shortened(&text, Weight::Regular, small * 1.15, room);
        let y = MARGIN + large * 0.85 + small * 1.6;
        page.text([MARGIN, y], &text, small * 1.15, Weight::Regular, Align::Left);
        self.compass(page, compass, number, neighbours);
    }

    /// The page's own number among those of its neighbours, each with an arrow that leads there.
    fn compass(&self, page: &mut Page, width: f64, number: usize, neighbours: [Option<usize>; 4]) {
        let small = self.measures.small;
        let pitch = small * 1.32;
        let middle = page.width - MARGIN - width / 2.0;
        let places: [[f64; 2]; 4] = [[0.0, -pitch], [width * 0.34, 0.0], [0.0, pitch], [-width * 0.34, 0.0]];
        let line = MARGIN + pitch + small * 0.75;
        page.text([middle, line], &number.to_string(), small, Weight::Bold, Align::Centre);
        let frame = Area {
            x: middle - width * 0.15,
            y: line - small * 0.95,
            width: width * 0.3,
            height: small * 1.25,
        };
        page.add(Shape::Frame { area: frame, stroke: Stroke::solid(Srgb8::BLACK, 0.25) });
        for (direction, (target, [dx, dy])) in neighbours.into_iter().zip(places).enumerate() {
            let Some(target) = target else { continue };
            let (x, y) = (middle + dx, line + dy);
            let text = (target + 1).to_string();
            let half = typeface::width(&text, Weight::Regular, small) / 2.0;
            page.text([x + small * 0.5, y], &text, small, Weight::Regular, Align::Centre);
            let tip = [x - half - small * 0.1, y - small * 0.33];
            page.add(arrow(tip, small * 0.36, direction));
            let area = Area { x: x - width * 0.16, y: y - small, width: width * 0.32, height: small * 1.3 };
            page.links.push(Link { area, page: target });
        }
    }

    fn cells(&self, page: &mut Page) {
        let chart = self.layout.chart;
        let mut tints: BTreeMap<usize, Vec<[u32; 4]>> = BTreeMap::new();
        let (mut plain, mut ghosts) = (Vec::new(), Vec::new());
        let kinds: Vec<Vec<Corner>> =
            chart.needles().iter().map(|needle| needle.stitch.marked_corners()).collect();
        let mut corners = [Vec::new(), Vec::new()];
        for row in self.shown[1].clone() {
            let cells = chart.row(row as usize);
            let y = row - self.shown[1].start;
            let ghost_row = !self.own[1].contains(&row);
            let mut column = self.shown[0].start;
            while column < self.shown[0].end {
                let start = column;
                let ghost = |column: u32| ghost_row || !self.own[0].contains(&column);
                let cell = cells[column as usize];
                while column < self.shown[0].end
                    && cells[column as usize] == cell
                    && ghost(column) == ghost(start)
                {
                    column += 1;
                }
                let (x, length) = (start - self.shown[0].start, column - start);
                let Some(needle) = cell.needle() else { continue };
                let symbol = self.layout.symbols[needle];
                let runs = if ghost(start) { &mut ghosts } else { &mut plain };
                push_symbols(runs, x, y, symbol, length);
                corners[usize::from(ghost(start))].extend(
                    (x..x + length)
                        .flat_map(|column| kinds[needle].iter().map(move |&corner| ([column, y], corner))),
                );
                if !ghost(start) {
                    tints.entry(needle).or_default().push([x, y, length, 1]);
                }
            }
        }
        self.ghost_bands(page);
        let mut by_colour: BTreeMap<Srgb8, Vec<[u32; 4]>> = BTreeMap::new();
        for (needle, rects) in tints {
            if let Some(colour) = self.layout.tint_of(needle) {
                by_colour.entry(colour).or_default().extend(rects);
            }
        }
        let tints = by_colour.into_iter().map(|(colour, rects)| TintedCells { colour, rects }).collect();
        let block = self.block;
        page.add_in(Layer::Tints, Shape::Tints { block, tints });
        page.add_in(Layer::Base, Shape::Symbols { block, runs: plain, colour: Srgb8::BLACK });
        page.add_in(Layer::Base, Shape::Symbols { block, runs: ghosts, colour: GHOST_INK });
        for (corners, colour) in corners.into_iter().zip([Srgb8::BLACK, GHOST_INK]) {
            if !corners.is_empty() {
                page.add_in(Layer::Base, Shape::Corners { block, corners, colour });
            }
        }
    }

    /// The greyed ground of the repeated columns and rows.
    fn ghost_bands(&self, page: &mut Page) {
        let area = self.area();
        let left = self.line_x(f64::from(self.own[0].start));
        let right = self.line_x(f64::from(self.own[0].end));
        let top = self.line_y(f64::from(self.own[1].start));
        let bottom = self.line_y(f64::from(self.own[1].end));
        let bands = [
            Area { width: left - area.x, ..area },
            Area { x: right, width: area.right() - right, ..area },
            Area { x: left, width: right - left, height: top - area.y, ..area },
            Area { x: left, y: bottom, width: right - left, height: area.bottom() - bottom },
        ];
        for area in bands.into_iter().filter(|area| area.width > 1e-6 && area.height > 1e-6) {
            page.add_in(Layer::Base, Shape::Fill { area, colour: GHOST_TINT });
        }
    }

    fn rules(&self, page: &mut Page) {
        let area = self.area();
        let size = self.layout.chart.size();
        let thin = Stroke::solid(THIN_RULE, 0.1);
        let bold = Stroke::solid(Srgb8::BLACK, 0.38);
        let is_bold = |line: u32, total: u32| line.is_multiple_of(10) || line == total;
        let mut heavy = Vec::new();
        for column in self.shown[0].start..=self.shown[0].end {
            let x = self.line_x(f64::from(column));
            let points = vec![[x, area.y], [x, area.bottom()]];
            if is_bold(column, size.columns()) {
                heavy.push(points);
            } else {
                page.add_in(Layer::Grid, Shape::Line { points, stroke: thin.clone() });
            }
        }
        for row in self.shown[1].start..=self.shown[1].end {
            let y = self.line_y(f64::from(row));
            let points = vec![[area.x, y], [area.right(), y]];
            if is_bold(row, size.rows()) {
                heavy.push(points);
            } else {
                page.add_in(Layer::Grid, Shape::Line { points, stroke: thin.clone() });
            }
        }
        for points in heavy {
            page.add_in(Layer::Grid, Shape::Line { points, stroke: bold.clone() });
        }
    }

    /// Numbers at every tenth line on all four sides; the line after the last cell has its own.
    fn rulers(&self, page: &mut Page) {
        let area = self.area();
        let size = self.layout.chart.size();
        let text = self.measures.small * 0.95;
        let marks = |shown: &Range<u32>, total: u32| {
            let near_end = |line: u32| total - line < 4 && line != total;
            let numbered = |line: u32| line.is_multiple_of(10) || line == total;
            (shown.start..=shown.end)
                .filter(|&line| line > 0 && numbered(line) && !near_end(line))
                .collect::<Vec<_>>()
        };
        for column in marks(&self.shown[0], size.columns()) {
            let x = self.line_x(f64::from(column));
            let number = column.to_string();
            let above = area.y - 2.3;
            let below = area.bottom() + 2.3 + text * 0.72;
            page.text([x, above], &number, text, Weight::Regular, Align::Centre);
            page.text([x, below], &number, text, Weight::Regular, Align::Centre);
        }
        for row in marks(&self.shown[1], size.rows()) {
            let number = row.to_string();
            // Beside the centre mark, a number steps out of its way.
            let gap = if row * 2 == size.rows() { CENTRE_MARK + 0.5 } else { 1.0 };
            // A long number is set smaller, so that it stays in its ruler.
            let text = text.min((self.measures.ruler + 1.0 - gap) / number.len() as f64 / 0.58);
            let y = self.line_y(f64::from(row)) + text * 0.36;
            page.text([area.x - gap, y], &number, text, Weight::Regular, Align::Right);
            page.text([area.right() + gap, y], &number, text, Weight::Regular, Align::Left);
        }
    }

    /// Triangles at the sides where the middle of the design lies, and a heavier line through it where it
    /// falls between two stitches: through the middle of a stitch it would strike out symbols.
    fn centre(&self, page: &mut Page) {
        let area = self.area();
        let size = self.layout.chart.size();
        let stroke = Stroke { colour: Srgb8::BLACK, width: 0.6, dash: vec![2.4, 1.2] };
        let on_page = |total: u32, own: &Range<u32>| total >= own.start * 2 && total <= own.end * 2;
        let mut mark = |tip: [f64; 2], direction: usize| {
            let points = triangle(tip, CENTRE_MARK, direction);
            page.add_in(Layer::Grid, Shape::Polygon { points, colour: Srgb8::BLACK });
        };
        let mut lines = Vec::new();
        if on_page(size.columns(), &self.own[0]) {
            let x = self.line_x(f64::from(size.columns()) / 2.0);
            mark([x, area.y - 0.2], 2);
            mark([x, area.bottom() + 0.2], 0);
            if size.columns().is_multiple_of(2) {
                lines.push(vec![[x, area.y], [x, area.bottom()]]);
            }
        }
        if on_page(size.rows(), &self.own[1]) {
            let y = self.line_y(f64::from(size.rows()) / 2.0);
            mark([area.x - 0.2, y], 1);
            mark([area.right() + 0.2, y], 3);
            if size.rows().is_multiple_of(2) {
                lines.push(vec![[area.x, y], [area.right(), y]]);
            }
        }
        for points in lines {
            page.add_in(Layer::Grid, Shape::Line { points, stroke: stroke.clone() });
        }
    }

    /// The symbols on this page with their codes, and names where there is room, along the foot.
    fn strip(&self, page: &mut Page, strip: &Strip, needles: &[usize]) {
        let Measures { small, strip_row, .. } = *self.measures;
        let rows = strip.rows(needles.len());
        // Fewer columns than there could be are set wider, with more of each name.
        let columns = needles.len().div_ceil(rows.max(1)).max(1);
        let width = ((page.width - 2.0 * MARGIN) / columns as f64).min(strip.width * 1.6);
        let top = page.height - MARGIN - rows as f64 * strip_row;
        for (index, &needle) in needles.iter().enumerate() {
            // Down the columns, as one reads a list.
            let (column, row) = (index / rows.max(1), index % rows.max(1));
            let x = MARGIN + column as f64 * width;
            let y = top + row as f64 * strip_row;
            let box_ = Area { x, y: y + 0.2, width: strip_row - 0.5, height: strip_row - 0.5 };
            if let Some(colour) = self.layout.tint_of(needle) {
                page.add(Shape::Fill { area: box_, colour });
            }
            page.symbol(box_, self.layout.symbols[needle], self.layout.chart.needles()[needle].stitch);
            page.add(Shape::Frame { area: box_, stroke: Stroke::solid(THIN_RULE, 0.1) });
            let needle = &self.layout.chart.needles()[needle];
            let base = y + strip_row / 2.0 + small * 0.32;
            let left = x + strip_row + 0.3;
            let (code, _) = typeface::showable(&needle.code());
            let code = typeface::shortened(&code, Weight::Bold, small, x + width - 1.0 - left);
            page.text([left, base], &code, small, Weight::Bold, Align::Left);
            if strip.named {
                let from = left + typeface::width(&code, Weight::Bold, small) + 1.2;
                let (name, _) = typeface::showable(&needle.name());
                let name = typeface::shortened(&name, Weight::Regular, small, x + width - 1.5 - from);
                page.text([from, base], &name, small, Weight::Regular, Align::Left);
            }
        }
    }
}

/// Adds a run of one symbol, joined to the run before it where they touch.
fn push_symbols(runs: &mut Vec<SymbolRun>, column: u32, row: u32, symbol: SymbolId, length: u32) {
    let symbols = std::iter::repeat_n(symbol, length as usize);
    match runs.last_mut() {
        Some(run) if run.row == row && run.column + run.symbols.len() as u32 == column => {
            run.symbols.extend(symbols);
        }
        _ => runs.push(SymbolRun { column, row, symbols: symbols.collect() }),
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

/// A triangle whose tip is at `tip`, pointing up, right, down or left (0 to 3).
fn triangle(tip: [f64; 2], size: f64, direction: usize) -> Vec<[f64; 2]> {
    let [x, y] = tip;
    let half = size * 0.55;
    match direction {
        0 => vec![[x, y], [x - half, y + size], [x + half, y + size]],
        1 => vec![[x, y], [x - size, y - half], [x - size, y + half]],
        2 => vec![[x, y], [x - half, y - size], [x + half, y - size]],
        _ => vec![[x, y], [x + size, y - half], [x + size, y + half]],
    }
}

/// A small arrow about a middle.
fn arrow(middle: [f64; 2], half: f64, direction: usize) -> Shape {
    let [x, y] = middle;
    let tip = match direction {
        0 => [x, y - half],
        1 => [x + half, y],
        2 => [x, y + half],
        _ => [x - half, y],
    };
    Shape::Polygon { points: triangle(tip, half * 2.0, direction), colour: Srgb8::BLACK }
}
