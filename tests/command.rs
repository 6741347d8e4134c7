//! The command as a person meets it: what it says, how it ends, what it leaves behind.

use std::process::Output;

use crate::running::{brede, make, output};

const ROCK_POOL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg");
const BOAT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/little-boat.png");

fn fails(arguments: &[&str], code: i32) -> String {
    let Output { status, stdout, stderr } = brede().args(arguments).output().unwrap();
    let said = String::from_utf8_lossy(&stderr).into_owned();
    assert_eq!(status.code(), Some(code), "{arguments:?}: {said}");
    assert!(stdout.is_empty(), "{arguments:?}: nothing but results on standard output");
    said
}

#[test]
fn make_writes_five_files_and_says_so_as_json() {
    let made = make(ROCK_POOL, &["--columns", "60", "--colours", "12"]);
    for ending in ["chart.json", "pdf", "cells.png", "stitched.png", "threads.csv"] {
        assert!(made.file(ending).metadata().unwrap().len() > 100, "{ending}");
    }
    assert_eq!(made.summary["columns"], 60);
    assert_eq!(made.summary["colours"], 12);
    assert_eq!(std::fs::read_dir(made.folder.path()).unwrap().count(), 5);
    let cells = image::open(made.file("cells.png")).unwrap();
    assert_eq!(u64::from(cells.height()), made.summary["rows"].as_u64().unwrap());
}

#[test]
fn the_same_input_gives_the_same_bytes_on_one_thread_and_on_two() {
    let options = ["--columns", "90", "--colours", "20"];
    let first = make(ROCK_POOL, &options);
    let folder = tempfile::tempdir().unwrap();
    let done = brede()
        .env("RAYON_NUM_THREADS", "1")
        .env("TZ", "Pacific/Auckland")
        .env("LC_ALL", "tr_TR.UTF-8")
        .args(["make", ROCK_POOL, "--quiet", "--out"])
        .arg(folder.path())
        .args(options)
        .output()
        .unwrap();
    assert!(done.status.success() && done.stdout.is_empty() && done.stderr.is_empty());
    for ending in ["chart.json", "pdf", "cells.png", "stitched.png", "threads.csv"] {
        let second = std::fs::read(folder.path().join(format!("rock-pool.{ending}"))).unwrap();
        assert!(std::fs::read(first.file(ending)).unwrap() == second, "{ending} differs");
    }
}

#[test]
fn transparent_ground_stays_bare_cloth() {
    let made = make(BOAT, &["--colours", "8"]);
    let bare = made.summary["bare"].as_u64().unwrap();
    assert!(bare > 1000, "{bare}");
    assert!(made.summary["notes"][0].as_str().unwrap().contains("flat drawing"), "{}", made.summary);
    let cells = image::open(made.file("cells.png")).unwrap().to_rgba8();
    let clear = cells.pixels().filter(|pixel| pixel.0[3] == 0).count() as u64;
    assert_eq!(clear, bare);
}

#[test]
fn bad_input_ends_in_one_clear_error_with_a_hint() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path().to_str().unwrap();
    let card = folder.path().join("card.csv");
    std::fs::write(&card, "code,name,colour\nA,Kelp,green\n").unwrap();
    let card = card.to_str().unwrap();
    for (arguments, part) in [
        (vec!["make", "no-such-photo.jpg"], "no-such-photo.jpg"),
        (vec!["make", here], "hint:"),
        (vec!["make", ROCK_POOL, "--shades", "no-such-card.csv"], "no-such-card.csv"),
        (vec!["make", ROCK_POOL, "--shades", card], "row 2, column `colour`"),
        (vec!["make", ROCK_POOL, "--use", "NOPE"], "no thread `NOPE`"),
        (vec!["make", ROCK_POOL, "--columns", "3"], "4 to 2000"),
        (vec!["make", ROCK_POOL, "--columns", "2001"], "4 to 2000"),
        (vec!["make", ROCK_POOL, "--columns", "60", "--cell", "0.5mm"], "1.5 to 10 mm"),
        (vec!["print", ROCK_POOL, "-o", "x.pdf"], "not a brede chart"),
    ] {
        let out = folder.path().join("out");
        let mut arguments = arguments;
        if arguments[0] == "make" {
            arguments.extend(["--out", out.to_str().unwrap()]);
        }
        let said = fails(&arguments, 1);
        assert!(said.starts_with("error: "), "{said}");
        assert!(said.contains(part) && said.contains("hint: "), "{arguments:?}: {said}");
        assert!(!out.exists(), "{arguments:?} left something behind");
    }
}

