//! Printed pages read back: by hayro, which did not write them, from the picture of the page.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::running::{brede, make, output, python};
use brede::chart::{Cell, Chart};
use serde_json::Value;

/// Public domain or free to use: see tests/photos/SOURCES.md.
const CAT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/cat.jpg");
const ROCK_POOL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg");
const COFFEE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/coffee.jpg");
const BOAT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/little-boat.png");

fn proof(pdf: &Path, chart: &Path, options: &[&str]) -> Value {
    let text = output(brede().arg("proof").arg(pdf).arg(chart).arg("--json").args(options));
    serde_json::from_str(&text).unwrap()
}

#[test]
fn every_cell_is_read_right_clean_and_from_a_tired_printer() {
    let made = make(CAT, &["--columns", "120", "--colours", "30", "--cell", "3mm"]);
    let cells = made.summary["columns"].as_u64().unwrap() * made.summary["rows"].as_u64().unwrap();
    for spoil in ["none", "home"] {
        let found = proof(&made.file("pdf"), &made.file("chart.json"), &["--spoil", spoil]);
        assert_eq!(found["cells"], cells, "{spoil}");
        assert_eq!(found["right"], cells, "{spoil}");
        assert_eq!(found["repeated"]["cells"], found["repeated"]["right"], "{spoil}");
        assert!(found["repeated"]["cells"].as_u64().unwrap() > 0, "the chart is on several pages");
        assert!(found["margin"].as_f64().unwrap() > 0.05, "{found}");
    }
    // What make said of its strip is what the proof says of the whole.
    let sample = &made.summary["proof_read"];
    assert!(sample["cells"].as_u64().unwrap() > 500);
    assert_eq!(sample["cells"], sample["right"]);
}

/// Symbols are chosen for the squares: with those for 3 mm, 803 of these squares were read wrong on clean pages.
#[test]
fn squares_of_2_mm_in_60_threads_are_read_right() {
    let made = make(COFFEE, &["--columns", "200", "--colours", "60", "--cell", "2mm"]);
    let found = proof(&made.file("pdf"), &made.file("chart.json"), &[]);
    assert_eq!(found["cells"], found["right"], "{found}");
    assert_eq!(found["repeated"]["cells"], found["repeated"]["right"], "{found}");
    assert_eq!(found["cells"], 26_600);
}

#[test]
fn symbols_asked_for_that_print_alike_are_kept_and_told_of_with_the_size_that_does() {
    let made = make(CAT, &["--columns", "60", "--colours", "12", "--cell", "1.5mm", "--no-proof"]);
    let chart = Chart::from_json(&std::fs::read(made.file("chart.json")).unwrap()).unwrap();
    let codes = [0, 1].map(|needle| chart.needles()[needle].code());
    let names = ["cross-thick", "cross-thin"];
    let [one, other] = [0, 1].map(|at| format!("{}={}", codes[at], names[at]));
    let wished = ["--symbol", &one, "--symbol", &other, "--cell", "1.5mm"];
    let told = |warnings: &Value| {
        let warnings = warnings.as_array().unwrap().iter().map(|warning| warning.to_string());
        warnings.filter(|warning| names.iter().all(|name| warning.contains(name))).collect::<Vec<_>>()
    };
    let again = make(CAT, &[&["--columns", "60", "--colours", "12", "--no-proof"][..], &wished].concat());
    let warning = told(&again.summary["warnings"]);
    assert!(warning.len() == 1 && warning[0].contains("squares of 1.5 mm"), "{}", again.summary["warnings"]);
    let kept = Chart::from_json(&std::fs::read(again.file("chart.json")).unwrap()).unwrap();
    assert_eq!([0, 1].map(|needle| kept.needles()[needle].symbol.clone()), names);
    // Printed again as they are, smaller than they were chosen for, they are told of too.
    let pdf = again.folder.path().join("small.pdf");
    let mut print = brede();
    print.arg("print").arg(again.file("chart.json")).arg("-o").arg(&pdf).args(["--cell", "1.5mm", "--json"]);
    let printed: Value = serde_json::from_str(&output(&mut print)).unwrap();
    assert_eq!(told(&printed["warnings"]).len(), 1, "{printed}");
}

