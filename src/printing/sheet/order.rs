//! The working order of each needle as pages: where to start, which way the rows go, where the thread travels
//! on the back and where it ends.
//!
//! Owns the design of these pages. Leaves the order itself to `planning::route`. Black and greys only: nothing here
//! is told by colour.

mod draw;
mod lines;
mod list;
mod path;
mod windows;

use std::ops::Range;

use super::lines::{Kind, kinds};
use super::lists::put;
use super::measures::MARGIN;
use super::{Align, Area, Block, Bookmark, Ink, Page, Paper, Shape, Sheet, Stroke, TintedCells, read_title};
use crate::chart::{Chart, LineStitch, WorkedLine};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};
use crate::planning::Handling;
use crate::planning::route::{NeedleRoute, route};
use crate::printing::length::{Length, Point, mm, text_points};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::Weight;
use path::{Needleful, Way};
use windows::{Cut, Window};

const HEADING: Length = text_points(14.0);
const BODY: Length = text_points(10.0);
const SMALL: Length = text_points(8.0);
const RULE: Srgb8 = Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 };
/// The cells that the needle works: a grey that lines and numbers stand out from by 15:1.
const WORKED: Srgb8 = Srgb8 { r: 0xde, g: 0xde, b: 0xde };

/// The side of a cell: two lanes can be told apart from 3.4 on; over 5 nothing is gained.
const CELL: [Length; 2] = [mm(3.4), mm(5.0)];

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
        Way::Travel | Way::Behind => (mm(0.34), vec![mm(0.25), mm(0.6)]),
    };
    Stroke { colour: Srgb8::BLACK, width, dash }
}

/// The pages that are shown unasked: more, nobody prints (common practice, no source).
pub const USUAL_PAGES: usize = 40;

/// What is worked in one thread: the stitches of a needle, or lines of one mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Subject {
    /// By its place.
    Needle(usize),
    /// By their place among the kinds of lines.
    Lines(usize),
}

/// What the pages are about.
struct Source<'a> {
    chart: &'a Chart,
    kinds: Vec<Kind<'a>>,
}

/// What is to be shown of a needle.
struct Work {
    /// One length of thread after the other.
    threads: Vec<Needleful>,
    windows: Vec<Window>,
    /// The side of their cells.
    cell: Length,
}

/// A needle or an outline on the list.
struct Listed {
    subject: Subject,
    /// How many threads are cut and begun.
    lengths: usize,
    /// Its order, where that is shown.
    work: Option<Work>,
}

/// Where a window stands: the place on the list of its needle, which of its windows, and where on the page it begins.
type Place = (usize, usize, Length);

/// Pages that fill up.
struct Packed {
    pages: Vec<Vec<Place>>,
    free: Length,
    most: usize,
    height: Length,
}

/// The working order as pages.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderPages {
    /// The pages: a list of all needles and lines that were asked for, then those that are shown.
    pub sheet: Sheet,
    /// Needles whose whole order is shown.
    pub shown: usize,
    /// The codes of those that had no room on so many pages.
    pub left_out: Vec<String>,
    /// The code of the one needle of which only the first pages are shown, as the whole of none had room.
    pub cut_short: Option<String>,
}

