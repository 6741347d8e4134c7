//! A chart moved to another shade card: every thread gets the nearest there, and different ones stay different.
//!
//! Owns the assignment. Leaves how a thread looks on the cloth to `cloth`.

use std::collections::BTreeMap;

use crate::chart::mark::PickedCells;
use crate::chart::marks::with_each;
use crate::chart::{Chart, PlacedMark, Thread};
use crate::ground::assignment;
use crate::ground::colour::{Compared, Lab};
use crate::thread::cloth::{CoverModel, StitchKind};
use crate::thread::kind::is_metallic;
use crate::thread::shades::ShadeCard;

/// A substitute further off than this is worth a warning, in ΔE00: 5, plainly another colour when both lie side
/// by side (common practice, no source).
pub const POOR: f64 = 5.0;

/// Threads nearer to each other than this, in ΔE00, may share a substitute where that serves better: 2, hardly
/// told apart in stitches (common practice, no source).
pub const ALIKE: f64 = 2.0;

/// What it counts for, in ΔE00, that a plain thread would get a metallic one or the other way round: more than any
/// two colours differ, so that it happens only where the card has no other.
const OTHER_KIND: f64 = 200.0;

/// One thread and its substitute.
#[derive(Debug, Clone, PartialEq)]
pub struct Substitute {
    /// The thread as it was: code and name.
    pub from: (String, String),
    /// The thread that takes its place: code and name.
    pub to: (String, String),
    /// Crosses worked with it, those of marks among them.
    pub stitches: u64,
    /// Whether one of them is metallic and the other is not.
    pub other_kind: bool,
    /// The difference of what is seen on the cloth, in ΔE00.
    pub delta_e: f64,
    /// The difference of the shade of the card that is nearest, taken or not.
    pub nearest: f64,
    /// The code of another thread of the chart that got the same substitute, if one did.
    pub shared_with: Option<String>,
}

impl Substitute {
    /// Whether it is further off than [`POOR`].
    #[must_use]
    pub fn is_poor(&self) -> bool {
        self.delta_e > POOR
    }
}

/// A chart on its new card.
#[derive(Debug, Clone, PartialEq)]
pub struct Rethreaded {
    /// The chart.
    pub chart: Chart,
    /// What became of each thread, in the order of the needles; threads of marks follow.
    pub substitutes: Vec<Substitute>,
}

/// A thread of the chart as it is worked most.
struct Wanted {
    thread: Thread,
    stitch: StitchKind,
    stitches: u64,
    look: Compared,
}

