//! Where the cloth shows through so much that a thread no longer looks like itself, and what would help.
//!
//! Owns the judgement, needle by needle. Leaves the mix of thread and cloth to `cloth`.

use serde::Serialize;

use super::strand_mm_per_stitch;
use crate::chart::{Chart, Needle};
use crate::ground::colour::LinearRgb;
use crate::ground::units::FabricCount;
use crate::thread::cloth::{Cloth, CoverModel, StitchKind};

/// A shift of colour worth a warning, in ΔE00: 3. About 1 is just seen side by side, and 2 to 3 is what a
/// stitcher accepts for a substitute thread (common practice, no source).
pub const SHIFT_LIMIT: f64 = 3.0;

/// What would bring a thread nearer to its own colour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Help {
    /// So many strands.
    Strands(u8),
    /// Full crosses instead of half ones.
    FullCrosses,
    /// Cloth so fine.
    Count(FabricCount),
    /// Cloth nearer to the thread in colour: nothing else does.
    OtherColour,
}

/// A needle whose colour the cloth shifts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shift {
    /// Its place among the chart's needles.
    pub needle: usize,
    /// The codes of its threads.
    pub code: String,
    /// Their names.
    pub name: String,
    /// By how much, in ΔE00 from the threads alone to what is seen.
    pub delta_e: f64,
    /// The share of the cloth that is hidden, 0 to 1.
    pub covered: f64,
    /// What would help, each by itself and what it leaves, in ΔE00; the least trouble first.
    pub helps: Vec<(Help, f64)>,
}

/// Up to this many stitches to the inch, three strands are worked: on 11 count (common practice, no source).
const COARSE: f64 = 11.5;

/// The strands of a full cross that are customary on a count: three on 11, else the fewest that cover the cloth
/// ([`CoverModel::strands_that_cover`]); `None` where even twelve do not.
#[must_use]
pub fn customary_strands(count: FabricCount, cover: &CoverModel) -> Option<u8> {
    let covers = cover.strands_that_cover(count)?;
    Some(if count.stitches_per_inch() < COARSE { covers.max(3) } else { covers })
}

/// The strands to work these needles in on a cloth: the fewest from the customary ones on with which none of them is
/// shifted by more than [`SHIFT_LIMIT`], so that nothing is suggested that [`shifts`] warns of. Where no number up
/// to six helps all, the one with which the worst is shifted least.
#[must_use]
pub fn strands_for<'a>(
    needles: impl IntoIterator<Item = &'a Needle>,
    cloth: &Cloth,
    cover: &CoverModel,
) -> Option<u8> {
    let customary = customary_strands(cloth.count, cover)?;
    let lights: Vec<LinearRgb> = needles.into_iter().map(|needle| needle.colour().linear()).collect();
    let worst = |strands: u8| {
        let covered = cover.covered(cloth.count, strands, StitchKind::FullCross);
        lights.iter().map(|&light| cloth.under(light, covered).ciede2000(light.lab())).fold(0.0, f64::max)
    };
    let tried = (customary..=MOST_STRANDS.max(customary)).map(|strands| (strands, worst(strands)));
    let tried: Vec<(u8, f64)> = tried.collect();
    let within = tried.iter().find(|(_, worst)| *worst <= SHIFT_LIMIT);
    let least = || tried.iter().min_by(|one, two| one.1.total_cmp(&two.1));
    within.or_else(least).map(|(strands, _)| *strands)
}

/// The strands of a skein: more than that is no needleful.
const MOST_STRANDS: u8 = 6;

/// Finer counts to be suggested.
const FINER: [u16; 5] = [14, 16, 18, 20, 22];

