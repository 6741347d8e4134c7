//! The cover model fitted to a stitched swatch: how much of its cloth is hidden, and what that says of the
//! thread.
//!
//! Owns the reading of pixels and the solving. Leaves files and which part of a photo is meant to `cli`.

use super::{CoverModel, StitchKind};
use crate::colour::LinearRgb;
use crate::units::FabricCount;

/// Thread and cloth nearer to each other than this, in ΔE00, are not parted: what is seen between them would be
/// light and shade as much as cover. Twice what the eye parts at a glance (about 10, from memory).
const APART: f64 = 20.0;

/// The cosine of the angle between thread and cloth as directions in linear RGB below which each pixel's own
/// brightness can be found beside its share of thread: 15 degrees. Nearer, such as with black on white, pixels
/// are taken as lit alike.
const OTHER_HUE: f64 = 0.966;

/// Colours with less light than this, as lengths in linear RGB, are near black and have no hue to go by: eight
/// bits leave them some ten steps.
const BLACK: f64 = 0.03;

/// A pixel with less light than this share of the darker of both is a hole of the cloth in the shade.
const DARK: f64 = 0.04;

/// The most that a share may be to say anything of the thread: from there on, wider thread hides no more.
const MOST_SHARE: f64 = 0.985;

/// A swatch that says nothing of the thread.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SwatchFitError {
    /// No pixels.
    #[error("the swatch has no pixels")]
    Empty,
    /// Thread and cloth that cannot be parted.
    #[error("thread and cloth are only {delta_e:.1} ΔE apart; {APART} are needed to part them")]
    Alike {
        /// How far they are.
        delta_e: f64,
    },
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
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Empty => "give the place of the stitches with --part left,top,width,height",
            Self::Alike { .. } => "stitch the swatch in a colour that stands out from its cloth",
            Self::Share { .. } => {
                "give the share of the cloth that is hidden in per cent, such as --measured 75"
            }
            Self::Covered { .. } => {
                "stitch the swatch with fewer strands, on coarser cloth or in half crosses; a covered one tells the holes, \
                 with --holes"
            }
            Self::Flattening { .. } => {
                "look at count, strands, stitch and colours again: one of them is not as given"
            }
            Self::Holes { .. } => {
                "give --holes only with a swatch so thick that nothing but the holes is bare"
            }
        }
    }
}

/// What a swatch shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenCover {
    /// The share of the cloth that is hidden, 0 to 1.
    pub share: f64,
    /// The mean distance of pixels to the mixes of thread and cloth that they were taken for, in ΔE00. Over some 10
    /// something else is in the picture, or a colour is not as given.
    pub misfit: f64,
}

/// The share of the cloth that thread hides on a photo, from its pixels and both colours as the photo has them.
///
/// Each pixel is taken for `light * (t thread + (1 - t) cloth)` in linear light with t from 0 to 1, by least
/// squares; the share is the mean of t. Where hues are too near for that, light is taken as even.
///
/// # Errors
/// [`SwatchFitError::Alike`] where the colours cannot be parted, [`SwatchFitError::Empty`] without pixels.
pub fn seen_cover(
    pixels: impl IntoIterator<Item = LinearRgb>,
    thread: LinearRgb,
    cloth: LinearRgb,
) -> Result<SeenCover, SwatchFitError> {
    let delta_e = thread.lab().ciede2000(cloth.lab());
    if delta_e < APART {
        return Err(SwatchFitError::Alike { delta_e });
    }
    let (a, b) = (thread.channels, cloth.channels);
    let (aa, bb, ab) = (dot(a, a), dot(b, b), dot(a, b));
    let by_hue = ab / (aa * bb).sqrt() < OTHER_HUE && aa.min(bb) > BLACK * BLACK;
    let dark = DARK * DARK * aa.min(bb);
    let (mut sum, mut misfit, mut count) = (0.0, 0.0, 0u64);
    for LinearRgb { channels: p } in pixels {
        let (t, light) = if by_hue {
            if dot(p, p) < dark { (0.0, 0.0) } else { by_own_light(dot(p, a), dot(p, b), [aa, bb, ab]) }
        } else {
            let along = [0, 1, 2].map(|at| a[at] - b[at]);
            let from = [0, 1, 2].map(|at| p[at] - b[at]);
            ((dot(from, along) / dot(along, along)).clamp(0.0, 1.0), 1.0)
        };
        let taken = [0, 1, 2].map(|at| light * (t * a[at] + (1.0 - t) * b[at]));
        misfit += LinearRgb { channels: p }.lab().ciede2000(LinearRgb { channels: taken }.lab());
        sum += t;
        count += 1;
    }
    if count == 0 {
        return Err(SwatchFitError::Empty);
    }
    Ok(SeenCover { share: sum / count as f64, misfit: misfit / count as f64 })
}

fn dot(one: [f64; 3], two: [f64; 3]) -> f64 {
    one.iter().zip(two).map(|(one, two)| one * two).sum()
}

/// The share of thread and the light of a pixel, from its products with thread and cloth: least squares with
/// neither part below nothing.
fn by_own_light(pa: f64, pb: f64, [aa, bb, ab]: [f64; 3]) -> (f64, f64) {
    let whole = aa * bb - ab * ab;
    let (x, y) = ((pa * bb - pb * ab) / whole, (pb * aa - pa * ab) / whole);
    if x <= 0.0 {
        (0.0, (pb / bb).max(0.0))
    } else if y <= 0.0 {
        (1.0, (pa / aa).max(0.0))
    } else {
        (x / (x + y), x + y)
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
        // What the stitch can hide at the most, holes left out: half of the cell for a quarter.
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
