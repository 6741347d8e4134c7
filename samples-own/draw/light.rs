//! Sun, shade and water over the scene.

use crate::noise::{Light, blend, fractal, mix, rgb, step, strewn};
use crate::scene::{HEIGHT, Scene, WIDTH};

/// Towards the sun: from the upper left, a little over half way up.
const SUN: [f32; 3] = [-0.50, -0.55, 0.67];

/// What is left of the light, a pixel of depth: red goes first.
const CLEAR: Light = [0.0088, 0.0031, 0.0022];

/// Heights smoothed over squares of `reach` points each way.
fn smoothed(scene: &Scene, reach: usize) -> Vec<f32> {
    let (width, height) = (scene.width, scene.height);
    let mut across = vec![0.0f32; width * height];
    let mut both = across.clone();
    let mean = |line: &dyn Fn(usize) -> f32, count: usize, out: &mut dyn FnMut(usize, f32)| {
        let mut sum = f64::from(line(0)) * (reach as f64 + 1.0);
        (0..reach).for_each(|at| sum += f64::from(line(at.min(count - 1))));
        for at in 0..count {
            sum += f64::from(line((at + reach).min(count - 1)));
            out(at, (sum / (2.0 * reach as f64 + 2.0)) as f32);
            sum -= f64::from(line(at.saturating_sub(reach)));
        }
    };
    for row in 0..height {
        let from = row * width;
        mean(&|x| scene.points[from + x].z, width, &mut |x, z| across[from + x] = z);
    }
    for column in 0..width {
        mean(&|y| across[y * width + column], height, &mut |y, z| both[y * width + column] = z);
    }
    both
}

/// How much of the sun reaches a point: 0 in full shadow.
fn sunlight(scene: &Scene, column: usize, row: usize, z: f32) -> f32 {
    let finer = scene.finer as f32;
    let flat = SUN[0].hypot(SUN[1]);
    let (dx, dy, rise) = (SUN[0] / flat, SUN[1] / flat, SUN[2] / flat);
    let mut light = 1.0f32;
    let mut way = 1.5f32;
    while way < 110.0 {
        let (x, y) = (column as f32 + dx * way * finer, row as f32 + dy * way * finer);
        if x < 0.0 || y < 0.0 {
            break;
        }
        let over = scene.points[y as usize * scene.width + x as usize].z - z - way * rise;
        light = light.min(1.0 - (over + 0.06 * way) / (0.12 * way + 1.2));
        if light <= 0.0 {
            return 0.0;
        }
        way *= 1.09;
        way += 0.6;
    }
    light
}

/// The net of light that ripples throw on the bottom: 0 to about 1.
fn net(x: f32, y: f32) -> f32 {
    let (wx, wy) = (fractal(x / 90.0, y / 90.0, 2, 120) * 70.0, fractal(x / 90.0, y / 90.0, 2, 121) * 70.0);
    let line = |scale: f32, seed: u32, sharp: f32| {
        let [first, second] = strewn((x + wx) / scale, (y + wy) / scale, seed);
        (-(second - first) * sharp).exp()
    };
    0.75 * line(92.0, 122, 11.0) + 0.4 * line(57.0, 123, 9.0)
}

fn shaded(scene: &Scene, soft: &[Vec<f32>; 2], column: usize, row: usize) -> Light {
    let finer = scene.finer as f32;
    let at = row * scene.width + column;
    let here = scene.points[at];
    let height = |c: usize, r: usize| scene.points[r * scene.width + c].z;
    let (left, right) = (column.saturating_sub(1), (column + 1).min(scene.width - 1));
    let (above, below) = (row.saturating_sub(1), (row + 1).min(scene.height - 1));
    let slope = |one: f32, two: f32, steps: usize| ((two - one) / steps as f32 * finer).clamp(-3.0, 3.0);
    let nx = -slope(height(left, row), height(right, row), right - left);
    let ny = -slope(height(column, above), height(column, below), below - above);
    let long = (nx * nx + ny * ny + 1.0).sqrt();
    let normal = [nx / long, ny / long, 1.0 / long];
    let facing = (normal[0] * SUN[0] + normal[1] * SUN[1] + normal[2] * SUN[2]).max(0.0);
    let (x, y) = (column as f32 / finer, row as f32 / finer);
    let depth = (-here.z).max(0.0);

    let open = 1.0
        - ((soft[0][at] - here.z) / 34.0).clamp(-0.12, 0.5)
        - ((soft[1][at] - here.z) / 120.0).clamp(-0.1, 0.35);
    let sun = sunlight(scene, column, row, here.z);
    let caustic = if depth > 0.0 {
        let focus = step(2.0, 55.0, depth);
        mix(1.0, 0.74 + 1.05 * net(x + depth * 0.6, y + depth * 0.7), focus)
    } else {
        1.0
    };
    let (sun_colour, sky) = ([1.62, 1.5, 1.28], [0.40, 0.47, 0.54]);
    let direct = facing * sun * caustic;
    let mut colour = here.colour;
    if here.z > 0.0 && here.z < 14.0 {
        // Wet above the water.
        colour = colour.map(|part| part * mix(0.5, 1.0, step(3.0, 14.0, here.z)));
    }
    let mut light = [0, 1, 2].map(|c| colour[c] * (sun_colour[c] * direct + sky[c] * open));
    let half = [SUN[0], SUN[1], SUN[2] + 1.0];
    let half_long = (half[0] * half[0] + half[1] * half[1] + half[2] * half[2]).sqrt();
    let gleam = (normal[0] * half[0] + normal[1] * half[1] + normal[2] * half[2]) / half_long;
    let gleam = gleam.max(0.0).powf(14.0 + 80.0 * here.shine) * here.shine * sun * 0.85;
    light = light.map(|part| part + gleam);
    if depth > 0.0 { water(light, depth, x, y) } else { light }
}

