#![allow(clippy::unwrap_used)]
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU64, Ordering};

use super::*;
use crate::chart::{Cell, LineLayer, LinePattern, LineStitch, Thread};
use crate::ground::colour::{LinearRgb, Srgb8};
use crate::ground::progress::{Silent, Stage};
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, Corner, CoverModel, StitchKind};

/// Threads from white to black and round the hues. Invented.
const THREADS: [&str; 9] =
    ["#fbfaf5", "#f4cf36", "#e8661a", "#b01e2b", "#5e2f6d", "#23527f", "#8fcbc4", "#5f666c", "#121418"];

fn thread(colour: &str, strands: u8) -> Thread {
    Thread {
        code: colour.to_owned(),
        name: String::new(),
        colour: colour.parse().unwrap(),
        strands,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    }
}

/// A chart of `columns` by `rows` cells, each as `cell` says.
fn chart(
    [columns, rows]: [u32; 2],
    (count, cloth): (&str, &str),
    (strands, stitch): (u8, StitchKind),
    cell: impl Fn(usize, usize) -> Cell,
) -> Chart {
    let needle =
        |colour: &&str| Needle { symbol: String::new(), threads: vec![thread(colour, strands)], stitch };
    let size = GridSize::new(columns, rows).unwrap();
    let cells = (0..size.cells()).map(|at| cell(at % size.width(), at / size.width())).collect();
    let cloth = Cloth { count: count.parse().unwrap(), colour: cloth.parse().unwrap() };
    Chart::new("Rock pool".into(), size, cloth, THREADS.iter().map(needle).collect(), cells).unwrap()
}

/// The mean light of an area `[left, top, right, bottom]` in cells.
fn mean(picture: &RgbImage, side: u32, area: [u32; 4]) -> LinearRgb {
    let [left, top, right, bottom] = area.map(|at| at * side);
    let mut channels = [0.0; 3];
    for y in top..bottom {
        for x in left..right {
            let [r, g, b] = picture.get_pixel(x, y).0;
            let light = Srgb8 { r, g, b }.linear();
            channels.iter_mut().zip(light.channels).for_each(|(sum, part)| *sum += part);
        }
    }
    let count = f64::from((right - left) * (bottom - top));
    LinearRgb { channels: channels.map(|sum| sum / count) }
}

fn line(points: Vec<[i32; 2]>, colour: &str) -> WorkedLine {
    WorkedLine {
        mark: "edge".into(),
        label: "edge".into(),
        threads: vec![thread(colour, 1)],
        pattern: LinePattern::Solid,
        stitch: LineStitch::Backstitch,
        points,
        closed: false,
        lane: 0.0,
        layer: LineLayer::Outlines,
    }
}

#[test]
fn a_patch_has_the_mean_colour_that_the_cover_model_says() {
    // Judged by CIEDE2000 against `CoverModel::look`: under 2 is a difference that one has to look for (from memory).
    let model = CoverModel::default();
    let side_by_side = THREADS.len() as u32 * 8;
    for cloth in ["#f4ecd8", "#ffffff", "#1b2a41", "#b01e2b", "#000000"] {
        for (count, strands, stitch) in [
            ("14", 1, StitchKind::FullCross),
            ("14", 2, StitchKind::FullCross),
            ("11", 2, StitchKind::FullCross),
            ("18", 1, StitchKind::FullCross),
            ("28/2", 3, StitchKind::FullCross),
            ("14", 2, StitchKind::HalfCross),
            ("16", 1, StitchKind::HalfCrossBack),
            ("14", 2, StitchKind::Quarter(Corner::BottomLeft)),
            ("18", 1, StitchKind::Quarter(Corner::TopLeft)),
            ("14", 2, StitchKind::ThreeQuarter(Corner::TopRight)),
            ("16", 1, StitchKind::ThreeQuarter(Corner::BottomRight)),
        ] {
            for side in [12, 4] {
                let columns = side_by_side;
                let chart =
                    chart([columns, 8], (count, cloth), (strands, stitch), |x, _| Cell::worked(x / 8));
                let picture = drawn(&chart, &[], side, &Silent).unwrap();
                for (at, needle) in chart.needles().iter().enumerate() {
                    let left = at as u32 * 8;
                    let seen = mean(&picture, side, [left, 0, left + 8, 8]).lab();
                    let wanted = model.look(&chart.cloth, needle.colour().linear(), strands, stitch);
                    let delta = seen.ciede2000(wanted);
                    let what = format!("{} {strands} x {stitch:?} on {count} {cloth} at {side}", THREADS[at]);
                    assert!(delta < 2.0, "{what}: {delta:.2}");
                }
            }
        }
    }
}

