//! How much a chart may hold: bounds that no real chart comes near, so that a forged one costs no more than a
//! message.

use std::fmt;

use rust_decimal::Decimal;

use super::mark::Backstitch;
use super::{Mark, PlacedMark, Thread};
use crate::ground::advice::Advice;
use crate::ground::plain::{breaks_line, harmless};
use crate::thread::shades::{MAX_PRICE, MAX_TEXT, MIN_SKEIN_MM};
use crate::thread::skein::MOST_STRANDS;

/// The longest title, in characters: some lines of the cover.
pub const MAX_TITLE: usize = 500;

/// The most marks: a key of so many labels fits no cloth, and each is worked anew at every count.
pub const MAX_MARKS: usize = 1000;

/// The most holes that the lines of one mark run through: a line round each square of the largest chart that is read.
pub(crate) const MAX_HOLES: usize = 2_000_000;

/// How far from the chart a hole may lie, in squares, so that sums of them stay small.
const FARTHEST: i32 = 100_000;

/// Something in a chart that is beyond its limit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LimitError {
    /// A title that is too long.
    #[error("the title has {found} characters; at most {MAX_TITLE} are taken")]
    Title {
        /// Its characters.
        found: usize,
    },
    /// Another text that is too long.
    #[error("{what} has {found} characters; at most {MAX_TEXT} are taken")]
    Text {
        /// Which.
        what: ChartText,
        /// Its characters.
        found: usize,
    },
    /// A price that nobody pays.
    #[error("a skein of `{code}` costs {price}; 0 to {MAX_PRICE} is taken")]
    Price {
        /// The thread.
        code: String,
        /// Its price.
        price: Decimal,
    },
    /// A skein too short to be one.
    #[error("a skein of `{code}` is {mm} mm long; at least {MIN_SKEIN_MM} mm are taken")]
    Skein {
        /// The thread.
        code: String,
        /// Its length.
        mm: f64,
    },
    /// A skein of more strands than any has.
    #[error("a skein of `{code}` parts into {strands} strands; 1 to {MOST_STRANDS} are taken")]
    SkeinStrands {
        /// The thread.
        code: String,
        /// Its strands.
        strands: u8,
    },
    /// A name on more than one line.
    #[error("{what}, `{text}`, holds a line break or another control character")]
    Lines {
        /// Which.
        what: ChartText,
        /// The text, such characters written out.
        text: String,
    },
    /// Lines of too many holes, or of holes too far away.
    #[error("the lines of `{mark}` run through more holes than are sewn, or far beyond any cloth")]
    Holes {
        /// The mark.
        mark: String,
    },
    /// Too many marks.
    #[error("the chart has {found} marks; at most {MAX_MARKS} marks are worked")]
    Marks {
        /// How many.
        found: usize,
    },
}

/// A text in a chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartText {
    /// The name of a symbol.
    Symbol,
    /// The code of a thread.
    Code,
    /// The name of a thread.
    ThreadName,
    /// The kind of a thread.
    Kind,
    /// The name of a mark.
    MarkName,
    /// The label of a mark.
    Label,
    /// A line of the stitched key.
    KeyLine,
}

impl fmt::Display for ChartText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Symbol => "a symbol's name",
            Self::Code => "the code of a thread",
            Self::ThreadName => "the name of a thread",
            Self::Kind => "the kind of a thread",
            Self::MarkName => "the name of a mark",
            Self::Label => "the label of a mark",
            Self::KeyLine => "a line of the key",
        })
    }
}

impl LimitError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Title { .. } | Self::Text { .. } => Advice::Shorten,
            Self::Price { .. } | Self::Skein { .. } | Self::SkeinStrands { .. } => Advice::MendOnCard,
            Self::Marks { .. } | Self::Holes { .. } => Advice::FewerMarks,
            Self::Lines { .. } => Advice::OneLine,
        }
    }
}

fn text(what: ChartText, text: &str) -> Result<(), LimitError> {
    let found = text.chars().count();
    if found > MAX_TEXT { Err(LimitError::Text { what, found }) } else { Ok(()) }
}

pub(super) fn title(title: &str) -> Result<(), LimitError> {
    let found = title.chars().count();
    if found > MAX_TITLE { Err(LimitError::Title { found }) } else { Ok(()) }
}

pub(super) fn symbol(symbol: &str) -> Result<(), LimitError> {
    text(ChartText::Symbol, symbol)
}

/// Holds the threads of a needle to the limits.
pub(crate) fn threads(threads: &[Thread]) -> Result<(), LimitError> {
    for thread in threads {
        text(ChartText::Code, &thread.code)?;
        text(ChartText::ThreadName, &thread.name)?;
        text(ChartText::Kind, thread.kind.as_deref().unwrap_or_default())?;
        let code = || thread.code.clone();
        if let Some(price) = thread.price.filter(|price| !(Decimal::ZERO..=MAX_PRICE).contains(price)) {
            return Err(LimitError::Price { code: code(), price });
        }
        if let Some(skein) = thread.skein_mm.filter(|skein| skein.mm() < MIN_SKEIN_MM) {
            return Err(LimitError::Skein { code: code(), mm: skein.mm() });
        }
        if let Some(strands) = thread.skein_strands.filter(|strands| !(1..=MOST_STRANDS).contains(strands)) {
            return Err(LimitError::SkeinStrands { code: code(), strands });
        }
    }
    Ok(())
}

/// Holds the number of marks to the limit.
pub(crate) fn marks(marks: &[PlacedMark]) -> Result<(), LimitError> {
    let found = marks.len();
    if found > MAX_MARKS { Err(LimitError::Marks { found }) } else { Ok(()) }
}

/// Holds lines that were drawn to the limits.
pub(crate) fn backstitch<T>(mark: &Backstitch<T>) -> Result<(), LimitError> {
    let holes = mark.lines.iter().map(Vec::len).sum::<usize>().saturating_add(mark.knots.len());
    let is_near = |at: &i32| (-FARTHEST..=FARTHEST).contains(at);
    if holes > MAX_HOLES || !mark.lines.iter().flatten().flatten().all(is_near) {
        return Err(LimitError::Holes { mark: mark.name.clone() });
    }
    Ok(())
}

/// Holds what a new mark is called to one line. Charts that were saved before may have others.
pub(crate) fn one_line(mark: &Mark) -> Result<(), LimitError> {
    let hold = |what, text: &str| {
        if text.contains(breaks_line) {
            return Err(LimitError::Lines { what, text: harmless(text, |_| false) });
        }
        Ok(())
    };
    hold(ChartText::MarkName, mark.name())?;
    hold(ChartText::Label, mark.label().unwrap_or_default())
}

/// Holds the texts of a mark to the limits; letters have their own.
pub(crate) fn mark_texts(mark: &Mark) -> Result<(), LimitError> {
    text(ChartText::MarkName, mark.name())?;
    text(ChartText::Label, mark.label().unwrap_or_default())?;
    if let Mark::Key(key) = mark {
        for line in [&key.title, &key.date, &key.initials].into_iter().flatten() {
            text(ChartText::KeyLine, line)?;
        }
    }
    Ok(())
}
