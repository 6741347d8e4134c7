//! The pale tint under a symbol.

use super::Ink;
use crate::colour::{Lab, Srgb8};

/// The greys of a page printed in grey, from none to the darkest: four steps, eight L* apart, so that a
/// coarse printer keeps them apart (Tyner, Principles of Map Design: five or six greys at most). Black on
/// the darkest has a contrast of over 10:1.
pub const GREY_STEPS: [Option<u8>; 4] = [None, Some(0xe8), Some(0xd1), Some(0xba)];

/// The lightness of the tint of black and of white thread. At L* 72 black has a contrast of 9.7:1, over the
/// 7:1 that every symbol keeps (WCAG 2, enhanced); lower would sink symbols, higher would lose the picture.
const LIGHTNESS: [f64; 2] = [72.0, 98.0];

/// How much of a thread's chroma its tint keeps. More would be nearer the thread, and darken blues and reds
/// in grey.
const CHROMA: f64 = 0.62;

/// The tint for a thread, or `None` for plain paper.
#[must_use]
pub fn tint(colour: Srgb8, ink: Ink) -> Option<Srgb8> {
    let lab = colour.lab();
    match ink {
        Ink::Grey => {
            #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
            let step = ((100.0 - lab.l) / 25.0).floor().clamp(0.0, 3.0) as usize;
            GREY_STEPS[step].map(|grey| Srgb8 { r: grey, g: grey, b: grey })
        }
        Ink::Colour => {
            let [dark, light] = LIGHTNESS;
            let l = dark + (light - dark) * lab.l / 100.0;
            Some(Lab { l, a: lab.a * CHROMA, b: lab.b * CHROMA }.srgb8())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn black_symbols_keep_a_contrast_of_7_to_1_on_every_tint() {
        // WCAG 2.x, success criterion 1.4.6.
        for r in (0..=255).step_by(17) {
            for g in (0..=255).step_by(17) {
                for b in (0..=255).step_by(17) {
                    for ink in [Ink::Colour, Ink::Grey] {
                        let colour = Srgb8 { r, g, b };
                        let tint = tint(colour, ink).unwrap_or(Srgb8::WHITE);
                        assert!(tint.contrast(Srgb8::BLACK) >= 7.0, "{colour} {tint}");
                        assert!(tint.grey().contrast(Srgb8::BLACK) >= 7.0, "{colour} {tint}");
                    }
                }
            }
        }
    }
}