#[test]
fn bare_cells_show_cloth_and_its_holes() {
    let chart = chart([40, 30], ("14", "#f4ecd8"), (2, StitchKind::FullCross), |x, _| {
        if x < 20 { Cell::BARE } else { Cell::worked(5) }
    });
    let picture = stitched(&chart, &[], &Silent).unwrap();
    let side = cell_side(&chart);
    let cloth = chart.cloth.colour;
    assert!(mean(&picture, side, [1, 1, 19, 29]).lab().ciede2000(cloth.lab()) < 2.0);
    let luminance = |x: u32, y: u32| {
        let [r, g, b] = picture.get_pixel(x, y).0;
        Srgb8 { r, g, b }.luminance()
    };
    for corner in 1..19 {
        let (hole, middle) =
            (luminance(corner * side, 5 * side), luminance(corner * side + side / 2, 5 * side + side / 2));
        assert!(hole < 0.85 * middle, "hole {corner}: {hole} beside {middle}");
    }
}

#[test]
fn stitches_are_not_flat_and_not_all_alike() {
    let chart = chart([40, 30], ("14", "#f4ecd8"), (2, StitchKind::FullCross), |_, _| Cell::worked(5));
    let picture = stitched(&chart, &[], &Silent).unwrap();
    let side = cell_side(&chart);
    let tile = |column: u32, row: u32| {
        let at = |x: u32, y: u32| picture.get_pixel(column * side + x, row * side + y).0;
        (0..side * side).map(|i| at(i % side, i / side)).collect::<Vec<_>>()
    };
    let first = tile(0, 0);
    let (dark, light) =
        (first.iter().map(|p| p[2]).min().unwrap(), first.iter().map(|p| p[2]).max().unwrap());
    assert!(light - dark > 50, "{dark} to {light}");
    let unlike = (1..20).filter(|&column| tile(column, 0) != first).count();
    assert!(unlike >= 10, "{unlike} of 19 differ from the first");
}

#[test]
fn the_upper_leg_goes_from_upper_left_to_lower_right() {
    // As `planning::route` works it: the rising leg first, the falling one over it.
    let chart = chart([40, 30], ("14", "#f4ecd8"), (1, StitchKind::FullCross), |_, _| Cell::worked(5));
    let picture = drawn(&chart, &[], 12, &Silent).unwrap();
    // A quarter and three quarters along each diagonal there is thread in both legs; just off the crossing
    // the leg that goes down is lit, and the one that goes up lies in its shade.
    let light = |x: u32, y: u32| mean_of(&picture, x, y);
    let (mut up, mut down) = (0.0, 0.0);
    for cell in 0..20 {
        let (x, y) = (cell * 12, 24);
        up += light(x + 7, y + 4) + light(x + 4, y + 7);
        down += light(x + 4, y + 4) + light(x + 7, y + 7);
    }
    assert!(down > 1.2 * up, "{up} and {down}");
}

fn mean_of(picture: &RgbImage, x: u32, y: u32) -> f64 {
    let [r, g, b] = picture.get_pixel(x, y).0;
    Srgb8 { r, g, b }.luminance()
}

