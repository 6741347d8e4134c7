//! One stitch and its bit of cloth, as seen from above: where thread lies and how light falls on it.
//!
//! A cell is a unit square, x to the right and y down. The light comes from the upper left.

use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2, TAU};

use crate::thread::cloth::{Diagonal, StitchKind};

/// Towards the light, about half way up. Of unit length.
const LIGHT: [f64; 3] = [-0.5, -0.5, FRAC_1_SQRT_2];

/// How much narrower a leg is at its holes than in its middle, in a cross and alone: a stitch is drawn together
/// where it enters, and one leg alone has room to swell between, as `thread::cloth` reckons it.
const PINCH: [f64; 2] = [0.5, 2.0 / 3.0];

/// The most that the upper leg may take of a cell to each side of its middle: with more, the lower leg is
/// hidden and crosses look like slanted satin stitches. What it leaves open, the lower leg fills.
const UPPER_MOST: f64 = 0.235;

/// The most strands that are told apart: finer ones are seen as one.
const MOST_STRANDS: f64 = 3.0;

/// The radius of a hole of the cloth as a share of a cell, and how much light comes out of it.
const HOLE: f64 = 0.15;
const HOLE_LIGHT: f64 = 0.42;

/// A cell and the eight round it, in cells.
const AROUND: [[f64; 2]; 9] = [
    [0.0, 0.0],
    [-1.0, 0.0],
    [1.0, 0.0],
    [0.0, -1.0],
    [0.0, 1.0],
    [-1.0, -1.0],
    [1.0, -1.0],
    [-1.0, 1.0],
    [1.0, 1.0],
];

/// How one stitch differs from the next: no two by hand are alike. Each from -1 to 1.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Hand {
    pub(super) aside: f64,
    pub(super) wide: f64,
    pub(super) bright: f64,
    pub(super) twist: f64,
}

/// A stitch to be drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stitch {
    pub(super) kind: StitchKind,
    pub(super) strands: u8,
    /// Half the width of a leg in its middle, as a share of a cell.
    pub(super) half: f64,
    /// Whether thread hides all of the cell.
    pub(super) full: bool,
    pub(super) hand: Hand,
}

/// The woven threads of a cloth across one cell; in a woven block, so many as can be made out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weave {
    pub(super) threads: u32,
    /// Whether there are small holes between all threads, as in evenweave.
    pub(super) open: bool,
    /// 1 where the first crossing shows the thread that runs down, 0 where it shows the one across.
    pub(super) parity: u32,
}

/// What is seen at a point.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    /// 1 where thread covers the cloth.
    pub(super) cover: f64,
    /// Light on the thread, about 1.
    pub(super) thread: f64,
    /// Light on the cloth, about 1.
    pub(super) cloth: f64,
}

