//! Pages taken as they are to be read: rendered, spoiled, their grid found and cut into cells.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use image::GrayImage;

use super::cells::{Cells, Inked};
use super::drawn::{Drawn, covers};
use super::figures::{self, Fine};
use super::found::{Count, Misread, PageProof};
use super::lattice::{self, Lattice};
use super::outlines::{self, Outlines};
use super::over::{self, HIDES};
use super::reader::Read;
use super::{GridFault, ProofError, ProofOptions, spoil};
use crate::chart::marks::Composed;
use crate::chart::{Chart, WorkedLine};
use crate::ground::progress::{Progress, aside, ask};
use crate::ground::units::{GridSize, Millimetres};
use crate::printing::sheet::{self, Paper, Print, SheetOptions};
use crate::reading::pages::Pages;
use crate::reading::picture::Levels;
use crate::reading::places::{ChartPage, Places};

/// The file, and how its pages are taken.
pub(super) struct Shooting<'a> {
    pub(super) file: Pages,
    pub(super) options: ProofOptions,
    pub(super) progress: &'a dyn Progress,
}

/// In levels. A frame of the key is clear by 60 and more on a page as it was written.
const CLEAR: f64 = 40.0;

impl Shooting<'_> {
    /// A page as it is to be read. Its number is the seed of its faults.
    fn take(&self, page: usize) -> Result<GrayImage, ProofError> {
        let clean = self.file.rendered(page, self.options.dpi, self.progress)?;
        let ProofOptions { spoil: how, dpi, .. } = self.options;
        let spoilt = aside(self.progress, move || spoil(clean, how, dpi, page as u64))?;
        spoilt.ok_or(ProofError::NotPdf)
    }

    /// The figures of all needles, from the key.
    pub(super) fn key(&self, places: &Places, composed: &Composed) -> Result<Vec<Fine>, ProofError> {
        let needles = composed.chart.needles().len();
        let failed = || ProofError::Key { needles };
        let pages: Vec<GrayImage> =
            places.key.clone().map(|page| self.take(page)).collect::<Result<_, _>>()?;
        let per_mm = self.options.dpi / 25.4;
        // The page tells its paper; whether its text is large shows in the boxes.
        let points = self.file.sizes.get(places.key.start).ok_or_else(failed)?;
        let [width, height] = points.map(|points| {
            // To a tenth of a millimetre, as papers are given.
            let mm = (f64::from(points) * 254.0 / 72.0).round() / 10.0;
            Millimetres::new(mm)
        });
        let (Ok(width), Ok(height)) = (width, height) else { return Err(failed()) };
        let papers: Vec<f32> = pages.iter().map(|page| Levels::of(page).paper).collect();
        let read = |print: Print| {
            let (paper, order) = (Paper::Custom { width, height }, places.order.clone());
            let options = SheetOptions { paper, print, order, ..SheetOptions::default() };
            let areas = sheet::symbol_areas(&composed.chart, &composed.lines, &options);
            let mut figures = Vec::new();
            let mut clear = f64::MAX;
            for (index, (page, &paper)) in pages.iter().zip(&papers).enumerate() {
                let mut here: Vec<(usize, sheet::Area)> = Vec::new();
                here.extend(
                    areas
                        .iter()
                        .enumerate()
                        .filter(|(_, (at, _))| *at == index)
                        .map(|(needle, (_, area))| (needle, *area)),
                );
                // As they stand in the key, from box to box: each is looked for near the one before.
                here.sort_by(|(_, one), (_, other)| {
                    (one.x.to_mm().total_cmp(&other.x.to_mm()))
                        .then(one.y.to_mm().total_cmp(&other.y.to_mm()))
                });
                let boxes: Vec<sheet::Area> = here.iter().map(|(_, area)| *area).collect();
                let (found, faintest) = figures::on_page(page, paper, &boxes, per_mm)?;
                figures.extend(here.into_iter().map(|(needle, _)| needle).zip(found));
                clear = clear.min(faintest);
            }
            figures.sort_by_key(|(needle, _)| *needle);
            let figures: Vec<_> = figures.into_iter().map(|(_, figure)| figure).collect();
            (figures.len() == needles).then_some((figures, clear))
        };
        // Boxes of the other print cannot all be so clear.
        let usual = read(Print::Usual);
        let is_clear = usual.as_ref().is_some_and(|(_, faintest)| *faintest > CLEAR);
        let large = if is_clear { None } else { read(Print::Large) };
        let best = usual.into_iter().chain(large);
        let (boxes, _) = best.max_by(|one, other| one.1.total_cmp(&other.1)).ok_or_else(failed)?;
        Ok(figures::levelled(boxes))
    }

    /// A chart page; `inked` are the figures of all needles with what ink and their white edges hide around them.
    pub(super) fn page(
        &self,
        place: &ChartPage,
        composed: &Composed,
        inked: &[Fine],
    ) -> Result<Taken, ProofError> {
        let picture = Arc::new(self.take(place.page)?);
        let page = place.page + 1;
        let size = composed.chart.size();
        let columns = sheet::with_repeats(&place.columns, size.columns());
        let rows = sheet::with_repeats(&place.rows, size.rows());
        let wanted = [columns.len() as u32, rows.len() as u32];
        let shared = Arc::clone(&picture);
        let lattice = aside(self.progress, move || lattice::find(&shared, wanted))?
            .ok_or(ProofError::NotPdf)?
            .map_err(|reason| ProofError::Grid { page, reason })?;
        let found = [lattice.columns, lattice.rows];
        if found != wanted {
            return Err(ProofError::OtherGrid { page, found, wanted });
        }
        let is_ten = |line: u32, total: u32| line.is_multiple_of(10) || line == total;
        if !is_ten(columns.start + lattice.bold[0], size.columns())
            || !is_ten(rows.start + lattice.bold[1], size.rows())
        {
            return Err(ProofError::Grid { page, reason: GridFault::NotOnTens });
        }
        let first = [columns.start, rows.start];
        let page = Inked::new(&picture, &lattice);
        let (mut lines, crossed) = drawn(composed, first, &page);
        let centre = centre(size, first, lattice.side() * 25.4 / self.options.dpi);
        ask(self.progress)?;
        let is_inked = |[column, row]: [u32; 2], within: [f64; 2]| {
            let needle = cell(&composed.chart, first[0] + column, first[1] + row);
            needle.is_some_and(|needle| figures::ink_at(&inked[needle], within) > HIDES)
        };
        let outlines = outlines::read(&page, &composed.lines, first, &centre, &crossed, &is_inked);
        lines.extend(centre);
        let read = middle(lattice.rows, self.options.rows);
        let columns = lattice.columns as usize;
        let mut covers = covers(found, &lines, &crossed);
        covers.truncate(read.end as usize * columns);
        covers.drain(..read.start as usize * columns);
        let cells = Cells::new(
            &page,
            read.clone(),
            covers,
            |[column, row]| place.is_repeated(first[0] + column, first[1] + row),
            self.progress,
        )?;
        Ok(Taken { place: place.clone(), lattice, first, from: read.start, cells, outlines })
    }
}

