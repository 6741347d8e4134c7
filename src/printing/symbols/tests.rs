#![allow(clippy::unwrap_used)]
use super::*;
use crate::chart::{Cell, Chart, Needle, Thread};
use crate::ground::colour::Srgb8;
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, StitchKind};
use proptest::prelude::*;
use rand::seq::SliceRandom as _;
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

const GREYS: u8 = 200;

fn needle(index: usize, count: usize) -> Needle {
    // Greys out of order, as a card lists its threads: 37 has no factor in common with the counts used.
    let grey = 20 + (index * 37 % count * usize::from(GREYS) / count) as u8;
    let thread = Thread {
        code: format!("R{index:03}"),
        name: format!("Rock pool {index}"),
        colour: Srgb8 { r: grey, g: grey, b: grey },
        strands: 2,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    };
    Needle { symbol: String::new(), threads: vec![thread], stitch: StitchKind::FullCross }
}

/// A pool with ripples: light and dark run into each other as in a photo, with specks of confetti and a bare rim.
fn pool_chart(needles: usize, side: u32) -> Chart {
    let size = GridSize::new(side, side).unwrap();
    let list: Vec<Needle> = (0..needles).map(|index| needle(index, needles)).collect();
    let mut by_light: Vec<usize> = (0..needles).collect();
    by_light.sort_by(|&a, &b| list[a].colour().lab().l.total_cmp(&list[b].colour().lab().l));
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let cells = (0..size.cells()).map(|at| {
        let (x, y) = ((at % size.width()) as f64, (at / size.width()) as f64);
        if x < 2.0 {
            return Cell::BARE;
        }
        let (x, y) = (x / f64::from(side) * 6.0, y / f64::from(side) * 6.0);
        let ripples = 0.5 + 0.25 * (x * 1.3 + (y * 1.7).sin()).sin() + 0.25 * (y * 0.9 + x.cos()).sin();
        let light = (ripples + random.random_range(-0.03..0.03)).clamp(0.0, 0.999);
        Cell::worked(by_light[(light * needles as f64) as usize])
    });
    Chart::new("Pool".into(), size, Cloth::default(), list, cells.collect()).unwrap()
}

fn uses(chart: &Chart) -> Vec<NeedleUse> {
    let stitches = chart.stitches();
    let uses = chart.needles().iter().zip(stitches);
    let uses = uses.zip(crowds(chart));
    uses.map(|((needle, stitches), crowd)| NeedleUse {
        luminance: needle.colour().lab().l,
        stitches,
        crowd,
        fixed: None,
    })
    .collect()
}

fn least_of(symbols: &[SymbolId]) -> f64 {
    let pairs = (0..symbols.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
    pairs.map(|(a, b)| symbols[a].distance_in(symbols[b], Squares::default())).fold(1.0, f64::min)
}

fn assert_all_differ(symbols: &[SymbolId]) {
    let mut sorted = symbols.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    assert_eq!(sorted.len(), symbols.len());
    assert!(!symbols.contains(&SymbolId::unknown()));
}

/// The mean distance of the symbols of cells that touch.
fn touching(symbols: &[SymbolId], touches: &Adjacency) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for a in 0..symbols.len() {
        for b in 0..a {
            let often = touches.between(a, b) as f64;
            sum += often * symbols[a].distance_in(symbols[b], Squares::default());
            count += often;
        }
    }
    sum / count
}

/// Pearson's coefficient.
fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
    let (mean_a, mean_b) = (mean(a), mean(b));
    let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
        a.iter().zip(b).map(|(a, b)| f(a - mean_a, b - mean_b)).sum()
    };
    sum(&|a, b| a * b) / (sum(&|a, _| a * a) * sum(&|_, b| b * b)).sqrt()
}

#[test]
fn no_two_needles_of_a_full_chart_share_a_symbol() {
    for needles in [1, 2, 30, 200, crate::chart::MAX_NEEDLES] {
        let chart = pool_chart(needles, 60);
        let symbols = assign(&uses(&chart), &Adjacency::of(&chart), Apart::default());
        assert_eq!(symbols.len(), needles);
        assert_all_differ(&symbols);
    }
    let none = pool_chart(1, 8);
    assert!(assign(&[], &Adjacency::of(&none), Apart::default()).is_empty());
}

