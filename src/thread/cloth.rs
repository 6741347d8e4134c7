//! The cloth, and what a thread looks like once it is worked on it.
//!
//! Owns coverage: how much of a cell so many strands hide, the colour the eye mixes from thread and what shows
//! through, and how open woven cloth is. Leaves counts and lengths to `units`.

mod stitch;
mod swatch;
mod weave;

use serde::{Deserialize, Serialize};

use crate::ground::advice::Advice;
use crate::ground::colour::{Lab, LinearRgb, Srgb8};
use crate::ground::units::FabricCount;

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

    /// The share of a cell that the thread hides, 0 to 1.
    ///
    /// Bands of width w along the diagonals of a square of side s: one leg hides `1 - (1 - w/(s sqrt 2))²`,
    /// both legs twice that less their crossing `(w/s)²`. Plane geometry; holds while corners are left,
    /// that is up to `w = s/sqrt 2`, where the cross covers all.
    ///
    /// A quarter is half of a leg: the other diagonal parts cell and band in two equal halves. A three-quarter
    /// stitch is the mean of a half and a full cross: mirrored in the diagonal of its half leg and laid over
    /// itself, it is a full cross, of which that leg is on both sides.
    #[must_use]
    pub fn covered(&self, count: FabricCount, strands: u8, stitch: StitchKind) -> f64 {
        let ratio = self.width_mm(strands) / count.cell().mm();
        let corner = (1.0 - ratio / std::f64::consts::SQRT_2).max(0.0);
        let leg = 1.0 - corner * corner;
        let full = if ratio >= std::f64::consts::FRAC_1_SQRT_2 { 1.0 } else { 2.0 * leg - ratio * ratio };
        let hidden = match stitch {
            StitchKind::FullCross => full.min(1.0),
            StitchKind::HalfCross | StitchKind::HalfCrossBack => leg,
            StitchKind::Quarter(_) => leg / 2.0,
            StitchKind::ThreeQuarter(_) => (leg + full.min(1.0)) / 2.0,
        };
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
        let covered = self.covered(cloth.count, strands, stitch);
        if covered >= 1.0 {
            return thread.lab();
        }
        thread.mix(cloth.colour.linear(), covered).lab()
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

    /// Whether a point of a unit cell, y down, lies under a leg of a stitch `ratio` wide: nearer than half of
    /// that to the leg's line, and on its own side of the middle where it ends there.
    fn under(kind: StitchKind, ratio: f64, [x, y]: [f64; 2]) -> bool {
        kind.legs().iter().any(|&(diagonal, corner)| {
            let [from, to] = diagonal.ends().map(|end| end.place().map(f64::from));
            let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
            let off = (dx * (y - from[1]) - dy * (x - from[0])).abs() / dx.hypot(dy);
            let own_half = corner.is_none_or(|corner| {
                let [cx, cy] = corner.place().map(f64::from);
                (x - 0.5) * (cx - 0.5) + (y - 0.5) * (cy - 0.5) > 0.0
            });
            off < ratio / 2.0 && own_half
        })
    }

    #[test]
    fn coverage_agrees_with_counting_points_of_a_fine_raster() {
        // Outside check: the bands rasterised at 1000 x 1000 points of a unit cell; every kind in every corner,
        // and widths from a thread to one that fills the cell.
        let count = FabricCount::FOURTEEN;
        for flattening in [0.8, 1.9, 3.0] {
            for strands in 1..=3 {
                let model = CoverModel { flattening, ..CoverModel::default() };
                let ratio = model.width_mm(strands) / count.cell().mm();
                for kind in StitchKind::all() {
                    let points = (0..1000).flat_map(|i| (0..1000).map(move |j| [i, j]));
                    let hidden = points
                        .filter(|point| under(kind, ratio, point.map(|at| (f64::from(at) + 0.5) / 1000.0)))
                        .count();
                    let (found, counted) = (model.covered(count, strands, kind), hidden as f64 / 1e6);
                    assert!((found - counted).abs() < 0.005, "{kind} {ratio}: {found}, not {counted}");
                }
            }
        }
    }

    #[test]
    fn fractional_stitches_by_hand() {
        // A band a third of the cell wide: a leg hides 1 - (1 - 1/(3 sqrt 2))² = 0.41585, the crossing is a
        // square of 1/9, of which a three-quarter stitch has half twice over.
        let third = FabricCount::FOURTEEN.cell().mm() / 3.0;
        let thin = CoverModel { strand_tex: 1.0, flattening: 1.0, bare_holes: 0.0 };
        let model = CoverModel { flattening: third / thin.width_mm(1), ..thin };
        let covered = |kind| model.covered(FabricCount::FOURTEEN, 1, kind);
        assert!((covered(StitchKind::HalfCross) - 0.41585).abs() < 1e-5);
        assert!((covered(StitchKind::Quarter(Corner::TopLeft)) - 0.20792).abs() < 1e-5);
        assert!(
            (covered(StitchKind::ThreeQuarter(Corner::TopLeft)) - (1.5 * 0.41585 - 1.0 / 18.0)).abs() < 1e-5
        );
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
        assert!(covered(2, StitchKind::HalfCross) < 0.8);
    }
}
