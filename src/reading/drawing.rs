//! What is drawn on a page of a PDF from anywhere: signs, fills, lines and pictures, in points from its top left.
//!
//! Owns the things themselves, which the child that reads a file hands over, and their outlines. `easel` takes them from
//! a page. Leaves what they mean to `read`.

mod bitmap;
mod easel;
mod paint;
mod shape;
mod tile;

use serde::{Deserialize, Serialize};

pub(super) use easel::drawn;
pub(super) use shape::Shape;

/// An ink as red, green and blue.
pub(super) type Ink = [u8; 3];

/// A part of a page: left, top, right and bottom.
pub(super) type Area = [f32; 4];

/// A glyph, or another path that is no plain line or rectangle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Sign {
    /// Its place among the page's shapes.
    pub(super) shape: u32,
    /// The middle of its outline's box.
    pub(super) at: [f32; 2],
    /// Width and height of that box.
    pub(super) size: [f32; 2],
    pub(super) ink: Ink,
    /// What a glyph stands for, and where.
    pub(super) text: Option<Text>,
}

/// A letter of a text, as far as the file tells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Text {
    /// The letter; nothing where the file does not tell.
    pub(super) letter: String,
    /// Where it begins on its base line.
    pub(super) origin: [f32; 2],
    /// How far the next letter is from there.
    pub(super) advance: f32,
    /// The size of the type.
    pub(super) em: f32,
    /// Where the next letter is: 0 at the right, 1 below, 2 at the left, 3 above.
    #[serde(default, skip_serializing_if = "is_level")]
    pub(super) turn: u8,
}

fn is_level(turn: &u8) -> bool {
    *turn == 0
}

/// A stroke of straight pieces.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Line {
    pub(super) points: Vec<[f32; 2]>,
    pub(super) width: f32,
    /// Lengths of dashes and gaps; none for an unbroken line.
    pub(super) dash: Vec<f32>,
    pub(super) ink: Ink,
    /// What shows of it, where it was cut.
    pub(super) cut: Option<Area>,
}

/// A filled rectangle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Fill {
    pub(super) area: Area,
    pub(super) ink: Ink,
    /// The shape of the pattern that it is filled with, if it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) pattern: Option<u32>,
}

/// Something on a page.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Item {
    /// A sign.
    #[serde(rename = "s")]
    Sign(Sign),
    /// A line.
    #[serde(rename = "l")]
    Line(Line),
    /// A fill.
    #[serde(rename = "f")]
    Fill(Fill),
}

/// All that is drawn on a page, in the order in which it is, as one reads it: upright by its letters.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub(super) struct Drawn {
    /// Width and height.
    pub(super) size: [f32; 2],
    pub(super) shapes: Vec<Shape>,
    pub(super) items: Vec<Item>,
    /// The share of the page that pictures cover.
    pub(super) pictures: f32,
    /// Whether there is more than is taken.
    pub(super) full: bool,
}

impl Drawn {
    /// The signs.
    pub(super) fn signs(&self) -> impl Iterator<Item = &Sign> {
        self.items.iter().filter_map(|item| match item {
            Item::Sign(sign) => Some(sign),
            _ => None,
        })
    }

    /// The fills.
    pub(super) fn fills(&self) -> impl Iterator<Item = &Fill> {
        self.items.iter().filter_map(|item| match item {
            Item::Fill(fill) => Some(fill),
            _ => None,
        })
    }
}
