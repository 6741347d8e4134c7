//! Brown wrack with its bladders, and green sea lettuce.

use crate::ground::ground;
use crate::noise::{Draw, blend, fractal, rgb, step, times};
use crate::scene::{Point, Scene, bend};

/// A ribbon along points, `wide` from its middle to its edge; `ruffle` is how much its edge waves.
fn ribbon(
    scene: &mut Scene,
    points: &[[f32; 3]],
    wide: [f32; 2],
    lift: f32,
    paint: &dyn Fn(f32, f32, f32, f32) -> ([f32; 3], f32),
) {
    let last = points.len() - 1;
    for (at, pair) in points.windows(2).enumerate() {
        let [a, b] = [pair[0], pair[1]];
        let most = wide[0].max(wide[1]) * 1.5;
        let area =
            [a[0].min(b[0]) - most, a[1].min(b[1]) - most, a[0].max(b[0]) + most, a[1].max(b[1]) + most];
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let square = dx * dx + dy * dy;
        let ends = (at == 0, at + 1 == last);
        scene.put(area, |x, y| {
            let raw = ((x - a[0]) * dx + (y - a[1]) * dy) / square;
            if (raw < -0.12 && !ends.0) || (raw > 1.12 && !ends.1) {
                return None;
            }
            let t = raw.clamp(0.0, 1.0);
            let (ox, oy) = (x - a[0] - dx * t, y - a[1] - dy * t);
            let along = (at as f32 + t) / last as f32;
            let edge = 1.0 + 0.34 * (fractal(x / 17.0, y / 17.0, 2, 700) - 0.5);
            let half = (wide[0] + (wide[1] - wide[0]) * along) * edge;
            let d = ox.hypot(oy) / half;
            (d < 1.0).then(|| {
                let (colour, height) = paint(along, d, x, y);
                Point { z: ground(x, y).max(-70.0) + lift + height, colour, shine: 0.38 }
            })
        });
    }
}

/// A frond of wrack that forks as it grows.
fn wrack(scene: &mut Scene, from: [f32; 2], angle: f32, length: f32, wide: f32, left: u32, draw: &mut Draw) {
    let points = bend(from, angle, length, draw.next(-0.7, 0.7), 7);
    let tone = draw.next(0.8, 1.2);
    let lift = 12.0 + draw.next(0.0, 14.0) + left as f32;
    ribbon(scene, &points, [wide, wide * 0.94], lift, &|along, d, x, y| {
        let rib = step(0.2, 0.08, d);
        let mut colour = blend(rgb(0x4e_3a_14), rgb(0x86_62_20), fractal(x / 22.0, y / 22.0, 3, 710));
        colour = blend(colour, rgb(0xc9_a0_3c), step(0.7, 1.0, d) * 0.35);
        colour = times(blend(colour, rgb(0x38_28_0e), rib * 0.8), tone);
        (colour, 1.6 * rib + 1.5 * (1.0 - d * d) + 9.0 * along + 2.0 * (x / 19.0 + y / 23.0).sin())
    });
    let end = points[points.len() - 1];
    // Bladders in pairs.
    for place in [2usize, 5] {
        let [x, y, turn] = points[place];
        for side in [-1.0, 1.0] {
            if draw.next(0.0, 1.0) < 0.62 {
                continue;
            }
            let (bx, by) = (x - turn.sin() * wide * 0.62 * side, y + turn.cos() * wide * 0.62 * side);
            let z = ground(bx, by).max(-70.0) + lift + 2.0;
            let knots = [
                [bx - turn.cos() * 5.0, by - turn.sin() * 5.0, z, wide * 0.36],
                [bx + turn.cos() * 5.0, by + turn.sin() * 5.0, z, wide * 0.36],
            ];
            scene.tube(&knots, 1.0, |_, _| (times(rgb(0x9a_74_28), tone), 0.85));
        }
    }
    if left > 0 {
        let fork = draw.next(0.42, 0.72);
        for side in [-1.0, 1.0] {
            let shorter = length * draw.next(0.72, 0.9);
            wrack(scene, [end[0], end[1]], end[2] + fork * side, shorter, wide * 0.9, left - 1, draw);
        }
    }
}

/// A blade of sea lettuce.
fn lettuce(scene: &mut Scene, from: [f32; 2], angle: f32, length: f32, wide: f32, draw: &mut Draw) {
    let points = bend(from, angle, length, draw.next(-0.9, 0.9), 9);
    let tone = draw.next(0.78, 1.2);
    let lift = draw.next(8.0, 30.0);
    ribbon(scene, &points, [wide * 0.5, wide * 1.1], lift, &|_, d, x, y| {
        let fold = (fractal(x / 34.0, y / 34.0, 3, 720) - 0.5) * (0.4 + d);
        let mut colour = blend(rgb(0x3f_8a_22), rgb(0x9c_d0_3c), 0.5 + 1.7 * fold);
        colour = blend(colour, rgb(0xc6_e8_6a), step(0.86, 1.0, d) * 0.7);
        (times(colour, tone), 34.0 * fold + 3.0)
    });
}

pub(crate) fn grow(scene: &mut Scene) {
    let mut draw = Draw(31, 0);
    for [x, y, angle] in
        [[1600.0, 470.0, 2.95], [1610.0, 560.0, 3.2], [1600.0, 660.0, 2.75], [1590.0, 390.0, 3.5]]
    {
        wrack(scene, [x, y], angle, 92.0, 20.0, 3, &mut draw);
    }
    for [x, y, angle] in [[20.0, 1200.0, -0.9], [120.0, 1215.0, -1.25], [0.0, 1090.0, -0.35]] {
        wrack(scene, [x, y], angle, 84.0, 19.0, 2, &mut draw);
    }
    for at in 0..13 {
        let x = 800.0 + 20.0 * at as f32;
        let angle = 1.57 + draw.next(-0.75, 0.75);
        let length = draw.next(90.0, 190.0);
        lettuce(scene, [x, draw.next(66.0, 120.0)], angle, length, draw.next(20.0, 34.0), &mut draw);
    }
    for at in 0..9 {
        let angle = 2.6 + draw.next(-0.9, 0.9);
        let start = [1500.0 - 14.0 * at as f32, 1010.0 + 16.0 * at as f32];
        let length = draw.next(70.0, 130.0);
        lettuce(scene, start, angle, length, draw.next(16.0, 28.0), &mut draw);
    }
}
