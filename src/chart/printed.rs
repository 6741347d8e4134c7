//! How a chart that was printed elsewhere drew its symbols, kept with the chart so that its paper and our screen agree.

use serde::{Deserialize, Serialize};

/// A symbol as the paper has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedSymbol {
    /// The name of brede's own symbol that stands for the same needle. A needle may have had several on the paper.
    pub symbol: String,
    /// Its outlines, in a square of 1000 by 1000 from the top left.
    pub shapes: Vec<PrintedShape>,
}

/// An outline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedShape {
    /// Path data of moves, lines, curves and ends, in capitals and whole numbers (SVG 1.1, 8.3).
    pub path: String,
    /// The width of its stroke; nothing where it is filled (by the nonzero rule).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stroke: Option<u16>,
}

/// The most symbols: as many as may be found on paper.
const MOST_SYMBOLS: usize = 1000;

/// The most outlines of a symbol, and the most letters of one: a letter of a text takes some hundreds.
const MOST_SHAPES: usize = 40;
const MOST_PATH: usize = 20_000;

/// The most letters of all outlines together: as many as the most symbols of a chart have at most.
const MOST_LETTERS: usize = 255 * MOST_PATH;

impl PrintedSymbol {
    /// Whether it is kept: outlines beyond all measure are not.
    #[must_use]
    pub fn is_kept(&self) -> bool {
        let is_path = |byte| matches!(byte, b'M' | b'L' | b'Q' | b'C' | b'Z' | b' ' | b'-' | b'0'..=b'9');
        let is_good = |shape: &PrintedShape| shape.path.len() <= MOST_PATH && shape.path.bytes().all(is_path);
        self.symbol.len() <= MOST_PATH && self.shapes.len() <= MOST_SHAPES && self.shapes.iter().all(is_good)
    }

    /// Whether symbols are no more than outlines may be: they come from a file and go into a page.
    pub(super) fn are_kept(all: &[Self]) -> bool {
        let letters: usize = all.iter().flat_map(|symbol| &symbol.shapes).map(|shape| shape.path.len()).sum();
        all.len() <= MOST_SYMBOLS && letters <= MOST_LETTERS && all.iter().all(Self::is_kept)
    }
}
