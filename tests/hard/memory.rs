//! What a job may take of memory is reckoned before it begins, and is enough.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use image::{DynamicImage, ImageFormat, RgbImage};

use super::bounded::{command_within, run};
use super::making::encoded;
use super::noise;

/// A picture where every pixel is another colour at random: nothing takes more.
fn grain(folder: &Path, side: u32) -> PathBuf {
    let picture = RgbImage::from_raw(side, side, noise(7, (side * side * 3) as usize)).unwrap();
    let path = folder.join("grain.png");
    std::fs::write(&path, encoded(&DynamicImage::from(picture), ImageFormat::Png)).unwrap();
    path
}

/// How brede ends that makes a chart of a picture, with so many MiB in all of which it is told to use so many.
fn made(photo: &Path, options: &[&str], has: u64, told: u64) -> (i32, String) {
    let out = tempfile::tempdir().unwrap();
    let mut command = command_within(u32::try_from(has << 10).unwrap(), ["make", "--quiet", "--no-proof"]);
    command.arg("--max-memory").arg(told.to_string()).arg("--out").arg(out.path()).args(options).arg(photo);
    let ended = run(&format!("{options:?}"), &mut command);
    let left = std::fs::read_dir(out.path()).unwrap().count();
    assert_eq!(left, if ended.code == 0 { 5 } else { 0 }, "all is written or nothing");
    (ended.code, ended.said)
}

/// The MiB that brede says a job may take, from its refusal.
fn reckoned(photo: &Path, options: &[&str]) -> u64 {
    let (code, said) = made(photo, options, 300, 90);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("at most 90 MB may be used") && said.contains("--max-memory"), "{said}");
    let number = said.split("may take ").nth(1).and_then(|rest| rest.split(' ').next());
    number.unwrap_or_else(|| panic!("no number in {said}")).parse().unwrap()
}

#[test]
fn what_is_reckoned_is_enough_and_less_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let photo = grain(folder.path(), 420);
    let card = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/checks/range-450.csv");
    let keep = ["--columns", "420", "--confetti", "keep", "--shades", card];
    for options in [
        &[&keep[..], &["--colours", "100"]].concat()[..],
        &[&keep[..], &["--colours", "10", "--paper", "a3", "--cell", "2mm"]].concat(),
        &["--columns", "60", "--colours", "40", "--confetti", "none"],
        &["--columns", "8", "--colours", "2"],
    ] {
        let needed = reckoned(&photo, options);
        let (code, said) = made(&photo, options, 300, needed - 1);
        assert!(code == 1 && said.contains("--max-memory"), "{options:?}: {said}");
        let (code, said) = made(&photo, options, needed, needed);
        assert_eq!(code, 0, "{options:?} with {needed} MiB: {said}");
    }
}

#[test]
fn charts_taken_cell_by_cell_are_reckoned_too() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("pool.png");
    let picture =
        RgbImage::from_fn(1500, 1500, |x, y| image::Rgb([(x % 7 * 30) as u8, (y % 5 * 50) as u8, 90]));
    std::fs::write(&photo, encoded(&picture.into(), ImageFormat::Png)).unwrap();
    assert!(reckoned(&photo, &["--exact"]) > 1000);
}

#[test]
fn a_card_too_large_for_the_chart_is_refused_before_work_begins() {
    let folder = tempfile::tempdir().unwrap();
    let photo = grain(folder.path(), 420);
    let mut text = "code,name,colour\n".to_owned();
    for at in 0..10_000 {
        _ = writeln!(text, "S{at},Shade {at},#{:06x}", at * 1677 % 0x0100_0000);
    }
    let card = folder.path().join("card.csv");
    std::fs::write(&card, text).unwrap();
    let options = ["--columns", "420", "--shades", card.to_str().unwrap()];
    let (code, said) = made(&photo, &options, 300, 2048);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("420 x 420 squares may take") && said.contains("2048 MB"), "{said}");
    assert!(said.contains("card") && said.contains("--max-memory"), "{said}");
}

/// How brede ends with so many MiB in all.
fn ended(has: u64, arguments: &[&str]) -> (i32, String) {
    let ended = run(&arguments.join(" "), &mut command_within(u32::try_from(has << 10).unwrap(), arguments));
    (ended.code, ended.said)
}

