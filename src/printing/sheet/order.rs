//! The working order of each needle as pages: where to start, which way the rows go, where the thread travels
//! on the back and where it ends.
//!
//! Owns the design of these pages. Leaves the order itself to `planning::route`. Black and greys only: nothing here
//! is told by colour.

mod draw;
mod list;
mod path;
mod windows;

use std::ops::Range;

use super::lists::put;
use super::measures::MARGIN;
use super::{Align, Area, Block, Bookmark, Page, Paper, Shape, Sheet, Stroke, TintedCells};
use crate::chart::{Chart, Needle};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};
use crate::planning::Handling;
use crate::planning::route::route;
use crate::printing::length::{Length, Point, mm, text_points};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::Weight;
use path::{Needleful, Way};
use windows::Window;

const HEADING: Length = text_points(14.0);
const BODY: Length = text_points(10.0);
const SMALL: Length = text_points(8.0);
const RULE: Srgb8 = Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 };
/// The cells that the needle works: a grey that lines and numbers stand out from by 15:1.
const WORKED: Srgb8 = Srgb8 { r: 0xde, g: 0xde, b: 0xde };

/// What stands above and below the cells.
const HEADER: Length = mm(13.0);
const RULER: Length = mm(5.0);
const LEGEND: Length = mm(8.0);

/// Between two that stand on one page.
const GAP: Length = mm(4.0);

/// The radius of the circle round the number of a start.
const START: Length = mm(1.55);

/// The widths of lines, and dashes and gaps of those that are not solid.
fn stroke(way: Way) -> Stroke {
    let (width, dash) = match way {
        Way::First => (mm(0.40), Vec::new()),
        Way::Second => (mm(0.32), vec![mm(1.0), mm(0.55)]),
        Way::Travel => (mm(0.34), vec![mm(0.25), mm(0.6)]),
    };
    Stroke { colour: Srgb8::BLACK, width, dash }
}

/// What is to be shown of a needle.
struct Work {
    needle: usize,
    /// One length of thread after the other.
    threads: Vec<Needleful>,
    /// The parts of the chart that it is shown in.
    windows: Vec<Window>,
}

/// The working order of needles of a chart as pages: a list, then for each needle the cells that it works and
/// the line through them, several to a page where they are small. `only` are places of needles, `None` for all.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn order_pages(
    chart: &Chart,
    handling: &Handling,
    only: Option<&[usize]>,
    paper: Paper,
    progress: &dyn Progress,
) -> Result<Sheet, Stopped> {
    tell(progress, Stage::Planning, 0, 1)?;
    let routes = route(chart, handling.travel, progress)?;
    let useful = (handling.needleful.mm() - handling.start.mm() - handling.end.mm()).max(10.0);
    let useful = useful / chart.cloth.count.cell().mm();
    let paper = paper.size();
    let works: Vec<Work> = (0..chart.needles().len())
        .filter(|needle| only.is_none_or(|only| only.contains(needle)))
        .filter(|&needle| !routes[needle].stretches.is_empty())
        .map(|needle| {
            ask(progress)?;
            let threads = path::needlefuls(&routes[needle], chart.needles()[needle].stitch, useful);
            let windows = windows::windows(chart, needle, &threads, paper);
            Ok(Work { needle, threads, windows })
        })
        .collect::<Result<_, Stopped>>()?;
    let title = format!("Working order of {}", chart.title);
    let packed = pack(&works, paper[1]);
    let list_count = works.len().div_ceil(list::rows(paper)).max(1);
    let firsts: Vec<usize> = (0..works.len())
        .map(|work| {
            let page = packed.iter().position(|page| page.iter().any(|(shown, ..)| *shown == work));
            list_count + page.unwrap_or_default()
        })
        .collect();
    let mut pages = list::pages(chart, &title, &works, &firsts, paper);
    for (done, places) in packed.iter().enumerate() {
        tell(progress, Stage::LayingOut, done as u64, packed.len() as u64)?;
        let mut page = Page::new(paper);
        for &(work, index, top) in places {
            View { chart, work: &works[work], index, top }.draw(&mut page);
        }
        let kinds = places.iter().map(|&(work, ..)| chart.needles()[works[work].needle].stitch);
        draw::legend(&mut page, &kinds.collect::<Vec<_>>());
        pages.push(page);
    }
    let total = pages.len();
    for (number, page) in pages.iter_mut().enumerate() {
        let at = [page.width - MARGIN, MARGIN + SMALL];
        page.text(at, &format!("{} of {total}", number + 1), SMALL, Weight::Regular, Align::Right);
    }
    let children = works.iter().zip(&firsts).map(|(work, &page)| {
        let needle = &chart.needles()[work.needle];
        Bookmark {
            title: format!("{} {}", needle.code(), needle.name()),
            page,
            part: None,
            children: Vec::new(),
        }
    });
    let mut sheet = Sheet::list(&title, pages);
    sheet.bookmarks.extend(children);
    Ok(sheet)
}

