//! How open cloth is by its weave: the share of it that is holes between its threads.

use std::str::FromStr;

use crate::ground::units::FabricCount;

/// The cover factor K of threads lying side by side: threads to the inch over the root of their cotton count, where
/// the cotton count is 590.54 over tex. At 28 round threads touch.
///
/// Peirce (1937), "The geometry of cloth structure", J. Textile Inst. 28: T45-T96.
#[must_use]
pub fn cover_factor(threads_per_inch: f64, tex: f64) -> f64 {
    threads_per_inch * (tex / 590.54).sqrt()
}

/// The share of plain woven cloth that its threads hide, 0 to 1, from the cover factors of warp and weft:
/// `1 - (1 - K1/28)(1 - K2/28)`. From 28 on a set of threads leaves nothing open.
///
/// Peirce (1937), as [`cover_factor`].
#[must_use]
pub fn woven_cover(factors: [f64; 2]) -> f64 {
    let [warp, weft] = factors.map(|factor| (1.0 - factor / 28.0).clamp(0.0, 1.0));
    1.0 - warp * weft
}

/// What cloth weighs, in grams to the square metre.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct ClothWeight(f64);

/// Text that is no weight of cloth.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not a weight of cloth: give grams to the square metre, 20 to 1000, such as 190")]
pub struct ClothWeightError;

impl FromStr for ClothWeight {
    type Err = ClothWeightError;

    fn from_str(text: &str) -> Result<Self, ClothWeightError> {
        let grams: f64 = text.trim().replace(',', ".").parse().map_err(|_| ClothWeightError)?;
        if (20.0..=1000.0).contains(&grams) { Ok(Self(grams)) } else { Err(ClothWeightError) }
    }
}

impl ClothWeight {
    /// The share of evenweave of this weight that is open, 0 to 1; `None` for cloth woven in blocks, whose threads
    /// the count does not tell.
    ///
    /// The weight lies on as much warp as weft, so a thread has `weight / (2 threads to the metre)` grams a metre;
    /// that the threads are longer than the cloth, as they pass over and under, is left out and makes them a few
    /// per cent too thick.
    #[must_use]
    pub fn open_share(self, count: FabricCount) -> Option<f64> {
        if count.over() < 2 {
            return None;
        }
        let per_inch = count.stitches_per_inch() * f64::from(count.over());
        let tex = self.0 / (2.0 * per_inch / 0.0254) * 1000.0;
        let factor = cover_factor(per_inch, tex);
        Some(1.0 - woven_cover([factor, factor]))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn peirces_example_of_cover() {
        // Peirce 1937: K1 = K2 = 12 give a cover of .67347.
        assert!((woven_cover([12.0, 12.0]) - 0.67347).abs() < 5e-6);
        // One set that touches leaves nothing open, and neither do threads that would overlap.
        assert!((woven_cover([28.0, 0.0]) - 1.0).abs() < 1e-12 && woven_cover([40.0, 40.0]) <= 1.0);
        assert!(woven_cover([0.0, 0.0]).abs() < 1e-12);
    }

    #[test]
    fn the_cover_factor_is_that_of_the_cotton_count() {
        // By definition of the cotton count: 20s cotton is 590.54 / 20 = 29.527 tex; 60 threads to the inch of it
        // have K = 60 / sqrt(20) = 13.416.
        assert!((cover_factor(60.0, 29.527) - 13.416).abs() < 1e-3);
    }

    #[test]
    fn cover_agrees_with_threads_laid_on_a_raster() {
        // Outside check: an inch of plain cloth as 28 threads each way of Peirce's diameter, 0.037329 sqrt(tex) mm,
        // counted on 2000 x 2000 points.
        let (threads, tex) = (28.0, 80.0);
        let diameter = 0.037_329 * f64::sqrt(tex);
        let on_thread = |at: u32| {
            let mm = (f64::from(at) + 0.5) / 2000.0 * 25.4;
            (mm % (25.4 / threads)) < diameter
        };
        let along = (0..2000).filter(|&at| on_thread(at)).count() as f64 / 2000.0;
        let counted = 1.0 - (1.0 - along) * (1.0 - along);
        let factor = cover_factor(threads, tex);
        assert!((woven_cover([factor, factor]) - counted).abs() < 0.005);
    }

    #[test]
    fn heavier_and_finer_evenweave_is_less_open() {
        let open = |weight: &str, count: &str| {
            weight.parse::<ClothWeight>().unwrap().open_share(count.parse().unwrap())
        };
        // By hand: 190 g/m² at 28 to the inch is 86.2 tex, K = 10.70, open (1 - 0.3820)² = 0.382.
        assert!((open("190", "28/2").unwrap() - 0.382).abs() < 1e-3);
        assert!(open("250", "28/2").unwrap() < open("190", "28/2").unwrap());
        assert_eq!(open("190", "14"), None);
        for bad in ["", "heavy", "0", "5000", "nan"] {
            assert!(bad.parse::<ClothWeight>().is_err(), "{bad}");
        }
    }
}
