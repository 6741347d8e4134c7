//! Starfish, crab, anemones, urchin and blenny.

use std::f32::consts::{PI, TAU};

use crate::ground::ground;
use crate::noise::{Draw, Light, blend, fractal, rgb, step, times};
use crate::scene::{Point, Scene, bend};

/// A starfish of five arms; `colours` are its skin, its darker blotches and its knobs.
pub(crate) fn starfish(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32, colours: [u32; 3]) {
    let [skin, dark, knob] = colours.map(rgb);
    scene.put_at(place, size * 1.1, turn, |u, v, [x, y]| {
        let mut best: Option<Point> = None;
        for arm in 0..5u32 {
            let angle = TAU / 5.0 * arm as f32 + [0.05, -0.06, 0.09, -0.03, 0.02][arm as usize];
            let (sin, cos) = angle.sin_cos();
            let along = (u * cos + v * sin) / size;
            let mut aside = (v * cos - u * sin) / size;
            aside -= [0.10, -0.12, 0.07, 0.12, -0.09][arm as usize] * along.max(0.0).powi(2);
            if !(-0.25..1.0).contains(&along) {
                continue;
            }
            let a = along.max(0.0);
            let wide = 0.045 + 0.225 * (1.0 - a).powf(1.15);
            let wide = wide * (1.0 - step(0.93, 1.0, along) * 0.8) * step(-0.26, -0.05, along).max(0.05);
            let d = aside / wide;
            if d.abs() >= 1.0 {
                continue;
            }
            let knobs = ((a * 62.0).cos() * (d * 8.2).cos()).max(0.0).powi(2) * step(1.0, 0.7, d.abs());
            let ridge = (a * 50.0).sin().max(0.0) * step(0.22, 0.05, d.abs());
            let blotch = step(0.46, 0.66, fractal(x / 26.0, y / 26.0, 4, 300 + arm));
            let mut colour = blend(skin, dark, blotch * 0.55 + 0.5 * step(0.7, 1.0, d.abs()));
            colour = blend(colour, knob, (knobs * 0.75).max(ridge * 0.9));
            let z = ground(x, y) - 2.0
                + size
                    * ((1.0 - d * d).sqrt() * (0.06 + 0.15 * (1.0 - a).powf(0.7))
                        + 0.018 * knobs
                        + 0.02 * ridge);
            if best.is_none_or(|best| best.z < z) {
                best = Some(Point { z, colour, shine: 0.35 });
            }
        }
        best
    });
}

/// An anemone: a foot, and rings of tentacles about its mouth.
pub(crate) struct Anemone {
    /// The foot, a tentacle at its root and at its tip.
    pub(crate) colours: [u32; 3],
    /// How many tentacles.
    pub(crate) tentacles: usize,
    /// Their length as a share of the radius.
    pub(crate) length: f32,
    /// How much they wave, in radians.
    pub(crate) wave: f32,
    /// Beads round the foot, if it has any.
    pub(crate) beads: Option<u32>,
}

