//! The printed pages, judged from outside: what colour-blind eyes see, ink on paper.

use crate::asking::ask;
use crate::running::{brede, make, output};
use serde_json::{Value, json};

const ROCK_POOL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg");

/// The summary of `brede print` with these options, the pages going to `pages.pdf` beside the chart.
fn print(made: &crate::running::Made, options: &[&str]) -> Value {
    let pages = made.folder.path().join("pages.pdf");
    let mut command = brede();
    command.arg("print").arg(made.file("chart.json")).arg("-o").arg(pages).arg("--json").args(options);
    serde_json::from_str(&output(&mut command)).unwrap()
}

/// Colours and codes of the needles of a chart, which are single threads here.
fn threads(made: &crate::running::Made) -> Vec<(String, String)> {
    let chart: Value = serde_json::from_slice(&std::fs::read(made.file("chart.json")).unwrap()).unwrap();
    let text = |thread: &Value, field: &str| thread[field].as_str().unwrap().to_owned();
    let needles = chart["needles"].as_array().unwrap();
    needles
        .iter()
        .map(|needle| (text(&needle["threads"][0], "code"), text(&needle["threads"][0], "colour")))
        .collect()
}

#[test]
#[ignore = "needs Python with colour-science (BREDE_PYTHON)"]
fn colour_science_finds_the_same_threads_alike_to_colour_blind_eyes() {
    let made = make(ROCK_POOL, &["--columns", "90", "--colours", "60"]);
    let summary = print(&made, &[]);
    let threads = threads(&made);
    let colours: Vec<&str> = threads.iter().map(|(_, colour)| colour.as_str()).collect();
    let answers: Vec<[f64; 4]> =
        serde_json::from_value(ask("alike_pairs.py", &json!({ "colours": colours }))).unwrap();
    let found = summary["alike"].as_array().unwrap();
    let mut answers = answers.into_iter();
    let (mut listed, mut near) = (0, 0);
    for (one, (code, _)) in threads.iter().enumerate() {
        for (other, _) in &threads[one + 1..] {
            let all @ [usual, seen @ ..] = answers.next().unwrap();
            // Libraries round the matrices of sRGB differently: a difference this near may fall on either side.
            if all.iter().any(|apart| (apart - 5.0).abs() < 0.02) {
                near += 1;
                continue;
            }
            let ours = found.iter().find(|pair| pair["codes"] == json!([code, other]));
            assert_eq!(
                ours.is_some(),
                usual > 5.0 && seen.iter().any(|&apart| apart < 5.0),
                "{code}, {other}"
            );
            let Some(ours) = ours else { continue };
            listed += 1;
            assert!((ours["delta_e"].as_f64().unwrap() - usual).abs() < 0.02, "{code}, {other}");
            for (name, seen) in ["protan", "deutan", "tritan"].into_iter().zip(seen) {
                match ours["seen"][name].as_f64() {
                    Some(apart) => {
                        assert!((apart - seen).abs() < 0.02, "{code}, {other}: {apart} and {seen}")
                    }
                    None => assert!(seen > 5.0, "{code}, {other}, {name}: {seen}"),
                }
            }
        }
    }
    assert!(listed > 10 && near < 20, "{listed} pairs, {near} too near to 5 to say");
    let warnings = summary["warnings"].as_array().unwrap();
    let told = format!("{} pairs of threads alike to colour-blind eyes", found.len());
    assert!(warnings.iter().any(|warning| warning.as_str().unwrap().starts_with(&told)), "{warnings:?}");
}

/// poppler draws, numpy counts: the ink of every page is what brede says, and no page takes more than a quarter.
#[test]
#[ignore = "needs poppler (pdftoppm) and Python with numpy (BREDE_PYTHON)"]
fn poppler_and_numpy_find_the_ink_that_brede_reckons() {
    let night = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/deep-field.jpg");
    for (photo, options) in
        [(ROCK_POOL, ["--ink", "colour"]), (night, ["--ink", "colour"]), (night, ["--ink", "grey"])]
    {
        let made = make(photo, &["--columns", "110", "--colours", "40"]);
        let summary = print(&made, &options);
        let folder = made.folder.path();
        let mut command = std::process::Command::new("pdftoppm");
        output(command.args(["-r", "200"]).arg(folder.join("pages.pdf")).arg(folder.join("drawn")));
        let told: Vec<f64> = serde_json::from_value(summary["ink_percent"]["pages"].clone()).unwrap();
        let pages: Vec<String> = {
            let mut pages: Vec<_> = std::fs::read_dir(folder)
                .unwrap()
                .map(|entry| entry.unwrap().path())
                .filter(|path| path.extension().is_some_and(|ending| ending == "ppm"))
                .map(|path| path.to_str().unwrap().to_owned())
                .collect();
            pages.sort();
            pages
        };
        let seen: Vec<f64> = serde_json::from_value(ask("page_ink.py", &json!({ "pages": pages }))).unwrap();
        assert_eq!(seen.len(), told.len());
        for (page, (seen, told)) in seen.iter().zip(&told).enumerate() {
            // Points of a hundred: soft edges at 200 dots an inch, and symbols on tints taken in the mean.
            assert!((seen - told).abs() < 1.0, "{photo}, page {}: drawn {seen}, reckoned {told}", page + 1);
            assert!(*seen <= 25.0, "{photo}, {options:?}, page {}: {seen} %", page + 1);
        }
    }
}

