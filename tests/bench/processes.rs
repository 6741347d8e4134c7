//! What benches that run whole processes share: a large photo, and a process watched for time and memory.
#![allow(dead_code, clippy::unwrap_used)]

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use image::imageops::FilterType;

/// The shade card of the benches: 450 invented threads.
pub(crate) const CARD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/checks/range-450.csv");

/// A photo of so many pixels, made of a file in the tree by enlarging it and shaking each pixel a little, as a sensor
/// does: smooth pictures would be too kind.
pub(crate) fn photo(of: &str, path: &Path, width: u32, height: u32) {
    let small = image::open(Path::new(env!("CARGO_MANIFEST_DIR")).join(of)).unwrap();
    let mut picture = small.resize_exact(width, height, FilterType::CatmullRom).into_rgb8();
    let mut state = 1_u32;
    for value in picture.iter_mut() {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        *value = value.saturating_add_signed((state >> 24) as i8 >> 5);
    }
    picture.save(path).unwrap();
}

/// What a process took.
#[derive(Clone, Copy)]
pub(crate) struct Took {
    /// On the clock.
    pub(crate) seconds: f64,
    /// Of all processors together.
    pub(crate) processor: f64,
    /// The most memory it held, in MB.
    pub(crate) memory: f64,
}

/// Runs a command, which must succeed.
pub(crate) fn watched(command: &mut Command) -> Took {
    let start = Instant::now();
    let mut child = command.stdout(Stdio::null()).spawn().unwrap();
    let folder = format!("/proc/{}", child.id());
    let (mut memory, mut processor) = (0.0_f64, 0.0_f64);
    loop {
        let read = |name: &str| std::fs::read_to_string(format!("{folder}/{name}")).unwrap_or_default();
        memory = memory.max(high_water(&read("status")).unwrap_or(0.0));
        processor = processor.max(ticks(&read("stat")).unwrap_or(0.0));
        if let Some(done) = child.try_wait().unwrap() {
            assert!(done.success(), "{command:?}");
            return Took { seconds: start.elapsed().as_secs_f64(), processor, memory };
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// Seconds of processor time from a process's `stat`, to a hundredth (proc(5): fields 14 and 15).
fn ticks(stat: &str) -> Option<f64> {
    let fields: Vec<&str> = stat.rsplit_once(')')?.1.split_whitespace().collect();
    let [user, system] = [11, 12].map(|at| fields.get(at)?.parse::<f64>().ok());
    Some((user? + system?) / 100.0)
}

/// Seconds of processor time of this process: finely, of the threads that live; or to a hundredth, of those as well
/// that have ended.
pub(crate) fn processor() -> [f64; 2] {
    let all = std::fs::read_to_string("/proc/self/stat").ok().as_deref().and_then(ticks);
    let threads = std::fs::read_dir("/proc/self/task").unwrap().filter_map(|thread| {
        let text = std::fs::read_to_string(thread.ok()?.path().join("schedstat")).ok()?;
        text.split_whitespace().next()?.parse::<f64>().ok()
    });
    [threads.sum::<f64>() / 1e9, all.unwrap_or(0.0)]
}

/// `VmHWM` of a process's status, in MB.
pub(crate) fn high_water(status: &str) -> Option<f64> {
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse().ok().map(|kilobytes: f64| kilobytes / 1000.0)
}
