//! Symbols as the paper has them: outlines that a page can draw and a chart can keep, and what a symbol is known by.

use std::fmt::Write as _;

use hayro::kurbo::PathEl;
use sha2::{Digest as _, Sha256};

use super::FoundSymbol;
use crate::chart::PrintedShape;

/// The side of the square that outlines are kept in.
const SIDE: f64 = 1000.0;

impl FoundSymbol {
    /// Its outlines, in a square of 1000 by 1000; none where it is a colour alone.
    pub(crate) fn printed(&self) -> Vec<PrintedShape> {
        let shape = |(shape, at, size): &(crate::reading::drawing::Shape, [f32; 2], f32)| {
            let middle = at.map(|at| f64::from(at) + 0.5);
            let path = shape.path(middle.map(|at| at * SIDE), f64::from(*size) * SIDE);
            let mut text = String::new();
            for element in path.elements() {
                let (letter, points) = match *element {
                    PathEl::MoveTo(a) => ('M', vec![a]),
                    PathEl::LineTo(a) => ('L', vec![a]),
                    PathEl::QuadTo(a, b) => ('Q', vec![a, b]),
                    PathEl::CurveTo(a, b, c) => ('C', vec![a, b, c]),
                    PathEl::ClosePath => ('Z', Vec::new()),
                };
                text.push(letter);
                let numbers: Vec<String> =
                    points.iter().map(|at| format!("{:.0} {:.0}", at.x, at.y).replace("-0 ", "0 ")).collect();
                text.push_str(&numbers.join(" "));
            }
            let width =
                shape.stroke().map(|width| (width * f64::from(*size) * SIDE).round().clamp(1.0, SIDE));
            #[allow(clippy::cast_sign_loss, reason = "clamped")]
            PrintedShape { path: text, stroke: width.map(|width| width as u16) }
        };
        self.outlines.iter().map(shape).collect()
    }

    /// What it is known by from one reading to the next, whatever its number: its outlines, else its colour.
    pub(crate) fn sign(&self) -> String {
        let mut hash = Sha256::new();
        for PrintedShape { path, stroke } in self.printed() {
            hash.update(path.as_bytes());
            hash.update([0]);
            hash.update(stroke.unwrap_or(0).to_be_bytes());
        }
        if let Some(ground) = self.ground.filter(|_| self.outlines.is_empty()) {
            hash.update([ground.r, ground.g, ground.b]);
        }
        hash.finalize()[..8].iter().fold(String::new(), |mut text, byte| {
            // Writing to a text does not fail.
            _ = write!(text, "{byte:02x}");
            text
        })
    }
}
