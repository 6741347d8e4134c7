#![allow(clippy::unwrap_used)]
use super::histogram::Histogram;
use super::*;
use crate::ground::colour::{LinearRgb, Srgb8};
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;

fn grey(value: u8) -> Lab {
    Srgb8 { r: value, g: value, b: value }.lab()
}

/// Greys from dark to light, left to right, and four looks of grey far apart.
fn ramp() -> (StitchField, Vec<Look>) {
    let size = GridSize::new(160, 60).unwrap();
    let cell = |cell: usize| Some(grey(40 + (cell % 160) as u8).into());
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
                wanted += light(field.cells()[cell].unwrap().into()) / 48.0;
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
        let own = Lab::from(field.cells()[cell].unwrap());
        let given = looks[reduction.chosen[usize::from(label.unwrap())]].lab.ciede2000(own);
        let best = looks.iter().map(|look| look.lab.ciede2000(own)).fold(f64::MAX, f64::min);
        // Colours are taken together in cubes of two units of Lab.
        assert!(given <= best + 2.0, "cell {cell}: {given}, {best} could be had");
    }
}

/// A picture of every colour there is, a few cells alike: a hard one for cubes and labels.
fn speckled(columns: u32, rows: u32) -> (StitchField, Vec<Look>) {
    let size = GridSize::new(columns, rows).unwrap();
    let cell = |cell: usize| {
        let mixed = (cell as u32).wrapping_mul(2_654_435_761) >> 8;
        let [r, g, b] = [mixed, mixed >> 8, mixed >> 3].map(|value| (value & 255) as u8);
        Some(Srgb8 { r, g, b }.lab().into())
    };
    let looks = (0..80).map(|look: u32| {
        let [r, g, b] = [look * 97, look * 57, look * 31].map(|value| (value % 256) as u8);
        Look { lab: Srgb8 { r, g, b }.lab(), wish: Wish::Allowed }
    });
    (StitchField::new(size, (0..size.cells()).map(cell).collect()), looks.collect())
}

#[test]
fn kept_cells_of_a_small_chart_have_the_nearest_look_that_is_used() {
    let (field, looks) = speckled(60, 50);
    let options = Options { colours: Colours::Exactly(20), confetti: Confetti::Keep, ..Options::default() };
    let reduction = reduce(&field, &looks, &options, &Silent).unwrap();
    assert_eq!(reduction.chosen.len(), 20);
    for (cell, label) in reduction.labels.iter().enumerate() {
        let own = Lab::from(field.cells()[cell].unwrap());
        let to = |look: &usize| looks[*look].lab.ciede2000(own);
        let best = reduction.chosen.iter().map(to).fold(f64::MAX, f64::min);
        let given = to(&reduction.chosen[usize::from(label.unwrap())]);
        // Tables of differences are in single precision, within 2e-3.
        assert!(given <= best + 4e-3, "cell {cell}: {given}, {best} could be had");
    }
}

#[test]
fn few_singles_are_as_many_as_may_be_and_no_more() {
    let (field, looks) = speckled(120, 100);
    let options = Options { colours: Colours::Exactly(20), ..Options::default() };
    let share = reduce(&field, &looks, &options, &Silent).unwrap().figures.singles_share;
    assert!((0.0075..=0.0079).contains(&share), "{share}");
}

#[test]
fn cubes_hold_what_is_near_them_and_keep_apart_what_is_to_be() {
    let (field, _) = speckled(150, 120);
    let apart = |cell: usize| cell.is_multiple_of(3);
    for width in [0.7, 1.0, 4.0] {
        let gathered = Histogram::new(field.cells(), width, |_| 1.0, apart);
        let whole: f64 = gathered.weights.iter().sum();
        assert_eq!(whole, 150.0 * 120.0);
        let mut holds = vec![[false; 2]; gathered.len()];
        for (cell, &bin) in gathered.bin_of.iter().enumerate() {
            holds[bin as usize][usize::from(apart(cell))] = true;
            let mean = gathered.colours[bin as usize].lab();
            let colour = field.cells()[cell].unwrap().axes().map(f64::from);
            for (mean, own) in [mean.l, mean.a, mean.b].into_iter().zip(colour) {
                assert!(
                    (mean - own).abs() <= f64::from(width) + 1e-4,
                    "cell {cell}: {own} in a cube about {mean}"
                );
            }
        }
        assert!(holds.iter().all(|held| held[0] != held[1]), "a cube of both kinds, or of none");
    }
}

