#![allow(clippy::unwrap_used)]
use super::*;
use crate::chart::{Cell, Chart, Needle, Thread};
use crate::ground::colour::Srgb8;
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, Corner};

const COUNT: FabricCount = FabricCount::FOURTEEN;

fn light(colour: &str) -> LinearRgb {
    colour.parse::<Srgb8>().unwrap().linear()
}

/// A swatch drawn from geometry: crosses of flat bands `ratio` of a cell wide at 37.3 pixels a cell, under
/// a lamp to one side, with grain, thread a little darker at its edges, in eight bits.
fn drawn(thread: LinearRgb, cloth: LinearRgb, ratio: f64, shade: f64) -> Vec<LinearRgb> {
    let side = 480u32;
    let half = ratio / std::f64::consts::SQRT_2;
    let pixel = |x: u32, y: u32| {
        // No whole number, so that edges do not fall on pixels alike in every cell.
        let [u, v] = [x, y].map(|at| ((f64::from(at) + 0.5) / 37.3).fract());
        let near = (u - v).abs().min((u + v - 1.0).abs());
        let lamp = 1.0 - shade * f64::from(x) / f64::from(side);
        let grain = 1.0 + 0.04 * (f64::from((x * 7919 + y * 104_729) % 101) / 50.0 - 1.0);
        let (colour, edge) = if near < half { (thread, 1.0 - 0.2 * near / half) } else { (cloth, 1.0) };
        LinearRgb { channels: colour.channels.map(|part| part * lamp * grain * edge) }.srgb8().linear()
    };
    (0..side).flat_map(|y| (0..side).map(move |x| (x, y))).map(|(x, y)| pixel(x, y)).collect()
}

#[test]
fn the_width_of_a_drawn_swatch_is_found_under_an_uneven_lamp() {
    for flattening in [1.4, 2.2, 3.0, 3.9] {
        let model = CoverModel { flattening, ..CoverModel::default() };
        let ratio = model.width_mm(1) / COUNT.cell().mm();
        for (thread, cloth, shade) in [
            ("#2a5a9a", "#f4ecd8", 0.5),
            ("#a03020", "#ffffff", 0.5),
            ("#f0e0a0", "#1b2a41", 0.4),
            ("#101010", "#ffffff", 0.5),
        ] {
            let (thread, cloth) = (light(thread), light(cloth));
            let pixels = drawn(thread, cloth, ratio, shade);
            let seen = seen_cover(pixels, thread, cloth, Sought::Width).unwrap();
            let share = model.covered(COUNT, 1, StitchKind::FullCross);
            assert!((seen - share).abs() < 0.015, "{thread:?} {flattening}: {seen}, not {share}");
            let found = CoverModel::default().fitted(seen, COUNT, 1, StitchKind::FullCross).unwrap();
            let off = found.flattening / flattening - 1.0;
            assert!(off.abs() < 0.06, "{thread:?} {flattening}: {}", found.flattening);
        }
    }
}

#[test]
fn a_picture_of_the_finished_piece_gives_the_usual_model_back() {
    // The stitched picture is drawn with light, shade and twist so that its mean is what the model says.
    let thread = Thread {
        code: "A".into(),
        name: "A".into(),
        colour: "#2a5a9a".parse().unwrap(),
        strands: 1,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    };
    for stitch in [StitchKind::FullCross, StitchKind::HalfCross] {
        let needle = Needle { symbol: String::new(), threads: vec![thread.clone()], stitch };
        let size = GridSize::new(30, 30).unwrap();
        let cloth = Cloth::default();
        let cells = vec![Cell::worked(0); 900];
        let chart = Chart::new("t".into(), size, cloth, vec![needle], cells).unwrap();
        let picture = crate::printing::picture::stitched(&chart, &[], &Silent).unwrap();
        let pixels = picture.pixels().map(|pixel| {
            let [r, g, b] = pixel.0;
            Srgb8 { r, g, b }.linear()
        });
        let (dark, light) = (thread.colour.linear(), cloth.colour.linear());
        let seen = seen_cover(pixels, dark, light, Sought::Width).unwrap();
        let found = CoverModel::default().fitted(seen, COUNT, 1, stitch).unwrap();
        assert!((found.flattening - 3.0).abs() < 0.45, "{stitch}: {} {seen:?}", found.flattening);
    }
}

#[test]
fn what_is_fitted_hides_what_was_measured() {
    let kinds = [
        (StitchKind::FullCross, 1),
        (StitchKind::HalfCross, 2),
        (StitchKind::Quarter(Corner::TopLeft), 2),
        (StitchKind::ThreeQuarter(Corner::BottomLeft), 1),
    ];
    for (stitch, strands) in kinds {
        for share in [0.2, 0.35, 0.42] {
            let model = CoverModel { bare_holes: 0.02, ..CoverModel::default() };
            let fitted = model.fitted(share, COUNT, strands, stitch).unwrap();
            assert!((fitted.covered(COUNT, strands, stitch) - share).abs() < 1e-9, "{stitch} {share}");
            // And as it is read back from its file.
            let read = CoverModel::from_toml(&fitted.to_toml()).unwrap();
            assert!((read.covered(COUNT, strands, stitch) - share).abs() < 1e-4, "{stitch} {share}");
        }
    }
}

#[test]
fn a_swatch_that_says_nothing_is_refused() {
    let model = CoverModel::default();
    let full = StitchKind::FullCross;
    assert!(matches!(model.fitted(0.99, COUNT, 2, full), Err(SwatchFitError::Covered { .. })));
    assert!(matches!(model.fitted(0.0, COUNT, 2, full), Err(SwatchFitError::Share { .. })));
    let quarter = StitchKind::Quarter(Corner::TopLeft);
    assert!(matches!(model.fitted(0.99, COUNT, 2, quarter), Err(SwatchFitError::Covered { .. })));
    assert!(matches!(model.fitted(0.02, COUNT, 6, full), Err(SwatchFitError::Flattening { .. })));
    let (pink, red, white) = (light("#e05060"), light("#d03040"), light("#ffffff"));
    let seen = |pixels: &[LinearRgb], cloth| seen_cover(pixels.iter().copied(), red, cloth, Sought::Width);
    assert!(matches!(seen(&[red], pink), Err(SwatchFitError::Alike { .. })));
    assert_eq!(seen(&[], white), Err(SwatchFitError::Empty));
    // All thread, and stitches too small to be told from the cloth between them.
    assert_eq!(seen(&[red; 9], white), Err(SwatchFitError::Blurred));
    assert_eq!(seen(&[red.mix(white, 0.3), red.mix(white, 0.5)], white), Err(SwatchFitError::Blurred));
    assert_eq!(seen(&[red, red, red, white], white), Ok(0.75));
    let holes = [[red; 24].as_slice(), &[white]].concat();
    assert_eq!(seen_cover(holes, red, white, Sought::Holes), Ok(0.96));
    assert_eq!(model.with_holes(0.97).unwrap().bare_holes, 1.0 - 0.97);
    assert!(model.with_holes(0.5).is_err());
    // Holes stay bare however thick the thread, and the customary strands stay what they are.
    let holed = CoverModel { bare_holes: 0.06, ..model };
    assert!((holed.covered(COUNT, 6, full) - 0.94).abs() < 1e-12);
    assert_eq!(holed.strands_that_cover(COUNT), model.strands_that_cover(COUNT));
}
