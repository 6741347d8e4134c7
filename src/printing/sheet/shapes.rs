//! The shapes that pages are made of, and the pages.

use std::ops::Range;

use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, Point};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::Weight;
use crate::thread::cloth::{Corner, StitchKind};

/// A place and size on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// From the left.
    pub x: Length,
    /// From the top.
    pub y: Length,
    /// Across.
    pub width: Length,
    /// Down.
    pub height: Length,
}

impl Area {
    pub(super) fn right(&self) -> Length {
        self.x + self.width
    }

    pub(super) fn bottom(&self) -> Length {
        self.y + self.height
    }

    pub(super) fn inset(&self, by: Length) -> Self {
        Self { x: self.x + by, y: self.y + by, width: self.width - 2.0 * by, height: self.height - 2.0 * by }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub colour: Srgb8,
    /// Its width.
    pub width: Length,
    /// Lengths of dashes and gaps, none for a solid line.
    pub dash: Vec<Length>,
}

impl Stroke {
    pub(super) fn solid(colour: Srgb8, width: Length) -> Self {
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

impl Align {
    /// Where a text so wide begins whose end of this name is at `x`.
    pub(in crate::printing) fn left(self, x: Length, width: Length) -> Length {
        match self {
            Self::Left => x,
            Self::Centre => x - width / 2.0,
            Self::Right => x - width,
        }
    }
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
    pub x: Length,
    /// The top of the first row.
    pub y: Length,
    /// The side of a cell.
    pub cell: Length,
    /// Columns.
    pub columns: u32,
    /// Rows.
    pub rows: u32,
}

impl Block {
    /// How wide its columns are together.
    pub(super) fn width(&self) -> Length {
        f64::from(self.columns) * self.cell
    }

    /// How tall its rows are together.
    pub(super) fn height(&self) -> Length {
        f64::from(self.rows) * self.cell
    }

    /// All of it.
    pub(super) fn area(&self) -> Area {
        Area { x: self.x, y: self.y, width: self.width(), height: self.height() }
    }

    /// The part of it with so many columns and rows from a column and a row, counted from its top left.
    pub(super) fn part(&self, [column, row]: [f64; 2], [columns, rows]: [f64; 2]) -> Area {
        let [x, y] = self.at([column, row]);
        Area { x, y, width: columns * self.cell, height: rows * self.cell }
    }

    /// A point so many columns and rows from its top left.
    pub(crate) fn at(&self, [column, row]: [f64; 2]) -> Point {
        [self.x + column * self.cell, self.y + row * self.cell]
    }
}

/// What symbols stand on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// Their cells.
    Cell,
    /// Lines that cross their cells: a narrow white edge keeps the symbols apart from them.
    Lines,
}

/// The width of that edge in cells: narrower is lost in print, wider hides more of the line than it must.
pub const EDGE: f64 = 0.05;

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
        /// The points.
        points: Vec<Point>,
        /// How.
        stroke: Stroke,
    },
    /// A filled polygon.
    Polygon {
        /// The corners.
        points: Vec<Point>,
        /// Of what colour.
        colour: Srgb8,
    },
    /// A line of text.
    Text {
        /// The position of the end that `align` names.
        x: Length,
        /// The base line.
        y: Length,
        /// The text.
        text: String,
        /// The size of the em.
        size: Length,
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
        /// What they stand on.
        ground: Ground,
    },
    /// Black corners of cells, which tell the kind of stitch: where thread enters the cloth.
    Corners {
        /// Where.
        block: Block,
        /// Which.
        corners: Vec<MarkedCorner>,
        /// Their colour.
        colour: Srgb8,
    },
    /// A picture, by its place in [`Sheet::pictures`](super::Sheet::pictures).
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

/// A place to press that leads to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// Where to press.
    pub area: Area,
    /// The page that it leads to, from 0.
    pub page: usize,
    /// The part of that page to show, or all of it.
    pub part: Option<Area>,
}

/// What a page shows of a chart, for those who read it back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shows {
    /// A part of the key.
    Key {
        /// The order of its needles, by their places; empty by code.
        order: Vec<usize>,
    },
    /// Cells: columns and rows that are its own, counted from 0; those repeated from its neighbours come beside them.
    Cells {
        /// Columns.
        columns: Range<u32>,
        /// Rows.
        rows: Range<u32>,
    },
    /// Key and cells together on one page for a screen.
    All,
}

