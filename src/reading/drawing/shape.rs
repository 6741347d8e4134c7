//! An outline without place and size: what a symbol is known by.

use hayro::kurbo::{BezPath, PathEl, Point, Rect, Shape as _};
use serde::{Deserialize, Serialize};

/// An outline whose box has its middle at 0 and its longer side from -½ to ½.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(in crate::reading) struct Shape {
    /// Its pieces: `m`, `l`, `q`, `c`, `z`; before them `s`, if it is stroked.
    pub(in crate::reading) pieces: String,
    /// The width of its stroke in thousandths of the longer side; the stroke is no part of the box.
    #[serde(default, skip_serializing_if = "is_none")]
    pub(in crate::reading) width: u16,
    /// The points of all pieces in ten-thousandths.
    pub(in crate::reading) points: Vec<[i16; 2]>,
}

fn is_none(width: &u16) -> bool {
    *width == 0
}

/// How much the strokes of equal outlines may differ in width, in thousandths of the longer side: keys draw symbols larger
/// with strokes of the same width.
const STROKES: u16 = 60;

/// How far points of equal outlines may lie apart, in ten-thousandths: writers round, and a sign of 6 points rounded to
/// hundredths is off by 17. The strokes of I and l, one a little shorter and wider, are 85 apart.
const NEAR: i32 = 45;

/// How far apart they may lie where writers round to tenths of a point.
const COARSE: i32 = 160;

impl Shape {
    /// The shape of an outline; nothing where it has no extent. `stroke` is the width of its stroke.
    pub(in crate::reading) fn of(path: &BezPath, stroke: Option<f64>) -> Option<(Self, Rect)> {
        let bounds = path.bounding_box();
        let side = bounds.width().max(bounds.height());
        if !(side.is_finite() && side > 1e-6) {
            return None;
        }
        let middle = bounds.center();
        let mut pieces = stroke.map_or_else(String::new, |_| "s".to_owned());
        #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
        let width = stroke.map_or(0, |width| (width / side * 1000.0).round().clamp(0.0, 60_000.0) as u16);
        let mut points = Vec::new();
        let mut put = |all: &[Point]| {
            points.extend(all.iter().map(|point| {
                [(point.x - middle.x) / side, (point.y - middle.y) / side]
                    .map(|share| (share * 10_000.0).round().clamp(-32_000.0, 32_000.0) as i16)
            }));
        };
        for element in path.elements() {
            match *element {
                PathEl::MoveTo(a) => {
                    pieces.push('m');
                    put(&[a]);
                }
                PathEl::LineTo(a) => {
                    pieces.push('l');
                    put(&[a]);
                }
                PathEl::QuadTo(a, b) => {
                    pieces.push('q');
                    put(&[a, b]);
                }
                PathEl::CurveTo(a, b, c) => {
                    pieces.push('c');
                    put(&[a, b, c]);
                }
                PathEl::ClosePath => pieces.push('z'),
            }
        }
        Some((Self { pieces, width, points }, bounds))
    }

    /// The width of its stroke, its longer side being 1; nothing where it is filled.
    pub(in crate::reading) fn stroke(&self) -> Option<f64> {
        self.pieces.starts_with('s').then(|| f64::from(self.width) / 1000.0)
    }

    /// It with its middle at a place and its longer side so long.
    pub(in crate::reading) fn path(&self, at: [f64; 2], size: f64) -> BezPath {
        let mut points = self.points.iter().map(|point| {
            let [x, y] = [0, 1].map(|axis| at[axis] + f64::from(point[axis]) / 10_000.0 * size);
            Point::new(x, y)
        });
        let mut next = || points.next().unwrap_or_default();
        let mut path = BezPath::new();
        for piece in self.pieces.chars() {
            match piece {
                'm' => path.move_to(next()),
                'l' => path.line_to(next()),
                'q' => path.quad_to(next(), next()),
                'c' => path.curve_to(next(), next(), next()),
                'z' => path.close_path(),
                _ => {}
            }
        }
        path
    }

    /// Whether both are one outline, but for what writers round.
    pub(in crate::reading) fn is_like(&self, other: &Self) -> bool {
        self.is_within(other, NEAR)
    }

    /// Whether both may be one outline that was rounded coarsely.
    pub(in crate::reading) fn may_be(&self, other: &Self) -> bool {
        self.is_within(other, COARSE)
    }

    fn is_within(&self, other: &Self, most: i32) -> bool {
        let near = |one: &[i16; 2], other: &[i16; 2]| {
            [0, 1].iter().all(|&axis| (i32::from(one[axis]) - i32::from(other[axis])).abs() <= most)
        };
        self.pieces == other.pieces
            && self.width.abs_diff(other.width) <= STROKES
            && self.points.len() == other.points.len()
            && self.points.iter().zip(&other.points).all(|(one, other)| near(one, other))
    }
}
