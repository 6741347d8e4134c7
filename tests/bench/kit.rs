//! How long a working order for a chart of 400 x 560 cells and 100 needles takes, and its pages for the largest chart.
//!
//! The wish is under half a second. Beside it stands a reference of the same run: reading the saved chart. The pages
//! have the working order itself for reference: of 2,000 x 2,000 cells of noise in 200 needles, and of a quarter of
//! them, which shows how they grow.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;

use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::planning::Handling;
use brede::planning::route::route;
use brede::printing::sheet::Paper;
use brede::printing::sheet::order::{USUAL_PAGES, order_pages};
use brede::thread::cloth::{Cloth, StitchKind};
use criterion::{Criterion, criterion_group, criterion_main};

const COLUMNS: usize = 400;
const ROWS: usize = 560;
const NEEDLES: usize = 100;

fn needle(index: usize) -> Needle {
    let colour = format!("#{:02x}{:02x}{:02x}", index * 53 % 256, index * 97 % 256, index * 29 % 256);
    let thread = Thread {
        code: format!("T{index}"),
        name: format!("thread {index}"),
        colour: colour.parse().unwrap(),
        strands: 2,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    };
    Needle { symbol: String::new(), threads: vec![thread], stitch: StitchKind::FullCross }
}

fn chart(cell: impl Fn(usize, usize) -> usize) -> Chart {
    let cells = (0..COLUMNS * ROWS).map(|at| Cell::worked(cell(at % COLUMNS, at / COLUMNS) % NEEDLES));
    let size = GridSize::new(COLUMNS as u32, ROWS as u32).unwrap();
    let needles = (0..NEEDLES).map(needle).collect();
    Chart::new("t".into(), size, Cloth::default(), needles, cells.collect()).unwrap()
}

fn working_orders(criterion: &mut Criterion) {
    // Waves of colour with every seventh stitch astray, as in a photo; and nothing but single stitches.
    let photo = chart(|x, y| {
        let stray = (x * 7919 + y * 104_729) % 7 == 0;
        let wave = ((x as f64 / 23.0).sin() + (y as f64 / 31.0).cos() + 2.0) * 25.0;
        wave as usize + if stray { (x * 31 + y * 17) % 9 } else { 0 }
    });
    let confetti = chart(|x, y| (x * 7919 + y * 104_729 + x * y) % NEEDLES);
    let saved = photo.to_json();
    let mut group = criterion.benchmark_group("working order");
    group.sample_size(10);
    group.bench_function("waves, 400 x 560, 100 needles", |bench| {
        bench.iter(|| route(black_box(&photo), 5.0, &Silent))
    });
    group.bench_function("single stitches", |bench| bench.iter(|| route(black_box(&confetti), 5.0, &Silent)));
    group.bench_function("reference: reading the first chart", |bench| {
        bench.iter(|| Chart::from_json(black_box(saved.as_bytes())).unwrap());
    });
    group.finish();
}

/// Noise: every cell another needle at random.
fn noise(side: u32, needles: usize) -> Chart {
    let mut state = 0x9e37_79b9_7f4a_7c15u64;
    let mut roll = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 33) as usize % needles
    };
    let size = GridSize::new(side, side).unwrap();
    let cells = (0..size.cells()).map(|_| Cell::worked(roll())).collect();
    Chart::new("t".into(), size, Cloth::default(), (0..needles).map(needle).collect(), cells).unwrap()
}

fn order_sheets(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("order pages");
    group.sample_size(10);
    let handling = Handling::default();
    for side in [1000, 2000] {
        let chart = noise(side, 200);
        let name = |what: &str| format!("{what}, {side} x {side}, 200 needles");
        group.bench_function(name("the usual pages"), |bench| {
            bench.iter(|| {
                order_pages(black_box(&chart), &[], &handling, None, USUAL_PAGES, Paper::A4, &Silent)
            });
        });
        group.bench_function(name("reference: the order"), |bench| {
            bench.iter(|| route(black_box(&chart), handling.travel, &Silent));
        });
    }
    let chart = noise(1000, 200);
    group.bench_function("one needle on all its pages, 1000 x 1000", |bench| {
        bench.iter(|| order_pages(black_box(&chart), &[], &handling, Some(&[7]), 2000, Paper::A4, &Silent));
    });
    group.finish();
}

criterion_group!(benches, working_orders, order_sheets);
criterion_main!(benches);
