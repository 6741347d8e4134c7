//! Where what a file was is kept.

use std::fs::{self, File};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use super::place;

/// Where the version of a file before its last change is kept: `pool.chart.earlier.json` for `pool.chart.json`.
#[must_use]
pub fn earlier(path: &Path) -> PathBuf {
    numbered(path, 1)
}

/// `.earlier`, `.earlier-2`, ...
fn numbered(path: &Path, number: u32) -> PathBuf {
    let mut name = path.file_stem().unwrap_or_default().to_owned();
    name.push(".earlier");
    if number > 1 {
        name.push(format!("-{number}"));
    }
    if let Some(ending) = path.extension() {
        name.push(".");
        name.push(ending);
    }
    path.with_file_name(name)
}

/// The most names that are tried: a folder with more of somebody else's files of such names is not to be believed.
const MOST: u32 = 1000;

/// The largest file that may be brede's own, 256 MiB: pictures of the largest charts take half of it.
const LARGEST: u64 = 256 << 20;

/// Whether the file at a path is brede's own and unchanged. A link is not, nor what may not be written to, which is a
/// wish to be kept.
pub(super) fn is_ours_at(path: &Path, is_ours: &dyn Fn(&[u8]) -> bool) -> io::Result<bool> {
    let found = fs::symlink_metadata(path)?;
    Ok(found.is_file()
        && !found.permissions().readonly()
        && whole(path)?.is_some_and(|bytes| is_ours(&bytes)))
}

/// The bytes of a file that is not too large to be brede's own.
pub(crate) fn whole(path: &Path) -> io::Result<Option<Vec<u8>>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(LARGEST + 1).read_to_end(&mut bytes)?;
    Ok((bytes.len() as u64 <= LARGEST).then_some(bytes))
}

/// What a file was, kept under a second name.
#[derive(Debug)]
pub(super) struct Kept {
    /// The name that it has now, which nothing had before.
    at: PathBuf,
    /// The name that it gets once its successor is in its place: the same, or that of what was kept before.
    finally: PathBuf,
}

impl Kept {
    /// Gives the file at `path` a second name. What is kept already stays until [`Kept::settle`], so that there is no
    /// moment at which the last version before a change is gone.
    pub(super) fn of(path: &Path, is_ours: &dyn Fn(&[u8]) -> bool) -> io::Result<Self> {
        let mut finally = None;
        for number in 1..=MOST {
            let at = numbered(path, number);
            match fs::symlink_metadata(&at) {
                // What is not brede's own, above all a link, is never replaced nor followed.
                Ok(_) => {
                    if finally.is_none() && is_ours_at(&at, is_ours)? {
                        finally = Some(at);
                    }
                }
                Err(error) if error.kind() == io::ErrorKind::NotFound => match second_name(path, &at) {
                    Ok(()) => return Ok(Self { finally: finally.unwrap_or_else(|| at.clone()), at }),
                    Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                    Err(error) => return Err(error),
                },
                Err(error) => return Err(error),
            }
        }
        Err(io::Error::new(io::ErrorKind::AlreadyExists, "no name is free to keep what was there under"))
    }

    /// Puts it over what was kept before, and says where it is.
    pub(super) fn settle(self) -> PathBuf {
        if self.at != self.finally {
            if fs::rename(&self.at, &self.finally).is_err() {
                return self.at;
            }
            // Two names of one file are left as they are by a rename (POSIX): of a change that was cut short.
            _ = fs::remove_file(&self.at);
        }
        self.finally
    }

    /// Its successor did not come: it needs no second name.
    pub(super) fn forget(self) {
        _ = fs::remove_file(self.at);
    }

    /// Its successor came and is not to stay.
    pub(super) fn put_back(self, path: &Path) {
        _ = fs::rename(self.at, path);
    }
}

/// A second name for a file: it keeps its bytes, permissions and date. Where a disk knows no second names, a copy.
fn second_name(path: &Path, at: &Path) -> io::Result<()> {
    match fs::hard_link(path, at) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(error),
        Err(_) => copy(path, at),
    }
}

fn copy(path: &Path, at: &Path) -> io::Result<()> {
    let (bytes, permissions) = (fs::read(path)?, fs::metadata(path)?.permissions());
    // Never over, nor through, what came there meanwhile.
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(at)?;
    let written = file
        .set_permissions(permissions)
        .and_then(|()| file.write_all(&bytes))
        .and_then(|()| place::flush(&file));
    if written.is_err() {
        _ = fs::remove_file(at);
    }
    written
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_copy_is_made_where_there_are_no_second_names() {
        let folder = tempfile::tempdir().unwrap();
        let (path, at) = (folder.path().join("a"), folder.path().join("b"));
        fs::write(&path, "one").unwrap();
        copy(&path, &at).unwrap();
        assert_eq!(fs::read(&at).unwrap(), b"one");
        fs::write(&path, "two").unwrap();
        assert_eq!(copy(&path, &at).unwrap_err().kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&at).unwrap(), b"one");
    }
}