/// The working order of needles of a chart as pages: a list, then for each needle the cells that it works and
/// the line through them, several to a page where they are small; then for the lines of each mark the way from hole to
/// hole. `only` are places of needles, `None` for all.
///
/// There are `most` pages at the most behind the list: a needle is shown whole, in the order of the key, as long as there
/// is room for all its pages; where not one has, the first pages of the first are shown. Lines have as many pages of
/// their own. Near linear in the cells of the chart and the pages.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn order_pages(
    chart: &Chart,
    lines: &[WorkedLine],
    handling: &Handling,
    only: Option<&[usize]>,
    most: usize,
    paper: Paper,
    progress: &dyn Progress,
) -> Result<OrderPages, Stopped> {
    tell(progress, Stage::Planning, 0, 1)?;
    let mut routes = route(chart, handling.travel, progress)?;
    let useful = (handling.needleful.mm() - handling.start.mm() - handling.end.mm()).max(10.0);
    let useful = useful / chart.cloth.count.cell().mm();
    let paper = paper.size();
    let extents = extents(chart);
    let mut packed =
        Packed { pages: Vec::new(), free: mm(f64::INFINITY), most: most.max(1), height: paper[1] };
    let mut listed: Vec<Listed> = Vec::new();
    let mut first = None;
    for needle in (0..chart.needles().len()).filter(|needle| only.is_none_or(|only| only.contains(needle))) {
        let route = std::mem::take(&mut routes[needle]);
        if route.stretches.is_empty() {
            continue;
        }
        ask(progress)?;
        let work = work(chart, needle, &route, &extents[needle], useful, paper);
        let lengths = work.threads.len();
        let is_whole = packed.put(listed.len(), &work);
        if first.is_none() && !is_whole {
            first = Some((listed.len(), work));
            listed.push(Listed { subject: Subject::Needle(needle), lengths, work: None });
        } else {
            listed.push(Listed { subject: Subject::Needle(needle), lengths, work: is_whole.then_some(work) });
        }
    }
    let shown = listed.iter().filter(|listed| listed.work.is_some()).count();
    let mut cut_short = None;
    if let (0, Some((place, work))) = (shown, first) {
        packed.put_some(place, &work);
        if let Subject::Needle(needle) = listed[place].subject {
            cut_short = Some(chart.needles()[needle].code());
        }
        listed[place].work = Some(work);
    }
    let left_out = listed.iter().filter(|listed| listed.work.is_none());
    let left_out = left_out.filter_map(|listed| match listed.subject {
        Subject::Needle(needle) => Some(chart.needles()[needle].code()),
        Subject::Lines(_) => None,
    });
    let left_out = left_out.collect();
    let source = Source { chart, kinds: kinds(lines) };
    packed.most = packed.most.saturating_add(packed.pages.len());
    // A page of lines has a legend of its own.
    packed.free = mm(f64::INFINITY);
    for (place, kind) in source.kinds.iter().enumerate() {
        ask(progress)?;
        let threads = lines::needlefuls(&kind.lines, handling.travel, useful);
        let work = shown_work(threads, std::iter::empty(), &reach(&kind.lines, chart), chart, paper);
        let lengths = work.threads.len();
        let is_whole = packed.put(listed.len(), &work);
        listed.push(Listed { subject: Subject::Lines(place), lengths, work: is_whole.then_some(work) });
    }
    let sheet = sheet_of(&source, &listed, &packed.pages, paper, progress)?;
    Ok(OrderPages { sheet, shown, left_out, cut_short })
}

/// A needle's order, cut into what has room on pages.
fn work(
    chart: &Chart,
    needle: usize,
    route: &NeedleRoute,
    worked: &[Range<u32>; 2],
    useful: f64,
    paper: [Length; 2],
) -> Work {
    let threads = path::needlefuls(route, chart.needles()[needle].stitch, useful);
    let cells = route.stretches.iter().flat_map(|stretch| &stretch.legs).map(|leg| leg.cell);
    shown_work(threads, cells, worked, chart, paper)
}

/// Threads and the parts of the chart in which they are shown, where these columns and rows are worked.
fn shown_work(
    threads: Vec<Needleful>,
    cells: impl IntoIterator<Item = [u32; 2]>,
    worked: &[Range<u32>; 2],
    chart: &Chart,
    paper: [Length; 2],
) -> Work {
    let room = [paper[0] - 2.0 * (MARGIN + RULER), paper[1] - 2.0 * (MARGIN + RULER) - HEADER - LEGEND];
    let size = [chart.size().columns(), chart.size().rows()];
    let cut = Cut::of(worked, size, room.map(|room| room.holds(CELL[0], 1e-9)));
    let [columns, rows] = cut.largest().map(f64::from);
    let cell = (room[0] / columns).min(room[1] / rows).max(CELL[0]).min(CELL[1]);
    let windows = cut.windows(cells, &threads);
    Work { threads, windows, cell }
}

/// The columns and rows that lines pass, with one more on each side so that those at an edge are seen whole; within the
/// chart.
fn reach(lines: &[&WorkedLine], chart: &Chart) -> [Range<u32>; 2] {
    let size = [chart.size().columns(), chart.size().rows()];
    [0, 1].map(|axis| {
        let holes = || lines.iter().flat_map(|line| &line.points).map(|hole| hole[axis]);
        let within = |hole: i32| u32::try_from(hole).unwrap_or(0).min(size[axis]);
        let start = within(holes().min().unwrap_or(0) - 1).min(size[axis].saturating_sub(1));
        start..within(holes().max().unwrap_or(0) + 1).max(start + 1)
    })
}

