//! Lengths, counts and sizes as types, so that millimetres are never mistaken for stitches.
//!
//! Owns the arithmetic between cloth and paper: how long so many stitches are on a given count. Leaves
//! PDF points to `ink` and the choice of a size to `frame`.

use std::fmt;
use std::ops::{Add, Sub};
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::ground::advice::Advice;

/// Millimetres in an inch: exact by definition (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// The fewest and the most cells a chart may have along a side. Below four there is no picture to make out;
/// above two thousand, a 14-count piece would be over 3.6 m long.
pub const SIDE_LIMITS: std::ops::RangeInclusive<u32> = 4..=2000;

/// What is wrong with a length, a count or a size.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// A length that is not a number with a unit.
    #[error("`{text}` is not a length")]
    Length {
        /// What was given.
        text: String,
    },
    /// A length that is negative, not finite or absurdly long.
    #[error("a length of {value} mm is outside 0 to 100,000 mm")]
    LengthRange {
        /// The length in millimetres.
        value: f64,
    },
    /// A cloth count that cannot be read.
    #[error("`{text}` is not a cloth count")]
    Count {
        /// What was given.
        text: String,
    },
    /// A cloth count outside what cloth is woven in.
    #[error("a count of {value} stitches to the inch is outside 4 to 60")]
    CountRange {
        /// Stitches to the inch.
        value: f64,
    },
    /// A grid side outside the limits.
    #[error("{value} {side} is outside {min} to {max}", min = SIDE_LIMITS.start(), max = SIDE_LIMITS.end())]
    Side {
        /// Which.
        side: Side,
        /// What was asked.
        value: u32,
    },
}

/// What a side of a grid is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Across.
    Columns,
    /// Down.
    Rows,
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Columns => "columns",
            Self::Rows => "rows",
        })
    }
}

impl UnitError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Length { .. } | Self::LengthRange { .. } => Advice::WriteLength,
            Self::Count { .. } | Self::CountRange { .. } => Advice::WriteCount,
            Self::Side { .. } => Advice::OtherSize,
        }
    }
}

/// A length in millimetres: finite, not negative.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Millimetres(f64);

impl Millimetres {
    /// The longest length taken: 100 m, more than any cloth or thread in one piece.
    pub const MAX: f64 = 100_000.0;

    /// A checked length.
    ///
    /// # Errors
    /// When `value` is negative, not finite or over [`Self::MAX`].
    pub fn new(value: f64) -> Result<Self, UnitError> {
        if value.is_finite() && (0.0..=Self::MAX).contains(&value) {
            Ok(Self(value))
        } else {
            Err(UnitError::LengthRange { value })
        }
    }

    /// The number of millimetres.
    #[must_use]
    pub fn mm(self) -> f64 {
        self.0
    }

    /// The length in centimetres.
    #[must_use]
    pub fn cm(self) -> f64 {
        self.0 / 10.0
    }

    /// The length in inches.
    #[must_use]
    pub fn inches(self) -> f64 {
        self.0 / MM_PER_INCH
    }

    /// The length in centimetres, rounded up to a tenth: what is cut so long is long enough.
    #[must_use]
    pub fn cm_up(self) -> f64 {
        up(self.cm())
    }

    /// The length in inches, rounded up to a tenth: what is cut so long is long enough.
    #[must_use]
    pub fn inches_up(self) -> f64 {
        up(self.inches())
    }

    /// This length with `margin` added on both sides.
    #[must_use]
    pub fn with_margin(self, margin: Self) -> Self {
        Self(self.0 + 2.0 * margin.0)
    }
}

/// Up to the next tenth, but not for the last bits of a sum.
fn up(length: f64) -> f64 {
    (length * 10.0 - 1e-6).ceil() / 10.0
}

impl TryFrom<f64> for Millimetres {
    type Error = UnitError;
    fn try_from(value: f64) -> Result<Self, UnitError> {
        Self::new(value)
    }
}

impl From<Millimetres> for f64 {
    fn from(value: Millimetres) -> Self {
        value.0
    }
}

impl Add for Millimetres {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Millimetres {
    type Output = Self;
    /// Never below zero: a length is not negative.
    fn sub(self, other: Self) -> Self {
        Self((self.0 - other.0).max(0.0))
    }
}

impl FromStr for Millimetres {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let bad = || UnitError::Length { text: text.to_owned() };
        let trimmed = text.trim().to_ascii_lowercase();
        let split = trimmed.find(|c: char| c.is_ascii_alphabetic() || c == '"').ok_or_else(bad)?;
        let (number, unit) = trimmed.split_at(split);
        let value: f64 = number.trim().replace(',', ".").parse().map_err(|_| bad())?;
        let scale = match unit.trim() {
            "mm" => 1.0,
            "cm" => 10.0,
            "m" => 1000.0,
            "in" | "inch" | "inches" | "\"" => MM_PER_INCH,
            _ => return Err(bad()),
        };
        Self::new(value * scale)
    }
}

impl fmt::Display for Millimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} cm", self.cm())
    }
}

/// How fine a cloth is: stitches to the inch, and how many woven threads each stitch spans.
///
/// Written `14` for a cloth with a hole a stitch, `12.5` in halves, `28/2` for evenweave worked over two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct FabricCount {
    /// Twice the woven count, so that halves are exact.
    half_threads: u16,
    over: u8,
}

impl FabricCount {
    /// The count most charts are made for (common practice, no source).
    pub const FOURTEEN: Self = Self { half_threads: 28, over: 1 };