pub(crate) fn anemone(scene: &mut Scene, place: [f32; 2], size: f32, kind: &Anemone, seed: u32) {
    let base = ground(place[0], place[1]);
    let [foot, root, tip] = kind.colours.map(rgb);
    let body = size * 0.62;
    scene.put_at(place, body * 1.05, 0.0, |u, v, [x, y]| {
        let d = u.hypot(v) / body;
        (d < 1.0).then(|| {
            let colour = times(foot, 0.8 + 0.5 * fractal(x / 13.0, y / 13.0, 3, seed));
            let mouth = step(0.25, 0.05, d);
            let z = base + size * (0.30 * (1.0 - d * d).sqrt() - 0.12 * mouth);
            Point { z, colour: blend(colour, times(tip, 0.9), 0.5 * step(0.4, 0.2, d)), shine: 0.8 }
        })
    });
    let mut draw = Draw(seed, 0);
    if let Some(bead) = kind.beads {
        for at in 0..34 {
            let angle = TAU * at as f32 / 34.0;
            let (x, y) = (place[0] + body * 0.97 * angle.cos(), place[1] + body * 0.97 * angle.sin());
            let knot = [x, y, base + size * 0.09, size * 0.05];
            scene.tube(&[knot, [x + 0.5, y, knot[2], knot[3]]], 1.0, |_, _| (rgb(bead), 0.8));
        }
    }
    for at in 0..kind.tentacles {
        let ring = at % 3;
        let angle = TAU * (at as f32 + draw.next(-0.35, 0.35)) / kind.tentacles as f32;
        let from = body * [0.74, 0.56, 0.38][ring];
        let start = [place[0] + from * angle.cos(), place[1] + from * angle.sin()];
        let length = size * kind.length * [1.0, 0.85, 0.66][ring] * draw.next(0.8, 1.1);
        let turn = draw.next(-kind.wave, kind.wave);
        let first = angle - turn * 0.4 + draw.next(-0.2, 0.2) * kind.wave;
        let height = base + size * [0.16, 0.24, 0.30][ring];
        let knots: Vec<[f32; 4]> = bend(start, first, length, turn * 1.8, 10)
            .iter()
            .enumerate()
            .map(|(step, &[x, y, _])| {
                let t = step as f32 / 10.0;
                let z = height + size * 0.16 * (t * PI * 0.8).sin() - size * 0.10 * t;
                [x, y, z, size * (0.066 - 0.034 * t) * (if kind.wave > 0.8 { 0.8 } else { 1.0 })]
            })
            .collect();
        let tone = draw.next(0.8, 1.15);
        scene.tube(&knots, 1.0, |t, side| {
            let colour = blend(root, tip, step(0.55, 0.95, t));
            (times(colour, tone * (1.0 - 0.25 * side * side)), 0.6)
        });
    }
}

/// A sea urchin in its spines.
pub(crate) fn urchin(scene: &mut Scene, place: [f32; 2], size: f32) {
    let base = ground(place[0], place[1]);
    let body = size * 0.62;
    scene.put_at(place, body, 0.0, |u, v, _| {
        let d = u.hypot(v) / body;
        let rows = (v.atan2(u) * 10.0).cos();
        (d < 1.0).then(|| Point {
            z: base + body * 0.62 * (1.0 - d * d).sqrt(),
            colour: blend(rgb(0x4a_1f_52), rgb(0x8a_4a_86), 0.5 + 0.5 * rows),
            shine: 0.3,
        })
    });
    let mut draw = Draw(900, 0);
    for ring in 0..9u8 {
        let out = (f32::from(ring) + 0.6) / 9.0;
        let count = 5 + (34.0 * out) as usize;
        for at in 0..count {
            let angle = TAU * (at as f32 + draw.next(-0.25, 0.25) + f32::from(ring) * 0.37) / count as f32;
            let rise = (1.0 - out * out).max(0.0).sqrt();
            let root = [place[0] + body * out * angle.cos(), place[1] + body * out * angle.sin()];
            let length = size * draw.next(0.40, 0.52);
            let flat = length * (0.25 + 0.75 * out);
            let lean = angle + draw.next(-0.2, 0.2);
            let end = [root[0] + flat * lean.cos(), root[1] + flat * lean.sin()];
            let z = base + body * 0.62 * rise;
            let knots = [
                [root[0], root[1], z, size * 0.030],
                [end[0], end[1], z + length * 0.6 * rise, size * 0.009],
            ];
            let tone = draw.next(0.75, 1.2);
            scene.tube(&knots, 1.0, |t, _| {
                (times(blend(rgb(0x5c_2a_66), rgb(0xd8_a8_d0), t.powi(2)), tone), 0.4)
            });
        }
    }
}

