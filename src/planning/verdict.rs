//! Whether thread covers its cloth, in three steps that a stitcher would use, thread by thread and stitch by stitch.
//!
//! Owns the judgement. Leaves how much cloth a stitch hides to `cloth`, and what would help to `shift`.

use serde::Serialize;

use super::shift::{Help, SHIFT_LIMIT, Shift, shifts};
use crate::chart::Chart;
use crate::thread::cloth::{CoverModel, StitchKind};

/// How well thread covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It covers well: the cloth shifts it by no more than is accepted of a substitute thread ([`SHIFT_LIMIT`]).
    CoversWell,
    /// A little cloth shows and does no harm.
    ShowsALittle,
    /// Better not: the cloth makes another colour of it.
    BetterNot,
}

/// Shifted by more than this, in ΔE00, a thread looks like another one: twice [`SHIFT_LIMIT`], plainly another colour when
/// both lie side by side (common practice, no source).
pub const OTHER_COLOUR: f64 = 2.0 * SHIFT_LIMIT;

/// One in so many stitches may be worse than the verdict on the whole: a twentieth is not seen.
const UNSEEN: u64 = 20;

impl Verdict {
    /// Of a thread that the cloth shifts by so much, in ΔE00.
    #[must_use]
    pub fn of(delta_e: f64) -> Self {
        if delta_e <= SHIFT_LIMIT {
            Self::CoversWell
        } else if delta_e <= OTHER_COLOUR {
            Self::ShowsALittle
        } else {
            Self::BetterNot
        }
    }
}

/// The verdict on one needle: its threads in one stitch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NeedleVerdict {
    /// How far the cloth shifts it, and what would help where that is over [`SHIFT_LIMIT`].
    #[serde(flatten)]
    pub shift: Shift,
    /// How it is worked.
    pub stitch: StitchKind,
    /// In how many strands.
    pub strands: u8,
    /// How many stitches.
    pub stitches: u64,
    /// The verdict.
    pub verdict: Verdict,
}

/// The verdict on a chart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChartVerdict {
    /// On the whole: what all but a few stitches keep.
    pub verdict: Verdict,
    /// Of a hundred stitches, so many cover well.
    pub well_percent: f64,
    /// Of a hundred stitches, so many would better not be worked so.
    pub not_percent: f64,
    /// What mends most of the stitches that do not cover well; `None` where the whole does.
    pub mend: Option<Help>,
    /// Needle by needle, the most shifted first. Only needles with stitches.
    pub needles: Vec<NeedleVerdict>,
}

/// Judges a chart on its cloth, as it is worked.
#[must_use]
pub fn verdict(chart: &Chart, cover: &CoverModel) -> ChartVerdict {
    let counts = chart.stitches();
    let mut needles: Vec<NeedleVerdict> = Vec::new();
    // Every needle with stitches, those that the cloth leaves as they are too, which need no help.
    let helped = shifts(chart, cover, SHIFT_LIMIT);
    for found in shifts(chart, cover, -1.0) {
        let helps = helped.iter().find(|shift| shift.needle == found.needle).map(|shift| shift.helps.clone());
        let shift = Shift { helps: helps.unwrap_or_default(), ..found };
        let (needle, stitches) = (&chart.needles()[shift.needle], counts[shift.needle]);
        let (stitch, strands, verdict) = (needle.stitch, needle.strands(), Verdict::of(shift.delta_e));
        needles.push(NeedleVerdict { shift, stitch, strands, stitches, verdict });
    }
    let having = |is: &dyn Fn(Verdict) -> bool| -> u64 {
        needles.iter().filter(|needle| is(needle.verdict)).map(|needle| needle.stitches).sum()
    };
    let all = having(&|_| true).max(1);
    let (well, not) = (having(&|is| is == Verdict::CoversWell), having(&|is| is == Verdict::BetterNot));
    let verdict = if not * UNSEEN > all {
        Verdict::BetterNot
    } else if (all - well.min(all)) * UNSEEN > all {
        Verdict::ShowsALittle
    } else {
        Verdict::CoversWell
    };
    let [well_percent, not_percent] = [well, not].map(|stitches| stitches as f64 * 100.0 / all as f64);
    let mend = (verdict != Verdict::CoversWell).then(|| mend(&needles)).flatten();
    ChartVerdict { verdict, well_percent, not_percent, mend, needles }
}

