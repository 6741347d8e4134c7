//! Thread and cloth judged by a program that is not brede, networkx, and by another way of working.

use crate::asking::{Dice, ask};
use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::colour::Srgb8;
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::planning::Handling;
use brede::planning::double_running::{Hole, walks};
use brede::planning::route::route;
use brede::thread::cloth::{Cloth, StitchKind};
use brede::thread::shades::ShadeCard;
use serde_json::json;

#[test]
#[ignore = "needs Python with networkx (BREDE_PYTHON)"]
fn networkx_finds_euler_circuits_as_long_as_our_double_running() {
    let mut dice = Dice(0x0123_4567_89ab_cdef);
    let mut asked = Vec::new();
    let mut ours: Vec<Vec<usize>> = Vec::new();
    for figure in 0..200 {
        let side = 3 + figure as u64 % 8;
        let stitches: Vec<[Hole; 2]> = (0..1 + dice.roll(90))
            .map(|_| {
                let [x, y] = [dice.roll(side) as i32, dice.roll(side) as i32];
                let [dx, dy] = [[1, 0], [0, 1], [1, 1], [-1, 1], [2, 1]][dice.roll(5)];
                [[x, y], [x + dx, y + dy]]
            })
            .collect();
        let walks = walks(&stitches);
        let mut lengths: Vec<usize> = walks.iter().map(|walk| walk.len() - 1).collect();
        lengths.sort_unstable();
        assert_eq!(lengths.iter().sum::<usize>(), 2 * stitches.len());
        ours.push(lengths);
        asked.push(json!({ "stitches": stitches, "walks": walks }));
    }
    let answers = ask("euler_circuits.py", &json!(asked));
    for (lengths, answer) in ours.iter().zip(answers.as_array().unwrap()) {
        assert_eq!(json!(lengths), answer["lengths"]);
        assert_eq!(json!(lengths.len()), answer["parts"]);
        assert_eq!(answer["walks_are_circuits"], json!(true));
    }
    assert_eq!(answers.as_array().unwrap().len(), 200);
}

/// A chart of a picture of the samples: the nearest of some shades for each cell, strays and all.
fn chart_of(picture: &str, columns: u32, shades: usize) -> Chart {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/");
    let photo = image::open(format!("{folder}{picture}")).unwrap().into_rgb8();
    let rows = columns * photo.height() / photo.width();
    let small = image::imageops::thumbnail(&photo, columns, rows);
    let card = ShadeCard::demonstration();
    let step = card.shades().len() / shades;
    let threads: Vec<Thread> =
        card.shades().iter().step_by(step).take(shades).map(|shade| Thread::of(shade, 2)).collect();
    let labs: Vec<_> = threads.iter().map(|thread| thread.colour.lab()).collect();
    let cells = small.pixels().map(|pixel| {
        let [r, g, b] = pixel.0;
        let lab = Srgb8 { r, g, b }.lab();
        let off = labs.iter().map(|of| lab.ciede2000(*of)).enumerate();
        Cell::worked(off.min_by(|one, two| one.1.total_cmp(&two.1)).unwrap().0)
    });
    let cells = cells.collect();
    let needle =
        |thread| Needle { symbol: String::new(), threads: vec![thread], stitch: StitchKind::FullCross };
    let needles = threads.into_iter().map(needle).collect();
    Chart::new("t".into(), GridSize::new(columns, rows).unwrap(), Cloth::default(), needles, cells).unwrap()
}

/// What plain rows take of one needle, a length in cells for each thread from a start to an end: each row from the left
/// in lower legs and home in upper ones, over gaps within reach, then the row below it there.
fn plain_rows(chart: &Chart, needle: usize, travel: f64) -> Vec<f64> {
    let way = |from: [f64; 2], to: [f64; 2]| (to[0] - from[0]).hypot(to[1] - from[1]);
    // Each thread with the hole that it ended in: a person goes on in the area where they are, then works the next.
    let mut threads: Vec<(f64, [f64; 2])> = Vec::new();
    for row in 0..chart.size().height() {
        let cells = chart.row(row).iter().enumerate().filter(|(_, cell)| cell.needle() == Some(needle));
        let columns: Vec<f64> = cells.map(|(column, _)| column as f64).collect();
        let (top, foot) = (row as f64, row as f64 + 1.0);
        // From the upper right of one cell to the lower left of the next, and from an upper left to a lower right home.
        let over = |pair: &[f64]| way([pair[0] + 1.0, top], [pair[1], foot]);
        let reached = columns.chunk_by(|one, two| over(&[*one, *two]) <= travel);
        for piece in reached {
            let legs = 2.0 * piece.len() as f64 * 2f64.sqrt();
            let travels: f64 = piece.windows(2).map(over).sum();
            let length = legs + 2.0 * travels + 1.0;
            let (start, end) = ([piece[0], foot], [piece[0], top]);
            let near = threads.iter_mut().map(|thread| (way(thread.1, start), thread));
            let near = near.filter(|(way, _)| *way <= travel).min_by(|one, two| one.0.total_cmp(&two.0));
            match near {
                Some((way, thread)) => *thread = (thread.0 + way + length, end),
                None => threads.push((length, end)),
            }
        }
    }
    threads.into_iter().map(|(length, _)| length).collect()
}

/// How much more plain rows take than the working order, ends included: of all thread, and of the needle of 200 crosses or
/// more that is worst off.
fn more_in_plain_rows(chart: &Chart) -> [f64; 2] {
    let handling = Handling { waste: 0.0, ..Handling::default() };
    let cell = chart.cloth.count.cell().mm();
    let thread =
        |lengths: &[f64]| lengths.iter().map(|length| handling.strand_mm(length * cell)).sum::<f64>();
    let routes = route(chart, handling.travel, &Silent).unwrap();
    let (mut ours, mut plain, mut worst) = (0.0, 0.0, 0.0f64);
    for (needle, (route, stitches)) in routes.iter().zip(chart.stitches()).enumerate() {
        let this = thread(&route.lengths());
        let other = thread(&plain_rows(chart, needle, handling.travel));
        (ours, plain) = (ours + this, plain + other);
        if stitches >= 200 {
            worst = worst.max(other / this);
        }
    }
    [plain / ours, worst]
}

#[test]
fn plain_rows_stay_within_the_tenth_for_waste_on_a_drawing_and_pass_it_on_a_photo() {
    // Seen, and told beside --waste: 1.05 to 1.06 on the flat drawing; 1.18 to 1.27 on charts of the photo, 1.44 for the
    // worst of their colours.
    let [drawing, _] = more_in_plain_rows(&chart_of("little-boat.png", 100, 12));
    assert!((1.0..1.10).contains(&drawing), "{drawing}");
    for shades in [12, 24] {
        let [photo, worst] = more_in_plain_rows(&chart_of("rock-pool.jpg", 120, shades));
        assert!((1.15..1.35).contains(&photo) && (photo..1.60).contains(&worst), "{photo} {worst}");
    }
}
