//! What a picture is about, where cloth is left bare, and whether thread covers, as a person asks for it.

use std::path::Path;
use std::process::Command;

use brede::ground::colour::{Lab, Srgb8};
use image::{Rgb, RgbImage};
use serde_json::Value;

use crate::running::{Made, brede, make, output, python};

const CARD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/checks/range-450.csv");
const PORTRAIT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/portrait-painted.jpg");

/// The note that begins so.
fn note<'a>(made: &'a Made, begins: &str) -> Option<&'a str> {
    made.summary["notes"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(Value::as_str)
        .find(|note| note.starts_with(begins))
}

/// The number that stands before a text.
fn before(note: &str, text: &str) -> f64 {
    let (head, _) = note.split_once(text).unwrap_or_else(|| panic!("no `{text}` in {note}"));
    head.rsplit([' ', '('])
        .next()
        .unwrap()
        .replace(',', "")
        .parse()
        .unwrap_or_else(|_| panic!("no number before `{text}` in {note}"))
}

fn cells(made: &Made) -> image::RgbaImage {
    image::open(made.file("cells.png")).unwrap().to_rgba8()
}

/// Greens out of focus, with a sharp red beetle with dark spots on 1 % of them.
fn beetle(path: &Path) {
    let mut picture = RgbImage::from_fn(700, 500, |x, y| {
        let [x, y] = [f64::from(x), f64::from(y)];
        let wave = (x / 83.0).sin() + (y / 61.0).cos() + (f64::midpoint(x, y) / 47.0).sin();
        let value = |middle: f64, by: f64| (middle + by * wave) as u8;
        Rgb([value(84.0, 18.0), value(124.0, 26.0), value(60.0, 14.0)])
    });
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let [dx, dy] = [(f64::from(x) - 430.0) / 42.0, (f64::from(y) - 300.0) / 26.5];
        if dx * dx + dy * dy < 1.0 {
            *pixel = Rgb([186 + (10.0 * dx) as u8, 34, 28]);
        }
    }
    picture.save(path).unwrap();
}

#[test]
fn a_red_beetle_of_a_hundredth_of_the_picture_stays_red_in_twelve_threads() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("beetle.png");
    beetle(&photo);
    let made = make(photo.to_str().unwrap(), &["--columns", "140", "--colours", "12", "--shades", CARD]);
    let note = note(&made, "taken for the subject: what is sharp and stands out").unwrap();
    assert!((1.0..=3.0).contains(&before(note, " % of the squares")), "{note}");
    let cells = cells(&made);
    let mean = Srgb8 { r: 186, g: 34, b: 28 }.lab();
    let inside = cells.enumerate_pixels().filter(|(x, y, _)| {
        let [dx, dy] = [(f64::from(*x) - 86.0) / 7.5, (f64::from(*y) - 60.0) / 4.5];
        dx * dx + dy * dy < 1.0
    });
    let mut all: Vec<f64> = inside.map(|(_, _, pixel)| lab(pixel.0).ciede2000(mean)).collect();
    all.sort_by(f64::total_cmp);
    assert!(all.len() > 60 && all[all.len() - 1] < 8.0, "{} cells, the worst {:?}", all.len(), all.last());
}

fn lab([r, g, b, _]: [u8; 4]) -> Lab {
    Srgb8 { r, g, b }.lab()
}

#[test]
fn a_face_is_taken_for_the_subject_and_drawn_with_rulers() {
    let folder = tempfile::tempdir().unwrap();
    let shown = folder.path().join("shown.png");
    let options = ["--columns", "100", "--colours", "20", "--shades", CARD];
    let auto = make(PORTRAIT, &[&options[..], &["--show-detail", shown.to_str().unwrap()]].concat());
    let found = note(&auto, "taken for the subject: 1 face ").unwrap();
    // The head is at the middle of the picture's upper half: of a portrait down to the knees some 12 %.
    assert!((5.0..25.0).contains(&before(found, " % of the squares")), "{found}");
    let drawn = image::open(&shown).unwrap().to_rgb8();
    assert!(drawn.width() > 336 && drawn.height() > 426, "{:?}", drawn.dimensions());
    let none = make(PORTRAIT, &[&options[..], &["--detail", "none"]].concat());
    assert!(note(&none, "taken for the subject").is_none() && note(&none, "no face found").is_none());
    assert_ne!(cells(&auto), cells(&none));
    // The chart remembers what it was asked.
    let chart = auto.file("chart.json");
    let again = make(PORTRAIT, &["--as", chart.to_str().unwrap()]);
    assert_eq!(cells(&again), cells(&auto));
}

