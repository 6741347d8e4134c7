//! Lines of stitches: what a backstitched outline or letter is once it is worked.

use serde::{Deserialize, Serialize};

use super::Thread;

/// How a line is told from its neighbours on a page without colour: by its dashes and its weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LinePattern {
    /// Unbroken.
    Solid,
    /// Long dashes.
    LongDash,
    /// Dots.
    Dots,
    /// Two thin lines side by side.
    Double,
    /// Short dashes.
    ShortDash,
    /// A long dash and a dot in turn.
    DashDot,
}

impl LinePattern {
    /// All patterns, those that differ most first.
    pub const ALL: [Self; 6] =
        [Self::Solid, Self::LongDash, Self::Dots, Self::Double, Self::ShortDash, Self::DashDot];

    /// Its name, as a person writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Solid => "solid",
            Self::LongDash => "long-dash",
            Self::Dots => "dots",
            Self::Double => "double",
            Self::ShortDash => "short-dash",
            Self::DashDot => "dash-dot",
        }
    }

    /// The weight of the drawn line as a share of a cell. Under a seventh, so that a line drawn along the
    /// holes stays off the symbols in the middle of the cells.
    #[must_use]
    pub fn weight(self) -> f64 {
        match self {
            Self::Solid => 0.15,
            Self::LongDash | Self::ShortDash => 0.14,
            Self::DashDot => 0.12,
            Self::Dots => 0.17,
            Self::Double => 0.07,
        }
    }

    /// Lengths of dashes and gaps in cells; none for an unbroken line.
    #[must_use]
    pub fn dashes(self) -> &'static [f64] {
        match self {
            Self::Solid | Self::Double => &[],
            Self::LongDash => &[1.1, 0.4],
            Self::ShortDash => &[0.42, 0.3],
            Self::Dots => &[0.17, 0.25],
            Self::DashDot => &[0.9, 0.25, 0.17, 0.25],
        }
    }
}

/// How a line is sewn: what decides its length of thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LineStitch {
    /// Each stitch goes back over the one before: on the back twice as long as in front.
    #[default]
    Backstitch,
    /// A running stitch and another that fills its gaps on the way back.
    DoubleRunning,
}

/// The part of the page that a line belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineLayer {
    /// Outlines round motifs, and frames.
    Outlines,
    /// Letters.
    Lettering,
}

/// A line of stitches from hole to hole of the cloth.
///
/// Holes are the corners of cells: hole `[x, y]` is at the top left of the cell in column `x` and row `y`,
/// both counted from 0. Each two points in a row are one stitch.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkedLine {
    /// The name of its mark.
    pub mark: String,
    /// What its mark stands for, for the key.
    pub label: String,
    /// The threads in the needle.
    pub threads: Vec<Thread>,
    /// How it is drawn.
    pub pattern: LinePattern,
    /// How it is sewn.
    pub stitch: LineStitch,
    /// The holes, in order.
    pub points: Vec<[i32; 2]>,
    /// Whether the last hole is joined to the first.
    pub closed: bool,
    /// How far to its right a line is drawn from its holes, in widths of a lane: 0 on the holes. The right
    /// of a closed outline is its inside. Lines that share holes differ in it.
    pub lane: f64,
    /// The part of the page that it belongs to.
    pub layer: LineLayer,
}

/// The width of a lane as a share of a cell: two of the heaviest lines side by side do not touch.
pub const LANE: f64 = 0.22;

