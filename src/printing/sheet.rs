//! A chart laid out on paper as plain shapes.
//!
//! Owns the design of the pages: cover, key, page map and chart pages. Knows no file format: `ink` turns the
//! shapes into one. Places are lengths from the top left of the page, y downwards.

pub mod bobbins;
mod cover;
mod coverage;
mod fit;
mod grid;
mod key;
mod lines;
pub mod lists;
mod map;
mod measures;
pub mod order;
mod pagination;
mod paper;
mod shapes;
mod stamp;
mod strip;
mod symbol_list;
mod tablet;
mod tint;
mod uses;

use image::RgbImage;
use serde::{Deserialize, Serialize};

use crate::chart::{Chart, WorkedLine};
use crate::ground::advice::Advice;
use crate::ground::colour::Srgb8;
use crate::ground::units::Millimetres;
use crate::planning;
use crate::printing::length::{Length, mm, text_points};
use crate::printing::symbols::{self, AlikePair, SymbolId};
use crate::printing::typeface;

pub use fit::CELL_LIMITS;
pub use fit::MAX_PAGES;
pub(crate) use key::symbol_areas;
pub(crate) use lines::{asides, half_width};
pub(crate) use pagination::with_repeats;
pub use paper::{Paper, PaperError, Screen, ScreenError};
pub use shapes::{
    Align, Area, Block, Bookmark, CORNER, Layer, Link, Page, Shape, Stroke, SymbolRun, TintedCells,
};
pub use symbol_list::symbol_list;
use tint::Tinting;
pub use tint::{GREY_STEPS, tint};

/// Whether the page may use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ink {
    /// Pale tints of the threads under black symbols.
    #[default]
    Colour,
    /// A few greys, the darker the thread.
    Grey,
}

/// How large cells and text are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Print {
    /// For reading at the table.
    #[default]
    Usual,
    /// For eyes that want it larger: text of 16 points (UKAAF G003, clear and large print) and cells of
    /// 4.5 mm at least.
    Large,
}

impl Print {
    /// The size of a text that is usually of so many points.
    fn text(self, points: f64) -> Length {
        text_points(match self {
            Self::Usual => points,
            Self::Large => points.max(16.0),
        })
    }
}

/// What fills the cells of the chart pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Show {
    /// Symbols on pale tints.
    #[default]
    Both,
    /// Symbols on white paper.
    Symbols,
    /// The threads' own colours without symbols: for a look beside the other pages, not to be read alone.
    Colours,
}

/// What the person asked of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetOptions {
    /// The paper.
    pub paper: Paper,
    /// Colour or grey.
    pub ink: Ink,
    /// The side of a cell, where it is asked for; else as large as the paper allows, near 3 mm.
    pub cell: Option<Millimetres>,
    /// Usual or large.
    pub print: Print,
    /// Symbols, colours or both.
    pub show: Show,
    /// One long page for this screen, instead of paper.
    pub tablet: Option<Screen>,
    /// The day to print on the cover, as it is to be read.
    pub date: String,
}

impl Default for SheetOptions {
    fn default() -> Self {
        Self {
            paper: Paper::A4,
            ink: Ink::Colour,
            cell: None,
            print: Print::Usual,
            show: Show::Both,
            tablet: None,
            date: String::new(),
        }
    }
}

/// A laid-out chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The title.
    pub title: String,
    /// The pages.
    pub pages: Vec<Page>,
    /// The pictures that pages show.
    pub pictures: Vec<RgbImage>,
    /// The table of contents.
    pub bookmarks: Vec<Bookmark>,
    /// What the person should know.
    pub warnings: Vec<SheetWarning>,
    /// The side of a cell.
    pub cell: Length,
    /// How many of the pages show cells.
    pub chart_pages: usize,
    /// What the chart takes of each thread, as the key says; nothing for sheets that show no chart.
    pub thread_uses: Vec<planning::ThreadUse>,
    /// Threads that look alike to some eyes and not to most.
    pub alike: Vec<AlikePair>,
}

/// Something about the page that the person should know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum SheetWarning {
    /// Characters that no face has, shown as boxes.
    Missing {
        /// Which.
        characters: Vec<char>,
    },
    /// Cells under 2 mm, hard to read without a lens.
    SmallCells {
        /// The side, in tenths of a millimetre.
        tenths_mm: u32,
    },
    /// A page that takes more than a quarter of its area in ink.
    MuchInk {
        /// The ink of the fullest page, in hundredths of the page.
        percent: u32,
    },
    /// Threads that some eyes cannot tell apart by colour.
    Alike {
        /// How many pairs.
        pairs: usize,
        /// The codes of the pair that is most alike.
        first: [String; 2],
    },
}

