//! The cloth, and what a thread looks like once it is worked on it.
//!
//! Owns coverage: how much of a cell so many strands hide, the colour the eye mixes from thread and what shows
//! through, and how open woven cloth is. Leaves counts and lengths to `units`.

mod field;
mod sight;
mod stitch;
mod swatch;
mod weave;

use serde::{Deserialize, Serialize};

use crate::ground::advice::Advice;
use crate::ground::colour::{Lab, LinearRgb, Srgb8};
use crate::ground::units::FabricCount;

use field::Leg;

pub use stitch::{Corner, Diagonal, StitchKind, StitchKindError};
pub use swatch::{Sought, SwatchFitError, seen_cover};
pub use weave::{ClothWeight, ClothWeightError, cover_factor, woven_cover};

/// A cloth: how fine it is and what colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cloth {
    /// Stitches to the inch.
    pub count: FabricCount,
    /// The colour of the woven threads.
    pub colour: Srgb8,
}

impl Default for Cloth {
    /// Cream cloth of 14 count, as the design of brede gives it.
    fn default() -> Self {
        Self { count: FabricCount::FOURTEEN, colour: Srgb8 { r: 0xf4, g: 0xec, b: 0xd8 } }
    }
}

impl Cloth {
    /// What is seen where thread hides so much of it, 0 to 1: the mix of both in linear light.
    #[must_use]
    pub fn under(&self, thread: LinearRgb, covered: f64) -> Lab {
        if covered >= 1.0 {
            return thread.lab();
        }
        thread.mix(self.colour.linear(), covered).lab()
    }
}

/// A physical model of a thread's width on the cloth.
///
/// Yarn diameter by Peirce (1937), "The geometry of cloth structure", J. Textile Inst. 28: T45-T96:
/// `d = 0.037329 sqrt(tex)` mm for cotton, then flattened as it lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct CoverModel {
    /// Linear density of one strand in tex (g/km). 8 m of six strands weigh about 1.6 g with wrappings off
    /// (from memory), near 33 tex a strand.
    pub strand_tex: f64,
    /// How many times wider than its round diameter a strand lies on the cloth, spread and untwisted. Set so
    /// that two strands just cover 14 count, as three do 10 count (common practice, no source); every
    /// coverage moves with it until the cell is full.
    pub flattening: f64,
    /// The share of the cloth that its holes are where no thread closes them, 0 where thread fills them: it is
    /// seen through the thickest stitches. What is left is hidden as geometry says.
    pub bare_holes: f64,
}

/// The share of the cloth that must be hidden to call it covered: 0.95. Chosen so that the strands it leads to
/// are the customary ones, two on 14 to 20 count and one on 22 (common practice, no source); higher, and 22
/// count would ask for two.
pub const COVERS: f64 = 0.95;

impl Default for CoverModel {
    fn default() -> Self {
        Self { strand_tex: 33.0, flattening: 3.0, bare_holes: 0.0 }
    }
}

/// A file of measures that cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CoverError {
    /// Not TOML, or not of this form.
    #[error("these are no measures of how thread covers")]
    Form(#[source] toml::de::Error),
    /// A measure that no thread has.
    #[error("{name} = {value} is outside {least} to {most}")]
    Range {
        /// The measure.
        name: &'static str,
        /// What it was given as.
        value: f64,
        /// The least taken.
        least: f64,
        /// The most taken.
        most: f64,
    },
}

impl CoverError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        Advice::WriteMeasures
    }
}

impl CoverModel {
    /// How flat a strand may lie.
    pub const FLATTENING: [f64; 2] = [0.5, 10.0];

    /// The largest share that holes may be.
    pub const MOST_HOLES: f64 = 0.3;

    /// The model with the measures of a TOML text; what it leaves out keeps its usual value.
    ///
    /// # Errors
    /// [`CoverError`] for another form and for measures outside 1 to 1000 tex, 0.5 to 10 times and 0 to 0.3.
    pub fn from_toml(text: &str) -> Result<Self, CoverError> {
        toml::from_str::<Self>(text).map_err(CoverError::Form)?.checked()
    }

