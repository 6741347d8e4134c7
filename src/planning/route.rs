//! A working order for every needle, and the thread that it takes.
//!
//! Owns the order in which legs of crosses are worked: rows there and back within a patch, travels on the
//! back from patch to patch, and where a thread is ended and started anew. Leaves skeins and prices to `kit`.
//!
//! A *hole* is where the needle passes, in half cells: `[2 x, 2 y]` is the top left of the cell in column `x` and
//! row `y`, from 0, and `[2 x + 1, 2 y + 1]` its middle, where quarter stitches end.
//!
//! Why a patch of n crosses whose cells touch at their sides takes exactly 2n - 1 cells of thread on the back,
//! the least that it can take: each of its 2n legs ends in a hole, and the needle must come up in another, at
//! least one cell away; so 2n - 1 is a lower bound. It is reached by walking a tree over the cells: the lower
//! leg of each cross is worked on the way out, the upper one on the way home. A cross alone is a ring of leg,
//! side, leg, side. Two crosses side by side share two holes; joining their rings in one of them makes one
//! ring of both without another stitch, and the lower leg still comes before the upper one if each cross
//! faces the one that it was reached from (see `plan`).

mod plan;

use crate::chart::Chart;
use crate::ground::progress::{Progress, Stopped};
use crate::ground::units::Millimetres;

/// The longest travels that can be asked for, in cells: the search looks at every cell so near, and a longer
/// float on the back snags and shows through.
pub const LONGEST_TRAVEL: f64 = 20.0;

/// How a thread is handled: what it takes beside its stitches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Handling {
    /// The longest float on the back, in cells; beyond, the thread is ended off. 5 (common practice, no
    /// source): longer ones pull, and dark ones show through between stitches.
    pub travel: f64,
    /// Thread held under the first stitches: 4 cm (common practice, no source).
    pub start: Millimetres,
    /// Thread run under the last stitches: 4 cm (common practice, no source).
    pub end: Millimetres,
    /// The length cut for the needle: 50 cm (common practice, no source). A shorter one means more starts and
    /// ends, a longer one frays.
    pub needleful: Millimetres,
    /// What is added on top for tension, thickness, unpicking and pieces too short to use: 0.10 (common
    /// practice, no source).
    pub waste: f64,
}

impl Default for Handling {
    fn default() -> Self {
        let length = |mm| Millimetres::new(mm).expect("a constant within the limits");
        Self { travel: 5.0, start: length(40.0), end: length(40.0), needleful: length(500.0), waste: 0.10 }
    }
}

impl Handling {
    /// Nothing but the stitches themselves: the limit that geometry sets.
    #[must_use]
    pub fn bare() -> Self {
        let none = Millimetres::default();
        Self { start: none, end: none, waste: 0.0, ..Self::default() }
    }

    /// The length of one strand for a stretch of so much thread in its stitches and travels: starts and ends
    /// added, waste too. The thread is ended and started again whenever a needleful runs out.
    #[must_use]
    pub fn strand_mm(&self, stretch_mm: f64) -> f64 {
        let ends = self.start.mm() + self.end.mm();
        (stretch_mm + self.needlefuls(stretch_mm) * ends) * (1.0 + self.waste)
    }

    /// How many threads are begun for such a stretch: one at least.
    #[must_use]
    pub fn needlefuls(&self, stretch_mm: f64) -> f64 {
        // A needleful shorter than its ends could not be worked at all: a centimetre is left to sew with.
        let useful = (self.needleful.mm() - self.start.mm() - self.end.mm()).max(10.0);
        // A hair less, so that rounding does not begin a thread for nothing.
        (stretch_mm / useful - 1e-9).ceil().max(1.0)
    }
}

/// One leg of a stitch in front of the cloth, from the hole in which the needle comes up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leg {
    /// Column and row of its cell, from 0.
    pub cell: [u32; 2],
    /// The hole in which the needle comes up, in half cells.
    pub from: [i32; 2],
    /// The hole in which it goes down, in half cells.
    pub to: [i32; 2],
}

/// What is worked with one thread from a start to an end, as long as the thread lasts.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stretch {
    /// The legs in their order.
    pub legs: Vec<Leg>,
}

impl Stretch {
    /// Thread in front, in cells: the diagonals, and half diagonals of quarter stitches.
    #[must_use]
    pub fn front(&self) -> f64 {
        self.legs.iter().map(|leg| distance(leg.from, leg.to)).sum()
    }

    /// Thread behind, in cells: from where each leg goes down to where the next comes up.
    #[must_use]
    pub fn back(&self) -> f64 {
        self.legs.windows(2).map(|pair| distance(pair[0].to, pair[1].from)).sum()
    }

    /// Thread in front and behind, in cells.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.front() + self.back()
    }

    /// The longest way behind, in cells.
    #[must_use]
    pub fn longest_travel(&self) -> f64 {
        self.legs.windows(2).map(|pair| distance(pair[0].to, pair[1].from)).fold(0.0, f64::max)
    }
}

/// The working order of a needle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NeedleRoute {
    /// One after the other, from the top of the chart.
    pub stretches: Vec<Stretch>,
}

impl NeedleRoute {
    /// Thread behind, in cells.
    #[must_use]
    pub fn back(&self) -> f64 {
        self.stretches.iter().map(Stretch::back).sum()
    }

    /// The lengths of the stretches, front and back, in cells: all that thread is reckoned from.
    #[must_use]
    pub fn lengths(&self) -> Vec<f64> {
        self.stretches.iter().map(Stretch::length).collect()
    }
}

/// The distance of two holes, in cells.
pub(crate) fn distance([x, y]: [i32; 2], [to_x, to_y]: [i32; 2]) -> f64 {
    // Holes are whole numbers, few enough that their squares are exact; hypot would take ten times as long.
    let (across, down) = (f64::from(to_x - x), f64::from(to_y - y));
    (across * across + down * down).sqrt() / 2.0
}

/// A working order for each needle of the chart, in the chart's order. `travel` is the longest float on the
/// back, in cells; it is held within 1 and [`LONGEST_TRAVEL`].
///
/// Patches are crosses of one needle whose cells touch at their sides. Each is worked there and back without a
/// longer stitch than a cell's side; from there the thread travels to the nearest patch within reach, which is
/// worked before or after, or on the way, whichever takes least. Half crosses, quarter and three-quarter stitches
/// are patches of their own. Near linear in the number of cells.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn route(chart: &Chart, travel: f64, progress: &dyn Progress) -> Result<Vec<NeedleRoute>, Stopped> {
    let routes = land(chart, travel, progress).plan(std::mem::take)?;
    Ok(routes.into_iter().map(|stretches| NeedleRoute { stretches }).collect())
}

/// The lengths of the stretches of each needle's working order, as [`NeedleRoute::lengths`] gives them; the legs are not
/// kept.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn lengths(chart: &Chart, travel: f64, progress: &dyn Progress) -> Result<Vec<Vec<f64>>, Stopped> {
    land(chart, travel, progress).plan(|stretch| stretch.length())
}

fn land<'a>(chart: &'a Chart, travel: f64, progress: &'a dyn Progress) -> plan::Land<'a> {
    plan::Land::new(chart, travel.clamp(1.0, LONGEST_TRAVEL), progress)
}

#[cfg(test)]
pub(crate) mod tests;
