//! Where a path leads, and what is done there that differs between systems.
//!
//! What is for Windows and macOS alone was read in their documentation and not run: neither was at hand.

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
        let next = there.join(part);
        match fs::symlink_metadata(&next) {
            Err(error) if error.kind() == io::ErrorKind::InvalidFilename => return Err(error),
            Err(_) if matches!(part, Component::Normal(_)) => {}
            _ => there = next,
        }
    }
    Ok(())
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
    match file.sync_all() {
        // Some disks of other machines cannot flush a folder: the file itself is written.
        Err(error) if matches!(error.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => {
            Ok(())
        }
        flushed => flushed,
    }
}

/// Windows opens no folder as a file; NTFS writes names to its journal.
#[cfg(not(unix))]
pub(super) fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
