//! Stopped from outside, or left by the one who reads.

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use super::making::{encoded, waves};
use super::noise;
use super::running::brede;

/// A stopped brede ends within a fifth of a second on a quiet machine; a test that stands in a queue for the
/// processor needs more patience.
const PATIENCE: Duration = Duration::from_secs(3);

/// Sends Ctrl-C and waits for the end: the code, and how long it took.
fn stop(child: &mut Child, signal: &str) -> (Option<i32>, Duration) {
    let id = child.id().to_string();
    let begun = Instant::now();
    assert!(Command::new("kill").args([signal, &id]).status().unwrap().success());
    while begun.elapsed() < PATIENCE {
        if let Some(status) = child.try_wait().unwrap() {
            return (status.code(), begun.elapsed());
        }
        std::thread::sleep(Duration::from_millis(1));
    }
    child.kill().unwrap();
    panic!("still running {PATIENCE:?} after it was asked to stop");
}

fn count(folder: &Path) -> usize {
    std::fs::read_dir(folder).map_or(0, Iterator::count)
}

fn making(photo: &Path, out: &Path) -> Command {
    let mut command = brede();
    command.arg("make").arg(photo).args(["--columns", "150", "--colours", "40", "--quiet", "--out"]).arg(out);
    command
}

#[test]
fn ctrl_c_at_any_moment_leaves_all_files_or_none() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("waves.png");
    std::fs::write(&photo, encoded(&waves(1200, 900).into(), image::ImageFormat::Png)).unwrap();
    let whole = folder.path().join("whole");
    let begun = Instant::now();
    assert!(making(&photo, &whole).status().unwrap().success());
    let usual = begun.elapsed();
    let mut stopped = 0;
    for (time, byte) in noise(5, 16).into_iter().enumerate() {
        let out = folder.path().join(time.to_string());
        let mut child = making(&photo, &out).spawn().unwrap();
        std::thread::sleep(usual.mul_f64(f64::from(byte) / 230.0) + Duration::from_millis(5));
        let ended = match child.try_wait().unwrap() {
            Some(status) => status.code(),
            None => stop(&mut child, "-INT").0,
        };
        let files = count(&out);
        match ended {
            // Stopped before the first rename, or after the last while folders were flushed.
            Some(130) => assert!(files == 0 || files == 5, "{files} files"),
            Some(0) => assert_eq!(files, 5),
            other => panic!("ended with {other:?}"),
        }
        stopped += usize::from(ended == Some(130));
    }
    assert!(stopped > 5, "stopped {stopped} times only");
}

#[test]
fn what_waits_for_input_is_stopped_too() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    for (signal, code) in [("-INT", 130), ("-TERM", 143)] {
        let mut child = making(Path::new("-"), &out).stdin(Stdio::piped()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(200));
        assert_eq!(stop(&mut child, signal).0, Some(code));
        assert!(!out.exists());
    }
    let pipe = folder.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let mut child = making(&pipe, &out).spawn().unwrap();
    std::thread::sleep(Duration::from_millis(200));
    assert_eq!(stop(&mut child, "-INT").0, Some(130));
    assert!(!out.exists());
}

#[test]
fn a_reader_who_leaves_early_has_had_enough() {
    for arguments in
        [&["shades", "show"][..], &["shades", "show", "--json"], &["--help"], &["completions", "bash"]]
    {
        let mut child =
            brede().args(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let ended = child.wait_with_output().unwrap();
        assert_eq!(ended.status.code(), Some(0), "{arguments:?}");
        assert_eq!(String::from_utf8_lossy(&ended.stderr), "", "{arguments:?}");
    }
}

#[test]
fn a_result_that_cannot_be_written_is_told() {
    let full = || std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let ended = brede().args(["shades", "show"]).stdout(full()).stderr(Stdio::piped()).output().unwrap();
    let said = String::from_utf8(ended.stderr).unwrap();
    assert!(ended.status.code() == Some(1) && said.contains("standard output"), "{said}");
    // Nobody to tell even of the error: the code alone says it.
    let ended = brede().args(["make", "no-such.png"]).stdout(full()).stderr(full()).status().unwrap();
    assert_eq!(ended.code(), Some(1));
}
