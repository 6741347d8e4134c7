//! The symbols of a page along its foot.

use super::fit::Measures;
use super::grid::{MARGIN, THIN_RULE};
use super::{Align, Area, Layout, Page, Stroke};
use crate::chart::Chart;
use crate::typeface::{self, Weight};

/// How the strip of symbols is set: so many columns of so wide entries, with names or without.
pub(super) struct Strip {
    columns: usize,
    width: f64,
    named: bool,
}

impl Strip {
    /// Entries with names where at most 30 needles share the chart's page; codes alone for more.
    pub(super) fn new(chart: &Chart, most: usize, room: f64, measures: &Measures) -> Self {
        let codes = chart.needles().iter().map(|needle| code_width(&needle.code(), measures));
        let code = codes.fold(measures.small, f64::max).min(room / 2.0 - measures.strip_row);
        let bare = measures.strip_row + code + 2.0;
        let named = bare + 13.0 * measures.small / 2.2;
        let fits = |width: f64| {
            #[allow(clippy::cast_sign_loss, reason = "both are positive")]
            let columns = (room / width).floor() as usize;
            columns.max(1)
        };
        let columns = fits(named);
        // Few enough rows that the chart keeps its room.
        if most.div_ceil(columns) <= 6 {
            Self { columns, width: room / columns as f64, named: true }
        } else {
            // Codes of any length are cut here, so that the chart keeps its room; the thread list has them whole.
            let cut_to = |ems: f64| fits(bare.min(measures.strip_row + ems * measures.small));
            let columns = match cut_to(4.5) {
                few if most.div_ceil(few) > 12 => cut_to(2.6),
                columns => columns,
            };
            Self { columns, width: room / columns as f64, named: false }
        }
    }

    pub(super) fn rows(&self, entries: usize) -> usize {
        entries.div_ceil(self.columns)
    }

    /// The symbols on this page with their codes, and names where there is room, along the foot.
    pub(super) fn draw(&self, page: &mut Page, layout: &Layout, measures: &Measures, needles: &[usize]) {
        let Measures { small, strip_row, .. } = *measures;
        let rows = self.rows(needles.len());
        // Fewer columns than there could be are set wider, with more of each name.
        let columns = needles.len().div_ceil(rows.max(1)).max(1);
        let width = ((page.width - 2.0 * MARGIN) / columns as f64).min(self.width * 1.6);
        let top = page.height - MARGIN - rows as f64 * strip_row;
        for (index, &needle) in needles.iter().enumerate() {
            // Down the columns, as one reads a list.
            let (column, row) = (index / rows.max(1), index % rows.max(1));
            let x = MARGIN + column as f64 * width;
            let y = top + row as f64 * strip_row;
            let box_ = Area { x, y: y + 0.2, width: strip_row - 0.5, height: strip_row - 0.5 };
            layout.show_needle(page, box_, needle, Stroke::solid(THIN_RULE, 0.1));
            let needle = &layout.chart.needles()[needle];
            let base = y + strip_row / 2.0 + small * 0.32;
            let left = x + strip_row + 0.3;
            let (code, _) = typeface::showable(&needle.code());
            let code = typeface::shortened(&code, Weight::Bold, small, x + width - 1.0 - left);
            page.text([left, base], &code, small, Weight::Bold, Align::Left);
            if self.named {
                let from = left + typeface::width(&code, Weight::Bold, small) + 1.2;
                let (name, _) = typeface::showable(&needle.name());
                let name = typeface::shortened(&name, Weight::Regular, small, x + width - 1.5 - from);
                page.text([from, base], &name, small, Weight::Regular, Align::Left);
            }
        }
    }
}

fn code_width(code: &str, measures: &Measures) -> f64 {
    typeface::width(code, Weight::Bold, measures.small)
}
