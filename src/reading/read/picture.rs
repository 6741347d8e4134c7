//! A picture of the symbols that were found, each with its number and how often it stands.

use hayro::kurbo::{BezPath, ParamCurveNearest as _, PathSeg, Point, Shape as _, flatten, segments};
use image::{Rgb, RgbImage};

use super::{FoundSymbol, Outlines};
use crate::ground::colour::Srgb8;
use crate::printing::picture;

/// The side of a symbol's square in pixels: twice what it is on the screen of most pages.
const SIDE: u32 = 72;

const EDGE: Rgb<u8> = Rgb([0x90; 3]);

/// All symbols side by side.
pub(crate) fn found(symbols: &[FoundSymbol]) -> RgbImage {
    let pieces: Vec<RgbImage> =
        symbols.iter().map(|symbol| square(&symbol.outlines, symbol.ground)).collect();
    let captions: Vec<[String; 2]> =
        symbols.iter().map(|symbol| [symbol.number.to_string(), format!("({})", symbol.stitches)]).collect();
    picture::contact::side_by_side("Symbols that were found", &pieces, &captions)
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
