//! How time and memory grow with the size of a chart: 100 x 140 to 1,600 x 1,960 cells, 40 and 100 threads.
//!
//! A photo of 12 megapixels goes through every stage, each in a process of its own: the stages of `make` in children
//! of this bench, the commands as people have them. `cargo bench --features workshop --bench size` prints the table of DEVELOPERS.md and
//! draws `tests/bench/size.svg`. In brackets stands the time of all processors together, from which the powers are
//! reckoned: other work on the machine hardly touches it. Linux only.
#![allow(clippy::print_stderr, clippy::print_stdout, clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "size/plot.rs"]
mod plot;
#[path = "processes.rs"]
mod processes;
#[path = "size/stages.rs"]
mod stages;

use std::path::Path;
use std::process::Command;

use plot::Line;
use processes::{CARD, Took, photo, watched};

/// Columns and rows: each has four times the cells of the one before, the last nearly.
const SIZES: [[u32; 2]; 5] = [[100, 140], [200, 280], [400, 560], [800, 1120], [1600, 1960]];

const COLOURS: [u32; 2] = [40, 100];

/// Below so many cells a stage takes little and chance much: the best of three runs counts.
const SMALL: u64 = 300_000;

/// The stages in their order. Those of the library run in children of the bench, the last ones are commands.
const STAGES: [&str; 13] = [
    "photo and frame",
    "reduce",
    "symbols",
    "marks",
    "kit",
    "lay out",
    "ink",
    "pictures",
    "save and read",
    "proof",
    "brede make",
    "brede print",
    "brede kit",
];

/// A stage in a child of this bench.
fn child(stage: &str, folder: &Path, [columns, rows]: [u32; 2], colours: u32) -> Took {
    let done = Command::new(std::env::current_exe().unwrap())
        .args(["--stage", stage])
        .arg(folder)
        .args([columns, rows, colours].map(|number| number.to_string()))
        .output()
        .unwrap();
    eprint!("{}", String::from_utf8_lossy(&done.stderr));
    assert!(done.status.success(), "{stage}");
    let said = String::from_utf8(done.stdout).unwrap();
    let [seconds, processor, memory] =
        said.split_whitespace().map(|word| word.parse().unwrap()).collect::<Vec<f64>>()[..]
    else {
        panic!("{stage} said {said}")
    };
    Took { seconds, processor, memory }
}

/// A command of brede.
fn command(stage: &str, folder: &Path, [columns, rows]: [u32; 2], colours: u32) -> Took {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brede"));
    command.current_dir(folder);
    match stage {
        "brede make" => {
            let numbers = [columns, rows, colours].map(|number| number.to_string());
            // Proof-reading is a stage of its own here.
            command.args(["make", "photo.jpg", "--shades", CARD, "--quiet", "--no-proof", "--out", "."]);
            command.args(["--columns", &numbers[0], "--rows", &numbers[1], "--colours", &numbers[2]]);
        }
        "brede print" => _ = command.args(["print", "photo.chart.json", "--quiet", "-o", "again.pdf"]),
        "brede kit" => _ = command.args(["kit", "photo.chart.json"]),
        _ => unreachable!("no other stage is a command"),
    }
    let took = watched(&mut command);
    // Told in hundredths of a second.
    Took { processor: took.processor.max(0.005), ..took }
}

/// All stages at one size, in their order.
fn measured(folder: &Path, size: [u32; 2], colours: u32) -> Vec<Took> {
    // The other stages need what this one writes.
    let cells = u64::from(size[0]) * u64::from(size[1]);
    let runs = if cells < SMALL { 3 } else { 1 };
    let best = |run: &dyn Fn() -> Took| {
        let took: Vec<Took> = (0..runs).map(|_| run()).collect();
        let least = |of: fn(&Took) -> f64| took.iter().map(of).fold(f64::MAX, f64::min);
        Took {
            seconds: least(|took| took.seconds),
            processor: least(|took| took.processor),
            memory: least(|took| took.memory),
        }
    };
    let made = best(&|| command("brede make", folder, size, colours));
    STAGES
        .iter()
        .map(|&stage| match stage {
            "brede make" => made,
            "brede print" | "brede kit" => best(&|| command(stage, folder, size, colours)),
            stage => best(&|| child(stage, folder, size, colours)),
        })
        .collect()
}

/// The power of the cells with which values grow: the slope of least squares through the points' logarithms.
fn power(cells: &[f64], values: &[f64]) -> f64 {
    let logs = |values: &[f64]| values.iter().map(|value| value.max(1e-6).ln()).collect::<Vec<_>>();
    let (x, y) = (logs(cells), logs(values));
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let (mean_x, mean_y) = (mean(&x), mean(&y));
    let (mut both, mut square) = (0.0, 0.0);
    for (x, y) in x.iter().zip(&y) {
        both += (x - mean_x) * (y - mean_y);
        square += (x - mean_x).powi(2);
    }
    both / square
}

/// Three digits that count.
fn short(value: f64) -> String {
    let places = (2 - value.max(1e-9).log10().floor() as i32).clamp(0, 4) as usize;
    format!("{value:.places$}")
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(at) = arguments.iter().position(|word| word == "--stage") {
        return stages::run(&arguments[at + 1..]);
    }
    let folder = tempfile::tempdir().unwrap();
    // Wide enough that the largest chart has two pixels a cell.
    photo("tests/photos/flower.jpg", &folder.path().join("photo.jpg"), 3200, 3920);
    let cells: Vec<f64> = SIZES.iter().map(|[columns, rows]| f64::from(columns * rows)).collect();
    for colours in COLOURS {
        let took: Vec<Vec<Took>> = SIZES.iter().map(|&size| measured(folder.path(), size, colours)).collect();
        let heads = SIZES.map(|[columns, rows]| format!(" {columns} x {rows} |")).concat();
        println!("{colours} threads:\n\n| stage |{heads} power | last step | of memory |");
        println!("|---|{}", "---|".repeat(SIZES.len() + 3));
        let mut lines = [Vec::new(), Vec::new()];
        for (at, stage) in STAGES.iter().enumerate() {
            let row: Vec<Took> = took.iter().map(|stages| stages[at]).collect();
            let all = |of: fn(&Took) -> f64| row.iter().map(of).collect::<Vec<f64>>();
            let [processor, memory] = [all(|took| took.processor), all(|took| took.memory)];
            let fields = row.iter().map(|took| {
                format!(" {} ({}) s, {:.0} MB |", short(took.seconds), short(took.processor), took.memory)
            });
            let last = cells.len() - 2;
            println!(
                "| {stage} |{} {:.2} | {:.2} | {:.2} |",
                fields.collect::<String>(),
                power(&cells, &processor),
                power(&cells[last..], &processor[last..]),
                power(&cells, &memory)
            );
            for (lines, values) in lines.iter_mut().zip([processor, memory]) {
                lines.push(Line { name: stage, points: cells.iter().copied().zip(values).collect() });
            }
        }
        println!();
        if colours == COLOURS[1] {
            let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/size.svg");
            let [time, memory] = &lines;
            std::fs::write(path, plot::svg(&[("seconds of processor time", time), ("MB at most", memory)]))
                .unwrap();
        }
    }
}
