//! Runs brede with little memory, ends what would never end, and judges how it ended.

use std::ffi::OsStr;
use std::io::Write as _;
use std::os::unix::process::ExitStatusExt as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// The most memory of its own that a run may have, in KiB: the system refuses more (`setrlimit`, `RLIMIT_DATA`).
const MEMORY: u32 = 300 << 10;

/// Seconds of processor time, all threads together, after which the system ends a run (`RLIMIT_CPU`). This is no
/// measure of speed but stands against what never ends: the longest run takes some 5 s in the development profile,
/// and a hundred times as long is let pass, so that no machine is too slow for the tests.
const SECONDS: u32 = 500;

/// A run that waits for what never comes uses no processor time: it is ended after this long. Runs share the machine
/// with other tests and with whatever else is at work there, so it is longer than the limit above.
pub(super) const PATIENCE: Duration = Duration::from_secs(1800);

/// How a run ended.
pub(crate) struct Ended {
    pub(crate) code: i32,
    pub(crate) said: String,
    pub(crate) result: String,
}

/// The command, bounded, with these arguments.
pub(crate) fn command<S: AsRef<OsStr>>(arguments: impl IntoIterator<Item = S>) -> Command {
    command_within(MEMORY, arguments)
}

pub(crate) fn command_within<S: AsRef<OsStr>>(
    memory: u32,
    arguments: impl IntoIterator<Item = S>,
) -> Command {
    let mut command = Command::new("sh");
    command
        .args(["-c", &format!("ulimit -d {memory}; ulimit -t {SECONDS}; exec \"$0\" \"$@\"")])
        .arg(env!("CARGO_BIN_EXE_brede"))
        .args(arguments)
        .env("SOURCE_DATE_EPOCH", "1767225600")
        .stdin(Stdio::null());
    command
}

/// Runs a bounded command and holds it to the rules: it ends by itself, with 0 or 1 (or 2, where it was asked in a
/// wrong way), and says at most one error, on lines of its own, with what to do.
pub(crate) fn run(name: &str, command: &mut Command) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let (out, err) = (folder.path().join("out"), folder.path().join("err"));
    let create = |path: &Path| std::fs::File::create(path).unwrap();
    let mut child = command.stdout(create(&out)).stderr(create(&err)).spawn().unwrap();
    let begun = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if begun.elapsed() > PATIENCE {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("{name}: still running after {PATIENCE:?}");
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let read = |path: &Path| String::from_utf8(std::fs::read(path).unwrap()).unwrap();
    let (said, result) = (read(&err), read(&out));
    let code =
        status.code().unwrap_or_else(|| panic!("{name}: ended by signal {:?}: {said}", status.signal()));
    assert!((0..=2).contains(&code), "{name}: ended with {code}: {said}");
    assert!(!said.contains("panicked"), "{name}: {said}");
    if code < 2 {
        let known = ["error: ", "  because: ", "hint: ", "warning: ", "note: "];
        let strange = said.lines().find(|line| !known.iter().any(|known| line.starts_with(known)));
        assert_eq!(strange, None, "{name}: a line of no kind in {said}");
    }
    let errors = said.lines().filter(|line| line.starts_with("error: ")).count();
    if code == 0 {
        assert_eq!(errors, 0, "{name}: {said}");
    } else {
        assert_eq!(errors, 1, "{name}: {said}");
        assert_eq!(result, "", "{name}: nothing but results on standard output");
    }
    if code == 1 {
        let hints = said.lines().filter(|line| line.starts_with("hint: ") && line.len() > 12).count();
        assert_eq!(hints, 1, "{name} says what to do: {said}");
        assert!(said.lines().all(|line| line.len() < 1000), "{name}: a line that nobody reads: {said}");
    }
    Ended { code, said, result }
}

/// Makes a chart of a file in a folder, few cells and threads; gives how it ended.
pub(crate) fn make(name: &str, photo: &Path, options: &[&str]) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let mut command = command([OsStr::new("make"), OsStr::new("--quiet"), OsStr::new("--out")]);
    command.arg(folder.path()).args(["--colours", "5", "--columns", "12"]).args(options).arg("--").arg(photo);
    let ended = run(name, &mut command);
    let left = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(left, if ended.code == 0 { 5 } else { 0 }, "{name}: files in the folder");
    ended
}

/// The same of bytes, from a file of this name.
pub(crate) fn make_of(name: &str, bytes: &[u8], options: &[&str]) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join(name);
    std::fs::write(&photo, bytes).unwrap();
    make(name, &photo, options)
}

/// The same of bytes on standard input.
pub(crate) fn make_of_input(name: &str, bytes: &[u8]) -> Ended {
    let mut input = tempfile::tempfile().unwrap();
    input.write_all(bytes).unwrap();
    std::io::Seek::rewind(&mut input).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut command = command(["make", "-", "--quiet", "--colours", "5", "--columns", "12", "--out"]);
    run(name, command.arg(folder.path()).stdin(input))
}

#[test]
#[cfg_attr(not(target_os = "linux"), ignore = "other systems do not count mapped memory (RLIMIT_DATA)")]
fn the_bounds_bind() {
    // Were the limits not set, all else here would prove nothing.
    let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-own/rock-pool.jpg");
    let folder = tempfile::tempdir().unwrap();
    let mut command = command_within(4 << 10, ["make", "--quiet"]);
    let status = command.arg(photo).arg("--out").arg(folder.path()).stderr(Stdio::null()).status().unwrap();
    assert!(!status.success(), "4 MiB must not be enough");
}
