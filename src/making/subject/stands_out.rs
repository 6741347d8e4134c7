//! What stands out and is sharp, where there is no face: two published measures, multiplied.
//!
//! Standing out is the minimum barrier distance to the picture's edge with the edge's own colours beside it (MB+), as
//! Zhang, Sclaroff, Lin, Shen, Price and Mech (2015), "Minimum barrier salient object detection at 80 FPS", ICCV 2015:
//! 1404-1412, give it. Sharpness is how far a second blur takes an edge's slope down: Zhuo and Sim (2011), "Defocus map
//! estimation from a single image", Pattern Recognition 44: 1852-1858, equations 4 to 6.

use image::{GrayImage, ImageBuffer, Luma};
use imageproc::contrast::otsu_level;
use imageproc::distance_transform::Norm;
use imageproc::filter::separable_filter;
use imageproc::morphology::close;
use imageproc::region_labelling::{Connectivity, connected_components};

/// One value a pixel.
pub(super) type Plane = ImageBuffer<Luma<f32>, Vec<f32>>;

/// Turns of the raster scan; the authors found that three settle it.
const TURNS: usize = 3;

/// The share of the sides that counts as the picture's edge: a tenth, as the authors have it.
const EDGE: f64 = 0.1;

/// A pixel's part in the subject, 0 to 1, from its lightness, a and b.
pub(super) fn stands_out(lab: &[Plane; 3]) -> Plane {
    let (width, height) = lab[0].dimensions();
    let mut barrier = vec![0.0_f32; lab[0].len()];
    for plane in lab {
        for (sum, distance) in barrier.iter_mut().zip(barrier_distance(plane)) {
            *sum += distance;
        }
    }
    let beside = unlike_edges(lab);
    let mut whole = to_one(barrier, PLAIN_BARRIER);
    for (one, other) in whole.iter_mut().zip(to_one(beside, 1.0)) {
        *one += other;
    }
    let whole = to_one(whole, 1.0);
    let sharp = sharpness(&lab[0]);
    let centre = |at: u32, side: u32| (f64::from(at) + 0.5) / f64::from(side) - 0.5;
    let mut map = Plane::from_fn(width, height, |x, y| {
        let at = (y * width + x) as usize;
        let away = libm::hypot(centre(x, width), centre(y, height)) as f32;
        Luma([whole[at] * (1.0 - OFF_CENTRE * away) * (BLURRED + (1.0 - BLURRED) * sharp[at])])
    });
    let most = map.iter().copied().fold(0.0, f32::max).max(PLAIN_MAP);
    map.iter_mut().for_each(|value| *value /= most);
    map
}

/// By how much a pixel half a side from the middle counts less: people put what they mean near the middle.
const OFF_CENTRE: f32 = 0.6;

/// What the most blurred pixel counts beside the sharpest.
const BLURRED: f32 = 0.3;

/// The picture blurred by so many pixels. The weights are `libm`'s: the same on every system.
fn blurred(plane: &Plane, pixels: f32) -> Plane {
    let reach = (2.5 * pixels).ceil() as i32;
    let weight = |at: i32| libm::expf(-0.5 * (at as f32 / pixels) * (at as f32 / pixels));
    let sum: f32 = (-reach..=reach).map(weight).sum();
    let weights: Vec<f32> = (-reach..=reach).map(|at| weight(at) / sum).collect();
    separable_filter(plane, &weights, &weights)
}

/// Spans that count as whole though they are less, so that a picture of nearly one colour has no subject made of its
/// noise: barriers in Lab units added up, standard deviations of an edge, sharpness, and the whole map.
const PLAIN_BARRIER: f32 = 40.0;
const PLAIN_EDGE: f32 = 6.0;
const PLAIN_SHARP: f32 = 0.3;
const PLAIN_MAP: f32 = 0.3;

/// Each value as its share of what lies between the least and the largest, `span` at the least.
fn to_one(mut values: Vec<f32>, span: f32) -> Vec<f32> {
    let (mut least, mut most) = (f32::INFINITY, f32::NEG_INFINITY);
    for &value in &values {
        least = least.min(value);
        most = most.max(value);
    }
    let span = (most - least).max(span);
    values.iter_mut().for_each(|value| *value = (*value - least) / span);
    values
}

