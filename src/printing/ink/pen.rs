//! Shapes become PDF operators.

use printpdf::FontId;

use super::content::Content;
use super::fonts::{Codes, Fonts};
use super::names::{face_id, symbols_id};
use super::numbers::{exact, points};
use super::tags::Place;
use super::tints::Squares;
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, Point};
use crate::printing::sheet::{
    self, Align, Area, Block, Ground, Layer, MarkedCorner, Page, Shape, Sheet, SymbolRun, TintedCells,
};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::{self, Face};

/// Draws one page.
pub(super) struct Pen<'a> {
    page: &'a Page,
    /// How the characters of each face are written, in the order of all faces; and the symbols.
    faces: [Option<&'a Codes>; Face::ALL.len()],
    signs: Option<&'a Codes>,
    squares: &'a Squares,
    content: Content,
}

impl<'a> Pen<'a> {
    pub(super) fn new(page: &'a Page, fonts: &'a Fonts, squares: &'a Squares) -> Self {
        let codes = |id: &FontId| fonts.get(id).map(|(_, codes)| codes);
        let faces = Face::ALL.map(|face| codes(&face_id(face)));
        Self { page, faces, signs: codes(&symbols_id()), squares, content: Content::default() }
    }

    /// The operators of the page, and what its marked parts are, by their numbers.
    pub(super) fn draw(mut self, sheet: &Sheet) -> (Vec<u8>, Vec<Place>) {
        let mut open: Option<Layer> = None;
        // The part that is open: none is for the eye alone.
        let mut marked: Option<Option<Place>> = None;
        let mut places = Vec::new();
        for (at, (layer, shape)) in self.page.shapes.iter().enumerate() {
            let place = Place::of(self.page, at);
            if (*layer != open || marked != Some(place)) && marked.take().is_some() {
                self.content.end_marked();
            }
            if *layer != open {
                if open.is_some() {
                    self.content.end_layer();
                }
                if let Some(layer) = *layer {
                    self.content.begin_layer(layer);
                }
                open = *layer;
            }
            if marked.is_none() {
                match place {
                    Some(place) => {
                        self.content.begin_marked(place.tag(self.page), places.len());
                        places.push(place);
                    }
                    None => self.content.begin_artifact(),
                }
                marked = Some(place);
            }
            self.shape(shape, sheet);
        }
        if marked.is_some() {
            self.content.end_marked();
        }
        if open.is_some() {
            self.content.end_layer();
        }
        (self.content.into_bytes(), places)
    }

    fn y(&self, y: Length) -> f32 {
        points(self.page.height - y)
    }

    fn point(&self, [x, y]: Point) -> [f32; 2] {
        [points(x), self.y(y)]
    }

    fn rectangle(&mut self, area: &Area) {
        let place = [points(area.x), self.y(area.y + area.height), points(area.width), points(area.height)];
        self.content.rectangle(place);
    }

    fn shape(&mut self, shape: &Shape, sheet: &Sheet) {
        match shape {
            Shape::Fill { area, colour } => {
                self.content.fill_colour(*colour);
                self.rectangle(area);
                self.content.fill();
            }
            Shape::Frame { area, stroke } => {
                self.content.stroke(stroke);
                self.rectangle(area);
                self.content.draw();
            }
            Shape::Line { points, stroke } => {
                let points: Vec<[f32; 2]> = points.iter().map(|&point| self.point(point)).collect();
                self.content.line(points, stroke);
            }
            Shape::Polygon { points, colour } => {
                self.content.fill_colour(*colour);
                let points: Vec<[f32; 2]> = points.iter().map(|&point| self.point(point)).collect();
                self.content.path(points);
                self.content.close();
                self.content.fill();
            }
            Shape::Text { x, y, text, size, weight, align, colour } => {
                let left = match align {
                    Align::Left => *x,
                    _ => align.left(*x, typeface::width(text, *weight, *size)),
                };
                self.text([left, *y], text, *size, *weight, *colour);
            }
            Shape::Symbol { area, symbol } => self.symbol(area, *symbol),
            Shape::Tints { block, tints } => self.tints(block, tints),
            Shape::Symbols { block, runs, colour, ground } => self.symbols(block, runs, *colour, *ground),
            Shape::Corners { block, corners, colour } => self.corners(block, corners, *colour),
            Shape::Picture { area, picture } => {
                if sheet.pictures.get(*picture).is_some() {
                    let place = [
                        points(area.x),
                        self.y(area.y + area.height),
                        points(area.width),
                        points(area.height),
                    ];
                    self.content.picture(*picture, place);
                }
            }
        }
    }