#[test]
fn a_chart_of_before_subjects_is_made_again_as_it_was() {
    let options = ["--columns", "60", "--colours", "8", "--bare", "8"];
    let none = make(PORTRAIT, &[&options[..], &["--detail", "none"]].concat());
    let mut chart: Value = serde_json::from_slice(&std::fs::read(none.file("chart.json")).unwrap()).unwrap();
    // As they were kept then: neither field was known.
    let request = chart["made"]["request"].as_object_mut().unwrap();
    assert!(!request.contains_key("seek"), "what was not sought leaves no trace");
    request.remove("bare_by");
    let old = none.folder.path().join("old.chart.json");
    std::fs::write(&old, chart.to_string()).unwrap();
    let again = make(PORTRAIT, &["--as", old.to_str().unwrap()]);
    let kept: Value = serde_json::from_slice(&std::fs::read(again.file("chart.json")).unwrap()).unwrap();
    let kept = kept["made"]["request"].as_object().unwrap();
    assert!(["seek", "bare_by", "bare_at", "bare_mask"].iter().all(|field| !kept.contains_key(*field)));
    assert!(note(&again, "taken for the subject").is_none());
}

/// A blue house with a window of the sky's colour, under a sky of the cloth's.
fn house(path: &Path) {
    let picture = RgbImage::from_fn(200, 160, |x, y| match (x, y) {
        (40..160, 60..) if !((80..110).contains(&x) && (90..110).contains(&y)) => Rgb([40, 70, 120]),
        (_, 140..) => Rgb([60, 100, 50]),
        _ => Rgb([244, 236, 216]),
    });
    picture.save(path).unwrap();
}

#[test]
fn bare_leaves_the_sky_bare_and_the_window_only_where_it_is_pointed_at() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("house.png");
    house(&photo);
    let photo = photo.to_str().unwrap();
    let options = ["--columns", "100", "--colours", "4", "--picture", "photo", "--bare", "8"];
    let clear = |made: &Made, x: u32, y: u32| cells(made).get_pixel(x, y).0[3] == 0;
    let usual = make(photo, &options);
    assert!(clear(&usual, 5, 5) && clear(&usual, 95, 60), "the sky");
    assert!(!clear(&usual, 47, 50) && !clear(&usual, 60, 40), "the house");
    let saved = note(&usual, "left unstitched: 1 region; ").unwrap();
    let [stitches, least] = [" stitches", " to "].map(|text| before(saved, text));
    let most = before(saved, " evenings");
    // By hand: 300 and 200 stitches an evening.
    assert!(stitches > 4000.0, "{saved}");
    assert!((least - stitches / 300.0).abs() < 0.51 && (most - stitches / 200.0).abs() < 0.51, "{saved}");
    // The window is at 80 to 110, 90 to 110 of 200 x 160 pixels.
    for place in ["95,100", "47.5%,62.5%"] {
        let named = make(photo, &[&options[..], &["--bare-at", place]].concat());
        assert!(clear(&named, 47, 50) && clear(&named, 5, 5), "{place}");
    }
    let far = make(photo, &[&options[..], &["--bare-at", "60,120"]].concat());
    let warnings = far.summary["warnings"].to_string();
    assert!(warnings.contains("nothing is left bare at 60,120"), "{warnings}");
    let mask = folder.path().join("mask.png");
    RgbImage::from_fn(20, 16, |x, _| Rgb([if x < 11 { 255 } else { 0 }; 3])).save(&mask).unwrap();
    let painted = make(photo, &[&options[..], &["--bare-at", mask.to_str().unwrap()]].concat());
    assert!(clear(&painted, 47, 50) && !clear(&painted, 60, 40));
    let chart = painted.file("chart.json");
    let again = make(photo, &["--as", chart.to_str().unwrap()]);
    assert_eq!(cells(&again), cells(&painted));
    let outside = brede().args(["make", photo, "--bare", "8", "--bare-at", "500,10"]).output().unwrap();
    let said = String::from_utf8_lossy(&outside.stderr);
    assert!(outside.status.code() == Some(1) && said.contains("500,10") && said.contains("hint: "), "{said}");
}

#[test]
fn the_verdict_on_one_strand_names_the_command_that_mends_it() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("red.png");
    RgbImage::from_fn(40, 30, |x, _| Rgb([if x < 20 { 250 } else { 30 }, 240, 230])).save(&photo).unwrap();
    let made = |strands: &str| {
        let mut command = brede();
        command.args([
            "make",
            photo.to_str().unwrap(),
            "--cloth",
            "#aa1515",
            "--replace",
            "--no-proof",
            "--out",
        ]);
        output(command.arg(folder.path()).args(["--strands", strands]))
    };
    let two = made("2");
    assert!(two.contains("2 strands: covers well"), "{two}");
    let one = made("1");
    assert!(one.contains("one strand: better not"), "{one}");
    let command = one.lines().find(|line| line.starts_with("  brede make ")).unwrap();
    assert!(command.contains("--strands 2") && !command.contains("--strands 1"), "{command}");
    assert!(command.contains("'#aa1515'"), "as a shell takes it: {command}");
    // The same verdict for any chart, thread by thread.
    let chart = folder.path().join("red.chart.json");
    let told = output(brede().args(["cloth", "--json"]).arg(&chart));
    let told: Value = serde_json::from_str(&told).unwrap();
    let verdict = &told["charts"][0]["verdict"];
    assert_eq!(
        (&verdict["verdict"], &verdict["mend"]),
        (&"better-not".into(), &serde_json::json!({"strands": 2}))
    );
    assert_eq!(verdict["needles"].as_array().unwrap().len(), 2);
    let words = output(brede().arg("cloth").arg(&chart));
    assert!(
        words.contains("better not")
            && words.contains("full cross in 1 strand")
            && words.contains("better: 2 strands"),
        "{words}"
    );
}