#[test]
fn cells_changed_after_printing_are_named_and_no_others() {
    let made = make(CAT, &["--columns", "70", "--colours", "16", "--cell", "3mm"]);
    let chart = Chart::from_json(&std::fs::read(made.file("chart.json")).unwrap()).unwrap();
    let (width, needles) = (chart.size().width(), chart.needles().len());
    let mut cells = chart.cells().to_vec();
    let mut changed = BTreeSet::new();
    for step in 0..25 {
        let place = 17 + step * 131;
        let other = match step {
            // A stitch too many on the page is found as well.
            0 => Cell::BARE,
            _ => Cell::worked((cells[place].needle().unwrap() + 1 + step % (needles - 1)) % needles),
        };
        assert!(cells[place] != other);
        cells[place] = other;
        changed.insert(((place % width + 1) as u64, (place / width + 1) as u64));
    }
    let (title, cloth) = (chart.title.clone(), chart.cloth);
    let other = Chart::new(title, chart.size(), cloth, chart.needles().to_vec(), cells).unwrap();
    let path = made.folder.path().join("changed.chart.json");
    std::fs::write(&path, other.to_json()).unwrap();
    let picture = made.folder.path().join("worst.png");
    let done = brede()
        .arg("proof")
        .arg(made.file("pdf"))
        .args([&path, Path::new("--json"), Path::new("--picture"), &picture])
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(1));
    let said = String::from_utf8_lossy(&done.stderr);
    let told = |part: &str| said.lines().any(|line| line.starts_with(part));
    // The pages are of another chart than the changed one, which is told too.
    assert!(told("warning: ") && told("error: ") && told("hint: ") && said.contains("misread"), "{said}");
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(found["wrong"], changed.len());
    let misread = found["misread"].as_array().unwrap();
    let own = misread.iter().filter(|cell| cell["repeated"] == false);
    let place = |cell: &Value| (cell["column"].as_u64().unwrap(), cell["row"].as_u64().unwrap());
    assert_eq!(own.map(place).collect::<BTreeSet<_>>(), changed);
    assert!(misread.iter().all(|cell| changed.contains(&place(cell))), "{misread:?}");
    let red = |pixel: &&image::Rgb<u8>| pixel.0 == [220, 0, 0];
    assert!(image::open(picture).unwrap().to_rgb8().pixels().filter(red).count() > 100);
}

#[test]
fn large_print_grey_ink_bare_cloth_and_marks_are_read_too() {
    let made = make(BOAT, &["--colours", "8"]);
    assert!(made.summary["bare"].as_u64().unwrap() > 1000);
    let chart = made.file("chart.json");
    for options in [&["--large-print"][..], &["--ink", "grey", "--paper", "letter"], &["--cell", "2mm"]] {
        let pdf = made.folder.path().join("other.pdf");
        output(brede().arg("print").arg(&chart).arg("-o").arg(&pdf).args(options));
        let found = proof(&pdf, &chart, &["--spoil", "home", "--dpi", "200"]);
        assert_eq!(found["wrong"], 0, "{options:?}: {found}");
        assert!(found["right"].as_u64().unwrap() > 1000, "{options:?}: {found}");
    }
}

