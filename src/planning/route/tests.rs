#![allow(clippy::unwrap_used)]
use proptest::prelude::*;

use super::*;
use crate::chart::{Cell, Needle, Thread};
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, StitchKind};

/// A chart of needles in one kind of stitch; `cells` names them row by row, 0 being bare cloth.
pub(crate) fn chart(columns: usize, cells: &[u8], stitch: StitchKind) -> Chart {
    let rows = (cells.len() / columns).max(4);
    let needles = (1..=cells.iter().copied().max().unwrap_or(0)).map(|index| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: format!("N{index}"),
            name: format!("N{index}"),
            colour: "#306090".parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch,
    });
    let wide = columns.max(4);
    let mut laid = vec![Cell::BARE; wide * rows];
    for (at, &needle) in cells.iter().enumerate().filter(|&(_, &needle)| needle > 0) {
        laid[at / columns * wide + at % columns] = Cell::worked(usize::from(needle) - 1);
    }
    let size = GridSize::new(wide as u32, rows as u32).unwrap();
    Chart::new("t".into(), size, Cloth::default(), needles.collect(), laid).unwrap()
}

/// What must hold of any working order: each leg once, the lower before the upper, the needle never up where
/// it went down, no float beyond the limit.
fn check(chart: &Chart, routes: &[NeedleRoute], travel: f64) {
    let width = chart.size().width();
    let mut done = vec![0u8; chart.size().cells()];
    for (needle, route) in routes.iter().enumerate() {
        let kind = chart.needles()[needle].stitch;
        for stretch in &route.stretches {
            for leg in &stretch.legs {
                let [x, y] = leg.cell.map(|side| side as i32);
                let cell = &mut done[y as usize * width + x as usize];
                assert_eq!(chart.row(y as usize)[x as usize].needle(), Some(needle));
                // In half cells from the cell's own top left.
                let own = |[to_x, to_y]: [i32; 2]| [to_x - 2 * x, to_y - 2 * y];
                let (diagonal, corner) = kind.legs()[usize::from(*cell)];
                let double = |corner: crate::thread::cloth::Corner| corner.place().map(|side| 2 * side);
                match corner {
                    Some(corner) => assert_eq!((own(leg.from), own(leg.to)), (double(corner), [1, 1])),
                    None => {
                        let mut ends = [own(leg.from), own(leg.to)];
                        ends.sort_unstable();
                        assert_eq!(ends, diagonal.ends().map(double), "{leg:?} is out of order");
                    }
                }
                *cell += 1;
            }
            for pair in stretch.legs.windows(2) {
                let float = distance(pair[0].to, pair[1].from);
                assert!(float > 0.5 && float <= travel + 1e-9, "{pair:?}");
            }
        }
    }
    for (cell, done) in chart.cells().iter().zip(done) {
        let legs = cell.needle().map_or(0, |needle| chart.needles()[needle].stitch.legs().len());
        assert_eq!(usize::from(done), legs);
    }
}

#[test]
fn never_beats_the_exhaustive_optimum_and_reaches_it_for_rows_blocks_and_diagonals() {
    // tests/checks/route_optimum_exhaustive.csv: exact minima by dynamic programming over all orders, the
    // lower leg of each cross first; y points up there.
    let table = include_str!("../../../tests/checks/route_optimum_exhaustive.csv");
    let mut rows = 0;
    for record in csv::Reader::from_reader(table.as_bytes()).records() {
        let record = record.unwrap();
        let pattern = &record[0];
        let cells: Vec<[usize; 2]> = record[2]
            .split(' ')
            .map(|cell| {
                let (x, y) = cell.split_once(':').unwrap();
                [x.parse().unwrap(), y.parse().unwrap()]
            })
            .collect();
        let optimum: f64 = record[4].parse().unwrap();
        let (columns, height) =
            (cells.iter().map(|c| c[0]).max().unwrap() + 1, cells.iter().map(|c| c[1]).max().unwrap());
        let mut map = vec![0; columns * (height + 1)];
        for [x, y] in &cells {
            map[(height - y) * columns + x] = 1;
        }
        let chart = chart(columns, &map, StitchKind::FullCross);
        let routes = route(&chart, 5.0, &Silent).unwrap();
        check(&chart, &routes, 5.0);
        assert_eq!(routes[0].stretches.len(), 1, "{pattern}");
        let back = routes[0].back();
        assert!(back >= optimum - 1e-5, "{pattern}: {back} beats {optimum}");
        assert!(back >= 2.0 * cells.len() as f64 - 1.0 - 1e-9, "{pattern}");
        if !matches!(pattern, "saltire5" | "knight") {
            assert!(back <= optimum + 1e-5, "{pattern}: {back}, not {optimum}");
        }
        // Those two are not needed at their best: within a third of it.
        assert!(back <= optimum * 4.0 / 3.0, "{pattern}: {back}, not near {optimum}");
        let front = routes[0].stretches[0].front();
        let total: f64 = record[6].parse().unwrap();
        assert!((front + optimum - total).abs() < 1e-5, "{pattern}");
        rows += 1;
    }
    assert_eq!(rows, 16);
}

#[test]
fn a_block_is_worked_in_rows_there_and_back() {
    let chart = chart(5, &[1; 20], StitchKind::FullCross);
    let legs = &route(&chart, 5.0, &Silent).unwrap()[0].stretches[0].legs;
    let there: Vec<[u32; 2]> = legs[..5].iter().map(|leg| leg.cell).collect();
    assert_eq!(there, [[0, 0], [1, 0], [2, 0], [3, 0], [4, 0]]);
    let back: Vec<[u32; 2]> = legs[5..9].iter().map(|leg| leg.cell).collect();
    assert_eq!(back, [[4, 0], [3, 0], [2, 0], [1, 0]]);
    assert_eq!(legs[39].cell, [0, 0], "the first cross is finished on the way home");
}

