//! What stands at the head of a chart page.

use std::ops::Range;

use crate::printing::length::Length;
use crate::printing::typeface::{self, Weight};

/// How the head of a page says which page it is and what it shows; all pages of a chart say it alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// `Page 3 of 9: columns 1 to 50, rows 71 to 140`.
    Whole,
    /// `columns 1 to 50, rows 71 to 140`, and the number beside the title.
    Apart,
    /// `columns 1–50, rows 71–140`, and the number beside the title.
    Short,
}

impl Form {
    /// The longest form that has room on every page.
    pub(super) fn of([columns, rows]: [u32; 2], pages: usize, size: Length, room: Length) -> Self {
        // No number of a page is wider than the last one's digits, all eights.
        let widest = |number: u32| 8 * (0..=number.max(1).ilog10()).fold(0, |sum, _| sum * 10 + 1);
        let [columns, rows] = [columns, rows].map(widest);
        let pages = widest(u32::try_from(pages).unwrap_or(u32::MAX / 10)) as usize;
        let fits = |form: &Self| {
            let text = form.place([columns - 1..columns, rows - 1..rows], pages, pages);
            typeface::width(&text, Weight::Regular, size) <= room
        };
        [Self::Whole, Self::Apart].into_iter().find(fits).unwrap_or(Self::Short)
    }

    pub(super) fn place(self, [columns, rows]: [Range<u32>; 2], number: usize, pages: usize) -> String {
        let (a, b, c, d) = (columns.start + 1, columns.end, rows.start + 1, rows.end);
        match self {
            Self::Whole => {
                format!("Page {number} of {pages}: columns {a} to {b}, rows {c} to {d}")
            }
            Self::Apart => format!("columns {a} to {b}, rows {c} to {d}"),
            Self::Short => format!("columns {a}–{b}, rows {c}–{d}"),
        }
    }

    pub(super) fn beside(self, number: usize, pages: usize) -> String {
        match self {
            Self::Whole => String::new(),
            Self::Apart | Self::Short => format!("  page {number} of {pages}"),
        }
    }
}