/// The minimum barrier distance of each pixel to the picture's edge: over all paths the least of what lies between the
/// highest and the lowest value on the way. Raster scans, forward and backward in turn, as the authors' algorithm 1.
fn barrier_distance(plane: &Plane) -> Vec<f32> {
    let (width, height) = (plane.width() as usize, plane.height() as usize);
    let values = plane.as_raw();
    let mut distance = vec![f32::INFINITY; values.len()];
    let (mut highest, mut lowest) = (values.clone(), values.clone());
    for (at, distance) in distance.iter_mut().enumerate() {
        let (x, y) = (at % width, at / width);
        if x == 0 || y == 0 || x + 1 == width || y + 1 == height {
            *distance = 0.0;
        }
    }
    for turn in 0..TURNS {
        let forward = turn % 2 == 0;
        for step in 0..values.len() {
            let at = if forward { step } else { values.len() - 1 - step };
            let (x, y) = (at % width, at / width);
            let beside = if forward { (x > 0).then(|| at - 1) } else { (x + 1 < width).then(|| at + 1) };
            let row =
                if forward { (y > 0).then(|| at - width) } else { (y + 1 < height).then(|| at + width) };
            for from in [beside, row].into_iter().flatten() {
                let (high, low) = (highest[from].max(values[at]), lowest[from].min(values[at]));
                if high - low < distance[at] {
                    distance[at] = high - low;
                    highest[at] = high;
                    lowest[at] = low;
                }
            }
        }
    }
    distance
}

/// How unlike the picture's four edges a pixel's colour is, in standard deviations of each edge's own colours; the edge
/// that it is most unlike does not count, since a subject may touch one.
fn unlike_edges(lab: &[Plane; 3]) -> Vec<f32> {
    let (width, height) = lab[0].dimensions();
    let colour = |at: usize| [lab[0].as_raw()[at], lab[1].as_raw()[at], lab[2].as_raw()[at]].map(f64::from);
    let (across, down) = (f64::from(width) * EDGE, f64::from(height) * EDGE);
    let edges: [Box<dyn Fn(f64, f64) -> bool>; 4] = [
        Box::new(move |x, _| x < across),
        Box::new(move |x, _| x >= f64::from(width) - across),
        Box::new(move |_, y| y < down),
        Box::new(move |_, y| y >= f64::from(height) - down),
    ];
    let mut maps = Vec::new();
    for edge in &edges {
        let inside: Vec<[f64; 3]> = (0..lab[0].len())
            .filter(|&at| edge(f64::from(at as u32 % width), f64::from(at as u32 / width)))
            .map(colour)
            .collect();
        let count = inside.len().max(1) as f64;
        let mean: [f64; 3] = std::array::from_fn(|axis| inside.iter().map(|c| c[axis]).sum::<f64>() / count);
        let spread: [[f64; 3]; 3] = std::array::from_fn(|i| {
            std::array::from_fn(|j| {
                let both = inside.iter().map(|c| (c[i] - mean[i]) * (c[j] - mean[j])).sum::<f64>() / count;
                both + if i == j { EVEN } else { 0.0 }
            })
        });
        let inverse = inverse(spread);
        let far = (0..lab[0].len()).map(|at| {
            let off: [f64; 3] = std::array::from_fn(|axis| colour(at)[axis] - mean[axis]);
            let square: f64 =
                (0..3).map(|i| (0..3).map(|j| off[i] * inverse[i][j] * off[j]).sum::<f64>()).sum();
            square.max(0.0).sqrt() as f32
        });
        maps.push(to_one(far.collect(), PLAIN_EDGE));
    }
    (0..lab[0].len())
        .map(|at| {
            let values = maps.iter().map(|map| map[at]);
            values.clone().sum::<f32>() - values.fold(0.0, f32::max)
        })
        .collect()
}

/// The variance in Lab units that an edge of one plain colour is taken to have: noise of a camera.
const EVEN: f64 = 4.0;

/// The inverse of a symmetric matrix whose diagonal is at least [`EVEN`].
fn inverse(m: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let minor = |i: usize, j: usize| {
        let (a, b) = ((i + 1) % 3, (i + 2) % 3);
        let (c, d) = ((j + 1) % 3, (j + 2) % 3);
        m[a][c] * m[b][d] - m[a][d] * m[b][c]
    };
    let whole = (0..3).map(|j| m[0][j] * minor(0, j)).sum::<f64>().max(1e-9);
    std::array::from_fn(|i| std::array::from_fn(|j| minor(j, i) / whole))
}

/// How sharp the surroundings of each pixel are, 0 to 1. On an edge blurred by s pixels a second blur of s0 takes the
/// slope down by `R = sqrt(1 + (s0/s)²)`; edges count by their slope, and where there is none the picture is not sharp.
fn sharpness(light: &Plane) -> Vec<f32> {
    let slope = |plane: &Plane| -> Vec<f32> {
        let (width, height) = plane.dimensions();
        let at = |x: u32, y: u32| plane.get_pixel(x, y).0[0];
        (0..height)
            .flat_map(|y| (0..width).map(move |x| (x, y)))
            .map(|(x, y)| {
                let across = at((x + 1).min(width - 1), y) - at(x.saturating_sub(1), y);
                let down = at(x, (y + 1).min(height - 1)) - at(x, y.saturating_sub(1));
                libm::hypotf(across, down) / 2.0
            })
            .collect()
    };
    let (width, height) = light.dimensions();
    let (first, second) = (slope(light), slope(&blurred(light, AGAIN)));
    let (mut sharp, mut edges) = (Plane::new(width, height), Plane::new(width, height));
    for (at, (before, after)) in first.iter().zip(&second).enumerate() {
        let ratio = before / after.max(1e-3);
        let weight = (before - FAINT).clamp(0.0, STRONG);
        let [least, most] = RATIOS;
        edges.as_mut()[at] = weight;
        sharp.as_mut()[at] = weight * ((ratio - least) / (most - least)).clamp(0.0, 1.0);
    }
    let wide = width.max(height) as f32 * AROUND;
    let (sharp, edges) = (blurred(&sharp, wide), blurred(&edges, wide));
    let values = sharp.iter().zip(edges.iter()).map(|(sharp, edges)| sharp / (edges + NO_EDGES)).collect();
    to_one(values, PLAIN_SHARP)
}