/// A chart of noise: no two neighbours are alike.
fn noisy_chart(folder: &Path, columns: u32, rows: u32, needles: usize) -> String {
    use brede::chart::{Cell, Chart, Needle, Thread};
    let needle = |index: usize| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: format!("N{index}"),
            name: format!("Noise {index}"),
            colour: format!("#{:06x}", index * 0x0a_3b17 % 0x0100_0000).parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: Default::default(),
    };
    let size = brede::ground::units::GridSize::new(columns, rows).unwrap();
    let grain = noise(11, size.cells() * 2);
    let cells =
        grain.chunks(2).map(|two| Cell::worked((usize::from(two[0]) << 8 | usize::from(two[1])) % needles));
    let (cells, needles) = (cells.collect(), (0..needles).map(needle).collect());
    let chart = Chart::new("Noise".into(), size, Default::default(), needles, cells).unwrap();
    let path = folder.join("noise.chart.json");
    std::fs::write(&path, chart.to_json()).unwrap();
    path.to_str().unwrap().to_owned()
}

/// Each operation on a chart is refused where it may not take what is reckoned for it, and does with that.
#[test]
fn every_operation_on_a_chart_is_reckoned() {
    let folder = tempfile::tempdir().unwrap();
    let chart = noisy_chart(folder.path(), 240, 160, 60);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let [sketch, pdf, order, cloths, moved] =
        ["sketch.png", "pages.pdf", "order.pdf", "cloths.png", "moved.chart.json"].map(at);
    let card = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/checks/range-450.csv");
    for arguments in [
        &["mark", &chart, "list", "--sketch", &sketch][..],
        &["print", &chart, "-o", &pdf],
        &["kit", &chart, &chart],
        &["kit", &chart, "--order", &order, "--order-pages", "8"],
        &["cloth", &chart, "--png", &cloths],
        &["shades", "move", &chart, card, "-o", &moved],
    ] {
        let ended = |has: u64, told: u64| {
            let told = told.to_string();
            ended(has, &[arguments, &["--replace", "--quiet", "--max-memory", &told]].concat())
        };
        let (code, said) = ended(300, 101);
        assert!(
            code == 1 && said.contains("at most 101 MB may be used") && said.contains("--max-memory"),
            "{said}"
        );
        // What is refused first is not always what takes most.
        let mut needed = 101;
        while let (1, said) = ended(1000, needed) {
            let number = said.split("may take ").nth(1).and_then(|rest| rest.split(' ').next());
            let more = number.unwrap_or_else(|| panic!("no number in {said}")).parse().unwrap();
            assert!(more > needed, "{said}");
            needed = more;
        }
        let (code, said) = ended(needed, needed);
        assert_eq!(code, 0, "{arguments:?} with {needed} MiB: {said}");
    }
}

#[test]
fn a_card_of_commas_and_a_swatch_of_many_pixels_take_little_more_than_themselves() {
    let folder = tempfile::tempdir().unwrap();
    let card = folder.path().join("commas.csv");
    std::fs::write(&card, format!("code,name,colour{}\nA,Foam,#f4f4ee\n", ",".repeat(30 << 20))).unwrap();
    let (code, said) = ended(160, &["shades", "show", card.to_str().unwrap()]);
    assert!(code == 1 && said.contains("row 1 of the shade card has more than 1000 fields"), "{said}");
    // 24 million pixels: as many bytes as they are decoded, four times as many as they are looked at.
    let photo = folder.path().join("swatch.png");
    let stripes =
        image::GrayImage::from_fn(6000, 4000, |x, _| image::Luma([if x / 20 % 2 == 0 { 30 } else { 235 }]));
    std::fs::write(&photo, encoded(&stripes.into(), ImageFormat::Png)).unwrap();
    let out = folder.path().join("cover.toml");
    let swatch = ["cloth", "--calibrate", photo.to_str().unwrap(), "--count", "14", "--strands", "1"];
    let colours = ["--thread", "#1e1e1e", "--cloth", "#ebebeb", "-o", out.to_str().unwrap()];
    let (code, said) = ended(200, &[&swatch[..], &colours].concat());
    assert_eq!(code, 0, "{said}");
}
