//! Small pictures on a page: symbols that are dots of ink, and letters of fonts that are. Each becomes the outline of its
//! dots, and the colour round it.

use hayro::hayro_interpret::{Image, ImageData, LumaData};
use hayro::kurbo::{BezPath, Rect, Shape as _};

use super::Ink;
use super::paint::ink;

/// The most pixels of such a picture: a symbol of 6 mm at 1,200 dots to the inch has 80,000.
const MOST_PIXELS: u32 = 100_000;

/// The most runs of dots in one: the busiest symbols have some hundreds.
const MOST_RUNS: usize = 900;

/// So many different ones are traced on a page; more are a photo in pieces.
pub(super) const MOST: usize = 600;

/// A picture of fewer levels than this is of one colour.
const FLAT: u16 = 36;

/// A picture as an outline in its pixels.
pub(super) struct Traced {
    pub(super) path: BezPath,
    pub(super) ink: Ink,
    /// The colour round the outline; nothing where the page shows there.
    pub(super) ground: Option<Ink>,
}

/// Whether it has so few pixels that it may be a symbol.
pub(super) fn is_small(image: &Image<'_, '_>) -> bool {
    image.width().saturating_mul(image.height()) <= MOST_PIXELS
}

/// The outline of a picture; nothing where it is none.
pub(super) fn traced(image: &Image<'_, '_>, seen: f32) -> Option<Traced> {
    let mut found = None;
    match image {
        Image::Stencil(stencil) => stencil.with_stencil(
            |dots, paint| {
                let Some(ink) = ink(paint, seen) else { return };
                let is_ink = |x: usize, y: usize| {
                    dots.data.get(y * dots.width as usize + x).is_some_and(|&dot| dot > 127)
                };
                let path = outline([dots.width as usize, dots.height as usize], is_ink);
                found = path.map(|path| Traced { path, ink, ground: None });
            },
            None,
        ),
        Image::Raster(raster) => {
            raster.with_rgba(|data, alpha| found = of_colours(&data, alpha.as_ref()), None)
        }
    }
    found
}

/// The two colours of a picture: that of its rim is the ground, the other the ink.
fn of_colours(data: &ImageData, alpha: Option<&LumaData>) -> Option<Traced> {
    let (width, height) = (data.width() as usize, data.height() as usize);
    let pixel =
        |x: usize, y: usize| -> Option<Ink> {
            let at = y * width + x;
            let part = |values: &[u8], at: usize| values.get(at).copied();
            let own: Ink = match data {
                ImageData::Rgb(rgb) => {
                    [part(&rgb.data, at * 3)?, part(&rgb.data, at * 3 + 1)?, part(&rgb.data, at * 3 + 2)?]
                }
                ImageData::Luma(luma) => [part(&luma.data, at)?; 3],
            };
            let seen = alpha
                .filter(|alpha| (alpha.width as usize, alpha.height as usize) == (width, height))
                .and_then(|alpha| part(&alpha.data, at));
            let seen = u32::from(seen.unwrap_or(255));
            Some(own.map(|value| {
                u8::try_from((u32::from(value) * seen + 255 * (255 - seen)) / 255).unwrap_or(255)
            }))
        };
    let light = |ink: Ink| ink.iter().map(|&part| u16::from(part)).sum::<u16>() / 3;
    let mut all: Vec<Ink> = Vec::with_capacity(width * height);
    for y in 0..height {
        for x in 0..width {
            all.push(pixel(x, y)?);
        }
    }
    let (low, high) =
        all.iter().fold((255, 0), |(low, high), &ink| (light(ink).min(low), light(ink).max(high)));
    let mean = |of: &dyn Fn(u16) -> bool| {
        let own: Vec<&Ink> = all.iter().filter(|&&ink| of(light(ink))).collect();
        let count = own.len().max(1);
        [0, 1, 2].map(|part| {
            let sum: usize = own.iter().map(|ink| usize::from(ink[part])).sum();
            u8::try_from(sum / count).unwrap_or(255)
        })
    };
    let shown = |ink: Ink| Some(ink).filter(|&ink| light(ink) < 252);
    if high.saturating_sub(low) < FLAT {
        let whole = mean(&|_| true);
        return Some(Traced { path: BezPath::new(), ink: whole, ground: shown(whole) });
    }
    let middle = u16::midpoint(low, high);
    let is_dark = |x: usize, y: usize| light(all[y * width + x]) < middle;
    let rim = (0..width).flat_map(|x| [(x, 0), (x, height - 1)]);
    let rim = rim.chain((0..height).flat_map(|y| [(0, y), (width - 1, y)]));
    let dark = rim.filter(|&(x, y)| is_dark(x, y)).count();
    let is_inverse = dark > width + height;
    // Far from the middle, so that soft edges leave the colours as they are.
    let quarter = (high - low) / 4;
    let (darks, lights) = (mean(&|of| of <= low + quarter), mean(&|of| of >= high - quarter));
    let (ink, ground) = if is_inverse { (lights, darks) } else { (darks, lights) };
    let path = outline([width, height], |x, y| is_dark(x, y) != is_inverse)?;
    Some(Traced { path, ink, ground: shown(ground) })
}

/// The dots as rectangles, each as tall as its run goes on below; nothing where there are too many.
fn outline([width, height]: [usize; 2], is_ink: impl Fn(usize, usize) -> bool) -> Option<BezPath> {
    // Runs that are open: from, to, and the row in which each began.
    let mut open: Vec<[usize; 3]> = Vec::new();
    let mut done: Vec<Rect> = Vec::new();
    for y in 0..=height {
        let mut runs: Vec<[usize; 2]> = Vec::new();
        let mut x = 0;
        while y < height && x < width {
            let start = x;
            while x < width && is_ink(x, y) {
                x += 1;
            }
            if x > start {
                runs.push([start, x]);
            }
            x += 1;
        }
        open.retain(|&[from, to, top]| {
            let goes_on = runs.contains(&[from, to]);
            if !goes_on {
                done.push(Rect::new(from as f64, top as f64, to as f64, y as f64));
            }
            goes_on
        });
        for [from, to] in runs {
            if !open.iter().any(|known| known[..2] == [from, to]) {
                open.push([from, to, y]);
            }
        }
        if done.len() + open.len() > MOST_RUNS {
            return None;
        }
    }
    let mut path = BezPath::new();
    for rect in done {
        path.extend(rect.path_elements(0.1));
    }
    Some(path)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn dots_become_as_few_rectangles_as_their_runs_go_on() {
        let rows = ["##..", "##..", ".#.#"];
        let path = outline([4, 3], |x, y| rows[y].as_bytes()[x] == b'#').unwrap();
        let area: f64 = path.area();
        assert!((area.abs() - 6.0).abs() < 1e-9, "{area}");
        assert_eq!(path.elements().len() / 5, 3);
        assert!(outline([2, 2], |_, _| false).unwrap().is_empty());
        assert!(outline([100, 100], |x, y| (x + y) % 2 == 0).is_none());
    }
}
