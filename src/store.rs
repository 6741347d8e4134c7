//! Files written whole or not at all.
//!
//! A file is written beside its target, flushed to the disk and renamed over it, so that a crash leaves the
//! old one or the new one, never half.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// A file or folder that could not be written.
#[derive(Debug, thiserror::Error)]
#[error("could not write {}", path.display())]
pub struct StoreError {
    /// What was to be written.
    pub path: PathBuf,
    /// Why it was not.
    pub source: io::Error,
}

impl StoreError {
    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self.source.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                "choose a folder that you may write to with --out"
            }
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge => {
                "make room on the disk; what was there before is kept"
            }
            io::ErrorKind::InvalidFilename => "give it a shorter name",
            _ => "choose another place with --out",
        }
    }
}

/// Writes `bytes` to `path`, replacing what is there in one step. A symbolic link is followed: the file that
/// it points to is replaced, the link stays.
///
/// # Errors
/// [`StoreError`]; what was at `path` before is then untouched.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let fail = |source| StoreError { path: path.to_owned(), source };
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut file = tempfile::Builder::new().prefix(".brede-").tempfile_in(folder).map_err(fail)?;
    file.write_all(bytes).map_err(fail)?;
    set_usual_mode(file.as_file(), &target).map_err(fail)?;
    file.as_file().sync_all().map_err(fail)?;
    file.persist(&target).map_err(|error| fail(error.error))?;
    sync_folder(folder).map_err(fail)
}

/// A temporary file is private; a chart is not: keep the old file's mode, or give the usual one.
#[cfg(unix)]
fn set_usual_mode(file: &fs::File, target: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = fs::metadata(target).map_or(0o644, |old| old.permissions().mode() & 0o777);
    file.set_permissions(fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn set_usual_mode(_: &fs::File, _: &Path) -> io::Result<()> {
    Ok(())
}

/// The rename itself must reach the disk too. Folders cannot be opened as files everywhere.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Makes a folder and those above it.
///
/// # Errors
/// [`StoreError`] when it cannot be made.
pub fn make_folder(path: &Path) -> Result<(), StoreError> {
    fs::create_dir_all(path).map_err(|source| StoreError { path: path.to_owned(), source })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write(&path, b"one").unwrap();
        write(&path, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn a_symbolic_link_stays_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        write(&real, b"old").unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        write(&link, b"new").unwrap();
        assert_eq!(fs::read(&real).unwrap(), b"new");
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    }

    #[test]
    fn a_folder_that_is_not_there_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("no/such/file");
        let error = write(&path, b"x").unwrap_err();
        assert!(error.to_string().contains("no/such/file"), "{error}");
    }
}
