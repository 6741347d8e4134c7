//! Which symbol a cell shows.
//!
//! A cell is taken for ground and ink: `value = ground + strength * figure`, the ground free (tints and the grey
//! of repeats do not matter), the strength between bounds. The distance from a symbol is the root of the mean
//! square that is left, in shares of the page's contrast; the distance from bare cloth is the cell's own
//! standard deviation. The nearest wins, and its margin is `1 - nearest / second`: 1 beyond doubt, 0 a tie.

use image::GrayImage;

use super::figures::{ACROSS, Figure, POINTS, sampled, share};
use super::lattice::Lattice;
use super::picture::Levels;

/// The bounds of an ink's strength, in shares of the contrast between paper and ink: grey ink on the ground of
/// repeats has 0.63, black on the darkest tint 0.69; a band of thin ink takes a quarter of that, and grain makes
/// the contrast look greater than it is.
const STRENGTH: [f32; 2] = [0.35, 1.15];

/// A cell with a smaller margin is looked at again, a little to every side.
const DOUBT: f32 = 0.35;

/// Points of a cell, as a number to divide by.
const WHOLE: f32 = (ACROSS * ACROSS) as f32;

/// So many cells of a symbol teach.
const ENOUGH: usize = 4;

/// No more of them: more bring nothing.
const MOST: usize = 100;

/// Cells that say how soft a page is.
const SAMPLE: usize = 150;

/// How far ink may have run, in points of a figure.
const SPREADS: [f32; 4] = [0.0, 0.25, 0.5, 0.8];

/// The blurs tried, as standard deviations in points of a figure.
const BLURS: [f32; 4] = [0.3, 0.6, 0.85, 1.1];

/// What a cell was read as.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Read {
    /// A needle, or `None` for bare cloth.
    pub(super) best: Option<usize>,
    /// What came second.
    pub(super) second: Option<usize>,
    /// How clear that is.
    pub(super) margin: f32,
}

/// How far a strength may be from that at which the symbol's ink is as dark as the page's ink: bands of thin ink
/// take a quarter. Wider, a blurred ring passes for a pale disc.
const ABOUT: [f32; 2] = [0.6, 1.3];

/// How dark the grey ink of repeats is, against black: 0x44 of 0xff in `sheet`.
const REPEATED_INK: f32 = 0.733;

/// A figure without its mean, that mean, and the sum of its squares.
#[derive(Clone)]
struct Sign {
    figure: Box<Figure>,
    mean: f32,
    energy: f32,
}

/// A cell without its mean.
struct Shown {
    figure: Figure,
    mean: f32,
    energy: f32,
    /// How dark its ink is against the page's.
    ink: f32,
}

/// Points that count in a cell, where something is drawn across it: 1 or 0.
pub(super) type Mask = Figure;

/// Takes the mean off, over the points that count, and gives it and the sum of squares.
fn centred(figure: &mut Figure, mask: &Mask, count: f32) -> (f32, f32) {
    let mean = dot(figure, mask) / count;
    let mut energy = 0.0;
    for (point, weight) in figure.iter_mut().zip(mask) {
        *point = (*point - mean) * weight;
        energy += *point * *point;
    }
    (mean, energy)
}

