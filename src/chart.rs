//! The chart: the document that everything else makes, changes, counts or prints.
//!
//! Owns cells, needles, cloth and how the chart was made, which chart it is (`identity`), and its saved form
//! (`document`). Imports no stage that makes or prints it.

mod document;
mod form;
mod identity;
pub(crate) mod limits;
mod line;
pub mod mark;
pub mod marks;
mod mask;
mod moved;
mod placed;
mod printed;
mod steps;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::ground::advice::Advice;
use crate::ground::colour::{LinearRgb, Srgb8};
use crate::ground::units::{GridSize, Millimetres};
use crate::thread::cloth::{Cloth, StitchKind};
use crate::thread::shades::{Shade, ShadeCard};
use crate::thread::skein::Skein;

pub use document::{DocumentError, Opened, OpeningNote, VERSION};
pub use identity::{ChartId, DigitsError, Fingerprint, Identity, Parent, Revision, Stamp, StampError};
pub use limits::{LimitError, MAX_MARKS, MAX_TITLE};
pub use line::{LANE, LineLayer, LinePattern, LineStitch, WorkedLine};
pub use mark::Mark;
pub use marks::MarkError;
pub use mask::{Mask, MaskError, MaskRun};
pub use moved::CellMap;
pub use placed::{MarkId, PlacedMark};
pub use printed::{PrintedShape, PrintedSymbol};
pub use steps::{Difference, DifferenceError, Done, Step, StepError, Steps, Way};

/// The most needles a chart may have: each wants a symbol of its own, and there are few more.
pub const MAX_NEEDLES: usize = 255;

/// A cell of the chart: a needle, or bare cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cell(u8);

impl Cell {
    /// Nothing is stitched here.
    pub const BARE: Self = Self(u8::MAX);

    /// The cell worked with the needle at `index`.
    ///
    /// # Panics
    /// When `index` is not below [`MAX_NEEDLES`]: a caller's mistake.
    #[must_use]
    pub fn worked(index: usize) -> Self {
        let index = u8::try_from(index).unwrap_or(u8::MAX);
        assert!(index != u8::MAX, "a chart has at most {MAX_NEEDLES} needles");
        Self(index)
    }

    /// The place of the needle among the chart's, or `None` where the cloth is bare.
    #[must_use]
    pub fn needle(self) -> Option<usize> {
        (self != Self::BARE).then_some(usize::from(self.0))
    }
}

/// A thread in a needle: what the chart keeps of a shade, so that it can be read without the card.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thread {
    /// The shade's code.
    pub code: String,
    /// The shade's name.
    pub name: String,
    /// The shade's colour.
    pub colour: Srgb8,
    /// How many strands of it are in the needle.
    pub strands: u8,
    /// What a skein costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Decimal>,
    /// The length of a skein in millimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skein_mm: Option<Millimetres>,
    /// The strands that this is the length of, where the card says so; see [`Thread::skein`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skein_strands: Option<u8>,
    /// What it is spun of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
}

impl Thread {
    /// So many strands of a shade.
    #[must_use]
    pub fn of(shade: &Shade, strands: u8) -> Self {
        Self {
            code: shade.code.clone(),
            name: shade.name.clone(),
            colour: shade.colour,
            strands,
            price: shade.price,
            skein_mm: shade.length,
            skein_strands: shade.strands,
            kind: shade.kind.clone(),
        }
    }

    /// What is sold of it at a time, as far as it is known.
    #[must_use]
    pub fn skein(&self) -> Skein {
        Skein::of(self.skein_mm, self.skein_strands, self.kind.as_deref())
    }
}

/// What a cell names: one thread, or a blend of several, worked in one kind of stitch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Needle {
    /// The symbol that stands for it on the page: the name of one of brede's own.
    pub symbol: String,
    /// Its threads, at least one; more than one is a blend.
    pub threads: Vec<Thread>,
    /// How its cells are worked.
    #[serde(default)]
    pub stitch: StitchKind,
}

