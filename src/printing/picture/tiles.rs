//! Every stitch that a chart needs, drawn once at the picture's size, in a few versions.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::thread::{self, Hand, Stitch, Weave};
use crate::chart::{Chart, Needle};
use crate::ground::colour::LinearRgb;
use crate::thread::cloth::{CoverModel, StitchKind};

/// How many versions there are of each stitch: fewer show as a pattern over large areas of one thread.
const VERSIONS: usize = 8;

/// Points taken along the side of a cell, whatever the number of pixels: divisible by every side to 12 but
/// 5, 7, 9, 10 and 11, which take the next number above that they divide.
const POINTS: u32 = 48;

/// How little of its play of light a bright thread may keep. Light over white cannot be shown; less would
/// leave white stitches flat, more would darken them.
const LEAST_PLAY: f64 = 0.42;

/// Half the width of the lower leg of a cross that covers its cell: less than would fill it, as the creases
/// between legs are thread in the shade.
const CREASED: f64 = 0.34;

/// Light that even black thread throws back where it shines.
const GLOSS: f64 = 0.008;

/// The light of one pixel: so much of the thread's colour and so much of the cloth's.
#[derive(Debug, Clone, Copy, Default)]
struct Part {
    cover: f64,
    thread: f64,
    cloth: f64,
}

/// One kind of stitch in all its versions, without colour.
struct Mask(Vec<Part>);

/// The pixels of every stitch of a chart, and of its bare cloth.
pub(super) struct Tiles {
    side: usize,
    /// 2 where the weave of neighbouring cells differs, as over three threads; else 1.
    parities: usize,
    /// For each needle, and last for bare cloth: the rows of its versions, three bytes a pixel.
    pixels: Vec<Vec<u8>>,
}

