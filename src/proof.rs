//! A printed PDF read back by another renderer and compared with its chart, cell by cell.
//!
//! Owns the reading: a page is rendered in grey by hayro (which did not write it), spoiled if asked, its grid is
//! found from the rules in the picture, and each cell is matched against the symbols of the printed key. From
//! the file itself come only the table of contents, which says what each page shows, and, from `sheet`, about
//! where the key's boxes stand. Leaves making pages to `sheet` and `ink`.

mod drawn;
mod figures;
mod gate;
mod lattice;
mod picture;
mod places;
mod reader;
mod signs;
mod spoil;

use std::collections::BTreeMap;
use std::sync::Arc;

use hayro::hayro_syntax::Pdf;
use image::{GrayImage, Rgb, RgbImage};
use imageproc::drawing::draw_line_segment_mut;
use rayon::prelude::*;

use crate::chart::Chart;
use crate::marks::Composed;
use crate::progress::{Progress, Stopped, tell};
use crate::sheet::{self, Paper, Print, SheetOptions};
use crate::units::{GridSize, Millimetres};
use drawn::{Drawn, masks};
use figures::Fine;
use lattice::Lattice;
use picture::Levels;
use places::{ChartPage, Places};
use reader::{Cells, DOUBT, Read};
use signs::Signs;

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

/// A cell that was read as something else than the chart says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misread {
    /// The page of the file, from 1.
    pub page: usize,
    /// The column of the worked chart, from 1.
    pub column: u32,
    /// The row of the worked chart, from 1.
    pub row: u32,
    /// Whether it is a cell of a neighbouring page, repeated here.
    pub repeated: bool,
    /// The needle that the chart has there, from 0, or `None` for bare cloth.
    pub chart: Option<usize>,
    /// The needle whose symbol was read.
    pub read: Option<usize>,
    /// How clear that was, 0 to 1.
    pub margin: f64,
}

/// Two needles, or a needle and bare cloth, and the least margin between them on any cell that was read right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// What was read, from 0; `None` is bare cloth.
    pub read: Option<usize>,
    /// What came second.
    pub second: Option<usize>,
    /// The margin: 1 less the distance to the first over the distance to the second.
    pub margin: f64,
}

/// Cells, and how many of them were read as the chart says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    /// All that were read.
    pub cells: u64,
    /// Those read right.
    pub right: u64,
}

/// A page as read.
#[derive(Debug, Clone, PartialEq)]
struct PageProof {
    page: usize,
    seed: u64,
    lattice: Lattice,
    /// The column and row of the worked chart at the lattice's top left.
    first: [u32; 2],
    own: Count,
    repeated: Count,
    misread: Vec<Misread>,
    pairs: BTreeMap<[Option<usize>; 2], f64>,
}

/// What a proof found.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// Cells, each on its own page.
    pub own: Count,
    /// Cells repeated from neighbouring pages.
    pub repeated: Count,
    /// Chart pages that were read.
    pub pages: usize,
    /// Chart pages of the file.
    pub of_pages: usize,
    /// Every cell that was read wrong, by page, row and column.
    pub misread: Vec<Misread>,
    /// What came nearest to being taken for each other, the nearest first.
    pub nearest: Vec<Pair>,
    options: ProofOptions,
    read: Vec<PageProof>,
}

