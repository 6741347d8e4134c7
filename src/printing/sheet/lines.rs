//! Lines of backstitch on the chart pages and in the key.
//!
//! A line lies over the symbols on a narrow pale casing: where it runs along the holes it touches no symbol,
//! where it crosses a cell the symbol shows on both sides.

use std::collections::HashMap;
use std::ops::Range;

use super::{Block, Ink, Layer, Layout, Page, Shape, Stroke};
use crate::chart::{LineLayer, LinePattern, Thread, WorkedLine};
use crate::ground::colour::{Lab, Srgb8};
use crate::printing::length::Length;

/// The width of the casing on each side of a line, in cells. Wider would eat symbols, narrower is lost in print.
const CASING: f64 = 0.055;

/// The darkest that a pale thread is drawn, in L*: at 42 a line keeps 6:1 on white paper, well over the 3:1
/// that WCAG 2 (1.4.11) asks of lines.
const DARKEST: f64 = 42.0;

/// Half the distance of the two lines of a double one, in cells. At 0.075 they ran into one in cells of 2 mm; at 0.1
/// they would touch dots in the next lane.
const DOUBLE: f64 = 0.095;

/// How far over the edge of the cells a line is drawn, in cells.
const EDGE: f64 = 0.15;

/// The lines of one mark in one thread: one line of the key.
pub(super) struct Kind<'a> {
    pub(super) lines: Vec<&'a WorkedLine>,
}

impl Kind<'_> {
    fn first(&self) -> &WorkedLine {
        self.lines[0]
    }

    /// Label and threads.
    pub(super) fn text(&self) -> String {
        format!("{}: {}", self.label(), self.names())
    }

    pub(super) fn label(&self) -> &str {
        &self.first().label
    }

    pub(super) fn names(&self) -> String {
        let names: Vec<&str> = self.first().threads.iter().map(|thread| thread.name.as_str()).collect();
        names.join(" + ")
    }

    pub(super) fn code(&self) -> String {
        let codes: Vec<&str> = self.first().threads.iter().map(|thread| thread.code.as_str()).collect();
        codes.join(" + ")
    }

    pub(super) fn strands(&self) -> String {
        let strands: Vec<String> =
            self.first().threads.iter().map(|thread| thread.strands.to_string()).collect();
        strands.join(" + ")
    }

    pub(super) fn threads(&self) -> &[Thread] {
        &self.first().threads
    }

    /// The length in front of the cloth, in cells.
    pub(super) fn length(&self) -> f64 {
        self.lines.iter().map(|line| line.length()).sum()
    }

    pub(super) fn pattern(&self) -> LinePattern {
        self.first().pattern
    }

    pub(super) fn colour(&self) -> Srgb8 {
        thread_colour(self.first())
    }

    /// A piece of it as the pages draw it, from left to right.
    pub(super) fn sample(&self, page: &mut Page, ink: Ink, ends: [Length; 2], middle: Length, cell: Length) {
        for (aside, stroke) in strokes(self.pattern(), ink_colour(self.colour(), ink), cell) {
            let points = ends.map(|x| [x, middle + aside * cell]).to_vec();
            page.add(Shape::Line { points, stroke });
        }
    }
}

/// The lines by mark, thread and pattern, in the order in which they come.
pub(super) fn kinds(lines: &[WorkedLine]) -> Vec<Kind<'_>> {
    alike(lines, |line| &line.label)
}

/// The same, whatever mark they belong to.
pub(super) fn kinds_by_look(lines: &[WorkedLine]) -> Vec<Kind<'_>> {
    alike(lines, |_| "")
}

fn alike(lines: &[WorkedLine], also: fn(&WorkedLine) -> &str) -> Vec<Kind<'_>> {
    let mut kinds: Vec<Kind> = Vec::new();
    // Hundreds of marks of hundreds of lines each: those that may be alike are found by what they are called.
    let mut places: HashMap<(&str, LinePattern, Vec<&str>), Vec<usize>> = HashMap::new();
    for line in lines {
        let codes = line.threads.iter().map(|thread| thread.code.as_str()).collect();
        let near = places.entry((also(line), line.pattern, codes)).or_default();
        match near.iter().find(|&&kind| kinds[kind].first().threads == line.threads) {
            Some(&kind) => kinds[kind].lines.push(line),
            None => {
                near.push(kinds.len());
                kinds.push(Kind { lines: vec![line] });
            }
        }
    }
    kinds
}

