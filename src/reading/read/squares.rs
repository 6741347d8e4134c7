//! What stands in each square: outlines put together to symbols, and the colour beneath.
//!
//! A symbol is known by its outlines, their size and their place in the square, never by the letters that a font says they
//! are. Owns the book of all shapes and symbols of a chart. Leaves which thread a symbol is to `key`.

use std::collections::{BTreeMap, HashMap};
use std::ops::Range;

use hayro::kurbo::{BezPath, Point};

use super::grid::{Grid, is_rule};
use crate::reading::drawing::{Drawn, Fill, Ink, Item, Shape};

/// One outline of a symbol.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Element {
    /// Its place in the book of shapes.
    pub(super) shape: u32,
    /// Where its middle is from the middle of the square, in squares.
    pub(super) at: [f32; 2],
    /// Its longer side in squares.
    pub(super) size: f32,
}

/// How far equal outlines may lie from one place in their squares, and how much they may differ in size.
const NEAR: f32 = 0.07;
const LIKE: f32 = 1.03;

impl Element {
    fn is_like(&self, other: &Self, near: f32) -> bool {
        self.shape == other.shape && self.is_near(other, near, LIKE)
    }

    /// Whether both are of one size and in one place, whatever their outlines.
    fn is_near(&self, other: &Self, near: f32, like: f32) -> bool {
        let ratio = self.size / other.size;
        (1.0 / like..like).contains(&ratio)
            && (0..2).all(|axis| (self.at[axis] - other.at[axis]).abs() < near)
    }
}

/// The shapes and symbols of a chart.
#[derive(Debug, Default)]
pub(super) struct Book {
    pub(super) shapes: Vec<Shape>,
    by_pieces: HashMap<String, Vec<u32>>,
    /// The symbols: the outlines of each.
    pub(super) symbols: Vec<Vec<Element>>,
    by_shapes: BTreeMap<Vec<u32>, Vec<u32>>,
    /// How often two were compared: files from elsewhere may hold as many as they like.
    compared: usize,
}

/// The most comparisons of shapes and symbols: the fullest chart that was tried takes a hundredth.
const MOST_COMPARED: usize = 300_000_000;

/// Of one page, so many new shapes are taken: more are no signs but a drawing.
const MOST_NEW: usize = 6_000;

impl Book {
    /// The places of the shapes of a page; nothing where there are so many that they are no signs.
    pub(super) fn page(&mut self, shapes: &[Shape]) -> Option<Vec<u32>> {
        let before = self.shapes.len();
        let mut found = Vec::with_capacity(shapes.len());
        for shape in shapes {
            found.push(self.shape(shape));
            if self.shapes.len() > before + MOST_NEW {
                // What comes after is not in the way of other pages.
                for shape in self.shapes.drain(before..) {
                    if let Some(near) = self.by_pieces.get_mut(&shape.pieces) {
                        near.retain(|&known| (known as usize) < before);
                    }
                }
                return None;
            }
        }
        Some(found)
    }

    /// Whether more was compared than any chart takes.
    pub(super) fn is_spent(&self) -> bool {
        self.compared > MOST_COMPARED
    }

    /// The place of a shape, which is added if it is new.
    pub(super) fn shape(&mut self, shape: &Shape) -> u32 {
        let near = self.by_pieces.entry(shape.pieces.clone()).or_default();
        self.compared += near.len() * shape.points.len().max(1);
        if self.compared > MOST_COMPARED {
            return near.first().copied().unwrap_or(0);
        }
        if let Some(&known) = near.iter().find(|&&known| self.shapes[known as usize].is_like(shape)) {
            return known;
        }
        let new = self.shapes.len() as u32;
        near.push(new);
        self.shapes.push(shape.clone());
        new
    }

