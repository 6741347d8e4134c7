//! The working order of each needle as pages: where to start, which way the rows go, where the thread travels
//! on the back and where it ends.
//!
//! Owns the design of these pages. Leaves the order itself to `kit::route`. Black and greys only: nothing here
//! is told by colour.

mod draw;
mod path;

use std::ops::Range;

use super::grid::MARGIN;
use super::{
    Align, Area, Block, Bookmark, MM_PER_POINT, Page, Paper, Shape, Sheet, Stroke, TintedCells, thousands,
};
use crate::chart::{Chart, Needle};
use crate::cloth::StitchKind;
use crate::colour::Srgb8;
use crate::kit::Handling;
use crate::kit::route::route;
use crate::symbols::SymbolId;
use crate::typeface::{self, Weight};
use path::{Needleful, Way};

const HEADING: f64 = 14.0 * MM_PER_POINT;
const BODY: f64 = 10.0 * MM_PER_POINT;
const SMALL: f64 = 8.0 * MM_PER_POINT;
const RULE: Srgb8 = Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 };
/// The cells that the needle works: a grey that lines and numbers stand out from by 14:1.
const WORKED: Srgb8 = Srgb8 { r: 0xea, g: 0xea, b: 0xea };

/// The side of a cell in millimetres: two lanes can be told apart from 3.4 on; over 6 nothing is gained.
const CELL: [f64; 2] = [3.4, 6.0];

/// What stands above and below the cells.
const HEADER: f64 = 13.0;
const RULER: f64 = 5.0;
const LEGEND: f64 = 8.0;

/// The radius of the circle round the number of a start.
const START: f64 = 1.55;

/// The widths of lines, and dashes and gaps of those that are not solid.
fn stroke(way: Way) -> Stroke {
    let (width, dash) = match way {
        Way::First => (0.32, Vec::new()),
        Way::Second => (0.26, vec![1.0, 0.55]),
        Way::Travel => (0.30, vec![0.25, 0.6]),
    };
    Stroke { colour: Srgb8::BLACK, width, dash }
}

/// The pages of a needle, with the number of its first length of thread on each.
struct NeedlePages {
    needle: usize,
    pages: Vec<Page>,
    threads: usize,
}

/// The working order of needles of a chart as pages: a list, then for each needle the cells that it works and
/// the line through them. `only` are places of needles, `None` for all of them.
#[must_use]
pub fn order_pages(chart: &Chart, handling: &Handling, only: Option<&[usize]>, paper: Paper) -> Sheet {
    let routes = route(chart, handling.travel);
    let useful = (handling.needleful.mm() - handling.start.mm() - handling.end.mm()).max(10.0);
    let useful = useful / chart.cloth.count.cell().mm();
    let wanted = |needle: &usize| only.is_none_or(|only| only.contains(needle));
    let needles: Vec<NeedlePages> = (0..chart.needles().len())
        .filter(wanted)
        .filter(|&needle| !routes[needle].stretches.is_empty())
        .map(|needle| {
            let stitch = chart.needles()[needle].stitch;
            let threads = path::needlefuls(&routes[needle], stitch, useful);
            let pages = needle_pages(chart, needle, &threads, paper.size());
            NeedlePages { needle, pages, threads: threads.len() }
        })
        .collect();
    let title = format!("Working order of {}", chart.title);
    let mut pages = list_pages(chart, &title, &needles, paper.size());
    let mut bookmarks = vec![Bookmark { title: title.clone(), page: 0, children: Vec::new() }];
    for needle in needles {
        let name = &chart.needles()[needle.needle];
        let title = format!("{} {}", name.code(), name.name());
        bookmarks.push(Bookmark { title, page: pages.len(), children: Vec::new() });
        pages.extend(needle.pages);
    }
    let total = pages.len();
    for (number, page) in pages.iter_mut().enumerate() {
        let at = [page.width - MARGIN, MARGIN + SMALL];
        page.text(at, &format!("{} of {total}", number + 1), SMALL, Weight::Regular, Align::Right);
    }
    Sheet {
        title,
        pages,
        pictures: Vec::new(),
        bookmarks,
        warnings: Vec::new(),
        cell: 0.0,
        chart_pages: 0,
        thread_uses: Vec::new(),
    }
}