#[test]
fn a_wrong_way_of_asking_ends_with_2() {
    for arguments in [
        vec!["stitch"],
        vec!["make"],
        vec!["make", ROCK_POOL, "--colours", "1"],
        vec!["make", ROCK_POOL, "--colours", "201"],
        vec!["make", ROCK_POOL, "--count", "12.3"],
        vec!["make", ROCK_POOL, "--cloth", "creamy"],
        vec!["make", ROCK_POOL, "--width", "20"],
        vec!["make", ROCK_POOL, "--paper", "a9"],
    ] {
        assert!(!fails(&arguments, 2).is_empty());
    }
}

#[test]
fn a_printed_chart_can_be_printed_again_on_other_paper() {
    let made = make(BOAT, &["--colours", "6"]);
    let pdf = made.folder.path().join("again.pdf");
    let done = brede()
        .arg("print")
        .arg(made.file("chart.json"))
        .arg("-o")
        .arg(&pdf)
        .args(["--paper", "letter", "--ink", "grey", "--pictures"])
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF-1.7"));
    for ending in ["cells.png", "stitched.png", "threads.csv"] {
        let again = std::fs::read(pdf.with_extension(ending)).unwrap();
        assert!(again == std::fs::read(made.file(ending)).unwrap(), "{ending} is the one that make wrote");
    }
    let chart = made.file("chart.json");
    let small = ["print", chart.to_str().unwrap(), "-o", pdf.to_str().unwrap(), "--cell", "1.5mm"];
    let said = String::from_utf8(brede().args(small).output().unwrap().stderr).unwrap();
    assert!(said.contains("warning: squares of 1.5 mm are under 2 mm"), "{said}");
}

#[test]
fn a_title_is_one_line_of_letters() {
    let made = make(
        BOAT,
        &["--columns", "20", "--colours", "3", "--no-proof", "--title", "潮\u{202e}だまり\nby Ines"],
    );
    assert_eq!(made.summary["title"], "潮だまり by Ines");
    let chart = std::fs::read(made.file("chart.json")).unwrap();
    assert_eq!(brede::chart::Chart::from_json(&chart).unwrap().title, "潮だまり by Ines");
}

#[test]
fn a_chart_of_one_pixel_a_cell_is_taken_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let drawing = folder.path().join("old chart.png");
    let colours = [[200, 30, 30, 255], [20, 60, 160, 255], [0, 0, 0, 0]];
    let picture =
        image::RgbaImage::from_fn(12, 9, |x, y| image::Rgba(colours[(x as usize + y as usize / 2) % 3]));
    picture.save(&drawing).unwrap();
    let made = make(drawing.to_str().unwrap(), &["--exact"]);
    assert_eq!((made.summary["columns"].as_u64(), made.summary["rows"].as_u64()), (Some(12), Some(9)));
    assert_eq!(made.summary["colours"], 2);
    assert_eq!(made.summary["matches"].as_array().unwrap().len(), 2);
    let cells = image::open(made.file("cells.png")).unwrap().to_rgba8();
    let name = |pixel: &image::Rgba<u8>| if pixel.0[3] == 0 { None } else { Some(pixel.0) };
    for (x, y, pixel) in picture.enumerate_pixels() {
        for (u, v, other) in picture.enumerate_pixels() {
            let alike = name(cells.get_pixel(x, y)) == name(cells.get_pixel(u, v));
            assert_eq!(alike, name(pixel) == name(other), "{x},{y} and {u},{v}");
        }
    }
    let table = folder.path().join("codes.csv");
    std::fs::write(&table, "N01,N02,N01,.\nN02,N02,N01,\n.,.,N01,N01\nN01,.,.,.\n").unwrap();
    let made = make(table.to_str().unwrap(), &["--exact"]);
    assert_eq!(made.summary["stitches"], 9);
    assert_eq!(made.summary["mean_delta_e"], 0.0);
}

