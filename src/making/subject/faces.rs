//! Faces that look out of the picture, and their eyes.
//!
//! Owns at which sizes they are sought and which are believed. The finding itself is `rustface`'s, with its model.

use std::sync::LazyLock;

use image::imageops::thumbnail;
use image::{GrayImage, Luma};
use rustface::{ImageData, Model};

use crate::ground::progress::{Progress, Stopped, aside};

/// The model (`frontal/SOURCE.md`).
static MODEL: LazyLock<Option<Model>> =
    LazyLock::new(|| rustface::read_model(&include_bytes!("frontal/seeta_fd_frontal_v1.0.bin")[..]).ok());

/// A face and its eyes, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Face {
    /// The middle, between nose and eyes.
    pub(super) middle: [f64; 2],
    /// From ear to ear, nearly.
    pub(super) side: f64,
    /// The middles of both eyes, the one at the left in the picture first.
    pub(super) eyes: [[f64; 2]; 2],
}

/// The longer sides, in pixels, at which faces are sought. The finder's window has 40: at 576 a face of a fourteenth of
/// the picture is found; at 336 those of large portraits surely, painted ones above all.
pub(super) const SIDES: [u32; 2] = [576, 336];

/// What a face must score. Of 80 pictures without faces the highest was 1.7; portraits have 12 to 40, painted and small
/// ones 2 to 4.
const SCORE: f64 = 2.0;

/// Two finds that share so much of what they cover together are one face.
const SAME: f64 = 0.3;

/// The finder's window, in pixels: smaller pictures have no faces for it.
const WINDOW: u32 = 40;

/// What the finder gives: left, top and side of each face, and its score.
type Found = Result<Vec<([f64; 3], f64)>, Stopped>;

/// The faces in a picture of which the longer side is at most the first of [`SIDES`], the surest first.
pub(super) fn faces(picture: &GrayImage, progress: &dyn Progress) -> Result<Vec<Face>, Stopped> {
    let longest = picture.width().max(picture.height());
    let at = |side: u32| {
        let scale = f64::from(longest) / f64::from(side.min(longest));
        let of = |length: u32| ((f64::from(length) / scale).round() as u32).max(1);
        let smaller = if scale > 1.0 {
            thumbnail(picture, of(picture.width()), of(picture.height()))
        } else {
            picture.clone()
        };
        if smaller.width().min(smaller.height()) < WINDOW + 2 {
            return Ok(Vec::new());
        }
        let boxes = aside(progress, move || boxes(&smaller))?.unwrap_or_default();
        Ok(boxes.into_iter().map(|(place, score)| (place.map(|at| at * scale), score)).collect())
    };
    let [first, second] = SIDES;
    // At the second size a small picture would be the same again.
    let again = || if longest <= second { Ok(Vec::new()) } else { at(second) };
    let (large, small): (Found, Found) = rayon::join(|| at(first), again);
    let mut found = large?;
    found.extend(small?);
    found.sort_by(|one, other| other.1.total_cmp(&one.1));
    let mut kept: Vec<[f64; 3]> = Vec::new();
    for (place, _) in found {
        if !kept.iter().any(|&other| shared(place, other) > SAME) {
            kept.push(place);
        }
    }
    Ok(kept.into_iter().map(|place| face(picture, place)).collect())
}

/// Left, top and side of each face, and its score.
fn boxes(picture: &GrayImage) -> Vec<([f64; 3], f64)> {
    let Some(model) = MODEL.as_ref() else { return Vec::new() };
    let mut finder = rustface::create_detector_with_model(model.clone());
    finder.set_score_thresh(SCORE);
    let (width, height) = picture.dimensions();
    // A little under the whole: at the whole, rounding could leave the smallest picture a pixel short of the window, and
    // the finder does not look whether it did.
    finder.set_max_face_size((width.min(height) - 1).max(WINDOW));
    finder
        .detect(&ImageData::new(picture.as_raw(), width, height))
        .iter()
        .map(|face| {
            let place = face.bbox();
            ([f64::from(place.x()), f64::from(place.y()), f64::from(place.width())], face.score())
        })
        .filter(|([.., side], _)| *side >= f64::from(WINDOW) / 4.0)
        .collect()
}