/// Gives every thread of the chart, its marks' among them, a substitute from the card.
///
/// `worked` is the chart with its marks laid over it (`marks::compose`): what is counted are its stitches.
///
/// Compared are looks: what is seen of each thread with its strands on the chart's cloth. Of all assignments of
/// different shades the one with the least sum of squared ΔE00, weighted by the root of the stitches, is taken
/// (Kuhn 1955, Munkres 1957). Threads within [`ALIKE`] of each other get one shade together where that gains more
/// than their difference is worth. A card with fewer shades than the chart has threads is used more than once.
#[must_use]
pub fn rethread(chart: &Chart, worked: &Chart, card: &ShadeCard, cover: &CoverModel) -> Rethreaded {
    let wanted = wanted(chart, worked, cover);
    let looks: Vec<Vec<f64>> = wanted
        .iter()
        .map(|wanted| {
            let look =
                |lab: Lab| cover.look(&chart.cloth, lab.linear(), wanted.thread.strands, wanted.stitch);
            card.shades()
                .iter()
                .map(|shade| wanted.look.ciede2000(&Compared::from(look(shade.lab))))
                .collect()
        })
        .collect();
    let is_other = |from: &Wanted, place: usize| {
        is_metallic(from.thread.kind.as_deref()) != is_metallic(card.shades()[place].kind.as_deref())
    };
    let costs: Vec<Vec<f64>> = wanted
        .iter()
        .zip(&looks)
        .map(|(from, looks)| {
            let cost =
                |(place, look): (usize, &f64)| look + if is_other(from, place) { OTHER_KIND } else { 0.0 };
            looks.iter().enumerate().map(cost).collect()
        })
        .collect();
    let places = assign(&wanted, &costs);
    let by_code: BTreeMap<&str, usize> =
        wanted.iter().zip(&places).map(|(wanted, &place)| (wanted.thread.code.as_str(), place)).collect();
    let replace = |thread: &Thread| match by_code.get(thread.code.as_str()) {
        Some(&place) => Thread::of(&card.shades()[place], thread.strands),
        None => thread.clone(),
    };
    let substitutes = wanted
        .iter()
        .zip(&places)
        .enumerate()
        .map(|(index, (from, &place))| {
            let shade = &card.shades()[place];
            let other = places.iter().enumerate().find(|&(at, &other)| at != index && other == place);
            Substitute {
                from: (from.thread.code.clone(), from.thread.name.clone()),
                to: (shade.code.clone(), shade.name.clone()),
                stitches: from.stitches,
                other_kind: is_other(from, place),
                delta_e: looks[index][place],
                nearest: looks[index].iter().copied().fold(f64::INFINITY, f64::min),
                shared_with: other.map(|(at, _)| wanted[at].thread.code.clone()),
            }
        })
        .collect();
    let mut needles = chart.needles().to_vec();
    for thread in needles.iter_mut().flat_map(|needle| &mut needle.threads) {
        *thread = replace(thread);
    }
    let mut moved =
        Chart::new(chart.title.clone(), chart.size(), chart.cloth, needles, chart.cells().to_vec())
            .expect("strands and cells stay as they were");
    moved.made.clone_from(&chart.made);
    moved.card = Some(card.clone());
    moved.marks = chart.marks.iter().map(|mark| reworded(mark, &replace, chart, &moved)).collect();
    Rethreaded { chart: moved, substitutes }
}

/// A mark on the moved chart: its threads are the new ones, its cells what they were, and where it was pointed at threads
/// it names those that took their place.
fn reworded(
    mark: &PlacedMark,
    replace: &impl Fn(&Thread) -> Thread,
    chart: &Chart,
    moved: &Chart,
) -> PlacedMark {
    let mut new = with_each(mark.mark(), replace);
    for pick in new.motif_mut().into_iter().flat_map(|motif| &mut motif.pick) {
        let PickedCells::Needles(codes) = &mut pick.cells else { continue };
        let mut names: Vec<String> = Vec::new();
        for code in codes.iter() {
            let both = chart.needles().iter().zip(moved.needles());
            let found = both.filter(|(old, _)| old.code() == *code || old.name() == *code);
            names.extend(found.map(|(_, new)| new.code()));
        }
        names.sort();
        names.dedup();
        if !names.is_empty() {
            *codes = names;
        }
    }
    mark.reworded(new)
}

/// Every thread once, as the needle with most of its stitches has it.
fn wanted(chart: &Chart, worked: &Chart, cover: &CoverModel) -> Vec<Wanted> {
    let mut list: Vec<Wanted> = Vec::new();
    let mut most: BTreeMap<String, (usize, u64)> = BTreeMap::new();
    let mut add = |thread: &Thread, stitch: StitchKind, stitches: u64| {
        let light = thread.colour.linear();
        let look = Compared::from(cover.look(&chart.cloth, light, thread.strands, stitch));
        match most.get_mut(&thread.code) {
            None => {
                most.insert(thread.code.clone(), (list.len(), stitches));
                list.push(Wanted { thread: thread.clone(), stitch, stitches, look });
            }
            Some((place, greatest)) => {
                let entry = &mut list[*place];
                entry.stitches += stitches;
                if stitches > *greatest {
                    *greatest = stitches;
                    (entry.thread, entry.stitch, entry.look) = (thread.clone(), stitch, look);
                }
            }
        }
    };
    // Those of the base stand first and in its order, though marks may have left them no cell.
    for needle in chart.needles() {
        needle.threads.iter().for_each(|thread| add(thread, needle.stitch, 0));
    }
    for (needle, stitches) in worked.needles().iter().zip(worked.stitches()) {
        needle.threads.iter().for_each(|thread| add(thread, needle.stitch, stitches));
    }
    for mark in &chart.marks {
        mark.each_thread(|thread| add(thread, StitchKind::FullCross, 0));
    }
    list
}

