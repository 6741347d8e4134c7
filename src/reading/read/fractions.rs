//! Quarter and three-quarter stitches: the symbol of a thread, small, in a corner of its square, alone or with another in
//! the corner across.
//!
//! Charts print them so where part of a square is worked (common practice, no source). A three-quarter stitch shows the
//! diagonal beside it, which `lines` counts.

use std::collections::BTreeMap;

use super::squares::{Book, Element};
use crate::thread::cloth::Corner;

/// How much smaller than in the middle of a square.
const SMALLER: std::ops::Range<f32> = 0.25..0.85;

/// How far from the middle of the square such a symbol stands.
const ASIDE: std::ops::Range<f32> = 0.11..0.42;

/// How far its outlines may be off, in squares.
const OFF: f32 = 0.06;

/// The most symbols that are compared.
const MOST: usize = 600;

/// A symbol of part of a square: the symbols that it is made of, each with its corner.
pub(super) type Fraction = Vec<(u32, Corner)>;

/// Those among symbols that the key lacks which are symbols of the key, small, in corners.
pub(super) fn find(book: &Book, of_key: &[u32], lacking: &[u32]) -> BTreeMap<u32, Fraction> {
    if of_key.len().max(lacking.len()) > MOST {
        return BTreeMap::new();
    }
    let of = |&symbol: &u32| fraction(book, of_key, symbol).map(|fraction| (symbol, fraction));
    lacking.iter().filter_map(of).collect()
}

fn fraction(book: &Book, of_key: &[u32], symbol: u32) -> Option<Fraction> {
    let mut groups: BTreeMap<Corner, Vec<Element>> = BTreeMap::new();
    for element in &book.symbols[symbol as usize] {
        let corner = corner(element.at);
        groups.entry(corner).or_default().push(*element);
    }
    let found: Option<Fraction> = groups
        .into_iter()
        .map(|(corner, elements)| {
            let base = of_key.iter().find(|&&base| is_small(&elements, &book.symbols[base as usize]))?;
            Some((*base, corner))
        })
        .collect();
    found.filter(|found| (1..=2).contains(&found.len()))
}

fn corner(at: [f32; 2]) -> Corner {
    let place = at.map(|at| i32::from(at > 0.0));
    Corner::ALL.into_iter().find(|corner| corner.place() == place).unwrap_or_default()
}

/// Whether outlines are those of a whole symbol, smaller and in a corner.
fn is_small(elements: &[Element], whole: &[Element]) -> bool {
    let sum = |of: &[Element]| of.iter().map(|element| element.size).sum::<f32>();
    let scale = sum(elements) / sum(whole).max(1e-6);
    if elements.len() != whole.len() || !SMALLER.contains(&scale) {
        return false;
    }
    let middle = |of: &[Element]| {
        [0, 1].map(|axis| of.iter().map(|element| element.at[axis]).sum::<f32>() / of.len().max(1) as f32)
    };
    let (own, other) = (middle(elements), middle(whole));
    let moved = [0, 1].map(|axis| own[axis] - other[axis] * scale);
    let is_aside = moved.iter().all(|moved| ASIDE.contains(&moved.abs()));
    let mut left = elements.to_vec();
    is_aside
        && whole.iter().all(|element| {
            let found = left.iter().position(|own| {
                own.shape == element.shape
                    && (own.size - element.size * scale).abs() < OFF
                    && (0..2).all(|axis| (own.at[axis] - moved[axis] - element.at[axis] * scale).abs() < OFF)
            });
            found.map(|at| left.swap_remove(at)).is_some()
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn element(shape: u32, at: [f32; 2], size: f32) -> Element {
        Element { shape, at, size }
    }

    #[test]
    fn small_symbols_in_corners_are_parts_of_stitches() {
        let mut book = Book::default();
        // Two bars; a disc; the bars small at the top right; and with the disc at the bottom left.
        let bars = |at: [f32; 2], scale: f32| {
            [-0.15_f32, 0.15].map(|off| element(1, [at[0] + off * scale, at[1]], 0.6 * scale)).to_vec()
        };
        book.symbols.push(bars([0.0, 0.0], 1.0));
        book.symbols.push(vec![element(2, [0.0, 0.02], 0.5)]);
        book.symbols.push(bars([0.24, -0.24], 0.5));
        book.symbols.push([bars([0.24, -0.24], 0.5), vec![element(2, [-0.25, 0.26], 0.25)]].concat());
        // As large as in the middle, or in the middle: symbols of their own.
        book.symbols.push(bars([0.2, -0.2], 1.0));
        book.symbols.push(bars([0.0, 0.0], 0.5));
        let found = find(&book, &[0, 1], &[2, 3, 4, 5]);
        assert_eq!(found[&2], [(0, Corner::TopRight)]);
        assert_eq!(found[&3], [(1, Corner::BottomLeft), (0, Corner::TopRight)]);
        assert_eq!(found.len(), 2);
    }
}
