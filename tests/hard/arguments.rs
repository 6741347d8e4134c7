//! Options with the values that nobody means.

use std::path::{Path, PathBuf};

use super::bounded::{command, run};
use super::making::good;

/// A folder with a photo and its chart.
fn table() -> (tempfile::TempDir, PathBuf, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("pool.png");
    std::fs::write(&photo, good().remove(0).1).unwrap();
    let mut make = command(["make", "--quiet", "--columns", "12", "--colours", "4", "--out"]);
    assert_eq!(run("make", make.arg(folder.path()).arg(&photo)).code, 0);
    let chart = folder.path().join("pool.chart.json");
    (folder, photo, chart)
}

/// Every value for every option: brede ends by itself and says at most one thing.
fn try_all(before: &[&str], file: &Path, after: &[&str], options: &[&str], values: &[&str]) {
    let mut refused = 0;
    for option in options {
        for value in values {
            let mut command = command(before);
            command.arg(file).args(after).arg(format!("{option}={value}"));
            refused += usize::from(run(&format!("{before:?} {option}={value}"), &mut command).code > 0);
        }
    }
    assert!(refused * 2 > options.len() * values.len(), "{before:?}: most of these are refused");
}

const NUMBERS: [&str; 10] =
    ["", "0", "-1", "NaN", "inf", "1e308", "4294967296", "18446744073709551616", "0x10", "1\u{1b}[2J"];
const LENGTHS: [&str; 10] = ["", "0mm", "-1cm", "NaNcm", "infcm", "1e308m", "1e-320mm", "100m", "5", "5ells"];
const PARTS: [&str; 11] = [
    "",
    "0,0,0,0",
    "-1,-1,5,5",
    "NaN,0,1,1",
    "1e308,0,1,1",
    "0,0,1e-300%,1e-300%",
    "100%,100%,1%,1%",
    "1,2,3",
    "0,0,4294967296,1",
    "5.5,5.5,0.0005,0.0005",
    "39.9999,29.9999,0.0001,0.0001",
];

#[test]
fn numbers_lengths_and_parts_that_make_no_sense_are_refused() {
    let (folder, photo, chart) = table();
    let out = folder.path().join("out");
    let make = ["make", "--quiet", "--out", out.to_str().unwrap()];
    let few = ["--colours", "3"];
    try_all(&make, &photo, &few, &["--columns", "--rows"], &NUMBERS);
    try_all(&make, &photo, &few, &["--width", "--height", "--cell"], &LENGTHS);
    try_all(&make, &photo, &few, &["--seen-from"], &LENGTHS);
    let small = ["--columns", "12"];
    try_all(
        &make,
        &photo,
        &small,
        &[
            "--colours",
            "--count",
            "--strands",
            "--max-pixels",
            "--max-memory",
            "--bare",
            "--blends",
            "--mixes",
            "--seed",
        ],
        &NUMBERS,
    );
    try_all(&make, &photo, &small, &["--crop", "--detail"], &PARTS);
    let tones =
        ["", "lightness", "lightness=NaN", "contrast=1e308", "saturation=-101", "hue=1", "lightness=--5"];
    try_all(&make, &photo, &small, &["--tone"], &tones);
    let pdf = folder.path().join("again.pdf");
    let papers = ["", "a9", "0x0cm", "1x1mm", "NaNxNaNcm", "1e308x1cm", "100mx100m", "20cm", "axb"];
    try_all(&["print", "-o", pdf.to_str().unwrap()], &chart, &[], &["--paper"], &papers);
    try_all(&["print", "-o", pdf.to_str().unwrap()], &chart, &[], &["--cell"], &LENGTHS);
    try_all(&["cloth"], &chart, &[], &["--allowance", "--distance", "--have", "--frame"], &LENGTHS);
    try_all(&["cloth"], &chart, &[], &["--count"], &NUMBERS);
    try_all(&["kit"], &chart, &[], &["--needleful", "--start", "--end"], &LENGTHS);
    try_all(
        &["kit"],
        &chart,
        &[],
        &["--travel", "--waste", "--stitches-an-hour", "--hours-a-week", "--budget"],
        &NUMBERS,
    );
}

#[test]
fn a_photo_of_threads_asked_for_wrongly_is_refused() {
    let (folder, photo, _) = table();
    let grid = ["--columns", "2", "--rows", "2"];
    let whole =
        ["", "0,0,0,0", "-1,0,5,5", "0,0,4294967295,4294967295", "4294967295,4294967295,1,1", "39,29,1,1"];
    try_all(&["shades", "from-photo"], &photo, &grid, &["--paper"], &whole);
    try_all(
        &["shades", "from-photo"],
        &photo,
        &["--columns", "2", "--rows", "2", "--paper", "0,0,5,5"],
        &["--grid"],
        &whole,
    );
    let mut from_photo =
        command(["shades", "from-photo", "--columns", "100", "--rows", "100", "--paper", "0,0,5,5"]);
    run("more places than pixels", from_photo.arg(&photo));
    let bomb = folder.path().join("bomb.png");
    std::fs::write(&bomb, super::making::grey_png([65_000; 2], 8, &[], &super::making::zeros(1 << 20)))
        .unwrap();
    let mut from_photo =
        command(["shades", "from-photo", "--columns", "2", "--rows", "2", "--paper", "0,0,5,5"]);
    let ended = run("bomb", from_photo.arg(&bomb));
    assert!(ended.code == 1 && ended.said.contains("--max-pixels"), "{}", ended.said);
}
