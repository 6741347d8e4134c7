//! Where a path leads, and what is done there that differs between systems.
//!
//! What is for Windows was run under Wine alone; what is for macOS was compiled and not run.

use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::io;
use std::path::{Component, Path, PathBuf};

use tempfile::NamedTempFile;

/// Links from link to link that are followed, as systems do.
const LINKS: usize = 40;

/// Where bytes for a path go.
#[derive(Debug)]
pub(super) enum Place {
    /// A file, there or not yet, with no link left in its own name; and its folder.
    File { target: PathBuf, folder: PathBuf },
    /// A device or a pipe: written to as it is, never replaced.
    Stream,
}

impl Place {
    /// Follows links, also one to a file that is not there yet.
    pub(super) fn of(path: &Path) -> io::Result<Self> {
        let mut target = path.to_owned();
        for _ in 0..LINKS {
            match fs::symlink_metadata(&target) {
                Ok(found) if found.is_symlink() => {
                    let link = fs::read_link(&target)?;
                    target = target.parent().unwrap_or(Path::new("")).join(link);
                }
                Ok(found) if found.is_file() => {
                    // Renaming would replace it all the same: that it may not be written to is a wish to be kept.
                    if found.permissions().readonly() {
                        let text = "the file that is there is write-protected";
                        return Err(io::Error::new(io::ErrorKind::PermissionDenied, text));
                    }
                    return Ok(Self::file(target));
                }
                Ok(found) if found.is_dir() => return Err(io::ErrorKind::IsADirectory.into()),
                Ok(_) => return Ok(Self::Stream),
                Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Self::file(target)),
                Err(error) => return Err(error),
            }
        }
        Err(io::Error::other("its shortcuts (symbolic links) lead round in a circle"))
    }

    fn file(target: PathBuf) -> Self {
        let folder = match target.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        Self::File { folder: folder.to_owned(), target }
    }
}

/// Whether the disk takes the names of a path, also of folders that are not there yet: a system looks at a name only
/// where its folder is there.
pub(super) fn takes_name(path: &Path) -> io::Result<()> {
    let mut there = PathBuf::new();
    for part in path.components() {
        if cfg!(windows) && matches!(part, Component::Normal(name) if is_kept_back(&name.to_string_lossy())) {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "Windows has no such names"));
        }
        if cfg!(windows) && matches!(part, Component::Normal(name) if is_too_long(&name.to_string_lossy())) {
            return Err(io::ErrorKind::InvalidFilename.into());
        }
        let next = there.join(part);
        match fs::symlink_metadata(&next) {
            Err(error) if error.kind() == io::ErrorKind::InvalidFilename => return Err(error),
            Err(_) if matches!(part, Component::Normal(_)) => {}
            _ => there = next,
        }
    }
    Ok(())
}

/// Whether Windows keeps a name back: it would be a device (`con.json`), a hidden part of another file (`pool:2.json`),
/// or a file of another name (`pool.json.`). Microsoft, "Naming Files, Paths, and Namespaces".
fn is_kept_back(name: &str) -> bool {
    is_device(name) || name.ends_with(EDGE) || name.contains(is_no_letter)
}

/// What a name does not end in on Windows.
const EDGE: [char; 2] = ['.', ' '];

/// Whether a name is that of a device there, whatever follows its first dot.
fn is_device(name: &str) -> bool {
    let device = name.split('.').next().unwrap_or_default().trim_end().to_ascii_uppercase();
    match device.as_str() {
        "CON" | "PRN" | "AUX" | "NUL" | "CONIN$" | "CONOUT$" => true,
        // The digits 1 to 9, and those that Latin-1 has raised.
        port => port.strip_prefix("COM").or_else(|| port.strip_prefix("LPT")).is_some_and(|number| {
            let mut digits = number.chars();
            matches!((digits.next(), digits.next()), (Some('1'..='9' | '¹' | '²' | '³'), None))
        }),
    }
}

/// Whether no name has the character there: other systems keep back some of these.
fn is_no_letter(character: char) -> bool {
    character.is_control() || matches!(character, '<' | '>' | ':' | '"' | '/' | '\\' | '|' | '?' | '*')
}

/// A name as a file can have it on every system, so that it is the same wherever it is made and can be carried from one to
/// the other: a dash stands for each character that one of them keeps back and after the name of a device, and dots and
/// blanks at its end go. Other names stay as they are; nothing stays of one of dots and blanks.
#[must_use]
pub fn name_everywhere(name: &str) -> String {
    let plain = |character: char| if is_no_letter(character) { '-' } else { character };
    let mut plain: String = name.chars().map(plain).collect();
    plain.truncate(plain.trim_end_matches(EDGE).len());
    if is_device(&plain) {
        plain.insert(plain.find('.').unwrap_or(plain.len()), '-');
    }
    plain
}

/// Whether a name has more units of UTF-16 than disks of Windows take (Microsoft, "Maximum Path Length Limitation").
fn is_too_long(name: &str) -> bool {
    name.encode_utf16().count() > 255
}