/// A chart page taken and cut into cells.
pub(super) struct Taken {
    pub(super) place: ChartPage,
    lattice: Lattice,
    /// The column and row of the worked chart at the lattice's top left.
    first: [u32; 2],
    /// The row of the lattice at which the cells begin.
    from: u32,
    pub(super) cells: Cells,
    outlines: Outlines,
}

impl Taken {
    /// Its cells as they were read, against the chart's.
    pub(super) fn compared(&self, chart: &Chart, read: &[Read]) -> PageProof {
        let Self { place, lattice, first, from, outlines, .. } = self;
        let page = place.page + 1;
        let mut proof = PageProof {
            page,
            seed: place.page as u64,
            lattice: *lattice,
            first: *first,
            own: Count::default(),
            repeated: Count::default(),
            misread: Vec::new(),
            pairs: BTreeMap::new(),
            outlines: outlines.clone(),
        };
        for (index, &Read { best, second, margin }) in read.iter().enumerate() {
            let index = index as u32;
            let (column, row) = (index % lattice.columns, from + index / lattice.columns);
            let (column, row) = (first[0] + column, first[1] + row);
            let repeated = place.is_repeated(column, row);
            let wanted = cell(chart, column, row);
            let margin = f64::from(margin);
            let count = if repeated { &mut proof.repeated } else { &mut proof.own };
            count.cells += 1;
            if best == wanted {
                count.right += 1;
                let least = proof.pairs.entry([best, second]).or_insert(f64::MAX);
                *least = least.min(margin);
            } else {
                let (column, row) = (column + 1, row + 1);
                proof.misread.push(Misread {
                    page,
                    column,
                    row,
                    repeated,
                    chart: wanted,
                    read: best,
                    margin,
                });
            }
        }
        proof
    }
}

