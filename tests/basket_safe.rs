//! That nothing acknowledged is lost from the workbasket: processes killed at any moment, and power lost at any flush.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use brede::basket::{Basket, Missing};

use crate::running;

/// A chart of a hundred columns and rows in a workbasket; gives the folder and the id.
fn home() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let picture = image::RgbImage::from_fn(100, 100, |x, y| image::Rgb([x as u8, y as u8, 90]));
    picture.save(folder.path().join("tide.png")).unwrap();
    let run = |arguments: &[&str]| running::output(brede(folder.path()).args(arguments));
    run(&["make", "tide.png", "--colours", "6", "--columns", "100"]);
    let id = run(&["keep", "tide/tide.chart.json"]).trim().to_owned();
    (folder, id)
}

fn brede(folder: &Path) -> Command {
    let mut command = running::brede();
    command.env("BREDE_BASKET", folder.join("basket")).current_dir(folder);
    command
}

/// The command that ticks the cell of a number.
fn tick(folder: &Path, id: &str, number: usize) -> Command {
    let mut command = brede(folder);
    let rectangle = format!("{},{},1,1", number % 100 + 1, number / 100 + 1);
    command.args(["done", id, "--quiet", "--rectangle", &rectangle]);
    command
}

fn holds(folder: &Path, id: &str, acknowledged: &[usize]) {
    let basket = Basket::open(&folder.join("basket"), Missing::Refuse).unwrap();
    assert_eq!(basket.faults().unwrap(), Vec::<String>::new());
    let id = basket.find(id).unwrap();
    let done = basket.done_of(&id).unwrap();
    for &cell in acknowledged {
        assert!(done.cells[cell].is_some(), "cell {cell} was acknowledged");
    }
    let count = done.cells.iter().filter(|state| state.is_some()).count() as u64;
    assert_eq!(basket.piece(&id).unwrap().done, count);
}

/// Two processes tick at once; each is killed after a while that is drawn anew, if it has not ended by then.
fn killed(kills: usize) {
    let (folder, id) = home();
    let (folder, mut seed) = (folder.path(), 20_260_307u64);
    let mut draw = |most: u64| {
        // Knuth, The Art of Computer Programming 2, 3.3.4: the constants of MMIX.
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % most
    };
    // How long a tick takes here, so that kills fall within it.
    let begun = std::time::Instant::now();
    assert!(tick(folder, &id, 0).status().unwrap().success());
    let usual = begun.elapsed().as_micros() as u64;
    let (mut acknowledged, mut number, mut dead) = (vec![0], 0, 0);
    while dead < kills {
        let mut both: Vec<_> = (0..2)
            .map(|_| {
                number += 1;
                let child =
                    tick(folder, &id, number).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
                (number, child)
            })
            .collect();
        std::thread::sleep(Duration::from_micros(draw(usual * 3 / 2)));
        for (number, child) in &mut both {
            // One that has ended is not hurt.
            _ = child.kill();
            if child.wait().unwrap().success() {
                acknowledged.push(*number);
            } else {
                dead += 1;
            }
        }
        if dead % 8 < 2 {
            holds(folder, &id, &acknowledged);
        }
        assert!(number < 9_000, "{dead} of {number} were killed in time");
    }
    holds(folder, &id, &acknowledged);
    assert!(acknowledged.len() > 5, "{} of {number} ended by themselves", acknowledged.len());
}

#[test]
fn what_was_acknowledged_outlives_kills_under_load() {
    killed(24);
}

#[test]
#[ignore = "two hundred kills take a minute"]
fn what_was_acknowledged_outlives_two_hundred_kills() {
    killed(200);
}

#[test]
#[ignore = "needs strace and Python (BREDE_PYTHON)"]
fn a_loss_of_power_at_any_flush_leaves_all_that_was_acknowledged() {
    let (folder, id) = home();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/basket_cuts.py");
    let mut judge = Command::new(running::python());
    judge.args([script, env!("CARGO_BIN_EXE_brede"), &id]).arg(folder.path().join("basket"));
    let text = running::output(judge.env("SOURCE_DATE_EPOCH", "1767225600"));
    let report: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert!(report["cuts"].as_u64().unwrap() > 60, "{report}");
    assert_eq!(report["lost"].as_array().unwrap().len(), 0, "{report}");
}

#[test]
#[ignore = "needs to mount a small disk: root on Linux"]
fn a_disk_that_is_full_loses_nothing() {
    let (folder, id) = home();
    let disk = folder.path().join("disk");
    std::fs::create_dir(&disk).unwrap();
    let mut mount = Command::new("mount");
    running::output(mount.args(["-t", "tmpfs", "-o", "size=600k", "tmpfs"]).arg(&disk));
    let ended = std::panic::catch_unwind(|| {
        std::fs::copy(folder.path().join("basket/basket.sqlite"), disk.join("basket.sqlite")).unwrap();
        let mut acknowledged = Vec::new();
        let mut said = String::new();
        for number in 0..9_000 {
            let mut command = tick(folder.path(), &id, number);
            let output = command.env("BREDE_BASKET", &disk).output().unwrap();
            if !output.status.success() {
                said = String::from_utf8_lossy(&output.stderr).into_owned();
                break;
            }
            acknowledged.push(number);
            // The disk fills from elsewhere.
            let filler = vec![7; 4096];
            use std::io::Write as _;
            let mut file =
                std::fs::File::options().create(true).append(true).open(disk.join("filler")).unwrap();
            _ = file.write_all(&filler);
        }
        assert!(said.contains("no room") && said.contains("make room"), "{said}");
        std::fs::remove_file(disk.join("filler")).unwrap();
        let basket = Basket::open(&disk, Missing::Refuse).unwrap();
        assert!(basket.faults().unwrap().is_empty());
        let done = basket.done_of(&basket.find(&id).unwrap()).unwrap();
        assert!(!acknowledged.is_empty() && acknowledged.iter().all(|&cell| done.cells[cell].is_some()));
    });
    running::output(Command::new("umount").arg("-l").arg(&disk));
    ended.unwrap();
}