/// A blenny seen from above, its head to its own right; it hangs over the bottom by `lift`.
pub(crate) fn blenny(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32, lift: f32) {
    let base = ground(place[0], place[1]) + lift;
    let (sin, cos) = turn.sin_cos();
    let at = |u: f32, v: f32| [place[0] + (u * cos - v * sin) * size, place[1] + (u * sin + v * cos) * size];
    let skin = |x: f32, y: f32, t: f32, side: f32| -> Light {
        let saddle = step(0.25, 0.6, (t * 21.0 + 1.2 * fractal(x * 9.0, y * 9.0, 2, 5)).sin())
            * step(0.97, 0.55, side.abs());
        let speck = fractal(t * 60.0, side * 9.0, 3, 410);
        let colour = blend(rgb(0xd8_b8_6a), rgb(0xa9_8a_3e), speck);
        let colour = blend(colour, rgb(0x3d_3a_22), saddle * 0.85);
        blend(colour, rgb(0xf0_e2_b8), step(0.75, 1.0, side.abs()) * 0.6)
    };
    // Fans: the breast fins and the tail, with rays.
    for (root, middle, spread, length) in [
        ([0.50, 0.05], 2.05f32, 0.62f32, 0.44f32),
        ([0.50, -0.02], -2.05, 0.62, 0.44),
        ([-0.84, -0.085], PI + 0.12, 0.46, 0.34),
    ] {
        let hub = at(root[0], root[1]);
        scene.put_at(hub, size * length, turn + middle, |u, v, _| {
            let (r, angle) = (u.hypot(v) / (size * length), v.atan2(u));
            let ray = (angle * 9.5 / spread).cos();
            (angle.abs() < spread && r < 1.0 - 0.07 * (1.0 - ray)).then(|| {
                let colour = blend(rgb(0xb4_86_3c), rgb(0xf2_d4_84), 0.5 + 0.5 * ray);
                let colour = blend(colour, rgb(0x6a_4f_24), step(0.3, 0.9, (r * 17.0).sin()) * 0.55);
                Point { z: base - size * 0.02 + size * 0.012 * ray - size * 0.05 * r, colour, shine: 0.3 }
            })
        });
    }
    let spine = |t: f32| [mix_line(0.98, -0.9, t), 0.10 * (t * 4.6).sin() * t];
    let knots: Vec<[f32; 4]> = (0..=26)
        .map(|step| {
            let t = step as f32 / 26.0;
            let [u, v] = spine(t);
            let [x, y] = at(u, v);
            let girth = 0.195
                * (1.0 - (1.0 - t * 5.0).max(0.0).powi(2)).max(0.12).sqrt()
                * (1.0 - 0.80 * t.powf(1.2));
            [x, y, base, size * girth]
        })
        .collect();
    scene.tube(&knots, 0.9, |t, side| (skin(t, side, t, side), 0.55));
    // The back fin: a low wavy crest.
    let crest: Vec<[f32; 4]> = (0..=20)
        .map(|step| {
            let t = 0.24 + 0.7 * step as f32 / 20.0;
            let [u, v] = spine(t);
            let [x, y] = at(u, v + 0.012 * (t * 40.0).sin());
            [x, y, base + size * 0.17 * (1.0 - 0.6 * t), size * 0.026]
        })
        .collect();
    scene.tube(&crest, 1.2, |t, _| {
        (blend(rgb(0x77_5a_2c), rgb(0xe8_c4_70), 0.5 + 0.5 * (t * 90.0).sin()), 0.3)
    });
    for side in [-1.0, 1.0] {
        let [x, y] = at(0.80, 0.085 * side);
        let knot = [x, y, base + size * 0.115, size * 0.052];
        scene.tube(&[knot, [x + 0.1, y, knot[2], knot[3]]], 1.0, |_, aside| {
            (if aside.abs() < 0.5 { rgb(0x10_0e_10) } else { rgb(0xe0_8a_3a) }, 0.9)
        });
    }
}

fn mix_line(from: f32, to: f32, t: f32) -> f32 {
    from + (to - from) * t
}
