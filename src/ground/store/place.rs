//! Where a path leads, and what is done there that differs between systems.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

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

/// A temporary file is private; a chart is not: keep the old file's mode, or give the usual one.
#[cfg(unix)]
pub(super) fn set_usual_mode(file: &File, target: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = fs::metadata(target).map_or(0o644, |old| old.permissions().mode() & 0o777);
    file.set_permissions(fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
pub(super) fn set_usual_mode(_: &File, _: &Path) -> io::Result<()> {
    Ok(())
}

/// The rename itself must reach the disk too. Folders cannot be opened as files everywhere.
#[cfg(unix)]
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    match File::open(folder)?.sync_all() {
        // Some disks of other machines cannot flush a folder: the file itself is written.
        Err(error) if error.kind() == io::ErrorKind::InvalidInput => Ok(()),
        flushed => flushed,
    }
}

#[cfg(not(unix))]
pub(super) fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