#[test]
fn squares_left_bare_count_as_the_cloth_that_is_seen_there() {
    // The dark third of the ramp lies within reach of dark cloth.
    let (field, looks) = ramp();
    let bare = BareCloth { look: grey(50), within: 8.0 };
    let options = Options { colours: Colours::Exactly(4), bare: Some(bare), ..Options::default() };
    let reduction = reduce(&field, &looks, &options, &Silent).unwrap();
    let figures = &reduction.figures;
    assert!(
        figures.bare_by_choice > 500 && figures.stitches + figures.bare_by_choice == 160 * 60,
        "{figures:?}"
    );
    let seen =
        |label: &Option<u16>| label.map_or(bare.look, |at| looks[reduction.chosen[usize::from(at)]].lab);
    let off = reduction
        .labels
        .iter()
        .zip(field.cells())
        .map(|(label, cell)| Lab::from(cell.unwrap()).ciede2000(seen(label)));
    let mean = off.sum::<f64>() / (160.0 * 60.0);
    // Single precision for many differences at once: within 2e-3.
    assert!((figures.mean_delta_e - mean).abs() < 2e-3, "{} {mean}", figures.mean_delta_e);
    // The floor is worked out on cubes of colour, to about one part in a hundred.
    assert!(figures.floor_delta_e <= figures.mean_delta_e * 1.02, "{figures:?}");
}

#[test]
fn heavy_cells_get_their_look_and_keep_it_through_smoothing() {
    let size = GridSize::new(80, 60).unwrap();
    let at = |x: usize, y: usize| y * 80 + x;
    // A ramp of greys with four red cells, for four looks; and in its plain part a lone cell hardly lighter.
    let (red, lone) = (Srgb8 { r: 190, g: 40, b: 40 }.lab(), at(0, 0));
    let mut cells: Vec<_> = (0..size.cells()).map(|cell| grey(80 + (cell % 80) as u8)).collect();
    for y in 0..60 {
        cells[at(0, y)..at(20, y)].fill(grey(80));
    }
    cells[at(3, 3)..at(13, 3)].fill(grey(82));
    let reds = [at(40, 20), at(41, 20), at(40, 21), at(41, 21)];
    reds.iter().for_each(|&cell| cells[cell] = red);
    cells[lone] = grey(82);
    let field = StitchField::new(size, cells.into_iter().map(|lab| Some(lab.into())).collect());
    let shades = [grey(80), grey(82), grey(105), grey(130), grey(155), red];
    let looks = shades.map(|lab| Look { lab, wish: Wish::Allowed });
    let chosen = |weights: Option<Vec<f32>>, colours| {
        let options = Options { colours: Colours::Exactly(colours), weights, ..Options::default() };
        let reduction = reduce(&field, &looks, &options, &Silent).unwrap();
        move |cell: usize| reduction.chosen[usize::from(reduction.labels[cell].unwrap())]
    };
    let weigh = |heavy: &[usize], weight: f32| {
        let mut weights = vec![1.0; size.cells()];
        heavy.iter().for_each(|&cell| weights[cell] = weight);
        Some(weights)
    };
    assert_ne!(chosen(None, 4)(reds[0]), 5);
    assert_eq!(chosen(weigh(&reds, 500.0), 4)(reds[0]), 5);
    assert_eq!(chosen(None, 6)(lone), 0, "smoothed over");
    assert_eq!(chosen(weigh(&[lone], 20.0), 6)(lone), 1, "kept");
}

#[test]
fn weights_that_do_not_fit_are_refused() {
    let (field, looks) = ramp();
    let with = |weights| {
        let options = Options { weights: Some(weights), ..Options::default() };
        reduce(&field, &looks, &options, &Silent).unwrap_err()
    };
    assert_eq!(with(vec![1.0; 7]), ReduceError::Weights { given: 7, cells: 160 * 60 });
    let mut weights = vec![1.0; 160 * 60];
    for bad in [0.0, -1.0, f32::NAN, f32::INFINITY] {
        weights[5] = bad;
        assert_eq!(with(weights.clone()), ReduceError::Weight { cell: 5 }, "{bad}");
    }
}

/// Numbers from 0 to `below` that follow no pattern, always the same.
fn noise(cell: usize, below: u32) -> u32 {
    let mixed = (cell as u32).wrapping_mul(2_654_435_761);
    ((mixed ^ mixed >> 15).wrapping_mul(0x85eb_ca6b) >> 16) % below
}

/// Sides between different looks, and patches of up to three stitches joined by sides or corners.
fn unrest(reduction: &Reduction, size: GridSize) -> (usize, usize) {
    let (labels, width) = (&reduction.labels, size.width());
    let right = (0..labels.len()).filter(|cell| (cell + 1) % width > 0 && labels[*cell] != labels[cell + 1]);
    let below = (width..labels.len()).filter(|&cell| labels[cell] != labels[cell - width]);
    let mut seen = vec![false; labels.len()];
    let mut small = 0;
    for start in 0..labels.len() {
        let mut patch = Vec::new();
        if !std::mem::replace(&mut seen[start], true) {
            patch.push(start);
        }
        let mut next = 0;
        while let Some(&cell) = patch.get(next) {
            next += 1;
            let (x, y) = (cell % width, cell / width);
            for y in y.saturating_sub(1)..(y + 2).min(size.height()) {
                for x in x.saturating_sub(1)..(x + 2).min(width) {
                    let other = y * width + x;
                    if labels[other] == labels[start] && !std::mem::replace(&mut seen[other], true) {
                        patch.push(other);
                    }
                }
            }
        }
        small += usize::from((1..=3).contains(&patch.len()));
    }
    (right.count() + below.count(), small)
}