/// What a part of a page is to those who have it read out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// Each text is a paragraph; what is drawn is for the eye alone.
    Texts,
    /// A heading of this level, 1 for the title of the whole.
    Heading(u8),
    /// One paragraph, in several lines.
    Paragraph,
    /// For the eye alone: numbers of rulers, marks, what stands on every page.
    Nothing,
    /// A picture, and what it shows in words.
    Figure(String),
    /// A cell of a table.
    Cell {
        /// The row that it stands in: cells of one number stand side by side.
        row: usize,
        /// Whether it says what the column has.
        is_head: bool,
        /// What a symbol in it is called.
        symbol: Option<String>,
    },
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its width.
    pub width: Length,
    /// Its height.
    pub height: Length,
    /// Shapes in drawing order, each in a layer or always shown.
    pub shapes: Vec<(Option<Layer>, Shape)>,
    /// Links to other pages.
    pub links: Vec<Link>,
    /// What it shows of a chart, if anything.
    pub shows: Option<Shows>,
    /// Its parts in reading order: the shape at which each begins, and what it is.
    pub said: Vec<(usize, Said)>,
}

impl Page {
    pub(super) fn new([width, height]: [Length; 2]) -> Self {
        Self {
            width,
            height,
            shapes: Vec::new(),
            links: Vec::new(),
            shows: None,
            said: vec![(0, Said::Texts)],
        }
    }

    /// What is added from here on is this to those who have it read out.
    pub(super) fn begin(&mut self, said: Said) {
        self.said.push((self.shapes.len(), said));
    }

    /// A cell of a table begins.
    pub(super) fn begin_cell(&mut self, row: usize) {
        self.begin(Said::Cell { row, is_head: false, symbol: None });
    }

    /// The head of a column begins.
    pub(super) fn begin_head(&mut self, row: usize) {
        self.begin(Said::Cell { row, is_head: true, symbol: None });
    }

    pub(super) fn add(&mut self, shape: Shape) {
        self.shapes.push((None, shape));
    }

    pub(super) fn add_in(&mut self, layer: Layer, shape: Shape) {
        self.shapes.push((Some(layer), shape));
    }

    /// A symbol in a square, with the corners that its kind of stitch has marked.
    pub(super) fn symbol(&mut self, area: Area, symbol: SymbolId, stitch: StitchKind) {
        self.add(Shape::Symbol { area, symbol });
        let corners: Vec<_> = stitch.marked_corners().into_iter().map(MarkedCorner::of).collect();
        if !corners.is_empty() {
            let block = Block { x: area.x, y: area.y, cell: area.width, columns: 1, rows: 1 };
            self.add(Shape::Corners { block, corners, colour: Srgb8::BLACK });
        }
    }

    pub(super) fn text(&mut self, at: Point, text: &str, size: Length, weight: Weight, align: Align) {
        let [x, y] = at;
        let colour = Srgb8::BLACK;
        self.add(Shape::Text { x, y, text: text.to_owned(), size, weight, align, colour });
    }
}

/// A corner of a cell that is black.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkedCorner {
    /// Column and row from the block's top left.
    pub cell: [u32; 2],
    /// Which of its corners.
    pub corner: Corner,
    /// How far it stands from the sides of the cell, across and down: beside a bold rule it stands free of that.
    pub inset: [Length; 2],
}

impl MarkedCorner {
    /// Of a cell alone.
    fn of(corner: Corner) -> Self {
        Self { cell: [0, 0], corner, inset: [Length::ZERO; 2] }
    }
}

/// The length of a marked corner along the sides of its cell, as a share of them. Symbols keep a tenth of the
/// cell free all round: a corner of 0.26 comes near them and cuts into few; smaller ones are lost in cells of 2 mm.
pub const CORNER: f64 = 0.26;

/// The width of the white edge that keeps it apart from a solid symbol, as a share of the cell.
pub const CORNER_EDGE: f64 = 0.045;

/// An entry of the table of contents that a reader shows beside the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Bookmark {
    /// What it says.
    pub title: String,
    /// The page, from 0.
    pub page: usize,
    /// The part of the page to show, or all of it.
    pub part: Option<Area>,
    /// The entries under it.
    pub children: Vec<Bookmark>,
}
