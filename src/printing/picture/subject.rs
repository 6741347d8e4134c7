//! What was taken for the subject of a photo, drawn on the part that is used, with numbered rulers.

use image::{Rgb, RgbImage, RgbaImage};

use super::words::{BODY, words};
use crate::ground::colour::Srgb8;
use crate::ground::units::GridSize;
use crate::making::subject::Care;
use crate::printing::typeface::Weight;

/// The longer side of the photo in the picture, in pixels: a screen shows it whole.
pub const SUBJECT_SIDE: u32 = 1000;

/// Room for the rulers' numbers, at the left and at the top.
const RULERS: [u32; 2] = [62, 30];

/// The least between two numbers, in pixels.
const APART: f64 = 70.0;

const PAPER: Srgb8 = Srgb8::WHITE;
const INK: Srgb8 = Srgb8 { r: 0x20, g: 0x20, b: 0x20 };
/// As the edge of chosen cells is drawn.
const EDGE: Srgb8 = Srgb8 { r: 0xb0, g: 0x00, b: 0x50 };

/// The part of a photo that is used, what is around the subject paled, with an edge about the subject, faces and eyes,
/// and with rulers in the photo's pixels. `part` is where it begins in the photo and how large it is there; `cells` are
/// those of the chart, row by row, and `None` where no subject was sought; what is left `bare` is hatched in the cloth's
/// colour.
#[must_use]
pub fn subject(
    photo: &RgbaImage,
    part: [f64; 4],
    size: GridSize,
    cells: Option<&[Care]>,
    bare: Option<(&[bool], Srgb8)>,
) -> RgbImage {
    // A small photo is shown larger, in whole pixels.
    let times = (SUBJECT_SIDE / photo.width().max(photo.height()).max(1)).max(1);
    let photo = &image::imageops::resize(
        photo,
        photo.width() * times,
        photo.height() * times,
        image::imageops::FilterType::Nearest,
    );
    let [left, top] = RULERS;
    let (width, height) = photo.dimensions();
    let mut picture = RgbImage::from_pixel(left + width + 1, top + height + 1, pixel(PAPER));
    let cell = |x: u32, y: u32| {
        let column = u64::from(x) * u64::from(size.columns()) / u64::from(width);
        let row = u64::from(y) * u64::from(size.rows()) / u64::from(height);
        row as usize * size.width() + column as usize
    };
    let care = |x: u32, y: u32| cells.map_or(Care::Subject, |cells| cells[cell(x, y)]);
    let hatch = |x: u32, y: u32| {
        let (_, cloth) = bare.filter(|(bare, _)| bare[cell(x, y)])?;
        Some(if ((x + y) / HATCH).is_multiple_of(2) {
            cloth
        } else {
            INK.linear().mix(cloth.linear(), HATCHED).srgb8()
        })
    };
    for (x, y, &image::Rgba([r, g, b, alpha])) in photo.enumerate_pixels() {
        let colour = if alpha < 128 { PAPER } else { Srgb8 { r, g, b } };
        let own = care(x, y);
        let reach = |at: u32| [at.saturating_sub(1), at];
        let is_edge = reach(x).into_iter().any(|x| reach(y).into_iter().any(|y| care(x, y) != own));
        let shown = match own {
            _ if is_edge => EDGE,
            _ if hatch(x, y).is_some() => hatch(x, y).unwrap_or(PAPER),
            Care::Around => colour.linear().mix(PAPER.linear(), AROUND).srgb8(),
            Care::Subject | Care::Face | Care::Eye => colour,
        };
        picture.put_pixel(left + x, top + y, pixel(shown));
    }
    ruler(&mut picture, [part[0], part[2]], width, |along, aside| [left + along, top - 1 - aside]);
    ruler(&mut picture, [part[1], part[3]], height, |along, aside| [left - 1 - aside, top + along]);
    picture
}

/// How wide the stripes of what is left bare are, in pixels, and how dark every other one.
const HATCH: u32 = 5;
const HATCHED: f64 = 0.25;

/// How much is left of what is around.
const AROUND: f64 = 0.35;

/// Lengths of ticks, with a number and without.
const TICKS: [u32; 2] = [8, 4];