/// Threads that are to get one shade: places in the list of threads.
type Group = Vec<usize>;

/// A shade for each thread: different ones, but for threads that look alike where one shade serves both so much
/// better that more is gained than their own difference.
fn assign(wanted: &[Wanted], looks: &[Vec<f64>]) -> Vec<usize> {
    let mut groups: Vec<Group> = (0..wanted.len()).map(|index| vec![index]).collect();
    let (mut total, mut shades) = assign_groups(wanted, looks, &groups);
    let between = |one: usize, two: usize| wanted[one].look.ciede2000(&wanted[two].look);
    let mut pairs: Vec<(f64, usize, usize)> = (0..wanted.len())
        .flat_map(|one| (one + 1..wanted.len()).map(move |two| (one, two)))
        .map(|(one, two)| (between(one, two), one, two))
        .filter(|(apart, ..)| *apart <= ALIKE)
        .collect();
    pairs.sort_by(|one, two| one.0.total_cmp(&two.0).then((one.1, one.2).cmp(&(two.1, two.2))));
    for (_, one, two) in pairs.into_iter().take(MOST_PAIRS) {
        let place = |index: usize| groups.iter().position(|group| group.contains(&index));
        let (Some(one), Some(two)) = (place(one), place(two)) else { continue };
        let all_alike =
            || groups[one].iter().all(|&one| groups[two].iter().all(|&two| between(one, two) <= ALIKE));
        if one == two || !all_alike() {
            continue;
        }
        let mut other = groups.clone();
        let joined = other.swap_remove(one.max(two));
        other[one.min(two)].extend(joined);
        let (new_total, new_shades) = assign_groups(wanted, looks, &other);
        let lighter = |group: &Group| group.iter().map(|&index| weight(&wanted[index])).sum::<f64>();
        let lost = ALIKE * ALIKE * lighter(&groups[one]).min(lighter(&groups[two]));
        if (total - new_total) as f64 > lost * UNITS {
            (groups, total, shades) = (other, new_total, new_shades);
        }
    }
    let mut places = vec![0; wanted.len()];
    for (group, shade) in groups.iter().zip(shades) {
        for &index in group {
            places[index] = shade;
        }
    }
    places
}

/// Pairs of like threads that are tried on one shade, the most alike first: each is an assignment of its own.
const MOST_PAIRS: usize = 200;

/// Costs are whole numbers for the method, in thousandths.
const UNITS: f64 = 1e3;

/// A thread with four times the stitches counts twice: large areas matter, small ones are not given away.
fn weight(wanted: &Wanted) -> f64 {
    (wanted.stitches as f64 + 1.0).sqrt()
}

