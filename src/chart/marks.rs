//! Personal marks over a chart: outlines round motifs, halos, lettering and the stitched key.
//!
//! Owns what a mark comes to: which cells it is about (`choose`), its lines and crosses, and the worked chart
//! with all marks laid over (`compose`). The base is never changed. Leaves how a mark is kept to
//! `chart::mark` and how lines are drawn to `printing`.

mod choose;
mod compose;
mod faces;
mod file;
mod key;
mod laid;
mod lanes;
mod lettering;
mod region;
mod settle;
mod trace;
mod working;

use serde::Serialize;

use crate::chart::mark::LetterFace;
use crate::chart::{ChartError, LimitError};
use crate::ground::advice::Advice;
use crate::ground::progress::Stopped;
use crate::ground::units::{GridSize, UnitError, counted};

pub use choose::{choose, mask_rows};
pub use compose::{Composed, compose, compose_while};
pub use file::{FileError, MarkFile, Resolver, ThreadError, parse_thread};
pub use lettering::{Written, write};
pub use region::Region;
pub use settle::{agree_with, mask_of, with_each};
pub use trace::{eased, exact};

/// A mark that cannot be worked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MarkError {
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
    /// Two marks with one name, or one without.
    #[error("two marks are called `{name}`")]
    SameName {
        /// The name.
        name: String,
    },
    /// A cell that is not on the chart.
    #[error("mark `{mark}`: there is no square at column {}, row {} of {size}", cell[0], cell[1])]
    NoSuchCell {
        /// The mark.
        mark: String,
        /// Column and row, from 1.
        cell: [i32; 2],
        /// The chart.
        size: GridSize,
    },
    /// A needle that the chart does not have.
    #[error("mark `{mark}`: the chart has no thread `{needle}`")]
    NoSuchNeedle {
        /// The mark.
        mark: String,
        /// The code or name.
        needle: String,
    },
    /// Too few corners.
    #[error("mark `{mark}`: a figure of {} holds no square", counted(*corners as u64, "corner"))]
    Polygon {
        /// The mark.
        mark: String,
        /// How many.
        corners: usize,
    },
    /// A mask that does not fit.
    #[error("mark `{mark}`: row {row} of the squares it was pointed at does not fit a chart of {size}")]
    Mask {
        /// The mark.
        mark: String,
        /// From 1.
        row: usize,
        /// The chart.
        size: GridSize,
    },
    /// A mask that is still a file.
    #[error("mark `{mark}`: the painted picture {path} has not been read")]
    MaskNotRead {
        /// The mark.
        mark: String,
        /// The file.
        path: String,
    },
    /// A stitch length that cannot be.
    #[error("mark `{mark}`: stitches of {longest} squares at most; 1 to 6 can be asked for")]
    Longest {
        /// The mark.
        mark: String,
        /// What was asked.
        longest: f64,
    },
    /// Characters that the face lacks.
    #[error("mark `{mark}`: the face `{}` has no {}", face.name(), named(characters))]
    MissingCharacters {
        /// The mark.
        mark: String,
        /// The characters, each once, as they come in the text.
        characters: Vec<char>,
        /// The face.
        face: LetterFace,
        /// The faces that have all of them.
        others: Vec<LetterFace>,
    },
    /// A script that runs from right to left.
    #[error("mark `{mark}`: `{character}` (U+{:04X}) runs from right to left, which brede cannot stitch", u32::from(*character))]
    RightToLeft {
        /// The mark.
        mark: String,
        /// The first such character.
        character: char,
    },
    /// A text that no cloth holds.
    #[error("mark `{mark}`: {found} characters are more than the {limit} that are stitched at once")]
    TextTooLong {
        /// The mark.
        mark: String,
        /// Its characters.
        found: usize,
        /// The limit.
        limit: usize,
    },
    /// Strands that no needle takes.
    #[error("mark `{mark}`: {strands} strands; a needle takes 1 to 12")]
    Strands {
        /// The mark.
        mark: String,
        /// How many.
        strands: u8,
    },
    /// Fewer strands than the threads of a blend.
    #[error("mark `{mark}`: {} for the blend {needle}, which has more threads", counted((*strands).into(), "strand"))]
    Blend {
        /// The mark.
        mark: String,
        /// The codes of its threads.
        needle: String,
        /// What was asked.
        strands: u8,
    },
    /// A mark that leaves all as it is.
    #[error("mark `{mark}` says neither stitch nor strands nor a thread to add")]
    NothingAsked {
        /// The mark.
        mark: String,
    },
    /// A chart that would be too large.
    #[error("with its key the chart would be too large")]
    Size(#[source] UnitError),
    /// Too many needles.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// Something beyond its limit.
    #[error(transparent)]
    Limit(#[from] LimitError),
}

/// Characters, each with its number.
fn named(characters: &[char]) -> String {
    let named = characters.iter().map(|&one| format!("`{one}` (U+{:04X})", u32::from(one)));
    named.collect::<Vec<_>>().join(", ")
}

impl MarkError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        Some(match self {
            Self::Stopped(_) => return None,
            Self::SameName { .. } => Advice::OwnNames,
            Self::NoSuchCell { .. } => Advice::CountFromOne,
            Self::NoSuchNeedle { .. } => Advice::ThreadOfKey,
            Self::Polygon { .. } => Advice::ThreeCorners,
            Self::Mask { .. } => Advice::MaskOfChart,
            Self::MaskNotRead { .. } => Advice::AddWithPicture,
            Self::Longest { .. } => Advice::UsualStitchLength,
            Self::MissingCharacters { others, .. } => {
                Advice::OtherFace { faces: others.iter().map(|face| face.name().to_owned()).collect() }
            }
            Self::RightToLeft { .. } => Advice::DrawLetters,
            Self::TextTooLong { .. } => Advice::PartText,
            Self::Strands { .. } => Advice::StrandsOfLine,
            Self::Blend { .. } => Advice::StrandAThread,
            Self::NothingAsked { .. } => Advice::SayHowInFile,
            Self::Size(error) => error.advice(),
            Self::Chart(error) => error.advice(),
            Self::Limit(error) => error.advice(),
        })
    }
}

