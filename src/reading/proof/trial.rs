//! Whether the symbols of a chart can be told apart as they are going to be printed, before they are.
//!
//! Owns the trial: a small page, in memory alone, on which every symbol stands beside those nearest to it, under the
//! tints, rules and ink of the chart pages and in squares of their size. It is rendered, spoiled as a tired printer does,
//! and read as pages are; what is taken for another thing there will be on pages too. Which symbol a needle gets instead
//! is left to `symbols`, and how the page looks to `sheet`.

use std::collections::BTreeMap;
use std::sync::Arc;

use hayro::hayro_syntax::Pdf;
use image::GrayImage;

use super::cells::{Cells, Inked};
use super::figures;
use super::lattice::Lattice;
use super::reader::{DOUBT, Read};
use super::signs::Signs;
use super::{ProofError, ProofOptions, Spoil, spoil};
use crate::chart::{Cell, Chart, WorkedLine};
use crate::ground::progress::{Progress, Silent, Stage, ask, tell};
use crate::ground::units::{GridSize, Millimetres};
use crate::printing::ink::{self, PdfOptions};
use crate::printing::sheet::{self, Look, SheetOptions};
use crate::printing::symbols::{self, Apart, Squares, SymbolId};
use crate::reading::picture::{self, Levels};

/// A pair with a smaller margin is exchanged where it can be. On pages of photos that were read without fault, clean and
/// from a tired printer, the least was 0.04; higher, large charts run out of symbols.
const FAINT: f64 = 0.04;

/// So many times symbols are exchanged and tried anew; what is not settled by then goes round in circles.
const ROUNDS: u64 = 8;

/// Every symbol stands beside so many of those nearest to it.
const NEIGHBOURS: usize = 3;

/// The least columns of the page: enough bold rules to know black by.
const COLUMNS: usize = 20;

/// The seed of the page's faults.
const SEED: u64 = 1;

/// Sizes of squares, in millimetres, of which the first that does is named where the one asked for does not.
const SIZES: [f64; 5] = [2.5, 3.0, 3.5, 4.0, 4.5];

/// A needle whose symbol is taken for another's, or nearly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Confused {
    /// The needle, from 0.
    pub needle: usize,
    /// What was read in its place, or came nearest: a needle, or `None` for bare cloth.
    pub other: Option<usize>,
    /// How clear the right one was: 1 beyond doubt, 0 a tie, under 0 read wrong.
    pub margin: f64,
}

impl Confused {
    /// Whether it was read wrong.
    #[must_use]
    pub fn is_misread(&self) -> bool {
        self.margin < 0.0
    }
}

/// What came of trying symbols.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Settled {
    /// The side of the squares that were tried.
    pub cell: Millimetres,
    /// Needles that have got another symbol, from 0.
    pub exchanged: Vec<usize>,
    /// What is still taken for another thing, or nearly so; the worst first.
    pub confused: Vec<Confused>,
    /// Where something is still read wrong, the size of squares in which nothing is.
    pub enough: Option<Millimetres>,
}

/// Tries the symbols of a chart as the pages of these options will show them, and gives needles whose symbols are taken
/// for others' new ones, the less used of two first, until nothing is, or nothing helps. Needles whose codes are in
/// `wished` keep theirs. A chart that cannot be laid out, or is shown without symbols, stays as it is.
///
/// # Errors
/// [`ProofError`] where the trial cannot be read, or the job was stopped.
pub fn settle(
    chart: &mut Chart,
    lines: &[WorkedLine],
    options: &SheetOptions,
    wished: &[(String, String)],
    progress: &dyn Progress,
) -> Result<Settled, ProofError> {
    if chart.needles().is_empty() || options.show == sheet::Show::Colours {
        return Ok(Settled::default());
    }
    let Ok(look) = Look::of(chart, lines, options) else { return Ok(Settled::default()) };
    let squares = Squares::of(look.cell());
    let is_kept: Vec<bool> =
        chart.needles().iter().map(|needle| wished.iter().any(|(code, _)| *code == needle.code())).collect();
    let stitches = chart.stitches();
    let before = names(chart);
    let mut pairs: Vec<[SymbolId; 2]> = Vec::new();
    let mut best: Option<(Vec<String>, Vec<Confused>)> = None;
    for round in 0..ROUNDS {
        tell(progress, Stage::Proofing, round, ROUNDS)?;
        let found = tried(chart, look, options, progress)?;
        let is_better = best.as_ref().is_none_or(|(_, least)| badness(&found) < badness(least));
        if is_better {
            best = Some((names(chart), found.clone()));
        }
        let symbol = |needle: usize| SymbolId::of(&chart.needles()[needle].symbol);
        pairs.extend(
            found.iter().map(|pair| [symbol(pair.needle), symbol(pair.other.unwrap_or(pair.needle))]),
        );
        let loose = loose(&found, &is_kept, &stitches);
        if loose.is_empty() {
            break;
        }
        let given = symbols::exchange(chart, &loose, Apart { squares, confused: &pairs });
        let given: Vec<String> = given.iter().map(|symbol| symbol.id().to_owned()).collect();
        if given == names(chart) {
            break;
        }
        chart.set_symbols(given);
    }
    let (names, confused) = best.unwrap_or_default();
    let changed = names.iter().zip(&before).enumerate().filter(|(_, (now, before))| now != before);
    let exchanged = changed.map(|(needle, _)| needle).collect();
    chart.set_symbols(names);
    let enough = enough(chart, look, options, &confused, progress)?;
    Ok(Settled { cell: look.cell(), exchanged, confused, enough })
}