#[test]
fn what_cannot_be_proof_read_is_told() {
    let made = make(BOAT, &["--colours", "6", "--no-proof"]);
    assert!(made.summary["proof_read"].is_null());
    let other = make(CAT, &["--columns", "30", "--colours", "6", "--no-proof"]);
    let (pdf, chart) = (made.file("pdf"), made.file("chart.json"));
    for (pdf, chart, options, part) in [
        (&chart, &chart, &[][..], "not a PDF"),
        (&pdf, &other.file("chart.json"), &[], "the pages show"),
        (&pdf, &chart, &["--dpi", "5"], "100 to 600"),
    ] {
        let done = brede().arg("proof").arg(pdf).arg(chart).args(options).output().unwrap();
        assert_eq!(done.status.code(), Some(1));
        let said = String::from_utf8_lossy(&done.stderr);
        assert!(done.stdout.is_empty() && said.contains(part) && said.contains("hint: "), "{said}");
    }
}

/// The measures of `brede proof`: 200 x 280 cells in 60 threads, 3 mm, at 150 dots an inch.
#[test]
fn a_large_chart_is_read_whole_from_a_tired_printer_and_all_but_whole_from_a_worse_one() {
    let size = ["--columns", "200", "--rows", "280", "--colours", "60", "--cell", "3mm", "--no-proof"];
    let made = make(ROCK_POOL, &size);
    let (pdf, chart) = (made.file("pdf"), made.file("chart.json"));
    let home = proof(&pdf, &chart, &["--spoil", "home"]);
    assert_eq!((&home["cells"], &home["right"]), (&56_000.into(), &56_000.into()), "{home}");
    let done =
        brede().arg("proof").args([&pdf, &chart]).args(["--json", "--spoil", "harsh"]).output().unwrap();
    let harsh: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert!(harsh["wrong"].as_u64().unwrap() <= 5, "99.99 % of 56,000: {harsh}");
}

/// Squares that another renderer (poppler) and another reader (numpy, scipy, scikit-image) take for what the chart has there,
/// and all, repeats counted; the pages are spoilt there too.
fn read_by_another(pdf: &Path, chart: &Path, spoil: &str) -> [usize; 2] {
    let found = proof(pdf, chart, &[]);
    let places = found["places"].as_array().unwrap();
    let chart = Chart::from_json(&std::fs::read(chart).unwrap()).unwrap();
    let chart = brede::chart::marks::compose(&chart).unwrap().chart;
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/read_pages.py");
    let first = places[0]["page"].to_string();
    let read = output(Command::new(python()).arg(script).arg(pdf).args([
        &chart.needles().len().to_string(),
        &first,
        spoil,
    ]));
    let read: Vec<Value> = serde_json::from_str(&read).unwrap();
    // It numbers needles as they stand in the key: by their codes, which are as long as one another here but for one.
    let mut by_code: Vec<usize> = (0..chart.needles().len()).collect();
    by_code.sort_by_key(|&needle| chart.needles()[needle].code());
    let mut places_in_key = vec![0; by_code.len()];
    for (place, &needle) in by_code.iter().enumerate() {
        places_in_key[needle] = place as i64;
    }
    assert_eq!(read.len(), places.len());
    let (mut seen, mut right, mut all) = (BTreeSet::new(), 0, 0);
    for (read, place) in read.iter().zip(places) {
        for part in ["page", "columns", "rows"] {
            assert_eq!(read[part], place[part], "{spoil}, page {}", place["page"]);
        }
        let number = |part: &str| place[part].as_u64().unwrap() as usize;
        for (index, needle) in read["needles"].as_array().unwrap().iter().enumerate() {
            let (column, row) = (index % number("columns"), index / number("columns"));
            let (column, row) = (number("column") - 1 + column, number("row") - 1 + row);
            let wanted = chart.row(row)[column].needle().map_or(-1, |needle| places_in_key[needle]);
            right += usize::from(needle.as_i64() == Some(wanted));
            all += 1;
            seen.insert((column, row));
        }
    }
    assert_eq!(seen.len(), chart.cells().len());
    [right, all]
}

/// Clean pages are read whole, those of a tired printer but for five squares in ten thousand, of a worse one but for fifty.
#[track_caller]
fn are_read_by_another(pdf: &Path, chart: &Path) {
    for (spoil, least) in [("none", 1.0), ("home", 0.9995), ("harsh", 0.995)] {
        let [right, all] = read_by_another(pdf, chart, spoil);
        assert!(right as f64 >= least * all as f64, "{spoil}: {right} of {all}");
    }
}

