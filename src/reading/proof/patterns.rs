//! How the patterns of lines look on a page, and which of them a line shows.
//!
//! The drawings are known (`chart` and `sheet` have them), so they are not learnt from the key: its samples are
//! some six millimetres long, hardly more than one dash and one gap of the longest patterns, while the drawing says
//! exactly how a pattern goes on. The key's samples are read like any other line. What is taken from the picture
//! is how far ink has run and how soft it is: of a few, what leaves least on the lines of the page.
//!
//! A pattern is rectangles of ink, so its softened drawing is a product: ink along the line times ink across it.

use crate::chart::LinePattern;
use crate::printing::sheet;

/// How far to both sides of a line it is looked at, in cells. The casing ends at 0.13 and more; symbols begin there.
pub(super) const ASIDE: [f64; 4] = [0.0, 0.035, 0.07, 0.105];

/// The distance between places along a line, in cells: a third of the shortest dash or gap.
pub(super) const PITCH: f64 = 0.06;

/// How strong a line may be, in shares of black ink: a thread is drawn at L* 42 at the palest, which is 0.61, and thin
/// ink takes some; a thin grey rule is no line.
const STRENGTH: [f32; 2] = [0.45, 1.3];

/// The most ink that symbols and rules beside a line have in the mean.
const BESIDE: f32 = 0.7;

/// How far ink may have run, and standard deviations of blur, in cells.
const SPREADS: [f64; 3] = [0.0, 0.02, 0.04];
const BLURS: [f64; 5] = [0.02, 0.035, 0.05, 0.07, 0.09];

/// The places along a stretch of line, one [`PITCH`] after another.
#[derive(Debug, Clone, Default)]
pub(super) struct Stretch {
    pub(super) places: Vec<Place>,
}

/// What is seen at one place of a line: ink in shares of black, added up over the sides that are free of other
/// things, and how many those are (one in the middle, two elsewhere).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Place {
    pub(super) ink: [f32; ASIDE.len()],
    pub(super) sides: [f32; ASIDE.len()],
    /// The sum of the squares of all inks.
    pub(super) squares: f32,
}

impl Stretch {
    fn energy(&self) -> f32 {
        self.places.iter().map(|place| place.squares).sum()
    }

    /// How much of it can be seen, in cells.
    pub(super) fn seen(&self) -> f64 {
        self.places.iter().filter(|place| place.sides[0] > 0.0).count() as f64 * PITCH
    }
}

/// What a line was read as; `None` is nothing at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Read {
    pub(super) best: Option<LinePattern>,
    pub(super) second: Option<LinePattern>,
    /// 1 less the distance of the best over that of the second.
    pub(super) margin: f64,
}

/// One pattern under one spread and blur.
struct Drawing {
    /// The length after which it begins again, in cells; 0 for an unbroken line.
    period: f64,
    /// Ink along one period, in steps of a quarter of a [`PITCH`] or little less.
    along: Vec<f32>,
    across: [f32; ASIDE.len()],
    /// What reaches there of ink beyond its casing.
    beside: [f32; ASIDE.len()],
}

/// The share of a Gaussian of this deviation between two places from its middle.
fn between(from: f64, to: f64, blur: f64) -> f64 {
    let upto = |at: f64| libm::erf(at / (blur * std::f64::consts::SQRT_2));
    (upto(to) - upto(from)) / 2.0
}

impl Drawing {
    fn new(pattern: LinePattern, spread: f64, blur: f64) -> Self {
        let half = pattern.weight() / 2.0 + spread;
        let across = ASIDE.map(|aside| {
            let inks =
                sheet::asides(pattern).iter().map(|at| between(aside - at - half, aside - at + half, blur));
            inks.sum::<f64>().min(1.0) as f32
        });
        let clear = sheet::half_width(pattern) - spread;
        let beside = ASIDE.map(|aside| 1.0 - between(aside - clear, aside + clear, blur) as f32);
        let dashes = pattern.dashes();
        let period: f64 = dashes.iter().sum();
        #[allow(clippy::cast_sign_loss, reason = "a period is not negative")]
        let steps = ((4.0 * period / PITCH).ceil() as usize).max(1);
        let ink = |step: usize| {
            let at = step as f64 / steps as f64 * period;
            let mut ink = if dashes.is_empty() { 1.0 } else { 0.0 };
            // The blur of the periods before and after reaches over.
            for turn in [-1.0, 0.0, 1.0] {
                let mut from = turn * period;
                for pair in dashes.chunks(2) {
                    let to = from + pair[0];
                    ink += between(at - to - spread, at - from + spread, blur);
                    from = to + pair.get(1).copied().unwrap_or_default();
                }
            }
            ink.min(1.0) as f32
        };
        Self { period, along: (0..steps).map(ink).collect(), across, beside }
    }

