//! Files written whole or not at all.
//!
//! A file is written beside its target, flushed to the disk and renamed over it, so that a crash leaves the
//! old one or the new one, never half. Several files are renamed together once all of them are written: a full
//! disk changes none. What a chart was before a change is kept beside it ([`earlier`]).

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tempfile::NamedTempFile;

mod place;

use place::Place;

use crate::ground::advice::Advice;

/// Something that could not be written.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// A file or folder that could not be written.
    #[error("could not write {}", path.display())]
    Write {
        /// What was to be written.
        path: PathBuf,
        /// Why it was not.
        source: io::Error,
    },
    /// A file that is another than it was when it was read.
    #[error("{} was changed by another program since it was read", path.display())]
    Changed {
        /// Which.
        path: PathBuf,
    },
    /// A folder that another brede does not let go of.
    #[error("another brede is writing to {}", path.display())]
    Busy {
        /// Which.
        path: PathBuf,
    },
}

impl StoreError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        let source = match self {
            Self::Changed { .. } => return Advice::DoAgain,
            Self::Busy { .. } => return Advice::WaitForOther,
            Self::Write { source, .. } => source,
        };
        match source.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => Advice::WritablePlace,
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge => {
                Advice::MakeRoom
            }
            io::ErrorKind::InvalidFilename => Advice::ShorterName,
            _ => Advice::OtherPlace,
        }
    }
}

/// A file to be written.
#[derive(Debug, Clone, Copy)]
pub struct Target<'a> {
    /// Where. A symbolic link is followed: the file that it points to is replaced, the link stays.
    pub path: &'a Path,
    /// What.
    pub bytes: &'a [u8],
    /// What becomes of the file that is there.
    pub before: Before<'a>,
}

/// What becomes of a file that is replaced.
#[derive(Debug, Clone, Copy)]
pub enum Before<'a> {
    /// It is gone: it can be made again.
    Dropped,
    /// It is kept beside the new one, see [`earlier`].
    Kept,
    /// It is kept likewise, and must still be what was read: else another program's change would be lost.
    Read(&'a [u8]),
}

/// Where the version of a file before its last change is kept: `pool.chart.earlier.json` for `pool.chart.json`.
#[must_use]
pub fn earlier(path: &Path) -> PathBuf {
    let mut name = path.file_stem().unwrap_or_default().to_owned();
    name.push(".earlier");
    if let Some(ending) = path.extension() {
        name.push(".");
        name.push(ending);
    }
    path.with_file_name(name)
}

/// Writes `bytes` to `path`, replacing what is there in one step.
///
/// # Errors
/// [`StoreError`]; what was at `path` before is then untouched.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    write_all(&[Target { path, bytes, before: Before::Dropped }]).map(drop)
}

/// Writes files, first all of them beside their targets, then each over its target. Gives the paths at which
/// earlier versions are kept.
///
/// # Errors
/// [`StoreError`]; what was at the paths before is then untouched, unless it was a rename that failed.
pub fn write_all(targets: &[Target]) -> Result<Vec<PathBuf>, StoreError> {
    let mut staged = Vec::new();
    for target in targets {
        staged.push(Staged::new(target.path, target.bytes)?);
    }
    let mut locks: Vec<(PathBuf, Option<File>)> = Vec::new();
    let mut kept = Vec::new();
    let mut earlier_ones = Vec::new();
    for (target, staged) in targets.iter().zip(&staged) {
        let Place::File { target: path, folder } = &staged.place else { continue };
        if matches!(target.before, Before::Dropped) {
            continue;
        }
        if !locks.iter().any(|(locked, _)| locked == folder) {
            locks.push((folder.clone(), lock(folder)?));
        }
        let present = match fs::read(path) {
            Ok(present) => present,
            Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
            Err(source) => return Err(StoreError::Write { path: path.clone(), source }),
        };
        if matches!(target.before, Before::Read(read) if read != present) {
            return Err(StoreError::Changed { path: target.path.to_owned() });
        }
        if present != target.bytes {
            earlier_ones.push(Staged::new(&earlier(path), &present)?);
            kept.push(earlier(path));
        }
    }
    publish(earlier_ones.into_iter().chain(staged))?;
    Ok(kept)
}

/// Files that are written but not yet in their place: what a person who stops brede would find lying about.
static IN_HAND: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

fn in_hand() -> MutexGuard<'static, Vec<PathBuf>> {
    IN_HAND.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Removes what is not yet in its place, and lets nothing be written any more: to be called just before the
