//! A picture of the symbols that were found, each with its number and how often it stands.

use hayro::kurbo::{BezPath, ParamCurveNearest as _, PathSeg, Point, Shape as _, flatten, segments};
use image::{Rgb, RgbImage};

use super::chart::Sample;
use super::{Outlines, Read, ReadLine};
use crate::ground::colour::Srgb8;
use crate::printing::picture;

/// The side of a symbol's square in pixels: twice what it is on the screen of most pages.
const SIDE: u32 = 72;

const EDGE: Rgb<u8> = Rgb([0x90; 3]);

/// All symbols side by side, then lines and knots.
pub(crate) fn found(read: &Read) -> RgbImage {
    let symbols = read.symbols.iter();
    let lines = || read.lines.iter().chain(&read.knotted);
    let mut pieces: Vec<RgbImage> =
        symbols.clone().map(|symbol| square(&symbol.outlines, symbol.ground)).collect();
    pieces.extend(lines().map(|line| sample(&line.sample)));
    let mut captions: Vec<[String; 2]> =
        symbols.map(|symbol| [symbol.number.to_string(), format!("({})", symbol.stitches)]).collect();
    let length =
        |line: &ReadLine| if line.length > 0.0 { format!("({:.0})", line.length) } else { String::new() };
    captions.extend(lines().map(|line| [line.number.to_string(), length(line)]));
    picture::contact::side_by_side("Symbols that were found", &pieces, &captions)
}

/// Lines or a knot in a square.
fn sample(sample: &Sample) -> RgbImage {
    let ink = sample.ink;
    let ground = if ink.luminance() > 0.8 { Srgb8 { r: 0x60, g: 0x60, b: 0x60 } } else { Srgb8::WHITE };
    let mut drawn = square(sample.knot.as_ref().unwrap_or(&Vec::new()), Some(ground));
    let round: i32 = sample.dash.iter().sum();
    let is_drawn = |x: u32| {
        // A square's side is a third of the picture's, so that a few dashes are seen.
        let mut at = (x * 300 / SIDE) as i32;
        if round <= 0 {
            return true;
        }
        at %= round;
        let ends = sample.dash.iter().scan(0, |sum, &part| {
            *sum += part;
            Some(*sum)
        });
        ends.take_while(|&end| end <= at).count() % 2 == 0
    };
    if sample.knot.is_none() {
        for x in (4..SIDE - 4).filter(|&x| is_drawn(x)) {
            for y in SIDE / 2 - 2..SIDE / 2 + 2 {
                drawn.put_pixel(x, y, Rgb([ink.r, ink.g, ink.b]));
            }
        }
    }
    drawn
}

/// One symbol in its square.
fn square(outlines: &Outlines, ground: Option<Srgb8>) -> RgbImage {
    let ground = ground.unwrap_or(Srgb8::WHITE);
    let ink = if ground.luminance() > 0.18 { [0; 3] } else { [255; 3] };
    let mut drawn = RgbImage::from_pixel(SIDE, SIDE, Rgb([ground.r, ground.g, ground.b]));
    for (shape, at, size) in outlines {
        let width = shape.stroke().map(|width| width * f64::from(*size));
        let mut path = BezPath::new();
        let curved = shape.path(at.map(f64::from), f64::from(*size));
        flatten(curved, 0.002, |element| path.push(element));
        let pieces: Vec<PathSeg> = segments(path.iter()).collect();
        let is_inked = |point: Point| match width {
            Some(width) => pieces
                .iter()
                .any(|piece| piece.nearest(point, 1e-3).distance_sq.sqrt() <= (width / 2.0).max(0.012)),
            None => path.winding(point) != 0,
        };
        for y in 0..SIDE {
            for x in 0..SIDE {
                let [x_at, y_at] = [x, y].map(|at| (f64::from(at) + 0.5) / f64::from(SIDE) - 0.5);
                if is_inked(Point::new(x_at, y_at)) {
                    drawn.put_pixel(x, y, Rgb(ink));
                }
            }
        }
    }
    for at in 0..SIDE {
        for (x, y) in [(at, 0), (at, SIDE - 1), (0, at), (SIDE - 1, at)] {
            drawn.put_pixel(x, y, EDGE);
        }
    }
    drawn
}
