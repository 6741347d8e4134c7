//! The command as a person meets it: what it says, how it ends, what it leaves behind.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

mod running;

use std::process::Output;

use running::{brede, make};

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
        vec![],
        vec!["make"],
        vec!["make", ROCK_POOL, "--colours", "1"],
        vec!["make", ROCK_POOL, "--colours", "201"],
        vec!["make", ROCK_POOL, "--count", "12.3"],
        vec!["make", ROCK_POOL, "--cloth", "cream"],
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
        .args(["--paper", "letter", "--ink", "grey"])
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    assert!(std::fs::read(pdf).unwrap().starts_with(b"%PDF-1.7"));
}

#[test]
fn completions_are_written_for_every_shell() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let done = brede().args(["completions", shell]).output().unwrap();
        assert!(done.status.success() && String::from_utf8_lossy(&done.stdout).contains("brede"), "{shell}");
    }
}