/// Where two files of a folder have names that this system may take for one: Windows and macOS look at no case.
pub(super) fn one_name(name: &OsStr) -> OsString {
    if cfg!(any(windows, target_os = "macos")) {
        name.to_string_lossy().to_lowercase().into()
    } else {
        name.into()
    }
}

/// A path as the system takes it at any length: Windows takes more than 260 letters only of a path that leaves nothing
/// to be worked out.
#[cfg(windows)]
pub(super) fn of_any_length(path: &Path) -> PathBuf {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    match (fs::canonicalize(folder), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_owned(),
    }
}

#[cfg(not(windows))]
pub(super) fn of_any_length(path: &Path) -> PathBuf {
    path.to_owned()
}

/// Whether another program has a file open and lets nobody else at it: here, or as Windows tells it
/// (`ERROR_SHARING_VIOLATION`; Microsoft, system error codes).
pub(super) fn is_open_elsewhere(error: &io::Error) -> bool {
    error.kind() == io::ErrorKind::ResourceBusy || cfg!(windows) && error.raw_os_error() == Some(32)
}

/// `ERROR_ACCESS_DENIED`, which Windows says of a file that is open where it is to be replaced, and
/// `ERROR_SHARING_VIOLATION` (the same source).
const HELD: [i32; 2] = [5, 32];

/// Puts a file that is written and flushed in its place, over what is there. On Windows, programs that look into every
/// new file (against viruses, for a search) hold it for some hundredths of a second: it is tried again for one second.
///
/// # Errors
/// What the system says; `ResourceBusy` where another program does not let go of what is there. Then that is as it was.
pub fn persist(file: NamedTempFile, target: &Path) -> io::Result<()> {
    let target = of_any_length(target);
    let mut file = Some(file);
    // That files may be written in this folder is known: this one was.
    patiently(&HELD, || match file.take().map(|file| file.persist(&target)) {
        Some(Err(failed)) => {
            file = Some(failed.file);
            Err(failed.error)
        }
        _ => Ok(()),
    })
}

