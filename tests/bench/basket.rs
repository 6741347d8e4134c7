//! What the workbasket takes: a tick, what is left, and opening, of a chart of 4 million squares; and a basket of ten
//! years of evenings, a million ticks in forty pieces.
//!
//! The wishes are 50 ms for a tick, 0.3 s for what is left and for opening, 0.5 s and 60 MB for the ten years. Beside them
//! stands what the disk takes in the same run: a file of 4 kB written and flushed.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use std::io::Write as _;
use std::path::Path;
use std::time::Instant;

use brede::basket::{Basket, Cells, Missing, Tick, Ticked, Way};
use brede::chart::{Cell, Chart, Needle, Thread};
use brede::desk::{self, InBasket, KeepAs, KeepRequest, LeftRequest, Replace, Source, Target};
use brede::ground::day::{Day, When};
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::thread::cloth::{Cloth, StitchKind};

const NEEDLES: usize = 100;

/// Patches of some cells, as a photo has them.
fn chart(title: &str, columns: u32, rows: u32) -> Chart {
    let needle = |index: usize| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: format!("T{index}"),
            name: format!("thread {index}"),
            colour: format!("#{:02x}{:02x}{:02x}", index * 53 % 256, index * 97 % 256, index * 29 % 256)
                .parse()
                .unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let mut state = 1u64;
    let cells = (0..columns * rows).map(|at| {
        if at % 7 == 0 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        }
        Cell::worked((state >> 33) as usize % NEEDLES)
    });
    let size = GridSize::new(columns, rows).unwrap();
    Chart::new(title.into(), size, Cloth::default(), (0..NEEDLES).map(needle).collect(), cells.collect())
        .unwrap()
}

fn on(day: i64) -> When {
    When { seconds: day * 86_400, day: Day::from_number(day).unwrap() }
}

/// The median of so many runs, in milliseconds.
fn median(runs: usize, mut run: impl FnMut(usize)) -> f64 {
    let mut took: Vec<f64> = (0..runs)
        .map(|at| {
            let begun = Instant::now();
            run(at);
            begun.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    took.sort_by(f64::total_cmp);
    took[took.len() / 2]
}

fn keep(folder: &Path, chart: &Chart) -> String {
    let request = KeepRequest {
        chart: Source::held("bench.chart.json", chart.to_json().into_bytes()),
        photo: None,
        basket: folder.to_owned(),
        keep_as: KeepAs::Another,
        when: on(20_000),
        replace: Replace::Ours,
    };
    desk::keep(&request, &Silent).unwrap().piece.to_string()
}

fn tick(cells: Cells, day: i64) -> Tick {
    let device = "bench".parse().unwrap();
    Tick { device, counter: None, form: None, when: on(day), what: Ticked::Cells(cells), way: Way::Done }
}

fn large(folder: &Path) {
    let (columns, rows) = (2000u32, 2000u32);
    let chart = chart("Large", columns, rows);
    let begun = Instant::now();
    let id = keep(folder, &chart);
    println!("4 million squares, {NEEDLES} threads");
    println!("  kept in {:.1} s, {:.1} MB", begun.elapsed().as_secs_f64(), size(folder));
    println!("  opened in {:.1} ms", median(9, |_| drop(Basket::open(folder, Missing::Refuse).unwrap())));
    let mut basket = Basket::open(folder, Missing::Refuse).unwrap();
    let piece = basket.find(&id).unwrap();
    let row = |at: usize| Cells::of_runs([[at as u32 * columns, (at as u32 + 1) * columns]]);
    println!(
        "  a row of {columns} ticked in {:.1} ms",
        median(51, |at| {
            basket.tick(&piece, &[tick(row(at), 20_001)]).unwrap();
        })
    );
    println!(
        "  a cell ticked in {:.1} ms",
        median(51, |at| {
            let cell = 100 * columns + at as u32 * 7;
            basket.tick(&piece, &[tick(Cells::of_runs([[cell, cell + 1]]), 20_001)]).unwrap();
        })
    );
    let of_thread = |needle: usize| {
        let cells = chart.cells().iter().enumerate();
        cells.filter(|(_, cell)| cell.needle() == Some(needle)).map(|(at, _)| at).collect::<Cells>()
    };
    println!(
        "  a thread of 40,000 ticked in {:.1} ms",
        median(9, |at| {
            basket.tick(&piece, &[tick(of_thread(at), 20_001)]).unwrap();
        })
    );
    let left = |picture: Option<Target>| {
        let piece = InBasket { folder: folder.to_owned(), piece: id.clone(), when: on(20_002) };
        desk::left(&LeftRequest { piece, picture, replace: Replace::Ours }, &Silent).unwrap()
    };
    println!("  what is left told in {:.1} ms", median(9, |_| drop(left(None))));
    println!("  with its picture in {:.1} ms", median(5, |_| drop(left(Some(Target::Held)))));
}

fn ten_years(folder: &Path) {
    const PIECES: usize = 40;
    const TICKS: usize = 25_000;
    let begun = Instant::now();
    let pieces: Vec<String> =
        (0..PIECES).map(|at| keep(folder, &chart(&format!("Piece {at}"), 300, 250))).collect();
    let mut basket = Basket::open(folder, Missing::Refuse).unwrap();
    let ids: Vec<_> = pieces.iter().map(|id| basket.find(id).unwrap()).collect();
    // An evening after the other, each with the next piece; three stitches a tick, as a hand makes them.
    for evening in 0..PIECES * TICKS / 250 {
        let piece = evening % PIECES;
        let first = evening / PIECES * 250;
        let ticks: Vec<Tick> = (first..first + 250)
            .map(|at| {
                let from = (at * 3 % 74_990) as u32;
                tick(Cells::of_runs([[from, from + 3]]), 16_000 + evening as i64)
            })
            .collect();
        basket.tick(&ids[piece], &ticks).unwrap();
    }
    drop(basket);
    println!("a million ticks in {PIECES} pieces, written in {:.0} s", begun.elapsed().as_secs_f64());
    println!("  {:.1} MB without photos", size(folder));
    println!(
        "  opened and listed in {:.1} ms",
        median(9, |_| {
            assert_eq!(Basket::open(folder, Missing::Refuse).unwrap().pieces().unwrap().len(), PIECES);
        })
    );
    let mut basket = Basket::open(folder, Missing::Refuse).unwrap();
    println!("  the diary of all in {:.1} ms", median(5, |_| drop(basket.diary(None).unwrap())));
    println!(
        "  a tick kept in {:.1} ms",
        median(51, |at| {
            let from = at as u32 * 11;
            basket.tick(&ids[3], &[tick(Cells::of_runs([[from, from + 2]]), 20_100)]).unwrap();
        })
    );
    println!(
        "  backed up in {:.1} ms",
        median(1, |_| assert!(basket.back_up_for_today(on(20_101)).unwrap()))
    );
}

/// The bytes of the file of pieces and its log, in millions.
fn size(folder: &Path) -> f64 {
    let bytes = |name: &str| std::fs::metadata(folder.join(name)).map_or(0, |found| found.len());
    (bytes("basket.sqlite") + bytes("basket.sqlite-wal")) as f64 / 1e6
}

fn main() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    println!(
        "4 kB written and flushed in {:.1} ms",
        median(51, |at| {
            let mut file = std::fs::File::create(folder.path().join(format!("{at}"))).unwrap();
            file.write_all(&[7; 4096]).and_then(|()| file.sync_all()).unwrap();
        })
    );
    large(&folder.path().join("large"));
    ten_years(&folder.path().join("years"));
}
