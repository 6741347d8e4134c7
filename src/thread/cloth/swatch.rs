//! The cover model fitted to a stitched swatch: how much of its cloth is hidden, and what that says of the
//! thread.
//!
//! Owns the reading of pixels and the solving. Leaves files and which part of a photo is meant to `cli`.

use super::{CoverModel, StitchKind};
use crate::ground::advice::Advice;
use crate::ground::colour::LinearRgb;
use crate::ground::units::FabricCount;

/// Thread and cloth nearer to each other than this in L* cannot be parted on a photo whose light falls off
/// across it: at half the light, L* is lower by about 20.
const APART: f64 = 30.0;

/// How far the two tones of a photo must lie apart, as a share of the distance of thread and cloth: nearer, the
/// stitches are too small or too blurred to be told from the cloth between them.
const SHARP: f64 = 0.55;

/// Rounds of finding the two tones; a dozen settles them.
const ROUNDS: usize = 50;

/// The most that a share may be to say anything of the thread: from there on, wider thread hides no more.
const MOST_SHARE: f64 = 0.985;

/// A swatch that says nothing of the thread.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SwatchFitError {
    /// No pixels.
    #[error("the swatch has no pixels")]
    Empty,
    /// Thread and cloth that cannot be parted.
    #[error("thread and cloth differ in lightness by L* {apart:.0} only; {APART} are needed to part them")]
    Alike {
        /// How far they are apart.
        apart: f64,
    },
    /// A photo without two tones.
    #[error("the photo does not show thread and bare cloth apart")]
    Blurred,
    /// A share that is none.
    #[error("{percent:.1} % hidden is outside 0.5 to 100 %")]
    Share {
        /// What was given or found.
        percent: f64,
    },
    /// A swatch without bare cloth.
    #[error("{:.1} % of the cloth is hidden: wider thread would hide no more, so its width cannot be told", share * 100.0)]
    Covered {
        /// The share that is hidden.
        share: f64,
    },
    /// A width that no thread has.
    #[error("{:.1} % hidden would take thread {flattening:.1} times wider than round; 0.5 to 10 are taken", share * 100.0)]
    Flattening {
        /// The share that is hidden.
        share: f64,
        /// The nearest width within the limits.
        flattening: f64,
    },
    /// More bare than holes are.
    #[error("{:.1} % of the cloth is bare: that is more than holes, of which 30 % at most are taken", bare * 100.0)]
    Holes {
        /// The share that is bare.
        bare: f64,
    },
}

impl SwatchFitError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Empty => Advice::PlaceOfStitches,
            Self::Alike { .. } => Advice::ContrastingSwatch,
            Self::Blurred => Advice::SharperSwatch,
            Self::Share { .. } => Advice::ShareHidden,
            Self::Covered { .. } => Advice::ThinnerSwatch,
            Self::Flattening { .. } => Advice::CheckSwatch,
            Self::Holes { .. } => Advice::HolesOnlyWhenThick,
        }
    }
}

/// What is looked for on a swatch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sought {
    /// How wide the thread lies: there are two tones, and the threshold lies midway between them.
    Width,
    /// Which holes stay bare under stitches that cover: there is hardly a second tone, so that the threshold is
    /// taken midway between the colours that are given.
    Holes,
}

/// The share of the cloth that thread hides on a photo, 0 to 1, from its pixels and both colours.
///
/// Each pixel is thread or cloth by its lightness (CIE L*): the photo's own two tones are found by turns of
/// parting and taking means (Ridler & Calvard 1978, "Picture thresholding using an iterative selection method",
/// IEEE Trans. SMC 8: 630-632). Lightness alone, as colours in a photo bleed over several pixels: cameras and
/// JPEG keep them coarser than lightness, and with hues the width of thin bands comes out up to a fifth wrong.
///
/// # Errors
/// [`SwatchFitError::Alike`] where the lightnesses are too near, [`SwatchFitError::Blurred`] where the photo has
/// not two tones as far apart as they should be, [`SwatchFitError::Empty`] without pixels.
pub fn seen_cover(
    pixels: impl IntoIterator<Item = LinearRgb>,
    thread: LinearRgb,
    cloth: LinearRgb,
    sought: Sought,
) -> Result<f64, SwatchFitError> {
    let (thread, cloth) = (thread.lab().l, cloth.lab().l);
    let apart = (thread - cloth).abs();
    if apart < APART {
        return Err(SwatchFitError::Alike { apart });
    }
    let tally = Tally::of(pixels);
    let total: u64 = tally.counts.iter().sum();
    if total == 0 {
        return Err(SwatchFitError::Empty);
    }
    let mut threshold = (thread + cloth) / 2.0;
    if sought == Sought::Width {
        let mut tones = 0.0;
        for _ in 0..ROUNDS {
            let [dark, light] = tally.means(threshold).ok_or(SwatchFitError::Blurred)?;
            (threshold, tones) = ((dark + light) / 2.0, light - dark);
        }
        if tones < SHARP * apart {
            return Err(SwatchFitError::Blurred);
        }
    }
    let darker: u64 = tally.tones().filter(|&(l, _)| l < threshold).map(|(_, count)| count).sum();
    let darker = darker as f64 / total as f64;
    Ok(if thread < cloth { darker } else { 1.0 - darker })
}