/// The sum of products, in eight lanes.
fn dot(one: &Figure, other: &Figure) -> f32 {
    let mut lanes = [0.0f32; 8];
    for (a, b) in one.chunks_exact(8).zip(other.chunks_exact(8)) {
        for lane in 0..8 {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    lanes.iter().sum()
}

/// A figure whose ink has run by a part of a point.
fn spread_by(figure: &Figure, share: f32) -> Figure {
    let pass = |from: &Figure, step: usize| {
        let mut to = *from;
        for (place, point) in to.iter_mut().enumerate().take(ACROSS * ACROSS) {
            let along = if step == 1 { place % ACROSS } else { place / ACROSS };
            let before = if along > 0 { from[place - step] } else { *point };
            let after = if along + 1 < ACROSS { from[place + step] } else { *point };
            *point += (before.max(after).max(*point) - *point) * share;
        }
        to
    };
    pass(&pass(figure, 1), ACROSS)
}

/// A figure under a Gaussian blur. What is beyond its edge is as its edge.
fn blurred(figure: &Figure, blur: f32) -> Figure {
    let reach = (blur * 3.0).ceil() as i32;
    let weights: Vec<f32> = (-reach..=reach).map(|off| (-0.5 * (off as f32 / blur).powi(2)).exp()).collect();
    let total: f32 = weights.iter().sum();
    let pass = |from: &Figure, across: bool| {
        let mut to = [0.0; POINTS];
        for (place, point) in to.iter_mut().enumerate().take(ACROSS * ACROSS) {
            let (x, y) = ((place % ACROSS) as i32, (place / ACROSS) as i32);
            for (off, weight) in (-reach..=reach).zip(&weights) {
                let (x, y) = if across { (x + off, y) } else { (x, y + off) };
                let last = ACROSS as i32 - 1;
                #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
                let at = y.clamp(0, last) as usize * ACROSS + x.clamp(0, last) as usize;
                *point += from[at] * weight / total;
            }
        }
        to
    };
    pass(&pass(figure, true), false)
}

/// All points of a cell.
fn whole() -> Mask {
    let mut mask = [0.0; POINTS];
    mask[..ACROSS * ACROSS].fill(1.0);
    mask
}

/// Reads the cells of one page.
pub(super) struct Reader<'a> {
    page: &'a GrayImage,
    lattice: &'a Lattice,
    levels: Levels,
    signs: Vec<Sign>,
    /// How dark full ink is, in shares of the contrast, once that is known.
    ink: Option<f32>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(page: &'a GrayImage, lattice: &'a Lattice, figures: &[Figure]) -> Self {
        let signs = figures.iter().map(|figure| Sign::new(*figure)).collect();
        Self { page, lattice, levels: Levels::of(page), signs, ink: None }
    }

    /// A cell in shares of the contrast, `off` cells to the right and down of where it is.
    fn cell(&self, [column, row]: [u32; 2], off: [f64; 2]) -> Figure {
        let (left, top) = (f64::from(column) + off[0], f64::from(row) + off[1]);
        let side = self.lattice.side();
        let mut cell = sampled(self.page, self.levels.paper, side, |x, y| self.lattice.at(left + x, top + y));
        let contrast = self.levels.contrast();
        for point in cell.iter_mut().take(ACROSS * ACROSS) {
            *point /= contrast;
        }
        cell
    }

    /// Every cell, row by row. `lines` gives what is drawn across cells, in cells of this page.
    /// `is_repeated` says which are printed in the grey of repeats.
    pub(super) fn read(&mut self, lines: &[Drawn], is_repeated: impl Fn([u32; 2]) -> bool) -> Vec<Read> {
        let masks = self.masks(lines);
        let cells: Vec<Shown> = (0..self.lattice.rows)
            .flat_map(|row| (0..self.lattice.columns).map(move |column| [column, row]))
            .map(|at| {
                let mut figure = self.cell(at, [0.0, 0.0]);
                let (mean, energy) = centred(&mut figure, &whole(), WHOLE);
                let ink = if is_repeated(at) { REPEATED_INK } else { 1.0 };
                Shown { figure, mean, energy, ink }
            })
            .collect();
        let nearest =
            |reader: &Self| -> Vec<Read> { cells.iter().map(|cell| reader.nearest(cell).1).collect() };
        let mut read = nearest(self);
        if read.iter().any(|read| read.margin < DOUBT) {
            self.ink = self.full_ink(&cells, &read);
            self.soften(&cells);
            read = nearest(self);
            self.ink = self.full_ink(&cells, &read);
            read = nearest(self);
            self.learn(&cells, &read, &masks);
            read = nearest(self);
        }
        for (place, read) in read.iter_mut().enumerate() {
            let at = [place as u32 % self.lattice.columns, place as u32 / self.lattice.columns];
            // Where lines leave less than a quarter of a cell, all of it must do.
            let free = masks[place].as_ref().filter(|mask| mask.iter().sum::<f32>() > WHOLE / 4.0);
            if let Some(mask) = free {
                *read = self.again(at, mask, cells[place].ink);
            } else if read.margin < DOUBT {
                *read = self.again(at, &whole(), cells[place].ink);
            }
        }
        read
    }

    /// The nearest symbol to a cell, and its distance.
    fn nearest(&self, cell: &Shown) -> (f32, Read) {
        let products = self.signs.iter().map(|sign| (dot(&cell.figure, &sign.figure), sign));
        self.compare([cell.energy, cell.mean, cell.ink], products, WHOLE)
    }

    /// How dark full ink is on this page: the ground of a cell and the strength of its symbol together, by the
    /// median of cells.
    fn full_ink(&self, cells: &[Shown], read: &[Read]) -> Option<f32> {
        let mut inks: Vec<f32> = cells
            .iter()
            .zip(read)
            .filter_map(|(cell, read)| {
                let sign = &self.signs[read.best?];
                let strength = dot(&cell.figure, &sign.figure) / sign.energy.max(1e-6);
                Some((cell.mean + strength * (1.0 - sign.mean)) / cell.ink)
            })
            .collect();
        inks.sort_by(f32::total_cmp);
        inks.get(inks.len() / 2).copied()
    }

    /// The best of all symbols by their products with a cell of this energy, mean and shade of ink, and its
    /// distance.
    fn compare<'s>(
        &self,
        [energy, mean, shade]: [f32; 3],
        signs: impl Iterator<Item = (f32, &'s Sign)>,
        count: f32,
    ) -> (f32, Read) {
        let mut best = (energy, None);
        let mut second = (f32::MAX, None);
        for (needle, (product, sign)) in signs.enumerate() {
            let own = sign.energy;
            let [mut low, mut high] = STRENGTH;
            if let Some(ink) = self.ink {
                let even = (ink * shade - mean) / (1.0 - sign.mean).max(0.1);
                low = (even * ABOUT[0]).clamp(low, high);
                high = (even * ABOUT[1]).clamp(low, high);
            }
            let strength = (product / own.max(1e-6)).clamp(low, high);
            let left = energy - 2.0 * strength * product + strength * strength * own;
            if left < best.0 {
                second = best;
                best = (left, Some(needle));
            } else if left < second.0 {
                second = (left, Some(needle));
            }
        }
        let distance = |left: f32| (left.max(0.0) / count).sqrt();
        let (near, next) = (distance(best.0), distance(second.0));
        let margin = if next > 0.0 { 1.0 - near / next } else { 0.0 };
        (near, Read { best: best.1, second: second.1, margin })
    }

    /// A second look at a cell through a mask, at up to half a pixel to every side: the nearest of all.
    fn again(&self, at: [u32; 2], mask: &Mask, ink: f32) -> Read {
        let count: f32 = mask.iter().sum();
        let signs: Vec<Sign> = self.signs.iter().map(|sign| sign.masked(mask, count)).collect();
        let step = 0.5 / self.lattice.side();
        let mut best: Option<(f32, Read)> = None;
        for down in [-1.0, 0.0, 1.0] {
            for across in [-1.0, 0.0, 1.0] {
                let mut cell = self.cell(at, [across * step, down * step]);
                let (mean, energy) = centred(&mut cell, mask, count);
                let products = signs.iter().map(|sign| (dot(&cell, &sign.figure), sign));
                let found = self.compare([energy, mean, ink], products, count);
                if best.is_none_or(|(distance, _)| found.0 < distance) {
                    best = Some(found);
                }
            }
        }
        best.map_or(Read { best: None, second: None, margin: 0.0 }, |(_, read)| read)
    }

    /// Symbols become as heavy and as soft as this page is: of a few spreads of ink and blurs, those that leave
    /// least between a sample of cells and the symbols nearest to them.
    fn soften(&mut self, cells: &[Shown]) {
        let every = (cells.len() / SAMPLE).max(1);
        let left = |reader: &Self| -> f32 {
            let sample = cells.iter().step_by(every);
            sample.map(|cell| reader.nearest(cell).0.powi(2)).sum()
        };
        let sharp = self.signs.clone();
        let mut best = (left(self), sharp.clone());
        for spread in SPREADS {
            let heavy: Vec<Figure> = sharp.iter().map(|sign| spread_by(&sign.whole(), spread)).collect();
            for blur in BLURS {
                self.signs = heavy.iter().map(|figure| Sign::new(blurred(figure, blur))).collect();
                let found = left(self);
                if found < best.0 {
                    best = (found, self.signs.clone());
                }
            }
        }
        self.signs = best.1;
    }

    /// Symbols become what the surer half of their cells on this page shows: as blurred and as heavy as it is
    /// printed.
    fn learn(&mut self, cells: &[Shown], read: &[Read], masks: &[Option<Box<Mask>>]) {
        let mut taught: Vec<Vec<(f32, usize)>> = vec![Vec::new(); self.signs.len()];
        for (place, (read, mask)) in read.iter().zip(masks).enumerate() {
            if let (Some(needle), None) = (read.best, mask) {
                taught[needle].push((read.margin, place));
            }
        }
        let mut learnt: Vec<(usize, Sign)> = Vec::new();
        for (needle, mut places) in taught.into_iter().enumerate() {
            let sign = &self.signs[needle];
            places.sort_by(|one, other| other.0.total_cmp(&one.0));
            places.truncate((places.len() / 2).min(MOST));
            if places.len() < ENOUGH {
                continue;
            }
            let mut sum = [0.0f32; POINTS];
            for (_, place) in &places {
                let cell = &cells[*place].figure;
                let strength = (dot(cell, &sign.figure) / sign.energy.max(1e-6)).max(STRENGTH[0]);
                for (sum, point) in sum.iter_mut().zip(cell) {
                    *sum += *point / strength / places.len() as f32;
                }
            }
            // Without its grain, the mean must still be this symbol beyond doubt: it may be another's cells.
            let taught = Sign { mean: sign.mean, ..Sign::new(sum) };
            let read = self.compare(
                [taught.energy, taught.mean, 1.0],
                self.signs.iter().map(|sign| (dot(&taught.figure, &sign.figure), sign)),
                WHOLE,
            );
            let read = read.1;
            if read.best == Some(needle) && read.margin > DOUBT {
                learnt.push((needle, taught));
            }
        }
        for (needle, sign) in learnt {
            self.signs[needle] = sign;
        }
    }

    /// For every cell, which of its points are free of lines; `None` where all are.
    fn masks(&self, lines: &[Drawn]) -> Vec<Option<Box<Mask>>> {
        let (columns, rows) = (self.lattice.columns, self.lattice.rows);
        let mut masks: Vec<Option<Box<Mask>>> = vec![None; columns as usize * rows as usize];
        for line in lines {
            line.cover(columns, rows, &mut masks);
        }
        masks
    }
}

impl Sign {
    fn new(mut figure: Figure) -> Self {
        let (mean, energy) = centred(&mut figure, &whole(), WHOLE);
        Self { figure: Box::new(figure), mean, energy }
    }

    /// The figure with its mean.
    fn whole(&self) -> Figure {
        let mut figure = *self.figure;
        for point in figure.iter_mut().take(ACROSS * ACROSS) {
            *point += self.mean;
        }
        figure
    }

    fn masked(&self, mask: &Mask, count: f32) -> Self {
        let mut figure = self.figure.clone();
        let (more, energy) = centred(&mut figure, mask, count);
        Self { figure, mean: self.mean + more, energy }
    }
}

/// A stroke across the cells of a page, in cells from its top left, and half its width with its casing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Drawn {
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
    pub(super) half: f64,
}

