//! A chart laid out on paper as plain shapes in millimetres.
//!
//! Owns the design of the pages: cover, key, page map and chart pages. Knows no file format: `ink` turns the
//! shapes into one. Positions are in millimetres from the top left of the page, y downwards.

mod cover;
mod grid;
mod key;
mod lines;
pub mod lists;
mod map;
mod pagination;
mod paper;
mod tint;

use image::RgbImage;

use crate::chart::{Chart, WorkedLine};
use crate::colour::Srgb8;
use crate::kit;
use crate::symbols::SymbolId;
use crate::typeface::{self, Weight};
use crate::units::Millimetres;

pub use grid::CELL_LIMITS_MM;
pub(crate) use key::symbol_areas;
pub(crate) use lines::half_width;
pub(crate) use pagination::with_repeats;
pub use paper::{Paper, PaperError};
pub use tint::{GREY_STEPS, tint};

/// Millimetres in a typographic point: 25.4 / 72.
const MM_PER_POINT: f64 = 25.4 / 72.0;

/// Whether the page may use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ink {
    /// Pale tints of the threads under black symbols.
    #[default]
    Colour,
    /// A few greys, the darker the thread.
    Grey,
}

/// How large cells and text are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Print {
    /// For reading at the table.
    #[default]
    Usual,
    /// For eyes that want it larger: text of 16 points (UKAAF G003, clear and large print) and cells of
    /// 4.5 mm at least.
    Large,
}

impl Print {
    /// A text size in millimetres from its usual size in points.
    fn text(self, points: f64) -> f64 {
        let points = match self {
            Self::Usual => points,
            Self::Large => points.max(16.0),
        };
        points * MM_PER_POINT
    }
}

/// What the person asked of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetOptions {
    /// The paper.
    pub paper: Paper,
    /// Colour or grey.
    pub ink: Ink,
    /// The side of a cell, where it is asked for; else as large as the paper allows, near 3 mm.
    pub cell: Option<Millimetres>,
    /// Usual or large.
    pub print: Print,
    /// The day to print on the cover, as it is to be read.
    pub date: String,
}

impl Default for SheetOptions {
    fn default() -> Self {
        Self { paper: Paper::A4, ink: Ink::Colour, cell: None, print: Print::Usual, date: String::new() }
    }
}

/// A place and size on the page, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// From the left.
    pub x: f64,
    /// From the top.
    pub y: f64,
    /// Across.
    pub width: f64,
    /// Down.
    pub height: f64,
}

impl Area {
    fn right(&self) -> f64 {
        self.x + self.width
    }

    fn bottom(&self) -> f64 {
        self.y + self.height
    }

    fn inset(&self, by: f64) -> Self {
        Self { x: self.x + by, y: self.y + by, width: self.width - 2.0 * by, height: self.height - 2.0 * by }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub colour: Srgb8,
    /// Its width in millimetres.
    pub width: f64,
    /// Lengths of dashes and gaps in millimetres, none for a solid line.
    pub dash: Vec<f64>,
}

impl Stroke {
    fn solid(colour: Srgb8, width: f64) -> Self {
        Self { colour, width, dash: Vec::new() }
    }
}

/// Which end of a text its position gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// The left.
    Left,
    /// The middle.
    Centre,
    /// The right.
    Right,
}

/// Cells of one tint: rectangles in whole cells, `[column, row, columns, rows]` from the block's top left.
#[derive(Debug, Clone, PartialEq)]
pub struct TintedCells {
    /// The tint.
    pub colour: Srgb8,
    /// The rectangles.
    pub rects: Vec<[u32; 4]>,
}

/// Symbols side by side in one row of a block.
#[derive(Debug, Clone, PartialEq)]
pub struct SymbolRun {
    /// The column of the first, from the block's left.
    pub column: u32,
    /// The row, from the block's top.
    pub row: u32,
    /// One symbol a cell.
    pub symbols: Vec<SymbolId>,
}

/// The origin, cell side and size in cells of a block of cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// The left of the first column.
    pub x: f64,
    /// The top of the first row.
    pub y: f64,
    /// The side of a cell.
    pub cell: f64,
    /// Columns.
    pub columns: u32,
    /// Rows.
    pub rows: u32,
}

