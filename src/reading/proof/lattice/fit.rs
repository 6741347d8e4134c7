//! What the rules of a page add up to: stretches of dark, even cells, planes through points.

use super::Bold;

/// The side of a cell, measured over the longest distances between bold rules that are whole numbers of it.
pub(super) fn measured(side: f64, ways: [&[Bold]; 2]) -> f64 {
    let mut lengths: Vec<f64> = ways
        .iter()
        .filter_map(|bold| bold.split_first())
        .flat_map(|(first, rest)| rest.iter().map(|bold| bold.at - first.at))
        .collect();
    lengths.sort_by(f64::total_cmp);
    let (mut side, mut products, mut squares) = (side, 0.0, 0.0);
    for length in lengths {
        let cells = (length / side).round();
        if cells >= 1.0 && (length / side - cells).abs() < 0.3 {
            products += cells * length;
            squares += cells * cells;
            side = products / squares;
        }
    }
    side
}

/// The stretch of a line with most dark less six times the light: what stands out of symbols, which leave at
/// least a sixth of a column light even when their ink has run.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Stretch {
    sum: i32,
    start: i32,
    pub(super) best: i32,
    pub(super) from: i32,
    pub(super) to: i32,
}

impl Stretch {
    pub(super) fn take(&mut self, step: i32, dark: bool) {
        if self.sum == 0 {
            self.start = step;
        }
        self.sum = if dark { self.sum + 1 } else { (self.sum - 6).max(0) };
        if self.sum > self.best {
            *self = Self { best: self.sum, from: self.start, to: step, ..*self };
        }
    }
}

/// A lattice in the straight frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct Straight {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) side: f64,
    pub(super) columns: u32,
    pub(super) rows: u32,
    pub(super) bold: [u32; 2],
}

impl Straight {
    /// Cells of this side in the block, rules falling on its first bold ones; `None` where they do not fill it.
    pub(super) fn new(block: [f64; 4], side: f64, upright: f64, level: f64) -> Option<Self> {
        let [left, top, right, bottom] = block;
        // Rules stand out of the block by half their width, ink that has run and blur, and thin ink may hide an
        // end: under three pixels each.
        let slack = (6.0 / side).min(0.4);
        let whole = |length: f64| {
            let cells = (length / side).round();
            #[allow(clippy::cast_sign_loss, reason = "not below 1")]
            let count = cells as u32;
            (cells >= 1.0 && (length / side - cells).abs() < slack).then_some(count)
        };
        let (columns, rows) = (whole(right - left)?, whole(bottom - top)?);
        #[allow(clippy::cast_sign_loss, reason = "not below 0")]
        let before = |from: f64, bold: f64| ((bold - from) / side).round().max(0.0) as u32;
        let bold = [before(left, upright), before(top, level)];
        let left = upright - f64::from(bold[0]) * side;
        let top = level - f64::from(bold[1]) * side;
        Some(Self { left, top, side, columns, rows, bold })
    }
}

/// The plane `value = a + b * x + c * y` nearest to points `[x, y, value]`, by least squares, after those that
/// lie over half a pixel from the first are left out (what is drawn over a rule moves its middle); `None`
/// where they all lie on one line.
pub(super) fn plane(points: &[[f64; 3]]) -> Option<[f64; 3]> {
    let first = least_squares(points)?;
    let near = |point: &&[f64; 3]| {
        let [x, y, value] = **point;
        (first[0] + first[1] * x + first[2] * y - value).abs() < 0.5
    };
    let kept: Vec<[f64; 3]> = points.iter().filter(near).copied().collect();
    least_squares(&kept).or(Some(first))
}

fn least_squares(points: &[[f64; 3]]) -> Option<[f64; 3]> {
    let count = points.len() as f64;
    let mean = |axis: usize| points.iter().map(|point| point[axis]).sum::<f64>() / count;
    let [mx, my, mv] = [mean(0), mean(1), mean(2)];
    let (mut xx, mut xy, mut yy, mut xv, mut yv) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for [x, y, v] in points {
        let (x, y, v) = (x - mx, y - my, v - mv);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xv += x * v;
        yv += y * v;
    }
    let by = xx * yy - xy * xy;
    if by.is_nan() || by <= 1e-6 * xx.max(yy).max(1e-9).powi(2) {
        return None;
    }
    let b = (xv * yy - yv * xy) / by;
    let c = (yv * xx - xv * xy) / by;
    Some([mv - b * mx - c * my, b, c])
}