/// The needles that the cloth shifts by more than `limit`, worst first. Only needles with stitches are looked
/// at.
#[must_use]
pub fn shifts(chart: &Chart, cover: &CoverModel, limit: f64) -> Vec<Shift> {
    let cloth = &chart.cloth;
    let mut shifts: Vec<Shift> = chart
        .needles()
        .iter()
        .zip(chart.stitches())
        .enumerate()
        .filter(|(_, (_, stitches))| *stitches > 0)
        .filter_map(|(index, (needle, _))| {
            let light = needle.colour().linear();
            let of = |cloth: &Cloth, strands, stitch| {
                cover.look(cloth, light, strands, stitch).ciede2000(light.lab())
            };
            let delta_e = of(cloth, needle.strands(), needle.stitch);
            (delta_e > limit).then(|| Shift {
                needle: index,
                code: needle.code(),
                name: needle.name(),
                delta_e,
                covered: cover.covered(cloth.count, needle.strands(), needle.stitch),
                helps: helps(cloth, needle.strands(), needle.stitch, limit, of),
            })
        })
        .collect();
    shifts.sort_by(|one, two| two.delta_e.total_cmp(&one.delta_e).then(one.needle.cmp(&two.needle)));
    shifts
}

/// What brings the shift within the limit. More strands of a half cross or a fractional stitch are only named
/// where they take no more thread than a full cross would.
fn helps(
    cloth: &Cloth,
    strands: u8,
    stitch: StitchKind,
    limit: f64,
    shift: impl Fn(&Cloth, u8, StitchKind) -> f64,
) -> Vec<(Help, f64)> {
    let mut helps = Vec::new();
    let crossed =
        (strands..=MOST_STRANDS).find(|&strands| shift(cloth, strands, StitchKind::FullCross) <= limit);
    let thread = |strands: u8, stitch| f64::from(strands) * strand_mm_per_stitch(cloth.count, stitch);
    let most = crossed.map_or(f64::INFINITY, |strands| thread(strands, StitchKind::FullCross));
    let more = (strands.saturating_add(1)..=MOST_STRANDS)
        .take_while(|&more| stitch == StitchKind::FullCross || thread(more, stitch) <= most + 1e-9)
        .find(|&more| shift(cloth, more, stitch) <= limit);
    helps.extend(more.map(|more| (Help::Strands(more), shift(cloth, more, stitch))));
    if stitch != StitchKind::FullCross {
        let left = shift(cloth, strands, StitchKind::FullCross);
        if left <= limit {
            helps.push((Help::FullCrosses, left));
        }
    }
    let finer = FINER
        .into_iter()
        .filter_map(|count| FabricCount::new(count).ok())
        .filter(|count| count.stitches_per_inch() > cloth.count.stitches_per_inch())
        .map(|count| (count, shift(&Cloth { count, ..*cloth }, strands, stitch)))
        .find(|(_, left)| *left <= limit);
    helps.extend(finer.map(|(count, left)| (Help::Count(count), left)));
    if helps.is_empty() {
        helps.push((Help::OtherColour, 0.0));
    }
    helps
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::route::tests::chart;
    use super::*;
    use crate::chart::Needle;

    fn on(cloth: &str, count: &str, strands: u8, stitch: StitchKind) -> Vec<Shift> {
        let plain = chart(20, &[1; 100], stitch);
        let cloth = Cloth { count: count.parse().unwrap(), colour: cloth.parse().unwrap() };
        let needles: Vec<Needle> = plain
            .needles()
            .iter()
            .cloned()
            .map(|mut needle| {
                needle.threads[0].strands = strands;
                needle
            })
            .collect();
        let chart = Chart::new("t".into(), plain.size(), cloth, needles, plain.cells().to_vec()).unwrap();
        shifts(&chart, &CoverModel::default(), SHIFT_LIMIT)
    }

    #[test]
    fn two_strands_on_14_count_need_no_warning_and_one_on_red_does() {
        assert!(on("#aa1515", "14", 2, StitchKind::FullCross).is_empty());
        let shifts = on("#aa1515", "14", 1, StitchKind::FullCross);
        assert_eq!(shifts.len(), 1);
        assert!(shifts[0].delta_e > 5.0);
        let (help, left) = shifts[0].helps[0];
        assert_eq!(help, Help::Strands(2));
        assert!(left <= SHIFT_LIMIT);
        assert_eq!((shifts[0].code.as_str(), shifts[0].name.as_str()), ("N1", "N1"));
    }

    #[test]
    fn half_crosses_are_helped_by_full_ones_and_every_help_keeps_its_word() {
        let shifts = on("#f4ecd8", "14", 2, StitchKind::HalfCross);
        assert!(shifts[0].helps.iter().any(|(help, _)| *help == Help::FullCrosses));
        assert!(shifts[0].helps.iter().all(|(_, left)| *left <= SHIFT_LIMIT));
        // On cloth of the thread's own colour nothing shifts, however thin the thread.
        assert!(on("#306090", "11", 1, StitchKind::HalfCross).is_empty());
    }

    #[test]
    fn three_strands_are_the_custom_on_11_count_and_one_on_22_where_colours_are_near() {
        // Common practice, no source: three on 11, two on 14 to 20, one on 22.
        let cover = CoverModel::default();
        let custom = |count: &str| customary_strands(count.parse().unwrap(), &cover).unwrap();
        let counts = ["11", "14", "16", "18", "20", "22", "28/2", "32/2"];
        assert_eq!(counts.map(custom), [3, 2, 2, 2, 2, 1, 2, 2]);
        // Blue on cream shows through one strand on 22 count, on cloth near to it it does not.
        let chart = chart(20, &[1; 100], StitchKind::FullCross);
        let on = |cloth: &str| {
            let cloth = Cloth { count: "22".parse().unwrap(), colour: cloth.parse().unwrap() };
            strands_for(chart.needles(), &cloth, &cover)
        };
        assert_eq!((on("#f4ecd8"), on("#2f5f8f")), (Some(2), Some(1)));
    }

    #[test]
    fn what_is_suggested_is_never_warned_of() {
        let cover = CoverModel::default();
        let plain = chart(20, &[1; 100], StitchKind::FullCross);
        for cloth in ["#f4ecd8", "#ffffff", "#aa1515", "#101820", "#306090"] {
            for count in ["10", "11", "12", "14", "16", "18", "20", "22", "25", "28/2", "32/2"] {
                for colour in ["#000000", "#ffffff", "#306090", "#c03020", "#f0d060"] {
                    let mut needles = plain.needles().to_vec();
                    needles[0].threads[0].colour = colour.parse().unwrap();
                    let cloth = Cloth { count: count.parse().unwrap(), colour: cloth.parse().unwrap() };
                    let strands = strands_for(&needles, &cloth, &cover).unwrap();
                    needles[0].threads[0].strands = strands;
                    let cells = plain.cells().to_vec();
                    let chart = Chart::new("t".into(), plain.size(), cloth, needles, cells).unwrap();
                    let warned = shifts(&chart, &cover, SHIFT_LIMIT);
                    assert!(warned.is_empty(), "{colour} in {strands} on {count}: {warned:?}");
                }
            }
        }
    }

    #[test]
    fn advice_for_a_stitch_never_takes_more_thread_than_a_full_cross() {
        for stitch in StitchKind::all().filter(|&stitch| stitch != StitchKind::FullCross) {
            for (count, strands) in [("11", 2), ("14", 1), ("14", 2), ("18", 1)] {
                for shift in on("#f4ecd8", count, strands, stitch) {
                    let count: FabricCount = count.parse().unwrap();
                    let of = |strands: u8, stitch| f64::from(strands) * strand_mm_per_stitch(count, stitch);
                    // As many strands as a full cross wants here.
                    let full = (strands..=6).find(|&strands| {
                        on("#f4ecd8", &count.to_string(), strands, StitchKind::FullCross).is_empty()
                    });
                    for (help, _) in shift.helps {
                        let Help::Strands(more) = help else { continue };
                        let most = of(full.unwrap(), StitchKind::FullCross);
                        assert!(of(more, stitch) <= most + 1e-9, "{stitch}, {more} on {count}: {full:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn every_needle_that_is_not_warned_of_is_within_the_limit() {
        for strands in 1..=4 {
            for count in ["11", "14", "18"] {
                let warned = !on("#000000", count, strands, StitchKind::FullCross).is_empty();
                let cover = CoverModel::default();
                let cloth =
                    Cloth { count: count.parse().unwrap(), colour: crate::ground::colour::Srgb8::BLACK };
                let light = "#306090".parse::<crate::ground::colour::Srgb8>().unwrap().linear();
                let shift = cover.look(&cloth, light, strands, StitchKind::FullCross).ciede2000(light.lab());
                assert_eq!(warned, shift > SHIFT_LIMIT, "{strands} on {count}: {shift}");
            }
        }
    }
}
