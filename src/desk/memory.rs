//! How much memory each operation takes at the most, reckoned before it begins: the only place that knows.
//!
//! Charts are reckoned when they are made ([`Job`]), with their marks when these are worked ([`Files::worked`]), and
//! then for what the operation does with them. Photos are held to the limit by `photo`, texts by `files`.
//!
//! Each figure is what the stage was seen to hold on the worst pictures we know (every pixel another colour at
//! random), with a fifth or so on top; the bench `size` shows what usual ones take, which is a third of it or less.
//! `tests/hard/memory.rs` lets jobs have no more than what is reckoned here.

use super::files::Files;
use super::{Error, Heavy};
use crate::chart::marks::Composed;
use crate::chart::{Chart, PlacedMark};
use crate::ground::units::GridSize;
use crate::making::frame::{self, Protected};
use crate::making::make::{self, MakeOptions};
use crate::making::photo::Photo;
use crate::making::reduce::Colours;
use crate::printing::length::{Length, mm};
use crate::printing::sheet::{CELL_LIMITS, Paper};
use crate::printing::{self, picture};
use crate::thread::shades::ShadeCard;

/// The program, its tables, and bands of the picture in linear light.
const PROGRAM: u64 = 100 << 20;

/// Colours that cells are labelled by at the most (`reduce::survey::MOST_FINE`), and bytes that each takes beside its
/// differences.
const FINE: [u64; 2] = [200_000, 120];

/// Cubes of CIELAB of side 4 that sRGB lies in (counted over its 8-bit colours), by which threads are compared and
/// patches are taken together; the tables of differences to them, of which three were seen.
const COARSE: [u64; 2] = [16_000, 4];

/// Bytes a cell while threads are chosen: its colour, twice its labels and prices, its patch. 76 were seen.
const CHOOSING: u64 = 130;

/// Bytes a cell while pages are inked, the laid-out pages included. 390 were seen.
const INKING: u64 = 480;

/// Bytes a cell of the laid-out pages and the finished file, while pages are read back and pictures are drawn.
const LAID_OUT: u64 = 200;

/// Bytes a pixel and a cell of a page that is read back.
const READING: [u64; 2] = [6, 900];

/// Pages that are read back together, at 150 dots an inch.
const PAGES: u64 = 2;

/// Bytes a cell of a chart that is read and worked: its text, the cells, and those with marks laid over.
const WORKING: u64 = 40;

/// Bytes a cell of what a mark is about, all marks at once, and of the one that is being looked at.
const REGION: u64 = 2;

/// Bytes a cell while thread is planned.
const PLANNING: u64 = 80;

/// Bytes a cell of a chart that is kept while others are planned.
const KEPT: u64 = 16;

/// Bytes a cell while working orders are planned and laid out.
const ORDERING: u64 = 200;

/// Bytes a point of a line while pages are inked.
const POINT: u64 = 160;

/// Bytes of the part of a sketch that is drawn larger, and made smaller.
const SKETCHING: u64 = 220 << 20;

/// Bytes of a small picture of a piece on a count of cloth, and of its part of the sheet.
const PIECE: u64 = 4 << 20;

/// Bytes of a chart of this size with its marks worked.
fn working(size: GridSize) -> u64 {
    PROGRAM + WORKING * size.cells() as u64
}

/// Bytes of pages and pictures of a worked chart.
pub(super) fn pages(composed: &Composed, paper: Paper) -> u64 {
    let size = composed.chart.size();
    let points: usize = composed.lines.iter().map(|line| line.points.len()).sum();
    POINT * points as u64 + Job { pixels: 0, size, shades: 0, colours: 0, paper }.printing()
}

/// Bytes of a picture of a chart with its marks.
pub(super) fn sketch(size: GridSize, side: u32) -> u64 {
    let side = u64::from(picture::sketched_side(size, side));
    // The picture, and its file, which packs noise by nothing.
    working(size) + SKETCHING + 2 * 3 * size.cells() as u64 * side * side
}

/// Bytes of a chart held against so many counts of cloth.
pub(super) fn cloths(size: GridSize, counts: usize) -> u64 {
    working(size) + PLANNING * size.cells() as u64 + PIECE * counts as u64
}

/// Bytes of a chart whose thread is planned, after others.
pub(super) fn planned(size: GridSize, others: &[GridSize]) -> u64 {
    let kept: u64 = others.iter().map(|size| KEPT * size.cells() as u64).sum();
    kept + PROGRAM + (WORKING + PLANNING) * size.cells() as u64
}

/// Bytes of a chart whose working orders are planned.
pub(super) fn ordered(size: GridSize) -> u64 {
    PROGRAM + ORDERING * size.cells() as u64
}

/// Bytes of a page that is read back at so many dots an inch, beside the chart.
pub(super) fn page_read(size: GridSize, dpi: f64) -> u64 {
    let [pixel, cell] = READING;
    #[allow(clippy::cast_sign_loss, reason = "it was checked")]
    let finer = (dpi / 150.0).max(0.1).powi(2);
    let page = PAPER_PIXELS as f64 * finer;
    working(size) + pixel * page as u64 + cell * (size.cells() as u64).min(PAGE_CELLS)
}

/// Pixels of a page on the usual paper at 150 dots an inch, and the cells of a full one.
const PAPER_PIXELS: u64 = 2_200_000;
const PAGE_CELLS: u64 = 20_000;

