//! A chart that was printed elsewhere, read from what its pages draw.
//!
//! Each page's grid is found (`grid`), what stands in its squares (`squares`), which part of the chart it shows (`rulers`,
//! `join`), what its key says (`key`), and its backstitch (`lines`). Symbols are known by their outlines. Owns the order of
//! these steps and what is refused. Leaves files from outside to the child (`apart`), and the chart's own symbols to
//! `printing`.

mod answers;
mod chart;
mod error;
mod grid;
mod join;
mod key;
mod lines;
mod picture;
mod printed;
mod rulers;
mod squares;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use super::drawing::{Area, Drawn, Shape};
use super::pages::Foreign;
use super::{ProofError, Reader};
use crate::ground::progress::{Progress, Stage, ask, tell};
use grid::Grid;
use key::Beside;
use squares::{Book, Squares};

pub use answers::{AnswersError, COLUMNS, answers};
pub use chart::{Answer, Doubt, DoubtKind, FoundSymbol, PagePlace, Read, ReadLine};
pub use error::ReadError;
pub use join::Joined;
pub(crate) use picture::found;

/// How a chart is to be read.
#[derive(Debug, Clone, Default)]
pub struct ReadOptions {
    /// What the chart is called.
    pub title: String,
    /// What the person says of symbols.
    pub answers: Vec<Answer>,
    /// The card in which codes are looked up.
    pub card: Option<crate::thread::shades::ShadeCard>,
}

/// The most pages that are read: the largest chart on the smallest paper takes fewer.
pub const MOST_PAGES: usize = 300;

/// So many pages are drawn at once: a wish to stop is heard between.
const AT_ONCE: usize = 4;

/// Pictures that cover more of a page than this are all that it shows.
const RASTER: f32 = 0.25;

/// What pages show, before anybody has said what their symbols are: a chart comes of it as often as something more is said.
#[derive(Debug)]
pub struct Shown {
    gathered: chart::Gathered,
    book: Book,
}

impl Shown {
    /// The chart by what is said.
    ///
    /// # Errors
    /// [`ReadError`] where that is about what is not there.
    pub fn chart(&self, options: &ReadOptions) -> Result<Read, ReadError> {
        chart::finish(self.gathered.clone(), &self.book, options)
    }
}

/// Reads the pages of one file or several, in order. `size` is that of the whole chart where the pages do not say how they
/// join.
///
/// # Errors
/// [`ReadError`] says what was missing.
pub fn read(
    files: &[Vec<u8>],
    size: [Option<u32>; 2],
    reader: &Reader,
    progress: &dyn Progress,
) -> Result<Shown, ReadError> {
    let pages = drawn(files, reader, progress)?;
    let mut book = Book::default();
    let mut found: Vec<Option<Squares>> = Vec::new();
    for page in &pages {
        ask(progress)?;
        let shapes: Vec<u32> = page.shapes.iter().map(|shape| book.shape(shape)).collect();
        let grid = grid::find(page, &shapes);
        found.push(grid.map(|grid| squares::read(page, &shapes, grid, &mut book)));
    }
    squares::settle(found.iter_mut().flatten(), &book);
    keep_charts(&mut found);
    if found.iter().all(Option::is_none) {
        return Err(without_grid(&pages));
    }
    let area = |grid: &Grid| -> Area {
        let end = [0, 1].map(|axis| grid.at[axis] + grid.cell[axis] * f64::from(grid.count[axis]));
        [grid.at[0] as f32, grid.at[1] as f32, end[0] as f32, end[1] as f32]
    };
    let beside: Vec<Beside> = (0..pages.len())
        .map(|page| Beside::of(page, &pages[page], found[page].as_ref().map(|squares| area(&squares.grid))))
        .collect();
    let charts: Vec<usize> = (0..pages.len()).filter(|&page| found[page].is_some()).collect();
    let squares: Vec<&Squares> = charts.iter().filter_map(|&page| found[page].as_ref()).collect();
    let rulers: Vec<[rulers::Ruler; 2]> = charts
        .iter()
        .zip(&squares)
        .map(|(&page, squares)| rulers::read(&squares.grid, beside[page].words()))
        .collect();
    is_cross_stitch(&squares, &rulers, &beside)?;
    let parts: Vec<join::Part> = squares
        .iter()
        .zip(&rulers)
        .map(|(&squares, rulers)| join::Part { squares, before: rulers.map(|ruler| ruler.before) })
        .collect();
    let (places, joined) = join::join(&parts, size).ok_or(ReadError::Apart { pages: parts.len() })?;
    ask(progress)?;
    let laid = chart::lay(&squares, &places)?;
    let (entries, tables) = key::read(&beside, &laid.symbols(), &mut book);
    ask(progress)?;
    let sheets: Vec<lines::Sheet> = charts
        .iter()
        .zip(&squares)
        .zip(&places)
        .map(|((&page, &squares), place)| lines::Sheet {
            drawn: &pages[page],
            squares,
            at: [0, 1].map(|axis| place[axis] - laid.first[axis]),
        })
        .collect();
    let sewn = lines::read(&sheets);
    let line_entries: Vec<key::LineEntry> =
        beside.iter().flat_map(|beside| key::line_entries(beside, &tables)).collect();
    let looks: Vec<(lines::Look, key::Entry)> = line_entries
        .into_iter()
        .filter_map(|found| match &pages[found.entry.page].items[found.item] {
            super::drawing::Item::Line(line) => {
                Some((lines::Look::of(line, squares[0].grid.cell[0]), found.entry))
            }
            _ => None,
        })
        .collect();
    let knots = chart::knots(&sheets);
    let places = charts.iter().zip(&sheets).map(|(&page, sheet)| PagePlace::of(page, sheet)).collect();
    let gathered =
        chart::Gathered { laid, entries, sewn, looks, knots, joined, pages: pages.len(), charts, places };
    Ok(Shown { gathered, book })
}