/// What two squares share of what they cover together.
fn shared(one: [f64; 3], other: [f64; 3]) -> f64 {
    let along = |axis: usize| {
        let end = (one[axis] + one[2]).min(other[axis] + other[2]);
        (end - one[axis].max(other[axis])).max(0.0)
    };
    let both = along(0) * along(1);
    both / (one[2] * one[2] + other[2] * other[2] - both)
}

/// Where the eyes are in a face's square, and how far from there they are looked for: as shares of its side, measured
/// on portraits.
const EYES: [[f64; 2]; 2] = [[0.31, 0.38], [0.69, 0.38]];
const LOOK: [f64; 2] = [0.08, 0.08];

/// How large what is looked at for darkness is, as a share of the side: an iris with its lashes.
const IRIS: f64 = 0.05;

/// A face with its eyes where it is darkest near the places where eyes are.
fn face(picture: &GrayImage, [left, top, side]: [f64; 3]) -> Face {
    let eyes = EYES.map(|[x, y]| {
        let middle = [left + x * side, top + y * side];
        let steps = || (-4..=4).map(|step| f64::from(step) / 4.0);
        let places = steps().flat_map(|down| steps().map(move |across| [across, down]));
        let darkest = places.map(|[across, down]| {
            let at = [middle[0] + across * LOOK[0] * side, middle[1] + down * LOOK[1] * side];
            // Of equally dark places the one nearest to the middle.
            (at, mean(picture, at, IRIS * side) + 2.0 * (across * across + down * down))
        });
        darkest.min_by(|one, other| one.1.total_cmp(&other.1)).map_or(middle, |(at, _)| at)
    });
    Face { middle: [left + side / 2.0, top + side / 2.0], side, eyes }
}

/// The mean of a square so far to each side of a place; white outside the picture.
fn mean(picture: &GrayImage, [x, y]: [f64; 2], reach: f64) -> f64 {
    let span = |at: f64| (at - reach).round() as i64..=(at + reach).round() as i64;
    let value = |x: i64, y: i64| {
        let (x, y) = (u32::try_from(x).ok()?, u32::try_from(y).ok()?);
        picture.get_pixel_checked(x, y).map(|&Luma([value])| value)
    };
    let (mut sum, mut count) = (0.0, 0.0);
    for (x, y) in span(y).flat_map(|y| span(x).map(move |x| (x, y))) {
        sum += f64::from(value(x, y).unwrap_or(u8::MAX));
        count += 1.0;
    }
    sum / count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn squares_share_what_they_cover_together() {
        // By hand: two squares of side 2, one moved by 1 across, share 2 of 6.
        assert!((shared([0.0, 0.0, 2.0], [1.0, 0.0, 2.0]) - 1.0 / 3.0).abs() < 1e-12);
        assert!(shared([0.0, 0.0, 2.0], [2.0, 0.0, 2.0]).abs() < 1e-12);
    }

    #[test]
    fn no_picture_that_is_looked_at_becomes_smaller_than_the_window() {
        // The finder makes the picture smaller by its step as long as the scale is not under this (crate `rustface`).
        for side in WINDOW + 2..=SIDES[0] {
            let least = WINDOW as f32 / (side - 1) as f32;
            let mut scale = 1.0_f32;
            while scale >= least {
                assert!((side as f32 * scale) as u32 >= WINDOW, "{side} at {scale}");
                scale *= 0.8;
            }
            assert!((side as f32 * least) as u32 >= WINDOW, "{side}");
        }
    }

    #[test]
    fn the_model_is_read() {
        assert!(MODEL.is_some());
    }
}