/// process ends. Waits for renames under way, so that files that belong together are all new or all old.
pub fn give_up() {
    let mut in_hand = in_hand();
    for path in in_hand.drain(..) {
        // What is gone already is no matter, and there is nobody to tell of the rest.
        _ = fs::remove_file(path);
    }
    std::mem::forget(in_hand);
}

/// A file that is written and flushed, and not yet in its place.
struct Staged {
    path: PathBuf,
    place: Place,
    /// None for a device or a pipe, which was written to at once.
    file: Option<NamedTempFile>,
}

/// What files that are not yet in their place are called.
const PREFIX: &str = ".brede-";
const SUFFIX: &str = ".part";

impl Staged {
    fn new(path: &Path, bytes: &[u8]) -> Result<Self, StoreError> {
        let fail = |source| StoreError::Write { path: path.to_owned(), source };
        let place = Place::of(path).map_err(fail)?;
        let (target, folder) = match &place {
            Place::File { target, folder } => (target, folder),
            Place::Stream => {
                fs::OpenOptions::new()
                    .write(true)
                    .open(path)
                    .and_then(|mut file| file.write_all(bytes))
                    .map_err(fail)?;
                return Ok(Self { path: path.to_owned(), place, file: None });
            }
        };
        let mut file = {
            let mut in_hand = in_hand();
            let file =
                tempfile::Builder::new().prefix(PREFIX).suffix(SUFFIX).tempfile_in(folder).map_err(fail)?;
            in_hand.push(file.path().to_owned());
            file
        };
        let written = file
            .write_all(bytes)
            .and_then(|()| place::set_usual_mode(file.as_file(), target))
            .and_then(|()| file.as_file().sync_all());
        let staged = Self { path: path.to_owned(), place, file: Some(file) };
        written.map_err(fail).map(|()| staged)
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        if let Some(file) = &self.file {
            let path = file.path();
            in_hand().retain(|other| other != path);
        }
    }
}

/// Renames files over their targets, one right after another, and flushes their folders.
fn publish(staged: impl Iterator<Item = Staged>) -> Result<(), StoreError> {
    let mut staged: Vec<Staged> = staged.collect();
    {
        let mut in_hand = in_hand();
        for staged in &mut staged {
            let (Place::File { target, .. }, Some(file)) = (&staged.place, staged.file.take()) else {
                continue;
            };
            let temporary = file.path().to_owned();
            let renamed = file.persist(target);
            in_hand.retain(|other| *other != temporary);
            renamed.map_err(|error| StoreError::Write { path: staged.path.clone(), source: error.error })?;
        }
    }
    let mut flushed: Vec<&Path> = Vec::new();
    for staged in &staged {
        if let Place::File { folder, .. } = &staged.place
            && !flushed.contains(&folder.as_path())
        {
            flushed.push(folder);
            sweep(folder);
            place::sync_folder(folder)
                .map_err(|source| StoreError::Write { path: staged.path.clone(), source })?;
        }
    }
    Ok(())
}

/// How long another brede is waited for: its renames take milliseconds.
const PATIENCE: Duration = Duration::from_secs(5);

/// The folder for oneself, as far as other bredes go, until the lock is dropped or the process ends in any way. Not
/// every disk has locks: there, two changes within the same milliseconds go unseen.
fn lock(folder: &Path) -> Result<Option<File>, StoreError> {
    let Ok(file) = File::open(folder) else { return Ok(None) };
    let step = Duration::from_millis(5);
    for _ in 0..PATIENCE.as_millis() / step.as_millis() {
        match file.try_lock() {
            Ok(()) => return Ok(Some(file)),
            Err(fs::TryLockError::WouldBlock) => std::thread::sleep(step),
            Err(fs::TryLockError::Error(_)) => return Ok(None),
        }
    }
    Err(StoreError::Busy { path: folder.to_owned() })
}

/// Files that brede left half written because the machine or the process was ended: removed once they are an hour
/// old, when nobody can be writing them any more.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let is_ours = name.to_str().is_some_and(|name| name.starts_with(PREFIX) && name.ends_with(SUFFIX));
        let is_old = || {
            let written = entry.metadata().ok().filter(fs::Metadata::is_file)?.modified().ok()?;
            Some(written.elapsed().ok()? > Duration::from_secs(3600))
        };
        if is_ours && is_old() == Some(true) {
            _ = fs::remove_file(entry.path());
        }
    }
}

/// Makes a folder and those above it.
///
/// # Errors
/// [`StoreError`] when it cannot be made.
pub fn make_folder(path: &Path) -> Result<(), StoreError> {
    fs::create_dir_all(path).map_err(|source| StoreError::Write { path: path.to_owned(), source })
}

#[cfg(test)]
mod tests;