/// A file that cannot be proof-read.
#[derive(Debug, thiserror::Error)]
pub enum ProofError {
    /// No PDF.
    #[error("this is not a PDF, or it is damaged")]
    NotPdf,
    /// Locked with a password.
    #[error("this PDF is encrypted")]
    Locked,
    /// More bytes, or more of them unpacked, than any chart has.
    #[error("this PDF is larger than any that brede prints: over 64 MiB, or over 16 MiB in one stream")]
    TooLarge,
    /// A page too large to be rendered.
    #[error("page {page} is {:.0} x {:.0} mm: at {dpi} dots an inch that is more than the 100 million pixels that are read", mm[0], mm[1])]
    Page {
        /// From 1.
        page: usize,
        /// Its width and height.
        mm: [f64; 2],
        /// The resolution asked for.
        dpi: f64,
    },
    /// A page with other things on it than brede draws, or that takes beyond all measure to render.
    #[error("page {page} holds what no page of brede's does")]
    Foreign {
        /// From 1.
        page: usize,
    },
    /// No thread to read in.
    #[error("no thread can be begun to read the pages in")]
    Thread(#[source] std::io::Error),
    /// No chart of brede's.
    #[error("this PDF has no table of contents of a chart that brede printed")]
    NotOurs,
    /// The chart is of another size.
    #[error("the pages show {} x {} cells, the chart has {} x {}", found[0], found[1], wanted[0], wanted[1])]
    OtherSize {
        /// Columns and rows of the pages.
        found: [u32; 2],
        /// Columns and rows of the chart with its marks.
        wanted: [u32; 2],
    },
    /// A resolution outside the limits.
    #[error("{dpi} dots an inch are outside 100 to 600")]
    Dpi {
        /// What was asked.
        dpi: f64,
    },
    /// The key cannot be found in the picture.
    #[error("the boxes of {needles} symbols cannot be found on the pages of the key")]
    Key {
        /// How many the chart has.
        needles: usize,
    },
    /// A page whose grid cannot be found.
    #[error("the grid of page {page} cannot be found: {reason}")]
    Grid {
        /// From 1.
        page: usize,
        /// Why.
        reason: &'static str,
    },
    /// A page whose grid is not what it should be.
    #[error("the grid of page {page} has {} x {} cells, not {} x {}", found[0], found[1], wanted[0], wanted[1])]
    OtherGrid {
        /// From 1.
        page: usize,
        /// Columns and rows in the picture.
        found: [u32; 2],
        /// Columns and rows by the table of contents.
        wanted: [u32; 2],
    },
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

impl ProofError {
    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::NotPdf | Self::NotOurs | Self::Locked | Self::TooLarge | Self::Foreign { .. } => {
                "give the PDF that `brede make` or `brede print` wrote"
            }
            Self::OtherSize { .. } | Self::Key { .. } => {
                "give the chart that these pages were printed from, or print it again with `brede print`"
            }
            Self::Page { .. } => "ask for a lower --dpi, or print on smaller paper",
            Self::Thread(_) => "end other programs, or lift the limit on threads or memory, and start again",
            Self::Dpi { .. } => "ask for something like --dpi 150",
            Self::Grid { .. } | Self::OtherGrid { .. } => {
                "try a higher --dpi, or print with larger cells (--cell 3mm)"
            }
            Self::Stopped(_) => "start it again",
        }
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
    let (document, file) = gate::open(pdf)?;
    let places = Places::read(&document, chart.size())?;
    drop(document);
    let pages = chosen(&places.chart, options.pages);
    let mut sizes: Vec<(usize, usize)> = pages.iter().map(|page| (page.page, page.cells())).collect();
    sizes.extend(places.key.clone().map(|page| (page, 0)));
    let room = gate::room(&file, &sizes, options.dpi)?;
    let shooting = Shooting { file, options };
    let figures = shooting.key(&places, composed)?;
    let total = pages.len() as u64;
    let done = std::sync::atomic::AtomicU64::new(0);
    let taken = |page: &&ChartPage| {
        tell(progress, "proof", done.load(std::sync::atomic::Ordering::Relaxed), total)?;
        shooting.page(page, composed)
    };
    // What some pages teach serves all.
    let teachers = teaching(&pages, room.kept);
    let teachers: Vec<Taken> = in_turn(&teachers, room.rendered, taken)?;
    let mut signs = Signs::new(&figures);
    let doubt = |page: &Taken| page.cells.read(&signs).iter().any(|read| read.margin < DOUBT);
    if teachers.par_iter().any(doubt) {
        let cells: Vec<&Cells> = teachers.iter().map(|page| &page.cells).collect();
        signs = Signs::learnt(&figures, &cells);
    }
    let compared = |page: &&ChartPage| {
        let read = match teachers.iter().find(|taken| taken.place == **page) {
            Some(taken) => taken.compared(&composed.chart, &signs),
            None => taken(page)?.compared(&composed.chart, &signs),
        };
        done.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        Ok(read)
    };
    let read: Vec<PageProof> = in_turn(&pages, room.rendered, compared)?;
    Ok(Proof::of(read, places.chart.len(), options))
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

/// The file, and how its pages are taken.
struct Shooting {
    file: Arc<Pdf>,
    options: ProofOptions,
}

impl Shooting {
    /// A page as it is to be read. Its number is the seed of its faults.
    fn take(&self, page: usize) -> Result<GrayImage, ProofError> {
        let clean = gate::rendered(&self.file, page, self.options.dpi)?;
        Ok(spoil(clean, self.options.spoil, self.options.dpi, page as u64))
    }

    /// The figures of all needles, from the key.
    fn key(&self, places: &Places, composed: &Composed) -> Result<Vec<Fine>, ProofError> {
        let needles = composed.chart.needles().len();
        let failed = || ProofError::Key { needles };
        let pages: Vec<GrayImage> =
            places.key.clone().map(|page| self.take(page)).collect::<Result<_, _>>()?;
        let per_mm = self.options.dpi / 25.4;
        // The page tells its paper; whether its text is large shows in the boxes.
        let points = self.file.pages().get(places.key.start).ok_or_else(failed)?.render_dimensions();
        let [width, height] = [points.0, points.1].map(|points| {
            // To a tenth of a millimetre, as papers are given.
            let mm = (f64::from(points) * 254.0 / 72.0).round() / 10.0;
            Millimetres::new(mm)
        });
        let (Ok(width), Ok(height)) = (width, height) else { return Err(failed()) };
        let read = |print: Print| {
            let options =
                SheetOptions { paper: Paper::Custom { width, height }, print, ..SheetOptions::default() };
            let areas = sheet::symbol_areas(&composed.chart, &composed.lines, &options);
            let mut figures = Vec::new();
            let mut clear = f64::MAX;
            for (index, page) in pages.iter().enumerate() {
                let areas: Vec<_> =
                    areas.iter().filter(|(at, _)| *at == index).map(|(_, area)| *area).collect();
                let (found, faintest) = figures::on_page(page, Levels::of(page).paper, &areas, per_mm)?;
                figures.extend(found);
                clear = clear.min(faintest);
            }
            (figures.len() == needles).then_some((figures, clear))
        };
        let best = [Print::Usual, Print::Large].into_iter().filter_map(read);
        let (boxes, _) = best.max_by(|one, other| one.1.total_cmp(&other.1)).ok_or_else(failed)?;
        Ok(figures::levelled(boxes))
    }

    fn page(&self, place: &ChartPage, composed: &Composed) -> Result<Taken, ProofError> {
        let picture = self.take(place.page)?;
        let page = place.page + 1;
        let lattice = lattice::find(&picture).map_err(|reason| ProofError::Grid { page, reason })?;
        let size = composed.chart.size();
        let columns = sheet::with_repeats(&place.columns, size.columns());
        let rows = sheet::with_repeats(&place.rows, size.rows());
        let (found, wanted) = ([lattice.columns, lattice.rows], [columns.len() as u32, rows.len() as u32]);
        if found != wanted {
            return Err(ProofError::OtherGrid { page, found, wanted });
        }
        let is_ten = |line: u32, total: u32| line.is_multiple_of(10) || line == total;
        if !is_ten(columns.start + lattice.bold[0], size.columns())
            || !is_ten(rows.start + lattice.bold[1], size.rows())
        {
            return Err(ProofError::Grid { page, reason: "its bold rules are not on the tens" });
        }
        let first = [columns.start, rows.start];
        let mut lines = drawn(composed, first);
        lines.extend(centre(size, first, lattice.side() * 25.4 / self.options.dpi));
        let masks = masks(found, &lines);
        let cells = Cells::new(&picture, &lattice, masks, |[column, row]| {
            place.is_repeated(first[0] + column, first[1] + row)
        });
        Ok(Taken { place: place.clone(), lattice, first, cells })
    }
}

/// A chart page taken and cut into cells.
struct Taken {
    place: ChartPage,
    lattice: Lattice,
    /// The column and row of the worked chart at the lattice's top left.
    first: [u32; 2],
    cells: Cells,
}

impl Taken {
    /// Its cells as read by these signs, against the chart's.
    fn compared(&self, chart: &Chart, signs: &Signs) -> PageProof {
        let Self { place, lattice, first, cells } = self;
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
        };
        for (index, Read { best, second, margin }) in cells.read(signs).into_iter().enumerate() {
            let index = index as u32;
            let (column, row) = (first[0] + index % lattice.columns, first[1] + index / lattice.columns);
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

fn cell(chart: &Chart, column: u32, row: u32) -> Option<usize> {
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
    let upright = columns.is_multiple_of(2).then_some(Drawn { from: [x, 0.0], to: [x, bottom], half });
    let level = rows.is_multiple_of(2).then_some(Drawn { from: [0.0, y], to: [right, y], half });
    upright.into_iter().chain(level).collect()
}

/// Lines as drawn on a page that begins at `first`, with their white casing.
fn drawn(composed: &Composed, first: [u32; 2]) -> Vec<Drawn> {
    let mut strokes = Vec::new();
    for line in &composed.lines {
        let half = sheet::half_width(line.pattern);
        let mut points = line.drawn(0.0);
        if line.closed {
            points.extend(points.first().copied());
        }
        let place = |[x, y]: [f64; 2]| [x - f64::from(first[0]), y - f64::from(first[1])];
        strokes.extend(points.windows(2).map(|pair| Drawn {
            from: place(pair[0]),
            to: place(pair[1]),
            half,
        }));
    }
    strokes
}

impl Proof {
    fn of(read: Vec<PageProof>, of_pages: usize, options: ProofOptions) -> Self {
        let sum = |part: fn(&PageProof) -> Count| {
            read.iter().map(part).fold(Count::default(), |all, page| Count {
                cells: all.cells + page.cells,
                right: all.right + page.right,
            })
        };
        let mut pairs: BTreeMap<[Option<usize>; 2], f64> = BTreeMap::new();
        for (pair, margin) in read.iter().flat_map(|page| &page.pairs) {
            let least = pairs.entry(*pair).or_insert(f64::MAX);
            *least = least.min(*margin);
        }
        let mut nearest: Vec<Pair> =
            pairs.into_iter().map(|([read, second], margin)| Pair { read, second, margin }).collect();
        nearest.sort_by(|one, other| one.margin.total_cmp(&other.margin));
        Self {
            own: sum(|page| page.own),
            repeated: sum(|page| page.repeated),
            pages: read.len(),
            of_pages,
            misread: read.iter().flat_map(|page| page.misread.iter().copied()).collect(),
            nearest,
            options,
            read,
        }
    }

    /// The least margin of any cell that was read right, 0 to 1; `None` where none was.
    #[must_use]
    pub fn margin(&self) -> Option<f64> {
        self.nearest.first().map(|pair| pair.margin)
    }

    /// The pages that were read: their number in the file from 1, the column and row of the worked chart at the
    /// top left of the grid from 1, and how many columns and rows the grid has, repeats counted.
    pub fn places(&self) -> impl Iterator<Item = (usize, [u32; 2], [u32; 2])> {
        self.read.iter().map(|page| {
            let Lattice { columns, rows, .. } = page.lattice;
            (page.page, page.first.map(|at| at + 1), [columns, rows])
        })
    }

    /// The page with most wrong cells (the first, where there are none), as it was read, wrong cells framed in
    /// red. `pdf` is the file that was proof-read.
    ///
    /// # Errors
    /// [`ProofError::NotPdf`] where `pdf` is another file that cannot be rendered.
    pub fn picture(&self, pdf: &[u8]) -> Result<RgbImage, ProofError> {
        let (_, file) = gate::open(pdf)?;
        let page = self.read.iter().rev().max_by_key(|page| page.misread.len()).ok_or(ProofError::NotOurs)?;
        let clean = gate::rendered(&file, page.page - 1, self.options.dpi)?;
        let grey = spoil(clean, self.options.spoil, self.options.dpi, page.seed);
        let mut picture = image::DynamicImage::ImageLuma8(grey).to_rgb8();
        for misread in &page.misread {
            let (column, row) =
                (f64::from(misread.column - 1 - page.first[0]), f64::from(misread.row - 1 - page.first[1]));
            for grow in [0.0, 0.06, 0.12] {
                let corner = |x: f64, y: f64| {
                    let [x, y] = page.lattice.at(column + x, row + y);
                    (x as f32, y as f32)
                };
                let (low, high) = (-grow, 1.0 + grow);
                let corners = [corner(low, low), corner(high, low), corner(high, high), corner(low, high)];
                for (index, from) in corners.iter().enumerate() {
                    draw_line_segment_mut(&mut picture, *from, corners[(index + 1) % 4], Rgb([220, 0, 0]));
                }
            }
        }
        Ok(picture)
    }
}