/// The second blur, in pixels: the authors' value.
const AGAIN: f32 = 1.0;

/// Slopes in L* a pixel: what is less is noise, what is more counts no more.
const FAINT: f32 = 1.0;
const STRONG: f32 = 12.0;

/// Ratios of slopes of what is wholly blurred (an edge of some 1.8 pixels) and wholly sharp (of 0.8).
const RATIOS: [f32; 2] = [1.15, 1.6];

/// How far an edge speaks for what is around it, as a share of the longer side.
const AROUND: f32 = 0.04;

/// The mean slope that speaks for sharpness as much as having no edges speaks against it.
const NO_EDGES: f32 = 0.3;

/// The pixels of what stands out, if something does: above Otsu's (1979) threshold, in patches that are not far smaller
/// than the largest, with their holes.
pub(super) fn taken(map: &Plane) -> Option<Vec<bool>> {
    let (width, height) = map.dimensions();
    let wide = width.max(height) as f32 * SMOOTH;
    let smooth = blurred(map, wide.max(0.5));
    let most = smooth.iter().copied().fold(0.0, f32::max).max(PLAIN_MAP);
    #[allow(clippy::cast_sign_loss, reason = "the map is 0 to 1")]
    let grey = GrayImage::from_fn(width, height, |x, y| {
        Luma([(smooth.get_pixel(x, y).0[0] / most * 255.0).round() as u8])
    });
    let level = otsu_level(&grey);
    let above = GrayImage::from_fn(width, height, |x, y| {
        Luma([if grey.get_pixel(x, y).0[0] > level { u8::MAX } else { 0 }])
    });
    #[allow(clippy::cast_sign_loss, reason = "a share of a side")]
    let gap = (wide.round() as u8).max(1);
    let closed = close(&above, Norm::LInf, gap);
    let patches = patches(&closed, 255);
    let largest = patches.iter().map(Vec::len).max()?;
    let mut taken = vec![false; grey.len()];
    for patch in patches.iter().filter(|patch| patch.len() as f64 >= LEAST_PATCH * largest as f64) {
        patch.iter().for_each(|&at| taken[at] = true);
    }
    let outside = GrayImage::from_fn(width, height, |x, y| {
        Luma([if taken[(y * width + x) as usize] { u8::MAX } else { 0 }])
    });
    for hole in self::patches(&outside, 0) {
        let is_edge = |&at: &usize| {
            let (x, y) = (at as u32 % width, at as u32 / width);
            x == 0 || y == 0 || x + 1 == width || y + 1 == height
        };
        if (hole.len() as f64) < LARGEST_HOLE * largest as f64 && !hole.iter().any(is_edge) {
            hole.iter().for_each(|&at| taken[at] = true);
        }
    }
    let mean = |inside: bool| {
        let values = smooth.iter().zip(&taken).filter(|(_, taken)| **taken == inside).map(|(value, _)| value);
        let (sum, count) = values.fold((0.0, 0), |(sum, count), value| (sum + value / most, count + 1));
        (sum / count.max(1) as f32, f64::from(count) / taken.len() as f64)
    };
    let ((inside, share), (outside, _)) = (mean(true), mean(false));
    (inside - outside >= CLEARLY && SHARES.contains(&share)).then_some(taken)
}

/// How far the map is smoothed before it is cut, as a share of the longer side.
const SMOOTH: f32 = 0.012;

/// The smallest patch that is taken and the largest hole that is filled, as shares of the largest patch.
const LEAST_PATCH: f64 = 0.12;
const LARGEST_HOLE: f64 = 0.2;

/// By how much the mean inside must be above the mean outside, in the map's own terms.
const CLEARLY: f32 = 0.25;

/// How much of the picture a subject can be: less is a speck, more is all of it.
const SHARES: std::ops::RangeInclusive<f64> = 0.002..=0.5;

/// Joined pixels of this value.
fn patches(picture: &GrayImage, of: u8) -> Vec<Vec<usize>> {
    let labels = connected_components(picture, Connectivity::Four, Luma([u8::MAX - of]));
    let mut patches: Vec<Vec<usize>> = Vec::new();
    for (at, label) in labels.iter().enumerate() {
        let Some(place) = (*label as usize).checked_sub(1) else { continue };
        if patches.len() <= place {
            patches.resize(place + 1, Vec::new());
        }
        patches[place].push(at);
    }
    patches
}
