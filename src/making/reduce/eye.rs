//! What an eye passes on of a chart that hangs so far away that neighbouring stitches begin to mix.
//!
//! Errors are seen through the eye's contrast sensitivity, in an opponent space, lightness finer than colour: the
//! filters of Andersson et al. (2020), "FLIP: a difference evaluator for alternating images", Proc. ACM Comput. Graph.
//! Interact. Tech. 3(2): 15, on CIELAB made linear (`YCxCz`), as S-CIELAB does (Zhang & Wandell 1997, "A spatial extension
//! of CIELAB", J. SID 5: 61-63).

use crate::ground::colour::Lab;

/// The filter of one channel: what a cell gives to the cells within `reach` of it, row by row.
#[derive(Debug)]
pub(super) struct Filter {
    pub(super) reach: usize,
    pub(super) shares: Vec<f32>,
}

/// The filters of an eye, for lightness, red against green, and blue against yellow.
#[derive(Debug)]
pub(super) struct Eye {
    pub(super) filters: [Filter; 3],
}

/// Sums of Gaussians, `a sqrt(pi / b) exp(-(pi x)² / b)` with x in degrees: a and b of each (Andersson et al. 2020, 4.1.1).
const LIGHTNESS: &[[f64; 2]] = &[[1.0, 0.0047]];
const RED_GREEN: &[[f64; 2]] = &[[1.0, 0.0053]];
const BLUE_YELLOW: &[[f64; 2]] = &[[34.1, 0.04], [13.5, 0.025]];

/// Cells to a degree beyond which nothing changes: there even lightness is mixed over five cells, and wider filters
/// take longer and longer.
const MOST: f64 = 60.0;

/// Filters end where their widest part has fallen this many times its deviation.
const TAIL: f64 = 2.5;

impl Eye {
    /// An eye that sees so many cells in a degree.
    pub(super) fn new(cells_a_degree: f64) -> Self {
        let cells = cells_a_degree.min(MOST);
        Self { filters: [LIGHTNESS, RED_GREEN, BLUE_YELLOW].map(|parts| Filter::new(cells, parts)) }
    }
}

impl Filter {
    fn new(cells_a_degree: f64, parts: &[[f64; 2]]) -> Self {
        use std::f64::consts::PI;
        let wide = parts.iter().map(|[_, b]| (b / 2.0).sqrt() / PI).fold(0.0, f64::max) * cells_a_degree;
        #[allow(clippy::cast_sign_loss, reason = "a deviation is not negative")]
        let reach = ((TAIL * wide).ceil() as usize).max(1);
        let side = 2 * reach + 1;
        let share = |place: usize| {
            let [x, y] = [place % side, place / side].map(|at| (at as f64 - reach as f64) / cells_a_degree);
            let gauss = |[a, b]: &[f64; 2]| a * (PI / b).sqrt() * (-PI * PI * (x * x + y * y) / b).exp();
            parts.iter().map(gauss).sum::<f64>()
        };
        let shares: Vec<f64> = (0..side * side).map(share).collect();
        let whole: f64 = shares.iter().sum();
        Self { reach, shares: shares.into_iter().map(|share| (share / whole) as f32).collect() }
    }
}

/// The inverse of CIELAB's cube root (CIE 15:2004).
fn light(root: f64) -> f64 {
    const KNEE: f64 = 6.0 / 29.0;
    if root > KNEE { root * root * root } else { 3.0 * KNEE * KNEE * (root - 4.0 / 29.0) }
}

/// A colour in CIELAB made linear, so that what is mixed is light: 116 Y, 500 (X - Y) and 200 (Y - Z), each of them as a
/// share of white's.
pub(super) fn opponent(lab: Lab) -> [f32; 3] {
    let root = (lab.l + 16.0) / 116.0;
    let [x, y, z] = [root + lab.a / 500.0, root, root - lab.b / 200.0].map(light);
    [116.0 * y, 500.0 * (x - y), 200.0 * (y - z)].map(|value| value as f32)
}

/// By how much a small difference of [`opponent`] colours is one of CIELAB, near a colour: the slope of the cube root.
pub(super) fn slope(lab: Lab) -> f32 {
    /// Luminance below which the slope no longer grows: nobody sees differences there across a room.
    const DARK: f64 = 0.02;
    let y = light((lab.l + 16.0) / 116.0).max(DARK);
    (1.0 / (3.0 * libm::cbrt(y * y))) as f32
}