/// For each page what stands on it: the needle's work, which of its windows, and where that begins.
fn pack(works: &[Work], height: Length) -> Vec<Vec<(usize, usize, Length)>> {
    let mut pages: Vec<Vec<(usize, usize, Length)>> = Vec::new();
    let mut free = mm(f64::INFINITY);
    for (work, of) in works.iter().enumerate() {
        for (index, ([_, rows], cell)) in of.windows.iter().enumerate() {
            let tall = HEADER + 2.0 * RULER + rows.len() as f64 * *cell;
            if free + tall > height - MARGIN - LEGEND + mm(1e-6) {
                pages.push(Vec::new());
                free = MARGIN;
            }
            pages.last_mut().expect("one was pushed for the first").push((work, index, free));
            free += tall + GAP;
        }
    }
    pages
}

/// `T119 Dry granite, half cross /, 1 strand`.
fn said(needle: &Needle) -> String {
    let stitch = needle.stitch.words().map(|words| format!(", {words}")).unwrap_or_default();
    let strands = needle.strands_text();
    let strands = if strands == "1" { "1 strand".into() } else { format!("{strands} strands") };
    format!("{}  {}{stitch}, {strands}", needle.code(), needle.name())
}

/// `columns 3 to 9`, `row 4`.
fn said_range(noun: &str, range: &Range<u32>) -> String {
    match range.end - range.start {
        1 => format!("{noun} {}", range.end),
        _ => format!("{noun}s {} to {}", range.start + 1, range.end),
    }
}

/// A part of the chart with one needle's order, at a height of a page.
struct View<'a> {
    chart: &'a Chart,
    work: &'a Work,
    /// Which of its windows.
    index: usize,
    top: Length,
}

impl View<'_> {
    fn window(&self) -> &[Range<u32>; 2] {
        &self.work.windows[self.index].0
    }

    fn block(&self) -> Block {
        let ([columns, rows], cell) = &self.work.windows[self.index];
        Block {
            x: MARGIN + RULER,
            y: self.top + HEADER + RULER,
            cell: *cell,
            columns: columns.end - columns.start,
            rows: rows.end - rows.start,
        }
    }

    /// From cells of the chart to the page.
    fn at(&self, [x, y]: [f64; 2]) -> Point {
        let [columns, rows] = self.window();
        self.block().at([x - f64::from(columns.start), y - f64::from(rows.start)])
    }

    fn draw(&self, page: &mut Page) {
        self.header(page);
        self.cells(page);
        self.rules(page);
        let [columns, rows] = self.window();
        let edges = [columns.start, rows.start, columns.end, rows.end].map(f64::from);
        let threads = &self.work.threads;
        for thread in threads {
            self.line(page, thread, edges);
        }
        let is_here = |[x, y]: [f64; 2]| x >= edges[0] && x < edges[2] && y >= edges[1] && y < edges[3];
        for thread in threads.iter().filter(|thread| is_here(thread.end)) {
            self.end(page, thread);
        }
        for (number, thread) in threads.iter().enumerate().filter(|(_, thread)| is_here(thread.start)) {
            self.start(page, thread, number + 1);
        }
    }

    fn header(&self, page: &mut Page) {
        let needle = &self.chart.needles()[self.work.needle];
        let area = Area { x: MARGIN, y: self.top, width: mm(9.0), height: mm(9.0) };
        page.symbol(area, SymbolId::of(&needle.symbol), needle.stitch);
        page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
        let from = MARGIN + mm(12.0);
        let limit = page.width - MARGIN - mm(24.0) - from;
        put(page, [from, self.top + BODY], &said(needle), BODY * 1.1, Weight::Bold, Align::Left, limit);
        let [columns, rows] = self.window();
        let place = format!("{}, {}", said_range("column", columns), said_range("row", rows));
        let place = match self.work.windows.len() {
            1 => place[..1].to_uppercase() + &place[1..],
            count => format!("Part {} of {count}: {place}", self.index + 1),
        };
        put(page, [from, self.top + BODY * 2.4], &place, SMALL, Weight::Regular, Align::Left, limit);
    }

    fn cells(&self, page: &mut Page) {
        let [columns, rows] = self.window();
        let mut rects = Vec::new();
        for row in rows.clone() {
            let cells = &self.chart.row(row as usize)[columns.start as usize..columns.end as usize];
            let mut column = 0;
            for run in cells.chunk_by(|one, two| one == two) {
                if run[0].needle() == Some(self.work.needle) {
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
        let (right, bottom) = (block.x + block.width(), block.y + block.height());
        let [columns, rows] = self.window();
        for bold in [false, true] {
            let stroke =
                if bold { Stroke::solid(Srgb8::BLACK, mm(0.35)) } else { Stroke::solid(RULE, mm(0.1)) };
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
            for y in [block.y - mm(1.2), bottom + SMALL] {
                page.text([x, y], &text, SMALL, Weight::Regular, Align::Centre);
            }
        }
        for row in (rows.start..=rows.end).filter(|line| line.is_multiple_of(10) && *line > 0) {
            let ([_, y], text) = (self.at([0.0, f64::from(row)]), row.to_string());
            for (x, align) in [(block.x - mm(0.8), Align::Right), (right + mm(0.8), Align::Left)] {
                page.text([x, y + SMALL * 0.36], &text, SMALL, Weight::Regular, align);
            }
        }
    }
}

#[cfg(test)]
mod tests;
