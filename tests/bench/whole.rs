//! `brede make` as a whole process on large photos: time, peak memory and bytes, beside decoding and resizing the
//! same photo with the `image` crate in the same run. `cargo bench --features workshop --bench whole`.
#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

#[path = "processes.rs"]
mod processes;

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use image::imageops::FilterType;
use processes::{CARD, Took, photo, watched};

/// Runs `brede make`.
fn run(arguments: &[&str], photo: &Path, folder: &Path) -> Took {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brede"));
    watched(
        command
            .arg("make")
            .arg(photo)
            .args(arguments)
            .args(["--shades", CARD, "--quiet", "--out"])
            .arg(folder),
    )
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("photo.jpg");
    photo("samples-own/rock-pool.jpg", &path, 4000, 3000);
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
        runs.sort_by(|one, other| one.seconds.total_cmp(&other.seconds));
        let Took { seconds, memory, .. } = runs[1];
        let unread: Vec<_> =
            (0..3).map(|_| run(&[arguments, &["--no-proof"]].concat(), &path, &out)).collect();
        let processor = |runs: &[Took]| runs.iter().map(|run| run.processor).fold(f64::MAX, f64::min);
        let (all, unread) = (processor(&runs), processor(&unread));
        let cells: u64 = image::image_dimensions(out.join("photo.cells.png"))
            .map(|(w, h)| u64::from(w) * u64::from(h))
            .unwrap();
        let pdf = std::fs::metadata(out.join("photo.pdf")).unwrap().len();
        println!(
            "{what}: {:.2} s, {:.1} times the reference; {memory:.0} MB; PDF {:.1} bytes a cell; {all:.2} s of all \
             processors, {:.2} times as much as without reading a strip of the pages back",
            seconds,
            seconds / reference.as_secs_f64(),
            pdf as f64 / cells as f64,
            all / unread.max(0.01),
        );
    }
}