#[test]
#[ignore = "needs poppler (pdftoppm) and Python with pikepdf (BREDE_PYTHON)"]
fn pikepdf_finds_facts_bookmarks_links_and_layers_that_switch() {
    let card = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/tin-of-threads.csv");
    // The size and card that the file of marks is made for.
    let made = make(ROCK_POOL, &["--columns", "140", "--shades", card, "--title", "Rock pool – Λιμνούλα"]);
    let marked = made.folder.path().join("marked.chart.json");
    let marks = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.marks.toml");
    let mut command = brede();
    command
        .arg("mark")
        .arg(made.file("chart.json"))
        .args(["--from", marks, "--shades", card, "-o"])
        .arg(&marked);
    output(&mut command);
    let mut command = brede();
    let year = ["lettering", "year", "--text", "2026", "--at", "8,8", "--face", "line", "--thread", "T010"];
    output(command.arg("mark").arg(&marked).args(year).args(["--shades", card]));
    let pdf = made.folder.path().join("marked.pdf");
    let mut command = brede();
    output(command.arg("print").arg(&marked).arg("-o").arg(&pdf).args(["--author", "Ines – Ινές", "--json"]));
    let facts = ask("pdf_facts.py", &json!({ "pdf": pdf, "folder": made.folder.path() }));
    assert_eq!(facts["info"]["Title"], "Rock pool – Λιμνούλα");
    assert_eq!(facts["info"]["Author"], "Ines – Ινές");
    assert_eq!(facts["info"]["CreationDate"], "D:20260101000000Z");
    assert_eq!(facts["info"]["ModDate"], "D:20260101000000Z");
    assert_eq!(facts["language"], "en-GB");
    assert_eq!(facts["unembedded"], json!([]));
    // Our reading of ISO 14289-1, over every kind of part that a page has.
    let read_out = ask("pdf_accessible.py", &json!({ "pdf": pdf }));
    assert_eq!(read_out["wrong"], json!([]), "{read_out}");
    for part in ["H1", "H2", "P", "Figure", "Table", "TH", "TD", "Link", "drawn", "links", "fonts"] {
        assert!(read_out["count"][part].as_u64() > Some(0), "{part}: {read_out}");
    }
    // Tagged, and no PDF/A: DEVELOPERS.md says so; let nobody claim it by accident.
    assert_eq!((&facts["tagged"], &facts["pdfa"]), (&json!(true), &json!("")));

    // Cover, key, page map, then bands of rows with a page each.
    let bookmarks = facts["bookmarks"].as_array().unwrap();
    let titles: Vec<&str> = bookmarks.iter().map(|entry| entry[0].as_str().unwrap()).collect();
    assert_eq!(titles[..3], ["Cover", "Key", "Page map"]);
    assert!(titles.len() > 4 && titles[3..].iter().all(|title| title.starts_with("Rows ")), "{titles:?}");
    let pages: Vec<u64> = bookmarks[3..]
        .iter()
        .flat_map(|band| band[2].as_array().unwrap())
        .map(|page| page[1].as_u64().unwrap())
        .collect();
    assert!(pages.windows(2).all(|pair| pair[0] + 1 == pair[1]) && pages.len() >= 4, "{pages:?}");
    let links = facts["links"].as_array().unwrap();
    assert!(
        links.len() >= pages.len() * 3,
        "the map leads to each page, and each page to two neighbours at least"
    );

    // With any layer off a page looks different.
    let drawn = |pdf: &str| -> Vec<Vec<u8>> {
        pages
            .iter()
            .map(|page| {
                let page = page.to_string();
                let done = std::process::Command::new("pdftoppm")
                    .args(["-r", "50", "-f", &page, "-l", &page])
                    .arg(pdf)
                    .output()
                    .unwrap();
                assert!(done.status.success() && done.stdout.len() > 1000);
                done.stdout
            })
            .collect()
    };
    let whole = drawn(pdf.to_str().unwrap());
    let layers = facts["layers"].as_object().unwrap();
    let mut names: Vec<&str> = layers.keys().map(String::as_str).collect();
    names.sort_unstable();
    assert_eq!(names, ["Base", "Grid", "Lettering", "Outlines", "Tints"]);
    for (name, copy) in layers {
        assert!(drawn(copy.as_str().unwrap()) != whole, "without {name} nothing is missing");
    }
}
