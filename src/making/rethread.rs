//! Charts moved to another shade card: every thread gets a near one there, shared where that costs less, and several
//! charts together ask for no more than a box holds.
//!
//! Owns what is compared; `share` chooses. Leaves how a thread looks on the cloth to `cloth` and what a chart takes of
//! it to its callers.

mod share;

use std::collections::BTreeMap;

use rust_decimal::prelude::ToPrimitive as _;
use serde::Serialize;

use crate::chart::mark::PickedCells;
use crate::chart::marks::with_each;
use crate::chart::{Chart, PlacedMark, Thread};
use crate::ground::colour::{Compared, Lab};
use crate::thread::cloth::{CoverModel, StitchKind};
use crate::thread::code;
use crate::thread::kind::is_metallic;
use crate::thread::shades::{Shade, ShadeCard};
use crate::thread::skein::Skein;
use share::{Room, Seeker};

pub use share::Sharing;

/// A substitute further off than this is worth a warning, in ΔE00: 5, plainly another colour when both lie side
/// by side (common practice, no source).
pub const POOR: f64 = 5.0;

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

/// A chart that is to be moved.
#[derive(Debug, Clone, Copy)]
pub struct Moving<'a> {
    /// The chart.
    pub chart: &'a Chart,
    /// It with its marks laid over it (`marks::compose`): what is counted are its stitches.
    pub worked: &'a Chart,
    /// Metres of single strand that it takes of each thread, by its code; a thread that is not there takes none. Only
    /// what a box holds is held against it.
    pub metres: &'a BTreeMap<String, f64>,
}

/// Which threads may be asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Supply {
    /// Whatever suits.
    #[default]
    Any,
    /// No more of a thread than is owned, as long as that can be: none where the card does not say; but a card that
    /// says nothing of any thread is a box with a skein of each.
    Owned,
}

/// How threads are moved.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RethreadOptions {
    /// Whether two threads of a chart may get one shade.
    pub sharing: Sharing,
    /// Which threads may be asked for.
    pub supply: Supply,
    /// How thread covers.
    pub cover: CoverModel,
}

/// A thread of which more is asked for than is owned.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Short {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Skeins that all charts take together.
    pub skeins: f64,
    /// Skeins that are owned.
    pub owned: f64,
}

/// Charts on their new card.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// The charts, in their order.
    pub charts: Vec<Rethreaded>,
    /// Threads of which more is asked for than the box holds, in the order of the card; none where anything may be
    /// asked for.
    pub short: Vec<Short>,
}

/// Gives every thread of one chart or of several, their marks' among them, a substitute from the card.
///
/// Compared are looks: what is seen of each thread with its strands on its chart's cloth. The sum of squared ΔE00,
/// weighted by the root of the stitches, is made small. Two threads of a chart that get one shade pay for the difference
/// between them that is lost, by the lighter of both; so like ones share, and unlike ones where the shades left are worse
/// still. Charts do not share needles: what one shade is asked for by several is only held against what is owned.
#[must_use]
pub fn rethread(charts: &[Moving], card: &ShadeCard, options: &RethreadOptions) -> Moved {
    let wanted: Vec<Vec<Wanted>> =
        charts.iter().map(|moving| wanted(moving.chart, moving.worked, &options.cover)).collect();
    let is_other = |from: &Wanted, place: usize| {
        is_metallic(from.thread.kind.as_deref()) != is_metallic(card.shades()[place].kind.as_deref())
    };
    let seekers: Vec<Seeker> = charts
        .iter()
        .zip(&wanted)
        .enumerate()
        .flat_map(|(chart, (moving, wanted))| wanted.iter().map(move |wanted| (chart, moving, wanted)))
        .map(|(chart, moving, from)| {
            let looks = looks(from, moving.chart, card, &options.cover);
            let cost =
                |(place, look): (usize, &f64)| look + if is_other(from, place) { OTHER_KIND } else { 0.0 };
            let metres =
                |(code, metres): (&String, &f64)| code::same(code, &from.thread.code).then_some(*metres);
            Seeker {
                chart,
                weight: weight(from),
                metres: moving.metres.iter().filter_map(metres).sum(),
                look: from.look,
                off: looks.iter().enumerate().map(cost).collect(),
            }
        })
        .collect();
    let room = room(card, options.supply);
    let places = share::shades(&seekers, &room, options.sharing);
    let short = short(&seekers, &room, &places, card);
    let mut rest = places.as_slice();
    let charts = charts
        .iter()
        .zip(&wanted)
        .map(|(moving, wanted)| {
            let (own, others) = rest.split_at(wanted.len());
            rest = others;
            moved(moving.chart, wanted, own, card, &options.cover)
        })
        .collect();
    Moved { charts, short }
}