    fn text(&mut self, [x, y]: Point, text: &str, size: Length, weight: typeface::Weight, colour: Srgb8) {
        let mut x = x;
        let y = self.y(y);
        self.content.fill_colour(colour);
        self.content.begin_text();
        for run in typeface::runs(text, weight) {
            let place = Face::ALL.iter().position(|&face| face == run.face);
            let Some(codes) = place.and_then(|place| self.faces[place]) else { continue };
            self.content.font(codes, points(size));
            self.content.text_at([points(x), y]);
            self.content.show(codes, run.text.chars());
            if run.text.len() < text.len() {
                x += typeface::width(&run.text, weight, size);
            }
        }
        self.content.end_text();
    }

    /// Whole cells from here on: one unit is a cell, upwards from the block's lower left.
    fn enter_cells(&mut self, block: &Block) {
        self.content.save();
        let cell = exact(block.cell);
        let bottom = self.page.height - block.y - f64::from(block.rows) * block.cell;
        let (x, y) = (exact(block.x), exact(bottom));
        self.content.transform([cell, 0.0, 0.0, cell, x, y]);
    }

    fn tints(&mut self, block: &Block, tints: &[TintedCells]) {
        self.enter_cells(block);
        if let Some(runs) = self.squares.runs(block, tints) {
            self.content.begin_text();
            self.content.squares();
            for ([column, row], codes) in runs {
                self.content.text_at([column as f32, (block.rows - row - 1) as f32]);
                self.content.show_codes(&codes);
            }
            self.content.end_text();
            self.content.restore();
            return;
        }
        for TintedCells { colour, rects } in tints {
            self.content.fill_colour(*colour);
            for &[column, row, columns, rows] in rects {
                self.content.cells([column, block.rows - row - rows, columns, rows]);
            }
            self.content.fill();
        }
        self.content.restore();
    }

    fn symbol(&mut self, area: &Area, symbol: SymbolId) {
        let Some(codes) = self.signs else { return };
        self.content.fill_colour(Srgb8::BLACK);
        self.content.begin_text();
        self.content.font(codes, points(area.width));
        self.content.text_at(self.point([area.x, area.y + area.width]));
        self.content.show(codes, [symbol.character()]);
        self.content.end_text();
    }

    fn symbols(&mut self, block: &Block, runs: &[SymbolRun], colour: Srgb8, ground: Ground) {
        let Some(codes) = self.signs.filter(|_| !runs.is_empty()) else { return };
        self.enter_cells(block);
        if ground == Ground::Lines {
            // Half of the stroke lies outside of the symbol.
            self.content.save();
            self.content.outlined(Srgb8::WHITE, 2.0 * sheet::EDGE as f32);
            self.runs(block, runs, codes);
            self.content.restore();
        }
        self.content.fill_colour(colour);
        self.runs(block, runs, codes);
        self.content.restore();
    }

    fn runs(&mut self, block: &Block, runs: &[SymbolRun], codes: &Codes) {
        self.content.begin_text();
        self.content.font(codes, 1.0);
        for SymbolRun { column, row, symbols } in runs {
            let up = block.rows - row - 1;
            self.content.text_at([*column as f32, up as f32]);
            self.content.show(codes, symbols.iter().map(|&symbol| symbol.character()));
        }
        self.content.end_text();
    }

    /// All corners as one path, and the white edge along them as another: a path each would make the file many times
    /// larger.
    fn corners(&mut self, block: &Block, corners: &[MarkedCorner], colour: Srgb8) {
        let long = sheet::CORNER * block.cell;
        // An edge along the slope moves its ends by its width times the root of two.
        let wider = std::f64::consts::SQRT_2 * sheet::CORNER_EDGE * block.cell;
        self.content.fill_colour(Srgb8::WHITE);
        self.triangles(block, corners, long + wider);
        self.content.fill_colour(colour);
        self.triangles(block, corners, long);
    }

    /// A triangle in each corner, two of its sides so long.
    fn triangles(&mut self, block: &Block, corners: &[MarkedCorner], long: Length) {
        for MarkedCorner { cell, corner, inset } in corners {
            let place = corner.place();
            let at = [0, 1].map(|axis| f64::from(cell[axis]) + f64::from(place[axis]));
            // Inwards from the corner.
            let inwards = place.map(|side| f64::from(1 - 2 * side));
            let [x, y] = block.at(at);
            let [x, y] = [x + inset[0] * inwards[0], y + inset[1] * inwards[1]];
            let [dx, dy] = inwards.map(|way| long * way);
            let triangle = [[x, y], [x + dx, y], [x, y + dy]].map(|point| self.point(point));
            self.content.path(triangle);
            self.content.close();
        }
        self.content.fill();
    }
}
