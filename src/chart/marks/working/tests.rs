#![allow(clippy::unwrap_used)]
use super::super::{MarkFile, MarkWarning, Resolver, compose};
use super::*;
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;
use crate::planning::thread_uses;
use crate::printing::symbols::SymbolId;
use crate::thread::cloth::{Cloth, Corner, StitchKind};
use crate::thread::shades::ShadeCard;

fn thread(code: &str, strands: u8) -> Thread {
    let colour = "#204060".parse().unwrap();
    Thread {
        code: code.into(),
        name: code.into(),
        colour,
        strands,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    }
}

/// 12 x 10 cells: A all round, a block of the blend B + C in the middle of columns 5 to 8, rows 4 to 7, bare
/// in its two upper left cells.
fn chart() -> Chart {
    let threads = [vec![thread("A", 2)], vec![thread("B", 2), thread("C", 1)]];
    let needles = threads.into_iter().zip(SymbolId::all()).map(|(threads, symbol)| Needle {
        symbol: symbol.id().into(),
        threads,
        stitch: StitchKind::FullCross,
    });
    let cells = (0..120).map(|at| match (at % 12, at / 12) {
        (4 | 5, 3) => Cell::BARE,
        (4..8, 3..7) => Cell::worked(1),
        _ => Cell::worked(0),
    });
    let size = GridSize::new(12, 10).unwrap();
    Chart::new("t".into(), size, Cloth::default(), needles.collect(), cells.collect()).unwrap()
}

fn marked(toml: &str) -> Chart {
    let mut chart = chart();
    let card = ShadeCard::read("c", b"code,name,colour\nM01,Herring silver,#c9ccd0\n").unwrap();
    let file = MarkFile::parse(toml).unwrap();
    let marks = file
        .resolve(&Resolver::new(&chart, &card), chart.size(), |path| Err(format!("no {path}").into()))
        .unwrap();
    chart.marks = marks.into_iter().map(Into::into).collect();
    chart.settle().unwrap();
    chart
}

/// Code, strands and stitch of each needle with its cells.
fn worked(chart: &Chart) -> Vec<(String, u64)> {
    let chart = compose(chart).unwrap().chart;
    let said = |needle: &Needle| format!("{} {} {}", needle.code(), needle.strands_text(), needle.stitch);
    chart.needles().iter().map(said).zip(chart.stitches()).collect()
}

fn expect(chart: &Chart, wanted: &[(&str, u64)]) {
    let wanted: Vec<(String, u64)> =
        wanted.iter().map(|(said, cells)| ((*said).to_owned(), *cells)).collect();
    assert_eq!(worked(chart), wanted);
}

#[test]
fn a_background_in_half_cross_keeps_its_symbol_and_the_base_stays_as_it_was() {
    let chart = marked(
        "[[mark]]\nkind = 'stitches'\nname = 'sea'\nmotif = { pick = [{ needles = ['A'] }] }\n\
         stitch = 'half-cross'\nstrands = 1\n",
    );
    expect(&chart, &[("A 1 half-cross", 104), ("B + C 2 + 1 full-cross", 14)]);
    let composed = compose(&chart).unwrap().chart;
    assert_eq!(composed.needles()[0].symbol, chart.needles()[0].symbol);
    assert_eq!(chart.cells(), self::chart().cells());
    // Saved and read again it says the same, and of holes nothing, as they are kept anyway.
    let text = chart.to_json();
    assert!(!text.contains("holes") && text.contains("\"stitch\": \"half-cross\""), "{text}");
    let read = Chart::from_json(text.as_bytes()).unwrap();
    assert_eq!((&read.marks, read.stamp()), (&chart.marks, chart.stamp()));
}

#[test]
fn an_area_has_needles_of_its_own_beside_those_they_stand_for() {
    // The rectangle holds two bare cells, which stay bare, and 3 of A and 4 of B + C.
    let chart = marked(
        "[[mark]]\nkind = 'stitches'\nname = 'tip'\nmotif = { pick = [{ rectangle = [4, 4, 6, 6] }] }\n\
         stitch = 'three-quarter-top-right'\n",
    );
    expect(
        &chart,
        &[
            ("A 2 full-cross", 101),
            ("A 2 three-quarter-top-right", 3),
            ("B + C 2 + 1 full-cross", 10),
            ("B + C 2 + 1 three-quarter-top-right", 4),
        ],
    );
    let composed = compose(&chart).unwrap().chart;
    let symbols: Vec<&str> = composed.needles().iter().map(|needle| needle.symbol.as_str()).collect();
    let old: Vec<&str> = chart.needles().iter().map(|needle| needle.symbol.as_str()).collect();
    // New ones have none yet: `printing` gives it.
    assert_eq!(symbols, [old[0], "", old[1], ""]);
    let at = |column: usize, row: usize| composed.row(row - 1)[column - 1].needle();
    assert_eq!([at(4, 4), at(5, 4), at(6, 6), at(7, 7)], [Some(1), None, Some(3), Some(2)]);
}

