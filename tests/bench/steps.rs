//! How long a chart with 1,000 steps takes to open, to be undone by one, and how large steps are.
//!
//! The wishes are 0.2 s to open, and kilobytes for a thread in the place of another in 4 million squares. Beside it stand
//! references of the same run: the chart without steps.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use std::hint::black_box;

use brede::chart::mark::{Change, Motif, Outline, Pick, PickedCells};
use brede::chart::{Cell, Chart, Done, LineStitch, Mark, MarkError, Needle, Thread};
use brede::ground::units::GridSize;
use brede::thread::cloth::{Cloth, StitchKind};
use brede::thread::shades::ShadeCard;
use criterion::{Criterion, criterion_group, criterion_main};

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
    Needle { symbol: format!("sign-{index}"), threads: vec![thread], stitch: StitchKind::FullCross }
}

/// Grain: hardly two neighbours in one needle, as no photo is.
fn chart(columns: usize, rows: usize) -> Chart {
    let mut state = 1u64;
    let cells = (0..columns * rows).map(|_| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        Cell::worked((state >> 33) as usize % NEEDLES)
    });
    let size = GridSize::new(columns as u32, rows as u32).unwrap();
    let needles = (0..NEEDLES).map(needle).collect();
    let mut chart = Chart::new("Grain".into(), size, Cloth::default(), needles, cells.collect()).unwrap();
    chart.card = Some(ShadeCard::demonstration());
    chart
}

/// The chart in other needles and cells.
fn rework(chart: &mut Chart, needles: Vec<Needle>, cells: Vec<Cell>) -> Result<(), MarkError> {
    let mut other = Chart::new(chart.title.clone(), chart.size(), chart.cloth, needles, cells)?;
    (other.marks, other.card) = (std::mem::take(&mut chart.marks), chart.card.take());
    *chart = other;
    Ok(())
}

/// One needle's thread for another.
fn swap(chart: &mut Chart, at: usize, to: usize) {
    let change = |chart: &mut Chart| {
        let mut needles = chart.needles().to_vec();
        needles[at].threads = needle(to).threads;
        rework(chart, needles, chart.cells().to_vec())
    };
    chart.change(Done::CardMoved { card: String::new() }, change).unwrap();
}

/// All cells of the last needle to another one, and the needle gone.
fn merge(chart: &mut Chart, to: usize) {
    let change = |chart: &mut Chart| {
        let last = chart.needles().len() - 1;
        let needles = chart.needles()[..last].to_vec();
        let moved = |cell: &Cell| if cell.needle() == Some(last) { Cell::worked(to) } else { *cell };
        rework(chart, needles, chart.cells().iter().map(moved).collect())
    };
    chart.change(Done::CardMoved { card: String::new() }, change).unwrap();
}

/// A stroke of paint.
fn paint(chart: &mut Chart, round: usize) {
    let change = |chart: &mut Chart| {
        let mut cells = chart.cells().to_vec();
        let start = round * 7919 % (cells.len() - 40);
        cells[start..start + 1 + round % 40].fill(Cell::worked(round % 50));
        rework(chart, chart.needles().to_vec(), cells)
    };
    chart.change(Done::CardMoved { card: String::new() }, change).unwrap();
}

fn outline(chart: &mut Chart, round: usize) {
    let at = 1 + round as i32 % 300;
    let name = format!("mark {round}");
    let pick = vec![Pick { change: Change::Add, cells: PickedCells::Ellipse([at, at, at + 30, at + 20]) }];
    let mark = Mark::Outline(Outline {
        name: name.clone(),
        label: None,
        motif: Motif { pick, ..Motif::default() },
        thread: needle(round % NEEDLES).threads,
        course: Default::default(),
        longest: 3.0,
        pattern: None,
        stitch: LineStitch::default(),
    });
    let add = |chart: &mut Chart| {
        chart.marks.push(mark.into());
        Ok::<_, MarkError>(())
    };
    chart.change(Done::MarkAdded { mark: name, of: "outline".into() }, add).unwrap();
}

fn steps(criterion: &mut Criterion) {
    let mut large = chart(2000, 2000);
    let before = large.to_json().len();
    swap(&mut large, 7, 200);
    let swapped = large.to_json().len();
    println!(
        "2,000 x 2,000 squares of grain: {before} bytes; a thread for another adds {}",
        swapped - before
    );
    assert!(swapped - before < 4096, "kilobytes");
    merge(&mut large, 3);
    let merged = large.to_json().len();
    println!("one needle merged into another adds {}", merged.saturating_sub(swapped));
    drop(large);

    let plain = chart(400, 560);
    let mut chart = plain.clone();
    for round in 0..1000 {
        match round % 10 {
            0..=5 => paint(&mut chart, round),
            6 | 7 => swap(&mut chart, round % 50, round + 200),
            8 => outline(&mut chart, round),
            _ => {
                chart.undo().unwrap();
                chart.redo().unwrap();
                paint(&mut chart, round);
            }
        }
    }
    let (saved, bare) = (chart.to_json(), plain.to_json());
    let count = chart.steps().done().count();
    println!("400 x 560 squares: {} bytes, with {count} steps {}", bare.len(), saved.len());
    assert_eq!(count, 1000);
    let mut group = criterion.benchmark_group("steps");
    group.sample_size(20);
    group.bench_function("opening a chart with 1,000 steps", |bench| {
        bench.iter(|| Chart::from_json(black_box(saved.as_bytes())).unwrap())
    });
    group.bench_function("reference: opening it without steps or marks", |bench| {
        bench.iter(|| Chart::from_json(black_box(bare.as_bytes())).unwrap());
    });
    group.bench_function("taking a step back and doing it again", |bench| {
        bench.iter(|| {
            chart.undo().unwrap();
            chart.redo().unwrap();
        });
    });
    group.finish();
}

criterion_group!(benches, steps);
criterion_main!(benches);