/// What is drawn on all pages.
fn drawn(files: &[Vec<u8>], reader: &Reader, progress: &dyn Progress) -> Result<Vec<Drawn>, ReadError> {
    let mut opened = Vec::new();
    for file in files {
        opened.push(Foreign::open(reader, file, progress)?);
    }
    let total: usize = opened.iter().map(|file| file.count).sum();
    if total == 0 {
        return Err(ReadError::File(ProofError::NotPdf));
    }
    if total > MOST_PAGES {
        return Err(ReadError::Pages { found: total });
    }
    let mut pages = Vec::new();
    for file in opened {
        for start in (0..file.count).step_by(AT_ONCE) {
            tell(progress, Stage::Reading, pages.len() as u64, total as u64)?;
            pages.extend(file.drawn(start..(start + AT_ONCE).min(file.count), progress)?);
        }
    }
    if pages.iter().any(|page| page.full) {
        return Err(ReadError::TooFull);
    }
    Ok(pages)
}

/// Leaves only the pages of the chart itself: a small picture of the whole on a cover, plans and tables are grids too.
fn keep_charts(found: &mut [Option<Squares>]) {
    let signed = |squares: &Squares| squares.squares.iter().filter(|square| square.symbol.is_some()).count();
    let has_symbols = |squares: &Squares| signed(squares) * 20 > squares.squares.len();
    let any_symbols = found.iter().flatten().any(has_symbols);
    let largest = found
        .iter()
        .flatten()
        .filter(|squares| !any_symbols || has_symbols(squares))
        .max_by_key(|squares| squares.squares.len())
        .map(|squares| squares.grid.cell[0]);
    let Some(cell) = largest else { return };
    for page in found {
        let is_chart = page.as_ref().is_some_and(|squares| {
            let like = (0.8..1.25).contains(&(squares.grid.cell[0] / cell));
            // A last page may hold a few squares alone.
            like && (!any_symbols || signed(squares) > 0)
        });
        if !is_chart {
            *page = None;
        }
    }
}

/// Why no page shows a grid.
fn without_grid(pages: &[Drawn]) -> ReadError {
    if pages.iter().any(|page| page.pictures > RASTER) {
        return ReadError::Pictures;
    }
    let letters = pages.iter().flat_map(Drawn::signs).filter(|sign| sign.text.is_some()).count();
    if letters > 200 { ReadError::Text } else { ReadError::NoGrid }
}

/// Refuses charts of other crafts: rows that are counted upwards, or squares that are none.
fn is_cross_stitch(
    squares: &[&Squares],
    rulers: &[[rulers::Ruler; 2]],
    beside: &[Beside],
) -> Result<(), ReadError> {
    let upwards = rulers.iter().any(|[_, rows]| rows.backwards);
    let uneven = squares.iter().find(|squares| !squares.grid.is_even()).map(|squares| squares.grid.cell);
    let words: BTreeSet<String> = beside
        .iter()
        .flat_map(|beside| beside.words())
        .map(|word| word.text.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase())
        .collect();
    let knits =
        ["knit", "purl", "yo", "k2tog", "ssk", "p2tog"].iter().filter(|&&word| words.contains(word)).count();
    if knits > 1 || upwards && (knits > 0 || uneven.is_some()) {
        return Err(ReadError::Knitting);
    }
    if upwards {
        return Err(ReadError::Upwards);
    }
    uneven.map_or(Ok(()), |cell| Err(ReadError::Uneven { cell }))
}

/// A symbol's outlines, to be drawn: each as its shape, the place of its middle from the middle of the square, and its longer
/// side, in squares.
pub(in crate::reading) type Outlines = Vec<(Shape, [f32; 2], f32)>;

fn outlines(book: &Book, symbol: u32) -> Outlines {
    let of =
        |element: &squares::Element| (book.shapes[element.shape as usize].clone(), element.at, element.size);
    book.symbols[symbol as usize].iter().map(of).collect()
}

/// Counts by key.
fn counted<K: Ord>(all: impl Iterator<Item = K>) -> BTreeMap<K, u64> {
    let mut counts = BTreeMap::new();
    for key in all {
        *counts.entry(key).or_default() += 1;
    }
    counts
}
