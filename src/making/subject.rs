//! What a picture is about: faces and their eyes, else what is sharp and stands out.
//!
//! Owns what is taken for the subject and how much more its cells weigh. Leaves finding faces to `faces`, what stands out
//! to `stands_out`, and what the weights do to `reduce`.

use image::{GrayImage, Luma, RgbaImage};
use serde::{Deserialize, Serialize};

use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stopped, ask};
use crate::ground::units::GridSize;

mod faces;
mod stands_out;

use faces::Face;

/// The longer side, in pixels, of the picture that [`look`] wants.
pub const SIDE: u32 = faces::SIDES[0];

/// The longer side of the picture in which what stands out is sought: about a chart's, and finer changes little.
const SMALL: u32 = 200;

/// Whether the subject is sought.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seek {
    /// It is, in photos.
    #[default]
    Subject,
    /// It is not: all parts weigh alike.
    Nothing,
}

/// What was taken for the subject.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    /// So many faces.
    Faces(usize),
    /// What is sharp and stands out.
    StandsOut,
    /// Nothing: the picture has no face, and nothing stands out clearly.
    Nothing,
}

/// What a cell is part of, from the least to the most that it weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Care {
    /// Of what is around the subject.
    Around,
    /// Of the subject, or of the head round a face.
    Subject,
    /// Of a face.
    Face,
    /// Of an eye.
    Eye,
}

impl Care {
    /// How much more the error of such a cell weighs than that of one around.
    ///
    /// The choice of threads weighs eyes fourfold besides, since nothing is smoothed in them. More brings faces nearer to
    /// the picture and the rest further from it: half as much again gains half of one per cent in faces, and costs as much
    /// in the whole (DEVELOPERS.md has the table).
    #[must_use]
    pub fn weight(self) -> f32 {
        match self {
            Self::Around => 1.0,
            Self::Subject => 3.0,
            Self::Face => 20.0,
            Self::Eye => 6.0,
        }
    }
}

/// What a picture is about, cell by cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// What was taken.
    pub taken: Taken,
    /// Row by row.
    pub cells: Vec<Care>,
}

impl Subject {
    /// The weight of each cell.
    #[must_use]
    pub fn weights(&self) -> Vec<f32> {
        self.cells.iter().map(|care| care.weight()).collect()
    }

    /// The share of the cells that are part of it, 0 to 1.
    #[must_use]
    pub fn share(&self) -> f64 {
        let inside = self.cells.iter().filter(|&&care| care > Care::Around).count();
        inside as f64 / self.cells.len().max(1) as f64
    }
}

/// What a picture shows, before it is known how many cells it becomes.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Its sides in pixels.
    sides: [u32; 2],
    found: Found,
}

#[derive(Debug, Clone, PartialEq)]
enum Found {
    Faces(Vec<Face>),
    /// A mark for each pixel of a smaller picture, and its sides.
    StandsOut(Vec<bool>, [u32; 2]),
    Nothing,
}

/// Seeks the subject of a picture: the part that is used, its longer side no more than [`SIDE`].
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn look(picture: &RgbaImage, progress: &dyn Progress) -> Result<Seen, Stopped> {
    let sides = [picture.width(), picture.height()];
    let grey = GrayImage::from_fn(picture.width(), picture.height(), |x, y| {
        let Srgb8 { r, .. } = shown(picture, x, y).grey();
        Luma([r])
    });
    ask(progress)?;
    let faces = faces::faces(&grey, progress)?;
    if !faces.is_empty() {
        return Ok(Seen { sides, found: Found::Faces(faces) });
    }
    let small = smaller(picture);
    let mut planes = [0; 3].map(|_| stands_out::Plane::new(small.width(), small.height()));
    for (x, y, _) in small.enumerate_pixels() {
        let lab = shown(&small, x, y).lab();
        for (plane, value) in planes.iter_mut().zip([lab.l, lab.a, lab.b]) {
            plane.put_pixel(x, y, Luma([value as f32]));
        }
    }
    let map = stands_out::stands_out(&planes);
    ask(progress)?;
    let marks = stands_out::taken(&map);
    let found =
        marks.map_or(Found::Nothing, |marks| Found::StandsOut(marks, [small.width(), small.height()]));
    Ok(Seen { sides, found })
}