#[test]
#[ignore = "needs poppler (pdftoppm) and Python with numpy, scipy and scikit-image (BREDE_PYTHON)"]
fn a_second_reader_finds_the_same_squares_in_60_threads_and_in_100() {
    for colours in ["60", "100"] {
        let size = ["--columns", "200", "--rows", "280", "--colours", colours, "--cell", "3mm", "--no-proof"];
        let made = make(ROCK_POOL, &size);
        are_read_by_another(&made.file("pdf"), &made.file("chart.json"));
    }
}

#[test]
#[ignore = "needs poppler (pdftoppm) and Python with numpy, scipy and scikit-image (BREDE_PYTHON)"]
fn a_second_reader_finds_the_same_squares_beside_and_under_outlines() {
    for colours in ["60", "100"] {
        let made =
            make(ROCK_POOL, &["--columns", "140", "--colours", colours, "--cell", "3mm", "--no-proof"]);
        let (chart, pdf) = (made.file("chart.json"), made.folder.path().join("marked.pdf"));
        let ours = |file: &str| format!("{}/samples-own/{file}", env!("CARGO_MANIFEST_DIR"));
        let mut mark = brede();
        mark.arg("mark").arg(&chart).args(["--from", &ours("rock-pool.marks.toml")]);
        output(mark.args(["--shades", &ours("tin-of-threads.csv"), "--quiet"]));
        output(brede().arg("print").arg(&chart).arg("-o").arg(&pdf).args(["--cell", "3mm", "--quiet"]));
        are_read_by_another(&pdf, &chart);
    }
}

/// Outlines of all patterns that go through a chart of 60 x 60, most of it in bars and sparks that stand over them.
fn with_rings(folder: &Path, base: &Path, name: &str) -> PathBuf {
    let mut marks = String::new();
    for (place, pattern) in PATTERNS.iter().enumerate() {
        let (left, top) = (4 + place % 3 * 18, 6 + place / 3 * 26);
        marks += &format!(
            "[[mark]]\nkind = 'outline'\nname = 'ring {place}'\nthread = 'M{place}'\npattern = '{pattern}'\n\
             motif = {{ pick = [{{ ellipse = [{left}, {top}, {}, {}] }}] }}\n",
            left + 15,
            top + 21
        );
    }
    let from = folder.join("rings.toml");
    std::fs::write(&from, marks).unwrap();
    let card = folder.join("rings.csv");
    let threads = (0..PATTERNS.len()).map(|at| format!("M{at},Weed {at},#{:02x}3040\n", 40 * at));
    std::fs::write(&card, format!("code,name,colour\n{}", threads.collect::<String>())).unwrap();
    let chart = folder.join(name);
    let mut mark = brede();
    mark.arg("mark").arg(base).arg("--from").arg(&from).arg("--shades").arg(&card);
    output(mark.arg("-o").arg(&chart).arg("--quiet"));
    chart
}

/// Symbols of one stroke each, and one whose arms run along diagonals: what an outline may hide, or seem to be.
const STROKES: [&str; 5] = ["spark-turned", "bar-falling", "bar-rising", "bar-across", "bar-upright"];

fn of_strokes() -> crate::running::Made {
    let size = ["--columns", "60", "--rows", "60", "--colours", "6", "--no-proof"];
    let made = make(CAT, &size);
    let chart = Chart::from_json(&std::fs::read(made.file("chart.json")).unwrap()).unwrap();
    let wished: Vec<String> = chart
        .needles()
        .iter()
        .zip(STROKES)
        .map(|(needle, name)| format!("{}={name}", needle.code()))
        .collect();
    let wished = wished.iter().flat_map(|wish| ["--symbol", wish]);
    make(CAT, &size.into_iter().chain(wished).collect::<Vec<_>>())
}

