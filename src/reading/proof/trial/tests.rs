#![allow(clippy::unwrap_used)]
use super::*;
use crate::chart::{Needle, Thread};
use crate::ground::colour::Srgb8;
use crate::thread::cloth::{Cloth, StitchKind};

/// A chart of needles with these symbols, dark to light, the first used most.
fn chart(symbols: &[&str]) -> Chart {
    let needle = |(index, symbol): (usize, &&str)| {
        let grey = (40 + index * 160 / symbols.len()) as u8;
        let thread = Thread {
            code: format!("R{index}"),
            name: format!("Rock pool {index}"),
            colour: Srgb8 { r: grey, g: grey, b: grey },
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        };
        Needle { symbol: (*symbol).to_owned(), threads: vec![thread], stitch: StitchKind::FullCross }
    };
    let needles: Vec<Needle> = symbols.iter().enumerate().map(needle).collect();
    let size = GridSize::new(30, 20).unwrap();
    let cells = (0..600).map(|at| Cell::worked((at * at / 7 % 97 * at % 31).min(at % symbols.len())));
    Chart::new("Pool".into(), size, Cloth::default(), needles, cells.collect()).unwrap()
}

fn in_squares(mm: f64) -> SheetOptions {
    SheetOptions { cell: Some(Millimetres::new(mm).unwrap()), ..SheetOptions::default() }
}

/// Plain figures that nobody confuses, and a pair whose prints are all but the same in small squares.
const SYMBOLS: [&str; 8] = [
    "disc-solid",
    "cross-thick",
    "bar-across",
    "heart-open",
    "cross-thin",
    "plus-thin",
    "arch-up",
    "triangle-up-open",
];

fn is_of(pair: &Confused, needles: [usize; 2]) -> bool {
    [Some(pair.needle), pair.other] == needles.map(Some)
        || [pair.other, Some(pair.needle)] == needles.map(Some)
}

#[test]
fn symbols_that_print_alike_are_found_at_the_size_at_which_they_do() {
    let found = try_symbols(&chart(&SYMBOLS), &[], &in_squares(1.5), &Silent).unwrap();
    assert!(found.confused.iter().any(|pair| is_of(pair, [1, 4])), "{found:?}");
    assert!(found.confused.iter().all(|pair| is_of(pair, [1, 4])), "{found:?}");
    let larger = try_symbols(&chart(&SYMBOLS), &[], &in_squares(4.5), &Silent).unwrap();
    assert_eq!(larger.confused, [], "{larger:?}");
    if found.confused.iter().any(Confused::is_misread) {
        let enough = found.enough.unwrap();
        assert!((2.5..=4.5).contains(&enough.mm()), "{enough:?}");
    }
}

#[test]
fn the_less_used_of_two_gets_another_symbol_and_all_others_keep_theirs() {
    let mut chart = chart(&SYMBOLS);
    let stitches = chart.stitches();
    let settled = settle(&mut chart, &[], &in_squares(1.5), &[], &Silent).unwrap();
    let less = if stitches[1] < stitches[4] { 1 } else { 4 };
    assert_eq!(settled.exchanged, [less], "{settled:?}");
    assert_eq!(settled.confused, []);
    for (needle, symbol) in SYMBOLS.iter().enumerate() {
        assert_eq!(chart.needles()[needle].symbol == *symbol, needle != less, "{needle}");
    }
}

#[test]
fn symbols_that_were_asked_for_are_kept_and_told_of() {
    let mut chart = chart(&SYMBOLS);
    let wish = |needle: usize| (format!("R{needle}"), SYMBOLS[needle].to_owned());
    let settled = settle(&mut chart, &[], &in_squares(1.5), &[wish(1), wish(4)], &Silent).unwrap();
    assert!(settled.exchanged.is_empty(), "{settled:?}");
    assert!(settled.confused.iter().any(|pair| is_of(pair, [1, 4])), "{settled:?}");
    // One of the two alone: the other goes.
    let settled = settle(&mut chart, &[], &in_squares(1.5), &[wish(1)], &Silent).unwrap();
    assert_eq!(settled.exchanged, [4], "{settled:?}");
}

#[test]
fn every_symbol_stands_in_several_places_beside_its_likes() {
    let chart = chart(&SYMBOLS);
    let sample = sample(&chart, Squares::Small);
    let (mut stands, mut pairs) = ([0; SYMBOLS.len()], 0);
    for row in 0..sample.size().height() {
        for pair in sample.row(row).windows(2) {
            if let (Some(a), Some(b)) = (pair[0].needle(), pair[1].needle()) {
                pairs += usize::from([a, b] == [1, 4] || [a, b] == [4, 1]);
            }
        }
        sample.row(row).iter().filter_map(|cell| cell.needle()).for_each(|needle| stands[needle] += 1);
    }
    assert!(stands.iter().all(|&places| places >= 7), "{stands:?}");
    assert!(pairs >= 4, "{pairs}");
    assert!(sample.cells().contains(&Cell::BARE));
}

#[test]
fn a_trial_that_may_not_go_on_says_so() {
    struct Stop;
    impl Progress for Stop {
        fn at(&self, _: Stage, _: u64, _: u64) -> std::ops::ControlFlow<()> {
            std::ops::ControlFlow::Break(())
        }
        fn ask(&self) -> std::ops::ControlFlow<()> {
            std::ops::ControlFlow::Break(())
        }
    }
    let stopped = settle(&mut chart(&SYMBOLS), &[], &in_squares(1.5), &[], &Stop);
    assert!(matches!(stopped, Err(ProofError::Stopped(_))));
}