impl WorkedLine {
    /// Its stitches, from hole to hole.
    pub fn stitches(&self) -> impl Iterator<Item = [[i32; 2]; 2]> + '_ {
        let count = self.points.len();
        let last = if self.closed && count > 1 { count } else { count.saturating_sub(1) };
        (0..last).map(move |at| [self.points[at], self.points[(at + 1) % count]])
    }

    /// The sum of the lengths of its stitches in front of the cloth, in cells.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.stitches().map(length).sum()
    }

    /// The length of one strand that working it takes, in cells: front and back.
    ///
    /// A backstitch passes behind under its own stitch and the one before: n units in a row take
    /// 3n - 2 of thread (n in front, n - 1 double on the back). Double running passes once in front and once
    /// behind along the whole: 2n. Plane geometry of the stitches as Dillmont draws them (Encyclopedia of
    /// Needlework, figs. 6 and 310-311).
    #[must_use]
    pub fn thread_length(&self) -> f64 {
        let lengths: Vec<f64> = self.stitches().map(length).collect();
        let front: f64 = lengths.iter().sum();
        match self.stitch {
            LineStitch::DoubleRunning => 2.0 * front,
            LineStitch::Backstitch => {
                // Behind, from the start of a stitch (where it ends in front) to the far end of the next.
                front + lengths.windows(2).map(|pair| pair[0] + pair[1]).sum::<f64>()
            }
        }
    }

    /// Where it is drawn, in cells from the top left of the chart, moved into its lane and `aside` cells more.
    /// A closed line does not repeat its first point.
    #[must_use]
    pub fn drawn(&self, aside: f64) -> Vec<[f64; 2]> {
        let by = self.lane * LANE + aside;
        let points: Vec<[f64; 2]> = self.points.iter().map(|&[x, y]| [f64::from(x), f64::from(y)]).collect();
        if by == 0.0 || points.len() < 2 {
            return points;
        }
        let count = points.len();
        let normal = |from: [f64; 2], to: [f64; 2]| {
            let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
            let length = libm::hypot(dx, dy).max(1e-9);
            // To the right as one walks, y pointing down.
            [-dy / length, dx / length]
        };
        (0..count)
            .map(|at| {
                let here = points[at];
                let before = (at > 0 || self.closed).then(|| points[(at + count - 1) % count]);
                let after = (at + 1 < count || self.closed).then(|| points[(at + 1) % count]);
                let one = before.map(|before| normal(before, here));
                let two = after.map(|after| normal(here, after));
                let (one, two) = match (one, two) {
                    (Some(one), Some(two)) => (one, two),
                    (Some(only), None) | (None, Some(only)) => (only, only),
                    (None, None) => ([0.0; 2], [0.0; 2]),
                };
                // Where the two moved lines meet; at most twice the way at a sharp turn.
                let sum = [one[0] + two[0], one[1] + two[1]];
                let scale = (2.0 / (sum[0].powi(2) + sum[1].powi(2)).max(0.5)).min(2.0) * by;
                [here[0] + sum[0] * scale, here[1] + sum[1] * scale]
            })
            .collect()
    }
}

fn length([from, to]: [[i32; 2]; 2]) -> f64 {
    libm::hypot(f64::from(to[0] - from[0]), f64::from(to[1] - from[1]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(points: Vec<[i32; 2]>, stitch: LineStitch) -> WorkedLine {
        WorkedLine {
            mark: String::new(),
            label: String::new(),
            threads: Vec::new(),
            pattern: LinePattern::Solid,
            stitch,
            points,
            closed: false,
            lane: 0.0,
            layer: LineLayer::Outlines,
        }
    }

    #[test]
    fn thread_by_units_is_what_dillmonts_figures_show() {
        // Dillmont, Encyclopedia of Needlework, fig. 6 (back-stitch) and figs. 310-311 (double running).
        for n in 1..30 {
            let points: Vec<[i32; 2]> = (0..=n).map(|x| [x, 0]).collect();
            let back = line(points.clone(), LineStitch::Backstitch).thread_length();
            assert!((back - f64::from(3 * n - 2)).abs() < 1e-9, "{n}: {back}");
            let double = line(points, LineStitch::DoubleRunning).thread_length();
            assert!((double - f64::from(2 * n)).abs() < 1e-9, "{n}: {double}");
        }
    }

    #[test]
    fn diagonals_are_as_long_as_they_are() {
        let line = line(vec![[0, 0], [1, 1], [3, 2]], LineStitch::DoubleRunning);
        assert!((line.length() - (2f64.sqrt() + 5f64.sqrt())).abs() < 1e-12);
    }
}
