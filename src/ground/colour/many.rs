//! CIEDE2000 of one colour to many, for tables of hundreds of thousands of pairs.
//!
//! The formula of [`Compared::ciede2000`] in single precision and without a branch, so that the compiler can
//! work out several colours at once. Within 2e-3 of the double form (tested), which is far less than a person
//! sees, and made only of additions, products, quotients and square roots, which every machine rounds alike.

use super::difference::{CHROMA_TURN, Compared};

/// Colours side by side, axis by axis.
#[derive(Debug, Clone, Default)]
pub struct Many {
    colours: Vec<Compared>,
    l: Vec<f32>,
    a: Vec<f32>,
    b: Vec<f32>,
    chroma: Vec<f32>,
}

impl Many {
    /// Makes colours ready to be compared with.
    #[must_use]
    pub fn new(colours: &[Compared]) -> Self {
        let axis = |of: fn(&Compared) -> f64| colours.iter().map(|colour| of(colour) as f32).collect();
        Self {
            colours: colours.to_vec(),
            l: axis(|colour| colour.lab().l),
            a: axis(|colour| colour.lab().a),
            b: axis(|colour| colour.lab().b),
            chroma: axis(Compared::chroma),
        }
    }

    /// How many colours there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.l.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.l.is_empty()
    }

    /// Writes the ΔE00 of `one` to each of the colours into `differences`, as long as there is room.
    pub fn ciede2000(&self, one: &Compared, differences: &mut [f32]) {
        let lab = one.lab();
        let own = Point { l: lab.l as f32, a: lab.a as f32, b: lab.b as f32, chroma: one.chroma() as f32 };
        let axes = self.l.iter().zip(&self.a).zip(&self.b).zip(&self.chroma);
        for (difference, (((&l, &a), &b), &chroma)) in differences.iter_mut().zip(axes) {
            *difference = own.ciede2000(Point { l, a, b, chroma });
        }
        for (difference, other) in differences.iter_mut().zip(&self.colours) {
            if *difference < 0.0 {
                *difference = one.ciede2000(other) as f32;
            }
        }
    }
}

#[derive(Clone, Copy)]
struct Point {
    l: f32,
    a: f32,
    b: f32,
    chroma: f32,
}

/// Keeps a quotient a number where its divisor is 0; far less than any chroma that counts.
const TINY: f32 = 1e-20;

/// What [`Point::ciede2000`] gives where hues half a turn apart have no mean direction.
const UNSURE: f32 = -1.0;

impl Point {
    #[inline(always)]
    fn ciede2000(self, other: Self) -> f32 {
        let stretch = 1.5 - 0.5 * grey_root((self.chroma + other.chroma) * 0.5);
        let (a1, a2) = (self.a * stretch, other.a * stretch);
        let c1 = (a1 * a1 + self.b * self.b).sqrt();
        let c2 = (a2 * a2 + other.b * other.b).sqrt();
        let product = c1 * c2;
        let dot = a1 * a2 + self.b * other.b;
        let cross = a1 * other.b - self.b * a2;
        let near = cross / ((product + dot).max(TINY) * 0.5).sqrt();
        let far = ((product - dot).max(0.0) * 2.0).sqrt();
        let far = if cross < 0.0 { -far } else { far };
        let hue = if dot > 0.0 { near } else { far };
        // The mean hue, as in `difference`.
        let w1 = if c1 > 0.0 { c2 } else { 1.0 };
        let w2 = if c2 > 0.0 { c1 } else { 1.0 };
        let (x, y) = (a1 * w1 + a2 * w2, self.b * w1 + other.b * w2);
        let length = (x * x + y * y).sqrt();
        let over = 1.0 / length.max(TINY);
        let cos = if length > TINY { x * over } else { 1.0 };
        let sin = if length > TINY { y * over } else { 0.0 };
        let chroma = (c1 + c2) * 0.5;
        let middle = (self.l + other.l) * 0.5 - 50.0;
        let middle = middle * middle;
        let dl = (other.l - self.l) / (1.0 + 0.015 * middle / (20.0 + middle).sqrt());
        let dc = (c2 - c1) / (1.0 + 0.045 * chroma);
        let dh = hue / (1.0 + 0.015 * chroma * hue_weight(cos, sin));
        let turn = -2.0 * grey_root(chroma) * blueness(cos, sin);
        let difference = (dl * dl + dc * dc + dh * dh + turn * dc * dh).max(0.0).sqrt();
        if product > 0.0 && dot < -0.998 * product { UNSURE } else { difference }
    }
}