#[test]
fn a_block_of_half_crosses_is_worked_to_and_fro() {
    for kind in [StitchKind::HalfCross, StitchKind::HalfCrossBack] {
        let chart = chart(6, &[1; 30], kind);
        let routes = route(&chart, 5.0, &Silent).unwrap();
        check(&chart, &routes, 5.0);
        // n legs, and between them n - 1 stitches of a cell's side at least.
        assert!((routes[0].back() - 29.0).abs() < 1e-9, "{}", routes[0].back());
    }
}

#[test]
fn quarter_and_three_quarter_stitches_take_what_geometry_says() {
    use crate::thread::cloth::Corner;
    let root = std::f64::consts::SQRT_2;
    for corner in Corner::ALL {
        // A row of ten. A quarter: half a diagonal in front, and half a diagonal from the middle to the corner of
        // the next. In front, a three-quarter stitch has three half diagonals. Behind, from each middle it is half
        // a diagonal at the least to a corner, and from each corner a cell to another: reached where quarters are
        // worked on the way out and half crosses on the way home, which the planner sees from some corners.
        let quarter = chart(10, &[1; 10], StitchKind::Quarter(corner));
        let three = chart(10, &[1; 10], StitchKind::ThreeQuarter(corner));
        for (chart, front, back) in
            [(quarter, 10.0 * root / 2.0, 9.0 * root / 2.0), (three, 15.0 * root, 5.0 * root + 9.0)]
        {
            let routes = route(&chart, 5.0, &Silent).unwrap();
            check(&chart, &routes, 5.0);
            let stretch = &routes[0].stretches[0];
            assert!((stretch.front() - front).abs() < 1e-9, "{corner:?}: {}", stretch.front());
            assert!(stretch.back() > back - 1e-9, "{corner:?}: {} beats {back}", stretch.back());
            let slack = if corner == Corner::BottomLeft { 1.0 } else { 1.4 };
            assert!(stretch.back() < slack * back + 1e-9, "{corner:?}: {}, not {back}", stretch.back());
        }
    }
}

#[test]
fn beyond_the_limit_the_thread_is_ended_off() {
    let mut cells = vec![0; 4 * 40];
    (cells[0], cells[12], cells[39]) = (1, 1, 1);
    let chart = chart(40, &cells, StitchKind::FullCross);
    let stretches = |travel| route(&chart, travel, &Silent).unwrap()[0].stretches.len();
    assert_eq!((stretches(5.0), stretches(11.5), stretches(20.0)), (3, 2, 2));
}

#[test]
fn ends_and_needlefuls_by_hand() {
    let handling = Handling::default();
    // 30 cm: one thread; 30 + 8, a tenth more. 90 cm: 42 cm of each 50 are sewn, so three threads.
    assert!((handling.strand_mm(300.0) - 380.0 * 1.1).abs() < 1e-9);
    assert!((handling.strand_mm(900.0) - (900.0 + 3.0 * 80.0) * 1.1).abs() < 1e-9);
    assert!((handling.needlefuls(840.0) - 2.0).abs() < 1e-9);
    assert!((Handling::bare().strand_mm(900.0) - 900.0).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn every_patch_takes_two_cells_of_back_thread_a_cross_less_one(
        cells in prop::collection::vec(0u8..=1, 12 * 9),
    ) {
        // With no travel but to the next hole, each stretch is as short as it can be within a patch.
        let chart = chart(12, &cells, StitchKind::FullCross);
        let routes = route(&chart, 1.0, &Silent).unwrap();
        check(&chart, &routes, 1.0);
        for stretch in routes.iter().flat_map(|route| &route.stretches) {
            let crosses = stretch.legs.len() as f64 / 2.0;
            prop_assert!((stretch.back() - (2.0 * crosses - 1.0)).abs() < 1e-9);
        }
    }

    #[test]
    fn every_order_is_one_that_can_be_worked(
        cells in prop::collection::vec(0u8..=4, 17 * 13),
        travel in 1.0..12.0f64,
        kind in prop::sample::select(StitchKind::all().collect::<Vec<_>>()),
    ) {
        let chart = chart(17, &cells, kind);
        let routes = route(&chart, travel, &Silent).unwrap();
        check(&chart, &routes, travel);
        for route in &routes {
            let legs: usize = route.stretches.iter().map(|stretch| stretch.legs.len()).sum();
            let floor = legs as f64 - route.stretches.len() as f64;
            // From the middle of a cell the nearest corner is half a diagonal away.
            let least = match kind {
                StitchKind::Quarter(_) | StitchKind::ThreeQuarter(_) => std::f64::consts::FRAC_1_SQRT_2,
                _ => 1.0,
            };
            prop_assert!(route.back() >= least * floor - 1e-9);
        }
    }

    #[test]
    fn a_longer_limit_never_means_more_threads(
        cells in prop::collection::vec(prop::sample::select(vec![0u8, 0, 0, 0, 0, 1]), 20 * 16),
    ) {
        let chart = chart(20, &cells, StitchKind::FullCross);
        let threads = |travel| route(&chart, travel, &Silent).unwrap().iter().map(|route| route.stretches.len()).sum::<usize>();
        prop_assert!(threads(12.0) <= threads(5.0) && threads(5.0) <= threads(1.0));
    }
}
