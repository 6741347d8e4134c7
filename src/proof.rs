//! A printed PDF read back by another renderer and compared with its chart, cell by cell.
//!
//! Owns the reading: a page is rendered in grey by hayro (which did not write it), spoiled if asked, its grid is
//! found from the rules in the picture, and each cell is matched against the symbols of the printed key. From
//! the file itself come only the table of contents, which says what each page shows, and, from `sheet`, about
//! where the key's boxes stand. Leaves making pages to `sheet` and `ink`.

mod drawn;
mod error;
mod figures;
mod found;
mod lattice;
mod outlines;
mod patterns;
mod picture;
mod places;
mod reader;
mod shooting;
mod signs;
mod spoil;

use std::sync::Arc;

use hayro::hayro_syntax::Pdf;
use rayon::prelude::*;

use crate::marks::Composed;
use crate::progress::{Progress, tell};
use found::PageProof;
use places::{ChartPage, Places};
use reader::{Cells, DOUBT};
use shooting::{Shooting, Taken};
use signs::Signs;

pub use error::ProofError;
pub use found::{Count, LinePair, Lines, Misread, MisreadLine, Pair, Proof};
pub use spoil::{Spoil, spoil};

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
}

impl Default for ProofOptions {
    fn default() -> Self {
        Self { dpi: 150.0, spoil: Spoil::None, pages: None }
    }
}

/// Reads the pages of `pdf` and compares them with the worked chart.
///
/// # Errors
/// [`ProofError`] where there is nothing that can be read; cells that are read wrong are a result.
pub fn proof(
    pdf: &[u8],
    composed: &Composed,
    options: ProofOptions,
    progress: &dyn Progress,
) -> Result<Proof, ProofError> {
    if !DPI_LIMITS.contains(&options.dpi) {
        return Err(ProofError::Dpi { dpi: options.dpi });
    }
    let chart = &composed.chart;
    let places = Places::read(pdf, chart.size())?;
    let file = Pdf::new(Arc::new(pdf.to_vec())).map_err(|_| ProofError::NotPdf)?;
    let shooting = Shooting { file, options };
    let figures = shooting.key(&places, composed)?;
    let pages = chosen(&places.chart, options.pages);
    let total = pages.len() as u64;
    let done = std::sync::atomic::AtomicU64::new(0);
    let taken = |page: &&ChartPage| {
        tell(progress, "proof", done.load(std::sync::atomic::Ordering::Relaxed), total)?;
        shooting.page(page, composed)
    };
    // What some pages teach serves all.
    let teachers = teaching(&pages);
    let teachers: Vec<Taken> = teachers.par_iter().map(taken).collect::<Result<_, _>>()?;
    let mut signs = Signs::new(&figures);
    let doubt = |page: &Taken| page.cells.read(&signs).iter().any(|read| read.margin < DOUBT);
    if teachers.par_iter().any(doubt) {
        let cells: Vec<&Cells> = teachers.iter().map(|page| &page.cells).collect();
        signs = Signs::learnt(&figures, &cells);
    }
    let read: Vec<PageProof> = pages
        .par_iter()
        .map(|page| {
            let read = match teachers.iter().find(|taken| taken.place == **page) {
                Some(taken) => taken.compared(&composed.chart, &signs),
                None => taken(page)?.compared(&composed.chart, &signs),
            };
            done.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
            Ok(read)
        })
        .collect::<Result<_, ProofError>>()?;
    Ok(Proof::of(read, places.chart.len(), &composed.lines, options))
}

/// The most pages that teach: enough to see nearly each symbol, and 100 megabytes.
const TEACHERS: usize = 24;

/// The pages that teach. Steps of the golden ratio fall evenly on rows and columns of pages alike: every other page
/// would leave out whole columns of them, and with them symbols that stand nowhere else.
fn teaching<'p>(pages: &[&'p ChartPage]) -> Vec<&'p ChartPage> {
    let share = |place: usize| (place as f64 * 0.618_033_988_749_895).fract();
    let mut order: Vec<usize> = (0..pages.len()).collect();
    order.sort_by(|&one, &other| share(one).total_cmp(&share(other)));
    order.into_iter().take(TEACHERS).map(|place| pages[place]).collect()
}

/// So many pages, spread evenly.
fn chosen(pages: &[ChartPage], most: Option<usize>) -> Vec<&ChartPage> {
    let count = most.unwrap_or(pages.len()).clamp(1, pages.len().max(1));
    (0..count).filter_map(|index| pages.get((2 * index + 1) * pages.len() / (2 * count))).collect()
}