impl Files<'_> {
    /// A chart with its marks worked in, where that takes no more than it may.
    pub(super) fn worked(&self, chart: &Chart) -> Result<Composed, Error> {
        let size = chart.size();
        let cells = |mark: &PlacedMark| match (mark.motif(), mark.cells()) {
            (None, _) => 0,
            // What does not fit is told of when it is worked.
            (Some(_), Some(mask)) => mask.window(size).unwrap_or_default(),
            (Some(_), None) => size.cells() as u64,
        };
        let regions: u64 = chart.marks.iter().map(cells).sum();
        self.may_take(Heavy::Marked(size), working(size) + REGION * regions)?;
        Ok(printing::worked_while(chart, self.progress)?)
    }
}

/// The most bytes that the picture of the finished piece may take beside pages that are made.
const EARLY: u64 = 64 << 20;

/// What is known of a job before it begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Job {
    /// The pixels that are held: those of the picture, and of masks.
    pub pixels: u64,
    /// The size of the chart.
    pub size: GridSize,
    /// Threads on the card.
    pub shades: usize,
    /// Threads that are asked for.
    pub colours: usize,
    /// The paper of its pages.
    pub paper: Paper,
}

impl Job {
    /// Bytes from the picture to the chart.
    #[must_use]
    pub fn choosing(&self) -> u64 {
        let cells = self.size.cells() as u64;
        let (fine, coarse) = (FINE[0].min(cells), COARSE[0].min(cells));
        let (shades, colours) = (self.shades as u64, self.colours as u64);
        // Differences in single precision; twice those of the chosen threads, as a new choice is held beside the one
        // before.
        let differences = 4 * ((shades + colours) * COARSE[1] * coarse + 2 * (colours + 1) * fine);
        PROGRAM + 4 * self.pixels + CHOOSING * cells + FINE[1] * fine + differences
    }

    /// Bytes from the chart to all that is written.
    #[must_use]
    pub fn printing(&self) -> u64 {
        let cells = self.size.cells() as u64;
        #[allow(clippy::cast_sign_loss, reason = "papers have sides")]
        let on_paper =
            |each: Length| self.paper.size().map(|side| (side / each).ceil() as u64).iter().product::<u64>();
        let [pixel, cell] = READING;
        let page = pixel * on_paper(mm(25.4 / 150.0)) + cell * on_paper(*CELL_LIMITS.start()).min(cells);
        let picture = self.picture();
        if self.draws_early() {
            return PROGRAM + picture + (INKING * cells).max(LAID_OUT * cells + PAGES * page);
        }
        PROGRAM + (INKING * cells).max(LAID_OUT * cells + (PAGES * page).max(picture))
    }

    /// Bytes that the picture of the finished piece takes, and its file, which packs noise by nothing.
    fn picture(&self) -> u64 {
        let side = u64::from(picture::side_of(self.size));
        2 * 3 * self.size.cells() as u64 * side * side
    }

    /// Whether that picture is drawn while pages are made: where it takes little, which is for most charts.
    pub(super) fn draws_early(&self) -> bool {
        self.picture() <= EARLY
    }

    /// Bytes at the most.
    #[must_use]
    pub fn needed(&self) -> u64 {
        self.choosing().max(self.printing())
    }
}

/// What is known of a job once its picture is read.
pub(super) fn job(
    photo: &Photo,
    card: &ShadeCard,
    options: &MakeOptions,
    paper: Paper,
) -> Result<Job, Error> {
    let masks = options.frame.detail.iter().map(|detail| match detail {
        Protected::Mask(mask) => u64::from(mask.width()) * u64::from(mask.height()),
        Protected::Part(_) | Protected::Cells(_) => 0,
    });
    let (width, height) = photo.pixels().dimensions();
    let colours = match options.reduce.colours {
        Colours::Exactly(count) => count.into(),
        Colours::Auto => make::MAX_COLOURS,
    };
    Ok(Job {
        pixels: u64::from(width) * u64::from(height) + masks.sum::<u64>(),
        size: frame::size_of(photo, &options.frame)?,
        shades: card.shades().len().max(options.blends.map_or(0, |_| colours + make::MOST_MIXED)),
        colours: colours + options.blends.map_or(0, |_| options.mixes.into()),
        paper,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn job(side: u32) -> Job {
        let size = GridSize::new(side, side).unwrap();
        Job { pixels: 12_000_000, size, shades: 450, colours: 200, paper: Paper::A4 }
    }

    #[test]
    fn the_largest_chart_of_a_usual_photo_and_card_is_within_two_gibibytes() {
        assert!(job(2000).needed() < 2 << 30, "{} MiB", job(2000).needed() >> 20);
        assert!(job(140).needed() < 512 << 20, "{} MiB", job(140).needed() >> 20);
    }

    #[test]
    fn more_of_anything_never_takes_less() {
        for side in [4, 100, 600, 2000] {
            let less = job(side);
            let more = [
                Job { pixels: less.pixels * 2, ..less },
                Job { shades: 10_000, ..less },
                Job { colours: 255, ..less },
                Job { size: GridSize::new(side, 2000).unwrap(), ..less },
                Job { paper: Paper::A3, ..less },
            ];
            for more in more {
                assert!(more.choosing() >= less.choosing() && more.printing() >= less.printing(), "{more:?}");
            }
        }
        // The largest card alone is more than the default allows, at any great size.
        assert!(Job { shades: 10_000, ..job(2000) }.needed() > 2 << 30);
    }
}