/// So many of all rows, from the middle.
fn middle(rows: u32, most: Option<u32>) -> Range<u32> {
    let count = most.unwrap_or(rows).min(rows);
    let start = (rows - count) / 2;
    start..start + count
}

fn cell(chart: &Chart, column: u32, row: u32) -> Option<usize> {
    if row >= chart.size().rows() {
        return None;
    }
    chart.row(row as usize).get(column as usize).and_then(|cell| cell.needle())
}

/// The heavy lines through the middle of the design, in cells of `mm`: in small cells they reach into the points
/// that are compared.
fn centre(size: GridSize, first: [u32; 2], mm: f64) -> Vec<Drawn> {
    // Half of the 0.6 mm that `sheet` gives them, and the 0.1 mm that ink runs.
    let half = 0.4 / mm;
    let (columns, rows) = (size.columns(), size.rows());
    let (x, y) = (f64::from(columns / 2) - f64::from(first[0]), f64::from(rows / 2) - f64::from(first[1]));
    let (right, bottom) = (f64::from(columns), f64::from(rows));
    let upright =
        columns.is_multiple_of(2).then_some(Drawn { from: [x, 0.0], to: [x, bottom], half, ink: 1.0 });
    let level = rows.is_multiple_of(2).then_some(Drawn { from: [0.0, y], to: [right, y], half, ink: 1.0 });
    upright.into_iter().chain(level).collect()
}

/// Lines as drawn on a page that begins at `first`, with their white casing, and the cells whose symbols stand over them.
fn drawn(composed: &Composed, first: [u32; 2], page: &Inked) -> (Vec<Drawn>, BTreeSet<[i64; 2]>) {
    let of = |line: &WorkedLine| -> Vec<Drawn> {
        let half = sheet::half_width(line.pattern);
        let mut points = line.drawn(0.0);
        if line.closed {
            points.extend(points.first().copied());
        }
        let place = |[x, y]: [f64; 2]| [x - f64::from(first[0]), y - f64::from(first[1])];
        let pair = |pair: &[[f64; 2]]| Drawn { from: place(pair[0]), to: place(pair[1]), half, ink: 1.0 };
        points.windows(2).map(pair).collect()
    };
    let mut lines: Vec<Vec<Drawn>> = composed.lines.iter().map(of).collect();
    let crossed =
        lines.iter().flatten().flat_map(|drawn| sheet::crossed_by([drawn.from, drawn.to])).collect();
    for (strokes, line) in lines.iter_mut().zip(&composed.lines) {
        let aside = sheet::asides(line.pattern).first().copied().unwrap_or(0.0);
        let ink = over::ink_of(page, strokes, aside, &crossed);
        strokes.iter_mut().for_each(|drawn| drawn.ink = ink);
    }
    (lines.into_iter().flatten().collect(), crossed)
}
