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
/// repeats has 0.63, black on the darkest tint 0.69; a band of thin ink takes some of that.
const STRENGTH: [f32; 2] = [0.45, 1.15];

/// A cell with a smaller margin is looked at again, a little to every side.
const DOUBT: f32 = 0.35;

/// Cells with at least this margin teach what a symbol looks like on this page.
const SURE: f32 = 0.25;

/// Points of a cell, as a number to divide by.
const WHOLE: f32 = (ACROSS * ACROSS) as f32;

/// So many cells of a symbol teach.
const ENOUGH: u32 = 4;

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

/// A figure without its mean, and the sum of its squares.
#[derive(Clone)]
struct Sign {
    figure: Box<Figure>,
    energy: f32,
}

/// Points that count in a cell, where something is drawn across it: 1 or 0.
pub(super) type Mask = Figure;

/// Takes the mean off, over the points that count, and gives the sum of squares.
fn centred(figure: &mut Figure, mask: &Mask, count: f32) -> f32 {
    let mean = dot(figure, mask) / count;
    let mut energy = 0.0;
    for (point, weight) in figure.iter_mut().zip(mask) {
        *point = (*point - mean) * weight;
        energy += *point * *point;
    }
    energy
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
}

impl<'a> Reader<'a> {
    pub(super) fn new(page: &'a GrayImage, lattice: &'a Lattice, figures: &[Figure]) -> Self {
        let signs = figures.iter().map(|figure| Sign::new(*figure)).collect();
        Self { page, lattice, levels: Levels::of(page), signs }
    }

    /// A cell in shares of the contrast, `off` cells to the right and down of where it is.
    fn cell(&self, [column, row]: [u32; 2], off: [f64; 2]) -> Figure {
        let (left, top) = (f64::from(column) + off[0], f64::from(row) + off[1]);
        let side = self.lattice.side();
        let mut cell =
            sampled(self.page, self.levels.paper, side, |x, y| self.lattice.at(left + x, top + y));
        let contrast = self.levels.contrast();
        for point in cell.iter_mut().take(ACROSS * ACROSS) {
            *point /= contrast;
        }
        cell
    }

    /// Every cell, row by row. `lines` gives what is drawn across cells, in cells of this page.
    pub(super) fn read(&mut self, lines: &[Drawn]) -> Vec<Read> {
        let masks = self.masks(lines);
        let cells: Vec<(Figure, f32)> = (0..self.lattice.rows)
            .flat_map(|row| (0..self.lattice.columns).map(move |column| [column, row]))
            .map(|at| {
                let mut cell = self.cell(at, [0.0, 0.0]);
                let energy = centred(&mut cell, &whole(), WHOLE);
                (cell, energy)
            })
            .collect();
        let nearest = |reader: &Self| -> Vec<Read> {
            cells.iter().map(|(cell, energy)| reader.nearest(cell, *energy)).collect()
        };
        let mut read = nearest(self);
        if read.iter().any(|read| read.margin < DOUBT) {
            self.learn(&cells, &read, &masks);
            read = nearest(self);
        }
        for (place, read) in read.iter_mut().enumerate() {
            let at = [place as u32 % self.lattice.columns, place as u32 / self.lattice.columns];
            // Where lines leave less than a quarter of a cell, all of it must do.
            let free = masks[place].as_ref().filter(|mask| mask.iter().sum::<f32>() > WHOLE / 4.0);
            if let Some(mask) = free {
                *read = self.again(at, mask);
            } else if read.margin < DOUBT {
                *read = self.again(at, &whole());
            }
        }
        read
    }

    /// The nearest symbol to a cell without its mean.
    fn nearest(&self, cell: &Figure, energy: f32) -> Read {
        self.compare(energy, self.signs.iter().map(|sign| (dot(cell, &sign.figure), sign.energy)), WHOLE).1
    }

    /// The best of all symbols by their products with the cell and their own energies, and its distance.
    fn compare(&self, energy: f32, signs: impl Iterator<Item = (f32, f32)>, count: f32) -> (f32, Read) {
        let mut best = (energy, None);
        let mut second = (f32::MAX, None);
        for (needle, (product, own)) in signs.enumerate() {
            let strength = (product / own.max(1e-6)).clamp(STRENGTH[0], STRENGTH[1]);
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
    fn again(&self, at: [u32; 2], mask: &Mask) -> Read {
        let count: f32 = mask.iter().sum();
        let signs: Vec<Sign> = self.signs.iter().map(|sign| sign.masked(mask, count)).collect();
        let step = 0.5 / self.lattice.side();
        let mut best: Option<(f32, Read)> = None;
        for down in [-1.0, 0.0, 1.0] {
            for across in [-1.0, 0.0, 1.0] {
                let mut cell = self.cell(at, [across * step, down * step]);
                let energy = centred(&mut cell, mask, count);
                let products = signs.iter().map(|sign| (dot(&cell, &sign.figure), sign.energy));
                let found = self.compare(energy, products, count);
                if best.is_none_or(|(distance, _)| found.0 < distance) {
                    best = Some(found);
                }
            }
        }
        best.map_or(Read { best: None, second: None, margin: 0.0 }, |(_, read)| read)
    }

    /// Symbols become what the sure cells of this page show: as blurred and as heavy as it is printed.
    fn learn(&mut self, cells: &[(Figure, f32)], read: &[Read], masks: &[Option<Box<Mask>>]) {
        let mut sums = vec![([0.0f32; POINTS], 0u32); self.signs.len()];
        for ((cell, read), mask) in cells.iter().zip(read).zip(masks) {
            let Some(needle) = read.best else { continue };
            if read.margin < SURE || mask.is_some() {
                continue;
            }
            let sign = &self.signs[needle];
            let strength = (dot(&cell.0, &sign.figure) / sign.energy.max(1e-6)).max(STRENGTH[0]);
            let (sum, count) = &mut sums[needle];
            for (sum, point) in sum.iter_mut().zip(&cell.0) {
                *sum += *point / strength;
            }
            *count += 1;
        }
        for (sign, (mut sum, count)) in self.signs.iter_mut().zip(sums) {
            if count >= ENOUGH {
                for point in &mut sum {
                    *point /= count as f32;
                }
                *sign = Sign::new(sum);
            }
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
        let energy = centred(&mut figure, &whole(), WHOLE);
        Self { figure: Box::new(figure), energy }
    }

    fn masked(&self, mask: &Mask, count: f32) -> Self {
        let mut figure = self.figure.clone();
        let energy = centred(&mut figure, mask, count);
        Self { figure, energy }
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
                    let point = [
                        f64::from(column) + share(place % ACROSS),
                        f64::from(row) + share(place / ACROSS),
                    ];
                    if self.distance(point) < self.half {
                        mask.get_or_insert_with(|| Box::new(whole()))[place] = 0.0;
                    }
                }
            }
        }
    }
}