/// A number from -1 to 1 that belongs to a version and a matter.
fn drawn(version: usize, matter: u64) -> f64 {
    let h =
        (version as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ matter.wrapping_mul(0xD1B5_4A32_D192_ED03);
    let h = (h ^ (h >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    ((h ^ (h >> 32)) & 0xffff) as f64 / 32_767.5 - 1.0
}

fn hand(version: usize) -> Hand {
    Hand {
        aside: drawn(version, 1),
        wide: drawn(version, 2),
        bright: drawn(version, 3),
        twist: drawn(version, 4),
    }
}

/// The weave of a chart's cloth in one version. Over an odd number of threads, versions alternate as cells do.
fn weave(chart: &Chart, side: u32, version: usize) -> Weave {
    let over = u32::from(chart.cloth.count.over());
    if over > 1 {
        return Weave { threads: over, open: true, parity: (version % 2) as u32 * (over % 2) };
    }
    Weave { threads: if side >= 10 { 4 } else { 2 }, open: false, parity: 0 }
}

/// Means over the pixels of a square of `side`, row by row.
fn sampled(side: u32, see: impl Fn(f64, f64) -> Part) -> Vec<Part> {
    let fine = POINTS.div_ceil(side);
    let step = 1.0 / f64::from(fine * side);
    let share = 1.0 / f64::from(fine * fine);
    let mut parts = vec![Part::default(); (side * side) as usize];
    for row in 0..side * fine {
        for column in 0..side * fine {
            let seen = see((f64::from(column) + 0.5) * step, (f64::from(row) + 0.5) * step);
            let part = &mut parts[(row / fine * side + column / fine) as usize];
            part.cover += seen.cover * share;
            part.thread += seen.thread * share;
            part.cloth += seen.cloth * share;
        }
    }
    parts
}

/// Sets the means of light on thread and on cloth over all parts.
fn level(parts: &mut [Part], thread: f64, cloth: f64) {
    let count = parts.len() as f64;
    let mean = |of: fn(&Part) -> f64, parts: &[Part]| parts.iter().map(of).sum::<f64>() / count;
    let (is_thread, is_cloth) = (mean(|part| part.thread, parts), mean(|part| part.cloth, parts));
    for part in parts {
        part.thread *= if is_thread > 1e-9 { thread / is_thread } else { 0.0 };
        part.cloth *= if is_cloth > 1e-9 { cloth / is_cloth } else { 0.0 };
    }
}

impl Mask {
    fn bare(chart: &Chart, side: u32) -> Self {
        let version = |version| {
            let weave = weave(chart, side, version);
            sampled(side, |x, y| Part { cloth: thread::cloth(weave, x, y), ..Part::default() })
        };
        let mut parts: Vec<Part> = (0..VERSIONS).flat_map(version).collect();
        level(&mut parts, 0.0, 1.0);
        Self(parts)
    }

    fn of(chart: &Chart, side: u32, strands: u8, kind: StitchKind) -> Self {
        let cover = CoverModel::default();
        let covered = cover.covered(chart.cloth.count, strands, kind);
        let full = covered >= 0.995;
        let half = if full { CREASED } else { half_for(covered, kind, strands) };
        let version = |version| {
            let stitch = Stitch { kind, strands, half, full, hand: hand(version) };
            let weave = weave(chart, side, version);
            sampled(side, |x, y| {
                let seen = stitch.seen(weave, x, y);
                let cloth = (1.0 - seen.cover) * seen.cloth;
                Part { cover: seen.cover, thread: seen.cover * seen.thread, cloth }
            })
        };
        let mut parts: Vec<Part> = (0..VERSIONS).flat_map(version).collect();
        level(&mut parts, covered, 1.0 - covered);
        Self(parts)
    }

    fn coloured(&self, thread: LinearRgb, cloth: LinearRgb) -> Vec<u8> {
        let play = |colour: LinearRgb, most: f64| {
            let brightest = colour.channels.iter().copied().fold(0.0, f64::max).max(1e-6);
            ((1.0 / brightest - 1.0) / (most - 1.0).max(1e-6)).clamp(LEAST_PLAY, 1.0)
        };
        let most = |of: fn(&Part) -> f64| self.0.iter().map(of).fold(1.0, f64::max);
        let thread_play = play(thread, most(|part| part.thread - part.cover + 1.0));
        let cloth_play = play(cloth, most(|part| part.cloth + part.cover));
        let mut bytes = Vec::with_capacity(self.0.len() * 3);
        for part in &self.0 {
            let bare = 1.0 - part.cover;
            let on_thread = part.cover + (part.thread - part.cover) * thread_play;
            let on_cloth = bare + (part.cloth - bare) * cloth_play;
            let gloss = GLOSS * (part.thread - part.cover);
            let mut channels = [0.0; 3];
            for (at, channel) in channels.iter_mut().enumerate() {
                *channel = on_thread * thread.channels[at] + on_cloth * cloth.channels[at] + gloss;
            }
            let colour = LinearRgb { channels }.srgb8();
            bytes.extend([colour.r, colour.g, colour.b]);
        }
        bytes
    }
}

/// Half the width of a leg with which a stitch covers so much of its cell, by halving.
fn half_for(covered: f64, kind: StitchKind, strands: u8) -> f64 {
    let weave = Weave { threads: 2, open: false, parity: 0 };
    let (mut low, mut high) = (0.0, 0.75);
    for _ in 0..14 {
        let half = (low + high) / 2.0;
        let stitch = Stitch { kind, strands, half, full: false, hand: Hand::default() };
        let share = sampled(1, |x, y| Part { cover: stitch.seen(weave, x, y).cover, ..Part::default() });
        if share[0].cover < covered { low = half } else { high = half }
    }
    (low + high) / 2.0
}

impl Tiles {
    /// The tiles of a chart at `side` pixels a cell.
    pub(super) fn new(chart: &Chart, side: u32) -> Self {
        let cloth = chart.cloth.colour.linear();
        let sort = |needle: &Needle| (needle.strands(), needle.stitch);
        let sorts: BTreeSet<(u8, StitchKind)> = chart.needles().iter().map(sort).collect();
        let masks: BTreeMap<(u8, StitchKind), Mask> = sorts
            .into_par_iter()
            .map(|(strands, kind)| ((strands, kind), Mask::of(chart, side, strands, kind)))
            .collect();
        let mut pixels: Vec<Vec<u8>> = chart
            .needles()
            .par_iter()
            .map(|needle| masks[&sort(needle)].coloured(needle.colour().linear(), cloth))
            .collect();
        pixels.push(Mask::bare(chart, side).coloured(cloth, cloth));
        let over = usize::from(chart.cloth.count.over());
        let parities = if over > 1 && over % 2 == 1 { 2 } else { 1 };
        Self { side: side as usize, parities, pixels }
    }

    /// One row of pixels of the stitch at a place of the chart.
    pub(super) fn row(&self, needle: Option<usize>, column: usize, row: usize, line: usize) -> &[u8] {
        let tile = &self.pixels[needle.unwrap_or(self.pixels.len() - 1)];
        let version = version(column, row, self.parities);
        let start = (version * self.side + line) * self.side * 3;
        &tile[start..start + self.side * 3]
    }
}

/// Which version a cell shows: at random, but of those that suit its parity where `parities` is 2.
fn version(column: usize, row: usize, parities: usize) -> usize {
    let h = (column as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ (row as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
    let h = (h ^ (h >> 31)).wrapping_mul(0x94D0_49BB_1331_11EB);
    let pick = ((h >> 40) as usize) % (VERSIONS / parities);
    pick * parities + (column + row) % parities
}