/// A shape on the page.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A filled rectangle.
    Fill {
        /// Where.
        area: Area,
        /// Of what colour.
        colour: Srgb8,
    },
    /// The edge of a rectangle.
    Frame {
        /// Where.
        area: Area,
        /// How.
        stroke: Stroke,
    },
    /// A line through points.
    Line {
        /// The points, `[x, y]`.
        points: Vec<[f64; 2]>,
        /// How.
        stroke: Stroke,
    },
    /// A filled polygon.
    Polygon {
        /// The corners, `[x, y]`.
        points: Vec<[f64; 2]>,
        /// Of what colour.
        colour: Srgb8,
    },
    /// A line of text.
    Text {
        /// The position of the end that `align` names.
        x: f64,
        /// The base line.
        y: f64,
        /// The text.
        text: String,
        /// The size of the em.
        size: f64,
        /// The weight.
        weight: Weight,
        /// The end that `x` gives.
        align: Align,
        /// Its colour.
        colour: Srgb8,
    },
    /// One symbol, large or small.
    Symbol {
        /// The square that it stands in.
        area: Area,
        /// Which.
        symbol: SymbolId,
    },
    /// Cells under tints.
    Tints {
        /// Where.
        block: Block,
        /// The tints, each colour once.
        tints: Vec<TintedCells>,
    },
    /// Symbols of cells.
    Symbols {
        /// Where.
        block: Block,
        /// The runs, by rows.
        runs: Vec<SymbolRun>,
        /// Their colour.
        colour: Srgb8,
    },
    /// A picture, by its place in [`Sheet::pictures`].
    Picture {
        /// Where.
        area: Area,
        /// Which.
        picture: usize,
    },
}

/// A part of the chart pages that a reader can switch on and off on a screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The pale colours under the symbols.
    Tints,
    /// The symbols of the base.
    Base,
    /// Outlines round motifs.
    Outlines,
    /// Stitched letters.
    Lettering,
    /// Rules and centre lines.
    Grid,
}

impl Layer {
    /// All layers, in the order they are drawn.
    pub const ALL: [Self; 5] = [Self::Tints, Self::Base, Self::Grid, Self::Outlines, Self::Lettering];

    /// The name that a reader sees.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Tints => "Tints",
            Self::Base => "Base",
            Self::Outlines => "Outlines",
            Self::Lettering => "Lettering",
            Self::Grid => "Grid",
        }
    }
}

/// A place to press that leads to another page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// Where to press.
    pub area: Area,
    /// The page that it leads to, from 0.
    pub page: usize,
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its width in millimetres.
    pub width: f64,
    /// Its height in millimetres.
    pub height: f64,
    /// Shapes in drawing order, each in a layer or always shown.
    pub shapes: Vec<(Option<Layer>, Shape)>,
    /// Links to other pages.
    pub links: Vec<Link>,
}

impl Page {
    fn new([width, height]: [f64; 2]) -> Self {
        Self { width, height, shapes: Vec::new(), links: Vec::new() }
    }

    fn add(&mut self, shape: Shape) {
        self.shapes.push((None, shape));
    }

    fn add_in(&mut self, layer: Layer, shape: Shape) {
        self.shapes.push((Some(layer), shape));
    }

    fn text(&mut self, at: [f64; 2], text: &str, size: f64, weight: Weight, align: Align) {
        let [x, y] = at;
        let colour = Srgb8::BLACK;
        self.add(Shape::Text { x, y, text: text.to_owned(), size, weight, align, colour });
    }
}

/// An entry of the table of contents that a reader shows beside the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Bookmark {
    /// What it says.
    pub title: String,
    /// The page, from 0.
    pub page: usize,
    /// The entries under it.
    pub children: Vec<Bookmark>,
}

/// A laid-out chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The title.
    pub title: String,
    /// The pages.
    pub pages: Vec<Page>,
    /// The pictures that pages show.
    pub pictures: Vec<RgbImage>,
    /// The table of contents.
    pub bookmarks: Vec<Bookmark>,
    /// What the person should know.
    pub warnings: Vec<SheetWarning>,
    /// The side of a cell in millimetres.
    pub cell: f64,
    /// How many of the pages show cells.
    pub chart_pages: usize,
    /// What the chart takes of each thread, as the key says; nothing for sheets that show no chart.
    pub thread_uses: Vec<kit::ThreadUse>,
}

/// Something about the page that the person should know.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SheetWarning {
    /// Characters that no face has, shown as boxes.
    #[error("{shown} cannot be printed in the faces of brede and is shown as a box", shown = characters(.0))]
    Missing(Vec<char>),
    /// Cells that are hard to read.
    #[error("cells of {tenths_mm} tenths of a millimetre are under 2 mm: hard to read without a lens")]
    SmallCells {
        /// The side, in tenths of a millimetre.
        tenths_mm: u32,
    },
}

fn characters(characters: &[char]) -> String {
    characters
        .iter()
        .take(12)
        .map(|character| format!("`{character}` (U+{:04X})", u32::from(*character)))
        .collect::<Vec<_>>()
        .join(", ")
}

/// A chart that cannot be laid out as asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// A cell size outside the limits.
    #[error("cells of {mm} mm are outside 1.5 to 10 mm")]
    Cell {
        /// The side asked for.
        mm: f64,
    },
    /// Too little room on the paper.
    #[error("the paper is too small for cells of {mm} mm and a key of {needles} threads")]
    NoRoom {
        /// The side of a cell.
        mm: f64,
        /// The number of needles.
        needles: usize,
    },
    /// Too many pages.
    #[error("the chart would take {pages} pages; at most {limit} are printed")]
    TooManyPages {
        /// How many.
        pages: usize,
        /// The limit.
        limit: usize,
    },
}

