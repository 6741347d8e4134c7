//! A chart that was printed elsewhere, read from what its pages draw.
//!
//! Each page's grid is found (`grid`), what stands in its squares (`squares`), which part of the chart it shows (`rulers`,
//! `join`), what its key says (`key`), and its backstitch (`lines`). Symbols are known by their outlines. Owns the order of
//! these steps and what is refused. Leaves files from outside to the child (`apart`), and the chart's own symbols to
//! `printing`.

mod answers;
mod blend;
mod chart;
mod error;
mod fractions;
mod grid;
mod join;
mod key;
mod lines;
mod picture;
mod printed;
mod rulers;
mod samples;
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

/// So many pages are asked for at once: a wish to stop is heard between.
const AT_ONCE: usize = 4;

/// The most squares of all pages together, repeats too: the largest chart has a quarter.
const MOST_SQUARES: usize = 16_000_000;

/// The most things of all pages together that are no symbols in squares: lines, keys, text. Each takes a hundred bytes.
const MOST_ITEMS: usize = 1_500_000;

/// A grid of more squares than this is no table of a key.
const SMALL: usize = 2_000;

/// The most symbols before those that differ by little are made one.
const MOST_SYMBOLS: usize = 20_000;

/// Pictures that cover more of a page than this are all that it shows.
const RASTER: f32 = 0.25;

/// Pages as they are read one by one: what is drawn on them but in squares, their shapes in the book, their squares.
#[derive(Default)]
struct Leaves {
    drawn: Vec<Drawn>,
    shapes: Vec<Option<Vec<u32>>>,
    /// The grids of each page: mostly one.
    found: Vec<Vec<Squares>>,
    book: Book,
}

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
    let Leaves { drawn: pages, shapes, found, mut book } = leaves(files, reader, progress)?;
    let area = |grid: &Grid| -> Area {
        let end = [0, 1].map(|axis| grid.at[axis] + grid.cell[axis] * f64::from(grid.count[axis]));
        [grid.at[0] as f32, grid.at[1] as f32, end[0] as f32, end[1] as f32]
    };
    let beside: Vec<Beside> = (0..pages.len())
        .map(|page| {
            let charts = found[page].iter().map(|squares| area(&squares.grid)).collect();
            Beside::of(page, &pages[page], shapes[page].as_deref(), charts)
        })
        .collect();
    let parts_of = |page: usize| found[page].iter().map(move |squares| (page, squares));
    let (charts, squares): (Vec<usize>, Vec<&Squares>) = (0..pages.len()).flat_map(parts_of).unzip();
    let with_words =
        charts.iter().zip(&squares).map(|(&page, squares)| (&squares.grid, beside[page].words()));
    let rulers = rulers::read(with_words);
    is_cross_stitch(&squares, &rulers, &beside)?;
    let parts: Vec<join::Part> = squares
        .iter()
        .zip(&rulers)
        .map(|(&squares, rulers)| join::Part { squares, before: rulers.map(|ruler| ruler.before) })
        .collect();
    let (places, joined) = join::join(&parts, size).ok_or(ReadError::Apart { pages: parts.len() })?;
    ask(progress)?;
    let laid = chart::lay(&squares, &places)?;
    let starts: Vec<Vec<[f32; 2]>> = beside.iter().map(samples::starts).collect();
    let (mut entries, tables) = key::read(&beside, &starts, &laid.symbols(), &mut book);
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
    let looks: Vec<(lines::Look, key::Entry)> = samples::lines(&beside, &tables)
        .into_iter()
        .filter_map(|found| match &pages[found.entry.page].items[found.item] {
            super::drawing::Item::Line(line) => {
                Some((lines::Look::of(line, squares[0].grid.cell[0]), found.entry))
            }
            _ => None,
        })
        .collect();
    // A part stitch is found in the key by its whole symbol, if at all.
    let symbols: Vec<u32> =
        laid.symbols().iter().map(|symbol| symbol.0).filter(|&symbol| !key::is_colour(symbol)).collect();
    let of_key: Vec<u32> = symbols.iter().copied().filter(|symbol| entries.contains_key(symbol)).collect();
    let mut fractions = fractions::find(&book, &of_key, &symbols);
    let first = |symbol: u32| entries.get(&symbol).and_then(|all| all.first());
    fractions.retain(|&symbol, parts| {
        let own = first(symbol);
        let base = parts.first().and_then(|&(base, _)| first(base));
        let is_of_base = own.zip(base).is_some_and(|(own, base)| {
            own.code.is_some() && own.code == base.code || own.name.is_some() && own.name == base.name
        });
        is_of_base || own.is_none_or(|own| !own.is_row())
    });
    entries.retain(|symbol, _| !fractions.contains_key(symbol));
    let parts: BTreeSet<u32> = fractions.keys().copied().collect();
    let (sewn, diagonals) = lines::read(&sheets, &looks, &parts);
    let knots = chart::knots(&sheets);
    let dots = samples::spots(&beside, &knots, &tables);
    if book.is_spent() {
        return Err(ReadError::TooFull);
    }
    let places = charts.iter().zip(&sheets).map(|(&page, sheet)| PagePlace::of(page, sheet)).collect();
    let gathered = chart::Gathered {
        laid,
        entries,
        fractions,
        diagonals,
        sewn,
        looks,
        knots,
        dots,
        joined,
        pages: pages.len(),
        charts,
        places,
    };
    Ok(Shown { gathered, book })
}

