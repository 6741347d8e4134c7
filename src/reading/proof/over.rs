//! Squares whose symbol stands over a line of backstitch.
//!
//! Where a line crosses a square near its middle, `sheet` draws the symbol over it, whole, with a narrow white edge. So what
//! lies under the line is not lost there: a symbol that is there shows all of its ink and its edge, and what it leaves of the
//! line may be anything between paper and the line's own ink, as dashes have gaps. What is as dark as symbols where the line is
//! not, a symbol has to explain.

use std::collections::BTreeSet;

use super::cells::{Inked, Shown};
use super::drawn::{Cover, Drawn};
use super::figures::{Fine, ink_at, spread};
use super::points::{ACROSS, Figure, POINTS, share};
use super::signs::{Nearest, Sign, Signs};
use crate::printing::sheet;

/// So much ink of a symbol and its edge, as a share of black, hides what is under it.
pub(super) const HIDES: f32 = 0.2;

/// From so much of the most that a point of a symbol has of its ink on, a point is its own and no part of its edge.
const SOLID: f32 = 0.5;

/// What a point costs of which anything may be said, in squares of black ink: a guess of 0 to 0.8 against one that is 0.08 off
/// in the mean. Without it, a line that runs along a bar would do for the bar.
const ANYTHING: f32 = 0.008;

/// So many points say how dark they are together.
const ENOUGH: u32 = 6;

/// How dark a square's tint is, as a share of black, where it is not said by most of the square.
const TINT: f32 = 0.15;

/// The distance between places at which a line's ink is looked at, in cells.
const PITCH: f64 = 0.06;

/// A line of which fewer places are seen may be as dark as black.
const FEW: usize = 8;

/// The points of a cell that each symbol takes for itself, ink and edge: 1 or 0.
pub(super) fn owned(figures: &[Fine]) -> Vec<Figure> {
    let of = |figure: &Fine| {
        let inked = spread(figure, sheet::EDGE as f32);
        let mut owned = [0.0; POINTS];
        for (place, point) in owned.iter_mut().enumerate().take(ACROSS * ACROSS) {
            let within = [share(place % ACROSS), share(place / ACROSS)];
            *point = f32::from(u8::from(ink_at(&inked, within) > HIDES));
        }
        owned
    };
    figures.iter().map(of).collect()
}

/// How dark the ink of a line is on a page, as a share of black: nearly its darkest, since dashes have gaps. `strokes` are
/// the line's, `aside` is how far from them it is drawn, and what lies in `crossed` cells is not looked at.
pub(super) fn ink_of(page: &Inked, strokes: &[Drawn], aside: f64, crossed: &BTreeSet<[i64; 2]>) -> f32 {
    let mut inks = Vec::new();
    for Drawn { from, to, .. } in strokes {
        let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
        let length = dx.hypot(dy).max(1e-9);
        #[allow(clippy::cast_sign_loss, reason = "a length is not negative")]
        let steps = (length / PITCH) as usize;
        for step in 0..steps {
            let along = (step as f64 + 0.5) * PITCH / length;
            let place =
                [from[0] + dx * along - dy / length * aside, from[1] + dy * along + dx / length * aside];
            let cell = place.map(|at| at.floor() as i64);
            let [Ok(column), Ok(row)] = cell.map(u32::try_from) else { continue };
            if column < page.lattice.columns && row < page.lattice.rows && !crossed.contains(&cell) {
                inks.push(page.at(place));
            }
        }
    }
    inks.sort_by(f32::total_cmp);
    let dark = inks.get(inks.len() * 19 / 20).filter(|_| inks.len() >= FEW);
    dark.map_or(1.0, |dark| (dark + 0.05).min(1.0))
}

/// The nearest symbol to a cell whose symbol stands over what is drawn across it: sums of squares that are left.
pub(super) fn nearest(cell: &Shown, cover: &Cover, signs: &Signs, owned: &[Figure]) -> Nearest {
    let mut ink = [0.0; POINTS];
    ink.iter_mut().zip(&cell.figure).for_each(|(ink, point)| *ink = point + cell.mean);
    let bounds = signs.strength.map(|strength| strength * cell.shade);
    let mut found = Nearest::bare(left_bare(&ink, cover));
    for (needle, (sign, owned)) in signs.signs.iter().zip(owned).enumerate() {
        found.hold(needle, left(&ink, cover, sign, owned, bounds));
    }
    found
}

/// What is left at a point under a line that nothing hides.
fn under(ink: f32, line: f32) -> f32 {
    ANYTHING + (ink - line).max(0.0).powi(2)
}

fn left_bare(ink: &Figure, cover: &Cover) -> f32 {
    let count = cover.free.iter().sum::<f32>().max(1.0);
    let ground = ink.iter().zip(&cover.free).map(|(ink, free)| ink * free).sum::<f32>() / count;
    let at = |(ink, free): (&f32, &f32)| {
        if *free > 0.0 { (ink - ground).powi(2) } else { under(*ink, cover.ink) }
    };
    ink.iter().zip(&cover.free).take(ACROSS * ACROSS).map(at).sum()
}

fn left(ink: &Figure, cover: &Cover, sign: &Sign, owned: &Figure, [low, high]: [f32; 2]) -> f32 {
    let least = sign.figure.iter().take(ACROSS * ACROSS).copied().fold(f32::MAX, f32::min);
    let points = || {
        let all = ink.iter().zip(sign.figure.iter()).zip(owned.iter().zip(&cover.free)).take(ACROSS * ACROSS);
        all.map(|((&ink, point), (&owned, &free))| (ink, point - least, owned > 0.0, free > 0.0))
    };
    // The ground is that of points which the symbol leaves. One that leaves none is thought to be as strong as in the key.
    let mean = |points: &mut dyn Iterator<Item = f32>| {
        let (sum, count) = points.fold((0.0f32, 0u32), |(sum, count), ink| (sum + ink, count + 1));
        (count >= ENOUGH).then_some(sum / count.max(1) as f32)
    };
    let ground = mean(&mut points().filter(|(_, _, owned, free)| *free && !owned).map(|(ink, ..)| ink))
        .or_else(|| mean(&mut points().filter(|(.., free)| *free).map(|(ink, point, ..)| ink - point)));
    let ground = ground.unwrap_or(0.0).max(0.0);
    // Its strength is that of its own points, if it may be those that are free of the line.
    let solid = SOLID * points().map(|(_, point, ..)| point).fold(0.0, f32::max);
    let strength = |of_all: bool| {
        let (mut products, mut squares, mut count) = (0.0, 0.0, 0);
        for (ink, point, ..) in
            points().filter(|(_, point, owned, free)| *owned && (of_all || *free) && *point > solid)
        {
            products += (ink - ground) * point;
            squares += point * point;
            count += 1;
        }
        (count >= ENOUGH).then_some((products / squares.max(1e-6)).clamp(low, high))
    };
    let strength = strength(false).or_else(|| strength(true)).unwrap_or(low);
    let at = |(ink, point, owned, free): (f32, f32, bool, bool)| {
        // What the symbol's ink leaves of the point.
        let rest = (1.0 - point).clamp(0.0, 1.0);
        let black = (strength + ground) * point;
        if !free {
            let off = ink - ink.clamp(black, black + rest * cover.ink);
            return off * off + ANYTHING * rest;
        }
        let tint = strength * point + ground;
        // Its edge is white.
        let edge = tint - (tint - black).clamp(0.0, TINT);
        let off = if owned { ink - ink.clamp(edge, tint) } else { ink - tint };
        off * off
    };
    points().map(at).sum()
}