#[test]
fn brede_can_choose_how_many_threads_and_says_why() {
    let few = make(BOAT, &["--colours", "auto"]);
    let many = make(ROCK_POOL, &["--colours", "auto", "--columns", "80"]);
    let count = |made: &crate::running::Made| made.summary["colours"].as_u64().unwrap();
    assert!(
        count(&few) < count(&many) && (10..=120).contains(&count(&many)),
        "{} {}",
        count(&few),
        count(&many)
    );
    let notes = &many.summary["notes"];
    let why = format!("{} threads:", count(&many));
    assert!(notes.as_array().unwrap().iter().any(|note| note.as_str().unwrap().starts_with(&why)), "{notes}");
}

#[test]
fn nothing_that_was_read_or_is_of_another_kind_is_written_over() {
    let made = make(ROCK_POOL, &["--columns", "20", "--colours", "4"]);
    let folder = made.folder.path();
    let chart = folder.join("rock-pool.chart.json").to_str().unwrap().to_owned();
    let [photo, card] = ["photo.jpg", "card.csv"].map(|name| folder.join(name).to_str().unwrap().to_owned());
    std::fs::copy(ROCK_POOL, &photo).unwrap();
    std::fs::write(&card, "code,name,colour\nS01,Foam,#f6f4ec\n").unwrap();
    for (arguments, kept, why) in [
        (vec!["print", &chart, "-o", &chart], &chart, "is a chart; a PDF"),
        (vec!["print", &chart, "-o", &photo], &photo, "is a JPEG picture"),
        (vec!["kit", &chart, "--pdf", &photo], &photo, "is a JPEG picture"),
        (vec!["kit", &chart, "--shades", &card, "--csv", &card], &card, "was read just now"),
        (vec!["mark", &chart, "outline", "all", "--stitched", "--show", &photo], &photo, "is a JPEG picture"),
        (vec!["shades", "move", &chart, &card, "-o", &card], &card, "is a text or a table"),
    ] {
        let before = std::fs::read(kept).unwrap();
        let Output { status, stderr, .. } = brede().args(&arguments).output().unwrap();
        let said = String::from_utf8_lossy(&stderr);
        assert_eq!(status.code(), Some(1), "{arguments:?}: {said}");
        assert!(said.contains(why) && said.contains("another name"), "{arguments:?}: {said}");
        assert_eq!(std::fs::read(kept).unwrap(), before, "{arguments:?}");
    }
    // The same again is what a person means who prints once more.
    for _ in 0..2 {
        let pages = folder.join("again.pdf");
        assert!(brede().arg("print").arg(&chart).arg("-o").arg(&pages).output().unwrap().status.success());
    }
}

#[test]
fn glittering_threads_are_chosen_by_name_alone_and_spare_ones_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let card = folder.path().join("card.csv");
    // The rock pool's colours are metallic on this card: without a name they are left alone.
    let greys = (0..12).map(|at| format!("G{at},Grey {at},#{0:02x}{0:02x}{0:02x},cotton\n", 20 + 20 * at));
    let glitter = "M1,Sand,#b09a80,Metallic\nM2,Water,#8fd0b8,metallic thread\n";
    std::fs::write(&card, format!("code,name,colour,kind\n{}{glitter}", greys.collect::<String>())).unwrap();
    let card = card.to_str().unwrap();
    let codes = |arguments: &[&str]| {
        let made = make(ROCK_POOL, &[&["--columns", "30", "--shades", card], arguments].concat());
        let chart = std::fs::read(made.folder.path().join("rock-pool.chart.json")).unwrap();
        let chart = brede::chart::Chart::from_json(&chart).unwrap();
        let codes: Vec<String> = chart.needles().iter().map(brede::chart::Needle::code).collect();
        (codes, made.summary["warnings"].to_string())
    };
    assert!(codes(&["--colours", "6"]).0.iter().all(|code| code.starts_with('G')));
    assert!(codes(&["--colours", "6", "--use", "M2"]).0.contains(&"M2".to_owned()));
    // Nine hundred stitches in 60 threads of the demonstration card: some work next to nothing.
    let made = make(ROCK_POOL, &["--columns", "30", "--colours", "60"]);
    assert!(made.summary["warnings"].to_string().contains("of 60 threads work fewer than 10 stitches"));
}