fn thread_colour(line: &WorkedLine) -> Srgb8 {
    let threads = line.threads.clone();
    crate::chart::Needle { symbol: String::new(), threads, stitch: Default::default() }.colour()
}

/// The colour to print a line in: black on a page without colour, else its own, darkened where it is pale.
pub(super) fn ink_colour(thread: Srgb8, ink: Ink) -> Srgb8 {
    match ink {
        Ink::Grey => Srgb8::BLACK,
        Ink::Colour => {
            let lab = thread.lab();
            if lab.l <= DARKEST { thread } else { Lab { l: DARKEST, ..lab }.srgb8() }
        }
    }
}

/// The strokes of a pattern along a line for cells of this side: how far aside in cells, and how drawn.
pub(super) fn strokes(pattern: LinePattern, colour: Srgb8, cell: Length) -> Vec<(f64, Stroke)> {
    let stroke = Stroke {
        colour,
        width: pattern.weight() * cell,
        dash: pattern.dashes().iter().map(|&length| length * cell).collect(),
    };
    asides(pattern).iter().map(|&aside| (aside, stroke.clone())).collect()
}

/// How far aside the strokes of a pattern are drawn, in cells.
pub(crate) fn asides(pattern: LinePattern) -> &'static [f64] {
    match pattern {
        LinePattern::Double => &[-DOUBLE, DOUBLE],
        _ => &[0.0],
    }
}

/// Half the width of a line with its casing, in cells.
pub(crate) fn half_width(pattern: LinePattern) -> f64 {
    let wide = match pattern {
        LinePattern::Double => pattern.weight() + 2.0 * DOUBLE,
        _ => pattern.weight(),
    };
    wide / 2.0 + CASING
}

fn casing(pattern: LinePattern, cell: Length) -> Stroke {
    Stroke::solid(Srgb8::WHITE, 2.0 * half_width(pattern) * cell)
}

/// Draws the lines that reach a block whose first column and row are `from`.
pub(super) fn draw(page: &mut Page, layout: &Layout, block: &Block, from: [u32; 2]) {
    let [left, top] = from;
    let window = Window::of(&(left..left + block.columns), &(top..top + block.rows));
    let here = layout.lines.iter().zip(&layout.drawn).filter(|(_, drawn)| drawn.casing.reach.meets(&window));
    let here: Vec<(&WorkedLine, &Drawn)> = here.collect();
    let mut add = |layer, way: &Way, stroke: &Stroke| {
        let place = |[x, y]: [f64; 2]| block.at([x - f64::from(left), y - f64::from(top)]);
        for points in way.within(&window) {
            let points = points.into_iter().map(place).collect();
            page.add_in(layer, Shape::Line { points, stroke: stroke.clone() });
        }
    };
    for (line_layer, layer) in
        [(LineLayer::Outlines, Layer::Outlines), (LineLayer::Lettering, Layer::Lettering)]
    {
        let lines = || here.iter().filter(|(line, _)| line.layer == line_layer);
        // All casings first: one must not cover its neighbour's line.
        for (line, drawn) in lines() {
            add(layer, &drawn.casing, &casing(line.pattern, block.cell));
        }
        for (line, drawn) in lines() {
            let colour = ink_colour(thread_colour(line), layout.options.ink);
            let strokes = strokes(line.pattern, colour, block.cell);
            for (index, (_, stroke)) in strokes.iter().enumerate() {
                // A single stroke goes the way of its casing.
                add(layer, drawn.asides.get(index).unwrap_or(&drawn.casing), stroke);
            }
        }
    }
}

/// Where the casing of a line and its strokes run, worked out once for all pages.
pub(super) struct Drawn {
    casing: Way,
    /// The strokes, where there are several.
    asides: Vec<Way>,
}

impl Drawn {
    pub(super) fn of(line: &WorkedLine) -> Self {
        let asides = asides(line.pattern);
        let asides = if asides == [0.0] { &[] } else { asides };
        Self {
            casing: Way::aside(line, 0.0),
            asides: asides.iter().map(|&aside| Way::aside(line, aside)).collect(),
        }
    }
}