impl SheetError {
    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Cell { .. } => "ask for something like --cell 3mm",
            Self::NoRoom { .. } | Self::TooManyPages { .. } => {
                "use larger paper (--paper a3) or smaller cells (--cell 2.5mm)"
            }
        }
    }
}

/// What each kind of page needs to know.
struct Layout<'a> {
    chart: &'a Chart,
    lines: &'a [WorkedLine],
    options: &'a SheetOptions,
    symbols: Vec<SymbolId>,
    uses: Vec<u64>,
    /// Whole skeins of all threads together.
    skeins: u64,
    title: String,
    plan: pagination::Plan,
    cell: f64,
    /// The page on which the chart pages begin, from 0.
    first_chart_page: usize,
    pages: usize,
}

impl Layout<'_> {
    /// The number of a page as printed, from the place of its part in the plan.
    fn page_of(&self, across: usize, down: usize) -> usize {
        self.first_chart_page + down * self.plan.columns.len() + across
    }

    fn tint_of(&self, needle: usize) -> Option<Srgb8> {
        self.chart.needles().get(needle).and_then(|needle| tint(needle.colour(), self.options.ink))
    }
}

/// Lays a chart out, with lines of backstitch on its holes. `preview` is the picture for the cover.
///
/// # Errors
/// [`SheetError`] when the paper, the cells and the chart do not fit together.
pub fn lay_out(
    chart: &Chart,
    lines: &[WorkedLine],
    preview: RgbImage,
    options: &SheetOptions,
) -> Result<Sheet, SheetError> {
    let symbols: Vec<SymbolId> = chart.needles().iter().map(|needle| SymbolId::of(&needle.symbol)).collect();
    let (title, mut missing) = typeface::showable(&chart.title);
    for text in chart.needles().iter().flat_map(|needle| [needle.code(), needle.name()]) {
        missing.extend(typeface::showable(&text).1);
    }
    missing.extend(lines::kinds(lines).iter().flat_map(|kind| typeface::showable(&kind.text()).1));
    missing.sort_unstable();
    missing.dedup();
    let (plan, cell) = grid::plan(chart, options)?;
    let key_pages = key::page_count(chart, lines, options);
    let map_pages = usize::from(plan.pages() > 1);
    let first_chart_page = 1 + key_pages + map_pages;
    let thread_uses = kit::thread_uses(chart, lines);
    let layout = Layout {
        chart,
        lines,
        options,
        symbols,
        uses: chart.stitches(),
        skeins: thread_uses.iter().map(kit::ThreadUse::skeins).sum(),
        title,
        pages: first_chart_page + plan.pages(),
        first_chart_page,
        plan,
        cell,
    };
    let mut pages = vec![cover::page(&layout, &preview)];
    pages.extend(key::pages(&layout, &thread_uses));
    if map_pages > 0 {
        pages.push(map::page(&layout));
    }
    for down in 0..layout.plan.rows.len() {
        for across in 0..layout.plan.columns.len() {
            pages.push(grid::page(&layout, across, down));
        }
    }
    let mut warnings = Vec::new();
    if !missing.is_empty() {
        warnings.push(SheetWarning::Missing(missing));
    }
    if cell < 2.0 {
        #[allow(clippy::cast_sign_loss, reason = "a cell is wider than nothing")]
        warnings.push(SheetWarning::SmallCells { tenths_mm: (cell * 10.0).round() as u32 });
    }
    Ok(Sheet {
        bookmarks: bookmarks(&layout, map_pages > 0),
        title: layout.title.clone(),
        pictures: vec![preview, map::picture(chart)],
        chart_pages: layout.plan.pages(),
        pages,
        warnings,
        cell,
        thread_uses,
    })
}

fn bookmarks(layout: &Layout, has_map: bool) -> Vec<Bookmark> {
    let leaf = |title: &str, page| Bookmark { title: title.to_owned(), page, children: Vec::new() };
    let mut bookmarks = vec![leaf("Cover", 0), leaf("Key", 1)];
    if has_map {
        bookmarks.push(leaf("Page map", layout.first_chart_page - 1));
    }
    for (down, rows) in layout.plan.rows.iter().enumerate() {
        let children = layout.plan.columns.iter().enumerate().map(|(across, columns)| {
            let page = layout.page_of(across, down);
            let title = format!("Page {}: columns {} to {}", page + 1, columns.start + 1, columns.end);
            leaf(&title, page)
        });
        bookmarks.push(Bookmark {
            title: format!("Rows {} to {}", rows.start + 1, rows.end),
            page: layout.page_of(0, down),
            children: children.collect(),
        });
    }
    bookmarks
}

/// A whole number with a comma between thousands.
#[must_use]
pub fn thousands(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests;