#[test]
fn a_line_lies_over_the_stitches_from_hole_to_hole() {
    let chart = chart([40, 30], ("14", "#f4ecd8"), (2, StitchKind::FullCross), |_, _| Cell::worked(1));
    let plain = stitched(&chart, &[], &Silent).unwrap();
    let lined = stitched(&chart, &[line(vec![[5, 5], [6, 5], [9, 8]], "#121418")], &Silent).unwrap();
    let side = cell_side(&chart);
    for (x, y) in [(5 * side + side / 2, 5 * side), (7 * side + side / 2, 6 * side + side / 2)] {
        assert!(mean_of(&lined, x, y) < 0.1 && mean_of(&plain, x, y) > 0.3, "at {x}, {y}");
    }
    // Nothing is touched a cell away.
    for (x, y, pixel) in lined.enumerate_pixels() {
        let near = (4 * side..11 * side).contains(&x) && (4 * side..10 * side).contains(&y);
        assert!(near || pixel == plain.get_pixel(x, y), "at {x}, {y}");
    }
}

#[test]
fn the_picture_is_columns_and_rows_times_the_side() {
    for (columns, rows, side) in [(4, 4, 12), (140, 105, 12), (240, 200, 10), (600, 20, 4), (2000, 4, 4)] {
        let chart =
            chart([columns, rows], ("14", "#f4ecd8"), (2, StitchKind::FullCross), |x, _| Cell::worked(x % 9));
        assert_eq!(cell_side(&chart), side);
        let picture = stitched(&chart, &[], &Silent).unwrap();
        assert_eq!(picture.dimensions(), (columns * side, rows * side));
        let longest = preview(&chart, &[], &Silent).unwrap().width();
        assert!(
            longest <= PREVIEW_MOST && (longest >= 450 || columns * SIDES[1] < 900),
            "{columns}: {longest}"
        );
    }
}

#[test]
fn cells_have_the_threads_own_colours_and_bare_ones_none() {
    let chart = chart([12, 10], ("14", "#1b2a41"), (1, StitchKind::FullCross), |x, y| {
        if y == 3 { Cell::BARE } else { Cell::worked(x % THREADS.len()) }
    });
    let bytes = png(cells(&chart), &Silent).unwrap();
    let read = image::load_from_memory(&bytes).unwrap().into_rgba8();
    assert_eq!(read.dimensions(), (12, 10));
    for (x, y, pixel) in read.enumerate_pixels() {
        let colour: Srgb8 = THREADS[x as usize % THREADS.len()].parse().unwrap();
        let wanted = if y == 3 { [0; 4] } else { [colour.r, colour.g, colour.b, 255] };
        assert_eq!(pixel.0, wanted, "at {x}, {y}");
    }
}

#[test]
fn one_thread_and_two_give_the_same_bytes() {
    let chart = chart([90, 150], ("28/2", "#b01e2b"), (2, StitchKind::FullCross), |x, y| {
        if x * y % 7 == 0 { Cell::BARE } else { Cell::worked((x + y * y) % 9) }
    });
    let lines = [line((0..40).map(|at| [at, at % 3 + 4]).collect(), "#fbfaf5")];
    let make = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| png_of_stitches(stitched(&chart, &lines, &Silent).unwrap(), &Silent).unwrap())
    };
    let bytes = make(1);
    assert_eq!(bytes, make(2));
    let read = image::load_from_memory(&bytes).unwrap().into_rgb8();
    assert!(read == stitched(&chart, &lines, &Silent).unwrap());
}

#[test]
fn drawing_stops_when_told() {
    struct After(u64, AtomicU64);
    impl Progress for After {
        fn at(&self, _: Stage, _: u64, _: u64) -> ControlFlow<()> {
            if self.1.fetch_add(1, Ordering::Relaxed) < self.0 {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            }
        }
        fn ask(&self) -> ControlFlow<()> {
            ControlFlow::Continue(())
        }
    }
    let chart = chart([10, 300], ("14", "#f4ecd8"), (2, StitchKind::FullCross), |_, _| Cell::worked(0));
    for calls in 0..3 {
        let listener = After(calls, AtomicU64::new(0));
        assert_eq!(stitched(&chart, &[], &listener).unwrap_err(), Stopped);
        assert_eq!(listener.1.load(Ordering::Relaxed), calls + 1);
    }
    assert!(stitched(&chart, &[], &After(99, AtomicU64::new(0))).is_ok());
}
