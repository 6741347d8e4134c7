//! The cloth in the drawer and the frame on the shelf: what fits them.

use serde_json::Value;

use crate::running::{brede, make, output};

const POOL: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg");

/// The sides of the offers: count, stitches across and down, and which is the best for the eyes.
fn offers(report: &Value) -> Vec<(String, u64, u64, bool)> {
    let of = |offer: &Value| {
        let [columns, rows] = ["columns", "rows"].map(|side| offer[side].as_u64().unwrap());
        (offer["count"].as_str().unwrap().to_owned(), columns, rows, offer["best"].as_bool().unwrap())
    };
    report["offers"].as_array().unwrap().iter().map(of).collect()
}

#[test]
fn a_picture_is_made_as_large_as_the_cloth_and_the_frame_allow() {
    // The rock pool is 4 : 3. On cloth of 16 x 14 cm with 3 cm a side it has 10 x 8 cm, of which 4 : 3 are 10 x 7.5 cm:
    // 10 cm are 62.99 stitches of 25.4 / 16 mm, 70.87 of 25.4 / 18, 78.74 of 25.4 / 20, 86.6 of 25.4 / 22.
    let small = ["--on", "16x14cm", "--margin", "3cm", "--colours", "6", "--no-proof"];
    let made = make(POOL, &small);
    let told = offers(&made.summary);
    let wanted = [("18", 70, 53, true), ("20", 78, 59, false), ("22", 86, 65, false)];
    assert_eq!(told, wanted.map(|(count, columns, rows, best)| (count.to_owned(), columns, rows, best)));
    let size = |made: &Value| ["columns", "rows"].map(|side| made[side].as_u64().unwrap());
    assert_eq!((size(&made.summary), &made.summary["count"]), ([70, 53], &"18".into()));
    // A frame that is smaller decides; a count that is asked for, and columns, decide all the same.
    let framed = make(POOL, &[&small[..], &["--frame", "8cm", "--count", "14"]].concat());
    assert_eq!((size(&framed.summary), &framed.summary["count"]), ([44, 33], &"14".into()));
    let asked = make(POOL, &[&small[..], &["--columns", "40"]].concat());
    assert_eq!((size(&asked.summary), &asked.summary["count"]), ([40, 30], &"18".into()));
    // The chart keeps what was chosen, and is made again without the cloth.
    let chart = made.file("chart.json");
    let again = make(POOL, &["--as", chart.to_str().unwrap(), "--no-proof"]);
    assert_eq!(
        std::fs::read(again.file("cells.png")).unwrap(),
        std::fs::read(made.file("cells.png")).unwrap()
    );
}

#[test]
fn cloth_that_is_too_small_is_said_to_be() {
    let done = brede().args(["make", POOL, "--on", "9x9cm"]).output().unwrap();
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(
        done.status.code() == Some(1) && said.contains("9.0 x 9.0 cm") && said.contains("--margin"),
        "{said}"
    );
    let alone = brede().args(["make", POOL, "--frame", "9cm"]).output().unwrap();
    assert_eq!(alone.status.code(), Some(2), "a frame alone is no cloth");
}

#[test]
fn a_kit_of_which_only_the_size_is_known_is_held_against_other_counts() {
    let told =
        output(brede().args(["cloth", "--size", "24x16cm", "--count", "14", "--have", "32x28cm", "--json"]));
    let told: Value = serde_json::from_str(&told).unwrap();
    // 24 cm are 132.3 stitches of 25.4 / 14 mm, 16 cm are 88.2; on 18 count 132 are 18.63 cm.
    assert_eq!((&told["columns"], &told["rows"]), (&132.into(), &88.into()));
    let counts = told["counts"].as_array().unwrap();
    let at = |count: &str| counts.iter().find(|figures| figures["count"] == count).unwrap();
    assert_eq!((counts[0]["count"].as_str(), counts.len()), (Some("14"), 8));
    assert!((at("18")["finished_mm"][0].as_f64().unwrap() - 132.0 * 25.4 / 18.0).abs() < 1e-3);
    let fits = |count: &str| at(count)["fits_cloth"].as_str().unwrap().to_owned();
    assert_eq!([fits("14"), fits("18")], ["no", "upright"]);
    let eyes = |cloth: &str| {
        let words =
            output(brede().args(["cloth", "--size", "24x16cm", "--count", "14,18", "--cloth", cloth]));
        ["easy", "fine", "trying"].map(|word| words.contains(word))
    };
    assert_eq!(eyes("#f4ecd8"), [true, true, false]);
    assert_eq!(eyes("#1b2a41"), [false, true, true], "dark cloth is a step harder");
}