impl Needle {
    /// All strands in the needle.
    #[must_use]
    pub fn strands(&self) -> u8 {
        self.threads.iter().fold(0, |sum, thread| sum.saturating_add(thread.strands))
    }

    /// The colour of its threads laid together: their mix in linear light, by strands.
    #[must_use]
    pub fn colour(&self) -> Srgb8 {
        match self.threads.as_slice() {
            [thread] => thread.colour,
            threads => {
                let total = f64::from(self.strands().max(1));
                let mut channels = [0.0; 3];
                for thread in threads {
                    let light = thread.colour.linear();
                    for (sum, part) in channels.iter_mut().zip(light.channels) {
                        *sum += part * f64::from(thread.strands) / total;
                    }
                }
                LinearRgb { channels }.srgb8()
            }
        }
    }

    /// The codes of its threads, joined by `+`.
    #[must_use]
    pub fn code(&self) -> String {
        self.joined(|thread| &thread.code)
    }

    /// The names of its threads, joined by `+`.
    #[must_use]
    pub fn name(&self) -> String {
        self.joined(|thread| &thread.name)
    }

    fn joined<'a>(&'a self, part: impl Fn(&'a Thread) -> &'a str) -> String {
        self.threads.iter().map(part).collect::<Vec<_>>().join(" + ")
    }

    /// The strands as the key gives them: `2`, or `1 + 1` for a blend.
    #[must_use]
    pub fn strands_text(&self) -> String {
        self.threads.iter().map(|thread| thread.strands.to_string()).collect::<Vec<_>>().join(" + ")
    }
}

/// How a chart was made: enough to make it again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Made {
    /// The name of the photo's file, without its folder.
    pub photo: String,
    /// The SHA-256 of the photo's bytes, in hexadecimal.
    pub photo_sha256: String,
    /// The version of brede.
    pub brede: String,
    /// The name of the shade card.
    pub card: String,
    /// The seed of everything drawn at random.
    pub seed: u64,
    /// Every other setting, by the name of its option.
    pub settings: std::collections::BTreeMap<String, String>,
    /// Mean CIEDE2000 between the picture and the chart's looks.
    pub mean_delta_e: f64,
    /// The request that it was made by, as the desk writes it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub request: Option<serde_json::Value>,
}

/// A chart: cells row by row from the top left, and the needles they name.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// What it is called.
    pub title: String,
    size: GridSize,
    /// What it is worked on.
    pub cloth: Cloth,
    needles: Vec<Needle>,
    cells: Vec<Cell>,
    /// How it was made, if brede made it.
    pub made: Option<Made>,
    /// What is laid over it, the first lowest; each has a name of its own.
    pub marks: Vec<PlacedMark>,
    /// The card that its threads were chosen from, if it is known.
    pub card: Option<ShadeCard>,
    /// How the paper drew the symbols that it was read from, if it was.
    pub printed: Vec<PrintedSymbol>,
    identity: Option<Identity>,
    steps: Steps,
}

/// Parts that do not make a chart.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChartError {
    /// More needles than a chart can name.
    #[error("{count} needles are more than the {MAX_NEEDLES} a chart can have")]
    TooManyNeedles {
        /// How many.
        count: usize,
    },
    /// A needle without a thread, or with more strands than a skein has.
    #[error("needle {index} has {strands} strands; a needle takes 1 to 12")]
    Strands {
        /// The needle, from 0.
        index: usize,
        /// Its strands.
        strands: u8,
    },
    /// A number of cells that is not columns times rows.
    #[error("{found} cells do not fill {size}")]
    Cells {
        /// How many cells.
        found: usize,
        /// The size.
        size: GridSize,
    },
    /// A cell that names a needle that is not there.
    #[error("the cell at column {column}, row {row} names needle {needle} of {count}")]
    NoSuchNeedle {
        /// From 1.
        column: usize,
        /// From 1.
        row: usize,
        /// From 0.
        needle: usize,
        /// How many there are.
        count: usize,
    },
    /// Something beyond its limit.
    #[error(transparent)]
    Limit(#[from] LimitError),
}