/// How many pixels are how light: a photo of two hundred million takes no more than one of a thousand.
struct Tally {
    /// By the square root of the luminance, which parts dark tones as finely as L* wants them.
    counts: Vec<u64>,
}

/// The steps from black to white. At 1 in 65,536 of the root, L* is off by a hundredth at the most.
const TONES: usize = 1 << 16;

impl Tally {
    fn of(pixels: impl IntoIterator<Item = LinearRgb>) -> Self {
        let mut counts = vec![0; TONES];
        for pixel in pixels {
            let root = pixel.luminance().clamp(0.0, 1.0).sqrt();
            #[allow(clippy::cast_sign_loss, reason = "0 to 1")]
            let tone = (root * (TONES - 1) as f64).round() as usize;
            counts[tone] += 1;
        }
        Self { counts }
    }

    /// The lightness of each tone that is there, and how many pixels have it.
    fn tones(&self) -> impl Iterator<Item = (f64, u64)> {
        let lightness = |tone: usize| {
            let grey = (tone as f64 / (TONES - 1) as f64).powi(2);
            LinearRgb { channels: [grey; 3] }.lab().l
        };
        let there = self.counts.iter().enumerate().filter(|(_, count)| **count > 0);
        there.map(move |(tone, &count)| (lightness(tone), count))
    }

    /// The mean of what is darker than a threshold, and of the rest; `None` where either is nothing.
    fn means(&self, threshold: f64) -> Option<[f64; 2]> {
        let (mut sums, mut counts) = ([0.0; 2], [0u64; 2]);
        for (l, count) in self.tones() {
            let side = usize::from(l >= threshold);
            sums[side] += l * count as f64;
            counts[side] += count;
        }
        (counts[0] > 0 && counts[1] > 0).then(|| [0, 1].map(|side| sums[side] / counts[side] as f64))
    }
}

impl CoverModel {
    /// The model with the flattening at which such stitches hide this share of the cloth, by halving.
    ///
    /// # Errors
    /// [`SwatchFitError`] where the share says nothing of the thread, or no thread is so wide or so thin.
    pub fn fitted(
        self,
        share: f64,
        count: FabricCount,
        strands: u8,
        stitch: StitchKind,
    ) -> Result<Self, SwatchFitError> {
        if !(0.005..=1.0).contains(&share) {
            return Err(SwatchFitError::Share { percent: share * 100.0 });
        }
        let of = |flattening: f64| Self { flattening, ..self }.covered(count, strands, stitch);
        // What the stitch can hide at the most, holes left out.
        let most = Self { flattening: 1e6, ..self }.covered(count, strands, stitch);
        if share > MOST_SHARE * most {
            return Err(SwatchFitError::Covered { share });
        }
        let [mut low, mut high] = Self::FLATTENING;
        for (limit, is_beyond) in [(low, of(low) > share), (high, of(high) < share)] {
            if is_beyond {
                return Err(SwatchFitError::Flattening { share, flattening: limit });
            }
        }
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if of(middle) < share { low = middle } else { high = middle }
        }
        Ok(Self { flattening: (low + high) / 2.0, ..self })
    }

    /// The model with the holes of a swatch so thick that only they are bare.
    ///
    /// # Errors
    /// [`SwatchFitError::Holes`] where more is bare than holes take.
    pub fn with_holes(self, share: f64) -> Result<Self, SwatchFitError> {
        let bare = 1.0 - share;
        if !(0.0..=Self::MOST_HOLES).contains(&bare) {
            return Err(SwatchFitError::Holes { bare });
        }
        Ok(Self { bare_holes: bare, ..self })
    }

    /// The model as the TOML text that [`CoverModel::from_toml`] reads, figures to four places.
    #[must_use]
    pub fn to_toml(&self) -> String {
        let Self { strand_tex, flattening, bare_holes } = self;
        format!("strand_tex = {strand_tex:.4}\nflattening = {flattening:.4}\nbare_holes = {bare_holes:.4}\n")
    }
}

#[cfg(test)]
mod tests;