fn put(page: &mut Page, at: [f64; 2], text: &str, size: f64, weight: Weight, align: Align, limit: f64) {
    let (text, _) = typeface::showable(text);
    page.text(at, &typeface::shortened(&text, weight, size, limit), size, weight, align);
}

/// All needles with the number of threads that each begins and the page where it starts.
fn list_pages(chart: &Chart, title: &str, needles: &[NeedlePages], paper: [f64; 2]) -> Vec<Page> {
    let [width, height] = paper;
    let row = BODY * 1.9;
    let top = MARGIN + HEADING * 2.6;
    #[allow(clippy::cast_sign_loss, reason = "paper is taller than its margins")]
    let per_page = (((height - top - MARGIN - SMALL * 6.0) / row).floor() as usize).max(1);
    let stitches = chart.stitches();
    let count = needles.len().div_ceil(per_page).max(1);
    let mut first = count;
    let mut firsts = Vec::new();
    for needle in needles {
        firsts.push(first + 1);
        first += needle.pages.len();
    }
    let right = width - MARGIN;
    (0..count)
        .map(|index| {
            let mut page = Page::new(paper);
            put(
                &mut page,
                [MARGIN, MARGIN + HEADING],
                title,
                HEADING,
                Weight::Bold,
                Align::Left,
                width - 45.0,
            );
            for (text, x) in [("Stitches", right - 42.0), ("Threads", right - 20.0), ("Page", right)] {
                page.text([x, top - SMALL * 0.6], text, SMALL, Weight::Regular, Align::Right);
            }
            let rule = |y: f64| vec![[MARGIN, y], [right, y]];
            page.add(Shape::Line { points: rule(top), stroke: Stroke::solid(Srgb8::BLACK, 0.3) });
            let shown = needles.iter().zip(&firsts).skip(index * per_page).take(per_page);
            for (place, (pages, first)) in shown.enumerate() {
                let needle = &chart.needles()[pages.needle];
                let y = top + place as f64 * row;
                let area = Area { x: MARGIN, y, width: row, height: row }.inset(row * 0.08);
                page.symbol(area, SymbolId::of(&needle.symbol), needle.stitch);
                page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, 0.15) });
                let base = y + row / 2.0 + BODY * 0.34;
                let from = MARGIN + row * 1.3;
                let limit = right - 60.0 - from;
                put(&mut page, [from, base], &said(needle), BODY, Weight::Regular, Align::Left, limit);
                let mut figure =
                    |x: f64, text: &str| page.text([x, base], text, BODY, Weight::Regular, Align::Right);
                figure(right - 42.0, &thousands(stitches[pages.needle]));
                figure(right - 20.0, &pages.threads.to_string());
                figure(right, &first.to_string());
                page.add(Shape::Line { points: rule(y + row), stroke: Stroke::solid(RULE, 0.1) });
            }
            let note = "Each number on the pages that follow is a start: hold the tail under the first stitches, \
                        follow the solid line out and the broken line home, go along dots on the back, and end off at \
                        the square. Another way may suit you as well; this is the one that thread is reckoned by.";
            let lines = typeface::wrapped(note, Weight::Regular, SMALL, width - 2.0 * MARGIN, 4);
            let mut y = height - MARGIN - (lines.len() as f64 - 1.0) * SMALL * 1.35;
            for line in lines {
                page.text([MARGIN, y], &line, SMALL, Weight::Regular, Align::Left);
                y += SMALL * 1.35;
            }
            page
        })
        .collect()
}

/// `T119 Dry granite, half cross /, 1 strand`.
fn said(needle: &Needle) -> String {
    let stitch = needle.stitch.words().map(|words| format!(", {words}")).unwrap_or_default();
    let strands = needle.strands_text();
    let strands = if strands == "1" { "1 strand".into() } else { format!("{strands} strands") };
    format!("{}  {}{stitch}, {strands}", needle.code(), needle.name())
}

