//! The pen: closed forms, strokes and holes on a field of 1,000 by 1,000 units, one cell of the chart, y upwards.
//!
//! Every drawing is a union: contours of ink run one way round and count up, holes run the other way. A hole
//! must therefore lie wholly inside one form of ink; what is cut off to a line goes through [`cut`].

use kurbo::{Affine, BezPath, Cap, Join, ParamCurve, PathEl, Point, Shape, Stroke, StrokeOpts, Vec2};

/// The width of a stroke: 0.3 mm in a cell of 3 mm, what a worn home printer still lays down unbroken.
pub(super) const PEN: f64 = 100.0;

/// The width and height that ink may take: a tenth of the cell on every side stays free, so that a symbol
/// touches neither rule nor neighbour.
const ROOM: f64 = 800.0;

/// The middle of the cell.
pub(super) const MIDDLE: Point = Point::new(500.0, 500.0);

/// How far a quadratic may leave the curve that it stands for, in units: far below a printer's dot.
const ACCURACY: f64 = 0.6;

/// A point of the cell.
pub(super) fn at(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// The point so far from `from` in the direction of `degrees`, counted from the right, counter-clockwise.
pub(super) fn polar(from: Point, radius: f64, degrees: f64) -> Point {
    let radians = degrees.to_radians();
    from + Vec2::new(radians.cos(), radians.sin()) * radius
}

/// An open path through the points.
pub(super) fn through(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    for (index, &point) in points.iter().enumerate() {
        if index == 0 { path.move_to(point) } else { path.line_to(point) }
    }
    path
}

/// A closed form with these corners.
pub(super) fn polygon(points: &[Point]) -> BezPath {
    let mut path = through(points);
    path.close_path();
    path
}

/// A closed form with `count` equal sides, the first corner in the direction of `degrees`.
pub(super) fn regular(centre: Point, radius: f64, count: u32, degrees: f64) -> BezPath {
    let step = 360.0 / f64::from(count);
    let corners: Vec<Point> =
        (0..count).map(|index| polar(centre, radius, degrees + step * f64::from(index))).collect();
    polygon(&corners)
}

/// A form with `count` points, in and out by turns, the first outer one in the direction of `degrees`.
pub(super) fn star(centre: Point, outer: f64, inner: f64, count: u32, degrees: f64) -> BezPath {
    let step = 180.0 / f64::from(count);
    let corners: Vec<Point> = (0..2 * count)
        .map(|index| {
            let radius = if index % 2 == 0 { outer } else { inner };
            polar(centre, radius, degrees + step * f64::from(index))
        })
        .collect();
    polygon(&corners)
}

/// An upright rectangle between two corners.
pub(super) fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> BezPath {
    polygon(&[at(x0, y0), at(x1, y0), at(x1, y1), at(x0, y1)])
}

/// A disc.
pub(super) fn disc(centre: Point, radius: f64) -> BezPath {
    let mut path = arc(centre, radius, 0.0, 360.0);
    path.close_path();
    path
}

/// An open arc from one direction to another: positive sweeps run counter-clockwise.
pub(super) fn arc(centre: Point, radius: f64, from: f64, to: f64) -> BezPath {
    let pieces = ((to - from).abs() / 45.0).ceil().max(1.0);
    let step = (to - from) / pieces;
    let control = radius / (step.to_radians() / 2.0).cos();
    let mut path = BezPath::new();
    path.move_to(polar(centre, radius, from));
    for piece in 0..pieces as u32 {
        let start = from + step * f64::from(piece);
        path.quad_to(polar(centre, control, start + step / 2.0), polar(centre, radius, start + step));
    }
    path
}

/// The form turned about the middle of the cell, counter-clockwise.
pub(super) fn turned(form: &BezPath, degrees: f64) -> BezPath {
    Affine::rotate_about(degrees.to_radians(), MIDDLE) * form.clone()
}

/// The form grown or shrunk about a point.
pub(super) fn scaled(form: &BezPath, about: Point, factor: f64) -> BezPath {
    Affine::scale_about(factor, about) * form.clone()
}

/// The part of a closed form on one side of the line through `on` along `direction`: its left side. Right for
/// forms that the line cuts into two pieces.
pub(super) fn cut(form: &BezPath, on: Point, direction: Vec2) -> BezPath {
    let side = |point: Point| direction.cross(point - on);
    let reach = direction.normalize() * 5_000.0;
    let line = kurbo::Line::new(on - reach, on + reach);
    let mut path = BezPath::new();
    for segment in form.segments() {
        let mut stops: Vec<f64> = segment.intersect_line(line).iter().map(|hit| hit.segment_t).collect();
        stops.retain(|&stop| stop > 1e-6 && stop < 1.0 - 1e-6);
        stops.sort_by(f64::total_cmp);
        stops.insert(0, 0.0);
        stops.push(1.0);
        for pair in stops.windows(2) {
            let piece = segment.subsegment(pair[0]..pair[1]);
            if side(piece.eval(0.5)) <= 1e-6 {
                continue;
            }
            if path.elements().is_empty() {
                path.move_to(piece.start());
            } else {
                path.line_to(piece.start());
            }
            path.push(piece.as_path_el());
        }
    }
    path.close_path();
    path
}

/// Where the line through `on` along `direction` enters and leaves a convex form.
pub(super) fn chord(form: &BezPath, on: Point, direction: Vec2) -> [Point; 2] {
    let reach = direction.normalize() * 5_000.0;
    let line = kurbo::Line::new(on - reach, on + reach);
    let mut hits: Vec<f64> =
        form.segments().flat_map(|segment| segment.intersect_line(line)).map(|hit| hit.line_t).collect();
    hits.sort_by(f64::total_cmp);
    let ends = [hits.first(), hits.last()];
    ends.map(|end| line.eval(end.copied().unwrap_or(0.5)))
}

/// Ink in a cell, built up piece by piece.
#[derive(Debug, Clone, Default)]
pub(super) struct Drawing {
    path: BezPath,
}

impl Drawing {
    pub(super) fn new() -> Self {
        Self::default()
    }

    /// A closed form, inked.
    pub(super) fn fill(mut self, form: &BezPath) -> Self {
        self.path.extend(wound(form, true));
        self
    }

    /// A closed form without ink. It must lie inside one form of ink.
    pub(super) fn hole(mut self, form: &BezPath) -> Self {
        self.path.extend(wound(form, false));
        self
    }

    /// A path drawn with square ends and sharp corners.
    pub(super) fn stroke_wide(mut self, path: &BezPath, width: f64) -> Self {
        let style = Stroke::new(width).with_join(Join::Miter).with_miter_limit(6.0).with_caps(Cap::Butt);
        let drawn = kurbo::stroke(path, &style, &StrokeOpts::default(), ACCURACY);
        // All of a stroke is wound alike: one point of its band tells which way.
        let inside = path.segments().next().map_or(MIDDLE, |segment| segment.eval(0.37));
        let up = drawn.winding(inside) >= 0;
        self.path.extend(if up { drawn } else { drawn.reverse_subpaths() });
        self
    }

    /// A path drawn with the pen.
    pub(super) fn stroke(self, path: &BezPath) -> Self {
        self.stroke_wide(path, PEN)
    }

    /// Straight pen strokes through points, one after the other.
    pub(super) fn lines(self, points: &[Point]) -> Self {
        self.stroke(&through(points))
    }

    /// A round dot.
    pub(super) fn dot(self, centre: Point, radius: f64) -> Self {
        self.fill(&disc(centre, radius))
    }

    /// The drawing turned about the middle of the cell, counter-clockwise.
    pub(super) fn turn(mut self, degrees: f64) -> Self {
        self.path = turned(&self.path, degrees);
        self
    }

    /// The drawing moved.
    pub(super) fn shift(mut self, x: f64, y: f64) -> Self {
        self.path = Affine::translate((x, y)) * self.path;
        self
    }

    /// The other drawing on top.
    pub(super) fn and(mut self, other: &Self) -> Self {
        self.path.extend(other.path.iter());
        self
    }

    /// The outline in whole units, of lines and quadratics alone, its ink centred in the cell from side to
    /// side and from top to bottom and, where it is larger than [`ROOM`], shrunk into it.
    pub(super) fn outline(&self) -> BezPath {
        let bounds = self.path.bounding_box();
        let aside = MIDDLE - bounds.center();
        let mut path = BezPath::new();
        let fit = (ROOM / bounds.width().max(bounds.height())).min(1.0);
        let placed = Affine::scale_about(fit, MIDDLE) * Affine::translate(aside);
        for element in (placed * self.path.clone()).iter() {
            match element {
                PathEl::CurveTo(a, b, end) => {
                    let start = path.current_position().unwrap_or_default();
                    for (_, _, quad) in kurbo::CubicBez::new(start, a, b, end).to_quads(ACCURACY) {
                        path.quad_to(quad.p1, quad.p2);
                    }
                }
                other => path.push(other),
            }
        }
        whole(&path)
    }
}

/// The path with every point in whole units and without segments that shrank to nothing.
fn whole(path: &BezPath) -> BezPath {
    let mut out = BezPath::new();
    let mut last = Point::ZERO;
    for element in path.iter() {
        let element = match element {
            PathEl::MoveTo(p) => PathEl::MoveTo(p.round()),
            PathEl::LineTo(p) => PathEl::LineTo(p.round()),
            PathEl::QuadTo(c, p) => PathEl::QuadTo(c.round(), p.round()),
            other => other,
        };
        let end = element.end_point();
        let nothing = matches!(element, PathEl::LineTo(_) | PathEl::QuadTo(..)) && end == Some(last);
        if !nothing {
            out.push(element);
        }
        last = end.unwrap_or(last);
    }
    out
}

/// The contours of a form, each wound counter-clockwise, or each clockwise.
fn wound(form: &BezPath, up: bool) -> BezPath {
    let mut path = form.clone();
    if !matches!(path.elements().last(), Some(PathEl::ClosePath)) {
        path.close_path();
    }
    if (path.area() > 0.0) == up { path } else { path.reverse_subpaths() }
}

/// The corners of an upright cross with arms so long and so wide, as one form.
pub(super) fn cross(centre: Point, arm: f64, width: f64) -> BezPath {
    let half = width / 2.0;
    let quarter = [Vec2::new(half, half), Vec2::new(half, arm), Vec2::new(-half, arm)];
    let corner = |turn: u32, corner: Vec2| {
        polar(centre, corner.hypot(), corner.atan2().to_degrees() + f64::from(turn) * 90.0)
    };
    let corners: Vec<Point> = (0..4).flat_map(|turn| quarter.map(|place| corner(turn, place))).collect();
    polygon(&corners)
}