#[test]
fn bare_cloth_serves_as_a_colour_and_what_it_saves_is_told() {
    let night = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/deep-field.jpg");
    let made = make(night, &["--columns", "100", "--cloth", "#0b0d12", "--bare", "8"]);
    let bare = made.summary["bare"].as_u64().unwrap();
    assert!(bare > 2000, "{bare}");
    let notes = made.summary["notes"].as_array().unwrap().iter().filter_map(serde_json::Value::as_str);
    let note = notes.clone().find(|note| note.starts_with("left unstitched: ")).unwrap();
    assert!(note.replace(',', "").contains(&format!("saves {bare} stitches")), "{note}");
    let metres: f64 = note.split("stitches, ").nth(1).unwrap().split(" m").next().unwrap().parse().unwrap();
    assert!(metres > 10.0, "{note}");
    // The row to choose a number by counts all cells so near, those in the subject and between stars too.
    let row = notes.clone().find(|note| note.starts_with("squares as near")).unwrap();
    let near = row.split(", 8 ΔE ").nth(1).unwrap().split(", ").next().unwrap();
    let near: u64 = near.replace(',', "").parse().unwrap();
    assert!(bare < near && near < bare + bare / 10, "{row}, {bare}");
}

#[test]
fn owned_threads_go_before_others_that_are_hardly_better() {
    let tin = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/tin-of-threads.csv");
    let owned: Vec<String> = csv::Reader::from_path(tin)
        .unwrap()
        .records()
        .map(Result::unwrap)
        .filter(|row| row[3].parse::<f64>().is_ok_and(|owned| owned > 0.0))
        .map(|row| row[0].to_owned())
        .collect();
    let used = |made: &crate::running::Made| {
        let list = csv::Reader::from_path(made.file("threads.csv")).unwrap().into_records();
        list.map(Result::unwrap).filter(|row| owned.contains(&row[0].to_owned())).count()
    };
    // All squares alike: where a subject weighs, the threads that it needs are owned anyway.
    let options = ["--shades", tin, "--columns", "80", "--colours", "24", "--detail", "none"];
    let (plain, preferring) =
        (make(ROCK_POOL, &options), make(ROCK_POOL, &[&options[..], &["--prefer-owned"]].concat()));
    assert!(used(&preferring) > used(&plain), "{} of owned, {} before", used(&preferring), used(&plain));
    let worse = preferring.summary["mean_delta_e"].as_f64().unwrap()
        / plain.summary["mean_delta_e"].as_f64().unwrap();
    assert!(worse < 1.15, "{worse}");
}

#[test]
fn detail_is_kept_where_it_is_asked_for() {
    let cat = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/cat.jpg");
    let options = ["--columns", "90", "--colours", "16", "--confetti", "none"];
    let plain = make(cat, &options);
    let kept = make(cat, &[&options[..4], &["--detail", "35%,20%,40%,45%"]].concat());
    let singles = |made: &crate::running::Made| made.summary["single_percent"].as_f64().unwrap();
    assert_eq!(singles(&plain), 0.0);
    assert!(singles(&kept) > 0.3, "{}", singles(&kept));
}

#[test]
fn numbers_of_threads_are_compared_side_by_side() {
    let folder = tempfile::tempdir().unwrap();
    let done = brede()
        .args(["make", ROCK_POOL, "--columns", "60", "--compare", "8,16,24", "--json", "--out"])
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let told: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
    let errors: Vec<f64> = told["compared"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["mean_delta_e"].as_f64().unwrap())
        .collect();
    assert!(errors.len() == 3 && errors[0] > errors[1] && errors[1] > errors[2], "{errors:?}");
    assert!(image::image_dimensions(folder.path().join("rock-pool.compare.png")).unwrap().0 > 1500);
}