impl Drawn {
    fn distance(&self, [x, y]: [f64; 2]) -> f64 {
        let [dx, dy] = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
        let length = (dx * dx + dy * dy).max(1e-12);
        let along = (((x - self.from[0]) * dx + (y - self.from[1]) * dy) / length).clamp(0.0, 1.0);
        (self.from[0] + along * dx - x).hypot(self.from[1] + along * dy - y)
    }

    /// Takes the points under the stroke out of the masks of the cells that it crosses.
    fn cover(&self, columns: u32, rows: u32, masks: &mut [Option<Box<Mask>>]) {
        let span = |axis: usize, limit: u32| {
            let low = self.from[axis].min(self.to[axis]) - self.half;
            let high = self.from[axis].max(self.to[axis]) + self.half;
            #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
            let cells = low.floor().max(0.0) as u32..high.ceil().clamp(0.0, f64::from(limit)) as u32;
            cells
        };
        for row in span(1, rows) {
            for column in span(0, columns) {
                let mask = &mut masks[row as usize * columns as usize + column as usize];
                for place in 0..ACROSS * ACROSS {
                    let point =
                        [f64::from(column) + share(place % ACROSS), f64::from(row) + share(place / ACROSS)];
                    if self.distance(point) < self.half {
                        mask.get_or_insert_with(|| Box::new(whole()))[place] = 0.0;
                    }
                }
            }
        }
    }
}
