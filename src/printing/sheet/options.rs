//! What can be asked of pages.

use image::RgbImage;
use serde::{Deserialize, Serialize};

use super::{Paper, Screen};
use crate::ground::colour::Srgb8;
use crate::ground::units::Millimetres;
use crate::printing::length::{Length, text_points};

/// Whether the page may use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ink {
    /// Pale tints of the threads under black symbols.
    #[default]
    Colour,
    /// A few greys, the darker the thread.
    Grey,
}

impl Ink {
    /// A picture as it can be printed.
    pub(super) fn picture(self, mut picture: RgbImage) -> RgbImage {
        if self == Self::Grey {
            for pixel in picture.pixels_mut() {
                let [r, g, b] = pixel.0;
                let Srgb8 { r, g, b } = Srgb8 { r, g, b }.grey();
                pixel.0 = [r, g, b];
            }
        }
        picture
    }
}

/// How large cells and text are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Print {
    /// For reading at the table.
    #[default]
    Usual,
    /// For eyes that want it larger: text of 16 points (UKAAF G003, clear and large print) and cells of
    /// 4.5 mm at least.
    Large,
}

impl Print {
    /// The size of a text that is usually of so many points.
    pub(super) fn text(self, points: f64) -> Length {
        text_points(match self {
            Self::Usual => points,
            Self::Large => points.max(16.0),
        })
    }
}

/// What fills the cells of the chart pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Show {
    /// Symbols on pale tints.
    #[default]
    Both,
    /// Symbols on white paper.
    Symbols,
    /// The threads' own colours without symbols: for a look beside the other pages, not to be read alone.
    Colours,
}

/// What the person asked of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetOptions {
    /// The paper.
    pub paper: Paper,
    /// Colour or grey.
    pub ink: Ink,
    /// The side of a cell, where it is asked for; else as large as the paper allows, near 3 mm.
    pub cell: Option<Millimetres>,
    /// Usual or large.
    pub print: Print,
    /// Symbols, colours or both.
    pub show: Show,
    /// One long page for this screen, instead of paper.
    pub tablet: Option<Screen>,
    /// The day to print on the cover, as it is to be read.
    pub date: String,
    /// The order in which needles stand in the key and in the strips, by their places; by code where it is not one of all
    /// needles of the chart.
    pub order: Vec<usize>,
}

impl Default for SheetOptions {
    fn default() -> Self {
        Self {
            paper: Paper::A4,
            ink: Ink::Colour,
            cell: None,
            print: Print::Usual,
            show: Show::Both,
            tablet: None,
            date: String::new(),
            order: Vec::new(),
        }
    }
}