impl Packed {
    /// Puts all windows of a needle on pages; none where there is no room for all.
    fn put(&mut self, place: usize, work: &Work) -> bool {
        let before = (self.pages.len(), self.pages.last().map_or(0, Vec::len), self.free);
        let is_whole = self.put_some(place, work);
        if !is_whole {
            self.pages.truncate(before.0);
            if let Some(page) = self.pages.last_mut() {
                page.truncate(before.1);
            }
            self.free = before.2;
        }
        is_whole
    }

    /// Puts windows of a needle on pages until no more are to be had; whether all were put.
    fn put_some(&mut self, place: usize, work: &Work) -> bool {
        for (index, window) in work.windows.iter().enumerate() {
            let tall = HEADER + 2.0 * RULER + window.rows.len() as f64 * work.cell;
            if self.pages.is_empty() || self.free + tall > self.height - MARGIN - LEGEND + mm(1e-6) {
                if self.pages.len() == self.most {
                    return false;
                }
                self.pages.push(Vec::new());
                self.free = MARGIN;
            }
            if let Some(page) = self.pages.last_mut() {
                page.push((place, index, self.free));
            }
            self.free += tall + GAP;
        }
        true
    }
}

/// The list, and the pages behind it.
fn sheet_of(
    source: &Source<'_>,
    listed: &[Listed],
    packed: &[Vec<Place>],
    paper: [Length; 2],
    progress: &dyn Progress,
) -> Result<Sheet, Stopped> {
    let title = format!("Working order of {}", read_title(source.chart));
    let list_count = listed.len().div_ceil(list::rows(paper)).max(1);
    let mut firsts: Vec<Option<usize>> = vec![None; listed.len()];
    for (page, places) in packed.iter().enumerate() {
        for &(place, ..) in places {
            firsts[place].get_or_insert(list_count + page);
        }
    }
    let mut pages = list::pages(source, &title, listed, &firsts, paper);
    for (done, places) in packed.iter().enumerate() {
        tell(progress, Stage::LayingOut, done as u64, packed.len() as u64)?;
        let mut page = Page::new(paper);
        for &(place, index, top) in places {
            let Listed { subject, work: Some(work), .. } = &listed[place] else { continue };
            View { source, subject: *subject, work, index, top }.draw(&mut page);
        }
        let (mut kinds, mut stitches) = (Vec::new(), Vec::new());
        for &(place, ..) in places {
            match listed[place].subject {
                Subject::Needle(needle) => kinds.push(source.chart.needles()[needle].stitch),
                Subject::Lines(kind) => {
                    stitches.extend(source.kinds[kind].lines.iter().map(|line| line.stitch));
                }
            }
        }
        if stitches.is_empty() {
            draw::legend(&mut page, &kinds);
        } else {
            let any = |stitch: LineStitch| stitches.contains(&stitch);
            draw::legend_of_lines(&mut page, any(LineStitch::DoubleRunning), any(LineStitch::Backstitch));
        }
        pages.push(page);
    }
    let total = pages.len();
    for (number, page) in pages.iter_mut().enumerate() {
        let at = [page.width - MARGIN, MARGIN + SMALL];
        page.text(at, &format!("{} of {total}", number + 1), SMALL, Weight::Regular, Align::Right);
    }
    let children = listed.iter().zip(&firsts).filter_map(|(listed, page)| {
        let title = match listed.subject {
            Subject::Needle(needle) => {
                let needle = &source.chart.needles()[needle];
                format!("{} {}", needle.code(), needle.name())
            }
            Subject::Lines(kind) => source.kinds[kind].text(),
        };
        Some(Bookmark { title, page: (*page)?, part: None, children: Vec::new() })
    });
    let mut sheet = Sheet::list(&title, pages);
    sheet.bookmarks.extend(children);
    Ok(sheet)
}

/// The columns and rows that each needle works.
fn extents(chart: &Chart) -> Vec<[Range<u32>; 2]> {
    let nothing = Range { start: u32::MAX, end: 0 };
    let mut extents = vec![[nothing.clone(), nothing]; chart.needles().len()];
    let width = chart.size().width();
    for (at, cell) in chart.cells().iter().enumerate() {
        let Some(needle) = cell.needle() else { continue };
        for (range, place) in extents[needle].iter_mut().zip([at % width, at / width]) {
            let place = place as u32;
            *range = range.start.min(place)..range.end.max(place + 1);
        }
    }
    extents
}

