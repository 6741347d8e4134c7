//! Where lines of backstitch run on the chart, worked out once and cut to each page.
//!
//! Owns which part of a line lies on a page. Leaves how lines look to `lines`.

use std::ops::Range;

use crate::chart::WorkedLine;

/// How far over the edge of the cells a line is drawn, in cells.
const EDGE: f64 = 0.15;

/// Where the casing of a line and its strokes run, worked out once for all pages.
pub(super) struct Drawn {
    pub(super) casing: Way,
    /// The strokes, where there are several.
    pub(super) asides: Vec<Way>,
}

impl Drawn {
    /// Of a line whose strokes are drawn so far aside, in cells.
    pub(super) fn of(line: &WorkedLine, asides: &[f64]) -> Self {
        let asides = if asides == [0.0] { &[] } else { asides };
        Self {
            casing: Way::aside(line, 0.0),
            asides: asides.iter().map(|&aside| Way::aside(line, aside)).collect(),
        }
    }
}

/// The part of a chart in which lines are drawn, in cells.
pub(super) struct Window {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl Window {
    /// These columns and rows, and a little beyond: a line along the edge of the design is as wide as any other.
    pub(super) fn of(columns: &Range<u32>, rows: &Range<u32>) -> Self {
        let [left, right, top, bottom] = [columns.start, columns.end, rows.start, rows.end].map(f64::from);
        Self { left: left - EDGE, top: top - EDGE, right: right + EDGE, bottom: bottom + EDGE }
    }
}

/// Where a line runs, in cells, to be looked for on many pages.
pub(super) struct Way {
    points: Vec<[f64; 2]>,
    pub(super) reach: Reach,
    /// How far each part reaches of so many stitches: of a long line most pages show little.
    parts: Vec<Reach>,
}

/// Stitches whose reach is kept together: more are looked at for nothing at the edge of a page, fewer take memory.
const PART: usize = 64;

/// The least and the greatest of each axis.
#[derive(Clone, Copy)]
pub(super) struct Reach([[f64; 2]; 2]);

impl Reach {
    fn of(points: &[[f64; 2]]) -> Self {
        Self([0, 1].map(|axis| {
            let along = points.iter().map(|point| point[axis]);
            [along.clone().fold(f64::MAX, f64::min), along.fold(f64::MIN, f64::max)]
        }))
    }

    pub(super) fn meets(&self, window: &Window) -> bool {
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
    pub(super) fn within(&self, window: &Window) -> Vec<Vec<[f64; 2]>> {
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
