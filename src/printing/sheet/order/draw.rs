//! The line through the cells, its starts and ends, and the legend.

use super::path::{self, Needleful, Piece, Way};
use super::{Align, Area, MARGIN, Page, SMALL, START, Shape, Stroke, View, Weight, stroke};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, Point, mm};
use crate::printing::typeface;
use crate::thread::cloth::StitchKind;

/// An arrow each so many cells along the line, so that no stretch of it is without.
const ARROW_EACH: f64 = 4.0;

impl View<'_> {
    /// Pieces of the line of one length of thread, as far as they lie on the page.
    pub(super) fn line(&self, page: &mut Page, pieces: &[Piece], edges: [f64; 4]) {
        let mut open: Option<(Way, Vec<[f64; 2]>)> = None;
        let mut since = ARROW_EACH;
        for piece in pieces {
            let Some(part) = path::within(piece, edges) else {
                self.close(page, open.take());
                continue;
            };
            match &mut open {
                // Travels are drawn one by one: dots that run on round a corner would look like rows.
                Some((way, points))
                    if *way == part.way && part.way != Way::Travel && points.last() == Some(&part.from) =>
                {
                    points.push(part.to);
                }
                _ => {
                    let before = open.replace((part.way, vec![part.from, part.to]));
                    // A walk of double running changes its way at each stitch.
                    let is_walk = |way: Way| way == Way::Behind;
                    if !is_walk(part.way) && !before.as_ref().is_some_and(|(way, _)| is_walk(*way)) {
                        since = since.max(ARROW_EACH - 1.0);
                    }
                    self.close(page, before);
                }
            }
            let long = (part.to[0] - part.from[0]).hypot(part.to[1] - part.from[1]);
            since += long;
            // The short step from lane to lane has no room for one.
            if long > 0.6 && (since >= ARROW_EACH || part.way == Way::Travel) {
                self.arrow(page, &part);
                since = 0.0;
            }
        }
        self.close(page, open);
    }

    fn close(&self, page: &mut Page, line: Option<(Way, Vec<[f64; 2]>)>) {
        if let Some((way, points)) = line {
            let points = points.into_iter().map(|point| self.at(point)).collect();
            page.add(Shape::Line { points, stroke: stroke(way) });
        }
    }

    fn arrow(&self, page: &mut Page, piece: &Piece) {
        let [from, to] = [self.at(piece.from), self.at(piece.to)];
        page.add(head(from, to));
    }

    /// A number in a circle.
    pub(super) fn start(&self, page: &mut Page, thread: &Needleful, number: usize) {
        number_at(page, self.at(thread.start), number);
    }

    /// A square.
    pub(super) fn end(&self, page: &mut Page, thread: &Needleful) {
        page.add(square(self.at(thread.end)));
    }
}

/// What the signs mean, along the foot of a page of outlines: whether any runs double, and whether any is backstitched.
pub(super) fn legend_of_lines(page: &mut Page, double: bool, back: bool) {
    let first = match (double, back) {
        (true, true) => "in front, going out, and backstitch",
        (true, false) => "in front, going out",
        _ => "backstitch",
    };
    let (second, behind) =
        if double { ("in front, coming home", "behind") } else { ("", "travel on the back") };
    say_all(page, &[(Way::First, first), (Way::Second, second), (Way::Travel, behind)]);
}

/// The same of a page of crosses.
pub(super) fn legend(page: &mut Page, kinds: &[StitchKind]) {
    let texts = |kind: &StitchKind| match kind {
        StitchKind::FullCross => ["first legs /", "second legs \\ over them"],
        StitchKind::HalfCross => ["half crosses /", ""],
        StitchKind::HalfCrossBack => ["half crosses \\", ""],
        StitchKind::Quarter(_) => ["quarter stitches", ""],
        StitchKind::ThreeQuarter(_) => ["quarters first", "half crosses over them"],
    };
    let mut all: Vec<[&str; 2]> = kinds.iter().map(texts).collect();
    all.dedup();
    let [first, second] = match all.as_slice() {
        [texts] => *texts,
        // Needles of several kinds on one page.
        _ => ["first legs", "second legs, where there are any"],
    };
    say_all(page, &[(Way::First, first), (Way::Second, second), (Way::Travel, "travel on the back")]);
}

fn say_all(page: &mut Page, ways: &[(Way, &str)]) {
    let y = page.height - MARGIN - SMALL * 0.36;
    let mut x = MARGIN;
    let say = |page: &mut Page, x: Length, text: &str| {
        page.text([x, y + SMALL * 0.36], text, SMALL, Weight::Regular, Align::Left);
        x + typeface::width(text, Weight::Regular, SMALL) + mm(5.0)
    };
    number_at(page, [x + START, y], 1);
    x = say(page, x + 2.0 * START + mm(1.2), "start a thread");
    for &(way, text) in ways {
        if text.is_empty() {
            continue;
        }
        let ends = [[x, y], [x + mm(9.0), y]];
        page.add(Shape::Line { points: ends.to_vec(), stroke: stroke(way) });
        page.add(head(ends[0], ends[1]));
        x = say(page, x + mm(10.2), text);
    }
    page.add(square([x + mm(0.6), y]));
    say(page, x + mm(2.4), "end off");
}

/// An arrow head in the middle of a way.
fn head([x1, y1]: Point, [x2, y2]: Point) -> Shape {
    let long = (x2 - x1).hypot(y2 - y1).max(mm(1e-9));
    let (dx, dy) = ((x2 - x1) / long, (y2 - y1) / long);
    let (x, y) = ((x1 + x2) / 2.0, (y1 + y2) / 2.0);
    // As large as the lane of a row leaves room for: smaller heads are lost beside the line.
    let (ahead, back, wide) = (mm(1.0), mm(0.8), mm(0.75));
    let points = vec![
        [x + dx * ahead, y + dy * ahead],
        [x - dx * back - dy * wide, y - dy * back + dx * wide],
        [x - dx * back + dy * wide, y - dy * back - dx * wide],
    ];
    Shape::Polygon { points, colour: Srgb8::BLACK }
}

fn square([x, y]: Point) -> Shape {
    Shape::Fill {
        area: Area { x: x - mm(0.6), y: y - mm(0.6), width: mm(1.2), height: mm(1.2) },
        colour: Srgb8::BLACK,
    }
}

fn number_at(page: &mut Page, [x, y]: Point, number: usize) {
    let point = |step: u32| {
        let angle = f64::from(step) * 15f64.to_radians();
        [x + START * angle.cos(), y + START * angle.sin()]
    };
    let circle: Vec<Point> = (0..=24).map(point).collect();
    page.add(Shape::Polygon { points: circle.clone(), colour: Srgb8::WHITE });
    page.add(Shape::Line { points: circle, stroke: Stroke::solid(Srgb8::BLACK, mm(0.25)) });
    let text = number.to_string();
    // Long numbers are set smaller, so that they stay in the circle.
    let size = (SMALL * 0.85).min(2.0 * (START - mm(0.25)) / (text.len() as f64 * 0.58));
    page.text([x, y + size * 0.35], &text, size, Weight::Bold, Align::Centre);
}
