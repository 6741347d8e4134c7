//! Blends: two of the threads in one needle, as further colours that need no further thread.
//!
//! Owns which pairs are worth a needle. Leaves the choice among them to `reduce`.

use crate::ground::colour::{Compared, Lab, LinearRgb, Many};
use crate::making::frame::StitchField;
use crate::making::reduce::{Look, Wish};
use crate::thread::kind::is_metallic;
use crate::thread::shades::ShadeCard;

/// Threads further apart than this, in ΔE00, are not laid together: the eye sees speckle, not a mix (common
/// practice, no source).
const SPECKLE: f64 = 20.0;

/// The most mixes that are chosen from: those of thirty threads are about a hundred, those of two hundred would fill the
/// memory.
pub(super) const MOST: usize = 400;

/// Cells of the picture that mixes are ranked by where there are more.
const SAMPLE: usize = 2_000;

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

/// The mixes of two of the shades that are used, by place on the card, whose look lies at least `gain` ΔE00 from the look of
/// each of them alone; each pair once, or once with either as the more. Where there are more than [`MOST`], those that bring
/// the picture nearest. `seen` is what light looks like on the cloth.
pub(super) fn mixes(
    field: &StitchField,
    used: &[usize],
    card: &ShadeCard,
    strands: u8,
    gain: f64,
    seen: impl Fn(LinearRgb) -> Lab,
) -> Vec<(Blend, Look)> {
    if strands < 2 {
        return Vec::new();
    }
    // Of an odd number the first thread has one strand more.
    let parts = [strands - strands / 2, strands / 2];
    let shades = card.shades();
    let lights: Vec<LinearRgb> = shades.iter().map(|shade| shade.lab.linear()).collect();
    let colours: Vec<Compared> = shades.iter().map(|shade| shade.lab.into()).collect();
    let alone: Vec<Compared> = used.iter().map(|&shade| seen(lights[shade]).into()).collect();
    // A thread that glitters is no plain colour, and is laid in by hand.
    let mut plain: Vec<usize> =
        used.iter().copied().filter(|&shade| !is_metallic(shades[shade].kind.as_deref())).collect();
    plain.sort_unstable();
    let mut found = Vec::new();
    for (place, &one) in plain.iter().enumerate() {
        for (other, &two) in plain.iter().enumerate() {
            let twice = parts[0] == parts[1] && other < place;
            if one == two || twice || colours[one].ciede2000(&colours[two]) > SPECKLE {
                continue;
            }
            let blend = Blend { shades: [one, two], strands: parts };
            let lab = seen(blend.light(&lights));
            let look = Compared::from(lab);
            if alone.iter().all(|alone| alone.ciede2000(&look) >= gain) {
                found.push((blend, Look { lab, wish: Wish::Allowed }));
            }
        }
    }
    if found.len() > MOST {
        let gains = gains(field, &alone, &found);
        let mut order: Vec<usize> = (0..found.len()).collect();
        order.sort_by(|&one, &two| gains[two].total_cmp(&gains[one]).then(one.cmp(&two)));
        order.truncate(MOST);
        order.sort_unstable();
        found = order.into_iter().map(|place| found[place]).collect();
    }
    found
}

/// How much nearer each mix by itself brings cells of the picture, taken evenly over it, than the threads alone do.
fn gains(field: &StitchField, alone: &[Compared], found: &[(Blend, Look)]) -> Vec<f32> {
    let cells = field.cells();
    let sample = cells.iter().step_by((cells.len() / SAMPLE).max(1));
    let sample: Vec<Compared> = sample.flatten().map(|&lab| Compared::from(lab)).collect();
    let many = Many::new(&sample);
    let mut row = vec![0.0; sample.len()];
    let mut least = vec![f32::INFINITY; sample.len()];
    for alone in alone {
        many.ciede2000(alone, &mut row);
        least.iter_mut().zip(&row).for_each(|(least, off)| *least = least.min(*off));
    }
    let mut gain = |(_, look): &(Blend, Look)| {
        many.ciede2000(&look.lab.into(), &mut row);
        least.iter().zip(&row).map(|(least, off)| (least - off).max(0.0)).sum()
    };
    found.iter().map(&mut gain).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::units::GridSize;
    use crate::thread::cloth::{Cloth, CoverModel, StitchKind};

    const CARD: &str =
        "code,name,colour,kind\nA,a,#406a90,\nB,b,#5f8f9a,\nC,c,#c03020,\nD,d,#5a9a98,metallic\n";

    /// A picture of one colour.
    fn field() -> StitchField {
        let size = GridSize::new(10, 10).unwrap();
        StitchField::new(size, vec![Some(mixed().into()); size.cells()])
    }

    /// What the first two threads of the card are together.
    fn mixed() -> Lab {
        let light = |colour: &str| colour.parse::<crate::ground::colour::Srgb8>().unwrap().linear();
        light("#406a90").mix(light("#5f8f9a"), 0.5).lab()
    }

    fn found(used: &[usize], strands: u8, gain: f64) -> Vec<Blend> {
        let card = ShadeCard::read("c", CARD.as_bytes()).unwrap();
        let (cover, cloth) = (CoverModel::default(), Cloth::default());
        let seen = |light| cover.look(&cloth, light, strands, StitchKind::FullCross);
        mixes(&field(), used, &card, strands, gain, seen).into_iter().map(|(blend, _)| blend).collect()
    }

    #[test]
    fn threads_that_are_used_and_not_too_far_apart_are_mixed() {
        // Red is far from both; the fourth glitters and is not used.
        assert_eq!(found(&[0, 1, 2], 2, 2.0), [Blend { shades: [0, 1], strands: [1, 1] }]);
        // Of three strands either may be the more.
        let [two_one, one_two] = [[0, 1], [1, 0]].map(|shades| Blend { shades, strands: [2, 1] });
        assert_eq!(found(&[0, 1], 3, 2.0), [two_one, one_two]);
        assert!(found(&[0, 2], 2, 2.0).is_empty(), "blue and red are seen as speckle");
        assert!(found(&[1, 3], 2, 0.0).is_empty(), "one that glitters");
    }

    #[test]
    fn one_strand_is_not_mixed_nor_what_is_hardly_another_colour() {
        assert!(found(&[0, 1], 1, 0.0).is_empty());
        assert!(found(&[0, 1], 2, 15.0).is_empty());
    }

    #[test]
    fn a_mix_is_seen_as_the_mean_of_both_lights() {
        let card = ShadeCard::read("c", CARD.as_bytes()).unwrap();
        let mixed = mixes(&field(), &[0, 1], &card, 2, 2.0, LinearRgb::lab);
        assert_eq!(mixed.len(), 1);
        let look = &mixed[0].1;
        // By hand: the mean of 0.0513 and 0.1144, of 0.1441 and 0.2747, of 0.2789 and 0.3231 in linear light.
        let light = look.lab.linear().channels;
        for (found, wanted) in light.into_iter().zip([0.0828, 0.2094, (0.2789 + 0.3231) / 2.0]) {
            assert!((found - wanted).abs() < 1e-3, "{light:?}");
        }
    }
}