/// `sqrt(c^7 / (c^7 + 25^7))`.
#[inline(always)]
fn grey_root(chroma: f32) -> f32 {
    let square = chroma * chroma;
    let seventh = square * square * square * chroma;
    (seventh / (seventh + CHROMA_TURN as f32)).sqrt()
}

/// T of the formula.
#[inline(always)]
fn hue_weight(cos: f32, sin: f32) -> f32 {
    let (cos_2, sin_2) = (2.0 * cos * cos - 1.0, 2.0 * sin * cos);
    let (cos_3, sin_3) = (cos_2 * cos - sin_2 * sin, sin_2 * cos + cos_2 * sin);
    let (cos_4, sin_4) = (2.0 * cos_2 * cos_2 - 1.0, 2.0 * sin_2 * cos_2);
    1.0 - 0.17 * (cos * 0.866_025_4 + sin * 0.5)
        + 0.24 * cos_2
        + 0.32 * (cos_3 * 0.994_521_9 - sin_3 * 0.104_528_464)
        - 0.20 * (cos_4 * 0.453_990_5 + sin_4 * 0.891_006_5)
}

/// `sin(60° exp(-((h-275°)/25°)²))` of a hue `h`, as a Chebyshev series in `1 - cos(h-275°)`, which is within
/// 1e-5 of it; beyond a quarter turn the value at the quarter turn, 1e-6.
#[inline(always)]
fn blueness(cos: f32, sin: f32) -> f32 {
    let towards = cos * 0.087_155_744 - sin * 0.996_194_7;
    let t = 1.0 - 2.0 * towards.max(0.0);
    let (mut last, mut before) = (0.0, 0.0);
    for &factor in SERIES[1..].iter().rev() {
        (last, before) = (2.0 * t * last - before + factor, last);
    }
    t * last - before + SERIES[0]
}

/// Coefficients of [`blueness`], from 0 up: the interpolation at Chebyshev's points.
const SERIES: [f32; 17] = [
    0.16621329,
    -0.29827082,
    0.2153236,
    -0.12429713,
    0.05574656,
    -0.017169518,
    0.00091570045,
    0.0035554557,
    -0.0034880775,
    0.0023493853,
    -0.0013361109,
    0.000679117,
    -0.00031344537,
    0.0001307628,
    -0.000048175545,
    0.000014903735,
    -0.0000034817915,
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::colour::Lab;
    use proptest::prelude::*;

    fn table(one: Lab, two: Lab) -> f64 {
        let mut out = [0.0];
        Many::new(&[Compared::from(two)]).ciede2000(&Compared::from(one), &mut out);
        f64::from(out[0])
    }

    #[test]
    fn tables_agree_with_sharma_wu_and_dalal_2005_table_1() {
        let text = include_str!("../../../tests/checks/ciede2000_sharma2005.csv");
        let mut pairs = 0;
        for line in text.lines().skip(1) {
            let row: Vec<f64> = line.split(',').filter_map(|field| field.parse().ok()).collect();
            let &[_, l1, a1, b1, l2, a2, b2, expected] = row.as_slice() else { continue };
            let gap = (table(Lab { l: l1, a: a1, b: b1 }, Lab { l: l2, a: a2, b: b2 }) - expected).abs();
            assert!(gap <= 5e-4, "{line}: {gap}");
            pairs += 1;
        }
        assert_eq!(pairs, 34);
    }

    prop_compose! {
        fn any_lab()(l in 0.0..100.0, a in -128.0..128.0, b in -128.0..128.0) -> Lab { Lab { l, a, b } }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]
        #[test]
        fn tables_agree_with_the_double_form(one in any_lab(), two in any_lab(), share in 0.0..1.0f64) {
            let towards = |from: f64, to: f64| from + (to - from) * share * share;
            let two = Lab { l: towards(one.l, two.l), a: towards(one.a, two.a), b: towards(one.b, two.b) };
            let exact = Compared::from(one).ciede2000(&Compared::from(two));
            prop_assert!((table(one, two) - exact).abs() <= 2e-3, "{} {exact}", table(one, two));
        }
    }

    #[test]
    fn greys_and_equal_colours_have_their_plain_differences() {
        let grey = |l| Lab { l, a: 0.0, b: 0.0 };
        let red = Lab { l: 40.0, a: 60.0, b: 30.0 };
        for (one, two) in [(grey(10.0), grey(90.0)), (grey(50.0), red), (red, grey(50.0)), (red, red)] {
            let exact = Compared::from(one).ciede2000(&Compared::from(two));
            assert!((table(one, two) - exact).abs() <= 1e-3, "{one:?} {two:?}: {} {exact}", table(one, two));
        }
    }
}
