//! How long the pictures of a chart of 200 x 280 cells take.
//!
//! The wish is under 0.35 s for all three on two cores. Beside them stands a reference of the same run: blowing
//! one pixel a cell up to the same size.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;

use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::printing::picture;
use brede::thread::cloth::{Cloth, StitchKind};
use criterion::{Criterion, criterion_group, criterion_main};
use image::imageops::{FilterType, resize};

fn chart() -> Chart {
    let needle = |index: usize| {
        let colour = format!("#{:02x}{:02x}{:02x}", index * 53 % 256, index * 97 % 256, index * 29 % 256);
        let thread = Thread {
            code: format!("T{index}"),
            name: format!("thread {index}"),
            colour: colour.parse().unwrap(),
            strands: 1 + (index % 2) as u8,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        };
        Needle { symbol: String::new(), threads: vec![thread], stitch: StitchKind::FullCross }
    };
    let size = GridSize::new(200, 280).unwrap();
    let cell = |at: usize| {
        let (x, y) = (at % 200, at / 200);
        if (x / 9 + y / 11) % 7 == 0 { Cell::BARE } else { Cell::worked((x / 5 + y * x / 90) % 40) }
    };
    let cells = (0..size.cells()).map(cell).collect();
    Chart::new("Sampler".into(), size, Cloth::default(), (0..40).map(needle).collect(), cells).unwrap()
}

fn pictures(criterion: &mut Criterion) {
    let chart = chart();
    let mut group = criterion.benchmark_group("pictures of 200 x 280 cells");
    group.sample_size(10);
    let flat = picture::cells(&chart);
    let side = picture::cell_side(&chart);
    group.bench_function("reference: one pixel a cell blown up", |bencher| {
        bencher.iter(|| resize(black_box(&flat), 200 * side, 280 * side, FilterType::Nearest));
    });
    group.bench_function("stitched", |bencher| {
        bencher.iter(|| picture::stitched(black_box(&chart), &[], &Silent).unwrap());
    });
    let stitched = picture::stitched(&chart, &[], &Silent).unwrap();
    group.bench_function("stitched as PNG", |bencher| {
        bencher.iter(|| picture::png(black_box(stitched.clone()), &Silent).unwrap());
    });
    group.bench_function("preview", |bencher| {
        bencher.iter(|| picture::preview(black_box(&chart), &[], &Silent).unwrap());
    });
    group.finish();
}

criterion_group!(benches, pictures);
criterion_main!(benches);
