//! Seeded noise: the same picture each time, without a library.

/// A number from 0 to 1 that belongs to a point of a grid.
pub(crate) fn hash(x: i32, y: i32, seed: u32) -> f32 {
    let mut h = (x as u32).wrapping_mul(0x9E37_79B1)
        ^ (y as u32).wrapping_mul(0x85EB_CA77)
        ^ seed.wrapping_mul(0xC2B2_AE3D);
    h = (h ^ (h >> 15)).wrapping_mul(0x2C1B_3C6D);
    h = (h ^ (h >> 12)).wrapping_mul(0x297A_2D39);
    ((h ^ (h >> 15)) >> 8) as f32 / 16_777_216.0
}

/// Value noise, 0 to 1, smooth over a grid of 1.
pub(crate) fn value(x: f32, y: f32, seed: u32) -> f32 {
    let (left, top) = (x.floor(), y.floor());
    let ease = |t: f32| t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
    let (u, v) = (ease(x - left), ease(y - top));
    let (i, j) = (left as i32, top as i32);
    let upper = mix(hash(i, j, seed), hash(i + 1, j, seed), u);
    let lower = mix(hash(i, j + 1, seed), hash(i + 1, j + 1, seed), u);
    mix(upper, lower, v)
}

/// Octaves of value noise, 0 to 1; each is turned so that the grid does not show.
pub(crate) fn fractal(x: f32, y: f32, octaves: u32, seed: u32) -> f32 {
    let (mut x, mut y) = (x, y);
    let (mut sum, mut weight, mut total) = (0.0, 1.0, 0.0);
    for octave in 0..octaves {
        sum += weight * value(x, y, seed.wrapping_add(octave * 101));
        total += weight;
        weight *= 0.5;
        (x, y) = (x * 1.62 - y * 1.18 + 17.3, x * 1.18 + y * 1.62 - 5.1);
    }
    sum / total
}

/// The distances to the nearest and the second nearest of points strewn one in each square of a grid of 1.
pub(crate) fn strewn(x: f32, y: f32, seed: u32) -> [f32; 2] {
    let (i, j) = (x.floor() as i32, y.floor() as i32);
    let (mut first, mut second) = (9.0f32, 9.0f32);
    for dj in -1..=1 {
        for di in -1..=1 {
            let px = (i + di) as f32 + hash(i + di, j + dj, seed);
            let py = (j + dj) as f32 + hash(i + di, j + dj, seed ^ 0x55);
            let d = (px - x).hypot(py - y);
            if d < first {
                (first, second) = (d, first);
            } else {
                second = second.min(d);
            }
        }
    }
    [first, second]
}

pub(crate) fn mix(a: f32, b: f32, t: f32) -> f32 {
    a + (b - a) * t
}

/// 0 below `from`, 1 above `to`, smooth between; the other way round where `from` is above `to`.
pub(crate) fn step(from: f32, to: f32, x: f32) -> f32 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

pub(crate) type Light = [f32; 3];

pub(crate) fn blend(a: Light, b: Light, t: f32) -> Light {
    let t = t.clamp(0.0, 1.0);
    [mix(a[0], b[0], t), mix(a[1], b[1], t), mix(a[2], b[2], t)]
}

pub(crate) fn times(a: Light, by: f32) -> Light {
    a.map(|part| part * by)
}

/// The light of an sRGB colour (IEC 61966-2-1).
pub(crate) fn rgb(hex: u32) -> Light {
    [16, 8, 0].map(|shift| {
        let v = ((hex >> shift) & 255) as f32 / 255.0;
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    })
}

/// A run of numbers drawn from a seed.
pub(crate) struct Draw(pub(crate) u32, pub(crate) i32);

impl Draw {
    /// The next, from `from` to `to`.
    pub(crate) fn next(&mut self, from: f32, to: f32) -> f32 {
        self.1 += 1;
        mix(from, to, hash(self.1, self.1 >> 7, self.0))
    }
}
