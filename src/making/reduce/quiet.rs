//! Where the picture is quiet, and what a border between two looks costs there.
//!
//! Where the picture is smooth or out of focus, the eye sees each border that a chart makes and the picture does not
//! have. So a side between stitches of two looks costs by the contrast that it creates: as much as the looks differ
//! more than the picture does there (the penalised length of borders of Mumford & Shah 1989, "Optimal approximations by
//! piecewise smooth functions", Comm. Pure Appl. Math. 42: 577-685, with the jump for a price). Where the picture is
//! busy nobody sees them, and they cost less.

use rayon::prelude::*;

use crate::ground::colour::{Compared, Lab32, Many};
use crate::ground::progress::{Progress, Stopped, ask};
use crate::ground::units::GridSize;

/// Price, in ΔE of likeness, of each ΔE of created contrast along one side where the picture is all smooth. Half of it
/// leaves a seventh more steps; with four times as much ramps become flat and small things drown.
const PRICE: f32 = 0.0375;

/// How much a difference of hue counts on top of its part in ΔE00 where two looks meet: lilac beside blue in a clear sky is
/// seen more than a lighter blue. With it a tenth fewer steps of hue are left, all else as with none and a higher price.
const HUE: f32 = 1.5;

/// The mean step between neighbours, in ΔE, at which the price is half: the grain of a sharp photo.
const BUSY: f32 = 3.0;

/// Steps within so many cells say how busy the picture is. One cell and four cells do nearly as well.
const REACH: usize = 2;

/// Steps in the picture are kept in parts of a ΔE.
const PARTS: f32 = 16.0;

/// The sides of the cells of a picture: how far the picture itself steps there, and how much created contrast costs.
#[derive(Debug)]
pub(super) struct Quiet {
    stride: usize,
    /// For each cell, with a border of one cell all round, the side to its right and the one below.
    sides: Vec<[Side; 2]>,
}

/// The side between two cells.
#[derive(Debug, Clone, Copy, Default)]
struct Side {
    /// The step in the picture.
    step: u8,
    /// The price, in 255ths of [`PRICE`].
    price: u8,
}

impl Quiet {
    /// Looks at a picture.
    pub(super) fn new(
        cells: &[Option<Lab32>],
        size: GridSize,
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let (width, height) = (size.width(), size.height());
        let step = |one: usize, two: usize| match (cells[one], cells[two]) {
            (Some(one), Some(two)) => difference(one, two),
            _ => 0.0,
        };
        let mut steps = vec![[0.0_f32; 2]; cells.len()];
        steps.par_chunks_mut(width).enumerate().try_for_each(|(y, row)| {
            ask(progress)?;
            for (x, steps) in row.iter_mut().enumerate() {
                let cell = y * width + x;
                let right = if x + 1 < width { step(cell, cell + 1) } else { 0.0 };
                *steps = [right, if y + 1 < height { step(cell, cell + width) } else { 0.0 }];
            }
            Ok(())
        })?;
        let prices = prices(&steps, width);
        ask(progress)?;
        let stride = width + 2;
        let mut sides = vec![[Side::default(); 2]; stride * (height + 2)];
        sides.par_chunks_mut(stride).skip(1).take(height).enumerate().for_each(|(y, row)| {
            for x in 0..width {
                let cell = y * width + x;
                let side = |way: usize, other: usize| {
                    let other = if other < cells.len() { other } else { cell };
                    Side {
                        step: byte(steps[cell][way] * PARTS),
                        price: byte((prices[cell] + prices[other]) * 127.5),
                    }
                };
                row[x + 1] = [side(0, cell + 1), side(1, cell + width)];
            }
        });
        Ok(Self { stride, sides })
    }
}

#[allow(clippy::cast_sign_loss, reason = "steps and prices are not negative; what is too large is cut")]
fn byte(value: f32) -> u8 {
    (value + 0.5) as u8
}

/// A colour's place about the axis of greys.
struct Polar {
    colour: Lab32,
    chroma: f32,
}

impl Polar {
    fn new(colour: Lab32) -> Self {
        Self { colour, chroma: (colour.a * colour.a + colour.b * colour.b).sqrt() }
    }

    /// How far two colours differ in hue alone, by CIE94 (CIE 116:1995) with the mean of both chromas.
    fn hue_to(&self, other: &Self) -> f32 {
        let along = self.colour.a * other.colour.a + self.colour.b * other.colour.b;
        let chroma = (self.chroma + other.chroma) / 2.0;
        (2.0 * (self.chroma * other.chroma - along)).max(0.0).sqrt() / (1.0 + 0.015 * chroma)
    }
}

