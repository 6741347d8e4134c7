//! A shade card from a photo: threads laid out in a grid, a white sheet of paper beside them.
//!
//! Owns white balance and sampling. A photo is no spectrophotometer: lamp, camera and sheen all tint what it
//! says, and two threads that it cannot tell apart may differ in daylight.

mod light;

use std::fmt;
use std::str::FromStr;

use image::{Rgb, RgbImage, Rgba, RgbaImage};
use serde::Serialize;

use crate::ground::advice::Advice;
use crate::ground::colour::{LinearRgb, Srgb8};

/// The share of light that office paper gives back: 0.85 (common practice, no source). All colours are
/// lighter or darker with it; their hues are not.
pub const PAPER_WHITE: f64 = 0.85;

/// The share of a place, from its middle, that is looked at: its edges may show the neighbour or the ground.
pub const MIDDLE: f64 = 0.5;

/// The share of the paper that may be burnt out: specks of it say nothing, more and its median is no measure.
const MOST_BURNT: f64 = 0.05;

/// From this value on a channel is taken for burnt out: cameras stop a step short of the last.
const BURNT: u8 = 254;

/// The most that light may fall off across paper and grid: at a tenth less, L* of a middle tone is lower by some 4
/// and colours are off by 3 ΔE00, which is what people accept for a substitute (common practice, no source).
pub const MOST_FALL_OFF: f64 = 0.10;

/// A rectangle of a picture in pixels: left, top, width, height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// From the left.
    pub x: u32,
    /// From the top.
    pub y: u32,
    /// Across.
    pub width: u32,
    /// Down.
    pub height: u32,
}

/// What a part of a photo is to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhotoPart {
    /// White paper.
    Paper,
    /// A grid of threads.
    Grid,
    /// Thread laid close.
    Thread,
    /// Bare cloth.
    Cloth,
    /// Stitches on cloth.
    Swatch,
}

impl fmt::Display for PhotoPart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Paper => "paper",
            Self::Grid => "grid",
            Self::Thread => "thread",
            Self::Cloth => "cloth",
            Self::Swatch => "swatch",
        })
    }
}

/// A text that is no rectangle of a picture.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not left,top,width,height in pixels")]
pub struct PartError {
    /// What was given.
    pub text: String,
}

impl FromStr for Part {
    type Err = PartError;
    fn from_str(text: &str) -> Result<Self, PartError> {
        let bad = || PartError { text: text.to_owned() };
        let numbers = text.split(',').map(|number| number.trim().parse().map_err(|_| bad()));
        match numbers.collect::<Result<Vec<u32>, _>>()?.as_slice() {
            &[x, y, width, height] => Ok(Self { x, y, width, height }),
            _ => Err(bad()),
        }
    }
}

impl Part {
    /// Whether it lies on a photo, and is any part of it.
    ///
    /// # Errors
    /// [`SwatchError::Outside`] names `what` it was to be.
    pub fn on(self, photo: &RgbaImage, what: PhotoPart) -> Result<(), SwatchError> {
        let (width, height) = photo.dimensions();
        let fits = |from: u32, length: u32, limit: u32| {
            length > 0 && from.checked_add(length).is_some_and(|end| end <= limit)
        };
        if fits(self.x, self.width, width) && fits(self.y, self.height, height) {
            Ok(())
        } else {
            Err(SwatchError::Outside { what, part: self, width, height })
        }
    }
}

/// The colour of a part of a photo as it is there: the median, channel by channel in linear light.
///
/// # Errors
/// [`SwatchError::Outside`] where it does not lie on the photo.
pub fn median_of(photo: &RgbaImage, part: Part, what: PhotoPart) -> Result<LinearRgb, SwatchError> {
    part.on(photo, what)?;
    Ok(LinearRgb { channels: median(&lights(photo, part)) })
}

/// Where what lies on the photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// The white paper.
    pub paper: Part,
    /// The grid of threads, all its places together.
    pub grid: Part,
    /// Places across.
    pub columns: u32,
    /// Places down.
    pub rows: u32,
}