/// Reads what stands on all pages, page by page, so that what is drawn in squares need not be kept.
fn leaves(files: &[Vec<u8>], reader: &Reader, progress: &dyn Progress) -> Result<Leaves, ReadError> {
    let mut leaves = Leaves::default();
    let (mut total, mut is_full, mut is_picture) = (0, false, false);
    for file in files {
        // One file at a time: each is read by a child of its own.
        let file = Foreign::open(reader, file, progress)?;
        total += file.count;
        if total > MOST_PAGES {
            return Err(ReadError::Pages { found: total });
        }
        let mut next = 0;
        while next < file.count {
            tell(progress, Stage::Reading, leaves.drawn.len() as u64, total as u64)?;
            let drawn = file.drawn(next..(next + AT_ONCE).min(file.count), progress)?;
            if drawn.is_empty() {
                return Err(ReadError::File(ProofError::Answer));
            }
            next += drawn.len();
            for page in drawn {
                is_full |= page.full;
                is_picture |= page.pictures > RASTER;
                leaves.add(page);
                ask(progress)?;
            }
            leaves.hold()?;
        }
    }
    if total == 0 {
        return Err(ReadError::File(ProofError::NotPdf));
    }
    if is_full {
        return Err(ReadError::TooFull);
    }
    let Leaves { drawn, shapes, found, book } = &mut leaves;
    keep_charts(found);
    if found.iter().all(Vec::is_empty) {
        return Err(if is_picture { ReadError::Pictures } else { without_grid(drawn) });
    }
    with_slivers(drawn, shapes, found, book);
    for (page, found) in drawn.iter_mut().zip(found.iter()) {
        for squares in found {
            squares::take_off(page, &squares.grid);
        }
    }
    squares::settle(found.iter_mut().flatten(), book);
    Ok(leaves)
}

impl Leaves {
    /// Takes a page; what stands in its squares is not kept.
    fn add(&mut self, mut page: Drawn) {
        let shapes = self.book.page(&page.shapes);
        let mut found: Vec<Squares> = Vec::new();
        if let Some(shapes) = &shapes {
            for grid in grid::find_all(&page, shapes) {
                found.push(squares::read(&page, shapes, grid, &mut self.book));
            }
        }
        // Small grids may be tables and samples: what stands in them is wanted yet.
        for squares in found.iter().filter(|squares| squares.squares.len() > SMALL) {
            squares::take_off(&mut page, &squares.grid);
        }
        if shapes.is_none() {
            page.items
                .retain(|item| !matches!(item, super::drawing::Item::Sign(sign) if sign.text.is_none()));
        }
        page.shapes = Vec::new();
        self.found.push(found);
        self.shapes.push(shapes);
        self.drawn.push(page);
    }

    /// Holds what was taken to its limits.
    fn hold(&self) -> Result<(), ReadError> {
        let squares: usize = self.found.iter().flatten().map(|squares| squares.squares.len()).sum();
        let items: usize = self.drawn.iter().map(|page| page.items.len()).sum();
        let is_within = squares <= MOST_SQUARES && items <= MOST_ITEMS;
        let is_few = self.book.symbols.len() <= MOST_SYMBOLS && !self.book.is_spent();
        if is_within && is_few { Ok(()) } else { Err(ReadError::TooFull) }
    }
}

/// Finds the pages that show a narrow rest of the chart, or bare cloth alone: they are ruled as the others are.
fn with_slivers(drawn: &[Drawn], shapes: &[Option<Vec<u32>>], found: &mut [Vec<Squares>], book: &mut Book) {
    let like: Vec<Grid> = found.iter().flatten().map(|squares| squares.grid).collect();
    for ((page, shapes), found) in drawn.iter().zip(shapes).zip(found) {
        let Some(shapes) = shapes.as_ref().filter(|_| found.is_empty()) else { continue };
        if let Some(grid) = grid::find_like(page, &like) {
            found.push(squares::read(page, shapes, grid, book));
        }
    }
}

/// Leaves only the pages of the chart itself: a small picture of the whole on a cover, plans and tables are grids too.
fn keep_charts(found: &mut [Vec<Squares>]) {
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
        page.retain(|squares| {
            let like = (0.8..1.25).contains(&(squares.grid.cell[0] / cell));
            // A last page may hold a few squares alone.
            like && (!any_symbols || signed(squares) > 0)
        });
    }
}

/// Why no page shows a grid.
fn without_grid(pages: &[Drawn]) -> ReadError {
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