/// A shade for each group, no shade twice as long as there are enough, and what it costs in all.
fn assign_groups(wanted: &[Wanted], looks: &[Vec<f64>], groups: &[Group]) -> (i64, Vec<usize>) {
    let shades = looks.first().map_or(0, Vec::len);
    let rows: Vec<Vec<f64>> = groups
        .iter()
        .map(|group| {
            let cost = |shade: usize| -> f64 {
                group.iter().map(|&index| looks[index][shade].powi(2) * weight(&wanted[index])).sum()
            };
            (0..shades).map(cost).collect()
        })
        .collect();
    assignment::assign(&rows, UNITS)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::chart::{Cell, Needle};
    use crate::ground::units::GridSize;
    use crate::thread::cloth::Cloth;

    fn chart(colours: &[&str]) -> Chart {
        let needle = |(index, colour): (usize, &&str)| Needle {
            symbol: format!("s{index}"),
            threads: vec![Thread {
                code: format!("N{index}"),
                name: format!("N{index}"),
                colour: colour.parse().unwrap(),
                strands: 2,
                price: None,
                skein_mm: None,
                skein_strands: None,
                kind: None,
            }],
            stitch: StitchKind::FullCross,
        };
        let size = GridSize::new(20, 20).unwrap();
        let cells = (0..400).map(|at| Cell::worked(at % colours.len())).collect();
        let needles = colours.iter().enumerate().map(needle).collect();
        Chart::new("t".into(), size, Cloth::default(), needles, cells).unwrap()
    }

    fn card(colours: &[&str]) -> ShadeCard {
        let rows: String = colours
            .iter()
            .enumerate()
            .map(|(index, colour)| format!("C{index},c{index},{colour}\n"))
            .collect();
        ShadeCard::read("new", format!("code,name,colour\n{rows}").as_bytes()).unwrap()
    }

    fn codes(moved: &Rethreaded) -> Vec<&str> {
        moved.substitutes.iter().map(|substitute| substitute.to.0.as_str()).collect()
    }

    #[test]
    fn a_card_with_the_same_colours_gives_them_back() {
        let colours = ["#204060", "#a03020", "#e0d0b0"];
        let moved = rethread(
            &chart(&colours),
            &chart(&colours),
            &card(&["#e0d0b0", "#204060", "#a03020"]),
            &CoverModel::default(),
        );
        assert_eq!(codes(&moved), ["C1", "C2", "C0"]);
        assert!(moved.substitutes.iter().all(|substitute| substitute.delta_e < 0.01));
        assert_eq!(moved.chart.cells(), chart(&colours).cells());
        assert_eq!(moved.chart.needles()[0].symbol, "s0");
    }

    #[test]
    fn different_threads_stay_different_and_alike_ones_may_share() {
        // Both blues are nearest to C0, but they differ plainly: one must go to C1.
        let blues = ["#2a5a9a", "#3f74b4"];
        let moved = rethread(
            &chart(&blues),
            &chart(&blues),
            &card(&["#3466a6", "#4a86c0", "#c03020"]),
            &CoverModel::default(),
        );
        assert_eq!(codes(&moved), ["C0", "C1"]);
        // Two that are hardly told apart share, rather than one of them turning red.
        let alike = ["#2a5a9a", "#2b5b9b"];
        let moved =
            rethread(&chart(&alike), &chart(&alike), &card(&["#2a5a9a", "#c03020"]), &CoverModel::default());
        assert_eq!(codes(&moved), ["C0", "C0"]);
        assert_eq!(moved.substitutes[1].shared_with.as_deref(), Some("N0"));
    }

    #[test]
    fn a_small_card_is_used_more_than_once_and_poor_ones_are_told() {
        let three = chart(&["#204060", "#a03020", "#e0d0b0"]);
        let moved = rethread(&three, &three, &card(&["#204060", "#a03020"]), &CoverModel::default());
        assert_eq!(moved.substitutes.len(), 3);
        assert!(moved.substitutes[2].is_poor() && !moved.substitutes[0].is_poor());
    }

    #[test]
    fn metallic_threads_stay_metallic_where_the_card_has_one() {
        let mut threads = chart(&["#c9ccd0", "#204060"]);
        let mut needles = threads.needles().to_vec();
        needles[0].threads[0].kind = Some("metallic".into());
        threads =
            Chart::new("t".into(), threads.size(), threads.cloth, needles, threads.cells().to_vec()).unwrap();
        let text = "code,name,colour,kind\nA,Grey,#c9ccd0,cotton\nB,Gold,#c0a040,metallic\nC,Blue,#204060,\n";
        let card = ShadeCard::read("new", text.as_bytes()).unwrap();
        let moved = rethread(&threads, &threads, &card, &CoverModel::default());
        assert_eq!(codes(&moved), ["B", "C"]);
        assert!(moved.substitutes.iter().all(|change| !change.other_kind));
        let plain = ShadeCard::read("new", b"code,name,colour\nA,Grey,#c9ccd0\nC,Blue,#204060\n").unwrap();
        let moved = rethread(&threads, &threads, &plain, &CoverModel::default());
        assert_eq!(codes(&moved), ["A", "C"]);
        assert!(moved.substitutes[0].other_kind && !moved.substitutes[1].other_kind);
    }
}