#[test]
fn a_chart_is_made_again_by_what_it_remembers() {
    let folder = tempfile::tempdir().unwrap();
    let [mask, cover] = ["face.png", "mine.toml"].map(|name| folder.path().join(name));
    image::RgbImage::from_fn(8, 6, |x, _| image::Rgb([if x < 3 { 255 } else { 0 }; 3])).save(&mask).unwrap();
    std::fs::write(&cover, "flattening = 2.0\n").unwrap();
    let given = ["--detail", mask.to_str().unwrap(), "--cover", cover.to_str().unwrap()];
    let asked = ["--columns", "70", "--colours", "9", "--bare", "6", "--dither", "4", "--seed", "7"];
    let first = make(ROCK_POOL, &[&given[..], &asked[..], &["--title", "Low tide"][..]].concat());
    let chart = first.file("chart.json");
    let again = make(ROCK_POOL, &["--as", chart.to_str().unwrap()]);
    for ending in ["chart.json", "pdf", "cells.png", "stitched.png", "threads.csv"] {
        let [one, other] = [&first, &again].map(|made| std::fs::read(made.file(ending)).unwrap());
        assert!(one == other, "{ending} differs");
    }
    let text = std::fs::read_to_string(&chart).unwrap();
    assert!(!text.contains(folder.path().to_str().unwrap()), "a chart holds no path");
    let said = fails(&["make", BOAT, "--as", chart.to_str().unwrap(), "--out", text_of(&folder)], 1);
    assert!(said.contains("is not the picture that the chart") && said.contains("hint: "), "{said}");
    let said = fails(&["make", ROCK_POOL, "--as", chart.to_str().unwrap(), "--columns", "60"], 2);
    assert!(said.contains("--columns"), "{said}");
}

fn text_of(folder: &tempfile::TempDir) -> &str {
    folder.path().to_str().unwrap()
}

#[test]
fn completions_are_written_for_every_shell() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let done = brede().args(["completions", shell]).output().unwrap();
        assert!(done.status.success() && String::from_utf8_lossy(&done.stdout).contains("brede"), "{shell}");
    }
}

/// A chart of invented shells in squares of so many pixels, with dark rules between, as a screen shows it.
fn screen_grab(folder: &std::path::Path, pitch: u32) -> String {
    let colours = [[24, 60, 90], [226, 208, 160], [180, 60, 70], [90, 120, 60]];
    let grab = image::RgbImage::from_fn(40 * pitch, 30 * pitch, |x, y| {
        let (column, row) = (x / pitch, y / pitch);
        let is_rule = x % pitch == 0 || y % pitch == 0;
        let shell = ((column * 7 + row * row) / 9 + column / 5) as usize;
        image::Rgb(if is_rule { [70; 3] } else { colours[shell % 4] })
    });
    let path = folder.join("grab.png");
    grab.save(&path).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn a_screen_grab_of_a_chart_is_taken_square_by_square_and_told() {
    let folder = tempfile::tempdir().unwrap();
    let grab = screen_grab(folder.path(), 10);
    let made = make(&grab, &["--exact", "--no-proof"]);
    assert_eq!([&made.summary["columns"], &made.summary["rows"]], [40, 30]);
    assert_eq!(made.summary["colours"], 4, "rules are no thread");
    let said = made.summary["notes"][0].as_str().unwrap();
    assert!(said.contains("squares of 10.0 pixels") && said.contains("40 x 30"), "{said}");
    // Taken as a photo, it says what it looks like.
    let small = ["--columns", "20", "--colours", "4", "--no-proof"];
    let made = make(&grab, &small);
    let said = made.summary["warnings"].to_string();
    assert!(said.contains("a chart of 40 x 30 squares of 10.0 pixels: --exact"), "{said}");
}

#[test]
fn a_page_of_a_chart_is_told_from_photos() {
    let made = make(ROCK_POOL, &["--columns", "90", "--colours", "12", "--no-proof"]);
    let [pdf, chart] = ["pdf", "chart.json"].map(|ending| made.file(ending));
    let page = made.folder.path().join("page.png");
    // The page as a bad printer leaves it, laid askew.
    let spoilt = ["--spoil", "harsh", "-q", "--picture"];
    let proof = brede().arg("proof").arg(&pdf).arg(&chart).args(spoilt).arg(&page).output().unwrap();
    assert!(page.exists(), "{proof:?}");
    let photo = make(page.to_str().unwrap(), &["--columns", "20", "--colours", "4", "--no-proof"]);
    let said = photo.summary["warnings"].to_string();
    assert!(
        said.contains("looks like a printed page of a chart") && said.contains("NAME.chart.json"),
        "{said}"
    );
    let photos = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos")).unwrap();
    let photos = photos.map(|entry| entry.unwrap().path()).filter(|path| path.extension().unwrap() == "jpg");
    let photos: Vec<_> = photos.chain([ROCK_POOL.into(), BOAT.into()]).collect();
    assert!(photos.len() > 10);
    for path in photos {
        let picture = image::open(&path).unwrap().to_rgba8();
        assert!(!brede::making::squares::look_like_a_page(&picture), "{path:?}");
        assert_eq!(brede::making::squares::Squares::find(&picture), None, "{path:?}");
    }
}

#[test]
fn what_is_no_picture_is_named_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let made = make(BOAT, &["--columns", "20", "--colours", "3", "--no-proof"]);
    for (bytes, what, hint) in [
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".to_vec(), "is a HEIC photo", "save it as JPEG"),
        (std::fs::read(made.file("pdf")).unwrap(), "is a PDF, not a picture", "NAME.chart.json"),
        (
            std::fs::read(made.file("chart.json")).unwrap(),
            "is a chart already",
            "brede print, mark, cloth and kit",
        ),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec(), "is a drawing in SVG", "PNG"),
    ] {
        // Whatever its name says.
        let path = folder.path().join("pool.jpg");
        std::fs::write(&path, bytes).unwrap();
        for exact in [&[][..], &["--exact"]] {
            let said = fails(&[&["make", path.to_str().unwrap()], exact].concat(), 1);
            assert!(said.contains(what) && said.contains("hint: ") && said.contains(hint), "{said}");
        }
    }
}

