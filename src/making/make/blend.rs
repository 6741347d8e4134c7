//! Blends: two threads in one needle, where their mix comes nearer to the picture than any thread alone.
//!
//! Owns the search for pairs. Leaves the choice among all looks to `reduce`.

use crate::ground::colour::{Compared, Lab, LinearRgb};
use crate::making::frame::StitchField;
use crate::making::reduce::{Look, Reduction, Wish};
use crate::thread::cloth::{Cloth, CoverModel, StitchKind};
use crate::thread::shades::ShadeCard;

/// Threads further apart than this, in ΔE00, are not laid together: the eye sees speckle, not a mix (common
/// practice, no source).
const SPECKLE: f64 = 20.0;

/// For each colour wanted, the pairs are made of so many of the nearest threads: of a card of 500 that is every
/// thread within reach, and pairs of more would be speckled.
const NEAREST: usize = 120;

/// Two shades of the card, and the strands of each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Blend {
    pub(super) shades: [usize; 2],
    pub(super) strands: [u8; 2],
}

impl Blend {
    fn light(&self, lights: &[LinearRgb]) -> LinearRgb {
        let [one, two] = self.shades.map(|shade| lights[shade]);
        let [more, less] = self.strands.map(f64::from);
        one.mix(two, more / (more + less))
    }
}

/// For each colour that a first reduction came to, the pair whose look beats every single thread of the card by
/// more than `gain` ΔE00, if there is one; each pair once. The colour wanted is the mean light of its stitches.
pub(super) fn blends(
    field: &StitchField,
    first: &Reduction,
    card: &ShadeCard,
    looks: &[Look],
    worked: (&CoverModel, &Cloth, u8),
    gain: f64,
) -> Vec<(Blend, Look)> {
    let (cover, cloth, strands) = worked;
    if strands < 2 {
        return Vec::new();
    }
    // Of an odd number the first thread has one strand more.
    let parts = [strands - strands / 2, strands / 2];
    let lights: Vec<LinearRgb> = card.shades().iter().map(|shade| shade.lab.linear()).collect();
    let cards: Vec<Compared> = card.shades().iter().map(|shade| shade.lab.into()).collect();
    let singles: Vec<Compared> = looks.iter().map(|look| look.lab.into()).collect();
    let allowed: Vec<usize> =
        (0..looks.len()).filter(|&shade| looks[shade].wish != Wish::Forbidden).collect();
    let mut found: Vec<(Blend, Look)> = Vec::new();
    for wanted in means(field, first) {
        let wanted = Compared::from(wanted);
        let mut near: Vec<(f64, usize)> =
            allowed.iter().map(|&shade| (wanted.ciede2000(&singles[shade]), shade)).collect();
        near.sort_by(|one, two| one.0.total_cmp(&two.0).then(one.1.cmp(&two.1)));
        let Some(&(alone, _)) = near.first() else { continue };
        near.truncate(NEAREST);
        let mut best: Option<(f64, Blend, Lab)> = None;
        for &(_, one) in &near {
            for &(_, two) in &near {
                let twice = parts[0] == parts[1] && two < one;
                if one == two || twice || cards[one].ciede2000(&cards[two]) > SPECKLE {
                    continue;
                }
                let blend = Blend { shades: [one, two], strands: parts };
                let look = cover.look(cloth, blend.light(&lights), strands, StitchKind::FullCross);
                let off = wanted.ciede2000(&Compared::from(look));
                if off + gain < alone && best.as_ref().is_none_or(|(least, ..)| off < *least) {
                    best = Some((off, blend, look));
                }
            }
        }
        if let Some((_, blend, lab)) = best
            && !found.iter().any(|(other, _)| *other == blend)
        {
            found.push((blend, Look { lab, wish: Wish::Allowed }));
        }
    }
    found
}

