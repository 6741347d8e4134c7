//! Rock, sand, pebbles and barnacles.

use crate::noise::{Draw, Light, blend, fractal, hash, rgb, step, strewn, times, value};
use crate::scene::{HEIGHT, Point, Scene, WIDTH};

/// A hump: `[x, y, radius, height]`.
const HUMPS: [[f32; 4]; 6] = [
    [450.0, 440.0, 250.0, 46.0],
    [1110.0, 400.0, 190.0, 44.0],
    [640.0, 190.0, 150.0, 26.0],
    [270.0, 900.0, 190.0, 34.0],
    [1420.0, 620.0, 190.0, 40.0],
    [860.0, 1180.0, 120.0, 18.0],
];

/// The lie of the ground without its roughness.
pub(crate) fn ground(x: f32, y: f32) -> f32 {
    let near =
        |px: f32, py: f32, radius: f32| (-((x - px).powi(2) + (y - py).powi(2)) / radius.powi(2)).exp();
    let (nx, ny) = (((x - 820.0) / 800.0).abs(), ((y - 640.0) / 600.0).abs());
    let mut edge = (nx.powf(2.8) + ny.powf(2.8)).powf(1.0 / 2.8);
    edge += 0.22 * (fractal(x / 330.0, y / 330.0, 3, 3) - 0.5);
    edge += 0.42 * near(90.0, 130.0, 300.0)
        + 0.36 * near(1500.0, 110.0, 270.0)
        + 0.2 * near(1580.0, 1190.0, 220.0);
    let inside = 1.0 - edge;
    let mut z = -124.0 * step(-0.02, 0.46, inside) + 150.0 * (-inside).max(0.0).powf(0.8);
    for [px, py, radius, height] in HUMPS {
        z += height * near(px, py, radius) * step(-6.0, -40.0, z);
    }
    z
}

/// How sandy it is, 0 to 1.
fn sandy(x: f32, y: f32, z: f32) -> f32 {
    step(-60.0, -84.0, z + 40.0 * (fractal(x / 150.0, y / 150.0, 4, 9) - 0.5))
}

fn rock(x: f32, y: f32, z: f32) -> Point {
    let rough = fractal(x / 95.0, y / 95.0, 6, 21);
    let crack = (fractal(x / 170.0, y / 170.0, 4, 33) - 0.5).abs();
    let crack = step(0.013, 0.0, crack) * step(0.46, 0.62, value(x / 210.0, y / 210.0, 5));
    let grain = fractal(x / 9.0, y / 9.0, 3, 40);
    let mut colour = blend(rgb(0x8d_7f_76), rgb(0xb3_a2_93), fractal(x / 120.0, y / 120.0, 4, 44));
    // The crystals of granite: pale and rosy feldspar, dark mica.
    let crystal = strewn(x / 7.0, y / 7.0, 50)[0];
    let pick = hash((x / 6.0) as i32, (y / 6.0) as i32, 51);
    colour = blend(colour, rgb(0xd6_c6_b8), step(0.52, 0.7, value(x / 6.0, y / 6.0, 52)) * 0.6);
    colour = blend(colour, rgb(0xc0_8f_7c), step(0.6, 0.75, value(x / 8.0, y / 8.0, 53)) * 0.5);
    colour = blend(colour, rgb(0x3c_36_36), step(0.3, 0.12, crystal) * if pick > 0.55 { 0.75 } else { 0.1 });
    if z > 4.0 {
        // Lichen, orange and grey, where it is dry.
        let lichen = step(0.62, 0.7, fractal(x / 60.0, y / 60.0, 5, 61)) * step(20.0, 45.0, z);
        colour = blend(colour, rgb(0xd9_9a_2b), lichen * 0.75);
    } else {
        // Pink crusts of lime and a green film under water.
        let crust = step(0.5, 0.68, fractal(x / 74.0, y / 74.0, 6, 66)) * step(-4.0, -18.0, z);
        colour = blend(colour, rgb(0xbb_7a_88), crust * 0.7);
        let film = step(0.5, 0.66, fractal(x / 100.0, y / 100.0, 4, 70)) * (1.0 - crust);
        colour = blend(colour, rgb(0x5f_6f_3c), film * 0.6);
    }
    colour = times(colour, 1.0 - 0.6 * crack);
    Point { z: z + 34.0 * (rough - 0.5) + 2.6 * (grain - 0.5) - 5.0 * crack, colour, shine: 0.25 }
}

