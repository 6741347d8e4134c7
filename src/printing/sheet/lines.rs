//! Lines of backstitch on the chart pages and in the key.
//!
//! A line lies over its cells on a narrow pale casing: where it runs along the holes it touches no symbol. Where it
//! crosses a cell near the middle, the symbol stands over the line, whole.

use std::collections::{BTreeSet, HashMap};

use super::ways::{Drawn, Way, Window};
use super::{Block, Ink, Layer, Layout, Page, Shape, Stroke};
use crate::chart::{LineLayer, LinePattern, Thread, WorkedLine};
use crate::ground::colour::{Lab, Srgb8};
use crate::printing::length::Length;
use crate::printing::near::along_row;

/// The width of the casing on each side of a line, in cells. Wider would eat symbols, narrower is lost in print.
const CASING: f64 = 0.055;

/// The darkest that a pale thread is drawn, in L*: at 42 a line keeps 6:1 on white paper, well over the 3:1
/// that WCAG 2 (1.4.11) asks of lines.
const DARKEST: f64 = 42.0;

/// Half the distance of the two lines of a double one, in cells. At 0.075 they ran into one in cells of 2 mm; at 0.1
/// they would touch dots in the next lane.
const DOUBLE: f64 = 0.095;

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

    /// How many stitches its lines have.
    pub(super) fn stitches(&self) -> usize {
        self.lines.iter().map(|line| line.stitches().count()).sum()
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

/// A line this near to the middle of a cell, in cells, would take more than the edge of its symbol. One that lies in the
/// first lane beside the holes is 0.39 from it.
const NEAR_MIDDLE: f64 = 0.37;

/// The cells whose middle a stretch of a line comes near, by column and row from where its places are counted.
pub(crate) fn crossed_by([from, to]: [[f64; 2]; 2]) -> impl Iterator<Item = [i64; 2]> {
    let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    let square = (dx * dx + dy * dy).max(1e-12);
    // Cells by their middles.
    let cells = |low: f64, high: f64| (low - 0.5).ceil() as i64..=(high - 0.5).floor() as i64;
    let rows = cells(from[1].min(to[1]) - NEAR_MIDDLE, from[1].max(to[1]) + NEAR_MIDDLE);
    let near = rows.flat_map(move |row| {
        let [low, high] = along_row([from, to], NEAR_MIDDLE, row as f64 + 0.5);
        cells(low, high).map(move |column| [column, row])
    });
    near.filter(move |&[column, row]| {
        let [x, y] = [column as f64 + 0.5 - from[0], row as f64 + 0.5 - from[1]];
        let along = ((x * dx + y * dy) / square).clamp(0.0, 1.0);
        libm::hypot(x - along * dx, y - along * dy) < NEAR_MIDDLE
    })
}

/// The cells of a block that lines cross near the middle, from its top left. Its first column and row are `from`.
pub(super) fn crossed(layout: &Layout, block: &Block, from: [u32; 2]) -> BTreeSet<[u32; 2]> {
    let [left, top] = from;
    let window = Window::of(&(left..left + block.columns), &(top..top + block.rows));
    let here = layout.drawn.iter().filter(|drawn| drawn.casing.reach.meets(&window));
    let mut cells = BTreeSet::new();
    for points in here.flat_map(|drawn| drawn.casing.within(&window)) {
        for pair in points.windows(2) {
            let place = |[x, y]: [f64; 2]| [x - f64::from(left), y - f64::from(top)];
            cells.extend(crossed_by([place(pair[0]), place(pair[1])]).filter_map(|[column, row]| {
                let [column, row] = [u32::try_from(column).ok()?, u32::try_from(row).ok()?];
                (column < block.columns && row < block.rows).then_some([column, row])
            }));
        }
    }
    cells
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