/// Before, 4 of these squares were read wrong in 3 mm and 10 in 2 mm, though the pages are right.
#[test]
fn symbols_that_stand_over_outlines_are_read_right() {
    let made = of_strokes();
    let chart = with_rings(made.folder.path(), &made.file("chart.json"), "rings.chart.json");
    let pdf = made.folder.path().join("rings.pdf");
    for (cell, ink, spoil) in [
        ("3mm", "colour", "none"),
        ("3mm", "colour", "home"),
        ("3mm", "grey", "none"),
        ("2mm", "colour", "none"),
    ] {
        output(brede().arg("print").arg(&chart).arg("-o").arg(&pdf).args(["--cell", cell, "--ink", ink]));
        let found = proof(&pdf, &chart, &["--spoil", spoil]);
        assert_eq!(
            (&found["right"], &found["cells"]),
            (&3600.into(), &3600.into()),
            "{cell}, {ink}, {spoil}"
        );
        assert!(found["margin"].as_f64().unwrap() > 0.05, "{cell}, {ink}, {spoil}: {found}");
    }
}

#[test]
fn symbols_that_were_changed_after_printing_are_named_under_outlines_too() {
    let made = of_strokes();
    let folder = made.folder.path();
    let base = made.file("chart.json");
    let pdf = folder.join("rings.pdf");
    let printed = with_rings(folder, &base, "rings.chart.json");
    output(brede().arg("print").arg(printed).arg("-o").arg(&pdf).args(["--cell", "3mm"]));
    let chart = Chart::from_json(&std::fs::read(&base).unwrap()).unwrap();
    let needles = chart.needles().len();
    // Every third square has another symbol, or none, than the pages show: some five hundred of them lie under outlines.
    let mut changed = BTreeSet::new();
    let cells: Vec<Cell> = chart.cells().to_vec();
    let cells = cells.iter().enumerate().map(|(at, cell)| {
        let other = cell.needle().map_or(0, |needle| needle + 1 + at / 3 % (needles - 1)) % needles;
        match at % 3 {
            0 => {
                changed.insert(((at % 60 + 1) as u64, (at / 60 + 1) as u64));
                if at % 7 == 0 { Cell::BARE } else { Cell::worked(other) }
            }
            _ => *cell,
        }
    });
    let cells = cells.collect();
    let (title, cloth) = (chart.title.clone(), chart.cloth);
    let other = Chart::new(title, chart.size(), cloth, chart.needles().to_vec(), cells).unwrap();
    let path = folder.join("changed.chart.json");
    std::fs::write(&path, other.to_json()).unwrap();
    let other = with_rings(folder, &path, "other.chart.json");
    let done = brede().arg("proof").args([&pdf, &other]).arg("--json").output().unwrap();
    assert_eq!(done.status.code(), Some(1));
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    let misread = found["misread"].as_array().unwrap();
    let place = |cell: &Value| (cell["column"].as_u64().unwrap(), cell["row"].as_u64().unwrap());
    assert_eq!(misread.iter().map(place).collect::<BTreeSet<_>>(), changed);
}

/// The patterns of lines, as `brede mark` names them.
const PATTERNS: [&str; 6] = ["solid", "long-dash", "dots", "double", "short-dash", "dash-dot"];

