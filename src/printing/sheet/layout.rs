//! What each kind of page needs to know of the chart and of the other pages.

use super::pagination::Plan;
use super::tint::Tinting;
use super::ways::Drawn;
use super::{Area, Page, Shape, SheetOptions, Show, Stroke};
use crate::chart::{Chart, WorkedLine};
use crate::ground::colour::Srgb8;
use crate::printing::length::Length;
use crate::printing::symbols::{AlikePair, SymbolId};

/// A chart as it is to be laid out.
pub(super) struct Layout<'a> {
    pub(super) chart: &'a Chart,
    pub(super) lines: &'a [WorkedLine],
    /// Where each of them is drawn.
    pub(super) drawn: Vec<Drawn>,
    pub(super) options: &'a SheetOptions,
    pub(super) symbols: Vec<SymbolId>,
    pub(super) alike: &'a [AlikePair],
    pub(super) uses: Vec<u64>,
    /// Whole skeins of all threads together.
    pub(super) skeins: u64,
    pub(super) title: String,
    pub(super) plan: Plan,
    pub(super) cell: Length,
    pub(super) tinting: Tinting,
    /// The page on which the chart pages begin, from 0.
    pub(super) first_chart_page: usize,
    pub(super) pages: usize,
}

impl Layout<'_> {
    /// The number of a page as printed, from the place of its part in the plan.
    pub(super) fn page_of(&self, across: usize, down: usize) -> usize {
        self.first_chart_page + down * self.plan.columns.len() + across
    }

    pub(super) fn tint_of(&self, needle: usize) -> Option<Srgb8> {
        self.chart.needles().get(needle).and_then(|needle| self.tinting.of(needle.colour()))
    }

    /// A box that shows a needle as its cells look on the page.
    pub(super) fn show_needle(&self, page: &mut Page, area: Area, needle: usize, frame: Stroke) {
        if let Some(colour) = self.tint_of(needle) {
            page.add(Shape::Fill { area, colour });
        }
        if self.options.show != Show::Colours {
            page.symbol(area, self.symbols[needle], self.chart.needles()[needle].stitch);
        }
        page.add(Shape::Frame { area, stroke: frame });
    }
}
