//! Where a path leads, and what is done there that differs between systems.
//!
//! What is for Windows was run under Wine, not on Windows; what is for macOS was read in its documentation alone.

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
    let device = name.split('.').next().unwrap_or_default().trim_end().to_ascii_uppercase();
    let is_device = match device.as_str() {
        "CON" | "PRN" | "AUX" | "NUL" | "CONIN$" | "CONOUT$" => true,
        // The digits 1 to 9, and those that Latin-1 has raised.
        port => port.strip_prefix("COM").or_else(|| port.strip_prefix("LPT")).is_some_and(|number| {
            let mut digits = number.chars();
            matches!((digits.next(), digits.next()), (Some('1'..='9' | '¹' | '²' | '³'), None))
        }),
    };
    is_device
        || name.ends_with(['.', ' '])
        || name.contains(|c: char| {
            c.is_control() || matches!(c, '<' | '>' | ':' | '"' | '/' | '\\' | '|' | '?' | '*')
        })
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

/// Whether a file could not be replaced since another program has it open, as Windows tells it: by
/// `ERROR_ACCESS_DENIED` or by `ERROR_SHARING_VIOLATION` (Microsoft, system error codes).
pub(super) fn is_open_elsewhere(error: &io::Error) -> bool {
    cfg!(windows) && matches!(error.raw_os_error(), Some(5 | 32))
}

/// Puts a file in its place. On Windows, programs that look into every new file (against viruses, for a search) hold
/// it for some hundredths of a second: it is tried again for one second.
pub(super) fn persist(mut file: NamedTempFile, target: &Path) -> io::Result<()> {
    let target = of_any_length(target);
    for _ in 0..50 {
        match file.persist(&target) {
            Ok(_) => return Ok(()),
            Err(failed) if is_open_elsewhere(&failed.error) => file = failed.file,
            Err(failed) => return Err(failed.error),
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    file.persist(&target).map(drop).map_err(|failed| failed.error)
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
    // The folder of a path in it, as the rename takes it.
    let folder = fs::canonicalize(folder)?;
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
    use super::is_kept_back;

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
}
