//! The chart pages: cells under rules, with rulers, centre marks, repeats at the joins and a strip of symbols.

mod head;
mod joins;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use rayon::prelude::*;

use super::fit;
use super::measures::{self, GHOST_TINT, MARGIN, Measures, RULES, THIN_RULE};
use super::pagination::with_repeats;
use super::strip::{Sign, Signs, Strip};
use super::{
    Align, Area, Block, Ground, Layer, Layout, MarkedCorner, Page, Said, Shape, Show, Shows, Stroke,
    SymbolRun, TintedCells,
};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, Point, mm};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::{self, Weight};
use crate::thread::cloth::Corner;

/// 7.8:1 on [`GHOST_TINT`].
const GHOST_INK: Srgb8 = Srgb8 { r: 0x44, g: 0x44, b: 0x44 };
/// The height of the triangles that mark the middle.
const CENTRE_MARK: Length = mm(1.9);
/// The width of the dashed line through the middle.
const CENTRE_RULE: Length = mm(0.6);
/// What is left free between a heavy rule and a marked corner, as a share of the cell: at 150 dots an inch a point or so in
/// cells of 3 mm.
const FREE: f64 = 0.05;

/// A chart page. Its strip is set as all are, or as one of `whole` where there is room under the cells.
fn page(
    layout: &Layout,
    (strip, whole): (&Strip, &[Strip]),
    signs: &[Sign],
    [across, down]: [usize; 2],
) -> Page {
    let measures = Measures::of(layout.options.print);
    let paper = measures::turned(layout.options.paper.size(), layout.plan.turned);
    let mut page = Page::new(paper);
    let size = layout.chart.size();
    let own = [layout.plan.columns[across].clone(), layout.plan.rows[down].clone()];
    page.shows = Some(Shows::Cells { columns: own[0].clone(), rows: own[1].clone() });
    let shown = [with_repeats(&own[0], size.columns()), with_repeats(&own[1], size.rows())];
    let [room_across, _] = measures::room(paper, &measures, 0);
    let block = Block {
        x: MARGIN + measures.ruler + (room_across - shown[0].len() as f64 * layout.cell) / 2.0,
        y: MARGIN + measures.header + measures.ruler,
        cell: layout.cell,
        columns: shown[0].len() as u32,
        rows: shown[1].len() as u32,
    };
    let part = Part { layout, block, own, shown, measures: &measures };
    part.header(&mut page, across, down);
    part.draw(&mut page);
    part.names_of_joins(&mut page, across, down);
    let foot = block.y + block.height() + measures.ruler + measures::OVER_STRIP;
    page.begin(Said::Texts);
    let rows = (page.height - MARGIN - foot).holds(measures.strip_row, 1e-9) as usize;
    strip.for_page(whole, signs, rows).draw(&mut page, layout, signs, foot);
    page
}

/// All chart pages, row after row.
pub(super) fn pages(layout: &Layout) -> Vec<Page> {
    let measures = Measures::of(layout.options.print);
    let [width, _] = measures::turned(layout.options.paper.size(), layout.plan.turned);
    let signs = Signs::of(layout.chart, layout.lines, layout.options);
    let shown = fit::signs_of(&signs, layout.chart.size(), &layout.plan);
    let room = width - 2.0 * MARGIN;
    let strip = Strip::new(&signs, &shown, room, &measures);
    let whole = Strip::whole(&signs, room, &measures);
    let across = layout.plan.columns.len();
    shown
        .par_iter()
        .enumerate()
        .map(|(at, here)| page(layout, (&strip, &whole), here, [at % across, at / across]))
        .collect()
}

/// The whole chart in one block on a page that is there already.
pub(super) fn whole(page: &mut Page, layout: &Layout, block: Block, measures: &Measures) {
    let all = [0..block.columns, 0..block.rows];
    Part { layout, block, own: all.clone(), shown: all, measures }.draw(page);
}