#[test]
fn the_upper_mark_has_its_way_and_added_strands_add_up() {
    let add = "kind = 'stitches'\nmotif = { pick = [{ needles = ['A'] }] }\n";
    let chart = marked(&format!(
        "[[mark]]\nname = 'one'\nstitch = 'half-cross'\nstrands = 1\nadd = 'M01'\n{add}\
         [[mark]]\nname = 'two'\nstitch = 'quarter'\nadd = '1 of Herring silver'\n{add}"
    ));
    expect(&chart, &[("A + M01 1 + 2 quarter-bottom-left", 104), ("B + C 2 + 1 full-cross", 14)]);
    let composed = compose(&chart).unwrap().chart;
    assert_eq!(composed.needles()[0].stitch, StitchKind::Quarter(Corner::BottomLeft));
}

#[test]
fn both_threads_of_an_added_strand_are_counted() {
    let chart = marked(
        "[[mark]]\nkind = 'stitches'\nname = 'gleam'\nmotif = { pick = [{ needles = ['A'] }] }\nadd = 'M01'\n",
    );
    let composed = compose(&chart).unwrap().chart;
    let uses = thread_uses(&composed, &[], &Silent).unwrap();
    let of = |code: &str| uses.iter().find(|thread| thread.code == code).unwrap();
    // Two strands of A and one of M01 go the same way.
    assert_eq!((of("A").stitches, of("M01").stitches), (104, 104));
    assert!((of("A").strand_metres - 2.0 * of("M01").strand_metres).abs() < 1e-9);
    let plain = thread_uses(&self::chart(), &[], &Silent).unwrap();
    assert!((of("A").strand_metres - plain[0].strand_metres).abs() < 1e-9);
}

#[test]
fn a_blend_keeps_its_proportions() {
    let needle = Needle {
        symbol: String::new(),
        threads: vec![thread("B", 2), thread("C", 1)],
        stitch: StitchKind::FullCross,
    };
    let strands = |all| {
        with_strands(&needle, all)
            .map(|threads| threads.iter().map(|thread| thread.strands).collect::<Vec<u8>>())
    };
    assert_eq!(strands(1), None);
    assert_eq!(strands(2), Some(vec![1, 1]));
    assert_eq!(strands(3), Some(vec![2, 1]));
    assert_eq!(strands(6), Some(vec![4, 2]));
    assert_eq!(strands(12), Some(vec![8, 4]));
}

#[test]
fn what_cannot_be_worked_is_refused_or_told() {
    let with = |rest: &str, pick: &str| {
        let motif = format!("motif = {{ pick = [{{ {pick} }}] }}");
        compose(&marked(&format!("[[mark]]\nkind = 'stitches'\nname = 'm'\n{motif}\n{rest}\n")))
    };
    let all = "stitched = true";
    assert!(matches!(with("", all), Err(MarkError::NothingAsked { .. })));
    assert!(matches!(with("strands = 13", all), Err(MarkError::Strands { strands: 13, .. })));
    assert!(matches!(with("strands = 12\nadd = 'M01'", all), Err(MarkError::Strands { strands: 13, .. })));
    assert!(matches!(with("strands = 1", all), Err(MarkError::Blend { .. })));
    let bare = with("strands = 1", "rectangle = [5, 4, 6, 4]").unwrap();
    assert_eq!(bare.warnings, [MarkWarning::NothingStitched { mark: "m".into() }]);
    assert_eq!(bare.chart.needles(), chart().needles());
    // Back to what it was: nothing new comes of it.
    let same = with("stitch = 'full-cross'", all).unwrap();
    assert_eq!((same.chart.needles(), same.chart.cells()), (chart().needles(), chart().cells()));
}