    /// The symbol that these outlines are.
    fn symbol(&mut self, elements: &[Element]) -> u32 {
        let mut key: Vec<u32> = elements.iter().map(|element| element.shape).collect();
        key.sort_unstable();
        let near = self.by_shapes.entry(key).or_default();
        self.compared += near.len() * elements.len() * elements.len();
        if self.compared > MOST_COMPARED && !near.is_empty() {
            return near[0];
        }
        let is_same = |&&known: &&u32| are_same(elements, &self.symbols[known as usize], NEAR);
        if let Some(&known) = near.iter().find(is_same) {
            return known;
        }
        let new = self.symbols.len() as u32;
        near.push(new);
        self.symbols.push(elements.to_vec());
        new
    }
}

/// Whether both are the same outlines, each as near to its place as this.
fn are_same(one: &[Element], other: &[Element], near: f32) -> bool {
    let mut left = other.to_vec();
    one.iter().all(|element| {
        let found = left.iter().position(|other| other.is_like(element, near));
        found.map(|at| left.swap_remove(at)).is_some()
    })
}

/// Symbols nearer than this are one that was not set exactly: nobody tells symbols apart that differ by a sixth of a
/// square in their places alone, and browsers set a letter to whole pixels.
const LOOSE: f32 = 0.16;

/// So many symbols that differ by less than a writer's coarse rounding are one that was so rounded.
const NOISE: usize = 6;

/// Makes one of symbols that differ by little, on all pages.
pub(super) fn settle<'s>(pages: impl Iterator<Item = &'s mut Squares>, book: &Book) {
    let mut root: Vec<u32> = (0..book.symbols.len() as u32).collect();
    for alike in book.by_shapes.values() {
        joined(book, &mut root, alike, |one, other| are_same(one, other, LOOSE));
    }
    let mut by_pieces: BTreeMap<Vec<&str>, Vec<u32>> = BTreeMap::new();
    for (symbol, elements) in book.symbols.iter().enumerate() {
        let pieces = elements.iter().map(|element| book.shapes[element.shape as usize].pieces.as_str());
        by_pieces.entry(pieces.collect()).or_default().push(symbol as u32);
    }
    for alike in by_pieces.values().filter(|alike| alike.len() >= NOISE) {
        let shape = |element: &Element| &book.shapes[element.shape as usize];
        let may_be = |one: &[Element], other: &[Element]| {
            one.iter()
                .zip(other)
                .all(|(one, other)| one.is_near(other, LOOSE, 1.09) && shape(one).may_be(shape(other)))
        };
        let mut coarse = root.clone();
        joined(book, &mut coarse, alike, may_be);
        for &symbol in alike {
            let of = coarse[symbol as usize];
            if alike.iter().filter(|&&other| coarse[other as usize] == of).count() >= NOISE {
                root[symbol as usize] = of;
            }
        }
    }
    for square in pages.flat_map(|page| &mut page.squares) {
        square.symbol = square.symbol.map(|symbol| root[symbol as usize]);
    }
}

/// Gives one root to those of these symbols that are the same.
fn joined(book: &Book, root: &mut [u32], alike: &[u32], are_same: impl Fn(&[Element], &[Element]) -> bool) {
    for (at, &one) in alike.iter().enumerate() {
        for &other in &alike[..at] {
            if are_same(&book.symbols[one as usize], &book.symbols[other as usize]) {
                join_roots(root, alike, one, other);
            }
        }
    }
}

/// Gives two symbols, and those that are one with them, one root.
fn join_roots(root: &mut [u32], alike: &[u32], one: u32, other: u32) {
    let [one, other] = [root[one as usize], root[other as usize]];
    let (low, high) = (one.min(other), one.max(other));
    for &all in alike {
        if root[all as usize] == high {
            root[all as usize] = low;
        }
    }
}

/// What a square shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Square {
    /// Its symbol in the book.
    pub(super) symbol: Option<u32>,
    /// The colour beneath, if any is filled in.
    pub(super) ground: Option<Ink>,
}

/// Something round on a hole or an edge: a knot or a bead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub(super) shape: u32,
    /// In squares from the top left of the page's grid.
    pub(super) at: [f64; 2],
    pub(super) ink: Ink,
}