/// The first help of the needles that need one, by their stitches: the one that most stitches want; of strands and
/// counts the most that one of them wants, so that it helps all.
fn mend(needles: &[NeedleVerdict]) -> Option<Help> {
    let wanting = needles.iter().filter_map(|needle| Some((&needle.shift.helps.first()?.0, needle.stitches)));
    let kind = |help: &Help| match help {
        Help::Strands(_) => 0,
        Help::FullCrosses => 1,
        Help::Count(_) => 2,
        Help::OtherColour => 3,
    };
    let mut stitches = [0_u64; 4];
    for (help, count) in wanting.clone() {
        stitches[kind(help)] += count;
    }
    // Of equals the least trouble.
    let most = (0..4).rev().max_by_key(|&kind| stitches[kind])?;
    let of_kind = wanting.map(|(help, _)| *help).filter(|help| kind(help) == most);
    of_kind.max_by(|one, other| match (one, other) {
        (Help::Strands(one), Help::Strands(other)) => one.cmp(other),
        (Help::Count(one), Help::Count(other)) => {
            one.stitches_per_inch().total_cmp(&other.stitches_per_inch())
        }
        _ => std::cmp::Ordering::Equal,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::route::tests::chart;
    use super::*;
    use crate::chart::Needle;
    use crate::thread::cloth::Cloth;

    /// 100 crosses in blue on a cloth.
    fn on(cloth: &str, strands: u8, stitch: StitchKind) -> ChartVerdict {
        let plain = chart(20, &[1; 100], stitch);
        let cloth = Cloth { count: "14".parse().unwrap(), colour: cloth.parse().unwrap() };
        let mut needles: Vec<Needle> = plain.needles().to_vec();
        needles[0].threads[0].strands = strands;
        let chart = Chart::new("t".into(), plain.size(), cloth, needles, plain.cells().to_vec()).unwrap();
        verdict(&chart, &CoverModel::default())
    }

    #[test]
    fn two_strands_on_14_count_cover_and_one_strand_on_red_is_better_not_used() {
        // Common practice, no source: two strands on 14 count cover; one on a strong colour does not.
        let two = on("#aa1515", 2, StitchKind::FullCross);
        assert_eq!((two.verdict, two.mend, two.well_percent), (Verdict::CoversWell, None, 100.0));
        let one = on("#aa1515", 1, StitchKind::FullCross);
        assert_eq!((one.verdict, one.mend), (Verdict::BetterNot, Some(Help::Strands(2))));
        assert_eq!(one.needles[0].verdict, Verdict::BetterNot);
        assert!((one.needles[0].shift.covered - 0.72).abs() < 0.15, "{}", one.needles[0].shift.covered);
    }

    #[test]
    fn one_strand_on_cloth_near_its_colour_does_no_harm() {
        let own = on("#306090", 1, StitchKind::FullCross);
        assert_eq!(own.verdict, Verdict::CoversWell);
        let near = ["#4a78a6", "#5a86b0", "#6a92b8", "#7a9fc0", "#88a8c8"];
        let found: Vec<Verdict> =
            near.iter().map(|cloth| on(cloth, 1, StitchKind::FullCross).verdict).collect();
        assert!(found.is_sorted() && found.contains(&Verdict::ShowsALittle), "{found:?}");
    }

    #[test]
    fn limits_are_where_they_are_said_to_be() {
        assert_eq!(Verdict::of(3.0), Verdict::CoversWell);
        assert_eq!(Verdict::of(3.01), Verdict::ShowsALittle);
        assert_eq!(Verdict::of(6.0), Verdict::ShowsALittle);
        assert_eq!(Verdict::of(6.01), Verdict::BetterNot);
    }

    #[test]
    fn a_few_stitches_do_not_spoil_the_verdict_on_the_whole() {
        let plain = chart(20, &[1; 100], StitchKind::FullCross);
        let mut needles = plain.needles().to_vec();
        needles.push(needles[0].clone());
        needles[1].threads[0].strands = 1;
        needles[1].threads[0].code = "OTHER".into();
        let with = |few: usize| {
            let mut cells = plain.cells().to_vec();
            cells.iter_mut().take(few).for_each(|cell| *cell = crate::chart::Cell::worked(1));
            let cloth = Cloth { count: "14".parse().unwrap(), colour: "#aa1515".parse().unwrap() };
            let chart = Chart::new("t".into(), plain.size(), cloth, needles.clone(), cells).unwrap();
            verdict(&chart, &CoverModel::default())
        };
        assert_eq!((with(5).verdict, with(6).verdict), (Verdict::CoversWell, Verdict::BetterNot));
        assert_eq!(with(6).needles.len(), 2);
        assert!((with(6).not_percent - 6.0).abs() < 1e-9);
    }
}