impl ChartError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::TooManyNeedles { .. } => Advice::FewerThreads,
            Self::Strands { .. } => Advice::TwelveStrands,
            Self::Limit(error) => error.advice(),
            Self::Cells { .. } | Self::NoSuchNeedle { .. } => Advice::EarlierCopy,
        }
    }
}

impl Chart {
    /// A checked chart.
    ///
    /// # Errors
    /// When cells and size, or cells and needles, do not fit together, or something is beyond its limit.
    pub fn new(
        title: String,
        size: GridSize,
        cloth: Cloth,
        needles: Vec<Needle>,
        cells: Vec<Cell>,
    ) -> Result<Self, ChartError> {
        if needles.len() > MAX_NEEDLES {
            return Err(ChartError::TooManyNeedles { count: needles.len() });
        }
        limits::title(&title)?;
        for (index, needle) in needles.iter().enumerate() {
            limits::symbol(&needle.symbol)?;
            limits::threads(&needle.threads)?;
            let strands = needle.strands();
            if !(1..=12).contains(&strands) || needle.threads.iter().any(|thread| thread.strands == 0) {
                return Err(ChartError::Strands { index, strands });
            }
        }
        if cells.len() != size.cells() {
            return Err(ChartError::Cells { found: cells.len(), size });
        }
        let count = needles.len();
        let stray = |cell: &Cell| cell.needle().is_some_and(|needle| needle >= count);
        if let Some(at) = cells.iter().position(stray) {
            let needle = cells[at].needle().unwrap_or_default();
            let (column, row) = (at % size.width() + 1, at / size.width() + 1);
            return Err(ChartError::NoSuchNeedle { column, row, needle, count });
        }
        let (made, marks, card, printed) = (None, Vec::new(), None, Vec::new());
        let (identity, steps) = (None, Steps::default());
        Ok(Self { title, size, cloth, needles, cells, made, marks, card, printed, identity, steps })
    }

    /// Columns and rows.
    #[must_use]
    pub fn size(&self) -> GridSize {
        self.size
    }

    /// The needles, in the order of the key.
    #[must_use]
    pub fn needles(&self) -> &[Needle] {
        &self.needles
    }

    /// The cells, row by row from the top left.
    #[must_use]
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// One row of cells from the top, or an empty one below the last.
    #[must_use]
    pub fn row(&self, row: usize) -> &[Cell] {
        let start = row * self.size.width();
        self.cells.get(start..start + self.size.width()).unwrap_or_default()
    }

    /// How many stitches each needle works.
    #[must_use]
    pub fn stitches(&self) -> Vec<u64> {
        let mut counts = vec![0; self.needles.len()];
        for needle in self.cells.iter().filter_map(|cell| cell.needle()) {
            counts[needle] += 1;
        }
        counts
    }

    /// How many stitches are single: no side neighbour has the same needle.
    #[must_use]
    pub fn singles(&self) -> u64 {
        let cells = &self.cells;
        let single = |&at: &usize| {
            cells[at].needle().is_some() && self.size.sides(at).all(|side| cells[side] != cells[at])
        };
        (0..cells.len()).filter(single).count() as u64
    }

    /// Gives each needle its symbol, in order.
    pub fn set_symbols(&mut self, symbols: impl IntoIterator<Item = String>) {
        for (needle, symbol) in self.needles.iter_mut().zip(symbols) {
            needle.symbol = symbol;
        }
    }

    /// The finished width and height on the chart's cloth.
    #[must_use]
    pub fn finished(&self) -> (Millimetres, Millimetres) {
        let count = self.cloth.count;
        (count.length_of(self.size.columns()), count.length_of(self.size.rows()))
    }
}

#[cfg(test)]
mod tests;
