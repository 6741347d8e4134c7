//! Brede's own symbols: the font, what is known of each symbol, and which needle gets which.
//!
//! Owns the table of symbols (name, glyph, ink, distances) that stands beside the font and is drawn and measured
//! by `fonts-open/brede-symbols/draw.rs`; choosing among them is left to [`assign`](self::assign()).

mod adjacency;
mod alike;
mod assign;
mod fix;
mod squares;

use std::sync::LazyLock;

use crate::chart::Chart;

pub use adjacency::{Adjacency, crowds};
pub use alike::{ALIKE, AlikePair, alike, least_between};
pub use assign::{Apart, NeedleUse, assign, complete, complete_in_turn, exchange};
pub use fix::{FixError, fix, fix_for};
pub use squares::Squares;

/// The font that holds the symbols: TrueType, 1,000 units an em, every advance 1,000, the cell being the square
/// from (0, 0) to (1000, 1000); glyph `k + 1` is U+E000 + k.
pub const FONT: &[u8] = include_bytes!("../../fonts-open/brede-symbols/BredeSymbols.ttf");

/// The distances below the diagonal, row by row, in 255ths: all in squares of 2.0 mm, then of 2.5, then of 3.0.
static DISTANCES: &[u8] = include_bytes!("../../fonts-open/brede-symbols/distances.bin");

/// How alike prints are, in the same order.
static LIKENESS: &[u8] = include_bytes!("../../fonts-open/brede-symbols/likeness.bin");

/// Prints that correlate above this are twins: what tells them apart is how heavy they are, and that goes with the toner.
/// Lower would leave too few symbols for 40 threads in squares of 2 mm.
const TWINS: f64 = 0.7;

/// What is known of one symbol.
struct Entry {
    name: &'static str,
    ink: f64,
    parts: u8,
    /// The least square, in tenths of a millimetre, in which its white parts stay open when ink runs.
    open: u8,
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
        let mut field = || fields.next().expect("every line of the table has five fields");
        let (name, _glyph, ink, parts, open) = (field(), field(), field(), field(), field());
        let ink: f64 = ink.parse().expect("ink is a number of thousandths");
        let figure: Vec<&str> = name.split('-').filter(|word| !WAYS.contains(word)).collect();
        let parts = parts.parse().expect("parts are a whole number");
        let open = open.parse().expect("a size is a whole number of tenths");
        Entry { name, ink: ink / 1000.0, parts, open, figure: figure.join("-") }
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

    /// The character that stands for it in text: [`FONT`] maps symbols to the private use area, the first to U+E000.
    #[must_use]
    pub fn character(self) -> char {
        char::from_u32(0xE000 + u32::from(self.0)).unwrap_or('\u{E000}')
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

    /// How unlike another symbol it looks, printed in cells of 2.0 to 3.0 mm at 150 dots an inch, the least of three
    /// sizes: 0 equal, 1 nothing in common, in steps of 1/255. The measure is our own and stands in
    /// `fonts-open/brede-symbols/measure.rs`.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        Squares::ALL.map(|squares| self.distance_in(other, squares)).into_iter().fold(1.0, f64::min)
    }

    /// The same in squares of one size.
    #[must_use]
    pub fn distance_in(self, other: Self, squares: Squares) -> f64 {
        self.pair(other).map_or(0.0, |pair| f64::from(DISTANCES[squares.table() * pairs() + pair]) / 255.0)
    }

    /// How alike another symbol is once black has gone pale: the correlation of their prints, the greatest of three
    /// models of printing, 0 to 1, in steps of 1/255 (`fonts-open/brede-symbols/likeness.rs`).
    #[must_use]
    pub fn likeness_in(self, other: Self, squares: Squares) -> f64 {
        self.pair(other).map_or(1.0, |pair| f64::from(LIKENESS[squares.table() * pairs() + pair]) / 255.0)
    }

    /// Whether the other symbol is a twin in squares of this size: a thick or thin form of the same shape, whose print
    /// correlates with its own above 0.7.
    #[must_use]
    pub fn is_twin(self, other: Self, squares: Squares) -> bool {
        self != other && self.likeness_in(other, squares) > TWINS
    }

    /// Whether the white parts that it encloses stay open in squares of this size when ink runs.
    #[must_use]
    pub fn stays_open(self, squares: Squares) -> bool {
        self.entry().open <= squares.tenths()
    }

    /// The place of the pair in a table; `None` for a symbol and itself.
    fn pair(self, other: Self) -> Option<usize> {
        let (low, high) = (usize::from(self.0.min(other.0)), usize::from(self.0.max(other.0)));
        (low != high).then(|| high * (high - 1) / 2 + low)
    }

    /// Whether the other symbol is this one turned or mirrored, by their names: `moon-left` and `moon-top`.
    #[must_use]
    pub fn is_turned(self, other: Self) -> bool {
        self != other && self.entry().figure == other.entry().figure
    }

    /// The least distance of any two symbols of the set.
    #[must_use]
    pub fn least_distance() -> f64 {
        static LEAST: LazyLock<u8> = LazyLock::new(|| DISTANCES.iter().copied().min().unwrap_or_default());
        f64::from(*LEAST) / 255.0
    }

    fn entry(self) -> &'static Entry {
        &TABLE[usize::from(self.0)]
    }
}

/// How many pairs a table has.
fn pairs() -> usize {
    TABLE.len() * (TABLE.len() - 1) / 2
}

/// Gives every needle of the chart that has no symbol yet the one that suits it among its neighbours, in squares of 3 mm
/// and more.
pub fn give_symbols(chart: &mut Chart) {
    give_symbols_for(chart, Squares::default());
}

/// The same for squares of this size.
pub fn give_symbols_for(chart: &mut Chart, squares: Squares) {
    let symbols = complete(chart, squares);
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