/// A photo that cannot be read as a card.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SwatchError {
    /// A rectangle that is not on the photo.
    #[error("the {what} at {},{},{},{} does not lie on a photo of {width} x {height} pixels", part.x, part.y, part.width, part.height)]
    Outside {
        /// What was to be there.
        what: PhotoPart,
        /// Where it was said to be.
        part: Part,
        /// The photo's width.
        width: u32,
        /// The photo's height.
        height: u32,
    },
    /// Places too small to sample.
    #[error("the places of {columns} x {rows} threads are under 4 pixels wide or high")]
    Small {
        /// Places across.
        columns: u32,
        /// Places down.
        rows: u32,
    },
    /// Paper that is not white.
    #[error("the paper is too dark to balance by")]
    Dark,
    /// Paper that is burnt out.
    #[error("{percent} % of the paper is burnt out to white: its tint and its light cannot be read")]
    BurntOut {
        /// How much of it.
        percent: u32,
    },
}

impl SwatchError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Outside { .. } => Advice::PlaceInPixels,
            Self::Small { .. } => Advice::NearerGrid,
            Self::Dark => Advice::LightPaper,
            Self::BurntOut { .. } => Advice::LessExposure,
        }
    }
}

/// Something about a photo that its owner should know.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum SwatchWarning {
    /// Light that falls off from one side to the other: threads there come out too dark.
    LightFallsOff {
        /// How much less light falls on the darkest corner of what is read than on the lightest, 0 to 1.
        share: f64,
    },
}

/// What a photo says of its threads.
#[derive(Debug, Clone, PartialEq)]
pub struct Swatches {
    /// A colour for each place, row by row.
    pub colours: Vec<Srgb8>,
    /// How uneven each place is: the median ΔE00 of its pixels to its colour.
    pub unevenness: Vec<f64>,
    /// What its owner should know.
    pub warnings: Vec<SwatchWarning>,
    /// The photo balanced, with what was sampled framed and the result beside it.
    pub check: RgbImage,
}

/// Reads the colours of threads off a photo in sRGB.
///
/// The median of the paper, channel by channel in linear light, is made neutral and as light as
/// [`PAPER_WHITE`] (von Kries' rule on the photo's own primaries). Each place's colour is the median of its
/// middle, channel by channel in linear light.
///
/// # Errors
/// [`SwatchError`] says which place cannot be read.
pub fn swatches(photo: &RgbaImage, layout: &Layout) -> Result<Swatches, SwatchError> {
    for (what, part) in [(PhotoPart::Paper, layout.paper), (PhotoPart::Grid, layout.grid)] {
        part.on(photo, what)?;
    }
    let Layout { columns, rows, grid, .. } = *layout;
    if columns == 0 || rows == 0 || grid.width / columns < 4 || grid.height / rows < 4 {
        return Err(SwatchError::Small { columns, rows });
    }
    let paper = median(&lights(photo, layout.paper));
    if paper.iter().any(|&channel| channel < 0.1) {
        return Err(SwatchError::Dark);
    }
    let burnt = burnt_out(photo, layout.paper);
    if burnt > MOST_BURNT {
        #[allow(clippy::cast_sign_loss, reason = "a share is not negative")]
        let percent = (burnt * 100.0).round() as u32;
        return Err(SwatchError::BurntOut { percent });
    }
    let share = light::fall_off(photo, layout);
    let warnings =
        (share > MOST_FALL_OFF).then_some(SwatchWarning::LightFallsOff { share }).into_iter().collect();
    let gains = paper.map(|channel| PAPER_WHITE / channel);
    let balance = |light: [f64; 3]| [light[0] * gains[0], light[1] * gains[1], light[2] * gains[2]];
    let mut colours = Vec::new();
    let mut unevenness = Vec::new();
    let places: Vec<Part> = (0..rows)
        .flat_map(|row| (0..columns).map(move |column| place(grid, columns, rows, column, row)))
        .collect();
    for &part in &places {
        let lights: Vec<[f64; 3]> = lights(photo, part).into_iter().map(balance).collect();
        let colour = LinearRgb { channels: median(&lights) };
        let lab = colour.lab();
        let mut differences: Vec<f64> =
            lights.iter().map(|&channels| LinearRgb { channels }.lab().ciede2000(lab)).collect();
        differences.sort_by(f64::total_cmp);
        unevenness.push(differences[differences.len() / 2]);
        colours.push(colour.srgb8());
    }
    let check = check(photo, layout, &places, &colours, balance);
    Ok(Swatches { colours, unevenness, warnings, check })
}

