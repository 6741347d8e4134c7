//! The pale tint under a symbol, and how pale it has to be to save ink.

use super::Ink;
use super::inked::{ALLOWED, ink_of};
use crate::ground::colour::{Lab, Srgb8};

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

/// The least strength of tints: paler, neighbours could not be told on paper, so that none are better.
const PALEST: f64 = 0.2;

/// The tint for a thread at full strength, or `None` for plain paper.
#[must_use]
pub fn tint(colour: Srgb8, ink: Ink) -> Option<Srgb8> {
    Tinting::full(ink).of(colour)
}

/// How cells are filled under their symbols.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Tinting {
    /// Not at all.
    None,
    /// With tints of the threads, at a strength up to 1: 0 would be white.
    Colour(f64),
    /// With greys up to this step of [`GREY_STEPS`]; darker threads share the last.
    Grey(usize),
    /// With the threads' own colours.
    Thread,
}

impl Tinting {
    pub(super) fn full(ink: Ink) -> Self {
        match ink {
            Ink::Colour => Self::Colour(1.0),
            Ink::Grey => Self::Grey(GREY_STEPS.len() - 1),
        }
    }

    /// The fill of a cell, or `None` for plain paper.
    pub(super) fn of(self, colour: Srgb8) -> Option<Srgb8> {
        let lab = colour.lab();
        match self {
            Self::None => None,
            Self::Thread => Some(colour),
            Self::Grey(last) => {
                #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
                let step = ((100.0 - lab.l) / 25.0).floor().clamp(0.0, 3.0) as usize;
                GREY_STEPS[step.min(last)].map(|grey| Srgb8 { r: grey, g: grey, b: grey })
            }
            Self::Colour(strength) => {
                let [dark, light] = LIGHTNESS;
                let l = dark + (light - dark) * lab.l / 100.0;
                let tint = Lab { l, a: lab.a * CHROMA, b: lab.b * CHROMA }.srgb8();
                // Ink grows with what is missing from white, value by value.
                let paler = |value: u8| (255.0 - (255.0 - f64::from(value)) * strength).round() as u8;
                #[allow(clippy::cast_sign_loss, reason = "a strength is 0 to 1")]
                Some(Srgb8 { r: paler(tint.r), g: paler(tint.g), b: paler(tint.b) })
            }
        }
    }

    /// The strongest tinting with which every page keeps to [`ALLOWED`] ink. A page is given as the ink that it
    /// takes without tints, and the share of it that each colour fills and leaves free of symbols.
    pub(super) fn within_ink(ink: Ink, pages: &[(f64, Vec<(Srgb8, f64)>)]) -> Self {
        let tints = |tinting: Self, shares: &[(Srgb8, f64)]| -> f64 {
            shares.iter().map(|(colour, share)| tinting.of(*colour).map_or(0.0, ink_of) * share).sum()
        };
        let fits =
            |tinting: Self| pages.iter().all(|(bare, shares)| bare + tints(tinting, shares) <= ALLOWED);
        match ink {
            Ink::Grey => {
                let steps = (1..GREY_STEPS.len()).rev().map(Self::Grey);
                steps.into_iter().find(|&tinting| fits(tinting)).unwrap_or(Self::None)
            }
            Ink::Colour => {
                let strength = |(bare, shares): &(f64, Vec<(Srgb8, f64)>)| {
                    let full = tints(Self::Colour(1.0), shares);
                    if full > 0.0 { (ALLOWED - bare) / full } else { 1.0 }
                };
                let least = pages.iter().map(strength).fold(1.0, f64::min);
                if least < PALEST { Self::None } else { Self::Colour(least) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn black_symbols_keep_a_contrast_of_7_to_1_on_every_tint() {
        // WCAG 2.x, success criterion 1.4.6.
        let tintings =
            [1, 2, 3].map(Tinting::Grey).into_iter().chain([0.2, 0.5, 0.8, 1.0].map(Tinting::Colour));
        for tinting in tintings {
            for r in (0..=255).step_by(17) {
                for g in (0..=255).step_by(17) {
                    for b in (0..=255).step_by(17) {
                        let colour = Srgb8 { r, g, b };
                        let tint = tinting.of(colour).unwrap_or(Srgb8::WHITE);
                        assert!(tint.contrast(Srgb8::BLACK) >= 7.0, "{colour} {tint}");
                        assert!(tint.grey().contrast(Srgb8::BLACK) >= 7.0, "{colour} {tint}");
                    }
                }
            }
        }
    }

    #[test]
    fn tints_grow_paler_until_the_fullest_page_keeps_to_its_ink() {
        let dark = Srgb8 { r: 30, g: 20, b: 60 };
        let pages =
            |bare: f64| vec![(bare, vec![(dark, 0.5), (Srgb8::WHITE, 0.1)]), (0.01, vec![(dark, 0.1)])];
        for ink in [Ink::Colour, Ink::Grey] {
            assert_eq!(Tinting::within_ink(ink, &pages(0.01)), Tinting::full(ink), "{ink:?}");
            let paler = Tinting::within_ink(ink, &pages(0.13));
            assert_ne!(paler, Tinting::full(ink));
            let used = 0.13
                + 0.5 * paler.of(dark).map_or(0.0, ink_of)
                + 0.1 * paler.of(Srgb8::WHITE).map_or(0.0, ink_of);
            assert!(used <= ALLOWED + 0.003 && used > 0.15, "{ink:?}: {used}");
            assert_eq!(Tinting::within_ink(ink, &pages(0.3)), Tinting::None);
        }
    }
}
