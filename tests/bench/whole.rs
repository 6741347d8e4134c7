//! `brede make` as a whole process on large photos: time, peak memory and bytes, beside decoding and resizing the
//! same photo with the `image` crate in the same run. `cargo bench --bench whole`.
#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use image::imageops::FilterType;

/// A photo of so many pixels, made of the rock pool by enlarging it and shaking each pixel a little, as a sensor
/// does: smooth pictures would be too kind.
fn photo(path: &Path, width: u32, height: u32) {
    let pool = image::open(concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg")).unwrap();
    let mut picture = pool.resize_exact(width, height, FilterType::CatmullRom).into_rgb8();
    let mut state = 1_u32;
    for value in picture.iter_mut() {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        *value = value.saturating_add_signed((state >> 24) as i8 >> 5);
    }
    picture.save(path).unwrap();
}

/// Runs brede; gives its time and the most memory it held, in MB.
fn run(arguments: &[&str], photo: &Path, folder: &Path) -> (Duration, f64) {
    let start = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_brede"))
        .arg("make")
        .arg(photo)
        .args(arguments)
        .args([
            "--shades",
            concat!(env!("CARGO_MANIFEST_DIR"), "/tests/checks/range-450.csv"),
            "--quiet",
            "--out",
        ])
        .arg(folder)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0.0_f64;
    loop {
        if let Some(held) = std::fs::read_to_string(&status).ok().as_deref().and_then(high_water) {
            peak = peak.max(held);
        }
        if let Some(done) = child.try_wait().unwrap() {
            assert!(done.success());
            return (start.elapsed(), peak);
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// `VmHWM` of a process's status, in MB.
fn high_water(status: &str) -> Option<f64> {
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse().ok().map(|kilobytes: f64| kilobytes / 1000.0)
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("photo.jpg");
    photo(&path, 4000, 3000);
    let start = Instant::now();
    let decoded = image::open(&path).unwrap();
    let small = decoded.resize_exact(280, 210, FilterType::CatmullRom);
    assert_eq!(small.width(), 280);
    let reference = start.elapsed();
    println!("reference: decode and resize 12 megapixels: {:.2} s", reference.as_secs_f64());
    for (what, arguments) in [
        ("12 megapixels to 280 x 210, 40 threads", &["--columns", "280", "--colours", "40"][..]),
        ("12 megapixels to 560 x 420, 60 threads", &["--columns", "560", "--colours", "60"]),
        ("12 megapixels to 1400 x 1050, 100 threads", &["--columns", "1400", "--colours", "100"]),
    ] {
        let out = folder.path().join("out");
        let mut runs: Vec<_> = (0..3).map(|_| run(arguments, &path, &out)).collect();
        runs.sort_by_key(|(time, _)| *time);
        let (time, memory) = runs[1];
        let cells: u64 = image::image_dimensions(out.join("photo.cells.png"))
            .map(|(w, h)| u64::from(w) * u64::from(h))
            .unwrap();
        let pdf = std::fs::metadata(out.join("photo.pdf")).unwrap().len();
        println!(
            "{what}: {:.2} s, {:.1} times the reference; {memory:.0} MB; PDF {:.1} bytes a cell",
            time.as_secs_f64(),
            time.as_secs_f64() / reference.as_secs_f64(),
            pdf as f64 / cells as f64,
        );
    }
}