/// Tries the symbols of a chart without exchanging any.
///
/// # Errors
/// [`ProofError`] where the trial cannot be read, or the job was stopped.
pub fn try_symbols(
    chart: &Chart,
    lines: &[WorkedLine],
    options: &SheetOptions,
    progress: &dyn Progress,
) -> Result<Settled, ProofError> {
    if chart.needles().is_empty() || options.show == sheet::Show::Colours {
        return Ok(Settled::default());
    }
    let Ok(look) = Look::of(chart, lines, options) else { return Ok(Settled::default()) };
    let confused = tried(chart, look, options, progress)?;
    let enough = enough(chart, look, options, &confused, progress)?;
    Ok(Settled { cell: look.cell(), exchanged: Vec::new(), confused, enough })
}

/// The size of squares in which nothing is read wrong, where something is.
fn enough(
    chart: &Chart,
    look: Look,
    options: &SheetOptions,
    confused: &[Confused],
    progress: &dyn Progress,
) -> Result<Option<Millimetres>, ProofError> {
    if !confused.iter().any(Confused::is_misread) {
        return Ok(None);
    }
    for mm in SIZES {
        let Ok(cell) = Millimetres::new(mm) else { continue };
        if mm > look.cell().mm() + 0.05
            && !tried(chart, look.in_squares(cell), options, progress)?.iter().any(Confused::is_misread)
        {
            return Ok(Some(cell));
        }
    }
    Ok(None)
}

fn names(chart: &Chart) -> Vec<String> {
    chart.needles().iter().map(|needle| needle.symbol.clone()).collect()
}

/// What is read wrong counts before what is nearly.
fn badness(found: &[Confused]) -> (usize, usize) {
    (found.iter().filter(|pair| pair.is_misread()).count(), found.len())
}

/// The needles that are to get other symbols: of each pair the less used one that may.
fn loose(found: &[Confused], is_kept: &[bool], stitches: &[u64]) -> Vec<usize> {
    let mut loose: Vec<usize> = Vec::new();
    for pair in found {
        let mut both = vec![pair.needle];
        both.extend(pair.other);
        // One is enough.
        if both.iter().any(|needle| loose.contains(needle)) {
            continue;
        }
        both.retain(|&needle| !is_kept[needle]);
        loose.extend(both.into_iter().min_by_key(|&needle| stitches[needle]));
    }
    loose
}

/// Every pair with a margin under [`FAINT`], clean or from a tired printer, the worst first.
fn tried(
    chart: &Chart,
    look: Look,
    options: &SheetOptions,
    progress: &dyn Progress,
) -> Result<Vec<Confused>, ProofError> {
    let shot = Shot::of(chart, look, options, progress)?;
    let mut pairs: BTreeMap<[Option<usize>; 2], f64> = BTreeMap::new();
    for spoil in [Spoil::None, Spoil::Home] {
        for (wanted, Read { best, second, margin }) in shot.read(spoil, progress)? {
            let margin = f64::from(margin);
            let (other, margin) = if best == wanted { (second, margin) } else { (best, -margin.max(1e-6)) };
            let mut pair = [wanted, other];
            pair.sort_unstable();
            let least = pairs.entry(pair).or_insert(f64::MAX);
            *least = least.min(margin);
        }
    }
    let faint = pairs.into_iter().filter(|(_, margin)| *margin < FAINT);
    // `None` comes before all needles.
    let mut faint: Vec<Confused> = faint
        .filter_map(|([other, needle], margin)| needle.map(|needle| Confused { needle, other, margin }))
        .collect();
    faint.sort_by(|one, other| one.margin.total_cmp(&other.margin));
    Ok(faint)
}