    /// The sum of squares that it leaves of a stretch, at the phase at which that is least.
    fn left(&self, stretch: &Stretch) -> f32 {
        // At each place: the line's own products with what is seen, with itself, with what lies beside it.
        let (mut beside, mut beside_square) = (0.0, 0.0);
        let weighted: Vec<[f32; 3]> = stretch
            .places
            .iter()
            .map(|place| {
                let mut products = [0.0; 3];
                for channel in 0..ASIDE.len() {
                    let (ink, sides) = (place.ink[channel], place.sides[channel]);
                    let (across, out) = (self.across[channel], self.beside[channel]);
                    products[0] += ink * across;
                    products[1] += sides * across * across;
                    products[2] += sides * across * out;
                    beside += ink * out;
                    beside_square += sides * out * out;
                }
                products
            })
            .collect();
        let steps = self.along.len();
        // So many steps of the table are a pitch.
        let pitch = if self.period > 0.0 { PITCH / self.period * steps as f64 } else { 0.0 };
        let at_phase = |phase: usize| {
            let [mut product, mut square, mut both] = [0.0; 3];
            for (place, products) in weighted.iter().enumerate() {
                #[allow(clippy::cast_sign_loss, reason = "a place is not negative")]
                let step = (place as f64 * pitch).round() as usize + phase;
                let ink = self.along[step % steps];
                product += ink * products[0];
                square += ink * ink * products[1];
                both += ink * products[2];
            }
            // Strength and what lies beside, by least squares, each within its bounds: they hang together little, so
            // that a few turns settle them.
            let (mut strength, mut ground) = (STRENGTH[0], 0.0);
            for _ in 0..4 {
                strength = ((product - ground * both) / square.max(1e-6)).clamp(STRENGTH[0], STRENGTH[1]);
                ground = ((beside - strength * both) / beside_square.max(1e-6)).clamp(0.0, BESIDE);
            }
            strength * strength * square + ground * ground * beside_square + 2.0 * strength * ground * both
                - 2.0 * (strength * product + ground * beside)
        };
        let least = (0..steps).step_by(3).map(at_phase).fold(f32::MAX, f32::min);
        (stretch.energy() + least).max(0.0)
    }
}

/// What each pattern leaves of each outline of a page, and what is left where there is nothing: by softness, then
/// outline, then pattern in the order of [`LinePattern::ALL`] and nothing last.
pub(super) fn read(outlines: &[Vec<Stretch>]) -> Vec<Read> {
    let mut best: Option<(f32, Vec<Vec<f32>>)> = None;
    for (spread, blur) in SPREADS.into_iter().flat_map(|spread| BLURS.map(|blur| (spread, blur))) {
        let drawings = LinePattern::ALL.map(|pattern| Drawing::new(pattern, spread, blur));
        let all: Vec<Vec<f32>> = outlines
            .iter()
            .map(|stretches| {
                drawings.iter().map(|one| stretches.iter().map(|at| one.left(at)).sum()).collect()
            })
            .collect();
        let left = all.iter().map(|left| left.iter().copied().fold(f32::MAX, f32::min)).sum();
        if best.as_ref().is_none_or(|(least, _)| left < *least) {
            best = Some((left, all));
        }
    }
    let all = best.map(|(_, all)| all).unwrap_or_default();
    outlines.iter().zip(all).map(|(stretches, left)| judged(stretches, &left)).collect()
}

fn judged(stretches: &[Stretch], left: &[f32]) -> Read {
    let nothing: f32 = stretches.iter().map(Stretch::energy).sum();
    let mut order: Vec<(f32, Option<LinePattern>)> =
        left.iter().copied().zip(LinePattern::ALL.map(Some)).collect();
    order.push((nothing, None));
    order.sort_by(|one, other| one.0.total_cmp(&other.0));
    let distance = |place: usize| f64::from(order[place].0.max(0.0)).sqrt();
    let margin = if distance(1) > 0.0 { 1.0 - distance(0) / distance(1) } else { 0.0 };
    Read { best: order[0].1, second: order[1].1, margin }
}
