//! What an eye makes of gaps between stitches, from where it looks.

use super::{Cloth, CoverModel, StitchKind};
use crate::ground::colour::{Lab, LinearRgb};
use crate::ground::units::Millimetres;

/// How much an eye sees of so many lines to a degree beside those that it sees best, 0 to 1: the contrast sensitivity of
/// Mannos & Sakrison (1974), "The effects of a visual fidelity criterion on the encoding of images", IEEE Trans. Inf.
/// Theory 20: 525-536, `2.6 (0.0192 + 0.114 f) exp(-(0.114 f)^1.1)`. Coarse ones are all seen.
fn resolved(lines_a_degree: f64) -> f64 {
    /// Where it is greatest.
    const BEST: f64 = 7.9;
    let sensitivity = |f: f64| 2.6 * (0.0192 + 0.114 * f) * libm::exp(-libm::pow(0.114 * f, 1.1));
    sensitivity(lines_a_degree.max(BEST)) / sensitivity(BEST)
}

impl CoverModel {
    /// What is taken for the thread's colour where it is worked on a cloth and seen from a distance.
    ///
    /// Gaps between stitches come once a stitch. As far as the eye resolves them, they are seen as cloth and the thread as
    /// itself; what it no longer resolves mixes with the thread in linear light, from very far off as in [`Self::look`].
    #[must_use]
    pub fn seen(
        &self,
        cloth: &Cloth,
        thread: LinearRgb,
        strands: u8,
        stitch: StitchKind,
        from: Millimetres,
    ) -> Lab {
        let open = 1.0 - self.covered(cloth.count, strands, stitch);
        let mixed = open * (1.0 - resolved(cloth.count.cells_a_degree(from)));
        cloth.under(thread, 1.0 - mixed)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::colour::Srgb8;

    #[test]
    fn sensitivity_is_that_of_mannos_and_sakrison() {
        // Worked out in Python: the formula is 0.98088 at its greatest (7.89), 0.34760 at 24 and 0.02177 at 48.
        assert!((resolved(24.0) - 0.34760 / 0.98088).abs() < 1e-4, "{}", resolved(24.0));
        assert!((resolved(48.0) - 0.02177 / 0.98088).abs() < 1e-4, "{}", resolved(48.0));
        assert_eq!(resolved(1.0), 1.0);
    }

    #[test]
    fn gaps_are_cloth_from_near_and_mix_from_afar() {
        let (model, cloth) = (CoverModel::default(), Cloth { colour: Srgb8::BLACK, ..Cloth::default() });
        let thread = Srgb8 { r: 220, g: 150, b: 90 }.linear();
        let from = |mm| model.seen(&cloth, thread, 1, StitchKind::FullCross, Millimetres::new(mm).unwrap());
        let near = from(500.0).ciede2000(thread.lab());
        let hung = from(1500.0).ciede2000(thread.lab());
        let far = from(8000.0).ciede2000(model.look(&cloth, thread, 1, StitchKind::FullCross));
        assert!(near < 0.01 && (0.5..4.0).contains(&hung) && far < 0.5, "{near} {hung} {far}");
    }
}