/// A ruler along so many pixels of the picture, from the first pixel of a photo on.
fn ruler(
    picture: &mut RgbImage,
    [from, length]: [f64; 2],
    pixels: u32,
    place: impl Fn(u32, u32) -> [u32; 2],
) {
    let scale = f64::from(pixels) / length;
    let step = step(APART / scale);
    #[allow(clippy::cast_sign_loss, reason = "a part begins within the photo")]
    let first = (from / step * 5.0).ceil() as u64;
    for fifth in first.. {
        let at = fifth as f64 * step / 5.0;
        #[allow(clippy::cast_sign_loss, reason = "not before the first")]
        let along = ((at - from) * scale).round() as u32;
        if along > pixels {
            break;
        }
        let is_numbered = fifth % 5 == 0;
        let tick = TICKS[usize::from(!is_numbered)];
        for aside in 0..tick {
            let [x, y] = place(along, aside);
            picture.put_pixel(x, y, pixel(INK));
        }
        if !is_numbered {
            continue;
        }
        let number = words(&format!("{at:.0}"), Weight::Regular, BODY, INK);
        let ([x, y], [beside, _]) = (place(along, tick + 4), place(0, 0));
        // A number at the side stands before its tick, one at the top over it.
        let is_at_side = place(1, 0)[1] > place(0, 0)[1];
        let (x, y) = if is_at_side {
            (x.saturating_sub(number.width()), y.saturating_sub(number.height() / 2))
        } else {
            (x.saturating_sub(number.width() / 2).max(beside), y.saturating_sub(number.height()))
        };
        let (x, y) = (x.min(picture.width().saturating_sub(number.width())), y.max(1));
        let y = y.min(picture.height().saturating_sub(number.height()));
        image::imageops::replace(picture, &number, i64::from(x), i64::from(y));
    }
}

/// The least of 5, 10, 20, 50 and so on that is at least so much: each can be divided by five.
fn step(least: f64) -> f64 {
    let mut ten = 5.0;
    loop {
        for step in [ten, ten * 2.0, ten * 4.0] {
            if step >= least {
                return step;
            }
        }
        ten *= 10.0;
    }
}

fn pixel(colour: Srgb8) -> Rgb<u8> {
    Rgb([colour.r, colour.g, colour.b])
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn numbers_stand_at_round_pixels_of_the_photo() {
        assert_eq!([3.0, 5.5, 21.0, 51.0, 99.0].map(step), [5.0, 10.0, 50.0, 100.0, 100.0]);
        let photo = RgbaImage::from_pixel(800, 600, image::Rgba([90, 140, 60, 255]));
        let size = GridSize::new(40, 30).unwrap();
        // A part of 800 x 600 pixels that begins at 130, 40: a pixel of the picture to one of the photo.
        let picture = subject(&photo, [130.0, 40.0, 800.0, 600.0], size, None, None);
        assert_eq!(picture.dimensions(), (863, 631));
        let ticks: Vec<u32> =
            (0..=800).filter(|&x| *picture.get_pixel(62 + x, 29 - 7) == pixel(INK)).collect();
        // Numbers at 200, 300 and so on to 900.
        assert_eq!(ticks, [70, 170, 270, 370, 470, 570, 670, 770]);
    }

    #[test]
    fn the_subject_keeps_its_colours_and_what_is_around_is_paled() {
        let colour = image::Rgba([90, 140, 60, 255]);
        let photo = RgbaImage::from_pixel(1000, 1000, colour);
        let size = GridSize::new(4, 4).unwrap();
        let cells: Vec<Care> =
            (0..16).map(|cell| if cell == 5 { Care::Subject } else { Care::Around }).collect();
        let picture = subject(&photo, [0.0, 0.0, 1000.0, 1000.0], size, Some(&cells), None);
        let at = |x: u32, y: u32| *picture.get_pixel(RULERS[0] + x, RULERS[1] + y);
        assert_eq!(at(400, 400), Rgb([90, 140, 60]));
        assert_eq!(at(250, 400), pixel(EDGE));
        assert!(at(800, 400).0.iter().zip([90, 140, 60]).all(|(&pale, own)| pale > own + 40));
    }
}
