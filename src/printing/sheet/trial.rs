//! A small page, never printed, that shows symbols as chart pages will: it is read back before those are inked.

use super::measures::{MARGIN, Measures};
use super::tint::Tinting;
use super::{
    Area, Block, Layout, Page, Sheet, SheetError, SheetOptions, Stroke, fit, grid, key, pagination, tinting,
};
use crate::chart::{Chart, WorkedLine};
use crate::ground::colour::Srgb8;
use crate::ground::units::Millimetres;
use crate::printing::length::Length;
use crate::printing::symbols::SymbolId;

/// From box to box of the key's symbols, in sides of a row: farther than a box is looked for.
const PITCH: f64 = 1.15;

/// The fewest boxes side by side.
const LEAST_BOXES: u32 = 4;

/// How squares look on the chart pages of a chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Look {
    cell: Length,
    tinting: Tinting,
}

impl Look {
    /// As [`lay_out`](super::lay_out()) will have them.
    pub(crate) fn of(
        chart: &Chart,
        lines: &[WorkedLine],
        options: &SheetOptions,
    ) -> Result<Self, SheetError> {
        let (plan, cell) = fit::plan(chart, lines, options)?;
        let mut layout = layout(chart, options, Self { cell, tinting: Tinting::full(options.ink) });
        layout.plan = plan;
        Ok(Self { cell, tinting: tinting(&layout) })
    }

    /// The side of a square.
    pub(crate) fn cell(&self) -> Millimetres {
        Millimetres::new(self.cell.to_mm()).unwrap_or_default()
    }

    /// The same in squares of another size.
    pub(crate) fn in_squares(self, cell: Millimetres) -> Self {
        Self { cell: cell.into(), ..self }
    }
}

/// The page, where the box of each needle's symbol stands on it, as large as in the key, and where its squares are.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TrialPage {
    pub(crate) sheet: Sheet,
    pub(crate) boxes: Vec<Area>,
    pub(crate) block: Block,
}

/// A page that shows all of `chart` under its rules and, above, its key without words.
pub(crate) fn trial(chart: &Chart, look: Look, options: &SheetOptions) -> TrialPage {
    let measures = Measures::of(options.print);
    let layout = layout(chart, options, look);
    let size = chart.size();
    let needles = chart.needles().len();
    let row = key::row_height(options);
    let pitch = row * PITCH;
    let across = (look.cell * f64::from(size.columns())).holds(pitch, 1e-9).max(LEAST_BOXES) as usize;
    let corner = |needle: usize| {
        [MARGIN + pitch * (needle % across) as f64, MARGIN + pitch * (needle / across) as f64]
    };
    let boxes: Vec<Area> = (0..needles).map(|needle| key::symbol_area(corner(needle), row)).collect();
    let block = Block {
        x: MARGIN,
        y: MARGIN + pitch * needles.div_ceil(across) as f64 + measures.ruler,
        cell: look.cell,
        columns: size.columns(),
        rows: size.rows(),
    };
    let width = block.width().max(pitch * across as f64);
    let mut page = Page::new([width + MARGIN * 2.0, block.y + block.height() + MARGIN]);
    for (needle, area) in boxes.iter().enumerate() {
        layout.show_needle(&mut page, *area, needle, Stroke::solid(Srgb8::BLACK, key::BOX_FRAME));
    }
    grid::squares(&mut page, &layout, block, &measures);
    let sheet =
        Sheet { title: String::new(), pages: vec![page], pictures: Vec::new(), bookmarks: Vec::new() };
    TrialPage { sheet, boxes, block }
}

fn layout<'a>(chart: &'a Chart, options: &'a SheetOptions, look: Look) -> Layout<'a> {
    Layout {
        chart,
        lines: &[],
        drawn: Vec::new(),
        options,
        symbols: chart.needles().iter().map(|needle| SymbolId::of(&needle.symbol)).collect(),
        alike: &[],
        uses: Vec::new(),
        skeins: 0,
        title: String::new(),
        plan: pagination::Plan::whole(chart.size()),
        cell: look.cell,
        tinting: look.tinting,
        first_chart_page: 0,
        pages: 1,
    }
}
