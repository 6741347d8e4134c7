#![allow(clippy::unwrap_used)]
use super::*;
use crate::colour::{LinearRgb, Srgb8};
use crate::progress::Silent;
use crate::units::GridSize;

fn grey(value: u8) -> Lab {
    Srgb8 { r: value, g: value, b: value }.lab()
}

/// Greys from dark to light, left to right, and four looks of grey far apart.
fn ramp() -> (StitchField, Vec<Look>) {
    let size = GridSize::new(160, 60).unwrap();
    let cell = |cell: usize| {
        let Lab { l, a, b } = grey(40 + (cell % 160) as u8);
        Some([l as f32, a as f32, b as f32])
    };
    let looks = [40, 90, 140, 199].map(|value| Look { lab: grey(value), wish: Wish::Allowed });
    (StitchField::new(size, (0..size.cells()).map(cell).collect()), looks.to_vec())
}

fn reduced(dither: Option<f64>, confetti: Confetti) -> Reduction {
    let (field, looks) = ramp();
    let options = Options { colours: Colours::Exactly(4), confetti, dither, ..Options::default() };
    reduce(&field, &looks, &options, &Silent).unwrap()
}

/// How far the mean light of blocks of 8 x 6 cells is from the picture's, in mean L*.
fn from_afar(reduction: &Reduction) -> f64 {
    let (field, looks) = ramp();
    let light = |lab: Lab| lab.linear().channels[1];
    let (mut misses, mut blocks) = (0.0, 0.0);
    for top in (0..60).step_by(6) {
        for left in (0..160).step_by(8) {
            let (mut wanted, mut given) = (0.0, 0.0);
            for cell in (0..48).map(|cell| (top + cell / 8) * 160 + left + cell % 8) {
                let [l, a, b] = field.cells()[cell].unwrap().map(f64::from);
                wanted += light(Lab { l, a, b }) / 48.0;
                given +=
                    light(looks[reduction.chosen[usize::from(reduction.labels[cell].unwrap())]].lab) / 48.0;
            }
            let seen = |light: f64| LinearRgb { channels: [light; 3] }.lab().l;
            misses += (seen(wanted) - seen(given)).abs();
            blocks += 1.0;
        }
    }
    misses / blocks
}

#[test]
fn dithering_mixes_what_no_thread_has_and_keeps_to_its_share_of_singles() {
    let plain = from_afar(&reduced(None, Confetti::Few));
    for share in [0.2, 0.05, 0.01] {
        let dithered = reduced(Some(share), Confetti::Few);
        assert!(dithered.figures.singles_share <= share, "{share}: {}", dithered.figures.singles_share);
        let miss = from_afar(&dithered);
        assert!(miss < plain / 2.0, "{share}: {miss} from afar, undithered {plain}");
    }
    assert_eq!(reduced(Some(0.05), Confetti::None).figures.singles_share, 0.0);
}

#[test]
fn an_undithered_ramp_is_cut_where_the_next_look_is_nearer() {
    let reduction = reduced(None, Confetti::Few);
    let (field, looks) = ramp();
    for (cell, label) in reduction.labels.iter().enumerate() {
        let [l, a, b] = field.cells()[cell].unwrap().map(f64::from);
        let given = looks[reduction.chosen[usize::from(label.unwrap())]].lab.ciede2000(Lab { l, a, b });
        let best = looks.iter().map(|look| look.lab.ciede2000(Lab { l, a, b })).fold(f64::MAX, f64::min);
        // Colours are taken together in cubes of two units of Lab.
        assert!(given <= best + 2.0, "cell {cell}: {given}, {best} could be had");
    }
}
