//! The workbasket as a person meets it: `brede keep`, `pieces`, `done`, `left`, `diary` and `backup`.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::path::{Path, PathBuf};
use std::process::Command;

use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::units::GridSize;
use brede::thread::cloth::{Cloth, StitchKind};

use crate::running;

/// A disc of thread B in a square of thread A with a bare edge of two cells, and a workbasket for it.
struct Home {
    folder: tempfile::TempDir,
}

impl Home {
    fn new() -> Self {
        let home = Self { folder: tempfile::tempdir().unwrap() };
        std::fs::write(home.chart(), pool().to_json()).unwrap();
        home
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn chart(&self) -> PathBuf {
        self.path("pool.chart.json")
    }

    fn brede(&self, arguments: &[&str]) -> Command {
        let mut command = running::brede();
        command.env("BREDE_BASKET", self.path("basket")).current_dir(self.folder.path()).args(arguments);
        command
    }

    fn done(&self, arguments: &[&str]) -> String {
        running::output(&mut self.brede(arguments))
    }

    fn json(&self, arguments: &[&str]) -> serde_json::Value {
        serde_json::from_str(&self.done(&[arguments, &["--json"]].concat())).unwrap()
    }

    /// What a command that must fail says.
    fn fails(&self, arguments: &[&str]) -> String {
        let output = self.brede(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{arguments:?}");
        String::from_utf8(output.stderr).unwrap()
    }

    fn keep(&self) -> String {
        self.done(&["keep", "pool.chart.json"]).trim().to_owned()
    }
}

fn pool() -> Chart {
    let needle = |code: &str, name: &str, colour: &str| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: code.into(),
            name: name.into(),
            colour: colour.parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(60, 40).unwrap();
    let cell = |at: usize| {
        let (x, y) = ((at % 60) as i32, (at / 60) as i32);
        if !(2..58).contains(&x) || !(2..38).contains(&y) {
            Cell::BARE
        } else if (x - 20).pow(2) + (y - 20).pow(2) <= 64 {
            Cell::worked(1)
        } else {
            Cell::worked(0)
        }
    };
    let needles = vec![needle("A", "Rock", "#8a8378"), needle("B", "Urchin", "#5b2a6e")];
    Chart::new("Pool".into(), size, Cloth::default(), needles, (0..size.cells()).map(cell).collect()).unwrap()
}

#[test]
fn a_chart_that_is_kept_is_listed_and_stands_wherever_a_chart_may() {
    let home = Home::new();
    let id = home.keep();
    assert_eq!(home.keep(), id, "kept again, it is the same piece");
    std::fs::remove_file(home.chart()).unwrap();
    let listed = home.json(&["pieces"]);
    let piece = &listed["pieces"][0];
    assert_eq!(listed["pieces"].as_array().unwrap().len(), 1);
    assert_eq!((piece["id"].as_str(), piece["name"].as_str()), (Some(id.as_str()), Some("Pool")));
    assert_eq!((piece["stitches"].as_u64(), piece["done"].as_u64()), (Some(2016), Some(0)));
    assert!(home.done(&["pieces"]).contains(&id));
    home.done(&["print", &id, "-o", "pool.pdf"]);
    assert!(home.path("pool.pdf").exists());
    assert_eq!(home.json(&["kit", &id])["charts"][0], "Pool");
    // Marks are laid on the chart in the workbasket, and undone there.
    home.done(&["mark", &id, "outline", "Urchin", "--at", "21,21", "--thread", "A"]);
    assert!(home.done(&["mark", &id, "list"]).contains("Urchin"));
    assert_eq!(home.json(&["pieces"])["pieces"][0]["revision"], 2);
    home.done(&["mark", &id, "undo"]);
    assert_eq!(home.done(&["mark", &id, "list"]), "no marks\n");
}

#[test]
fn a_file_that_changed_later_is_told_of_and_taken_in() {
    let home = Home::new();
    let id = home.keep();
    home.done(&[
        "mark",
        "pool.chart.json",
        "lettering",
        "Sign",
        "--text",
        "hi",
        "--at",
        "4,4",
        "--thread",
        "B",
    ]);
    let output = home.brede(&["pieces"]).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("was changed since"), "{said}");
    assert_eq!(home.done(&["mark", &id, "list"]), "no marks\n");
    assert_eq!(home.keep(), id);
    assert!(home.done(&["mark", &id, "list"]).contains("Sign"));
    assert_eq!(home.brede(&["pieces"]).output().unwrap().stderr, b"");
    // Both changed: what was done here would be lost.
    home.done(&["mark", &id, "remove", "Sign"]);
    home.done(&["mark", "pool.chart.json", "remove", "Sign"]);
    home.done(&[
        "mark",
        "pool.chart.json",
        "lettering",
        "Other",
        "--text",
        "ho",
        "--at",
        "4,4",
        "--thread",
        "B",
    ]);
    home.done(&["mark", &id, "lettering", "Mine", "--text", "me", "--at", "9,9", "--thread", "B"]);
    let said = home.fails(&["keep", "pool.chart.json"]);
    assert!(said.contains("changed apart") && said.contains("--new"), "{said}");
    assert!(home.done(&["mark", &id, "list"]).contains("Mine"));
    assert_ne!(home.done(&["keep", "pool.chart.json", "--new"]).trim(), id);
}

#[test]
fn errors_of_the_workbasket_say_what_to_do() {
    let home = Home::new();
    let said = home.fails(&["pieces"]);
    assert!(said.contains("there is no workbasket") && said.contains("brede keep"), "{said}");
    home.keep();
    std::fs::write(home.path("photo.jpg"), "no photo").unwrap();
    let made = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-own/little-boat.png");
    home.done(&["make", made.to_str().unwrap(), "--columns", "30"]);
    let said = home.fails(&["keep", "little-boat/little-boat.chart.json", "--photo", "photo.jpg"]);
    assert!(said.contains("is not the picture"), "{said}");
    home.done(&["keep", "little-boat/little-boat.chart.json", "--photo", made.to_str().unwrap()]);
    assert_eq!(std::fs::read_dir(home.path("basket/photos")).unwrap().count(), 1);
}

#[test]
fn where_was_i_is_answered_in_stitches_threads_metres_and_hours() {
    let home = Home::new();
    let id = home.keep();
    assert!(home.done(&["done", &id, "--row", "3"]).contains("56 stitches more"));
    let done = home.json(&["done", "Pool", "--rectangle", "3,4,10,2"]);
    assert_eq!(
        (done["more"].as_u64(), done["meant"].as_u64(), done["done"].as_u64()),
        (Some(20), Some(20), Some(76))
    );
    home.done(&["done", &id[..4], "--thread", "b"]);
    home.done(&["done", &id, "--rectangle", "3,3,6,1", "--not"]);
    let left = home.json(&["left", &id, "--png", "done.png"]);
    let urchin = pool().stitches()[1];
    assert_eq!((left["stitches"].as_u64(), left["done"].as_u64()), (Some(2016), Some(70 + urchin)));
    assert_eq!(left["left"].as_u64(), Some(2016 - 70 - urchin));
    let thread = |at: usize| (left["threads"][at]["code"].as_str(), left["threads"][at]["left"].as_u64());
    assert_eq!((thread(0), thread(1)), ((Some("A"), Some(2016 - urchin - 70)), (Some("B"), Some(0))));
    assert_eq!(left["last_day"], "2026-01-01");
    // As kit has it, by the share of what is left.
    let kit = home.json(&["kit", &id]);
    let all = kit["threads"][0]["strand_metres"].as_f64().unwrap();
    let share = (2016 - urchin - 70) as f64 / (2016 - urchin) as f64;
    assert!((left["metres_left"].as_f64().unwrap() - all * share).abs() < 0.02, "{left}");
    let picture = image::open(home.path("done.png")).unwrap().into_luma_alpha8();
    assert_eq!(picture.dimensions(), (60, 40));
    let count = |pixel: [u8; 2]| picture.pixels().filter(|found| found.0 == pixel).count() as u64;
    assert_eq!(count([255, 255]), left["done"].as_u64().unwrap());
    assert_eq!((count([0, 255]), count([0, 0])), (left["left"].as_u64().unwrap(), 2400 - 2016));
    assert_eq!(picture.get_pixel(8, 2).0, [255, 255]);
    assert_eq!(picture.get_pixel(7, 2).0, [0, 255]);
    let text = home.done(&["left", &id]);
    assert!(text.starts_with("Pool: ") && text.contains("last ticked: ") && text.contains("hours"), "{text}");
    for (wrong, said) in [
        (["--row", "41"], "beyond the chart"),
        (["--rectangle", "55,1,10,1"], "beyond the chart"),
        (["--thread", "Z"], "Z"),
        (["--line", "Urchin"], "no mark called"),
        (["--page", "2"], "no printing"),
    ] {
        let error = home.fails(&["done", &id, wrong[0], wrong[1]]);
        assert!(error.contains(said) && error.contains("hint: "), "{wrong:?}: {error}");
    }
}

#[test]
fn marks_are_ticked_whole_and_pages_as_they_were_printed() {
    let home = Home::new();
    let id = home.keep();
    home.done(&["mark", &id, "outline", "Urchin", "--at", "21,21", "--thread", "A"]);
    home.done(&["mark", &id, "lettering", "Sign", "--text", "hi", "--at", "5,5", "--thread", "B"]);
    home.done(&["mark", &id, "key", "--thread", "B", "--place", "above"]);
    let before = home.json(&["left", &id]);
    let worked = before["size"].as_array().map_or_else(|| before["size"].clone(), |size| size[1].clone());
    assert_ne!(worked, 40, "the key stands above: {before}");
    let mark = |left: &serde_json::Value, name: &str| {
        let marks =
            left["marks"].as_array().unwrap().iter().find(|mark| mark["name"] == name).unwrap().clone();
        (marks["crosses"].as_u64().unwrap(), marks["done"].as_bool().unwrap())
    };
    let (letters, _) = mark(&before, "Sign");
    assert!(letters > 5);
    home.done(&["done", &id, "--line", "Urchin"]);
    home.done(&["done", &id, "--line", "Sign"]);
    let left = home.json(&["left", &id]);
    assert_eq!(
        (left["done"].as_u64(), mark(&left, "Sign").1, mark(&left, "key").1),
        (Some(letters), true, false)
    );
    assert_eq!(
        left["backstitches_done"],
        left["backstitches"].as_u64().unwrap() - {
            let key = left["marks"].as_array().unwrap().iter().find(|mark| mark["name"] == "key").unwrap();
            key["backstitches"].as_u64().unwrap()
        }
    );
    // A mark that is renamed stays done; one that goes takes its tick with it, and brings it again.
    home.done(&["mark", &id, "change", "Sign", "--rename", "Greeting"]);
    assert!(mark(&home.json(&["left", &id]), "Greeting").1);
    let said = home.fails(&["mark", &id, "remove", "Greeting"]);
    assert!(said.contains("unpicked") && said.contains("--replace"), "{said}");
    home.done(&["mark", &id, "remove", "Greeting", "--replace"]);
    home.done(&["mark", &id, "undo"]);
    assert!(mark(&home.json(&["left", &id]), "Greeting").1);
    home.done(&["print", &id, "-o", "pool.pdf"]);
    let pages: Vec<u64> = (1..=6)
        .filter_map(|page| {
            let output = home.brede(&["done", &id, "--page", &page.to_string(), "--json"]).output().unwrap();
            output.status.success().then(|| {
                serde_json::from_slice::<serde_json::Value>(&output.stdout).unwrap()["meant"]
                    .as_u64()
                    .unwrap()
            })
        })
        .collect();
    let left = home.json(&["left", &id]);
    assert_eq!(pages.iter().sum::<u64>(), left["stitches"].as_u64().unwrap());
    assert_eq!(left["left"], 0, "{left}");
}

#[test]
fn a_piece_moved_to_another_card_keeps_what_is_done_and_says_what_it_was_worked_in() {
    let home = Home::new();
    let id = home.keep();
    home.done(&["done", &id, "--row", "20"]);
    std::fs::write(home.path("shop.csv"), "code,name,colour\nX1,Slate,#8a8478\nX2,Plum,#5a2a6c\n").unwrap();
    home.done(&["shades", "move", &id, "shop.csv", "-o", &id]);
    let left = home.json(&["left", &id]);
    assert_eq!((left["done"].as_u64(), left["unpick"].as_u64()), (Some(56), Some(0)));
    let otherwise = left["otherwise"].as_array().unwrap();
    let told: Vec<_> =
        otherwise.iter().map(|o| (o["worked"].as_str().unwrap(), o["now"].as_str().unwrap())).collect();
    assert_eq!(told, [("A", "X1"), ("B", "X2")]);
    assert_eq!(otherwise.iter().map(|o| o["stitches"].as_u64().unwrap()).sum::<u64>(), 56);
}

#[test]
fn the_diary_is_written_summed_and_taken_elsewhere() {
    let home = Home::new();
    let id = home.keep();
    home.done(&["done", &id, "--row", "3"]);
    home.done(&["diary", "Pool", "--minutes", "42", "--note", "=the rim"]);
    home.done(&[
        "diary",
        "Pool",
        "--from",
        "23:30",
        "--to",
        "0:15",
        "--day",
        "2025-12-30",
        "--stitches",
        "30",
    ]);
    let diary = home.json(&["diary", "Pool", "--csv", "evenings.csv"]);
    assert_eq!(
        (diary["minutes"].as_u64(), diary["stitches"].as_i64(), diary["day_count"].as_u64()),
        (Some(87), Some(86), Some(2))
    );
    // A spreadsheet sums its columns.
    let text = std::fs::read(home.path("evenings.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_slice());
    let heads = reader.headers().unwrap().clone();
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let (mut minutes, mut stitches) = (0, 0);
    for record in reader.records() {
        let record = record.unwrap();
        minutes += record[column("minutes")].parse().unwrap_or(0);
        stitches += record[column("stitches")].parse().unwrap_or(0);
        assert!(!record[column("note")].starts_with('='));
    }
    assert_eq!((minutes, stitches), (87, 86));
    // Hours go by that pace now: 56 and 30 stitches in 87 minutes.
    let left = home.json(&["left", &id]);
    assert_eq!(left["pace_of_diary"], true);
    assert!((left["stitches_an_hour"].as_f64().unwrap() - 86.0 * 60.0 / 87.0).abs() < 0.01);
    // Taken in here again, nothing is new.
    assert_eq!(home.json(&["diary", "--take", "evenings.csv"])["new"], 0);
    std::fs::write(home.path("old.csv"), "Datum;Zeit;Was\n3.1.2025;1,5;Muschel\n4.1.2025;0:45;\n").unwrap();
    let taken =
        home.json(&["diary", "Pool", "--take", "old.csv", "--columns", "day=Datum,hours=Zeit,note=Was"]);
    assert_eq!((taken["new"].as_u64(), taken["minutes"].as_u64()), (Some(2), Some(87 + 135)));
    std::fs::write(home.path("bad.csv"), "Datum;Zeit\n3.1.2025;1,5\n31.2.2025;1\n").unwrap();
    let said = home.fails(&["diary", "Pool", "--take", "bad.csv", "--columns", "day=Datum,hours=Zeit"]);
    assert!(said.contains("row 3 of bad.csv") && said.contains("31.2.2025"), "{said}");
    assert_eq!(home.json(&["diary"])["minutes"], 87 + 135);
    assert!(home.done(&["diary", "Pool"]).contains("2025-01-03"));
}

#[test]
fn a_backup_of_each_day_is_kept_thirty_days_and_brought_back() {
    let home = Home::new();
    let id = home.keep();
    let on = |day: u64, arguments: &[&str]| {
        let seconds = (1_767_225_600 + day * 86_400).to_string();
        running::output(home.brede(arguments).env("SOURCE_DATE_EPOCH", seconds))
    };
    for day in 0..34 {
        on(day, &["done", &id, "--row", &(day + 3).to_string()]);
    }
    let names = |report: &serde_json::Value| -> Vec<String> {
        report["backups"]
            .as_array()
            .unwrap()
            .iter()
            .map(|backup| backup["name"].as_str().unwrap().to_owned())
            .collect()
    };
    let backups = names(&home.json(&["backup"]));
    assert_eq!((backups.len(), backups[0].as_str(), backups[30].as_str()), (31, "2026-02-03", "2026-01-04"));
    let done = home.json(&["left", &id])["done"].as_u64().unwrap();
    let report: serde_json::Value =
        serde_json::from_str(&on(33, &["backup", "--bring-back", "2026-01-10", "--json"])).unwrap();
    // Made on the tenth before its first change: nine days are in it.
    let then = home.json(&["left", &id])["done"].as_u64().unwrap();
    assert_eq!(then, 9 * 56);
    on(33, &["backup", "--bring-back", report["before"].as_str().unwrap()]);
    assert_eq!(home.json(&["left", &id])["done"].as_u64().unwrap(), done);
    let said = home.fails(&["backup", "--bring-back", "yesterday"]);
    assert!(said.contains("there is no backup of yesterday") && said.contains("2026-02-03"), "{said}");
}

#[test]
fn the_whole_workbasket_goes_to_another_machine_in_one_file() {
    let home = Home::new();
    let picture = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/little-boat.png");
    home.done(&["make", picture, "--columns", "30"]);
    let id = home.done(&["keep", "little-boat/little-boat.chart.json", "--photo", picture]).trim().to_owned();
    home.done(&["done", &id, "--row", "4"]);
    home.done(&["diary", &id, "--minutes", "20"]);
    home.done(&["backup", "--give", "all.sqlite"]);
    assert!(home.fails(&["backup", "--give", "all.sqlite"]).contains("is there already"));
    let there = Home::new();
    let kept = there.keep();
    std::fs::copy(home.path("all.sqlite"), there.path("all.sqlite")).unwrap();
    there.done(&["backup", "--take", "all.sqlite"]);
    assert_eq!(there.json(&["left", &id])["done"], home.json(&["left", &id])["done"]);
    assert_eq!(there.json(&["diary"])["minutes"], 20);
    assert_eq!(std::fs::read_dir(there.path("basket/photos")).unwrap().count(), 1);
    there.done(&["backup", "--bring-back", "before-2026-01-01"]);
    assert!(there.done(&["pieces"]).contains(&kept));
    std::fs::write(there.path("no.sqlite"), "Dear Ines").unwrap();
    assert!(there.fails(&["backup", "--take", "no.sqlite"]).contains("no workbasket"));
}

#[test]
fn a_kit_in_its_bag_and_the_box_of_threads_are_kept_too() {
    let home = Home::new();
    std::fs::write(home.path("kit.png"), "a picture").unwrap();
    let bag = ["pieces", "--add", "Sea holly", "--size", "120x90", "--count", "28/2", "--threads", "22"];
    let id =
        home.done(&[&bag[..], &["--stitches", "8000", "--picture", "kit.png"]].concat()).trim().to_owned();
    home.done(&["diary", "sea-holly", "--stitches", "400"]);
    home.done(&["pieces", "Sea holly", "--put-down"]);
    let piece = home.json(&["pieces"])["pieces"][0].clone();
    assert_eq!(
        (piece["id"].as_str(), piece["done"].as_u64(), piece["percent"].as_f64()),
        (Some(id.as_str()), Some(400), Some(5.0))
    );
    assert_eq!((piece["count"].as_str(), piece["turn"][0].as_str()), (Some("28/2"), Some("put-down")));
    let said = home.fails(&["left", &id]);
    assert!(said.contains("has no chart") && said.contains("brede keep"), "{said}");
    home.done(&["pieces", &id, "--rename", "Sea holly of Ines"]);
    let kept = home.keep();
    std::fs::write(home.path("tin.csv"), "code,name,colour,owned\nA,Rock,#8a8378,2\nB,Urchin,#5b2a6e,\n")
        .unwrap();
    home.done(&["keep", "--shades", "tin.csv"]);
    std::fs::write(home.path("drawer.csv"), "code;owned;opened;left\nb;1;1;0,4\n").unwrap();
    home.done(&["keep", "--owned", "drawer.csv"]);
    let owned = |kit: &serde_json::Value| -> Vec<String> {
        kit["threads"].as_array().unwrap().iter().map(|t| t["owned"].as_str().unwrap().to_owned()).collect()
    };
    // What lies in the box counts for a piece, and for a file it does not.
    assert_eq!(owned(&home.json(&["kit", &kept])), ["2", "1"]);
    assert_eq!(owned(&home.json(&["kit", "pool.chart.json"])), ["0", "0"]);
    home.done(&["done", &kept, "--row", "3"]);
    home.done(&["backup", "--leave", "out"]);
    assert_eq!(
        std::fs::read(home.path("out/pool.chart.json")).unwrap(),
        std::fs::read(home.chart()).unwrap()
    );
    let card = std::fs::read_to_string(home.path("out/tin.csv")).unwrap();
    assert!(card.contains("A,Rock,#8a8378,,,,2,") && card.contains("B,Urchin,#5b2a6e,,,,1,"), "{card}");
    let box_of = std::fs::read_to_string(home.path("out/box.csv")).unwrap();
    assert!(box_of.contains("\nb,1,1,0.4"), "{box_of}");
    let done = image::open(home.path("out/pool.done.png")).unwrap().into_luma_alpha8();
    assert_eq!(done.pixels().filter(|pixel| pixel.0 == [255, 255]).count(), 56);
    for name in ["pool.cells.png", "diary.csv"] {
        assert!(home.path("out").join(name).exists(), "{name}");
    }
    assert_eq!(std::fs::read_dir(home.path("out")).unwrap().count(), 7, "with the picture of the kit");
}

#[test]
fn a_page_beside_sees_what_commands_do_and_sends_ticks_of_its_own() {
    use brede::desk::{self, InBasket, SentTick, Watch, Way};
    use brede::ground::day::{Day, When};
    let home = Home::new();
    let id = home.keep();
    let when = When { seconds: 1_767_225_600, day: "2026-01-01".parse::<Day>().unwrap() };
    let piece = InBasket { folder: home.path("basket"), piece: id.clone(), when };
    let mut watch = Watch::begin(&home.path("basket")).unwrap();
    assert!(watch.changed().unwrap().is_empty());
    home.done(&["done", &id, "--row", "3"]);
    let changed = watch.changed().unwrap();
    assert_eq!((changed.len(), changed[0].piece.done, changed[0].percent), (1, 56, Some(2.8)));
    assert!(watch.changed().unwrap().is_empty());
    let seen = desk::done_cells(&piece).unwrap();
    assert_eq!((seen.done.as_slice(), seen.base_at), ([[122, 178]].as_slice(), [0, 0]));
    // As the window sends it, from the JSON that it wrote.
    let json = format!(
        r#"{{"device": "window-7", "counter": {}, "form": {}, "seconds": 1767225700, "day": "2026-01-01",
            "cells": [[122, 124], [182, 190]], "way": "done"}}"#,
        seen.counter + 1,
        seen.form
    );
    let tick: SentTick = serde_json::from_str(&json).unwrap();
    let kept = desk::ticks(&piece, std::slice::from_ref(&tick)).unwrap();
    assert_eq!((kept.done, kept.known, kept.counter), (8, 0, seen.counter + 1));
    home.done(&["done", &id, "--rectangle", "3,3,2,1", "--not"]);
    // Sent again, it does not tick anew what was taken back since.
    let again =
        desk::ticks(&piece, &[tick.clone(), SentTick { counter: 1, way: Way::NotDone, ..tick }]).unwrap();
    assert_eq!((again.done, again.undone, again.known), (0, 0, 1));
    assert_eq!(desk::done_cells(&piece).unwrap().done, [[124, 178], [182, 190]]);
    let picture = desk::piece_picture(&piece).unwrap();
    let picture = image::load_from_memory(&picture).unwrap();
    assert!(picture.width() <= 320 && picture.width() > 100, "{}", picture.width());
}

#[test]
#[ignore = "needs Python with Pillow (BREDE_PYTHON)"]
fn pillow_counts_in_the_picture_what_left_says() {
    let home = Home::new();
    let photo = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/cat.jpg");
    home.done(&["make", photo, "--columns", "120", "--colours", "12"]);
    let id = home.done(&["keep", "cat/cat.chart.json"]).trim().to_owned();
    home.done(&["mark", &id, "lettering", "Sign", "--text", "cat", "--at", "5,5", "--thread", "B11"]);
    home.done(&["done", &id, "--rectangle", "2,3,70,40"]);
    home.done(&["done", &id, "--line", "Sign"]);
    let left = home.json(&["left", &id, "--png", "done.png"]);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/count_cells.py");
    let text = running::output(Command::new(running::python()).arg(script).arg(home.path("done.png")));
    let counted: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!((&counted["#ffffff"], &counted["#000000"]), (&left["done"], &left["left"]));
}

/// `SQLite`, "Uniform Resource Identifiers", 2: a name that begins `file:` would be one. Windows keeps colons back.
#[cfg(unix)]
#[test]
fn a_workbasket_lies_in_a_folder_of_any_name() {
    let home = Home::new();
    for folder in ["file:tide", "file:///tide?mode=ro", ":memory:"] {
        let id = home.done(&["keep", "pool.chart.json", "--basket", folder]).trim().to_owned();
        let listed = home.json(&["pieces", "--basket", folder]);
        assert_eq!(listed["pieces"][0]["id"], id.as_str(), "{folder}");
        // Backed up before the first change of another day; carried away and back.
        home.done(&["done", &id, "--row", "5", "--basket", folder]);
        let backups = std::fs::read_dir(home.path(folder).join("backups")).unwrap().count();
        assert!(backups > 0, "{folder}");
        let given = format!("{folder}-given");
        home.done(&["backup", "--give", &given, "--basket", folder]);
        home.done(&["backup", "--take", &given, "--basket", folder]);
        assert_eq!(home.json(&["pieces", "--basket", folder])["pieces"][0]["done"], 56, "{folder}");
        assert!(home.path(folder).join("basket.sqlite").is_file(), "{folder}");
    }
    assert!(!home.path("tide").exists() && !home.path("backups").exists());
}

#[test]
fn a_piece_of_a_name_that_is_there_says_so_and_offers_one_that_is_free() {
    let home = Home::new();
    let first = home.keep();
    // What is offered, in the one warning that there is.
    let free = |told: &serde_json::Value| {
        let warnings = told["warnings"].as_array().unwrap().clone();
        assert!(warnings.len() < 2, "{told}");
        let said = warnings.first()?.as_str().unwrap().to_owned();
        assert!(said.starts_with("another piece is called "), "{said}");
        Some(said.split_once("such as ").unwrap().1.to_owned())
    };
    let another = home.json(&["keep", "pool.chart.json", "--new"]);
    assert_eq!(free(&another).as_deref(), Some("Pool 2"));
    let second = another["piece"].as_str().unwrap().to_owned();
    // As it was advised, whatever the case; then nothing is said.
    let rename = |piece: &str, name: &str| free(&home.json(&["pieces", piece, "--rename", name]));
    assert_eq!(rename(&second, "Pool 2"), None);
    assert_eq!(rename(&first, "POOL 2").as_deref(), Some("POOL 2 2"));
    assert_eq!(rename(&first, "Pool"), None);
    let third = home.json(&["keep", "pool.chart.json", "--new"]);
    assert_eq!(free(&third).as_deref(), Some("Pool 3"));
    let third = third["piece"].as_str().unwrap();
    assert_eq!(rename(third, "Pool 2").as_deref(), Some("Pool 3"));
    // A number that is part of the name stays, and a name of all letters there may be has room for one.
    assert_eq!(rename(&first, "Sampler 1897"), None);
    assert_eq!(rename(third, "Sampler 1897").as_deref(), Some("Sampler 1897 2"));
    assert_eq!(rename(&first, &"p".repeat(500)), None);
    let free = rename(third, &"p".repeat(500)).unwrap();
    assert_eq!(rename(third, &free), None);
    // What is there already is not told of.
    let listed = home.json(&["pieces"]);
    assert!(
        listed["pieces"].as_array().unwrap().iter().all(|piece| piece["kept"].as_i64() > Some(0)),
        "{listed}"
    );
    assert_eq!(home.json(&["done", &first, "--row", "5"])["warnings"], serde_json::json!([]));
}