#[test]
fn the_same_chart_gets_the_same_symbols() {
    let chart = pool_chart(90, 80);
    let first = assign(&uses(&chart), &Adjacency::of(&chart), Apart::default());
    assert_eq!(first, assign(&uses(&chart), &Adjacency::of(&chart), Apart::default()));
}

#[test]
fn few_needles_get_symbols_much_farther_apart_than_many() {
    let least = |needles| {
        let chart = pool_chart(needles, 100);
        least_of(&assign(&uses(&chart), &Adjacency::of(&chart), Apart::default()))
    };
    let (few, many) = (least(30), least(100));
    assert!(few > 1.5 * SymbolId::least_distance(), "{few} and {}", SymbolId::least_distance());
    assert!(few > 1.2 * many && many > 1.2 * SymbolId::least_distance(), "30: {few}, 100: {many}");
}

#[test]
fn few_needles_get_no_figure_in_two_turns() {
    let turned = |symbols: &[SymbolId]| {
        let pairs = (0..symbols.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
        pairs.filter(|&(a, b)| symbols[a].is_turned(symbols[b])).count()
    };
    let all: Vec<SymbolId> = SymbolId::all().collect();
    assert!(turned(&all) > 50, "the set has its figures turned: {}", turned(&all));
    for needles in [10, 30, 50] {
        let chart = pool_chart(needles, 100);
        let symbols = assign(&uses(&chart), &Adjacency::of(&chart), Apart::default());
        assert_eq!(turned(&symbols), 0, "{needles} needles");
    }
}

/// Pairs of needles whose symbols are twins, and whether they touch.
fn twins(symbols: &[SymbolId], touches: &Adjacency, squares: Squares) -> (usize, usize) {
    let pairs = (0..symbols.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
    let twins: Vec<_> = pairs.filter(|&(a, b)| symbols[a].is_twin(symbols[b], squares)).collect();
    (twins.len(), twins.iter().filter(|&&(a, b)| touches.between(a, b) > 0).count())
}

#[test]
fn up_to_forty_needles_no_two_have_twins_and_no_symbol_fills() {
    for squares in Squares::ALL {
        for needles in [5, 20, 40] {
            let chart = pool_chart(needles, 100);
            let touches = Adjacency::of(&chart);
            let symbols = assign(&uses(&chart), &touches, Apart { squares, confused: &[] });
            assert_eq!(twins(&symbols, &touches, squares).0, 0, "{needles} needles, {squares:?}");
            assert!(
                symbols.iter().all(|symbol| symbol.stays_open(squares)),
                "{needles} needles, {squares:?}"
            );
        }
    }
}

#[test]
fn more_needles_have_no_twins_that_touch() {
    for (squares, needles) in
        [(Squares::Large, 100), (Squares::Middle, 100), (Squares::Small, 100), (Squares::Large, 200)]
    {
        let chart = pool_chart(needles, 160);
        let touches = Adjacency::of(&chart);
        let symbols = assign(&uses(&chart), &touches, Apart { squares, confused: &[] });
        assert_all_differ(&symbols);
        let (all, touching) = twins(&symbols, &touches, squares);
        assert_eq!(touching, 0, "{needles} needles, {squares:?}: {all} pairs of twins");
    }
}

#[test]
fn symbols_that_were_taken_for_each_other_are_exchanged_and_all_others_kept() {
    let mut chart = pool_chart(40, 60);
    give_symbols(&mut chart);
    let before: Vec<SymbolId> = chart.needles().iter().map(|needle| SymbolId::of(&needle.symbol)).collect();
    let confused = [[before[4], before[9]], [before[20], before[20]]];
    let after = exchange(&chart, &[9, 20], Apart { confused: &confused, ..Apart::default() });
    assert_all_differ(&after);
    for (needle, (before, after)) in before.iter().zip(&after).enumerate() {
        assert_eq!(before == after, ![9, 20].contains(&needle), "{needle}");
    }
    // The symbol that was taken for bare cloth is nobody's.
    assert!(!after.contains(&before[20]));
}

#[test]
fn dark_threads_get_heavy_symbols() {
    for needles in [12, 30, 100] {
        let chart = pool_chart(needles, 100);
        let symbols = assign(&uses(&chart), &Adjacency::of(&chart), Apart::default());
        let ink: Vec<f64> = symbols.iter().map(|symbol| symbol.ink()).collect();
        let dark: Vec<f64> = chart.needles().iter().map(|needle| -needle.colour().lab().l).collect();
        let correlation = correlation(&ink, &dark);
        assert!(correlation > 0.6, "{needles} needles: {correlation}");
    }
}

#[test]
fn needles_that_touch_are_farther_apart_than_by_chance() {
    for needles in [30, 80] {
        let chart = pool_chart(needles, 100);
        let touches = Adjacency::of(&chart);
        let mut symbols = assign(&uses(&chart), &touches, Apart::default());
        let ours = touching(&symbols, &touches);
        let mut random = ChaCha8Rng::seed_from_u64(1);
        // The same symbols dealt out at random, and any symbols of the set.
        let mut chance = |symbols: &mut [SymbolId]| {
            let deals = (0..50).map(|_| {
                symbols.shuffle(&mut random);
                touching(&symbols[..needles], &touches)
            });
            deals.sum::<f64>() / 50.0
        };
        let same = chance(&mut symbols);
        let any = chance(&mut SymbolId::all().collect::<Vec<_>>());
        assert!(ours > same && ours > any, "{needles}: {ours}, same symbols {same}, any {any}");
    }
}

#[test]
fn often_used_needles_get_plainer_symbols() {
    let chart = pool_chart(60, 100);
    let symbols = assign(&uses(&chart), &Adjacency::of(&chart), Apart::default());
    let stitches = chart.stitches();
    let by_stitch: u64 =
        symbols.iter().zip(&stitches).map(|(symbol, used)| u64::from(symbol.parts()) * used).sum();
    let worked: u64 = stitches.iter().sum();
    let by_needle: u64 = symbols.iter().map(|symbol| u64::from(symbol.parts())).sum();
    let (by_stitch, by_needle) = (by_stitch as f64 / worked as f64, by_needle as f64 / 60.0);
    assert!(by_stitch < by_needle, "a stitch {by_stitch} parts, a needle {by_needle}");
}

#[test]
fn a_chart_completed_keeps_the_symbols_it_has() {
    let mut chart = pool_chart(40, 60);
    let first = assign(&uses(&chart), &Adjacency::of(&chart), Apart::default());
    let mut names: Vec<String> = first.iter().map(|symbol| symbol.id().to_owned()).collect();
    for lost in [3, 17, 39] {
        names[lost] = "a symbol of another time".into();
    }
    names[20] = names[2].clone();
    chart.set_symbols(names);
    let second = complete(&chart, Squares::default());
    assert_all_differ(&second);
    for (index, (first, second)) in first.iter().zip(&second).enumerate() {
        assert!(first == second || [3, 17, 20, 39].contains(&index), "needle {index}");
    }
    chart.set_symbols(second.iter().map(|symbol| symbol.id().to_owned()));
    assert_eq!(complete(&chart, Squares::default()), second);
}

#[test]
fn touches_count_sides_twice_and_corners_once() {
    let size = GridSize::new(10, 10).unwrap();
    let needles = (0..3).map(|index| needle(index, 3)).collect();
    // 0 1 .
    // 0 1 2, all else bare.
    let cell = |at: usize| match at {
        0 | 10 => Cell::worked(0),
        1 | 11 => Cell::worked(1),
        12 => Cell::worked(2),
        _ => Cell::BARE,
    };
    let cells = (0..100).map(cell).collect();
    let chart = Chart::new("x".into(), size, Cloth::default(), needles, cells).unwrap();
    let touches = Adjacency::of(&chart);
    assert_eq!([touches.between(0, 1), touches.between(1, 0)], [2 + 2 + 1 + 1; 2]);
    assert_eq!(touches.between(1, 2), 2 + 1);
    assert_eq!([touches.between(0, 2), touches.between(0, 0), touches.between(7, 0)], [0; 3]);
}

fn chart_of(colours: &[&str]) -> Chart {
    let needles = colours.iter().enumerate().map(|(index, colour)| {
        let mut needle = needle(index, colours.len());
        needle.threads[0].colour = colour.parse().unwrap();
        needle
    });
    let size = GridSize::new(4, 4).unwrap();
    Chart::new("x".into(), size, Cloth::default(), needles.collect(), vec![Cell::BARE; 16]).unwrap()
}

#[test]
fn red_and_green_of_one_lightness_are_alike_to_red_green_blind_eyes_alone() {
    use crate::ground::colour::{Srgb8, Vision};
    // Two colours of ours that lie along a line of confusion of deutan eyes; tests/outside/alike_pairs.py judges many.
    let chart = chart_of(&["#7a8a3c", "#a6803b", "#2040a0", "#f4f4f0"]);
    let pairs = alike(&chart);
    assert_eq!(pairs.len(), 1, "{pairs:?}");
    assert_eq!(pairs[0].needles, [0, 1]);
    assert_eq!(pairs[0].codes, ["R000", "R001"]);
    assert!(pairs[0].usual >= ALIKE);
    let to: Vec<Vision> = pairs[0].to.iter().map(|(vision, _)| *vision).collect();
    assert!(to.contains(&Vision::Deutan) && !to.contains(&Vision::Tritan), "{to:?}");
    for (vision, apart) in &pairs[0].to {
        let seen =
            ["#7a8a3c", "#a6803b"].map(|text| text.parse::<Srgb8>().unwrap().linear().seen_by(*vision));
        assert!((seen[0].lab().ciede2000(seen[1].lab()) - apart).abs() < 1e-9);
    }
}

#[test]
fn threads_that_are_alike_to_all_eyes_or_to_none_are_no_pair() {
    assert_eq!(alike(&chart_of(&["#7a8a3c", "#7b8a3c", "#101010", "#f4f4f0"])), []);
}

#[test]
fn symbols_of_a_made_chart_tell_every_alike_pair_apart() {
    let colours: Vec<String> = (0..60u32).map(|k| format!("#{:06x}", k * 1_203_947 % 0x00ff_ffff)).collect();
    let chart = chart_of(&colours.iter().map(String::as_str).collect::<Vec<_>>());
    let pairs = alike(&chart);
    assert!(pairs.len() > 5, "{}", pairs.len());
    assert!(
        least_between(&pairs, &complete(&chart, Squares::default())).unwrap() >= SymbolId::least_distance()
    );
    assert_eq!(least_between(&pairs, &[SymbolId::unknown(); 60]), Some(0.0));
}

#[test]
fn a_symbol_that_is_asked_for_is_given_and_only_its_holder_changes() {
    let mut chart = pool_chart(40, 60);
    give_symbols(&mut chart);
    let before: Vec<String> = chart.needles().iter().map(|needle| needle.symbol.clone()).collect();
    let free = SymbolId::all().find(|symbol| !before.contains(&symbol.id().to_owned())).unwrap();
    let wish = |code: &str, name: &str| (code.to_owned(), name.to_owned());
    // One that nobody has, and one that needle 7 has.
    let wishes = [wish("R003", free.id()), wish("R011", &before[7])];
    fix(&mut chart, &wishes).unwrap();
    let after: Vec<String> = chart.needles().iter().map(|needle| needle.symbol.clone()).collect();
    assert_eq!((after[3].as_str(), after[11].as_str()), (free.id(), before[7].as_str()));
    assert_all_differ(&after.iter().map(|name| SymbolId::of(name)).collect::<Vec<_>>());
    for (needle, (before, after)) in before.iter().zip(&after).enumerate() {
        assert!(before == after || [3, 7, 11].contains(&needle), "{needle}: {before}, {after}");
    }
    // The same again changes nothing.
    fix(&mut chart, &wishes).unwrap();
    assert!(chart.needles().iter().zip(&after).all(|(needle, after)| needle.symbol == *after));
}

#[test]
fn a_wish_that_cannot_be_met_says_why_and_changes_nothing() {
    let mut chart = pool_chart(10, 20);
    give_symbols(&mut chart);
    let before = chart.clone();
    let wish = |code: &str, name: &str| (code.to_owned(), name.to_owned());
    let no = fix(&mut chart, &[wish("R001", "disc-solid"), wish("Q9", "disc-solid")]).unwrap_err();
    assert_eq!(no, FixError::NoSuchNeedle { code: "Q9".into() });
    let no = fix(&mut chart, &[wish("R001", "disc-sold")]).unwrap_err();
    assert!(no.to_string().contains("no symbol `disc-sold`; near it are disc-"), "{no}");
    let no = fix(&mut chart, &[wish("R001", "disc-solid"), wish("R002", "disc-solid")]).unwrap_err();
    assert_eq!(no.to_string(), "`disc-solid` is asked for by two threads, `R001` and `R002`");
    assert_eq!(chart, before);
}

/// A mark's thread gets, of all free symbols, one that lies farther from those beside it than the first free one.
#[test]
fn a_needle_added_last_gets_a_symbol_far_from_its_neighbours_and_changes_none() {
    let mut chart = pool_chart(41, 60);
    // All but the last have their symbols, as if it had come with a mark.
    give_symbols(&mut chart);
    let mut names: Vec<String> = chart.needles().iter().map(|needle| needle.symbol.clone()).collect();
    names[40].clear();
    chart.set_symbols(names.clone());
    let symbols = complete_in_turn(&chart, 40);
    for (name, symbol) in names.iter().zip(&symbols).take(40) {
        assert_eq!(name, symbol.id());
    }
    let touches = Adjacency::of(&chart);
    let near = |symbol: SymbolId| {
        let beside = (0..40).filter(|&other| touches.between(40, other) > 0);
        beside.map(|other| symbol.distance_in(symbols[other], Squares::default())).fold(1.0, f64::min)
    };
    let first = SymbolId::all().find(|symbol| !symbols[..40].contains(symbol)).unwrap();
    assert!(near(symbols[40]) >= near(first), "{} and {}", near(symbols[40]), near(first));
    let free: Vec<f64> = SymbolId::all().filter(|symbol| !symbols[..40].contains(symbol)).map(near).collect();
    let mean = free.iter().sum::<f64>() / free.len() as f64;
    assert!(near(symbols[40]) > mean, "{} and {mean} of all that are free", near(symbols[40]));
}

#[test]
fn a_needle_that_fills_pages_gets_no_black_symbol() {
    // The night sky: nine cells of ten in the darkest of 20 greys, the others strewn over them.
    let size = GridSize::new(120, 100).unwrap();
    let cells = (0..size.cells()).map(|at| Cell::worked(if at % 10 == 3 { 1 + at / 10 % 19 } else { 0 }));
    let mut needles: Vec<Needle> = (0..20).map(|index| needle(index, 20)).collect();
    needles.sort_by(|a, b| a.colour().lab().l.total_cmp(&b.colour().lab().l));
    let sky = Chart::new("Night".into(), size, Cloth::default(), needles, cells.collect()).unwrap();
    let crowd = crowds(&sky)[0];
    assert!((crowd - 0.9).abs() < 0.01, "{crowd}");
    let darkest = complete(&sky, Squares::default())[0];
    assert!(crowd * darkest.ink() < 0.25, "{} inks {:.2} of a cell", darkest.id(), darkest.ink());
    // Without its crowd it would take a heavy one, as dark threads do.
    let alone: Vec<NeedleUse> = uses(&sky).into_iter().map(|one| NeedleUse { crowd: 0.0, ..one }).collect();
    assert!(assign(&alone, &Adjacency::of(&sky), Apart::default())[0].ink() > darkest.ink());
}

proptest! {
    #[test]
    fn fixed_symbols_are_kept_and_none_is_given_twice(
        list in prop::collection::vec((0.0..100.0f64, 0..10_000u64, prop::option::of(0..600usize)), 1..60),
    ) {
        let symbol = |place: usize| SymbolId::all().nth(place % SymbolId::count()).unwrap();
        let needles: Vec<NeedleUse> = list
            .iter()
            .map(|&(luminance, stitches, fixed)| NeedleUse { luminance, stitches, crowd: 0.0, fixed: fixed.map(symbol) })
            .collect();
        let given = assign(&needles, &Adjacency::of(&pool_chart(5, 8)), Apart::default());
        assert_all_differ(&given);
        for (index, needle) in needles.iter().enumerate() {
            let taken = needles[..index].iter().any(|other| other.fixed == needle.fixed);
            prop_assert!(needle.fixed.is_none() || taken || needle.fixed == Some(given[index]));
        }
    }
}