/// How far two colours differ, by CIE94 (CIE 116:1995) with CIEDE2000's weight of lightness; weights are those of the
/// first colour. It is a tenth of the work of CIEDE2000, and steps between neighbours are small.
fn difference(one: Lab32, two: Lab32) -> f32 {
    let [dl, da, db] = [one.l - two.l, one.a - two.a, one.b - two.b];
    let [chroma, other] = [one, two].map(|lab| (lab.a * lab.a + lab.b * lab.b).sqrt());
    let dc = chroma - other;
    let dh = (da * da + db * db - dc * dc).max(0.0);
    let (sc, sh) = (1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma);
    let from_middle = (one.l - 50.0) * (one.l - 50.0);
    let dl = dl / (1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt());
    (dl * dl + dc * dc / (sc * sc) + dh / (sh * sh)).sqrt()
}

/// The price at each cell, as a share of [`PRICE`].
fn prices(steps: &[[f32; 2]], width: usize) -> Vec<f32> {
    let height = steps.len() / width;
    // Sums from the top left corner. A step counts as 20 at the most, so that one hard edge is not taken for grain.
    let mut sums = vec![0.0_f64; (width + 1) * (height + 1)];
    for y in 0..height {
        let mut along = 0.0;
        for x in 0..width {
            let [right, below] = steps[y * width + x];
            along += f64::from(right.min(20.0) + below.min(20.0)) / 2.0;
            sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1] + along;
        }
    }
    let mut prices = vec![0.0; steps.len()];
    prices.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        let (top, bottom) = (y.saturating_sub(REACH), (y + REACH + 1).min(height));
        let [above, below] = [top, bottom].map(|y| &sums[y * (width + 1)..][..width + 1]);
        for (x, price) in row.iter_mut().enumerate() {
            let (left, right) = (x.saturating_sub(REACH), (x + REACH + 1).min(width));
            let sum = below[right] - below[left] - above[right] + above[left];
            let busy = sum as f32 / ((right - left) * (bottom - top)) as f32 / BUSY;
            *price = 1.0 / (1.0 + busy * busy);
        }
    });
    prices
}

/// What sides cost between looks.
#[derive(Debug, Clone)]
pub(super) struct Borders<'a> {
    quiet: &'a Quiet,
    labels: usize,
    /// The contrast between looks, label by label: ΔE00, and hue once more.
    apart: Vec<f32>,
}

impl<'a> Borders<'a> {
    /// Between labels that are seen so.
    pub(super) fn new(quiet: &'a Quiet, seen: &[Compared]) -> Self {
        let many = Many::new(seen);
        let polar: Vec<Polar> = seen.iter().map(|one| Polar::new(one.lab().into())).collect();
        let mut apart = vec![0.0_f32; seen.len() * seen.len()];
        apart.par_chunks_mut(seen.len().max(1)).zip(seen).zip(&polar).for_each(|((row, one), own)| {
            many.ciede2000(one, row);
            for (apart, other) in row.iter_mut().zip(&polar) {
                *apart += HUE * own.hue_to(other);
            }
        });
        Self { quiet, labels: seen.len(), apart }
    }

    /// What the sides of the cell `at` cost beyond their number, were its label `own`: `about` are the labels above,
    /// left, right and below, `void` no cell.
    #[inline]
    pub(super) fn price(&self, at: usize, own: u16, about: [u16; 4], void: u16) -> f32 {
        let apart = &self.apart[usize::from(own) * self.labels..][..self.labels];
        let quiet = self.quiet;
        let [right, below] = quiet.sides[at];
        let sides = [quiet.sides[at - quiet.stride][1], quiet.sides[at - 1][0], right, below];
        let mut price = 0.0;
        for (side, label) in sides.into_iter().zip(about) {
            if label != own && label != void {
                let created = (apart[usize::from(label)] - f32::from(side.step) * (1.0 / PARTS)).max(0.0);
                price += created * f32::from(side.price);
            }
        }
        price * (PRICE / 255.0)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::colour::Lab;
    use crate::ground::progress::Silent;

    #[test]
    fn a_border_of_another_hue_costs_more_than_one_as_plain_of_another_lightness() {
        let sky = Lab { l: 70.0, a: -4.0, b: -30.0 };
        let cells = vec![Some(Lab32::from(sky)); 100];
        let quiet = Quiet::new(&cells, GridSize::new(10, 10).unwrap(), &Silent).unwrap();
        let (lilac, lighter) = (Lab { a: 8.0, b: -29.2, ..sky }, Lab { l: 84.0, ..sky });
        assert!(
            (sky.ciede2000(lilac) - sky.ciede2000(lighter)).abs() < 1.0,
            "{}, {}",
            sky.ciede2000(lilac),
            sky.ciede2000(lighter)
        );
        let borders = Borders::new(&quiet, &[sky, lilac, lighter].map(Compared::from));
        let price = |label: u16| borders.price(5 * 12 + 5, 0, [label, 0, 0, 0], u16::MAX);
        assert!(price(1) > 1.5 * price(2), "{}, {}", price(1), price(2));
    }
}