    /// The model, if thread can be so.
    ///
    /// # Errors
    /// [`CoverError::Range`] outside 1 to 1000 tex, 0.5 to 10 times and 0 to 0.3.
    pub fn checked(self) -> Result<Self, CoverError> {
        let model = self;
        let within = |name, value: f64, least, most| {
            if (least..=most).contains(&value) {
                Ok(())
            } else {
                Err(CoverError::Range { name, value, least, most })
            }
        };
        within("strand_tex", model.strand_tex, 1.0, 1000.0)?;
        let [least, most] = Self::FLATTENING;
        within("flattening", model.flattening, least, most)?;
        within("bare_holes", model.bare_holes, 0.0, Self::MOST_HOLES)?;
        Ok(model)
    }

    /// The width in millimetres of so many strands lying side by side.
    #[must_use]
    pub fn width_mm(&self, strands: u8) -> f64 {
        0.037_329 * self.strand_tex.sqrt() * self.flattening * f64::from(strands)
    }

    /// The share of the cloth that the thread hides, 0 to 1, in a field of the same stitch.
    ///
    /// Full crosses are bands of width w along the diagonals of a square of side s: one leg hides
    /// `1 - (1 - w/(s sqrt 2))²`, both legs twice that less their crossing `(w/s)²`. Plane geometry; holds while
    /// corners are left, that is up to `w = s/sqrt 2`, where the cross covers all.
    ///
    /// Legs of other stitches are w wide in their middles and as wide at their holes as their strands are round,
    /// `w / flattening`; what hangs over their own square counts where it lies (see `field`). Half crosses of two
    /// strands on 14 count hide 84 %.
    #[must_use]
    pub fn covered(&self, count: FabricCount, strands: u8, stitch: StitchKind) -> f64 {
        let ratio = self.width_mm(strands) / count.cell().mm();
        let leg = Leg { middle: ratio, hole: ratio / self.flattening.max(1.0) };
        let hidden = leg.hidden(stitch).unwrap_or_else(|| {
            let corner = (1.0 - ratio / std::f64::consts::SQRT_2).max(0.0);
            let leg = 1.0 - corner * corner;
            let full = if ratio >= std::f64::consts::FRAC_1_SQRT_2 { 1.0 } else { 2.0 * leg - ratio * ratio };
            full.min(1.0)
        });
        hidden * (1.0 - self.bare_holes)
    }

    /// The fewest strands whose full crosses hide [`COVERS`] of the cloth beside its bare holes; `None` where
    /// twelve do not.
    #[must_use]
    pub fn strands_that_cover(&self, count: FabricCount) -> Option<u8> {
        let enough = COVERS * (1.0 - self.bare_holes);
        (1..=12).find(|&strands| self.covered(count, strands, StitchKind::FullCross) >= enough)
    }

