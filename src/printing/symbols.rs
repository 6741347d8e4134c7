//! Brede's own symbols: the font, what is known of each symbol, and which needle gets which.
//!
//! Owns the table of symbols (name, glyph, ink, distances) that stands beside the font and is drawn and measured
//! by `fonts-open/brede-symbols/draw.rs`; choosing among them is left to [`assign`](self::assign()).

mod adjacency;
mod alike;
mod assign;
mod fix;

use std::sync::LazyLock;

use crate::chart::Chart;

pub use adjacency::{Adjacency, crowds};
pub use alike::{ALIKE, AlikePair, alike, least_between};
pub use assign::{NeedleUse, assign, complete, complete_in_turn};
pub use fix::{FixError, fix};

/// The font that holds the symbols: TrueType, 1,000 units an em, every advance 1,000, the cell being the square
/// from (0, 0) to (1000, 1000); glyph `k + 1` is U+E000 + k.
pub const FONT: &[u8] = include_bytes!("../../fonts-open/brede-symbols/BredeSymbols.ttf");

/// The distances below the diagonal, row by row, in 255ths.
static DISTANCES: &[u8] = include_bytes!("../../fonts-open/brede-symbols/distances.bin");

/// What is known of one symbol.
struct Entry {
    name: &'static str,
    ink: f64,
    parts: u8,
    /// The name without the way it points.
    figure: String,
}

/// The words that say which way a figure points: what differs in the names of turned and mirrored figures.
const WAYS: [&str; 12] = [
    "up", "down", "left", "right", "top", "bottom", "rising", "falling", "across", "upright", "level",
    "turned",
];

/// The symbols in the order of their glyphs, plain and far apart first; last the one for unknown names.
static TABLE: LazyLock<Vec<Entry>> = LazyLock::new(|| {
    let table = include_str!("../../fonts-open/brede-symbols/symbols.csv");
    let entries = table.lines().skip(1).map(|line| {
        let mut fields = line.split(',');
        let mut field = || fields.next().expect("every line of the table has four fields");
        let (name, _glyph, ink, parts) = (field(), field(), field(), field());
        let ink: f64 = ink.parse().expect("ink is a number of thousandths");
        let figure: Vec<&str> = name.split('-').filter(|word| !WAYS.contains(word)).collect();
        let parts = parts.parse().expect("parts are a whole number");
        Entry { name, ink: ink / 1000.0, parts, figure: figure.join("-") }
    });
    entries.collect()
});

/// One symbol. Symbols are ordered as in the set: plain ones that lie far apart come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SymbolId(u16);

impl SymbolId {
    /// Its glyph in [`FONT`].
    #[must_use]
    pub fn glyph(self) -> u16 {
        self.0 + 1
    }

    /// The symbol of this name, or [`SymbolId::unknown`] where there is none.
    #[must_use]
    pub fn of(name: &str) -> Self {
        Self::named(name).unwrap_or_else(Self::unknown)
    }

    /// The symbol of this name, where there is one.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        TABLE.iter().position(|entry| entry.name == name).map(|place| Self(place as u16))
    }

    /// The mark that stands for a name that is not of the set: a question mark cut out of a block. No needle
    /// is given it while symbols last.
    #[must_use]
    pub fn unknown() -> Self {
        Self(Self::count() as u16)
    }

    /// All symbols that a needle may have, plain ones that lie far apart first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..Self::count() as u16).map(Self)
    }

    /// How many symbols a chart can tell its needles apart by.
    #[must_use]
    pub fn count() -> usize {
        TABLE.len() - 1
    }

    /// Its name.
    #[must_use]
    pub fn id(self) -> &'static str {
        self.entry().name
    }

    /// The share of the cell that it inks, 0 to 1.
    #[must_use]
    pub fn ink(self) -> f64 {
        self.entry().ink
    }

    /// The parts that an eye counts in it, from 1, plain, to 4, busy.
    #[must_use]
    pub fn parts(self) -> u8 {
        self.entry().parts
    }

    /// How unlike another symbol it looks, printed in cells of 2.0 to 3.0 mm at 150 dots an inch: 0 equal, 1
    /// nothing in common, in steps of 1/255. The measure is our own and stands in
    /// `fonts-open/brede-symbols/measure.rs`.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        let (low, high) = (usize::from(self.0.min(other.0)), usize::from(self.0.max(other.0)));
        if low == high { 0.0 } else { f64::from(DISTANCES[high * (high - 1) / 2 + low]) / 255.0 }
    }

    /// Whether the other symbol is this one turned or mirrored, by their names: `moon-left` and `moon-top`.
    #[must_use]
    pub fn is_turned(self, other: Self) -> bool {
        self != other && self.entry().figure == other.entry().figure
    }

    /// The least distance of any two symbols of the set.
    #[must_use]
    pub fn least_distance() -> f64 {
        f64::from(DISTANCES.iter().copied().min().unwrap_or_default()) / 255.0
    }

    fn entry(self) -> &'static Entry {
        &TABLE[usize::from(self.0)]
    }
}

/// Gives every needle of the chart that has no symbol yet the one that suits it among its neighbours.
pub fn give_symbols(chart: &mut Chart) {
    let symbols = complete(chart);
    chart.set_symbols(symbols.into_iter().map(|symbol| symbol.id().to_owned()));
}

/// Gives symbols to the needles that marks added to a chart. Those that have symbols keep them, and one more needle at
/// the end changes none before it.
pub fn give_symbols_to_added(chart: &mut Chart) {
    let is_added: Vec<bool> = chart.needles().iter().map(|needle| needle.symbol.is_empty()).collect();
    let Some(known) = is_added.iter().position(|&added| added) else { return };
    if known == 0 || is_added[known..].contains(&false) {
        // Needles that stand for others come right after them, so none is at the end.
        return give_symbols(chart);
    }
    let symbols = complete_in_turn(chart, known);
    let kept = chart.needles().iter().take(known).map(|needle| needle.symbol.clone());
    let all: Vec<String> =
        kept.chain(symbols.iter().skip(known).map(|symbol| symbol.id().to_owned())).collect();
    chart.set_symbols(all);
}

#[cfg(test)]
mod tests;
