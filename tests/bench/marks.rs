//! How long it takes to work 60 marks into a chart of 400 x 560 cells, and hundreds of outlines that lie over one another.
//!
//! The wish is under 50 ms on two cores. Beside it stands a reference of the same run: reading the saved chart.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;

use brede::chart::mark::{Change, Halo, Key, LetterStyle, Lettering, Motif, Outline, Pick, PickedCells};
use brede::chart::{Cell, Chart, Mark, Needle, Thread};
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::printing::ink::{PdfOptions, pdf};
use brede::printing::picture::preview;
use brede::printing::sheet::{SheetOptions, lay_out};
use brede::printing::worked as compose;
use brede::thread::cloth::{Cloth, StitchKind};
use criterion::{Criterion, criterion_group, criterion_main};

const COLUMNS: usize = 400;
const ROWS: usize = 560;

fn thread(index: usize) -> Thread {
    let colour = format!("#{:02x}{:02x}{:02x}", index * 53 % 256, index * 97 % 256, index * 29 % 256);
    Thread {
        code: format!("T{index}"),
        name: format!("thread {index}"),
        colour: colour.parse().unwrap(),
        strands: 2,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    }
}

/// Round creatures of 30 threads in a sea of 40 more.
fn chart() -> Chart {
    let needle =
        |index| Needle { symbol: String::new(), threads: vec![thread(index)], stitch: StitchKind::FullCross };
    let cell = |at: usize| {
        let (x, y) = (at % COLUMNS, at / COLUMNS);
        let (dx, dy) = ((x % 60) as f64 - 30.0, (y % 70) as f64 - 35.0);
        let inside = (dx / 22.0).powi(2) + (dy / 26.0).powi(2) + 0.2 * (dx * 0.7).sin() <= 1.0;
        if inside {
            Cell::worked((x / 60 + y / 70 * 7) % 30)
        } else {
            Cell::worked(30 + (x / 3 + y / 2) % 40)
        }
    };
    let size = GridSize::new(COLUMNS as u32, ROWS as u32).unwrap();
    let cells = (0..COLUMNS * ROWS).map(cell).collect();
    Chart::new("Sampler".into(), size, Cloth::default(), (0..70).map(needle).collect(), cells).unwrap()
}

fn marks() -> Vec<Mark> {
    let motif = |index: usize| {
        let (x, y) = ((index % 6 * 60 + 31) as i32, (index / 6 % 8 * 70 + 36) as i32);
        let cells = match index % 4 {
            0 | 1 => PickedCells::At { cell: [x, y], within: 2.0, touching: Default::default() },
            2 => PickedCells::Ellipse([x - 20, y - 24, x + 20, y + 24]),
            _ => PickedCells::Needles(vec![format!("T{}", index % 30)]),
        };
        Motif { pick: vec![Pick { change: Change::Add, cells }], bridge: 2, ..Motif::default() }
    };
    let mut marks: Vec<Mark> = (0..40)
        .map(|index| {
            Mark::Outline(Outline {
                name: format!("outline {index}"),
                label: None,
                motif: motif(index),
                thread: vec![thread(100 + index)],
                course: Default::default(),
                longest: 3.0,
                pattern: None,
                stitch: Default::default(),
            })
        })
        .collect();
    marks.extend((0..10).map(|index| {
        Mark::Halo(Halo {
            name: format!("halo {index}"),
            label: Some(String::new()),
            motif: motif(index * 4),
            thread: vec![thread(100 + index)],
            wide: 1,
            away: 1,
        })
    }));
    marks.extend((0..9).map(|index| {
        Mark::Lettering(Lettering {
            name: format!("letters {index}"),
            text: "Found at low tide".into(),
            at: [20, 4 + index * 60],
            thread: vec![thread(120)],
            style: LetterStyle::default(),
        })
    }));
    marks.push(Mark::Key(Key {
        name: "key".into(),
        thread: vec![thread(120)],
        place: Default::default(),
        title: Some("Our rock pool".into()),
        date: Some("2026".into()),
        initials: None,
        face: Default::default(),
        title_face: None,
        sample: Default::default(),
        columns: None,
        gap: 4,
        frame: Some(vec![thread(121)]),
    }));
    marks
}

fn sixty_marks(criterion: &mut Criterion) {
    let mut chart = chart();
    let saved = chart.to_json();
    chart.marks = marks().into_iter().map(Into::into).collect();
    let asked = chart.clone();
    chart.settle().unwrap();
    assert_eq!(chart.marks.len(), 60);
    let composed = compose(&chart).unwrap();
    assert!(composed.lines.len() > 80, "outlines and their samples");
    let mut group = criterion.benchmark_group("marks");
    group.sample_size(30);
    group.bench_function("sixty marks on 400 x 560 cells", |bench| {
        bench.iter(|| compose(black_box(&chart)).unwrap())
    });
    group.bench_function("the same, with their cells to be found", |bench| {
        bench.iter(|| compose(black_box(&asked)).unwrap())
    });
    group.bench_function("reference: reading that chart", |bench| {
        bench.iter(|| Chart::from_json(black_box(saved.as_bytes())).unwrap());
    });
    group.finish();
}

/// Outlines of many motifs that lie over one another: what is found round a cell within 20 ΔE reaches far.
fn many_outlines(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("outlines");
    group.sample_size(10);
    let plain = chart();
    let saved = plain.to_json();
    group.bench_function("reference: reading that chart", |bench| {
        bench.iter(|| Chart::from_json(black_box(saved.as_bytes())).unwrap());
    });
    for count in [200, 1000] {
        let mut asked = plain.clone();
        let outline = |index: usize| {
            let cell = [(index * 37 % COLUMNS + 1) as i32, (index * 101 % ROWS + 1) as i32];
            let cells = PickedCells::At { cell, within: 20.0, touching: Default::default() };
            Mark::Outline(Outline {
                name: format!("outline {index}"),
                label: None,
                motif: Motif { pick: vec![Pick { change: Change::Add, cells }], ..Motif::default() },
                thread: vec![thread(index % 70)],
                course: Default::default(),
                longest: 3.0,
                pattern: None,
                stitch: Default::default(),
            })
        };
        asked.marks = (0..count).map(outline).map(Into::into).collect();
        group.bench_function(format!("the cells of {count} are found"), |bench| {
            bench.iter(|| black_box(asked.clone()).settle().unwrap());
        });
        asked.settle().unwrap();
        group.bench_function(format!("{count} are worked"), |bench| {
            bench.iter(|| compose(black_box(&asked)).unwrap());
        });
        let composed = compose(&asked).unwrap();
        group.bench_function(format!("{count} are laid out and inked"), |bench| {
            bench.iter(|| {
                let preview = preview(&composed.chart, &composed.lines, &Silent).unwrap();
                let options = SheetOptions::default();
                let laid = lay_out(&composed.chart, &composed.lines, preview, &options, &Silent).unwrap();
                pdf(black_box(&laid.sheet), &PdfOptions::default(), &Silent).unwrap()
            });
        });
    }
    group.finish();
}

criterion_group!(benches, sixty_marks, many_outlines);
criterion_main!(benches);
