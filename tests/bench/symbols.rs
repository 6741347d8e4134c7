//! How long it takes to give 200 needles their symbols on a chart of 2,000 x 2,000 cells.
//!
//! The wish is well under half a second. Beside it stands a reference of the same run: counting the stitches.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;

use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::colour::Srgb8;
use brede::ground::units::GridSize;
use brede::printing::symbols::{Adjacency, Apart, NeedleUse, assign};
use brede::thread::cloth::{Cloth, StitchKind};
use criterion::{Criterion, criterion_group, criterion_main};

const SIDE: usize = 2000;
const NEEDLES: usize = 200;

/// Ripples of greys: every needle touches a few that are like it, and some by chance.
fn chart() -> Chart {
    let needle = |index: usize| {
        let grey = (index * 37 % NEEDLES + 20) as u8;
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
        Needle { symbol: String::new(), threads: vec![thread], stitch: StitchKind::FullCross }
    };
    let cell = |at: usize| {
        let (x, y) = ((at % SIDE) as f64 / 300.0, (at / SIDE) as f64 / 300.0);
        let ripples = 0.5 + 0.25 * (x * 1.3 + (y * 1.7).sin()).sin() + 0.24 * (y * 0.9 + x.cos()).sin();
        let speck = (at.wrapping_mul(2_654_435_761) >> 7) % 8;
        Cell::worked(((ripples * NEEDLES as f64) as usize + speck) % NEEDLES)
    };
    let size = GridSize::new(SIDE as u32, SIDE as u32).unwrap();
    let cells = (0..SIDE * SIDE).map(cell).collect();
    Chart::new("Pool".into(), size, Cloth::default(), (0..NEEDLES).map(needle).collect(), cells).unwrap()
}

fn symbols(criterion: &mut Criterion) {
    let chart = chart();
    let stitches = chart.stitches();
    let uses: Vec<NeedleUse> = chart
        .needles()
        .iter()
        .zip(&stitches)
        .map(|(needle, &stitches)| NeedleUse {
            luminance: needle.colour().lab().l,
            stitches,
            crowd: 0.0,
            fixed: None,
        })
        .collect();
    let touches = Adjacency::of(&chart);
    let mut group = criterion.benchmark_group("symbols");
    group.sample_size(10);
    group
        .bench_function("reference: count the stitches", |bench| bench.iter(|| black_box(&chart).stitches()));
    group.bench_function("count the touches", |bench| bench.iter(|| Adjacency::of(black_box(&chart))));
    group.bench_function("assign", |bench| {
        bench.iter(|| assign(black_box(&uses), &touches, Apart::default()))
    });
    group.finish();
}

criterion_group!(benches, symbols);
criterion_main!(benches);