/// 0 at 0, 1 from `to` on, smooth between.
fn rise(to: f64, x: f64) -> f64 {
    let t = (x / to).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Light on the cloth alone.
pub(super) fn cloth(weave: Weave, x: f64, y: f64) -> f64 {
    let count = f64::from(weave.threads);
    let (i, j) = ((x * count).floor(), (y * count).floor());
    let (u, v) = (x * count - i - 0.5, y * count - j - 0.5);
    let down = ((i + j) as i64 + i64::from(weave.parity)) % 2 == 0;
    // The thread on top is round across and dips at both its ends.
    let (across, along, slope) = if down { (u, v, -u) } else { (v, u, -v) };
    let mut light = 1.0 + 0.16 * slope - 0.34 * across.abs().powi(3) * 4.0 - 0.5 * along.abs().powi(3);
    let holes = |x: f64, y: f64, radius: f64| {
        let (dx, dy) = (x - x.round(), y - y.round());
        1.0 - (1.0 - HOLE_LIGHT) * (1.0 - rise(radius, libm::hypot(dx, dy) - radius * 0.35))
    };
    if weave.open {
        light *= 0.5 + 0.5 * holes(x * count, y * count, 0.2);
    }
    light * holes(x, y, HOLE)
}

impl Stitch {
    /// The point in a leg's own measure: along from 0 to 1, and aside in cells, positive to the right of a
    /// leg that goes up, to the upper right of one that goes down.
    fn within(self, slant: Diagonal, x: f64, y: f64) -> [f64; 2] {
        let aside = self.hand.aside * 0.022;
        match slant {
            Diagonal::Rising => [(x + 1.0 - y) / 2.0, (x + y - 1.0) * FRAC_1_SQRT_2 + aside],
            Diagonal::Falling => [(x + y) / 2.0, (x - y) * FRAC_1_SQRT_2 - aside],
        }
    }

    fn half_at(self, half: f64, along: f64) -> f64 {
        let pinch = PINCH[usize::from(self.kind != StitchKind::FullCross)];
        let bulge = libm::sqrt(libm::sin(along.clamp(0.0, 1.0) * PI).max(0.0));
        half * (1.0 - pinch + pinch * bulge) * (1.0 + 0.05 * self.hand.wide)
    }

    /// Light on a leg at a point of it; `across` from -1 to 1.
    fn light(self, slant: Diagonal, along: f64, across: f64) -> f64 {
        let strands = f64::from(self.strands).min(MOST_STRANDS);
        // Each strand is a roll of its own on the roll of all.
        let roll = 2.0 * (((across + 1.0) / 2.0 * strands).clamp(0.0, strands - 1e-9).fract()) - 1.0;
        let tilt = if strands > 1.0 { 0.62 * across + 0.34 * roll } else { 0.85 * across };
        let dive = 0.7 * (rise(0.3, 1.0 - along) - rise(0.3, along));
        let (aside, ahead) = match slant {
            Diagonal::Rising => ([FRAC_1_SQRT_2, FRAC_1_SQRT_2], [FRAC_1_SQRT_2, -FRAC_1_SQRT_2]),
            Diagonal::Falling => ([FRAC_1_SQRT_2, -FRAC_1_SQRT_2], [FRAC_1_SQRT_2, FRAC_1_SQRT_2]),
        };
        let normal = [
            aside[0] * tilt + ahead[0] * dive,
            aside[1] * tilt + ahead[1] * dive,
            (1.0 - tilt * tilt).max(0.1).sqrt(),
        ];
        let long = normal.iter().map(|part| part * part).sum::<f64>().sqrt();
        let facing = normal.iter().zip(LIGHT).map(|(n, l)| n * l).sum::<f64>() / long;
        let lit = 0.56 + 0.62 * facing.max(0.0);
        // Cotton shines a little where it faces the light.
        let sheen = 0.16 * facing.max(0.0).powi(12);
        let edge = 0.58 + 0.42 * (1.0 - across * across).max(0.0).sqrt();
        let seam = if strands > 1.0 { 0.86 + 0.14 * (1.0 - roll * roll).max(0.0).sqrt() } else { 1.0 };
        let hole = 0.46 + 0.54 * rise(0.17, along.min(1.0 - along));
        // Each strand is twisted of two plies, seen as slanting furrows.
        let twist = 1.0 + 0.08 * libm::sin(TAU * (along * 5.0 + 0.42 * roll + 0.5 * self.hand.twist));
        (lit + sheen) * edge * seam * hole * twist * (1.0 + 0.035 * self.hand.bright)
    }

    /// What is seen at a point of the cell, in a field of the same stitch.
    pub(super) fn seen(self, weave: Weave, x: f64, y: f64) -> Seen {
        // The shade that what lies above throws, longer to the lower right.
        let mut shade = 1.0f64;
        // Legs by themselves are wider than their own square has room for: what hangs over lies on the next.
        let around: &[[f64; 2]] = if self.kind == StitchKind::FullCross { &AROUND[..1] } else { &AROUND };
        for [across, down] in around {
            if let Some(thread) = self.on_thread(x - across, y - down, &mut shade) {
                return Seen { cover: 1.0, thread, cloth: 1.0 };
            }
        }
        let cover = if self.full { 1.0 } else { 0.0 };
        Seen { cover, thread: 0.62 * shade, cloth: cloth(weave, x, y) * shade }
    }

    /// Light on the thread at a point, if a leg of this stitch lies there; else what shade they throw on it is
    /// taken off `shade`.
    fn on_thread(self, x: f64, y: f64, shade: &mut f64) -> Option<f64> {
        // From the top: the leg that is worked last lies over the others.
        for (place, &(slant, corner)) in self.kind.legs().iter().enumerate().rev() {
            let upper = self.kind == StitchKind::FullCross && place == 1;
            let half = if upper { self.half.min(UPPER_MOST) } else { self.half };
            let [along, aside] = self.within(slant, x, y);
            // A leg from a corner to the middle is drawn as one of half the length.
            let (along, long) = match corner {
                None => (along, SQRT_2),
                Some(corner) if corner == slant.ends()[0] => (2.0 * along, FRAC_1_SQRT_2),
                Some(_) => (2.0 * along - 1.0, FRAC_1_SQRT_2),
            };
            let half = self.half_at(half, along);
            let beyond = ((along - 0.5).abs() - 0.5) * long;
            let over = (aside.abs() - half).max(beyond);
            if over < 0.0 {
                return Some(self.light(slant, along, aside / half) * *shade);
            }
            let reach = if slant == Diagonal::Rising && aside > 0.0 { 0.17 } else { 0.09 };
            *shade *= 0.46 + 0.54 * rise(reach, over);
        }
        None
    }
}