/// A chart of the cat on which each of six motifs is outlined in a pattern, the first in that of this number, and a
/// single short stroke is lettered.
fn outlined(made: &crate::running::Made, first: usize) -> PathBuf {
    let mut marks = String::new();
    for place in 0..PATTERNS.len() {
        let (left, top) = (8 + place % 3 * 40, 10 + place / 3 * 40);
        let pattern = PATTERNS[(first + place) % PATTERNS.len()];
        marks += &format!(
            "[[mark]]\nkind = 'outline'\nname = 'pool {place}'\nthread = 'M0{place}'\npattern = '{pattern}'\n\
             motif = {{ pick = [{{ ellipse = [{left}, {top}, {}, {}] }}] }}\n",
            left + 24,
            top + 19
        );
    }
    marks += "[[mark]]\nkind = 'lettering'\nname = 'stroke'\nthread = 'M06'\ntext = '.'\nstyle = { face = 'line' }\nat = [62, 50]\n";
    let card = made.folder.path().join("lines.csv");
    let threads = (0..7).map(|at| format!("M0{at},Line {at},#{:02x}3040\n", 40 * at));
    std::fs::write(&card, format!("code,name,colour\n{}", threads.collect::<String>())).unwrap();
    let from = made.folder.path().join("marks.toml");
    std::fs::write(&from, marks).unwrap();
    let chart = made.folder.path().join(format!("outlined-{first}.chart.json"));
    let mut mark = brede();
    mark.arg("mark").arg(made.file("chart.json")).arg("--from").arg(&from).arg("--shades").arg(&card);
    output(mark.arg("-o").arg(&chart).arg("--quiet"));
    chart
}

#[test]
fn the_patterns_of_outlines_are_told_apart_clean_and_from_a_tired_printer() {
    let made = make(CAT, &["--columns", "130", "--rows", "100", "--colours", "12", "--no-proof"]);
    let (chart, pdf) = (outlined(&made, 0), made.folder.path().join("outlined.pdf"));
    for (cell, dpi, ink) in [("3mm", "150", "colour"), ("2mm", "200", "grey")] {
        output(brede().arg("print").arg(&chart).arg("-o").arg(&pdf).args(["--cell", cell, "--ink", ink]));
        for spoil in ["none", "home"] {
            // A cell under a line may be lost; that is another test's.
            let mut command = brede();
            command.arg("proof").args([&pdf, &chart]).args(["--json", "--spoil", spoil, "--dpi", dpi]);
            let found: Value = serde_json::from_slice(&command.output().unwrap().stdout).unwrap();
            let outlines = &found["outlines"];
            // Each of the six on one page at least.
            assert!(outlines["judged"].as_u64().unwrap() >= 6, "{cell}, {spoil}: {outlines}");
            assert_eq!(outlines["judged"], outlines["right"], "{cell}, {spoil}: {outlines}");
            assert_eq!(outlines["too_short"], 1, "the stroke: {cell}, {spoil}: {outlines}");
            assert!(outlines["margin"].as_f64().unwrap() > 0.05, "{cell}, {spoil}: {outlines}");
        }
    }
}

#[test]
fn pages_printed_with_other_patterns_are_caught() {
    let made = make(CAT, &["--columns", "130", "--rows", "100", "--colours", "12", "--no-proof"]);
    let pdf = made.folder.path().join("outlined.pdf");
    output(brede().arg("print").arg(outlined(&made, 0)).arg("-o").arg(&pdf).args(["--cell", "3mm"]));
    let picture = made.folder.path().join("worst.png");
    let done = brede()
        .arg("proof")
        .args([&pdf, &outlined(&made, 1), Path::new("--json"), Path::new("--picture"), &picture])
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(1));
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(said.contains("outlines are misread") && said.contains("hint: "), "{said}");
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(found["wrong"], 0, "the cells are as they were");
    let misread = found["outlines"]["misread"].as_array().unwrap();
    let marks: BTreeSet<&str> = misread.iter().map(|line| line["mark"].as_str().unwrap()).collect();
    assert_eq!(marks.len(), PATTERNS.len());
    for line in misread {
        // The page shows the pattern before the chart's in the list.
        let place = |part: &str| PATTERNS.iter().position(|&name| line[part] == name).unwrap();
        assert_eq!((place("read") + 1) % PATTERNS.len(), place("chart"), "{line}");
    }
    let red = |pixel: &&image::Rgb<u8>| pixel.0 == [220, 0, 0];
    assert!(image::open(picture).unwrap().to_rgb8().pixels().filter(red).count() > 100);
}