/// The mean light of the stitches that each chosen look serves.
fn means(field: &StitchField, first: &Reduction) -> Vec<Lab> {
    let mut sums = vec![([0.0; 3], 0u64); first.chosen.len()];
    for (label, cell) in first.labels.iter().zip(field.cells()) {
        let (Some(label), Some(lab)) = (label, *cell) else { continue };
        let (sum, count) = &mut sums[usize::from(*label)];
        for (sum, channel) in sum.iter_mut().zip(Lab::from(lab).linear().channels) {
            *sum += channel;
        }
        *count += 1;
    }
    let mean = |(sum, count): ([f64; 3], u64)| {
        (count > 0).then(|| LinearRgb { channels: sum.map(|sum| sum / count as f64) }.lab())
    };
    sums.into_iter().filter_map(mean).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::progress::Silent;
    use crate::ground::units::GridSize;
    use crate::making::reduce::{self, Colours};

    /// What is found for a picture of one colour on a card.
    fn found(colour: Lab, card: &str, strands: u8, gain: f64) -> Vec<Blend> {
        let card = ShadeCard::read("c", card.as_bytes()).unwrap();
        let (cover, cloth) = (CoverModel::default(), Cloth::default());
        let looks: Vec<Look> = card
            .shades()
            .iter()
            .map(|shade| Look {
                lab: cover.look(&cloth, shade.lab.linear(), strands, StitchKind::FullCross),
                wish: if shade.name == "no" { Wish::Forbidden } else { Wish::Allowed },
            })
            .collect();
        let size = GridSize::new(10, 10).unwrap();
        let field = StitchField::new(size, vec![Some(colour.into()); 100]);
        let options = reduce::Options { colours: Colours::Exactly(2), ..reduce::Options::default() };
        let first = reduce::reduce(&field, &looks, &options, &Silent).unwrap();
        let found = blends(&field, &first, &card, &looks, (&cover, &cloth, strands), gain);
        found.into_iter().map(|(blend, _)| blend).collect()
    }

    const CARD: &str = "code,name,colour\nA,a,#406a90\nB,b,#5f8f9a\nC,c,#c03020\nD,d,#101010\nE,e,#f0e0a0\n";

    fn mixed(share: f64) -> Lab {
        let light = |colour: &str| colour.parse::<crate::ground::colour::Srgb8>().unwrap().linear();
        light("#406a90").mix(light("#5f8f9a"), share).lab()
    }

    #[test]
    fn the_pair_that_makes_the_colour_is_found_and_no_other() {
        // The mix in equal parts of linear light, to the strand.
        assert_eq!(found(mixed(0.5), CARD, 2, 2.0), [Blend { shades: [0, 1], strands: [1, 1] }]);
        // Of three strands two are of one thread: a third of B in A, or of A in B.
        assert_eq!(found(mixed(2.0 / 3.0), CARD, 3, 2.0), [Blend { shades: [0, 1], strands: [2, 1] }]);
        assert_eq!(found(mixed(1.0 / 3.0), CARD, 3, 2.0), [Blend { shades: [1, 0], strands: [2, 1] }]);
    }

    #[test]
    fn nothing_is_blended_for_little_gain_from_one_strand_or_out_of_ruled_out_threads() {
        assert!(found(mixed(0.5), CARD, 2, 40.0).is_empty());
        assert!(found(mixed(0.5), CARD, 1, 0.0).is_empty());
        assert!(found(mixed(1.0), CARD, 2, 0.5).is_empty(), "one thread alone is the colour");
        assert!(found(mixed(0.5), &CARD.replace("B,b", "B,no"), 2, 2.0).is_empty());
        // Black and red would make a brown, but speckled.
        let far = "code,name,colour\nC,c,#c03020\nD,d,#101010\n";
        let light = |colour: &str| colour.parse::<crate::ground::colour::Srgb8>().unwrap().linear();
        let brown = light("#c03020").mix(light("#101010"), 0.5).lab();
        assert!(found(brown, far, 2, 2.0).is_empty());
    }
}