#[test]
fn a_quiet_ground_is_worked_in_calm_patches() {
    // Greys of a slow ramp with a little grain, between looks that are all a little off.
    let size = GridSize::new(120, 80).unwrap();
    let cell = |cell: usize| Some(grey(96 + (cell % 120 / 6) as u8 + noise(cell, 5) as u8).into());
    let field = StitchField::new(size, (0..size.cells()).map(cell).collect());
    let looks = [90, 97, 105, 113, 120].map(|value| Look { lab: grey(value), wish: Wish::Allowed });
    let with = |confetti| {
        let options = Options { colours: Colours::Exactly(5), confetti, ..Options::default() };
        let reduction = reduce(&field, &looks, &options, &Silent).unwrap();
        (unrest(&reduction, size), reduction.figures.mean_delta_e)
    };
    let ((kept_sides, kept_small), kept_off) = with(Confetti::Keep);
    for confetti in [Confetti::Few, Confetti::None] {
        let ((sides, small), off) = with(confetti);
        // Three fifths of the sides: grey looks have no hue that would part them more.
        assert!(
            sides * 5 < kept_sides * 3 && small * 20 < kept_small,
            "{sides} of {kept_sides}, {small} of {kept_small}"
        );
        assert!(off < kept_off * 1.4, "{off} {kept_off}");
    }
}

#[test]
fn an_island_that_is_hardly_seen_is_given_over_as_a_whole_and_one_that_stands_out_stays() {
    let size = GridSize::new(60, 50).unwrap();
    let light = |l: f64| Lab { l, a: 0.0, b: 0.0 };
    let mut cells = vec![light(50.0); size.cells()];
    let island = |left: usize| (0..12).map(move |cell| (20 + cell / 4) * 60 + left + cell % 4);
    island(10).for_each(|cell| cells[cell] = light(50.92));
    island(40).for_each(|cell| cells[cell] = light(65.0));
    // So that all looks are in use.
    cells[2900..].fill(light(52.0));
    let field = StitchField::new(size, cells.into_iter().map(|lab| Some(lab.into())).collect());
    let looks = [49.8, 52.0, 65.0].map(|l| Look { lab: light(l), wish: Wish::Allowed });
    let options = Options { colours: Colours::Exactly(3), ..Options::default() };
    let reduction = reduce(&field, &looks, &options, &Silent).unwrap();
    let at = |cell: usize| reduction.chosen[usize::from(reduction.labels[cell].unwrap())];
    assert!(island(10).all(|cell| at(cell) == 0), "an island of another grey");
    assert!(island(40).all(|cell| at(cell) == 2), "the light island is gone");
}

/// The 450 colours of a card for trials.
fn card() -> Vec<Look> {
    let rows = include_str!("../../../tests/checks/range-450.csv").lines().skip(1);
    let colour = |row: &str| row.split(',').nth(2).unwrap().parse::<Srgb8>().unwrap();
    rows.map(|row| Look { lab: colour(row).lab(), wish: Wish::Allowed }).collect()
}

#[test]
fn one_red_beetle_on_a_meadow_stays_red() {
    // Greens out of focus, of many hues and lightnesses, and a beetle of 60 in 8,960 cells.
    let size = GridSize::new(112, 80).unwrap();
    let wave = |x: f64, y: f64, long: f64| libm::sin(x / long) * libm::cos(y / (0.7 * long));
    let beetle = |x: usize, y: usize| (70..80).contains(&x) && (30..36).contains(&y);
    let red = Srgb8 { r: 178, g: 32, b: 28 };
    let cells = (0..size.cells()).map(|cell| {
        let (x, y) = (cell % 112, cell / 112);
        if beetle(x, y) {
            return Some(red.lab().into());
        }
        let [x, y] = [x, y].map(|place| place as f64);
        let (light, warm, deep) = (wave(x, y, 17.0), wave(y, x, 29.0), wave(x + y, x - y, 23.0));
        let lab = Lab { l: 50.0 + 28.0 * light, a: -24.0 + 14.0 * warm, b: 26.0 + 16.0 * deep };
        Some(lab.linear().srgb8().lab().into())
    });
    let field = StitchField::new(size, cells.collect());
    let looks = card();
    for colours in [3, 5, 12] {
        let options = Options { colours: Colours::Exactly(colours), ..Options::default() };
        let reduction = reduce(&field, &looks, &options, &Silent).unwrap();
        let seen: Vec<Lab> = (0..size.cells())
            .filter(|cell| beetle(cell % 112, cell / 112))
            .map(|cell| looks[reduction.chosen[usize::from(reduction.labels[cell].unwrap())]].lab)
            .collect();
        let mut mean = [0.0; 3];
        for light in seen.iter().map(|lab| lab.linear().channels) {
            (0..3).for_each(|channel| mean[channel] += light[channel] / seen.len() as f64);
        }
        let off = LinearRgb { channels: mean }.lab().ciede2000(red.lab());
        assert!(off < 8.0, "{colours} threads: the beetle is {off} off");
    }
}