    /// What is seen of a thread worked on a cloth: the mix of both in linear light.
    #[must_use]
    pub fn look(&self, cloth: &Cloth, thread: LinearRgb, strands: u8, stitch: StitchKind) -> Lab {
        cloth.under(thread, self.covered(cloth.count, strands, stitch))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn peirce_gives_0_18665_mm_for_25_tex() {
        // Peirce 1937: 25.4 / (28 sqrt(590.541)) sqrt(25) = 0.18665 mm.
        let model = CoverModel { strand_tex: 25.0, flattening: 1.0, bare_holes: 0.0 };
        assert!((model.width_mm(1) - 0.18665).abs() < 1e-4);
    }

    #[test]
    fn full_crosses_hide_what_a_raster_of_bands_shows() {
        // Outside check: two bands along the diagonals, rasterised at 1000 x 1000 points of a unit cell; widths from
        // a thread to one that fills the cell.
        let count = FabricCount::FOURTEEN;
        for flattening in [0.8, 1.9, 3.0] {
            for strands in 1..=3 {
                let model = CoverModel { flattening, ..CoverModel::default() };
                let half = model.width_mm(strands) / count.cell().mm() / std::f64::consts::SQRT_2;
                let points = (0..1000).flat_map(|i| (0..1000).map(move |j| [i, j]));
                let is_hidden = |point: &[u16; 2]| {
                    let [x, y] = point.map(|at| (f64::from(at) + 0.5) / 1000.0);
                    (x - y).abs().min((x + y - 1.0).abs()) < half
                };
                let counted = points.filter(is_hidden).count() as f64 / 1e6;
                let found = model.covered(count, strands, StitchKind::FullCross);
                assert!((found - counted).abs() < 0.005, "{strands} {flattening}: {found}, not {counted}");
            }
        }
    }

    #[test]
    fn stitches_of_round_thread_by_hand() {
        // Round thread a third of the cell wide keeps its width at the holes. Half crosses: bands a third wide on lines
        // 1/sqrt 2 apart, sqrt 2 / 3 = 0.47140. Quarters: half of that. Three-quarter stitches: in the gaps of
        // 1/sqrt 2 - 1/3 between half crosses a quarter a third wide in each cell: 0.12459 more.
        let third = FabricCount::FOURTEEN.cell().mm() / 3.0;
        let model = CoverModel { strand_tex: (third / 0.037_329).powi(2), flattening: 1.0, bare_holes: 0.0 };
        let covered = |kind| model.covered(FabricCount::FOURTEEN, 1, kind);
        assert!((covered(StitchKind::HalfCross) - 0.47140).abs() < 1e-5);
        assert!((covered(StitchKind::Quarter(Corner::TopLeft)) - 0.23570).abs() < 1e-5);
        let three = covered(StitchKind::ThreeQuarter(Corner::TopLeft));
        assert!((three - 0.47140 - 0.12459).abs() < 1e-4, "{three}");
    }

    #[test]
    fn half_crosses_of_two_strands_leave_some_of_14_count_open_and_no_stitch_hides_more_than_a_full_cross() {
        let model = CoverModel::default();
        let half = model.covered(FabricCount::FOURTEEN, 2, StitchKind::HalfCross);
        // 1/3 + 2/3 of the mean of the root of a sine, 0.76276, times the bands' 1.003: by hand.
        assert!((half - 0.8443).abs() < 2e-3, "{half}");
        for count in [11, 14, 18, 22] {
            let count = FabricCount::new(count).unwrap();
            for (strands, kind) in
                (1..=2).flat_map(|strands| StitchKind::all().map(move |kind| (strands, kind)))
            {
                let [this, full] =
                    [kind, StitchKind::FullCross].map(|kind| model.covered(count, strands, kind));
                assert!(this <= full + 1e-9, "{kind} {strands} on {count}: {this} and {full}");
            }
        }
    }

    #[test]
    fn measures_are_read_from_a_file_and_checked() {
        let model = CoverModel::from_toml("flattening = 2.5").unwrap();
        assert_eq!(model, CoverModel { flattening: 2.5, ..CoverModel::default() });
        for bad in ["flattening = 0.0", "strand_tex = nan", "tex = 3", "flattening"] {
            assert!(CoverModel::from_toml(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn fewer_strands_and_coarser_cloth_show_more_cloth() {
        let model = CoverModel::default();
        let of = |count: u16, strands| {
            model.covered(FabricCount::new(count).unwrap(), strands, StitchKind::FullCross)
        };
        assert!(of(14, 1) < of(14, 2) && of(14, 1) < of(18, 1) && of(11, 2) < of(14, 2));
    }

    #[test]
    fn two_strands_cover_14_count_and_one_does_not() {
        // Common practice, no source.
        let model = CoverModel::default();
        let covered = |strands, stitch| model.covered(FabricCount::FOURTEEN, strands, stitch);
        assert!(covered(2, StitchKind::FullCross) > 0.995);
        assert!((0.6..0.85).contains(&covered(1, StitchKind::FullCross)));
        assert!(covered(2, StitchKind::HalfCross) < 0.9);
    }
}