/// The squares of the whole chart and the rules between them, without numbers and marks.
pub(super) fn squares(page: &mut Page, layout: &Layout, block: Block, measures: &Measures) {
    let all = [0..block.columns, 0..block.rows];
    let part = Part { layout, block, own: all.clone(), shown: all, measures };
    part.cells(page, &BTreeSet::new());
    part.rules(page);
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
        self.block.area()
    }

    fn draw(&self, page: &mut Page) {
        let from = [self.shown[0].start, self.shown[1].start];
        let [columns, rows] = &self.own;
        page.begin(Said::Figure(format!(
            "The chart: columns {} to {}, rows {} to {}, a symbol in each square.",
            columns.start + 1,
            columns.end,
            rows.start + 1,
            rows.end
        )));
        let crossed = super::lines::crossed(self.layout, &self.block, from);
        let over = self.cells(page, &crossed);
        self.rules(page);
        self.joins(page);
        super::lines::draw(page, self.layout, &self.block, from);
        if let Some(over) = over {
            self.symbols(page, over, Ground::Lines);
        }
        page.begin(Said::Nothing);
        self.rulers(page);
        self.centre(page);
    }

    /// The place of the line before a column (or row) of the chart.
    fn line_x(&self, column: f64) -> Length {
        self.block.x + (column - f64::from(self.shown[0].start)) * self.block.cell
    }

    fn line_y(&self, row: f64) -> Length {
        self.block.y + (row - f64::from(self.shown[1].start)) * self.block.cell
    }

    /// The cells; gives the symbols of those that lines cross, which are to be drawn over them.
    fn cells(&self, page: &mut Page, crossed: &BTreeSet<[u32; 2]>) -> Option<[Standing; 2]> {
        let chart = self.layout.chart;
        // The cells of each needle, those of this page alone and those that are repeated.
        let mut tints: Vec<[Vec<[u32; 4]>; 2]> = vec![Default::default(); chart.needles().len()];
        let mut standing: [[Standing; 2]; 2] = Default::default();
        let kinds: Vec<Vec<Corner>> =
            chart.needles().iter().map(|needle| needle.stitch.marked_corners()).collect();
        for row in self.shown[1].clone() {
            let cells = chart.row(row as usize);
            let y = row - self.shown[1].start;
            let ghost_row = !self.own[1].contains(&row);
            let mut column = self.shown[0].start;
            while column < self.shown[0].end {
                let start = column;
                let kind = |column: u32| {
                    let ghost = ghost_row || !self.own[0].contains(&column);
                    let at = [column - self.shown[0].start, y];
                    (cells[column as usize], ghost, !crossed.is_empty() && crossed.contains(&at))
                };
                let (cell, ghost, is_crossed) = kind(column);
                while column < self.shown[0].end && kind(column) == (cell, ghost, is_crossed) {
                    column += 1;
                }
                let (x, length) = (start - self.shown[0].start, column - start);
                let Some(needle) = cell.needle() else { continue };
                let standing = &mut standing[usize::from(is_crossed)][usize::from(ghost)];
                push_symbols(&mut standing.runs, x, y, self.layout.symbols[needle], length);
                standing.corners.extend((x..x + length).flat_map(|column| {
                    kinds[needle].iter().map(move |&corner| self.marked([column, y], corner))
                }));
                tints[needle][usize::from(ghost)].push([x, y, length, 1]);
            }
        }
        if self.layout.options.show != Show::Colours {
            self.ghost_bands(page);
        }
        let mut by_colour: BTreeMap<Srgb8, Vec<[u32; 4]>> = BTreeMap::new();
        let colours_only = self.layout.options.show == Show::Colours;
        let tints = tints
            .into_iter()
            .enumerate()
            .flat_map(|(needle, [own, ghost])| [(needle, false, own), (needle, true, ghost)]);
        for (needle, is_ghost, rects) in tints.filter(|(.., rects)| !rects.is_empty()) {
            let colour = match self.layout.tint_of(needle) {
                Some(colour) if !is_ghost => colour,
                // Without symbols repeats are shown by paler colours, else by grey alone.
                Some(colour) if colours_only => colour.linear().mix(Srgb8::WHITE.linear(), 0.35).srgb8(),
                _ => continue,
            };
            by_colour.entry(colour).or_default().extend(rects);
        }
        let tints = by_colour.into_iter().map(|(colour, rects)| TintedCells { colour, rects }).collect();
        page.add_in(Layer::Tints, Shape::Tints { block: self.block, tints });
        let [plain, over] = standing;
        if colours_only {
            return None;
        }
        self.symbols(page, plain, Ground::Cell);
        Some(over)
    }

    /// A marked corner, free of the heavy rules beside it.
    fn marked(&self, cell: [u32; 2], corner: Corner) -> MarkedCorner {
        let size = self.layout.chart.size();
        let place = corner.place();
        let inset = [(0, size.columns()), (1, size.rows())].map(|(axis, total)| {
            let line = self.shown[axis].start + cell[axis] + place[axis].unsigned_abs();
            let width = match is_bold(line, total) {
                _ if line * 2 == total => CENTRE_RULE,
                true => RULES[1],
                false => return Length::ZERO,
            };
            width * self.measures.pen / 2.0 + FREE * self.block.cell
        });
        MarkedCorner { cell, corner, inset }
    }

    /// Symbols of cells of this page alone, and of those that are repeated.
    fn symbols(&self, page: &mut Page, standing: [Standing; 2], ground: Ground) {
        let block = self.block;
        let colours = [Srgb8::BLACK, GHOST_INK];
        let mut corners = Vec::new();
        for (standing, colour) in standing.into_iter().zip(colours) {
            if ground == Ground::Cell || !standing.runs.is_empty() {
                page.add_in(Layer::Base, Shape::Symbols { block, runs: standing.runs, colour, ground });
            }
            corners.push((standing.corners, colour));
        }
        for (corners, colour) in corners.into_iter().filter(|(corners, _)| !corners.is_empty()) {
            page.add_in(Layer::Base, Shape::Corners { block, corners, colour });
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
        for area in bands.into_iter().filter(|area| area.width > mm(1e-6) && area.height > mm(1e-6)) {
            page.add_in(Layer::Base, Shape::Fill { area, colour: GHOST_TINT });
        }
    }

    fn rules(&self, page: &mut Page) {
        let area = self.area();
        let size = self.layout.chart.size();
        let [thin, bold] = RULES.map(|width| width * self.measures.pen);
        let thin = Stroke::solid(THIN_RULE, thin);
        let casing = Stroke::solid(Srgb8::WHITE, bold * 2.2);
        let bold = Stroke::solid(Srgb8::BLACK, bold);
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
            if self.layout.options.show == Show::Colours {
                // Black on a dark thread would not be seen.
                page.add_in(Layer::Grid, Shape::Line { points: points.clone(), stroke: casing.clone() });
            }
            page.add_in(Layer::Grid, Shape::Line { points, stroke: bold.clone() });
        }
    }

    /// Numbers at every tenth line on all four sides, and at the line after the last cell.
    fn rulers(&self, page: &mut Page) {
        let area = self.area();
        let size = self.layout.chart.size();
        let text = self.measures.small * 0.95;
        let cell = self.block.cell;
        // Where cells are tiny, numbers stand at each twenty, fifty and so on.
        let gap = typeface::width("0000", Weight::Regular, text) + mm(0.8);
        let step =
            [10, 20, 50, 100, 200].into_iter().find(|&step| f64::from(step) * cell >= gap).unwrap_or(500);
        // Every tenth has its number; what comes after the last, where there is room beside it.
        let marks = |shown: &Range<u32>, total: u32, gap: Length| {
            let numbered = |line: u32| {
                line.is_multiple_of(step) || line == total && f64::from(total % step) * cell >= gap
            };
            (shown.start..=shown.end).filter(|&line| line > 0 && numbered(line)).collect::<Vec<_>>()
        };
        for column in marks(&self.shown[0], size.columns(), gap) {
            let x = self.line_x(f64::from(column));
            let number = column.to_string();
            let above = area.y - mm(2.3);
            let below = area.bottom() + mm(2.3) + text * 0.72;
            page.text([x, above], &number, text, Weight::Regular, Align::Centre);
            page.text([x, below], &number, text, Weight::Regular, Align::Centre);
        }
        for row in marks(&self.shown[1], size.rows(), text * 1.1) {
            let number = row.to_string();
            // Beside the centre mark, or a bar, a number steps out of its way.
            let gap = if row * 2 == size.rows() {
                CENTRE_MARK + mm(0.5)
            } else if self.is_repeated(1, row) {
                joins::BESIDE_BAR
            } else {
                mm(1.0)
            };
            // A long number is set smaller, so that it stays in its ruler.
            let text = text.min((self.measures.ruler + mm(1.0) - gap) / number.len() as f64 / 0.58);
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
        let pen = self.measures.pen;
        let dash = vec![mm(2.4) * pen, mm(1.2) * pen];
        let stroke = Stroke { colour: Srgb8::BLACK, width: CENTRE_RULE * pen, dash };
        let on_page = |total: u32, own: &Range<u32>| total >= own.start * 2 && total <= own.end * 2;
        let mut mark = |tip: Point, direction: usize| {
            let points = triangle(tip, CENTRE_MARK, direction);
            page.add_in(Layer::Grid, Shape::Polygon { points, colour: Srgb8::BLACK });
        };
        let mut lines = Vec::new();
        if on_page(size.columns(), &self.own[0]) {
            let x = self.line_x(f64::from(size.columns()) / 2.0);
            mark([x, area.y - mm(0.2)], 2);
            mark([x, area.bottom() + mm(0.2)], 0);
            if size.columns().is_multiple_of(2) && !self.is_join(0, size.columns() / 2) {
                lines.push(vec![[x, area.y], [x, area.bottom()]]);
            }
        }
        if on_page(size.rows(), &self.own[1]) {
            let y = self.line_y(f64::from(size.rows()) / 2.0);
            mark([area.x - mm(0.2), y], 1);
            mark([area.right() + mm(0.2), y], 3);
            if size.rows().is_multiple_of(2) && !self.is_join(1, size.rows() / 2) {
                lines.push(vec![[area.x, y], [area.right(), y]]);
            }
        }
        for points in lines {
            page.add_in(Layer::Grid, Shape::Line { points, stroke: stroke.clone() });
        }
    }
}

/// Symbols and corners of cells that are drawn together.
#[derive(Default)]
struct Standing {
    runs: Vec<SymbolRun>,
    corners: Vec<MarkedCorner>,
}

/// Whether the line before a column (or row) of so many is a bold one.
fn is_bold(line: u32, total: u32) -> bool {
    line.is_multiple_of(10) || line == total
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

/// A triangle whose tip is at `tip`, pointing up, right, down or left (0 to 3).
fn triangle(tip: Point, size: Length, direction: usize) -> Vec<Point> {
    let [x, y] = tip;
    let half = size * 0.55;
    match direction {
        0 => vec![[x, y], [x - half, y + size], [x + half, y + size]],
        1 => vec![[x, y], [x - size, y - half], [x - size, y + half]],
        2 => vec![[x, y], [x - half, y - size], [x + half, y - size]],
        _ => vec![[x, y], [x + size, y - half], [x + size, y + half]],
    }
}
