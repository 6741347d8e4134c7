//! The whole set: every figure that was drawn, which of them are far enough apart, in what order, and the files.

mod bodies;
mod font;
mod likeness;
mod lines;
pub(crate) mod measure;
mod pen;
mod things;

use kurbo::BezPath;
use pen::{Drawing, arc, at, rectangle};

/// The least distance of two symbols of the set, in 255ths (24 is 0.094): figures that stand nearer to the ones
/// before them are dropped. Lower would let look-alikes in, higher would leave fewer symbols than the 255
/// needles that a chart may have.
pub(crate) const LEAST: u8 = 24;

/// How much a plain figure is preferred when the next one is chosen, by its parts, from one to four. Even
/// weights would put busy figures first, which happen to lie far from everything.
const PLAIN: [f64; 4] = [1.0, 0.85, 0.7, 0.6];

/// One drawing with its name and the parts that an eye counts in it, 1 (plain) to 4 (busy).
pub(crate) struct Figure {
    pub(crate) name: String,
    pub(crate) parts: u8,
    drawing: Drawing,
}

impl Figure {
    fn new(name: impl Into<String>, parts: u8, drawing: Drawing) -> Self {
        Self { name: name.into(), parts, drawing }
    }
}

/// A symbol of the set.
pub(crate) struct Symbol {
    pub(crate) name: String,
    pub(crate) parts: u8,
    pub(crate) outline: BezPath,
    /// The share of the cell that is inked.
    pub(crate) ink: f64,
    /// The least cell of those measured, in tenths of a millimetre, from which on its white parts stay open.
    pub(crate) open: u8,
}

/// The symbols in their order, the one for unknown names last, and their distances in 255ths.
pub(crate) struct SymbolSet {
    pub(crate) symbols: Vec<Symbol>,
    /// The least over all sizes.
    pub(crate) distances: Vec<Vec<u8>>,
    /// In cells of 2.0, 2.5 and 3.0 mm.
    sized: Vec<Vec<[u8; 3]>>,
    /// The figures that stood too near to another: name, distance in 255ths and the symbol they are like.
    #[allow(dead_code, reason = "reported by the example alone")]
    pub(crate) dropped: Vec<(String, u8, String)>,
}

/// Everything that was drawn.
pub(crate) fn figures() -> Vec<Figure> {
    let mut all = bodies::figures();
    all.extend(lines::figures());
    all.extend(things::figures());
    all
}

/// The mark for a symbol whose name is unknown: a question mark cut out of a block.
fn unknown() -> Figure {
    let mut mark = arc(at(500.0, 620.0), 120.0, 180.0, -60.0);
    mark.line_to(at(500.0, 420.0));
    let mark = Drawing::new().stroke_wide(&mark, 90.0).outline();
    let drawing = Drawing::new().fill(&rectangle(60.0, 60.0, 940.0, 940.0)).hole(&mark);
    let drawing = drawing.hole(&rectangle(450.0, 220.0, 550.0, 310.0));
    Figure::new("unknown", 4, drawing)
}

impl SymbolSet {
    /// Draws, measures, chooses and orders.
    pub(crate) fn draw() -> Self {
        let mut figures = figures();
        figures.push(unknown());
        let outlines: Vec<BezPath> = figures.iter().map(|figure| figure.drawing.outline()).collect();
        let sized = measure::distances(&outlines);
        let least = |sizes: &[u8; 3]| sizes.iter().copied().min().unwrap_or_default();
        let apart: Vec<Vec<u8>> = sized.iter().map(|row| row.iter().map(least).collect()).collect();
        let (mut order, near) = choose(&figures, &apart);
        let dropped = (0..figures.len()).filter(|index| !order.contains(index));
        let dropped = dropped
            .map(|index| {
                (figures[index].name.clone(), apart[index][near[index]], figures[near[index]].name.clone())
            })
            .collect();
        order.rotate_left(1);
        let distances = order.iter().map(|&a| order.iter().map(|&b| apart[a][b]).collect()).collect();
        let sized = order.iter().map(|&a| order.iter().map(|&b| sized[a][b]).collect()).collect();
        let symbols = order
            .iter()
            .map(|&index| Symbol {
                name: figures[index].name.clone(),
                parts: figures[index].parts,
                ink: measure::ink_share(&outlines[index]),
                outline: outlines[index].clone(),
                open: open(&outlines[index]),
            })
            .collect();
        Self { symbols, distances, sized, dropped }
    }

    /// The font: TrueType, glyph `k + 1` for symbol `k`.
    pub(crate) fn font(&self) -> Vec<u8> {
        font::font(&self.symbols)
    }

    /// The table of symbols: name, glyph, ink share in thousandths, parts, and the least cell in tenths of a millimetre
    /// in which white parts stay open.
    pub(crate) fn table(&self) -> String {
        let mut table = String::from("name,glyph,ink,parts,open\n");
        for (index, symbol) in self.symbols.iter().enumerate() {
            let ink = (symbol.ink * 1000.0).round();
            table += &format!("{},{},{ink},{},{}\n", symbol.name, index + 1, symbol.parts, symbol.open);
        }
        table
    }

    /// The distances below the diagonal, row by row, in 255ths: symbol 1 from 0, 2 from 0, 2 from 1, ...; first all in
    /// cells of 2.0 mm, then of 2.5, then of 3.0.
    pub(crate) fn distance_bytes(&self) -> Vec<u8> {
        let of_size = |size: usize| {
            let rows = self.sized.iter().enumerate();
            rows.flat_map(move |(row, all)| all[..row].iter().map(move |sizes| sizes[size]))
        };
        (0..3).flat_map(of_size).collect()
    }

    /// How alike their prints are, in the same order.
    pub(crate) fn likeness_bytes(&self) -> Vec<u8> {
        let outlines: Vec<&BezPath> = self.symbols.iter().map(|symbol| &symbol.outline).collect();
        likeness::all(&outlines).concat()
    }
}

/// The least cell, in tenths of a millimetre, from which on white parts stay open; 45, that of large print, where they
/// do in none of those measured.
fn open(outline: &BezPath) -> u8 {
    let is_open = likeness::stays_open(outline);
    let sizes = [20, 25, 30, 45];
    let closed = is_open.iter().rposition(|open| !open);
    sizes[closed.map_or(0, |size| size + 1)]
}

/// Farthest-point ordering: after the mark for the unknown and the disc comes, again and again, the figure that
/// lies farthest from all before it, plain ones preferred, until none is far enough. Gives the order, and for
/// each figure the one of the order that it is nearest to.
fn choose(figures: &[Figure], apart: &[Vec<u8>]) -> (Vec<usize>, Vec<usize>) {
    let mut order = vec![figures.len() - 1];
    let mut near = vec![figures.len() - 1; figures.len()];
    let mut next = Some(0);
    while let Some(chosen) = next {
        order.push(chosen);
        for (index, near) in near.iter_mut().enumerate() {
            if apart[index][chosen] < apart[index][*near] || index == chosen {
                *near = chosen;
            }
        }
        let score = |index: usize| {
            f64::from(apart[index][near[index]]) * PLAIN[usize::from(figures[index].parts - 1)]
        };
        next = (0..figures.len())
            .filter(|index| !order.contains(index) && apart[*index][near[*index]] >= LEAST)
            .max_by(|&a, &b| score(a).total_cmp(&score(b)).then(b.cmp(&a)));
    }
    (order, near)
}
