//! Stopped from outside, or left by the one who reads.

use std::io::Write as _;
use std::os::unix::process::ExitStatusExt as _;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use super::bounded::PATIENCE;
use super::making::{encoded, waves};
use super::noise;
use super::running::brede;

/// Sends a signal and waits for the end, however long that takes on a slow machine: only what would never end is killed.
fn stop(child: &mut Child, signal: &str) -> ExitStatus {
    // The shell's own `kill`: as a program it is not everywhere.
    let id = child.id().to_string();
    assert!(Command::new("sh").args(["-c", "kill \"$0\" \"$1\"", signal, &id]).status().unwrap().success());
    let begun = Instant::now();
    while begun.elapsed() < PATIENCE {
        if let Some(status) = child.try_wait().unwrap() {
            return status;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
    child.kill().unwrap();
    child.wait().unwrap();
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
    // The moments are spread over the time that a run takes. Where a run was over first, the machine has become faster
    // than it was, so the next moments come earlier.
    let mut usual = begun.elapsed();
    let (mut stopped, mut tried) = (0, 0);
    for byte in noise(5, 200) {
        tried += 1;
        let out = folder.path().join(tried.to_string());
        let mut child = making(&photo, &out).spawn().unwrap();
        std::thread::sleep(usual.mul_f64(f64::from(byte) / 256.0));
        let ended = match child.try_wait().unwrap() {
            Some(status) => status,
            None => stop(&mut child, "-INT"),
        };
        let files = count(&out);
        match (ended.code(), ended.signal()) {
            // Stopped before the first rename, or after the last while folders were flushed.
            (Some(130), _) => {
                assert!(files == 0 || files == 5, "{files} files");
                stopped += 1;
            }
            (Some(0), _) => {
                assert_eq!(files, 5);
                usual = usual.mul_f64(0.8);
            }
            // Before it could listen, brede has not begun: the system ended it (2, POSIX).
            (None, Some(2)) => {
                assert_eq!(files, 0);
                usual = usual.mul_f64(1.25);
            }
            other => panic!("ended with {other:?}"),
        }
        if stopped == 12 {
            break;
        }
    }
    assert!(stopped == 12, "stopped {stopped} times only, of {tried}");
}

#[test]
fn what_waits_for_input_is_stopped_too() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    for (signal, code) in [("-INT", 130), ("-TERM", 143)] {
        let mut child = making(Path::new("-"), &out).stdin(Stdio::piped()).spawn().unwrap();
        // More than any pipe holds by itself: once it is written, brede is reading, and waits for the rest.
        let mut end = child.stdin.take().unwrap();
        end.write_all(&vec![0; 2 << 20]).unwrap();
        assert_eq!(stop(&mut child, signal).code(), Some(code));
        assert!(!out.exists());
    }
    let pipe = folder.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let mut child = making(&pipe, &out).spawn().unwrap();
    // Opened only when brede opens the other end.
    let end = std::fs::OpenOptions::new().write(true).open(&pipe).unwrap();
    assert_eq!(stop(&mut child, "-INT").code(), Some(130));
    assert!(!out.exists());
    drop(end);
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
#[cfg_attr(not(target_os = "linux"), ignore = "needs /dev/full")]
fn a_result_that_cannot_be_written_is_told() {
    let full = || std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let ended = brede().args(["shades", "show"]).stdout(full()).stderr(Stdio::piped()).output().unwrap();
    let said = String::from_utf8(ended.stderr).unwrap();
    assert!(ended.status.code() == Some(1) && said.contains("standard output"), "{said}");
    // Nobody to tell even of the error: the code alone says it.
    let ended = brede().args(["make", "no-such.png"]).stdout(full()).stderr(full()).status().unwrap();
    assert_eq!(ended.code(), Some(1));
}