fn sand(x: f32, y: f32, z: f32) -> Point {
    let wave = (y / 13.0 + x / 60.0 + 5.0 * fractal(x / 170.0, y / 170.0, 3, 80)).sin();
    let grain = hash((x * 1.3) as i32, (y * 1.3) as i32, 81);
    let mut colour = blend(rgb(0xd8_c0_93), rgb(0xec_dc_b8), fractal(x / 60.0, y / 60.0, 4, 82));
    colour = times(colour, 0.84 + 0.3 * grain);
    if grain > 0.993 {
        colour = rgb(0x5a_4a_44);
    } else if grain < 0.012 {
        colour = rgb(0xf8_f4_ea);
    }
    Point { z: z - 3.0 + 1.7 * wave + 0.5 * grain, colour, shine: 0.1 }
}

pub(crate) fn lay(scene: &mut Scene) {
    scene.put([0.0, 0.0, WIDTH, HEIGHT], |x, y| {
        let z = ground(x, y);
        let (rock, sand, share) = (rock(x, y, z), sand(x, y, z), sandy(x, y, z));
        Some(Point {
            z: rock.z + (sand.z - rock.z) * share,
            colour: blend(rock.colour, sand.colour, share),
            shine: rock.shine + (sand.shine - rock.shine) * share,
        })
    });
}

const PEBBLES: [u32; 7] =
    [0x8f_8a_86, 0x5c_60_68, 0xc9_b7_9f, 0xa7_6a_55, 0xe6_e0_d4, 0x6f_7b_70, 0x3f_3d_42];

/// A stone with its longer axis along its own x.
fn pebble(scene: &mut Scene, place: [f32; 2], size: f32, draw: &mut Draw) {
    let (turn, long, high) = (draw.next(0.0, 3.1), draw.next(0.62, 0.95), draw.next(0.3, 0.55));
    let colour = rgb(PEBBLES[draw.next(0.0, 6.99) as usize]);
    let seed = draw.next(0.0, 9e4) as u32;
    let vein: Option<f32> = (draw.next(0.0, 1.0) > 0.7).then(|| draw.next(-0.4, 0.4));
    scene.put_at(place, size * 1.15, turn, |u, v, [x, y]| {
        let (a, b) = (u / size, v / (size * long));
        let angle = b.atan2(a);
        let rim = 1.0 + 0.09 * (angle * 2.0 + seed as f32).sin() + 0.05 * (angle * 3.0).cos();
        let d = (a.abs().powf(2.3) + b.abs().powf(2.3)).powf(1.0 / 2.3) / rim;
        (d < 1.0).then(|| {
            let speck = fractal(x / 5.0, y / 5.0, 3, seed);
            let mut paint: Light = times(colour, 0.72 + 0.56 * speck);
            if vein.is_some_and(|vein| (b - vein - 0.2 * a).abs() < 0.07) {
                paint = rgb(0xe9_e4_da);
            }
            Point {
                z: ground(x, y) - size * 0.1 + size * high * (1.0 - d.powf(2.4)).powf(0.55),
                colour: paint,
                shine: 0.35,
            }
        })
    });
}

pub(crate) fn strew(scene: &mut Scene) {
    let mut draw = Draw(77, 0);
    for _ in 0..520 {
        let (x, y) = (draw.next(0.0, WIDTH), draw.next(0.0, HEIGHT));
        let z = ground(x, y);
        let heap = fractal(x / 190.0, y / 190.0, 2, 90);
        if z > -50.0 || heap < 0.47 {
            continue;
        }
        let size = 5.0 + 30.0 * draw.next(0.0, 1.0).powi(3);
        pebble(scene, [x, y], size, &mut draw);
    }
    for [x, y, size] in [
        [930.0, 1090.0, 52.0],
        [1010.0, 735.0, 38.0],
        [560.0, 770.0, 44.0],
        [1320.0, 1040.0, 46.0],
        [470.0, 1090.0, 40.0],
    ] {
        pebble(scene, [x, y], size, &mut draw);
    }
    for _ in 0..900 {
        let (x, y, size) = (draw.next(0.0, WIDTH), draw.next(0.0, HEIGHT), draw.next(4.5, 11.0));
        let z = ground(x, y);
        if !(2.0..70.0).contains(&z) || fractal(x / 110.0, y / 110.0, 3, 95) < 0.5 {
            continue;
        }
        barnacle(scene, [x, y], size, draw.next(0.0, 6.0));
    }
}

fn barnacle(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32) {
    let top = rock(place[0], place[1], ground(place[0], place[1])).z;
    scene.put_at(place, size, turn, |u, v, _| {
        let d = u.hypot(v * 1.15) / size;
        let plate = (v.atan2(u) * 6.0).cos();
        (d < 1.0).then(|| {
            let hole = step(0.4, 0.28, u.hypot(v * 1.7) / size);
            let colour = blend(times(rgb(0xdd_d6_ca), 0.82 + 0.18 * plate), rgb(0x3a_34_30), hole);
            Point { z: top + size * (0.75 * (1.0 - d) - 0.4 * hole) - 1.0, colour, shine: 0.15 }
        })
    });
}
