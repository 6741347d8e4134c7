//! Where the cloth shows through so much that a thread no longer looks like itself, and what would help.
//!
//! Owns the judgement, needle by needle. Leaves the mix of thread and cloth to `cloth`.

use serde::Serialize;

use crate::chart::Chart;
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

/// What brings the shift within the limit.
fn helps(
    cloth: &Cloth,
    strands: u8,
    stitch: StitchKind,
    limit: f64,
    shift: impl Fn(&Cloth, u8, StitchKind) -> f64,
) -> Vec<(Help, f64)> {
    let mut helps = Vec::new();
    // Up to the six strands of a skein; more than that is no needleful.
    let more = (strands.saturating_add(1)..=6).find(|&more| shift(cloth, more, stitch) <= limit);
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
