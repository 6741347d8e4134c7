//! The scene: for each point its height, its own colour and how it shines. Things are put in by height: what
//! is higher hides what is lower.

use crate::noise::Light;

pub(crate) const WIDTH: f32 = 1600.0;
pub(crate) const HEIGHT: f32 = 1200.0;

/// A point of a surface seen from above.
#[derive(Clone, Copy, Default)]
pub(crate) struct Point {
    /// Height over the water in pixels of the finished picture; below 0 under water.
    pub(crate) z: f32,
    pub(crate) colour: Light,
    /// 0 dull to 1 wet.
    pub(crate) shine: f32,
}

pub(crate) struct Scene {
    pub(crate) finer: usize,
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) points: Vec<Point>,
}

impl Scene {
    /// An empty scene, `finer` points to a pixel of the finished picture along each side.
    pub(crate) fn new(finer: usize) -> Self {
        let (width, height) = (WIDTH as usize * finer, HEIGHT as usize * finer);
        Self { finer, width, height, points: vec![Point { z: -1e6, ..Point::default() }; width * height] }
    }

    /// Puts in a thing that lies within `[left, top, right, bottom]`.
    pub(crate) fn put(&mut self, area: [f32; 4], thing: impl Fn(f32, f32) -> Option<Point>) {
        let finer = self.finer as f32;
        let clip = |at: f32, most: usize| (at * finer).clamp(0.0, most as f32) as usize;
        let [left, right] = [area[0], area[2]].map(|x| clip(x, self.width));
        let [top, bottom] = [area[1], area[3]].map(|y| clip(y, self.height));
        for row in top..bottom {
            for column in left..right {
                let (x, y) = ((column as f32 + 0.5) / finer, (row as f32 + 0.5) / finer);
                if let Some(point) = thing(x, y) {
                    let here = &mut self.points[row * self.width + column];
                    if point.z > here.z {
                        *here = point;
                    }
                }
            }
        }
    }

    /// Puts in a thing within `radius` of a place, turned by `turn` radians; it is told where it is as seen
    /// from its own middle, its own x to the right.
    pub(crate) fn put_at(
        &mut self,
        [x, y]: [f32; 2],
        radius: f32,
        turn: f32,
        thing: impl Fn(f32, f32, [f32; 2]) -> Option<Point>,
    ) {
        let (sin, cos) = turn.sin_cos();
        self.put([x - radius, y - radius, x + radius, y + radius], |px, py| {
            let (dx, dy) = (px - x, py - y);
            thing(dx * cos + dy * sin, dy * cos - dx * sin, [px, py])
        });
    }

    /// A round tube through knots `[x, y, z, radius]`. `paint` has how far along (0 to 1) and how far aside
    /// (-1 to 1) a point is.
    pub(crate) fn tube(&mut self, knots: &[[f32; 4]], flat: f32, paint: impl Fn(f32, f32) -> (Light, f32)) {
        let count = (knots.len() - 1) as f32;
        for (at, pair) in knots.windows(2).enumerate() {
            let [a, b] = [pair[0], pair[1]];
            let most = a[3].max(b[3]);
            let area =
                [a[0].min(b[0]) - most, a[1].min(b[1]) - most, a[0].max(b[0]) + most, a[1].max(b[1]) + most];
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let square = (dx * dx + dy * dy).max(1e-6);
            self.put(area, |x, y| {
                let t = (((x - a[0]) * dx + (y - a[1]) * dy) / square).clamp(0.0, 1.0);
                let radius = a[3] + (b[3] - a[3]) * t;
                let (ox, oy) = (x - a[0] - dx * t, y - a[1] - dy * t);
                let aside = ox.hypot(oy) / radius;
                if aside >= 1.0 {
                    return None;
                }
                let side = if dx * oy - dy * ox < 0.0 { -aside } else { aside };
                let (colour, shine) = paint((at as f32 + t) / count, side);
                let z = a[2] + (b[2] - a[2]) * t + (1.0 - aside * aside).sqrt() * radius * flat;
                Some(Point { z, colour, shine })
            });
        }
    }
}

/// Points along a curve that leaves `from` at an angle and bends evenly: `[x, y]` and the angle there.
pub(crate) fn bend(from: [f32; 2], angle: f32, length: f32, by: f32, parts: usize) -> Vec<[f32; 3]> {
    let part = length / parts as f32;
    let mut at = [from[0], from[1], angle];
    let mut points = vec![at];
    for _ in 0..parts {
        let angle = at[2] + by / parts as f32;
        at = [at[0] + angle.cos() * part, at[1] + angle.sin() * part, angle];
        points.push(at);
    }
    points
}