/// The middle of a place.
fn place(grid: Part, columns: u32, rows: u32, column: u32, row: u32) -> Part {
    let middle = |from: u32, length: u32, count: u32, index: u32| {
        let step = f64::from(length) / f64::from(count);
        let start = f64::from(from) + step * (f64::from(index) + (1.0 - MIDDLE) / 2.0);
        #[allow(clippy::cast_sign_loss, reason = "places lie on the photo")]
        let part = (start as u32, ((step * MIDDLE) as u32).max(1));
        part
    };
    let (x, width) = middle(grid.x, grid.width, columns, column);
    let (y, height) = middle(grid.y, grid.height, rows, row);
    Part { x, y, width, height }
}

fn lights(photo: &RgbaImage, part: Part) -> Vec<[f64; 3]> {
    // A large place has more pixels than are needed: every nth is taken, some ten thousand in all.
    let step = (((u64::from(part.width) * u64::from(part.height)) / 10_000) as f64).sqrt().max(1.0);
    #[allow(clippy::cast_sign_loss, reason = "one at least")]
    let step = step as usize;
    (part.y..part.y + part.height)
        .step_by(step)
        .flat_map(|y| (part.x..part.x + part.width).step_by(step).map(move |x| (x, y)))
        .map(|(x, y)| {
            let Rgba([r, g, b, _]) = *photo.get_pixel(x, y);
            Srgb8 { r, g, b }.linear().channels
        })
        .collect()
}

/// The share of a part with a channel at its end.
fn burnt_out(photo: &RgbaImage, part: Part) -> f64 {
    let is_burnt = |(x, y)| {
        let Rgba([r, g, b, _]) = *photo.get_pixel(x, y);
        r.max(g).max(b) >= BURNT
    };
    let pixels =
        (part.y..part.y + part.height).flat_map(|y| (part.x..part.x + part.width).map(move |x| (x, y)));
    pixels.filter(|&at| is_burnt(at)).count() as f64 / (f64::from(part.width) * f64::from(part.height))
}

fn median(lights: &[[f64; 3]]) -> [f64; 3] {
    let channel = |index: usize| {
        let mut values: Vec<f64> = lights.iter().map(|light| light[index]).collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied().unwrap_or_default()
    };
    [channel(0), channel(1), channel(2)]
}

/// The longer side of a check picture, in pixels.
const CHECK_SIDE: u32 = 1600;

