//! How much memory making a chart takes at the most, reckoned before it begins.
//!
//! Each figure is what the stage was seen to hold on the worst pictures we know (every pixel another colour at
//! random), with a fifth or so on top; the bench `size` shows what usual ones take, which is a third of it or less.
//! `tests/hard/memory.rs` lets jobs have no more than what is reckoned here.

use super::Error;
use crate::ground::units::GridSize;
use crate::making::frame::{self, Protected};
use crate::making::make::{self, MakeOptions};
use crate::making::photo::Photo;
use crate::making::reduce::Colours;
use crate::printing::length::{Length, mm};
use crate::printing::picture;
use crate::printing::sheet::{CELL_LIMITS, Paper};
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
        // Differences in single precision: of blends too, which are as many as threads at the most; twice those of
        // the chosen threads, as a new choice is held beside the one before.
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
        let side = u64::from(picture::side_of(self.size));
        // The picture, and its file, which packs noise by nothing.
        let picture = 2 * 3 * cells * side * side;
        PROGRAM + (INKING * cells).max(LAID_OUT * cells + (PAGES * page).max(picture))
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
    Ok(Job {
        pixels: u64::from(width) * u64::from(height) + masks.sum::<u64>(),
        size: frame::size_of(photo, &options.frame)?,
        shades: card.shades().len(),
        colours: match options.reduce.colours {
            Colours::Exactly(count) => count.into(),
            Colours::Auto => make::MAX_COLOURS,
        },
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
