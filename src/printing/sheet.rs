//! A chart laid out on paper as plain shapes.
//!
//! Owns the design of the pages: cover, key, page map and chart pages. Knows no file format: `ink` turns the
//! shapes into one. Places are lengths from the top left of the page, y downwards.

pub mod bobbins;
pub mod boxes;
mod cover;
mod coverage;
mod error;
mod fit;
mod grid;
mod inked;
mod key;
mod layout;
mod lines;
pub mod lists;
mod map;
mod measures;
mod options;
pub mod order;
mod pagination;
mod paper;
mod shapes;
mod stamp;
mod strip;
mod symbol_list;
mod tablet;
mod tint;
mod trial;
mod uses;
mod ways;

use image::{DynamicImage, RgbImage};
use rayon::prelude::*;

use crate::chart::{Chart, WorkedLine};
use crate::ground::plain::lettered;
use crate::ground::progress::{Progress, Stage, ask, tell};
use crate::planning;
use crate::printing::length::{Length, mm};
use crate::printing::symbols::{self, AlikePair, SymbolId};
use crate::printing::typeface;

pub use crate::ground::units::thousands;
pub use error::{SheetError, SheetWarning};
pub use fit::CELL_LIMITS;
pub use fit::MAX_PAGES;
pub(crate) use key::symbol_areas;
use layout::Layout;
pub(crate) use lines::{asides, crossed_by, half_width};
pub use options::{Ink, Print, SheetOptions, Show};
pub(crate) use pagination::with_repeats;
pub use paper::{Paper, PaperError, Screen, ScreenError};
pub use shapes::{
    Align, Area, Block, Bookmark, CORNER, CORNER_EDGE, EDGE, Ground, Layer, Link, MarkedCorner, Page, Said,
    Shape, Shows, Stroke, SymbolRun, TintedCells,
};
pub use symbol_list::symbol_list;
use tint::Tinting;
pub use tint::{GREY_STEPS, tint};
pub(crate) use trial::{Look, trial};
use ways::Drawn;

/// A set of pages.
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
}

impl Sheet {
    /// Pages without pictures, and the title as the one entry of their table of contents.
    fn list(title: &str, pages: Vec<Page>) -> Self {
        let entry = Bookmark { title: title.to_owned(), page: 0, part: None, children: Vec::new() };
        Self { title: title.to_owned(), pages, pictures: Vec::new(), bookmarks: vec![entry] }
    }
}

/// A laid-out chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartSheet {
    /// Its pages.
    pub sheet: Sheet,
    /// What the person should know.
    pub warnings: Vec<SheetWarning>,
    /// The side of a cell.
    pub cell: Length,
    /// How many of the pages, the last ones, show cells.
    pub chart_pages: usize,
    /// What the chart takes of each thread, as the key says.
    pub thread_uses: Vec<planning::ThreadUse>,
    /// Threads that look alike to some eyes and not to most.
    pub alike: Vec<AlikePair>,
    /// The ink of each page, before marks are put into its corner: as [`Sheet::coverage`] gives it.
    pub coverage: Vec<f64>,
}

/// Steps told to [`Progress`]: lengths, tints, key and map, chart pages.
const STEPS: u64 = 4;

