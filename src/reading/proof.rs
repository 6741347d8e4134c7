//! A printed PDF read back by another renderer and compared with its chart, cell by cell.
//!
//! Owns the reading: a page is rendered in grey by hayro (which did not write it), spoiled if asked, its grid is
//! found from the rules in the picture, and each cell is matched against the symbols of the printed key. From
//! the file itself comes only what each page says that it shows, and, from `sheet`, about where the key's boxes stand. Leaves making pages to `sheet` and `ink`.

mod cells;
mod drawn;
mod figures;
mod found;
mod lattice;
mod outlines;
mod over;
mod patterns;
mod points;
mod reader;
mod shooting;
mod signs;
mod spoil;
mod trial;

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use rayon::prelude::*;

use super::gate;
use super::pages::Pages;
use super::places::ChartPage;
use crate::chart::marks::Composed;
use crate::ground::progress::{Progress, Stage, Stopped, tell};
use crate::printing::sheet;
use cells::Cells;
use found::PageProof;
use reader::{DOUBT, Read};
use shooting::{Shooting, Taken};
use signs::Signs;

pub use super::{GridFault, ProofError, Reader};
pub use found::{Count, LinePair, Lines, Misread, MisreadLine, Pair, Proof};
pub use spoil::{Spoil, spoil};
pub use trial::{Confused, Settled, settle, try_symbols};

/// The resolutions at which pages can be read, in dots an inch: below, a cell has too few pixels for its symbol;
/// above, a page takes gigabytes.
pub const DPI_LIMITS: std::ops::RangeInclusive<f64> = 100.0..=600.0;

/// How a proof is to be read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProofOptions {
    /// Dots an inch, within [`DPI_LIMITS`].
    pub dpi: f64,
    /// How the pages are spoiled first.
    pub spoil: Spoil,
    /// So many chart pages at most, spread over the chart; else all.
    pub pages: Option<usize>,
    /// So many rows at most of each of those pages, from its middle; else all. The grid is found on all of the page.
    pub rows: Option<u32>,
}

impl Default for ProofOptions {
    fn default() -> Self {
        Self { dpi: 150.0, spoil: Spoil::None, pages: None, rows: None }
    }
}

/// Reads the pages of `pdf` and compares them with the worked chart. `reader` says where the file is read: one from
/// outside belongs in a child.
///
/// # Errors
/// [`ProofError`] where there is nothing that can be read; cells that are read wrong are a result.
pub fn proof(
    pdf: &[u8],
    composed: &Composed,
    options: ProofOptions,
    reader: &Reader,
    progress: &dyn Progress,
) -> Result<Proof, ProofError> {
    if !DPI_LIMITS.contains(&options.dpi) {
        return Err(ProofError::Dpi { dpi: options.dpi });
    }
    let chart = &composed.chart;
    let file = Pages::open(reader, pdf, chart.size(), progress)?;
    let places = file.places.clone();
    let pages = chosen(&places.chart, options.pages);
    let mut sizes: Vec<(usize, usize)> = pages.iter().map(|page| (page.page, page.cells())).collect();
    sizes.extend(places.key.clone().map(|page| (page, 0)));
    let room = gate::room(&file.sizes, &sizes, options.dpi)?;
    let shooting = Shooting { file, options, progress };
    let figures = shooting.key(&places, composed)?;
    // Symbols over lines, with their white edges.
    let inked = match composed.lines.as_slice() {
        [] => vec![Vec::new(); figures.len()],
        _ => figures.iter().map(|figure| figures::spread(figure, sheet::EDGE as f32)).collect(),
    };
    let owned = if composed.lines.is_empty() { Vec::new() } else { over::owned(&figures) };
    let total = pages.len() as u64;
    let done = AtomicU64::new(0);
    let taken = |page: &&ChartPage| {
        tell(progress, Stage::Proofing, done.load(Ordering::Relaxed), total)?;
        shooting.page(page, composed, &inked)
    };
    // What some pages teach serves all.
    let teachers = teaching(&pages, room.kept);
    let teachers: Vec<Taken> = in_turn(&teachers, room.rendered, taken)?;
    let mut signs = Signs::new(&figures);
    let is_doubtful = AtomicBool::new(false);
    let first = |page: &Taken| -> Result<Vec<Read>, Stopped> {
        if is_doubtful.load(Ordering::Relaxed) {
            return Ok(Vec::new());
        }
        let read = page.cells.read(&signs, &owned, progress)?;
        is_doubtful.fetch_or(read.iter().any(|read| read.margin < DOUBT), Ordering::Relaxed);
        Ok(read)
    };
    let mut first: Vec<Vec<Read>> = teachers.par_iter().map(first).collect::<Result<_, Stopped>>()?;
    if is_doubtful.into_inner() {
        first.clear();
        let cells: Vec<&Cells> = teachers.iter().map(|page| &page.cells).collect();
        signs = Signs::learnt(&figures, &cells, progress)?;
    }
    let read = |taken: &Taken| taken.cells.read(&signs, &owned, progress);
    let compared = |page: &&ChartPage| {
        let read = match teachers.iter().position(|taken| taken.place == **page) {
            Some(at) => {
                let known = first.get(at).cloned().map_or_else(|| read(&teachers[at]), Ok)?;
                teachers[at].compared(&composed.chart, &known)
            }
            None => {
                let taken = taken(page)?;
                taken.compared(&composed.chart, &read(&taken)?)
            }
        };
        done.fetch_add(1, Ordering::Relaxed);
        Ok(read)
    };
    let read: Vec<PageProof> = in_turn(&pages, room.rendered, compared)?;
    Ok(Proof::of(read, places.chart.len(), composed, options))
}

/// Works on pages, so many at once as there is memory for.
fn in_turn<T: Send>(
    pages: &[&ChartPage],
    at_once: usize,
    work: impl Fn(&&ChartPage) -> Result<T, ProofError> + Sync,
) -> Result<Vec<T>, ProofError> {
    let mut done = Vec::with_capacity(pages.len());
    for pages in pages.chunks(at_once) {
        done.extend(pages.par_iter().map(&work).collect::<Result<Vec<_>, _>>()?);
    }
    Ok(done)
}

/// The most pages that teach: enough to see nearly each symbol, and 100 megabytes.
const TEACHERS: usize = 24;

/// The pages that teach. Steps of the golden ratio fall evenly on rows and columns of pages alike: every other page
/// would leave out whole columns of them, and with them symbols that stand nowhere else.
fn teaching<'p>(pages: &[&'p ChartPage], most: usize) -> Vec<&'p ChartPage> {
    let share = |place: usize| (place as f64 * 0.618_033_988_749_895).fract();
    let mut order: Vec<usize> = (0..pages.len()).collect();
    order.sort_by(|&one, &other| share(one).total_cmp(&share(other)));
    order.into_iter().take(TEACHERS.min(most)).map(|place| pages[place]).collect()
}

/// So many pages, spread evenly.
fn chosen(pages: &[ChartPage], most: Option<usize>) -> Vec<&ChartPage> {
    let count = most.unwrap_or(pages.len()).clamp(1, pages.len().max(1));
    (0..count).filter_map(|index| pages.get((2 * index + 1) * pages.len() / (2 * count))).collect()
}