#[test]
fn strands_distance_detail_and_bare_cloth_are_compared_side_by_side() {
    let folder = tempfile::tempdir().unwrap();
    let ways = [("strands=1,2", 2), ("seen-from=1m,4m", 2), ("detail=auto,none", 2), ("bare=none,40", 2)];
    for (what, choices) in ways {
        let told = output(
            brede()
                .args([
                    "make",
                    PORTRAIT,
                    "--columns",
                    "40",
                    "--colours",
                    "6",
                    "--json",
                    "--replace",
                    "--compare",
                    what,
                ])
                .arg("--out")
                .arg(folder.path()),
        );
        let told: Value = serde_json::from_str(&told).unwrap();
        let compared = told["compared"].as_array().unwrap();
        assert_eq!(compared.len(), choices, "{what}: {told}");
        let skeins: Vec<u64> = compared.iter().map(|one| one["skeins"].as_u64().unwrap()).collect();
        let errors: Vec<f64> = compared.iter().map(|one| one["mean_delta_e"].as_f64().unwrap()).collect();
        assert!(skeins[0] != skeins[1] || (errors[0] - errors[1]).abs() > 1e-3, "{what}: {told}");
    }
    // From afar a difference stitch by stitch says little, and the words say so.
    for (what, told_so) in [("seen-from=1m,4m", true), ("6", false)] {
        let mut command = brede();
        command.args(["make", PORTRAIT, "--columns", "20", "--colours", "6", "--replace", "--compare", what]);
        let told = output(command.arg("--out").arg(folder.path()));
        assert_eq!(told.contains("stitch by stitch: from afar stitches mix"), told_so, "{told}");
    }
    for bad in ["strands=9", "seen-from=4", "seen-from=1m,30m"] {
        let bad = brede().args(["make", PORTRAIT, "--compare", bad]).output().unwrap();
        let said = String::from_utf8_lossy(&bad.stderr);
        assert!(bad.status.code() == Some(2) && said.contains("strands=1,2"), "{said}");
    }
}

/// A photo, the square about the face in its pixels, and the sizes of charts at which it is looked for.
type Face<'a> = (&'a str, &'a str, [&'a str; 2]);

#[test]
#[ignore = "needs Python with scikit-image and Pillow (BREDE_PYTHON)"]
fn faces_are_nearer_than_without_a_subject_and_the_cascade_of_scikit_image_finds_them() {
    let folder =
        output(Command::new(python()).args(["-c", "import skimage.data as d; print(d.__path__[0])"]));
    let astronaut = Path::new(folder.trim()).join("astronaut.png");
    let officer = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/officer.jpg");
    let faces: [Face<'_>; 3] = [
        (astronaut.to_str().unwrap(), "176,67,96", ["120", "180"]),
        (officer, "169,111,212", ["100", "140"]),
        (PORTRAIT, "133,81,72", ["120", "140"]),
    ];
    let (mut found, mut ratios) = (0, Vec::new());
    for (photo, square, sizes) in faces {
        for columns in sizes {
            let made = |detail| {
                let options = ["--columns", columns, "--colours", "30", "--shades", CARD];
                make(photo, &[&options[..], &["--no-proof", "--detail", detail]].concat())
            };
            let (auto, none) = (made("auto"), made("none"));
            let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/faces_found.py");
            let mut judge = Command::new(python());
            judge.args([script, photo, square]).arg(auto.file("cells.png")).arg(none.file("cells.png"));
            let told: Value = serde_json::from_str(&output(&mut judge)).unwrap();
            let [picture, cells] = ["photo", "cells"].map(|of| told[of].as_u64().unwrap());
            // What is found in four windows alone is lost by as little as noise of one grey (DEVELOPERS.md).
            assert!(picture < 6 || cells > 0, "{photo} at {columns}: {told}");
            found += usize::from(picture >= 6);
            ratios.push([1, 2].map(|part| told["ratio"][part].as_f64().unwrap()));
        }
    }
    assert!(found >= 4, "the cascade finds {found} faces in the pictures: it judges nothing");
    let mean = |part: usize| ratios.iter().map(|ratio| ratio[part]).sum::<f64>() / ratios.len() as f64;
    assert!(
        mean(0) < 0.9 && mean(1) < 0.9,
        "faces {:.3}, eyes {:.3} of what they are without",
        mean(0),
        mean(1)
    );
}