impl Seen {
    /// The subject, cell by cell, where the picture becomes a chart of this size.
    #[must_use]
    pub fn subject(&self, size: GridSize) -> Subject {
        let scale = [
            f64::from(size.columns()) / f64::from(self.sides[0]),
            f64::from(size.rows()) / f64::from(self.sides[1]),
        ];
        let place = |cell: usize| [cell % size.width(), cell / size.width()];
        let all = 0..size.cells();
        let (taken, cells) = match &self.found {
            Found::Nothing => (Taken::Nothing, vec![Care::Around; size.cells()]),
            Found::Faces(faces) => {
                let least = 1.0 / scale[0].min(scale[1]);
                let cells = all.map(|cell| {
                    let at = [0, 1].map(|axis| (place(cell)[axis] as f64 + 0.5) / scale[axis]);
                    faces.iter().map(|face| care(face, at, least)).max().unwrap_or(Care::Around)
                });
                (Taken::Faces(faces.len()), cells.collect())
            }
            Found::StandsOut(marks, [width, height]) => {
                let along =
                    |at: usize, cells: usize, pixels: u32| (2 * at + 1) * pixels as usize / (2 * cells);
                let cells = all.map(|cell| {
                    let [column, row] = place(cell);
                    let (x, y) = (along(column, size.width(), *width), along(row, size.height(), *height));
                    if marks[y * *width as usize + x] { Care::Subject } else { Care::Around }
                });
                (Taken::StandsOut, cells.collect())
            }
        };
        Subject { taken, cells }
    }
}

/// A pixel as it is looked at: what is clear is a middle grey.
fn shown(picture: &RgbaImage, x: u32, y: u32) -> Srgb8 {
    let [r, g, b, alpha] = picture.get_pixel(x, y).0;
    if alpha < 128 { Srgb8 { r: 119, g: 119, b: 119 } } else { Srgb8 { r, g, b } }
}

fn smaller(picture: &RgbaImage) -> RgbaImage {
    let longest = picture.width().max(picture.height());
    if longest <= SMALL {
        return picture.clone();
    }
    let of = |length: u32| (length * SMALL / longest).max(1);
    image::imageops::thumbnail(picture, of(picture.width()), of(picture.height()))
}

/// What a place is part of, where `least` is the side of a cell.
fn care(face: &Face, at: [f64; 2], least: f64) -> Care {
    let within = |middle: [f64; 2], halves: [f64; 2]| {
        let square = |axis: usize| {
            let off = (at[axis] - middle[axis]) / halves[axis];
            off * off
        };
        square(0) + square(1) <= 1.0
    };
    let [x, y] = face.middle;
    let of = |[across, down]: [f64; 2]| [across * face.side, down * face.side];
    let eye = of(EYE).map(|half| half.max(least));
    if face.eyes.iter().any(|&middle| within(middle, eye)) {
        Care::Eye
    } else if within([x, y + FACE_LOWER * face.side], of(FACE)) {
        Care::Face
    } else if within([x, y - HEAD_HIGHER * face.side], of(HEAD)) {
        Care::Subject
    } else {
        Care::Around
    }
}

/// Half as wide and half as high as an eye with its lids, a face, and a head with its hair, as shares of the square in
/// which a face is found; measured on portraits.
const EYE: [f64; 2] = [0.13, 0.08];
const FACE: [f64; 2] = [0.46, 0.57];
const HEAD: [f64; 2] = [0.72, 0.9];

/// How far the middles of face and head are from the square's.
const FACE_LOWER: f64 = 0.03;
const HEAD_HIGHER: f64 = 0.12;

#[cfg(test)]
mod tests;