/// Something about a mark that the person should know. Cells are counted from 1 on the chart as worked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum MarkWarning {
    /// A mark about no cell.
    Empty {
        /// The mark.
        mark: String,
    },
    /// An area of bare cloth.
    NothingStitched {
        /// The mark.
        mark: String,
    },
    /// Stitches beyond the cloth, left out.
    Outside {
        /// The mark.
        mark: String,
        /// The first.
        cell: [i32; 2],
        /// How many.
        count: usize,
    },
    /// A pick that reaches beyond the chart.
    PickOutside {
        /// The mark.
        mark: String,
        /// The corner outside.
        cell: [i32; 2],
        /// The chart.
        size: GridSize,
    },
    /// Letters over letters.
    Overlap {
        /// The first few pairs.
        pairs: Vec<MarkPair>,
        /// How many there are beside.
        more: usize,
    },
    /// Motifs that overlap, so that their lines cross.
    Crossing {
        /// The first few pairs.
        pairs: Vec<MarkPair>,
        /// How many there are beside.
        more: usize,
    },
    /// A label that is wider than the room beside its sample.
    LabelTooWide {
        /// The label.
        label: String,
        /// Its width.
        columns: i32,
        /// The room for it.
        room: i32,
    },
    /// A key of nothing.
    EmptyKey {
        /// The key.
        mark: String,
    },
}

/// Two marks that hold the same cells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MarkPair {
    /// Their names.
    pub marks: [String; 2],
    /// The first cell of both, from 1.
    pub cell: [i32; 2],
}

impl MarkPair {
    /// So many pairs are told one by one: among many marks there can be hundreds of thousands.
    const TOLD: usize = 4;

    /// The first few of many by their places, if there are any, and how many are beside them.
    fn told(
        pairs: &[(usize, usize, [i32; 2])],
        name: impl Fn(usize) -> String,
    ) -> Option<(Vec<Self>, usize)> {
        let told: Vec<Self> = pairs
            .iter()
            .take(Self::TOLD)
            .map(|&(one, two, cell)| Self { marks: [name(one), name(two)], cell })
            .collect();
        let more = pairs.len() - told.len();
        (!told.is_empty()).then_some((told, more))
    }
}

#[cfg(test)]
mod tests;
