//! The measures of a chart page that do not depend on its cells: margins, rules and text.

use super::Print;
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, mm, text_points};

/// The margin that home printers leave white: 6 mm is safe (common practice, no source); 8 leaves room for
/// paper that is fed askew.
pub(super) const MARGIN: Length = mm(8.0);

/// The ground of repeated columns and rows.
pub(super) const GHOST_TINT: Srgb8 = Srgb8 { r: 0xe6, g: 0xe6, b: 0xe6 };
/// The colour of the rules between cells.
pub(super) const THIN_RULE: Srgb8 = Srgb8 { r: 0x80, g: 0x80, b: 0x80 };

/// The widths of the rules between cells and of those at each ten.
pub(super) const RULES: [Length; 2] = [mm(0.1), mm(0.38)];

/// Between the ruler under the cells and the strip of symbols.
pub(super) const OVER_STRIP: Length = mm(2.5);

/// The measures of a chart page that do not depend on its cells.
pub(super) struct Measures {
    pub(super) header: Length,
    pub(super) ruler: Length,
    pub(super) small: Length,
    pub(super) strip_row: Length,
    /// How wide rules are drawn: 1 as on paper.
    pub(super) pen: f64,
}

impl Measures {
    pub(super) fn of(print: Print) -> Self {
        match print {
            Print::Usual => Self {
                header: mm(13.5),
                ruler: mm(5.6),
                small: text_points(8.0),
                strip_row: mm(4.7),
                pen: 1.0,
            },
            Print::Large => Self {
                header: mm(26.0),
                ruler: mm(8.6),
                small: text_points(16.0),
                strip_row: mm(7.6),
                pen: 1.0,
            },
        }
    }
}

/// The room for cells on a page with `strip_rows` rows of symbols at its foot.
pub(super) fn room(paper: [Length; 2], measures: &Measures, strip_rows: usize) -> [Length; 2] {
    let [width, height] = paper;
    let strip = strip_rows as f64 * measures.strip_row + OVER_STRIP;
    [
        width - 2.0 * MARGIN - 2.0 * measures.ruler,
        height - 2.0 * MARGIN - measures.header - 2.0 * measures.ruler - strip,
    ]
}

pub(super) fn turned(paper: [Length; 2], turned: bool) -> [Length; 2] {
    let [width, height] = paper;
    if turned { [height, width] } else { [width, height] }
}