/// Lays a chart out, with lines of backstitch on its holes. `preview` is the picture for the cover.
///
/// # Errors
/// [`SheetError`] when the paper, the cells and the chart do not fit together, or `progress` wants to stop.
pub fn lay_out(
    chart: &Chart,
    lines: &[WorkedLine],
    preview: RgbImage,
    options: &SheetOptions,
    progress: &dyn Progress,
) -> Result<ChartSheet, SheetError> {
    if options.show == Show::Colours && options.ink == Ink::Grey {
        return Err(SheetError::ColoursInGrey);
    }
    let preview = options.ink.picture(preview);
    let alike = symbols::alike(chart);
    let thread_uses = planning::thread_uses(chart, lines, progress)?;
    tell(progress, Stage::LayingOut, 0, STEPS)?;
    let symbols: Vec<SymbolId> = chart.needles().iter().map(|needle| SymbolId::of(&needle.symbol)).collect();
    let (title, missing) = shown_texts(chart, lines);
    let mut layout = Layout {
        chart,
        lines,
        drawn: lines.par_iter().map(|line| Drawn::of(line, asides(line.pattern))).collect(),
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
        None => paper_pages(&mut layout, &thread_uses, &preview, progress)?,
    };
    tell(progress, Stage::LayingOut, 4, STEPS)?;
    let mut pictures = match options.tablet {
        Some(_) => vec![preview],
        None => vec![preview, options.ink.picture(map::picture(chart))],
    };
    if options.ink == Ink::Grey {
        let grey = |one: RgbImage| DynamicImage::from(DynamicImage::from(one).to_luma8()).to_rgb8();
        pictures = pictures.into_iter().map(grey).collect();
    }
    ask(progress)?;
    let (cell, chart_pages) = (layout.cell, layout.plan.pages());
    let sheet = Sheet { title: lettered(&chart.title), pages, pictures, bookmarks };
    let coverage = sheet.coverage();
    let warnings = warnings(&coverage, cell, options, missing, &alike);
    Ok(ChartSheet { sheet, warnings, cell, chart_pages, thread_uses, alike, coverage })
}

/// The title as it can be shown, and the characters of all texts that cannot.
fn shown_texts(chart: &Chart, lines: &[WorkedLine]) -> (String, Vec<char>) {
    let (title, mut missing) = typeface::showable(&read_title(chart));
    for text in chart.needles().iter().flat_map(|needle| [needle.code(), needle.name()]) {
        missing.extend(typeface::showable(&text).1);
    }
    missing.extend(lines::kinds(lines).iter().flat_map(|kind| typeface::showable(&kind.text()).1));
    missing.sort_unstable();
    missing.dedup();
    (title, missing)
}

/// The title, or, where that is only what the file of the picture is called, its words: `rock-pool` is Rock pool.
fn read_title(chart: &Chart) -> String {
    let is_stem = chart.made.as_ref().is_some_and(|made| {
        made.photo.rsplit_once('.').map_or(made.photo.as_str(), |(stem, _)| stem) == chart.title
    });
    if !is_stem {
        return chart.title.clone();
    }
    let words = chart.title.replace(['-', '_'], " ");
    let mut letters = words.split_whitespace().collect::<Vec<_>>().join(" ").chars().collect::<Vec<char>>();
    if let Some(first) = letters.first_mut().filter(|first| first.to_uppercase().count() == 1) {
        *first = first.to_uppercase().next().unwrap_or(*first);
    }
    let title: String = letters.into_iter().collect();
    if title.is_empty() { chart.title.clone() } else { title }
}

/// Cover, key, page map and chart pages, and the table of contents.
fn paper_pages(
    layout: &mut Layout,
    uses: &[planning::ThreadUse],
    preview: &RgbImage,
    progress: &dyn Progress,
) -> Result<(Vec<Page>, Vec<Bookmark>), SheetError> {
    let (chart, options) = (layout.chart, layout.options);
    let (plan, cell) = fit::plan(chart, layout.lines, options)?;
    let key = key::Key::new(chart, layout.lines, layout.alike, options);
    let has_map = plan.pages() > 1;
    layout.first_chart_page = 1 + key.page_count() + usize::from(has_map);
    layout.pages = layout.first_chart_page + plan.pages();
    layout.plan = plan;
    layout.cell = cell;
    tell(progress, Stage::LayingOut, 1, STEPS)?;
    layout.tinting = tinting(layout);
    tell(progress, Stage::LayingOut, 2, STEPS)?;
    let mut pages = vec![cover::page(layout, preview)];
    pages.extend(key.pages(layout, uses));
    if has_map {
        pages.push(map::page(layout));
    }
    tell(progress, Stage::LayingOut, 3, STEPS)?;
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
    coverage: &[f64],
    cell: Length,
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
        if cell < mm(2.0) {
            warnings.push(SheetWarning::SmallCells { tenths_mm: (cell.to_mm() * 10.0).round() as u32 });
        }
        let most = coverage.iter().copied().fold(0.0, f64::max);
        if most > inked::MOST {
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

#[cfg(test)]
mod tests;