/// How far each shade of the card is from a thread, as both are worked.
fn looks(from: &Wanted, chart: &Chart, card: &ShadeCard, cover: &CoverModel) -> Vec<f64> {
    let covered = cover.covered(chart.cloth.count, from.thread.strands, from.stitch);
    let look = |lab: Lab| Compared::from(chart.cloth.under(lab.linear(), covered));
    card.shades().iter().map(|shade| from.look.ciede2000(&look(shade.lab))).collect()
}

/// What there is of each shade.
fn room(card: &ShadeCard, supply: Supply) -> Vec<Room> {
    let says = card.shades().iter().any(|shade| shade.owned.is_some());
    let skeins = |shade: &Shade| match (supply, says) {
        (Supply::Any, _) => None,
        (Supply::Owned, false) => Some(1.0),
        (Supply::Owned, true) => Some(shade.owned.and_then(|owned| owned.to_f64()).unwrap_or(0.0)),
    };
    let room = |shade: &Shade| {
        let skein = Skein::of(shade.length, shade.strands, shade.kind.as_deref());
        Room { skein: skein.strand_metres(), skeins: skeins(shade) }
    };
    card.shades().iter().map(room).collect()
}

/// The threads of which the box holds too little.
fn short(seekers: &[Seeker], room: &[Room], places: &[usize], card: &ShadeCard) -> Vec<Short> {
    let mut metres = vec![0.0; room.len()];
    for (seeker, &place) in seekers.iter().zip(places) {
        metres[place] += seeker.metres;
    }
    let all = card.shades().iter().zip(room).zip(metres);
    all.filter_map(|((shade, room), metres)| {
        let (skeins, owned) = (metres / room.skein, room.skeins?);
        let (code, name) = (shade.code.clone(), shade.name.clone());
        (skeins > owned + 1e-9).then_some(Short { code, name, skeins, owned })
    })
    .collect()
}