fn check(
    photo: &RgbaImage,
    layout: &Layout,
    places: &[Part],
    colours: &[Srgb8],
    balance: impl Fn([f64; 3]) -> [f64; 3],
) -> RgbImage {
    let scale = photo.width().max(photo.height()).div_ceil(CHECK_SIDE).max(1);
    let (width, height) = (photo.width() / scale, photo.height() / scale);
    let mut picture = RgbImage::from_fn(width.max(1), height.max(1), |x, y| {
        let Rgba([r, g, b, _]) = *photo.get_pixel(x * scale, y * scale);
        let colour = LinearRgb { channels: balance(Srgb8 { r, g, b }.linear().channels) }.srgb8();
        Rgb([colour.r, colour.g, colour.b])
    });
    let frame = |picture: &mut RgbImage, part: Part, colour: Rgb<u8>, filled: Option<Rgb<u8>>| {
        let (left, top) = (part.x / scale, part.y / scale);
        let (right, bottom) = ((part.x + part.width) / scale, (part.y + part.height) / scale);
        for y in top..bottom.min(picture.height()) {
            for x in left..right.min(picture.width()) {
                let edge = x == left || y == top || x + 1 == right || y + 1 == bottom;
                if let Some(paint) = if edge { Some(colour) } else { filled } {
                    picture.put_pixel(x, y, paint);
                }
            }
        }
    };
    frame(&mut picture, layout.paper, Rgb([0, 0, 0]), None);
    for (part, colour) in places.iter().zip(colours) {
        frame(&mut picture, *part, Rgb([0, 0, 0]), None);
        // The lower half of what was looked at is painted in the result: it should hardly be seen.
        let lower = Part { y: part.y + part.height / 2, height: part.height - part.height / 2, ..*part };
        frame(&mut picture, lower, Rgb([0, 0, 0]), Some(Rgb([colour.r, colour.g, colour.b])));
    }
    picture
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;

    /// Six known colours on grey ground with a strip of paper above, under a yellowish lamp, with dust on them.
    fn photo(colours: &[Srgb8; 6], lamp: [f64; 3]) -> RgbaImage {
        RgbaImage::from_fn(300, 260, |x, y| {
            let dust = (x * 7 + y * 13) % 17 == 0;
            let light = if y < 50 {
                [PAPER_WHITE; 3]
            } else if x % 100 < 15 || dust {
                [0.2; 3]
            } else {
                colours[(y.saturating_sub(60) / 100).min(1) as usize * 3 + (x / 100) as usize]
                    .linear()
                    .channels
            };
            let channels = [light[0] * lamp[0], light[1] * lamp[1], light[2] * lamp[2]];
            let colour = LinearRgb { channels }.srgb8();
            Rgba([colour.r, colour.g, colour.b, 255])
        })
    }

    fn layout() -> Layout {
        Layout {
            paper: Part { x: 20, y: 5, width: 200, height: 40 },
            grid: Part { x: 0, y: 60, width: 300, height: 200 },
            columns: 3,
            rows: 2,
        }
    }

    #[test]
    fn known_colours_come_back_from_under_a_tinted_lamp() {
        let colours = ["#204060", "#a03020", "#d0c0a0", "#3a6b3a", "#6a4a7a", "#888888"]
            .map(|colour| colour.parse::<Srgb8>().unwrap());
        let found = swatches(&photo(&colours, [0.95, 0.8, 0.55]), &layout()).unwrap();
        for (found, wanted) in found.colours.iter().zip(colours) {
            let off = found.lab().ciede2000(wanted.lab());
            // What eight bits leave of dark blue under a lamp with little blue.
            assert!(off < 1.0, "{found} {wanted} {off}");
        }
        assert!(found.unevenness.iter().all(|&uneven| uneven < 0.5));
        assert_eq!(found.check.dimensions(), (300, 260));
        assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    }

    #[test]
    fn light_that_falls_off_is_found_in_the_paper_whichever_way_it_falls() {
        let grey = ["#808080"; 6].map(|colour| colour.parse::<Srgb8>().unwrap());
        let even = photo(&grey, [0.9; 3]);
        // Light falls off evenly by so much from the left, the right or the top, with grain of two in a hundred.
        let lit = |share: f64, way: fn(f64, f64) -> f64| {
            RgbaImage::from_fn(300, 260, |x, y| {
                let Rgba([r, g, b, _]) = *even.get_pixel(x, y);
                let grain = 1.0 + 0.02 * (f64::from((x * 7919 + y * 104_729) % 101) / 50.0 - 1.0);
                let light = (1.0 - share * way(f64::from(x) / 300.0, f64::from(y) / 260.0)) * grain;
                let channels = Srgb8 { r, g, b }.linear().channels.map(|channel| channel * light);
                let colour = LinearRgb { channels }.srgb8();
                Rgba([colour.r, colour.g, colour.b, 255])
            })
        };
        let told = |photo: &RgbaImage| swatches(photo, &layout()).unwrap().warnings;
        for way in [|x: f64, _: f64| x, |x: f64, _: f64| 1.0 - x, |_: f64, y: f64| y] {
            let warnings = told(&lit(0.4, way));
            let Some(SwatchWarning::LightFallsOff { share }) = warnings.first() else { panic!("not told") };
            assert!((0.28..0.5).contains(share), "{share}");
            assert!(told(&lit(0.04, way)).is_empty());
        }
    }

    #[test]
    fn what_cannot_be_read_is_refused() {
        let grey = ["#808080"; 6].map(|colour| colour.parse::<Srgb8>().unwrap());
        let picture = photo(&grey, [0.9; 3]);
        let outside = Layout { grid: Part { x: 200, y: 60, width: 101, height: 100 }, ..layout() };
        assert!(matches!(
            swatches(&picture, &outside),
            Err(SwatchError::Outside { what: PhotoPart::Grid, .. })
        ));
        let many = Layout { columns: 100, ..layout() };
        assert!(matches!(swatches(&picture, &many), Err(SwatchError::Small { .. })));
        assert_eq!(swatches(&photo(&grey, [0.05; 3]), &layout()), Err(SwatchError::Dark));
        let burnt =
            |photo: &RgbaImage| matches!(swatches(photo, &layout()), Err(SwatchError::BurntOut { .. }));
        assert!(burnt(&photo(&grey, [2.0; 3])));
        // One channel at its end is enough: the lamp's tint cannot be read. And a step short of pure white is burnt too.
        assert!(burnt(&photo(&grey, [1.3, 0.9, 0.7])));
        let mut nearly = picture.clone();
        for (_, y, pixel) in nearly.enumerate_pixels_mut() {
            if y < 50 {
                *pixel = Rgba([254, 254, 254, 255]);
            }
        }
        assert!(burnt(&nearly));
    }
}