/// The squares of a page, row by row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Squares {
    pub(super) grid: Grid,
    pub(super) squares: Vec<Square>,
    /// What stands on holes.
    pub(super) spots: Vec<Spot>,
}

/// The most squares that are filled on a page, each as often as it is: forty pages' worth, one over the other.
const MOST_FILLED: usize = 40_000_000;

/// How far from the edges of a square the parts of a symbol keep, in squares.
const FREE: f64 = 0.05;

/// What is read in the squares of a page.
pub(super) fn read(drawn: &Drawn, shapes: &[u32], grid: Grid, book: &mut Book) -> Squares {
    let columns = grid.count[0] as usize;
    let mut squares = vec![Square::default(); grid.squares()];
    let mut elements: Vec<Held> = Vec::new();
    // The order in which each square was filled last: what was drawn there before is hidden.
    let mut filled: Vec<u32> = vec![0; grid.squares()];
    let (mut spots, mut left_to_fill) = (Vec::new(), MOST_FILLED);
    for (item_at, item) in drawn.items.iter().enumerate() {
        let order = item_at as u32 + 1;
        let (shape, at, side, ink) = match item {
            Item::Sign(sign) => {
                let side = f64::from(sign.size[0].max(sign.size[1]));
                (shapes[sign.shape as usize], sign.at, side, sign.ink)
            }
            Item::Fill(fill) => {
                let [x0, y0, x1, y1] = fill.area;
                let corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]];
                if let Some([across, down]) = painted(&grid, fill.area) {
                    let area = across.len() * down.len();
                    if area > left_to_fill {
                        continue;
                    }
                    left_to_fill -= area;
                    for at in down.flat_map(|row| across.clone().map(move |column| (row, column))) {
                        let at = at.0 as usize * columns + at.1 as usize;
                        filled[at] = order;
                        match fill.pattern {
                            None => squares[at].ground = Some(fill.ink),
                            // The pattern is the symbol, whatever its tiles begin with.
                            Some(shape) => {
                                let element =
                                    Element { shape: shapes[shape as usize], at: [0.0; 2], size: PATTERN };
                                elements.push(Held { square: at as u32, order, element, ink: fill.ink });
                            }
                        }
                    }
                    continue;
                }
                if is_rule(fill.area) && !is_within(&grid, &corners) {
                    continue;
                }
                let path = outline(&corners);
                let Some((shape, _)) = Shape::of(&path, None) else { continue };
                let middle = [(x0 + x1) / 2.0, (y0 + y1) / 2.0];
                (book.shape(&shape), middle, f64::from((x1 - x0).max(y1 - y0)), fill.ink)
            }
            Item::Line(line) => {
                if !is_within(&grid, &line.points) {
                    continue;
                }
                let Some((shape, bounds)) = Shape::of(&outline(&line.points), Some(line.width.into())) else {
                    continue;
                };
                let middle = bounds.center();
                let side = bounds.width().max(bounds.height());
                (book.shape(&shape), [middle.x as f32, middle.y as f32], side, line.ink)
            }
        };
        let Some([column, row]) = grid.square(at) else { continue };
        let [x, y] = grid.place(at);
        let size = (side / grid.cell[0]) as f32;
        if size > 1.3 {
            continue;
        }
        let off = [x - f64::from(column) - 0.5, y - f64::from(row) - 0.5];
        if size < 0.75 && off.iter().any(|off| off.abs() > 0.42) {
            spots.push(Spot { shape, at: [x, y], ink });
            continue;
        }
        let element = Element { shape, at: off.map(|off| off as f32), size };
        let square = row * grid.count[0] + column;
        elements.push(Held { square, order, element, ink });
    }
    elements.retain(|held| {
        let at = held.square as usize;
        held.order >= filled[at] && apart(held.ink, squares[at].ground.unwrap_or([255; 3])) > 10
    });
    elements.sort_by_key(|held| (held.square, held.order));
    for held in elements.chunk_by(|one, other| one.square == other.square) {
        // What is drawn twice in one place is one: a pale rim under a symbol.
        let mut outlines: Vec<Element> = Vec::new();
        for Held { element, .. } in held {
            if !outlines.iter().take(MOST_TWICE).any(|known| known.is_like(element, NEAR)) {
                outlines.push(*element);
            }
        }
        squares[held[0].square as usize].symbol = Some(book.symbol(&outlines));
    }
    let spots = without_dots(spots, &grid);
    Squares { grid, squares, spots }
}