    /// A count of whole stitches to the inch.
    ///
    /// # Errors
    /// When it is outside 4 to 60.
    pub fn new(stitches_per_inch: u16) -> Result<Self, UnitError> {
        Self::checked(f64::from(stitches_per_inch), 1, || stitches_per_inch.to_string())
    }

    fn checked(threads: f64, over: u8, text: impl Fn() -> String) -> Result<Self, UnitError> {
        let halves = threads * 2.0;
        if !(halves.is_finite() && halves.fract() == 0.0 && (1..=4).contains(&over)) {
            return Err(UnitError::Count { text: text() });
        }
        let value = threads / f64::from(over);
        if !(4.0..=60.0).contains(&value) {
            return Err(UnitError::CountRange { value });
        }
        #[allow(clippy::cast_sign_loss, reason = "between 8 and 480 by the range check above")]
        Ok(Self { half_threads: halves as u16, over })
    }

    /// Stitches to the inch.
    #[must_use]
    pub fn stitches_per_inch(self) -> f64 {
        f64::from(self.half_threads) / 2.0 / f64::from(self.over)
    }

    /// How many woven threads a stitch spans: 1, or 2 and more on evenweave.
    #[must_use]
    pub fn over(self) -> u8 {
        self.over
    }

    /// The side of one stitch: 25.4 mm over the count.
    #[must_use]
    pub fn cell(self) -> Millimetres {
        Millimetres(MM_PER_INCH / self.stitches_per_inch())
    }

    /// How many stitches side by side a degree of sight holds from so far away.
    #[must_use]
    pub fn cells_a_degree(self, from: Millimetres) -> f64 {
        2.0 * from.mm() * libm::tan(0.5_f64.to_radians()) / self.cell().mm()
    }

    /// How long a run of stitches is on this cloth.
    #[must_use]
    pub fn length_of(self, stitches: u32) -> Millimetres {
        Millimetres(f64::from(stitches) * self.cell().mm())
    }

    /// The number of whole stitches nearest to a length on this cloth.
    #[must_use]
    pub fn stitches_in(self, length: Millimetres) -> u32 {
        #[allow(clippy::cast_sign_loss, reason = "a length is never negative")]
        let stitches = (length.mm() / self.cell().mm()).round() as u32;
        stitches
    }
}

impl Default for FabricCount {
    fn default() -> Self {
        Self::FOURTEEN
    }
}

impl FromStr for FabricCount {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let bad = || UnitError::Count { text: text.to_owned() };
        let (threads, over) = match text.trim().split_once('/') {
            Some((threads, over)) => (threads, over.trim().parse().map_err(|_| bad())?),
            None => (text, 1),
        };
        let threads: f64 = threads.trim().replace(',', ".").parse().map_err(|_| bad())?;
        Self::checked(threads, over, || text.to_owned())
    }
}

impl TryFrom<String> for FabricCount {
    type Error = UnitError;
    fn try_from(text: String) -> Result<Self, UnitError> {
        text.parse()
    }
}

impl From<FabricCount> for String {
    fn from(count: FabricCount) -> Self {
        count.to_string()
    }
}

impl fmt::Display for FabricCount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", f64::from(self.half_threads) / 2.0)?;
        if self.over > 1 { write!(f, "/{}", self.over) } else { Ok(()) }
    }
}

/// Columns by rows of a chart, each within [`SIDE_LIMITS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "RawGridSize")]
pub struct GridSize {
    columns: u32,
    rows: u32,
}

#[derive(Deserialize)]
struct RawGridSize {
    columns: u32,
    rows: u32,
}

impl TryFrom<RawGridSize> for GridSize {
    type Error = UnitError;
    fn try_from(raw: RawGridSize) -> Result<Self, UnitError> {
        Self::new(raw.columns, raw.rows)
    }
}

impl GridSize {
    /// A checked size in cells.
    ///
    /// # Errors
    /// When a side is outside [`SIDE_LIMITS`].
    pub fn new(columns: u32, rows: u32) -> Result<Self, UnitError> {
        for (side, value) in [(Side::Columns, columns), (Side::Rows, rows)] {
            if !SIDE_LIMITS.contains(&value) {
                return Err(UnitError::Side { side, value });
            }
        }
        Ok(Self { columns, rows })
    }

    /// Stitches across.
    #[must_use]
    pub fn columns(self) -> u32 {
        self.columns
    }

    /// Stitches down.
    #[must_use]
    pub fn rows(self) -> u32 {
        self.rows
    }

    /// Stitches across, for indexing.
    #[must_use]
    pub fn width(self) -> usize {
        self.columns as usize
    }

    /// Stitches down, for indexing.
    #[must_use]
    pub fn height(self) -> usize {
        self.rows as usize
    }

    /// The cells beside a cell, two to four, all counted row by row from the top left.
    pub fn sides(self, cell: usize) -> impl Iterator<Item = usize> {
        let (width, x) = (self.width(), cell % self.width());
        let sides = [
            cell.checked_sub(width),
            (x > 0).then(|| cell - 1),
            (x + 1 < width).then_some(cell + 1),
            (cell + width < self.cells()).then_some(cell + width),
        ];
        sides.into_iter().flatten()
    }

    /// The number of cells.
    #[must_use]
    pub fn cells(self) -> usize {
        self.width() * self.height()
    }
}

impl fmt::Display for GridSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} x {}", self.columns, self.rows)
    }
}

/// A count with its noun, whose plural ends in s: `1 page`, `3 pages`.
#[must_use]
pub fn counted(count: u64, noun: &str) -> String {
    let plural = match count {
        1 => "",
        _ if noun.ends_with("ch") || noun.ends_with("ss") => "es",
        _ => "s",
    };
    format!("{} {noun}{plural}", thousands(count))
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
