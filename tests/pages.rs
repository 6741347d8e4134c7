//! The printed pages, judged from outside: what colour-blind eyes see, ink on paper.
#![allow(clippy::unwrap_used, missing_docs)]

mod asking;
mod running;

use asking::ask;
use running::{brede, make, output};
use serde_json::{Value, json};

const ROCK_POOL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg");

/// The summary of `brede print` with these options, the pages going to `pages.pdf` beside the chart.
fn print(made: &running::Made, options: &[&str]) -> Value {
    let pages = made.folder.path().join("pages.pdf");
    let mut command = brede();
    command.arg("print").arg(made.file("chart.json")).arg("-o").arg(pages).arg("--json").args(options);
    serde_json::from_str(&output(&mut command)).unwrap()
}

/// Colours and codes of the needles of a chart, which are single threads here.
fn threads(made: &running::Made) -> Vec<(String, String)> {
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
    let told = format!("{} pairs of threads look alike to colour-blind eyes", found.len());
    assert!(warnings.iter().any(|warning| warning.as_str().unwrap().starts_with(&told)), "{warnings:?}");
}
