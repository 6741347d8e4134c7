//! A person's shade card: the threads they have or can buy.
//!
//! Owns reading a card from CSV and the built-in demonstration card. Leaves how a thread looks on cloth to
//! `cloth` and what to buy to `kit`.

mod compare;
mod read;
mod rows;
pub mod swatches;

use rust_decimal::Decimal;
use serde::Serialize;

use super::code;
use crate::ground::colour::{Lab, Srgb8};
use crate::ground::units::Millimetres;

pub use compare::Nearest;
pub use read::{COLUMNS, ShadesError};

/// The most shades a card may have: more than every range sold at once (common practice, no source), and
/// few enough that each can be tried.
pub const MAX_SHADES: usize = 10_000;

/// The longest code, name and kind of a thread, and the longest name, label or line of a mark, in characters:
/// longer than any label on a skein, short enough to print.
pub const MAX_TEXT: usize = 200;

/// The most that a skein may cost, in any currency: with it no sum of whole skeins is too large a number.
pub const MAX_PRICE: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);

/// The shortest skein, in millimetres: less is no length to stitch with, and divides into too many.
pub const MIN_SKEIN_MM: f64 = 100.0;

/// One thread of the card.
#[derive(Debug, Clone, PartialEq)]
pub struct Shade {
    /// What the person calls it by, unique on the card.
    pub code: String,
    /// Its name, for reading.
    pub name: String,
    /// Its colour as shown and printed.
    pub colour: Srgb8,
    /// Its colour as measured; that of `colour` where the card gives no Lab.
    pub lab: Lab,
    /// What a skein costs, in the card's currency.
    pub price: Option<Decimal>,
    /// The length of a skein.
    pub length: Option<Millimetres>,
    /// The strands that this is the length of; where the card does not say, what is usual for its kind
    /// ([`Skein::of`](super::skein::Skein::of)).
    pub strands: Option<u8>,
    /// How many skeins the person owns; parts of a skein count.
    pub owned: Option<Decimal>,
    /// What it is spun of, such as `cotton` or `metallic`.
    pub kind: Option<String>,
}

/// A decimal number, with a point or a comma; `None` where the text is none.
#[must_use]
pub fn decimal(text: &str) -> Option<Decimal> {
    text.trim().replace(',', ".").parse().ok()
}

/// Something about a card that its owner should know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum CardWarning {
    /// Columns that brede does not know: nothing in them has any effect.
    UnknownColumns {
        /// Their names as the card has them.
        columns: Vec<String>,
    },
}

/// A shade card: at least one shade, no code twice, whatever its capitals and spaces.
#[derive(Debug, Clone)]
pub struct ShadeCard {
    name: String,
    shades: Vec<Shade>,
    warnings: Vec<CardWarning>,
}

/// Cards are the same that hold the same: what their file was like does not count.
impl PartialEq for ShadeCard {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name && self.shades == other.shades
    }
}

impl ShadeCard {
    /// The card as CSV text, with `name` to speak of it by.
    ///
    /// # Errors
    /// [`ShadesError`] names the row and column at fault.
    pub fn read(name: &str, bytes: &[u8]) -> Result<Self, ShadesError> {
        let (shades, warnings) = read::read(bytes)?;
        Ok(Self { name: name.to_owned(), shades, warnings })
    }

    /// The built-in demonstration card: 267 shades named after the level-3 names of the ISCC-NBS system
    /// (Kelly & Judd, NBS Circular 553, 1955, and SP 440, 1976: works of the US Government). The colours are
    /// rounded conversions, not the centroids; the codes are brede's own. They are no maker's threads.
    #[must_use]
    pub fn demonstration() -> Self {
        Self::read("the demonstration card", include_bytes!("shades/demonstration.csv"))
            .expect("the built-in card is checked by a test")
    }

    /// What the card is called.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The shades, in the card's order.
    #[must_use]
    pub fn shades(&self) -> &[Shade] {
        &self.shades
    }

    /// What its owner should know.
    #[must_use]
    pub fn warnings(&self) -> &[CardWarning] {
        &self.warnings
    }

    /// The place on the card of the shade with this code, whatever its capitals and spaces.
    #[must_use]
    pub fn position(&self, code: &str) -> Option<usize> {
        self.shades.iter().position(|shade| code::same(&shade.code, code))
    }

    /// The shade with this code.
    #[must_use]
    pub fn find(&self, code: &str) -> Option<&Shade> {
        self.position(code).map(|at| &self.shades[at])
    }
}

#[cfg(test)]
mod tests;