/// Takes off a page what was read in its squares: left are its lines, and what is drawn beside the grid.
pub(super) fn take_off(drawn: &mut Drawn, grid: &Grid) {
    drawn.items.retain(|item| {
        let is_outside = |at: [f32; 2]| grid.square(at).is_none();
        match item {
            Item::Line(line) => !is_within(grid, &line.points),
            Item::Sign(sign) => is_outside(sign.at),
            Item::Fill(Fill { area: [x0, y0, x1, y1], .. }) => is_outside([(x0 + x1) / 2.0, (y0 + y1) / 2.0]),
        }
    });
}

/// An outline in a square, in the order in which things are drawn.
#[derive(Debug, Clone, Copy)]
struct Held {
    square: u32,
    order: u32,
    element: Element,
    ink: Ink,
}

/// So many outlines of a square are looked at for one that is drawn twice.
const MOST_TWICE: usize = 64;

/// What a pattern that fills a square is taken for in size, in squares.
pub(super) const PATTERN: f32 = 0.5;

/// How far two inks are apart in their most different part, 0 to 255.
pub(super) fn apart(one: Ink, other: Ink) -> u8 {
    (0..3).map(|part| one[part].abs_diff(other[part])).max().unwrap_or(0)
}

pub(super) fn outline(points: &[[f32; 2]]) -> BezPath {
    let mut path = BezPath::new();
    for (at, point) in points.iter().enumerate() {
        let point = Point::new(point[0].into(), point[1].into());
        if at == 0 { path.move_to(point) } else { path.line_to(point) }
    }
    path
}

/// Whether all points are within one square.
fn is_within(grid: &Grid, points: &[[f32; 2]]) -> bool {
    let mut square = None;
    points.iter().all(|&point| {
        let [x, y] = grid.place(point);
        let inside = |at: f64| (FREE..=1.0 - FREE).contains(&(at - at.floor()));
        let here = [x.floor() as i64, y.floor() as i64];
        inside(x) && inside(y) && *square.get_or_insert(here) == here
    })
}

/// The columns and rows that an area fills; nothing where it is too small to fill a square.
fn painted(grid: &Grid, area: [f32; 4]) -> Option<[Range<u32>; 2]> {
    let [left, top] = grid.place([area[0], area[1]]);
    let [right, bottom] = grid.place([area[2], area[3]]);
    if right - left < 0.86 || bottom - top < 0.86 {
        return None;
    }
    // Of a square that it fills, it holds the middle and nearly all around.
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
    let span = |low: f64, high: f64, count: u32| {
        let first = (low + 0.43 - 0.5).ceil().max(0.0) as u32;
        let last = (high - 0.43 + 0.5).floor().clamp(0.0, f64::from(count)) as u32;
        first..last
    };
    Some([span(left, right, grid.count[0]), span(top, bottom, grid.count[1])])
}

/// Spots without those of a grid of dots, which stand on most holes.
fn without_dots(spots: Vec<Spot>, grid: &Grid) -> Vec<Spot> {
    let mut counts: BTreeMap<u32, usize> = BTreeMap::new();
    for spot in &spots {
        *counts.entry(spot.shape).or_default() += 1;
    }
    let many = |shape: u32| counts.get(&shape).copied().unwrap_or(0) * 2 > grid.squares();
    spots.into_iter().filter(|spot| !many(spot.shape)).collect()
}