/// The columns and rows that a needle works.
fn extent(chart: &Chart, needle: usize) -> [Range<u32>; 2] {
    let width = chart.size().width();
    let cells = chart.cells().iter().enumerate().filter(|(_, cell)| cell.needle() == Some(needle));
    let start = [u32::MAX, u32::MAX, 0, 0];
    let [left, top, right, bottom] = cells.fold(start, |[left, top, right, bottom], (at, _)| {
        let (x, y) = ((at % width) as u32, (at / width) as u32);
        [left.min(x), top.min(y), right.max(x + 1), bottom.max(y + 1)]
    });
    [left..right, top..bottom]
}

/// Parts of like length, none longer than `most`.
fn parts(range: &Range<u32>, most: u32) -> Vec<Range<u32>> {
    let length = range.end - range.start;
    let count = length.div_ceil(most.max(1));
    let end = |part: u32| range.start + part * (length / count) + part.min(length % count);
    (0..count).map(|part| end(part)..end(part + 1)).collect()
}

fn needle_pages(chart: &Chart, needle: usize, threads: &[Needleful], paper: [f64; 2]) -> Vec<Page> {
    let room = [paper[0] - 2.0 * (MARGIN + RULER), paper[1] - 2.0 * (MARGIN + RULER) - HEADER - LEGEND];
    let whole = extent(chart, needle);
    let length = |axis: usize| f64::from(whole[axis].end - whole[axis].start);
    let cell = (room[0] / length(0)).min(room[1] / length(1)).clamp(CELL[0], CELL[1]);
    #[allow(clippy::cast_sign_loss, reason = "there is room for some cells on any paper that is taken")]
    let most = room.map(|mm| (mm / cell + 1e-9).floor() as u32);
    let windows: Vec<[Range<u32>; 2]> = parts(&whole[1], most[1])
        .into_iter()
        .flat_map(|rows| parts(&whole[0], most[0]).into_iter().map(move |columns| [columns, rows.clone()]))
        .filter(|window| is_touched(chart, needle, threads, window))
        .collect();
    let count = windows.len();
    windows
        .iter()
        .enumerate()
        .map(|(index, window)| {
            let view = View { chart, needle, window, cell, paper };
            view.page(threads, index, count)
        })
        .collect()
}

/// Whether there is anything to show: a cell, or thread that crosses on the back.
fn is_touched(
    chart: &Chart,
    needle: usize,
    threads: &[Needleful],
    [columns, rows]: &[Range<u32>; 2],
) -> bool {
    let edges = [columns.start, rows.start, columns.end, rows.end].map(f64::from);
    let worked = || {
        rows.clone().any(|row| {
            let cells = &chart.row(row as usize)[columns.start as usize..columns.end as usize];
            cells.iter().any(|cell| cell.needle() == Some(needle))
        })
    };
    let crossed =
        || threads.iter().flat_map(|thread| &thread.pieces).any(|piece| path::within(piece, edges).is_some());
    worked() || crossed()
}

/// A part of the chart with one needle's order, on a page.
struct View<'a> {
    chart: &'a Chart,
    needle: usize,
    window: &'a [Range<u32>; 2],
    cell: f64,
    paper: [f64; 2],
}