/// Plane arithmetic: 40 x 30 cm less 5 cm on each side leave 30 x 20; the rock pool is 4 by 3, so 20 cm decide, which are
/// 141 whole stitches of 25.4 / 18 mm. On navy 14 count is the finest that is easy: 110 stitches.
#[test]
fn a_piece_is_as_large_as_the_cloth_at_hand_holds_it() {
    let made = |options: &[&str]| {
        let all = [&["--colours", "4", "--no-proof", "--detail", "none"], options].concat();
        make(ROCK_POOL, &all).summary
    };
    let size = |summary: &serde_json::Value| {
        ["count", "columns", "rows"]
            .map(|field| summary[field].to_string().trim_matches('"').parse::<u32>().unwrap())
    };
    let on = ["--on", "40x30cm"];
    let upright = made(&on);
    assert_eq!(size(&upright), [18, 188, 141]);
    let offers = upright["notes"].to_string();
    for count in ["16", "18", "20"] {
        assert!(offers.contains(&format!("\\n{count} ")), "{offers}");
    }
    assert_eq!(size(&made(&["--on", "30x40cm"])), [18, 188, 141], "the cloth may be turned");
    assert_eq!(size(&made(&[&on[..], &["--cloth", "#1b2a41"]].concat())), [14, 147, 110]);
    assert_eq!(size(&made(&[&on[..], &["--frame", "20cm"]].concat())), [18, 141, 106]);
    assert_eq!(size(&made(&[&on[..], &["--count", "14", "--columns", "60"]].concat())), [14, 60, 45]);
    let refused = brede().args(["make", ROCK_POOL, "--on", "12x9cm"]).output().unwrap();
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert_eq!(refused.status.code(), Some(1), "{said}");
    assert!(
        said.contains("12.0 x 9.0 cm of cloth with 5.0 cm left on each side") && said.contains("--margin"),
        "{said}"
    );
}

/// 240 / (25.4 / 14) = 132.3 stitches and 160 / (25.4 / 14) = 88.2; on 18 count they are 18.6 x 12.4 cm.
#[test]
fn a_bought_piece_is_held_against_other_counts_by_its_size() {
    let told =
        output(brede().args(["cloth", "--size", "24x16cm", "--count", "14", "--have", "30x25cm", "--json"]));
    let told: serde_json::Value = serde_json::from_str(&told).unwrap();
    assert_eq!((&told["columns"], &told["rows"]), (&132.into(), &88.into()));
    let on = told["counts"].as_array().unwrap().iter().find(|on| on["count"] == "18").unwrap();
    assert!((on["finished_mm"][0].as_f64().unwrap() - 186.267).abs() < 0.01, "{on}");
    assert_eq!((&on["eyes"], &on["fits_cloth"]), (&"easy".into(), &"upright".into()));
    let wide = brede().args(["cloth", "--size", "9m", "--count", "18"]).output().unwrap();
    assert_eq!(wide.status.code(), Some(1));
}
