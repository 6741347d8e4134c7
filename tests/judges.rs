//! What `brede make` writes, judged by programs that are not brede: qpdf, poppler, and Python with Pillow.

use std::collections::BTreeMap;
use std::process::Command;

use crate::running::{Made, make, output};

const ROCK_POOL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg");

fn rock_pool() -> Made {
    make(ROCK_POOL, &["--columns", "110", "--colours", "40", "--title", "Rock pool – Λιμνούλα"])
}

fn text_of(made: &Made, first: usize, last: usize) -> String {
    let (first, last) = (first.to_string(), last.to_string());
    let pdf = made.file("pdf");
    output(Command::new("pdftotext").args(["-layout", "-f", &first, "-l", &last]).arg(pdf).arg("-"))
}

#[test]
#[ignore = "needs qpdf"]
fn qpdf_finds_nothing_wrong_with_the_pages() {
    let made = rock_pool();
    let text = output(Command::new("qpdf").arg("--check").arg(made.file("pdf")));
    assert!(text.contains("No syntax or stream encoding errors found"), "{text}");
}

#[test]
#[ignore = "needs poppler (pdffonts)"]
fn every_font_is_embedded_and_cut_down() {
    let made = rock_pool();
    let text = output(Command::new("pdffonts").arg(made.file("pdf")));
    let fonts: Vec<&str> = text.lines().skip(2).collect();
    assert!(fonts.len() >= 3, "{text}");
    for font in fonts {
        let flags: Vec<&str> = font.split_whitespace().rev().skip(2).take(3).collect();
        assert_eq!(flags, ["yes"; 3], "embedded, subset, Unicode: {font}");
    }
}

#[test]
#[ignore = "needs poppler (pdfinfo, pdftotext)"]
fn the_cover_says_what_the_chart_says() {
    let made = rock_pool();
    let info = output(Command::new("pdfinfo").arg(made.file("pdf")));
    let pages = made.summary["pages"].as_u64().unwrap();
    let line = info.lines().find(|line| line.starts_with("Pages:")).unwrap();
    assert_eq!(line.split_whitespace().last().unwrap(), pages.to_string());
    assert!(info.contains("Rock pool – Λιμνούλα"), "{info}");
    let cover = text_of(&made, 1, 1);
    let columns = made.summary["columns"].as_u64().unwrap();
    let rows = made.summary["rows"].as_u64().unwrap();
    // 25.4 mm to the inch, 14 stitches to the inch, 5 cm a side.
    let cm = |stitches: u64| stitches as f64 * 2.54 / 14.0;
    let size = |extra: f64| format!("{:.1} x {:.1} cm", cm(columns) + extra, cm(rows) + extra);
    for wanted in [
        "Rock pool – Λιμνούλα".to_owned(),
        format!("{columns} x {rows} stitches"),
        size(0.0),
        size(10.0),
        format!("{pages}, of which {} chart page", made.summary["chart_pages"]),
        format!("{} threads", made.summary["colours"]),
        "1 January 2026".to_owned(),
        "copyright".to_owned(),
        "one dye lot".to_owned(),
    ] {
        assert!(cover.contains(&wanted), "`{wanted}` is not on the cover:\n{cover}");
    }
}

/// Code and number of stitches of every thread, from the thread list.
fn thread_list(made: &Made) -> BTreeMap<String, u64> {
    let mut reader = csv::Reader::from_path(made.file("threads.csv")).unwrap();
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            (record[0].to_owned(), record[3].parse().unwrap())
        })
        .collect()
}

#[test]
#[ignore = "needs poppler (pdftotext)"]
fn the_keys_counts_are_those_of_the_thread_list_and_add_up_to_the_stitches() {
    let made = rock_pool();
    let list = thread_list(&made);
    assert_eq!(list.values().sum::<u64>(), made.summary["stitches"].as_u64().unwrap());
    let last = made.summary["pages"].as_u64().unwrap() - made.summary["chart_pages"].as_u64().unwrap();
    let key = text_of(&made, 2, last as usize).replace(',', "");
    for (code, stitches) in &list {
        let found = key.split_whitespace().collect::<Vec<_>>();
        // Code, a name of up to five words, strands, stitches; pairs that are alike name the code again.
        let wanted = stitches.to_string();
        let mut rows = found.iter().enumerate().filter(|(_, word)| *word == code);
        let is_told = |at: usize| {
            let after = &found[at + 1..(at + 9).min(found.len())];
            after.windows(2).any(|pair| pair[0] == "2" && pair[1] == wanted)
        };
        assert!(rows.any(|(at, _)| is_told(at)), "{code} with {wanted} stitches is not in the key:\n{key}");
    }
}

#[test]
#[ignore = "needs Python with Pillow (BREDE_PYTHON)"]
fn pillow_counts_the_same_stitches_in_the_cells() {
    let made = rock_pool();
    let text = output(
        Command::new(crate::running::python())
            .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/count_cells.py"))
            .arg(made.file("cells.png")),
    );
    let counted: BTreeMap<String, u64> = serde_json::from_str(&text).unwrap();
    let chart: serde_json::Value =
        serde_json::from_slice(&std::fs::read(made.file("chart.json")).unwrap()).unwrap();
    let mut listed: BTreeMap<String, u64> = BTreeMap::new();
    let list = thread_list(&made);
    for needle in chart["needles"].as_array().unwrap() {
        let thread = &needle["threads"][0];
        *listed.entry(thread["colour"].as_str().unwrap().to_owned()).or_default() +=
            list[thread["code"].as_str().unwrap()];
    }
    assert_eq!(counted, listed);
}

#[test]
#[ignore = "needs poppler (pdftoppm)"]
fn poppler_draws_every_page_and_none_is_empty() {
    let made = rock_pool();
    let prefix = made.folder.path().join("page");
    output(Command::new("pdftoppm").args(["-gray", "-r", "40"]).arg(made.file("pdf")).arg(&prefix));
    let mut pages = 0;
    for entry in std::fs::read_dir(made.folder.path()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "pgm") {
            let bytes = std::fs::read(&path).unwrap();
            let dark = bytes.iter().filter(|&&byte| byte < 100).count();
            assert!(dark * 200 > bytes.len() / 10, "{}: {dark} of {}", path.display(), bytes.len());
            pages += 1;
        }
    }
    assert_eq!(pages, made.summary["pages"].as_u64().unwrap());
}