/// What water does to the light from below it, and what it mirrors.
fn water(below: Light, depth: f32, x: f32, y: f32) -> Light {
    let deep = [0.01, 0.17, 0.23];
    let mut light = [0, 1, 2].map(|c| {
        let left = (-depth * CLEAR[c]).exp();
        below[c] * left + deep[c] * (1.0 - left)
    });
    // Ripples: sky in soft bands, and a few glints.
    let ripple = fractal(x / 120.0 + y / 260.0, y / 46.0, 4, 130);
    let sky = step(0.54, 0.78, ripple)
        * 0.085
        * step(0.0, 20.0, depth)
        * (0.35 + 0.65 * step(300.0, 1500.0, x - y * 0.4));
    light = blend(light, rgb(0xdc_ec_f6), sky);
    let glint = step(0.80, 0.86, fractal(x / 34.0, y / 15.0, 3, 133)) * step(0.56, 0.7, ripple);
    light = light.map(|part| part + 0.5 * glint);
    // The skin of the water where it meets the rock.
    let rim = step(0.0, 1.2, depth) * step(3.4, 1.2, depth);
    light.map(|part| part * (1.0 - 0.25 * step(6.0, 0.0, depth)) + 0.2 * rim)
}

/// The finished picture in 8-bit sRGB, row by row.
pub(crate) fn develop(scene: &Scene) -> Vec<u8> {
    let soft = [smoothed(scene, 9 * scene.finer), smoothed(scene, 34 * scene.finer)];
    let (width, height) = (WIDTH as usize, HEIGHT as usize);
    let mut bytes = vec![0u8; width * height * 3];
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let band = height.div_ceil(threads);
    std::thread::scope(|scope| {
        for (index, rows) in bytes.chunks_mut(band * width * 3).enumerate() {
            let soft = &soft;
            scope.spawn(move || {
                for (at, pixel) in rows.chunks_mut(3).enumerate() {
                    let (column, row) = (at % width, index * band + at / width);
                    pixel.copy_from_slice(&pixel_of(scene, soft, column, row));
                }
            });
        }
    });
    bytes
}

fn pixel_of(scene: &Scene, soft: &[Vec<f32>; 2], column: usize, row: usize) -> [u8; 3] {
    let finer = scene.finer;
    let mut sum = [0.0f32; 3];
    for dy in 0..finer {
        for dx in 0..finer {
            let light = shaded(scene, soft, column * finer + dx, row * finer + dy);
            // Film rolls off: what is very bright is taken before the mean, so that edges stay smooth.
            (0..3).for_each(|c| sum[c] += light[c] / (1.0 + 0.28 * light[c]) * 1.12);
        }
    }
    let (nx, ny) = (column as f32 / WIDTH - 0.5, row as f32 / HEIGHT - 0.5);
    let vignette = 1.0 - 0.34 * step(0.3, 0.78, nx.hypot(ny * 0.92));
    sum.map(|part| {
        let v = (part / (finer * finer) as f32 * vignette).clamp(0.0, 1.0);
        let v = if v <= 0.003_130_8 { v * 12.92 } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
        // A little more contrast.
        let v = mix(v, v * v * (3.0 - 2.0 * v), 0.22);
        (v * 255.0 + 0.5) as u8
    })
}
