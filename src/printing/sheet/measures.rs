//! The measures of a chart page that do not depend on its cells: margins, rules and text.

use super::{MM_PER_POINT, Print};
use crate::ground::colour::Srgb8;

/// The margin that home printers leave white: 6 mm is safe (common practice, no source); 8 leaves room for
/// paper that is fed askew.
pub(super) const MARGIN: f64 = 8.0;

/// The ground of repeated columns and rows.
pub(super) const GHOST_TINT: Srgb8 = Srgb8 { r: 0xe6, g: 0xe6, b: 0xe6 };
/// The colour of the rules between cells.
pub(super) const THIN_RULE: Srgb8 = Srgb8 { r: 0x80, g: 0x80, b: 0x80 };

/// The widths in millimetres of the rules between cells and of those at each ten.
pub(super) const RULES: [f64; 2] = [0.1, 0.38];

/// The measures of a chart page that do not depend on its cells.
pub(super) struct Measures {
    pub(super) header: f64,
    pub(super) ruler: f64,
    pub(super) small: f64,
    pub(super) strip_row: f64,
    /// How wide rules are drawn: 1 as on paper.
    pub(super) pen: f64,
}

impl Measures {
    pub(super) fn of(print: Print) -> Self {
        match print {
            Print::Usual => {
                Self { header: 13.5, ruler: 5.6, small: 8.0 * MM_PER_POINT, strip_row: 4.7, pen: 1.0 }
            }
            Print::Large => {
                Self { header: 19.5, ruler: 8.6, small: 16.0 * MM_PER_POINT, strip_row: 7.6, pen: 1.0 }
            }
        }
    }
}

/// The room for cells on a page, in millimetres, with `strip_rows` rows of symbols at its foot.
pub(super) fn room(paper: [f64; 2], measures: &Measures, strip_rows: usize) -> [f64; 2] {
    let [width, height] = paper;
    let strip = strip_rows as f64 * measures.strip_row + 2.5;
    [
        width - 2.0 * MARGIN - 2.0 * measures.ruler,
        height - 2.0 * MARGIN - measures.header - 2.0 * measures.ruler - strip,
    ]
}

pub(super) fn turned(paper: [f64; 2], turned: bool) -> [f64; 2] {
    let [width, height] = paper;
    if turned { [height, width] } else { [width, height] }
}