impl View<'_> {
    fn block(&self) -> Block {
        let [columns, rows] = self.window;
        Block {
            x: MARGIN + RULER,
            y: MARGIN + HEADER + RULER,
            cell: self.cell,
            columns: columns.end - columns.start,
            rows: rows.end - rows.start,
        }
    }

    /// From cells of the chart to the page.
    fn at(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [columns, rows] = self.window;
        let block = self.block();
        let place = |from: f64, at: f64, start: u32| from + (at - f64::from(start)) * self.cell;
        [place(block.x, x, columns.start), place(block.y, y, rows.start)]
    }

    fn page(&self, threads: &[Needleful], index: usize, count: usize) -> Page {
        let mut page = Page::new(self.paper);
        self.header(&mut page, index, count);
        self.cells(&mut page);
        self.rules(&mut page);
        let [columns, rows] = self.window;
        let edges = [columns.start, rows.start, columns.end, rows.end].map(f64::from);
        for thread in threads {
            self.line(&mut page, thread, edges);
        }
        let is_here = |[x, y]: [f64; 2]| x >= edges[0] && x < edges[2] && y >= edges[1] && y < edges[3];
        for thread in threads.iter().filter(|thread| is_here(thread.end)) {
            self.end(&mut page, thread);
        }
        for (number, thread) in threads.iter().enumerate().filter(|(_, thread)| is_here(thread.start)) {
            self.start(&mut page, thread, number + 1);
        }
        self.legend(&mut page);
        page
    }

    fn header(&self, page: &mut Page, index: usize, count: usize) {
        let needle = &self.chart.needles()[self.needle];
        let area = Area { x: MARGIN, y: MARGIN, width: 9.0, height: 9.0 };
        page.symbol(area, SymbolId::of(&needle.symbol), needle.stitch);
        page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, 0.15) });
        let from = MARGIN + 12.0;
        let limit = page.width - MARGIN - 24.0 - from;
        put(page, [from, MARGIN + BODY], &said(needle), BODY * 1.1, Weight::Bold, Align::Left, limit);
        let [columns, rows] = self.window;
        let (a, b, c, d) = (columns.start + 1, columns.end, rows.start + 1, rows.end);
        let place = format!("Part {} of {count}: columns {a} to {b}, rows {c} to {d}", index + 1);
        put(page, [from, MARGIN + BODY * 2.4], &place, SMALL, Weight::Regular, Align::Left, limit);
    }

    fn cells(&self, page: &mut Page) {
        let [columns, rows] = self.window;
        let mut rects = Vec::new();
        for row in rows.clone() {
            let cells = &self.chart.row(row as usize)[columns.start as usize..columns.end as usize];
            let mut column = 0;
            for run in cells.chunk_by(|one, two| one == two) {
                if run[0].needle() == Some(self.needle) {
                    rects.push([column, row - rows.start, run.len() as u32, 1]);
                }
                column += run.len() as u32;
            }
        }
        let tints = vec![TintedCells { colour: WORKED, rects }];
        page.add(Shape::Tints { block: self.block(), tints });
    }

    /// Thin rules for cells, bold ones each ten, with their numbers on all sides; rules at the edges.
    fn rules(&self, page: &mut Page) {
        let block = self.block();
        let (right, bottom) =
            (block.x + f64::from(block.columns) * self.cell, block.y + f64::from(block.rows) * self.cell);
        let [columns, rows] = self.window;
        for bold in [false, true] {
            let stroke = if bold { Stroke::solid(Srgb8::BLACK, 0.35) } else { Stroke::solid(RULE, 0.1) };
            let is_shown = |line: u32, window: &Range<u32>| {
                bold == (line.is_multiple_of(10) || line == window.start || line == window.end)
            };
            for column in (columns.start..=columns.end).filter(|&line| is_shown(line, columns)) {
                let [x, _] = self.at([f64::from(column), 0.0]);
                let points = vec![[x, block.y], [x, bottom]];
                page.add(Shape::Line { points, stroke: stroke.clone() });
            }
            for row in (rows.start..=rows.end).filter(|&line| is_shown(line, rows)) {
                let [_, y] = self.at([0.0, f64::from(row)]);
                page.add(Shape::Line { points: vec![[block.x, y], [right, y]], stroke: stroke.clone() });
            }
        }
        for column in (columns.start..=columns.end).filter(|line| line.is_multiple_of(10) && *line > 0) {
            let ([x, _], text) = (self.at([f64::from(column), 0.0]), column.to_string());
            for y in [block.y - 1.2, bottom + SMALL] {
                page.text([x, y], &text, SMALL, Weight::Regular, Align::Centre);
            }
        }
        for row in (rows.start..=rows.end).filter(|line| line.is_multiple_of(10) && *line > 0) {
            let ([_, y], text) = (self.at([0.0, f64::from(row)]), row.to_string());
            for (x, align) in [(block.x - 0.8, Align::Right), (right + 0.8, Align::Left)] {
                page.text([x, y + SMALL * 0.36], &text, SMALL, Weight::Regular, align);
            }
        }
    }
}

#[cfg(test)]
mod tests;