/// A chart with the shades that were chosen for its threads.
fn moved(
    chart: &Chart,
    wanted: &[Wanted],
    places: &[usize],
    card: &ShadeCard,
    cover: &CoverModel,
) -> Rethreaded {
    let by_code: BTreeMap<String, usize> =
        wanted.iter().zip(places).map(|(wanted, &place)| (code::key(&wanted.thread.code), place)).collect();
    let replace = |thread: &Thread| match by_code.get(&code::key(&thread.code)) {
        Some(&place) => Thread::of(&card.shades()[place], thread.strands),
        None => thread.clone(),
    };
    let substitutes = wanted
        .iter()
        .zip(places)
        .enumerate()
        .map(|(index, (from, &place))| {
            let shade = &card.shades()[place];
            let looks = looks(from, chart, card, cover);
            let other = places.iter().enumerate().find(|&(at, &other)| at != index && other == place);
            Substitute {
                from: (from.thread.code.clone(), from.thread.name.clone()),
                to: (shade.code.clone(), shade.name.clone()),
                stitches: from.stitches,
                other_kind: is_metallic(from.thread.kind.as_deref()) != is_metallic(shade.kind.as_deref()),
                delta_e: looks[place],
                nearest: looks.iter().copied().fold(f64::INFINITY, f64::min),
                shared_with: other.map(|(at, _)| wanted[at].thread.code.clone()),
            }
        })
        .collect();
    let mut needles = chart.needles().to_vec();
    for needle in &mut needles {
        needle.threads = together(needle.threads.iter().map(replace));
    }
    let mut moved =
        Chart::new(chart.title.clone(), chart.size(), chart.cloth, needles, chart.cells().to_vec())
            .expect("strands and cells stay as they were");
    moved.made.clone_from(&chart.made);
    moved.printed.clone_from(&chart.printed);
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
    let all = with_each(mark.mark(), replace)
        .with_threads(|threads, _| Ok::<_, std::convert::Infallible>(together(threads.into_iter())));
    let mut new = all.unwrap_or_else(|never| match never {});
    for pick in new.motif_mut().into_iter().flat_map(|motif| &mut motif.pick) {
        let PickedCells::Needles(codes) = &mut pick.cells else { continue };
        let mut names: Vec<String> = Vec::new();
        for wanted in codes.iter() {
            let both = chart.needles().iter().zip(moved.needles());
            let found = both.filter(|(old, _)| code::same(&old.code(), wanted) || old.name() == *wanted);
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

/// Threads of one needle that have come to the same shade are one, of all their strands.
fn together(threads: impl Iterator<Item = Thread>) -> Vec<Thread> {
    let mut all: Vec<Thread> = Vec::new();
    for thread in threads {
        match all.iter_mut().find(|other| other.code == thread.code) {
            Some(other) => other.strands = other.strands.saturating_add(thread.strands),
            None => all.push(thread),
        }
    }
    all
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

/// A thread with four times the stitches counts twice: large areas matter, small ones are not given away.
fn weight(wanted: &Wanted) -> f64 {
    (wanted.stitches as f64 + 1.0).sqrt()
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

    fn one(chart: &Chart, card: &ShadeCard, sharing: Sharing) -> Rethreaded {
        let options = RethreadOptions { sharing, ..RethreadOptions::default() };
        let moving = Moving { chart, worked: chart, metres: &BTreeMap::new() };
        rethread(&[moving], card, &options).charts.remove(0)
    }

    fn codes(moved: &Rethreaded) -> Vec<&str> {
        moved.substitutes.iter().map(|substitute| substitute.to.0.as_str()).collect()
    }

    #[test]
    fn a_card_with_the_same_colours_gives_them_back() {
        let colours = ["#204060", "#a03020", "#e0d0b0"];
        let moved = one(&chart(&colours), &card(&["#e0d0b0", "#204060", "#a03020"]), Sharing::default());
        assert_eq!(codes(&moved), ["C1", "C2", "C0"]);
        assert!(moved.substitutes.iter().all(|substitute| substitute.delta_e < 0.01));
        assert_eq!(moved.chart.cells(), chart(&colours).cells());
        assert_eq!(moved.chart.needles()[0].symbol, "s0");
    }

    #[test]
    fn different_threads_stay_different_and_alike_ones_may_share() {
        // Both blues are nearest to C0, but they differ plainly: one must go to C1.
        let blues = ["#2a5a9a", "#3f74b4"];
        let moved = one(&chart(&blues), &card(&["#3466a6", "#4a86c0", "#c03020"]), Sharing::default());
        assert_eq!(codes(&moved), ["C0", "C1"]);
        // Two that are hardly told apart share, rather than one of them turning red.
        let alike = ["#2a5a9a", "#2b5b9b"];
        let moved = one(&chart(&alike), &card(&["#2a5a9a", "#c03020"]), Sharing::default());
        assert_eq!(codes(&moved), ["C0", "C0"]);
        assert_eq!(moved.substitutes[1].shared_with.as_deref(), Some("N0"));
    }

    #[test]
    fn a_small_card_is_used_more_than_once_and_poor_ones_are_told() {
        let three = chart(&["#204060", "#a03020", "#e0d0b0"]);
        let moved = one(&three, &card(&["#204060", "#a03020"]), Sharing::default());
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
        let moved = one(&threads, &card, Sharing::default());
        assert_eq!(codes(&moved), ["B", "C"]);
        assert!(moved.substitutes.iter().all(|change| !change.other_kind));
        let plain = ShadeCard::read("new", b"code,name,colour\nA,Grey,#c9ccd0\nC,Blue,#204060\n").unwrap();
        let moved = one(&threads, &plain, Sharing::default());
        assert_eq!(codes(&moved), ["A", "C"]);
        assert!(moved.substitutes[0].other_kind && !moved.substitutes[1].other_kind);
    }

    #[test]
    fn a_shade_is_shared_where_that_costs_less_and_kept_apart_where_that_is_asked() {
        // Two browns, and a card with one brown and a blue: apart, one of them turns blue.
        let browns = ["#5a3a28", "#6b4a30"];
        let card = card(&["#5c3c2a", "#2a4a80"]);
        let shared = one(&chart(&browns), &card, Sharing::default());
        assert_eq!(codes(&shared), ["C0", "C0"]);
        assert!(shared.substitutes.iter().all(|substitute| substitute.delta_e < 10.0));
        let apart = one(&chart(&browns), &card, Sharing::Apart);
        let mut given = codes(&apart);
        given.sort_unstable();
        assert_eq!(given, ["C0", "C1"]);
        // Ten browns and one blue to three shades: none of the browns pays for the crowd.
        let many: Vec<String> = (0..10).map(|at| format!("#{:02x}4028", 0x50 + 3 * at)).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).chain(["#204070"]).collect();
        let moved = one(&chart(&many), &card, Sharing::default());
        assert_eq!(codes(&moved), [vec!["C0"; 10], vec!["C1"]].concat());
    }

    #[test]
    fn several_charts_ask_for_no_more_than_the_box_holds() {
        let blue = chart(&["#204060"]);
        let boxed = |owned: [&str; 3]| {
            let text = format!(
                "code,name,colour,owned\nC0,a,#204060,{}\nC1,b,#244468,{}\nC2,c,#c03020,{}\n",
                owned[0], owned[1], owned[2]
            );
            ShadeCard::read("box", text.as_bytes()).unwrap()
        };
        // By hand: a skein is 8 m of six strands, 48 m; each chart takes 30, so one skein does one chart.
        let metres = BTreeMap::from([("n0".to_owned(), 30.0)]);
        let moving = Moving { chart: &blue, worked: &blue, metres: &metres };
        let options = RethreadOptions { supply: Supply::Owned, ..RethreadOptions::default() };
        let given = |card: &ShadeCard, options: &RethreadOptions| {
            let moved = rethread(&[moving, moving], card, options);
            let mut given: Vec<String> =
                moved.charts.iter().map(|chart| chart.substitutes[0].to.0.clone()).collect();
            given.sort();
            (given, moved.short)
        };
        let (codes, short) = given(&boxed(["1", "1", "1"]), &options);
        assert_eq!((codes, short.len()), (vec!["C0".to_owned(), "C1".to_owned()], 0));
        // Two skeins of the nearest do both, and so does anything where nothing is counted.
        assert_eq!(given(&boxed(["2", "1", "1"]), &options).0, ["C0", "C0"]);
        let any = given(&boxed(["1", "1", "1"]), &RethreadOptions::default());
        assert_eq!((any.0, any.1.len()), (vec!["C0".to_owned(); 2], 0));
        // A card that says nothing is a box of one each; where it says something, empty is none.
        assert_eq!(given(&boxed(["", "", ""]), &options).0, ["C0", "C1"]);
        assert_eq!(given(&boxed(["1", "", "5"]), &options).0, ["C0", "C2"]);
        // What cannot be had is told.
        let (_, short) = given(&boxed(["1", "0", "0"]), &options);
        assert_eq!(short.len(), 1);
        assert!((short[0].skeins - 1.25).abs() < 1e-9 && short[0].owned == 1.0, "{short:?}");
    }

    #[test]
    fn a_blend_that_comes_to_one_shade_is_one_thread() {
        let two = chart(&["#5a3a28", "#6b4a30"]);
        let mut needle = two.needles()[0].clone();
        needle.threads.push(two.needles()[1].threads[0].clone());
        let cells = vec![Cell::worked(0); 400];
        let blend = Chart::new("t".into(), two.size(), two.cloth, vec![needle], cells).unwrap();
        let moved = one(&blend, &card(&["#5c3c2a", "#2a4a80"]), Sharing::default());
        let threads = &moved.chart.needles()[0].threads;
        assert_eq!((threads.len(), threads[0].strands), (1, 4));
    }
}
