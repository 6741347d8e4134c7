//! How long a working order for a chart of 400 x 560 cells and 100 needles takes.
//!
//! The wish is under half a second. Beside it stands a reference of the same run: reading the saved chart.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;

use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::planning::route::route;
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

criterion_group!(benches, working_orders);
criterion_main!(benches);