/// Does something that Windows refuses by one of these numbers as long as another program has the file open.
fn patiently(held: &[i32], mut attempt: impl FnMut() -> io::Result<()>) -> io::Result<()> {
    let mut tries = 0..50;
    loop {
        match attempt() {
            Err(error)
                if cfg!(windows) && error.raw_os_error().is_some_and(|number| held.contains(&number)) =>
            {
                if tries.next().is_none() {
                    return Err(io::Error::new(io::ErrorKind::ResourceBusy, error));
                }
            }
            done => return done,
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
}

/// Asks before anything is changed whether another program lets what is there be replaced: neither that nor a second
/// name that it was given could go again.
#[cfg(windows)]
pub(super) fn can_be_replaced(path: &Path) -> io::Result<()> {
    use std::os::windows::fs::OpenOptionsExt as _;
    /// The right to delete (Microsoft, "Standard Access Rights").
    const DELETE: u32 = 0x0001_0000;
    let asked = || File::options().access_mode(DELETE).open(path).map(drop);
    // A folder that nobody may write in is told by what follows.
    match patiently(&HELD[1..], asked) {
        Err(error) if is_open_elsewhere(&error) => Err(error),
        _ => Ok(()),
    }
}

#[cfg(not(windows))]
pub(super) fn can_be_replaced(_: &Path) -> io::Result<()> {
    Ok(())
}

/// The whole name of what is at a path, links followed, as a person writes it.
///
/// # Errors
/// Where nothing is there.
pub fn whole_name(path: &Path) -> io::Result<PathBuf> {
    let whole = fs::canonicalize(path)?;
    Ok(whole.to_str().and_then(as_written).unwrap_or(whole))
}

/// Windows begins a whole name with `\\?\` (Microsoft, "Naming Files, Paths, and Namespaces"), which other programs do
/// not take; one of 260 letters and more needs it.
fn as_written(whole: &str) -> Option<PathBuf> {
    let plain = whole.strip_prefix(r"\\?\")?;
    let share = plain.strip_prefix(r"UNC\");
    let is_drive = || plain.chars().nth(1) == Some(':');
    let plain = share.map(|share| format!(r"\\{share}")).or_else(|| is_drive().then(|| plain.to_owned()))?;
    (plain.encode_utf16().count() < 260).then(|| plain.into())
}

/// Flushes a file to the disk.
pub(super) fn flush(file: &File) -> io::Result<()> {
    as_far_as_asked(file.sync_all())
}

/// Disks of other machines that cannot be asked to flush say so in several ways (`ENOTTY` on macOS, whose flush is an
/// order to the disk itself): what is written is then with that machine.
fn as_far_as_asked(flushed: io::Result<()>) -> io::Result<()> {
    const ENOTTY: i32 = 25;
    match flushed {
        Err(error) if matches!(error.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => {
            Ok(())
        }
        Err(error) if cfg!(target_os = "macos") && error.raw_os_error() == Some(ENOTTY) => Ok(()),
        flushed => flushed,
    }
}

/// A file of a name that nothing has, with the permissions that new files have.
#[cfg(unix)]
pub(super) fn part(prefix: &str, suffix: &str, folder: &Path) -> io::Result<NamedTempFile> {
    use std::os::unix::fs::PermissionsExt as _;
    // What the person's own mask (umask) takes away is taken away.
    let usual = fs::Permissions::from_mode(0o666);
    tempfile::Builder::new().prefix(prefix).suffix(suffix).permissions(usual).tempfile_in(folder)
}

#[cfg(not(unix))]
pub(super) fn part(prefix: &str, suffix: &str, folder: &Path) -> io::Result<NamedTempFile> {
    // The folder of a path in it, as the rename takes it. Disks that some programs make tell no whole names.
    let folder = fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    tempfile::Builder::new().prefix(prefix).suffix(suffix).tempfile_in(folder)
}

/// The permissions of the file that is to be replaced are those of the new one.
#[cfg(unix)]
pub(super) fn follow_mode(file: &File, target: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let Ok(old) = fs::metadata(target) else { return Ok(()) };
    file.set_permissions(fs::Permissions::from_mode(old.permissions().mode() & 0o777))
}

/// Files on Windows have the permissions of their folder.
#[cfg(not(unix))]
pub(super) fn follow_mode(_: &File, _: &Path) -> io::Result<()> {
    Ok(())
}

/// The rename itself must reach the disk too. On macOS, `sync_all` asks for the disk's own memory to be emptied
/// (`F_FULLFSYNC`), as Rust's standard library says.
#[cfg(unix)]
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    let file = match File::open(folder) {
        Ok(file) => file,
        // A folder that may be written to and not be read.
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => return Ok(()),
        Err(error) => return Err(error),
    };
    as_far_as_asked(file.sync_all())
}

/// Windows opens no folder as a file; NTFS writes names to its journal.
#[cfg(not(unix))]
pub(super) fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::path::Path;

    use proptest::prelude::*;

    use super::{as_written, is_kept_back, name_everywhere};

    /// Microsoft, "Naming Files, Paths, and Namespaces" (Win32 documentation).
    #[test]
    fn names_that_windows_keeps_back_are_known() {
        for name in [
            "con",
            "CON",
            "nul.json",
            "Aux.chart.json",
            "prn .pdf",
            "com1",
            "LPT9.png",
            "com²",
            "pool.",
            "pool ",
            "a:b.json",
            "what?.pdf",
            "a*b",
            "a|b",
            "a\"b",
            "a<b",
            "a>b",
            "a\tb",
            "a\\b",
        ] {
            assert!(is_kept_back(name), "{name:?}");
        }
        for name in
            ["console.json", "com", "com10", "lpt0", "pool.json", ".brede-x.part", "Λιμνούλα.pdf", "a b;c=d"]
        {
            assert!(!is_kept_back(name), "{name:?}");
        }
    }

    #[test]
    fn what_a_system_keeps_back_is_exchanged_in_a_name_on_every_system() {
        for (name, wanted) in [
            ("a:b", "a-b"),
            ("tide/pool", "tide-pool"),
            (r"tide\pool", "tide-pool"),
            ("what? <b>*|\"", "what- -b----"),
            ("two\nlines", "two-lines"),
            ("con", "con-"),
            ("Nul.chart", "Nul-.chart"),
            ("COM1 .x", "COM1 -.x"),
            ("pool. .", "pool"),
            ("...", ""),
            ("Λιμνούλα, 2. try", "Λιμνούλα, 2. try"),
        ] {
            assert_eq!(name_everywhere(name), wanted, "{name:?}");
        }
    }

    proptest! {
        #[test]
        fn a_name_for_every_system_is_kept_back_by_none_and_stays_where_it_is_one(name in ".*") {
            let found = name_everywhere(&name);
            prop_assert!(!is_kept_back(&found), "{found:?}");
            prop_assert_eq!(name_everywhere(&found), found.clone());
            prop_assert!(is_kept_back(&name) || found == name);
        }
    }

    /// The forms are those of the same source, "Maximum Path Length Limitation" and "UNC names".
    #[test]
    fn whole_names_of_windows_are_told_as_they_are_written() {
        let written = |name: &str| as_written(name).map(|path| path.to_str().unwrap().to_owned());
        assert_eq!(written(r"\\?\C:\Pool\pool.json").as_deref(), Some(r"C:\Pool\pool.json"));
        assert_eq!(written(r"\\?\UNC\sea\pools\pool.json").as_deref(), Some(r"\\sea\pools\pool.json"));
        for kept in [r"C:\Pool", r"\\?\Volume{b75e2c83-0000-0000-0000-602f00000000}\Pool", "/home/ines/pool"]
        {
            assert_eq!(written(kept), None, "{kept}");
        }
        assert_eq!(written(&format!(r"\\?\C:\{}", "a\\".repeat(150))), None);
        let there = super::whole_name(Path::new(".")).unwrap();
        assert!(there.is_dir() && !there.to_str().unwrap().starts_with('\\'), "{there:?}");
    }
}