/// A chart that cannot be laid out as asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// A cell size outside the limits.
    #[error("cells of {side} are outside 1.5 to 10 mm")]
    Cell {
        /// The side asked for.
        side: Length,
    },
    /// The threads' colours on a page without colour.
    #[error("colours alone cannot be printed in grey")]
    ColoursInGrey,
    /// Too little room on the paper.
    #[error("the paper is too small for cells of {cell} and a key of {needles} threads")]
    NoRoom {
        /// The side of a cell.
        cell: Length,
        /// The number of needles.
        needles: usize,
    },
    /// Too many pages.
    #[error("the chart would take {pages} pages; at most {limit} are printed")]
    TooManyPages {
        /// How many.
        pages: usize,
        /// The limit.
        limit: usize,
    },
}

impl SheetError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::ColoursInGrey => Advice::SymbolsInGrey,
            Self::Cell { .. } => Advice::UsualCell,
            Self::NoRoom { .. } | Self::TooManyPages { .. } => Advice::LargerPaper,
        }
    }
}

/// What each kind of page needs to know.
struct Layout<'a> {
    chart: &'a Chart,
    lines: &'a [WorkedLine],
    options: &'a SheetOptions,
    symbols: Vec<SymbolId>,
    alike: &'a [AlikePair],
    uses: Vec<u64>,
    /// Whole skeins of all threads together.
    skeins: u64,
    title: String,
    plan: pagination::Plan,
    cell: Length,
    tinting: Tinting,
    /// The page on which the chart pages begin, from 0.
    first_chart_page: usize,
    pages: usize,
}

impl Layout<'_> {
    /// The number of a page as printed, from the place of its part in the plan.
    fn page_of(&self, across: usize, down: usize) -> usize {
        self.first_chart_page + down * self.plan.columns.len() + across
    }

    fn tint_of(&self, needle: usize) -> Option<Srgb8> {
        self.chart.needles().get(needle).and_then(|needle| self.tinting.of(needle.colour()))
    }

    /// A box that shows a needle as its cells look on the page.
    fn show_needle(&self, page: &mut Page, area: Area, needle: usize, frame: Stroke) {
        if let Some(colour) = self.tint_of(needle) {
            page.add(Shape::Fill { area, colour });
        }
        if self.options.show != Show::Colours {
            page.symbol(area, self.symbols[needle], self.chart.needles()[needle].stitch);
        }
        page.add(Shape::Frame { area, stroke: frame });
    }
}

/// Lays a chart out, with lines of backstitch on its holes. `preview` is the picture for the cover.
///
/// # Errors
/// [`SheetError`] when the paper, the cells and the chart do not fit together.
pub fn lay_out(
    chart: &Chart,
    lines: &[WorkedLine],
    preview: RgbImage,
    options: &SheetOptions,
) -> Result<Sheet, SheetError> {
    if options.show == Show::Colours && options.ink == Ink::Grey {
        return Err(SheetError::ColoursInGrey);
    }
    let alike = symbols::alike(chart);
    let thread_uses = planning::thread_uses(chart, lines);
    let symbols: Vec<SymbolId> = chart.needles().iter().map(|needle| SymbolId::of(&needle.symbol)).collect();
    let (title, missing) = shown_texts(chart, lines);
    let mut layout = Layout {
        chart,
        lines,
        options,
        symbols,
        alike: &alike,
        uses: chart.stitches(),
        skeins: thread_uses.iter().map(planning::ThreadUse::skeins).sum(),
        title,
        plan: pagination::Plan::whole(chart.size()),
        cell: Length::ZERO,
        tinting: Tinting::full(options.ink),
        first_chart_page: 0,
        pages: 1,
    };
    let (pages, bookmarks) = match options.tablet {
        Some(screen) => {
            layout.tinting = tinting(&layout);
            tablet::pages(&mut layout, &thread_uses, screen)?
        }
        None => paper_pages(&mut layout, &thread_uses, &preview)?,
    };
    let pictures = match options.tablet {
        Some(_) => vec![preview],
        None => vec![preview, map::picture(chart)],
    };
    let mut sheet = Sheet {
        bookmarks,
        title: layout.title.clone(),
        pictures,
        chart_pages: layout.plan.pages(),
        pages,
        warnings: Vec::new(),
        cell: layout.cell,
        thread_uses,
        alike: Vec::new(),
    };
    sheet.warnings = warnings(&sheet, options, missing, &alike);
    sheet.alike = alike;
    Ok(sheet)
}

