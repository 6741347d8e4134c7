//! Printed pages read back: by hayro, which did not write them, from the picture of the page.
#![allow(clippy::unwrap_used, missing_docs)]

mod running;

use std::collections::BTreeSet;
use std::path::Path;

use brede::chart::{Cell, Chart};
use running::{brede, make, output};
use serde_json::Value;

/// Public domain or free to use: see tests/photos/SOURCES.md.
const CAT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/cat.jpg");
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
    // What make said of its sample is what the proof says of the whole.
    let sample = &made.summary["proof_read"];
    assert!(sample["cells"].as_u64().unwrap() > 1000);
    assert_eq!(sample["cells"], sample["right"]);
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
    assert!(said.starts_with("error: ") && said.contains("misread") && said.contains("hint: "), "{said}");
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