/// The part of a chart in which lines are drawn, in cells.
struct Window {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl Window {
    /// These columns and rows, and a little beyond: a line along the edge of the design is as wide as any other.
    fn of(columns: &Range<u32>, rows: &Range<u32>) -> Self {
        let [left, right, top, bottom] = [columns.start, columns.end, rows.start, rows.end].map(f64::from);
        Self { left: left - EDGE, top: top - EDGE, right: right + EDGE, bottom: bottom + EDGE }
    }
}

/// Where a line runs, in cells, to be looked for on many pages.
pub(super) struct Way {
    points: Vec<[f64; 2]>,
    reach: Reach,
    /// How far each part reaches of so many stitches: of a long line most pages show little.
    parts: Vec<Reach>,
}

/// Stitches whose reach is kept together: more are looked at for nothing at the edge of a page, fewer take memory.
const PART: usize = 64;

/// The least and the greatest of each axis.
#[derive(Clone, Copy)]
struct Reach([[f64; 2]; 2]);

impl Reach {
    fn of(points: &[[f64; 2]]) -> Self {
        Self([0, 1].map(|axis| {
            let along = points.iter().map(|point| point[axis]);
            [along.clone().fold(f64::MAX, f64::min), along.fold(f64::MIN, f64::max)]
        }))
    }

    fn meets(&self, window: &Window) -> bool {
        let Self([[from_x, to_x], [from_y, to_y]]) = *self;
        to_x >= window.left && from_x <= window.right && to_y >= window.top && from_y <= window.bottom
    }
}

impl Way {
    pub(super) fn of(line: &WorkedLine) -> Self {
        Self::aside(line, 0.0)
    }

    fn aside(line: &WorkedLine, aside: f64) -> Self {
        let mut points = line.drawn(aside);
        if line.closed {
            points.extend(points.first().copied());
        }
        let starts = (0..points.len().saturating_sub(1)).step_by(PART);
        let parts = starts.map(|start| Reach::of(&points[start..(start + PART + 1).min(points.len())]));
        Self { reach: Reach::of(&points), parts: parts.collect(), points }
    }

    /// The stitches that may reach a window, part by part, each with where it begins.
    fn near<'a>(&'a self, window: &'a Window) -> impl Iterator<Item = (usize, &'a [[f64; 2]])> {
        let parts = self.parts.iter().enumerate().filter(|(_, reach)| reach.meets(window));
        parts.map(|(part, _)| {
            let start = part * PART;
            (start, &self.points[start..(start + PART + 1).min(self.points.len())])
        })
    }

    /// Whether it is drawn on a page with these columns and rows.
    pub(super) fn is_on(&self, columns: &Range<u32>, rows: &Range<u32>) -> bool {
        let window = Window::of(columns, rows);
        self.reach.meets(&window)
            && self
                .near(&window)
                .any(|(_, points)| points.windows(2).any(|pair| within(pair[0], pair[1], &window).is_some()))
    }

    /// The parts of it within a window, each as long as it goes (Liang & Barsky 1984 for each stitch).
    fn within(&self, window: &Window) -> Vec<Vec<[f64; 2]>> {
        let mut parts: Vec<Vec<[f64; 2]>> = Vec::new();
        let (mut open, mut end) = (false, 0);
        for (start, points) in self.near(window) {
            open &= start == end;
            end = start + points.len() - 1;
            for pair in points.windows(2) {
                let Some(([from, to], whole)) = within(pair[0], pair[1], window) else {
                    open = false;
                    continue;
                };
                match parts.last_mut() {
                    Some(part) if open => part.push(to),
                    _ => parts.push(vec![from, to]),
                }
                open = whole;
            }
        }
        parts
    }
}

/// The part of a stitch within a window, and whether its end is.
fn within(from: [f64; 2], to: [f64; 2], window: &Window) -> Option<([[f64; 2]; 2], bool)> {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    for (by, room) in [
        (-dx, from[0] - window.left),
        (dx, window.right - from[0]),
        (-dy, from[1] - window.top),
        (dy, window.bottom - from[1]),
    ] {
        if by.abs() < 1e-12 {
            if room < 0.0 {
                return None;
            }
        } else if by < 0.0 {
            enter = enter.max(room / by);
        } else {
            leave = leave.min(room / by);
        }
    }
    if leave - enter < 1e-9 {
        return None;
    }
    let at = |along: f64| [from[0] + dx * along, from[1] + dy * along];
    // The next stitch joins on only where this one was not cut at its end.
    Some(([at(enter), at(leave)], leave >= 1.0))
}
