//! Runs brede as a person would, in a folder of its own.

use std::path::PathBuf;
use std::process::Command;

/// What a run of `brede make` wrote.
pub(crate) struct Made {
    pub(crate) folder: tempfile::TempDir,
    pub(crate) summary: serde_json::Value,
    stem: String,
}

impl Made {
    /// The path of an output by its ending.
    pub(crate) fn file(&self, ending: &str) -> PathBuf {
        self.folder.path().join(format!("{}.{ending}", self.stem))
    }
}

/// The command, on a fixed day, without a terminal.
pub(crate) fn brede() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brede"));
    // 1 January 2026, 00:00 UTC.
    command.env("SOURCE_DATE_EPOCH", "1767225600").stdin(std::process::Stdio::null());
    command
}

/// Makes a chart of a picture; it must succeed.
pub(crate) fn make(photo: &str, options: &[&str]) -> Made {
    let folder = tempfile::tempdir().unwrap();
    let text = output(brede().args(["make", photo, "--json", "--out"]).arg(folder.path()).args(options));
    let stem = std::path::Path::new(photo).file_stem().unwrap().to_str().unwrap().to_owned();
    Made { folder, summary: serde_json::from_str(&text).unwrap(), stem }
}

/// The standard output of a command that must succeed.
pub(crate) fn output(command: &mut Command) -> String {
    let done = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{command:?}: {said}");
    String::from_utf8_lossy(&done.stdout).into_owned()
}

/// The Python that has the reference libraries of tests/outside/requirements.txt.
pub(crate) fn python() -> String {
    std::env::var("BREDE_PYTHON").unwrap_or_else(|_| "python3".to_owned())
}
