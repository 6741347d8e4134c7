//! Limpets, mussels, periwinkles and a scallop.

use std::f32::consts::{PI, TAU};

use crate::ground::ground;
use crate::noise::{blend, fractal, rgb, step, times, value};
use crate::scene::{Point, Scene};

/// A limpet: a ribbed cone, its top a little forward.
pub(crate) fn limpet(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32, seed: u32) {
    let base = ground(place[0], place[1]) + 4.0;
    scene.put_at(place, size * 1.1, turn, |u, v, [x, y]| {
        let (a, b) = ((u + 0.12 * size) / size, v / (size * 0.84));
        let angle = b.atan2(a);
        let rib = (angle * 19.0 + 1.4 * (angle * 3.0).sin()).cos();
        let d = (u / size).hypot(b) / (1.0 + 0.03 * rib + 0.05 * (value(angle * 2.0, 1.0, seed) - 0.5));
        (d < 1.0).then(|| {
            let r = a.hypot(b).min(1.0);
            let ring = (r * 24.0 + 2.0 * fractal(x / 20.0, y / 20.0, 3, seed)).sin();
            let mut colour = blend(rgb(0x9a_86_6c), rgb(0xd8_c6_a4), 0.5 + 0.5 * rib);
            colour = blend(colour, rgb(0x5b_55_4c), (0.5 - 0.5 * ring) * 0.4);
            colour = blend(colour, rgb(0xe9_e2_d2), step(0.26, 0.08, r));
            colour = blend(
                colour,
                rgb(0x5f_75_3e),
                step(0.55, 0.7, fractal(x / 24.0, y / 24.0, 3, seed + 2)) * 0.5,
            );
            let z = base + size * (0.62 * (1.0 - r).powf(0.85) + 0.02 * rib * r + 0.006 * ring);
            Point { z: z + 3.0 * step(1.0, 0.9, d), colour, shine: 0.3 }
        })
    });
}

/// A mussel, its pointed end to its own left.
pub(crate) fn mussel(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32, lift: f32) {
    let base = ground(place[0], place[1]) + lift;
    scene.put_at(place, size * 1.1, turn, |u, v, [x, y]| {
        let a = (u / size + 1.0) / 2.0;
        if !(0.0..1.0).contains(&a) {
            return None;
        }
        let wide = 0.80 * a.powf(0.55) * (1.0 - a.powf(5.0)).max(0.0).sqrt();
        let middle = -0.10 * (a * PI).sin();
        let b = (v / size - middle) / (wide * 0.56).max(1e-3);
        (b.abs() < 1.0).then(|| {
            let growth = (a.hypot(0.5 * b * wide) * 42.0 + 2.0 * fractal(x / 26.0, y / 26.0, 3, 8)).sin();
            let mut colour = blend(rgb(0x16_1b_33), rgb(0x2c_3a_68), 0.5 + 0.5 * growth);
            colour = blend(colour, rgb(0x8f_a0_c8), step(0.4, 0.0, a) * (0.5 + 0.3 * growth));
            colour = blend(colour, rgb(0x6b_52_3c), step(0.8, 1.0, a) * 0.6);
            let dome = (1.0 - b * b).max(0.0).sqrt() * wide.min(0.62);
            Point { z: base + size * (0.62 * dome + 0.006 * growth), colour, shine: 0.75 }
        })
    });
}

/// The colours of a coiled shell: ground, bands and seam.
pub(crate) struct Coil {
    pub(crate) ground: u32,
    pub(crate) band: u32,
    pub(crate) bands: f32,
}

/// A periwinkle seen on its spire, its mouth to its own lower right.
pub(crate) fn periwinkle(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32, paint: &Coil) {
    let base = ground(place[0], place[1]);
    // How much the coil grows in a turn.
    let growth = 1.95f32;
    scene.put_at(place, size * 1.25, turn, |u, v, [x, y]| {
        let (r, angle) = (u.hypot(v) / size, v.atan2(u).rem_euclid(TAU));
        let outer = growth.powf(angle / TAU - 0.5) * 0.92;
        if r >= outer {
            return None;
        }
        let turns = (outer / r.max(1e-3)).ln() / growth.ln();
        let f = turns.fract();
        let whorl = (1.0 - (2.0 * f - 1.0).powi(2)).max(0.0).sqrt();
        let reach = outer * growth.powf(-turns.floor());
        let mut colour =
            blend(rgb(paint.ground), times(rgb(paint.ground), 0.62), fractal(x / 16.0, y / 16.0, 3, 6));
        colour = blend(colour, rgb(paint.band), step(0.2, 0.7, (f * TAU * paint.bands).sin()) * 0.85);
        let lines = (angle * 46.0 + 12.0 * turns.floor()).sin();
        colour = times(colour, (0.9 + 0.1 * lines) * (0.35 + 0.65 * step(0.0, 0.16, f.min(1.0 - f))));
        // The lip of the mouth.
        colour =
            blend(colour, rgb(0xef_dd_bd), step(0.16, 0.04, TAU - angle) * f32::from(u8::from(turns < 1.0)));
        let z = base + size * (0.95 * (1.0 - r).max(0.0) + 0.30 * whorl * reach + 0.006 * lines * reach);
        Some(Point { z: z + 2.0, colour, shine: 0.55 })
    });
}

/// A scallop's upper shell, its hinge to its own bottom.
pub(crate) fn scallop(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32) {
    let base = ground(place[0], place[1]) - 2.0;
    scene.put_at(place, size * 1.25, turn, |u, v, [x, y]| {
        let (a, b) = (u / size, 0.86 - v / size);
        // Ears each side of the hinge.
        let ear = a.abs() < 0.46 && (-0.02..0.27).contains(&b) && a.abs() + b * 0.55 < 0.47;
        let (r, angle) = (a.hypot(b), a.atan2(b));
        let (spread, edge) = (0.98, 1.74 * (1.0 - 0.13 * (angle / 0.98).powi(2)));
        let rib = (angle * 23.0).cos();
        let fan = angle.abs() < spread && r < edge * (1.0 + 0.012 * rib);
        if !fan && !ear {
            return None;
        }
        let paint = |colour, z: f32| Some(Point { z: base + size * z, colour, shine: 0.4 });
        if !fan {
            let line = (a * 60.0).sin();
            return paint(blend(rgb(0xe8_b7_a4), rgb(0xf6_e2_d2), 0.5 + 0.5 * line), 0.07 + 0.005 * line);
        }
        let ring = (r * 15.0 + 1.6 * fractal(x / 30.0, y / 30.0, 2, 12)).sin();
        let mut colour = blend(rgb(0xe2_76_6a), rgb(0xfa_dc_cc), step(-0.3, 0.8, ring));
        colour = blend(colour, rgb(0xb0_4a_52), step(-0.2, -1.0, rib) * 0.75);
        colour = blend(colour, rgb(0xfb_ee_e2), step(0.6, 0.1, r));
        let side = (1.0 - (angle / spread).powi(2)).max(0.0).powf(0.4);
        let dome = (PI * (r / edge).powf(0.8)).sin().max(0.0).powf(0.7);
        paint(colour, 0.06 + 0.36 * dome * side + 0.032 * rib * (r / edge).min(1.0) * side + 0.006 * ring)
    });
}