/// The title as it can be shown, and the characters of all texts that cannot.
fn shown_texts(chart: &Chart, lines: &[WorkedLine]) -> (String, Vec<char>) {
    let (title, mut missing) = typeface::showable(&chart.title);
    for text in chart.needles().iter().flat_map(|needle| [needle.code(), needle.name()]) {
        missing.extend(typeface::showable(&text).1);
    }
    missing.extend(lines::kinds(lines).iter().flat_map(|kind| typeface::showable(&kind.text()).1));
    missing.sort_unstable();
    missing.dedup();
    (title, missing)
}

/// Cover, key, page map and chart pages, and the table of contents.
fn paper_pages(
    layout: &mut Layout,
    uses: &[planning::ThreadUse],
    preview: &RgbImage,
) -> Result<(Vec<Page>, Vec<Bookmark>), SheetError> {
    let (chart, options) = (layout.chart, layout.options);
    let (plan, cell) = fit::plan(chart, layout.lines, options)?;
    let key = key::Key::new(chart, layout.lines, layout.alike, options);
    let has_map = plan.pages() > 1;
    layout.first_chart_page = 1 + key.page_count() + usize::from(has_map);
    layout.pages = layout.first_chart_page + plan.pages();
    layout.plan = plan;
    layout.cell = cell;
    layout.tinting = tinting(layout);
    let mut pages = vec![cover::page(layout, preview)];
    pages.extend(key.pages(layout, uses));
    if has_map {
        pages.push(map::page(layout));
    }
    pages.extend(grid::pages(layout));
    Ok((pages, bookmarks(layout, has_map)))
}

/// How cells are filled. On paper tints grow paler where a page would take too much ink.
fn tinting(layout: &Layout) -> Tinting {
    let options = layout.options;
    match options.show {
        Show::Symbols => Tinting::None,
        Show::Colours => Tinting::Thread,
        Show::Both if options.tablet.is_some() => Tinting::full(options.ink),
        Show::Both => Tinting::within_ink(options.ink, &coverage::expected(layout)),
    }
}

fn warnings(
    sheet: &Sheet,
    options: &SheetOptions,
    missing: Vec<char>,
    alike: &[AlikePair],
) -> Vec<SheetWarning> {
    let mut warnings = Vec::new();
    if !missing.is_empty() {
        warnings.push(SheetWarning::Missing { characters: missing });
    }
    #[allow(clippy::cast_sign_loss, reason = "a cell is wider than nothing, and ink is no less than none")]
    if options.tablet.is_none() {
        if sheet.cell < mm(2.0) {
            warnings.push(SheetWarning::SmallCells { tenths_mm: (sheet.cell.to_mm() * 10.0).round() as u32 });
        }
        let most = sheet.coverage().into_iter().fold(0.0, f64::max);
        if most > coverage::MOST {
            warnings.push(SheetWarning::MuchInk { percent: (most * 100.0).round() as u32 });
        }
    }
    let nearest = |pair: &&AlikePair| pair.to.iter().map(|(_, apart)| *apart).fold(f64::MAX, f64::min);
    if let Some(first) = alike.iter().min_by(|a, b| nearest(a).total_cmp(&nearest(b))) {
        warnings.push(SheetWarning::Alike { pairs: alike.len(), first: first.codes.clone() });
    }
    warnings
}

fn bookmarks(layout: &Layout, has_map: bool) -> Vec<Bookmark> {
    let leaf =
        |title: &str, page| Bookmark { title: title.to_owned(), page, part: None, children: Vec::new() };
    let mut bookmarks = vec![leaf("Cover", 0), leaf("Key", 1)];
    if has_map {
        bookmarks.push(leaf("Page map", layout.first_chart_page - 1));
    }
    for (down, rows) in layout.plan.rows.iter().enumerate() {
        let children = layout.plan.columns.iter().enumerate().map(|(across, columns)| {
            let page = layout.page_of(across, down);
            let title = format!("Page {}: columns {} to {}", page + 1, columns.start + 1, columns.end);
            leaf(&title, page)
        });
        bookmarks.push(Bookmark {
            title: format!("Rows {} to {}", rows.start + 1, rows.end),
            page: layout.page_of(0, down),
            part: None,
            children: children.collect(),
        });
    }
    bookmarks
}

/// A whole number with a comma between thousands.
#[must_use]
pub fn thousands(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests;