impl Source<'_> {
    /// `T119 Dry granite, half cross /, 1 strand`; `T119 Dry granite, Crab: double running, 1 strand`.
    fn said(&self, subject: Subject) -> String {
        let (code, name, how, strands) = match subject {
            Subject::Needle(needle) => {
                let needle = &self.chart.needles()[needle];
                let stitch = needle.stitch.words().map(|words| format!(", {words}")).unwrap_or_default();
                (needle.code(), needle.name(), stitch, needle.strands_text())
            }
            Subject::Lines(kind) => {
                let kind = &self.kinds[kind];
                let double = kind.lines.iter().any(|line| line.stitch == LineStitch::DoubleRunning);
                let stitch = if double { "double running" } else { "backstitch" };
                (kind.code(), kind.names(), format!(", {}: {stitch}", kind.label()), kind.strands())
            }
        };
        let strands = if strands == "1" { "1 strand".into() } else { format!("{strands} strands") };
        format!("{code}  {name}{how}, {strands}")
    }

    /// Its symbol, or a piece of its line, in a frame.
    fn sign(&self, page: &mut Page, area: Area, subject: Subject) {
        match subject {
            Subject::Needle(needle) => {
                let needle = &self.chart.needles()[needle];
                page.symbol(area, SymbolId::of(&needle.symbol), needle.stitch);
            }
            Subject::Lines(kind) => {
                let middle = area.y + area.height / 2.0;
                let ends = [area.x + mm(0.4), area.right() - mm(0.4)];
                self.kinds[kind].sample(page, Ink::Grey, ends, middle, mm(3.0));
            }
        }
        page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
    }
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
    source: &'a Source<'a>,
    subject: Subject,
    work: &'a Work,
    /// Which of its windows.
    index: usize,
    top: Length,
}

impl View<'_> {
    fn window(&self) -> &Window {
        &self.work.windows[self.index]
    }

    fn block(&self) -> Block {
        let Window { columns, rows, .. } = self.window();
        Block {
            x: MARGIN + RULER,
            y: self.top + HEADER + RULER,
            cell: self.work.cell,
            columns: columns.end - columns.start,
            rows: rows.end - rows.start,
        }
    }

    /// From cells of the chart to the page.
    fn at(&self, [x, y]: [f64; 2]) -> Point {
        let Window { columns, rows, .. } = self.window();
        self.block().at([x - f64::from(columns.start), y - f64::from(rows.start)])
    }

    fn draw(&self, page: &mut Page) {
        self.header(page);
        self.cells(page);
        self.rules(page);
        let (window, threads) = (self.window(), &self.work.threads);
        let edges = window.edges();
        for (thread, run) in &window.runs {
            self.line(page, &threads[*thread].pieces[run.clone()], edges);
        }
        // A walk ends in the hole in which it began: its number stands there.
        for &thread in window.ends.iter().filter(|&&thread| threads[thread].end != threads[thread].start) {
            self.end(page, &threads[thread]);
        }
        for &thread in &window.starts {
            self.start(page, &threads[thread], thread + 1);
        }
    }

    fn header(&self, page: &mut Page) {
        let area = Area { x: MARGIN, y: self.top, width: mm(9.0), height: mm(9.0) };
        self.source.sign(page, area, self.subject);
        let from = MARGIN + mm(12.0);
        let limit = page.width - MARGIN - mm(24.0) - from;
        let said = self.source.said(self.subject);
        put(page, [from, self.top + BODY], &said, BODY * 1.1, Weight::Code, Align::Left, limit);
        let Window { columns, rows, .. } = self.window();
        let place = format!("{}, {}", said_range("column", columns), said_range("row", rows));
        let place = match self.work.windows.len() {
            1 => place[..1].to_uppercase() + &place[1..],
            count => format!("Part {} of {count}: {place}", self.index + 1),
        };
        put(page, [from, self.top + BODY * 2.4], &place, SMALL, Weight::Regular, Align::Left, limit);
    }

    fn cells(&self, page: &mut Page) {
        let Subject::Needle(needle) = self.subject else { return };
        let Window { columns, rows, .. } = self.window();
        let mut rects = Vec::new();
        for row in rows.clone() {
            let cells = &self.source.chart.row(row as usize)[columns.start as usize..columns.end as usize];
            let mut column = 0;
            for run in cells.chunk_by(|one, two| one == two) {
                if run[0].needle() == Some(needle) {
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
        let Window { columns, rows, .. } = self.window();
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