/// The page, rendered, and what stands on it.
struct Shot {
    picture: GrayImage,
    boxes: Vec<sheet::Area>,
    lattice: Lattice,
    per_mm: f64,
    wanted: Vec<Option<usize>>,
}

impl Shot {
    fn of(
        chart: &Chart,
        look: Look,
        options: &SheetOptions,
        progress: &dyn Progress,
    ) -> Result<Self, ProofError> {
        ask(progress)?;
        let sample = sample(chart, Squares::of(look.cell()));
        let page = sheet::trial(&sample, look, options);
        let pdf = ink::pdf(&page.sheet, &PdfOptions::default(), &Silent).map_err(|_| ProofError::NotPdf)?;
        let file = Pdf::new(Arc::new(pdf)).map_err(|_| ProofError::NotPdf)?;
        let dpi = ProofOptions::default().dpi;
        let picture = picture::rendered(&file, 0, dpi).ok_or(ProofError::NotPdf)?;
        let per_mm = dpi / 25.4;
        let sheet::Block { x, y, cell, columns, rows } = page.block;
        let [x, y, side] = [x, y, cell].map(|length| length.to_mm() * per_mm);
        // Its place is known: that pages' grids are found is seen on a page itself.
        let lattice =
            Lattice { origin: [x, y], right: [side, 0.0], down: [0.0, side], columns, rows, bold: [0, 0] };
        let wanted = sample.cells().iter().map(|cell| cell.needle()).collect();
        Ok(Self { picture, boxes: page.boxes, lattice, per_mm, wanted })
    }

    /// What each square is read as, and what it is.
    fn read(
        &self,
        spoiled: Spoil,
        progress: &dyn Progress,
    ) -> Result<Vec<(Option<usize>, Read)>, ProofError> {
        let dpi = ProofOptions::default().dpi;
        let picture = spoil(self.picture.clone(), spoiled, dpi, SEED);
        let paper = Levels::of(&picture).paper;
        let figures = figures::levelled(figures::in_place(&picture, paper, &self.boxes, self.per_mm));
        let page = Inked::new(&picture, &self.lattice);
        let covers = vec![None; self.wanted.len()];
        let cells = Cells::new(&page, 0..self.lattice.rows, covers, |_| false, progress)?;
        let signs = Signs::new(&figures);
        let mut read = cells.read(&signs, &[], progress)?;
        if read.iter().any(|read| read.margin < DOUBT) {
            read = cells.read(&Signs::learnt(&figures, &[&cells], progress)?, &[], progress)?;
        }
        Ok(self.wanted.iter().copied().zip(read).collect())
    }
}

/// A chart of the same needles in which each stands, in several places, beside those whose symbols are nearest to its own.
fn sample(chart: &Chart, squares: Squares) -> Chart {
    let symbols: Vec<SymbolId> = chart.needles().iter().map(|needle| SymbolId::of(&needle.symbol)).collect();
    let near = |needle: usize| {
        let mut others: Vec<usize> = (0..symbols.len()).filter(|&other| other != needle).collect();
        let alike = |other: usize| symbols[needle].likeness_in(symbols[other], squares);
        others.sort_by(|&a, &b| alike(b).total_cmp(&alike(a)));
        others.truncate(NEIGHBOURS);
        others
    };
    let near: Vec<Vec<usize>> = (0..symbols.len()).map(near).collect();
    let mut cells: Vec<Cell> = Vec::new();
    let neighbour = |needle: usize, place: usize| {
        let near = &near[needle];
        if near.is_empty() { Cell::BARE } else { Cell::worked(near[place % near.len()]) }
    };
    for needle in 0..symbols.len() {
        for place in 0..NEIGHBOURS {
            cells.extend([Cell::worked(needle), neighbour(needle, place)]);
        }
        cells.push(Cell::worked(needle));
    }
    // Once more in other places: other parts of a pixel, other distances from bold rules.
    for needle in (0..symbols.len()).rev() {
        for place in 0..NEIGHBOURS {
            cells.extend([neighbour(needle, place), Cell::worked(needle)]);
        }
    }
    #[allow(clippy::cast_sign_loss, reason = "a root is not negative")]
    let columns = ((cells.len() as f64).sqrt().ceil() as usize).max(COLUMNS);
    let rows = (cells.len() / columns + 1).max(4);
    cells.resize(columns * rows, Cell::BARE);
    let size = GridSize::new(columns as u32, rows as u32).expect("no more squares than a chart may have");
    Chart::new(String::new(), size, chart.cloth, chart.needles().to_vec(), cells)
        .expect("the needles are those of a chart")
}

#[cfg(test)]
mod tests;
