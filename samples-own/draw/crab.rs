//! A shore crab.

use std::f32::consts::PI;

use crate::ground::ground;
use crate::noise::{Light, blend, fractal, rgb, step, times};
use crate::scene::{Point, Scene};

const SHELL: u32 = 0x5f_7a_3a;
const PALE: u32 = 0xc8_c4_74;
const WARM: u32 = 0xd2_7a_2e;

fn skin(x: f32, y: f32) -> Light {
    let colour =
        blend(rgb(SHELL), times(rgb(SHELL), 0.45), step(0.4, 0.66, fractal(x / 15.0, y / 15.0, 4, 500)));
    blend(colour, rgb(PALE), step(0.58, 0.68, fractal(x / 8.0, y / 8.0, 3, 510)) * 0.8)
}

/// A crab whose front is to its own top; `size` is half the width of its shell.
pub(crate) fn crab(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32) {
    let base = ground(place[0], place[1]);
    let (sin, cos) = turn.sin_cos();
    let at = |u: f32, v: f32| [place[0] + (u * cos - v * sin) * size, place[1] + (u * sin + v * cos) * size];
    let knot = |[u, v, z, radius]: [f32; 4]| {
        let [x, y] = at(u, v);
        [x, y, base + z * size, radius * size]
    };
    for side in [-1.0f32, 1.0] {
        // Four walking legs of three joints each.
        let legs: [[[f32; 2]; 4]; 4] = [
            [[0.72, -0.10], [1.28, -0.46], [1.70, -0.30], [2.02, 0.02]],
            [[0.74, 0.08], [1.38, -0.08], [1.84, 0.18], [2.10, 0.56]],
            [[0.68, 0.26], [1.30, 0.34], [1.70, 0.66], [1.84, 1.06]],
            [[0.56, 0.42], [1.02, 0.66], [1.30, 1.02], [1.30, 1.42]],
        ];
        for leg in legs {
            let joint = |[u, v]: [f32; 2], z: f32, radius: f32| knot([u * side, v, z, radius]);
            let knots = [
                joint(leg[0], 0.18, 0.115),
                joint(leg[1], 0.42, 0.110),
                joint(leg[1], 0.40, 0.085),
                joint(leg[2], 0.24, 0.080),
                joint(leg[2], 0.22, 0.066),
                joint(leg[3], 0.02, 0.012),
            ];
            scene.tube(&knots, 1.0, |t, aside| {
                let colour = skin(t * 90.0 + leg[0][1] * 300.0, aside * 12.0);
                let joint = ((t * 5.0).fract() - 0.5).abs();
                (blend(colour, rgb(WARM), step(0.36, 0.5, joint) * 0.6 + 0.5 * step(0.8, 1.0, t)), 0.5)
            });
        }
        // The arm and its claw.
        let arm = [
            knot([0.62 * side, -0.36, 0.24, 0.16]),
            knot([1.10 * side, -0.72, 0.34, 0.17]),
            knot([1.06 * side, -0.98, 0.32, 0.15]),
        ];
        scene.tube(&arm, 1.0, |t, aside| (blend(skin(t * 60.0, aside * 20.0), rgb(WARM), 0.35), 0.55));
        claw(scene, &knot, side);
    }
    shell(scene, place, size, turn, base);
    for side in [-1.0, 1.0] {
        let eye = knot([0.20 * side, -0.66, 0.40, 0.062]);
        scene.tube(&[knot([0.20 * side, -0.52, 0.40, 0.05]), eye], 1.0, |t, _| {
            (if t > 0.6 { rgb(0x12_10_10) } else { rgb(WARM) }, 0.9)
        });
    }
}

fn claw(scene: &mut Scene, knot: &dyn Fn([f32; 4]) -> [f32; 4], side: f32) {
    let warm = |t: f32, aside: f32| {
        let colour = blend(rgb(WARM), skin(t * 70.0, aside * 24.0), 0.45 - 0.3 * t);
        (blend(colour, rgb(0xf4_e4_c0), step(0.86, 1.0, t) * 0.8), 0.6)
    };
    let palm = [
        knot([1.04 * side, -0.94, 0.34, 0.13]),
        knot([0.98 * side, -1.14, 0.34, 0.22]),
        knot([0.84 * side, -1.30, 0.34, 0.20]),
        knot([0.70 * side, -1.46, 0.32, 0.10]),
        knot([0.50 * side, -1.56, 0.30, 0.055]),
        knot([0.36 * side, -1.54, 0.30, 0.015]),
    ];
    scene.tube(&palm, 0.9, warm);
    let thumb = [
        knot([0.80 * side, -1.16, 0.30, 0.11]),
        knot([0.60 * side, -1.27, 0.28, 0.085]),
        knot([0.44 * side, -1.36, 0.28, 0.052]),
        knot([0.33 * side, -1.46, 0.28, 0.015]),
    ];
    scene.tube(&thumb, 0.9, warm);
}

fn shell(scene: &mut Scene, place: [f32; 2], size: f32, turn: f32, base: f32) {
    scene.put_at(place, size * 1.15, turn, |u, v, [x, y]| {
        let (a, b) = (u / size, v / size);
        // Broad before, narrow behind; teeth along the front sides.
        let wide = if b < -0.1 {
            1.0 - 0.36 * ((-b - 0.1) / 0.52).powi(2)
        } else {
            1.0 - 0.42 * ((b + 0.1) / 0.72).powf(1.7)
        };
        let teeth = 0.045 * ((-b) * 34.0).sin().max(0.0) * step(0.0, -0.1, b) * step(0.5, 0.7, a.abs());
        let d = a.abs() / (wide + teeth);
        let front = -0.58 - 0.05 * (a * 17.0).cos().max(0.0) * step(0.4, 0.2, a.abs());
        let (top, bottom) = (front, 0.62);
        if d >= 1.0 || b < top || b > bottom {
            return None;
        }
        let middle = (b - 0.02) / 0.62;
        let dome = (1.0 - (d.powf(2.6) * 0.92 + middle.abs().powf(3.2) * 0.85).min(1.0)).max(0.0).sqrt();
        // The furrows that part the shell, like an H.
        let furrow = |dist: f32| step(0.05, 0.0, dist.abs());
        let mut groove =
            furrow(a.abs() - 0.26 - 0.10 * (b * PI).cos()) * step(-0.34, -0.2, b) * step(0.46, 0.3, b);
        groove = groove.max(furrow(b - 0.10 + 0.5 * a * a) * step(0.3, 0.2, a.abs()));
        let mut colour = skin(x, y);
        colour = blend(colour, rgb(WARM), 0.55 * step(0.75, 1.0, d));
        colour = blend(colour, times(rgb(SHELL), 0.3), groove * 0.75);
        let spots = (a.abs() - 0.42).hypot(b + 0.28) < 0.07 || (a.abs() - 0.16).hypot(b - 0.34) < 0.05;
        if spots {
            colour = rgb(PALE);
        }
        let bump = 0.02 * (fractal(x / 5.0, y / 5.0, 2, 520) - 0.5);
        Some(Point { z: base + size * (0.22 + 0.36 * dome - 0.04 * groove + bump), colour, shine: 0.6 })
    });
}
