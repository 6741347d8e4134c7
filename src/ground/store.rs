//! Files written whole or not at all, and nothing of anybody's written over.
//!
//! A file is written beside its target, flushed to the disk and renamed over it, so that a crash leaves the
//! old one or the new one, never half. Several files are renamed together once all of them are written: a full
//! disk changes none. What is there is replaced only if brede wrote it and nobody changed it since ([`seal`]), or if
//! that is asked for; what it was is kept beside it ([`earlier`]).
//!
//! **The order of steps**, so that a process that is killed, or a machine that loses power, between any two of them
//! has lost nothing:
//!
//! 1. All new files are written beside their targets and flushed.
//! 2. The folders are held against other bredes; what is there is looked at.
//! 3. What is there gets a second name that was free (`NAME.earlier.EXT`, else `NAME.earlier-2.EXT`, ...); flushed.
//! 4. The new files are renamed over the targets; flushed.
//! 5. The second names become `NAME.earlier.EXT`, in the place of what was kept there by an earlier change; flushed.
//!
//! Up to step 4 the targets are as they were and so is what was kept of them; after it the new ones are there, and
//! both versions before them until step 5 drops the older.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use tempfile::NamedTempFile;

mod hand;
mod hold;
mod keep;
mod place;
pub mod seal;

use hand::MadeFolders;
use keep::Kept;
use place::Place;

use crate::ground::advice::Advice;
pub use hand::Hand;
pub use hold::{Hold, hold};
pub use keep::earlier;
pub(crate) use keep::whole;
pub use place::{name_everywhere, persist, whole_name};

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
    /// A file that is there and that brede did not write, or that was changed since.
    #[error("{} is there already: brede did not write it, or it was changed since", path.display())]
    NotOurs {
        /// Which.
        path: PathBuf,
    },
    /// Two files for one place.
    #[error("two results would go to {}", path.display())]
    Twice {
        /// Which.
        path: PathBuf,
    },
    /// A file that is another than it was when it was read.
    #[error("{} was changed by another program since it was read", path.display())]
    Changed {
        /// Which.
        path: PathBuf,
    },
    /// A file or folder that another brede does not let go of.
    #[error("another brede is at work on {}", path.display())]
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
            Self::NotOurs { .. } => return Advice::AllowReplacing,
            Self::Twice { .. } => return Advice::OtherName,
            Self::Changed { .. } => return Advice::DoAgain,
            Self::Busy { .. } => return Advice::WaitForOther,
            Self::Write { source, .. } => source,
        };
        match source.kind() {
            // Windows lets nobody replace a file that another program has open.
            _ if place::is_open_elsewhere(source) => Advice::CloseElsewhere,
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => Advice::WritablePlace,
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge => {
                Advice::MakeRoom
            }
            io::ErrorKind::InvalidFilename => Advice::ShorterName,
            // Also of a disk that was made for Windows, on any system.
            io::ErrorKind::InvalidInput => Advice::PlainName,
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
    /// What may be there.
    pub over: Over<'a>,
}

/// What may be replaced. What it was is kept in every case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over<'a> {
    /// What brede wrote and nobody changed since.
    Ours,
    /// Any file.
    Anything,
    /// What was read, and must still be the same: else another program's change would be lost.
    Read(&'a [u8]),
}

/// Whether bytes are of a file that brede wrote and nobody changed.
pub type IsOurs<'a> = &'a dyn Fn(&[u8]) -> bool;

/// Whether a file may be written there, as far as can be said before the work is done: nothing is there, or what is
/// may be replaced, and the disk takes the name. That its folder is there is not asked.
///
/// # Errors
/// [`StoreError`].
pub fn may_write(path: &Path, over: Over, is_ours: IsOurs) -> Result<(), StoreError> {
    let fail = |source| StoreError::Write { path: path.to_owned(), source };
    place::takes_name(path).map_err(fail)?;
    let Place::File { target, .. } = Place::of(path).map_err(fail)? else { return Ok(()) };
    if !target.exists() {
        return Ok(());
    }
    place::takes_name(&earlier(&target)).map_err(fail)?;
    if over == Over::Ours && !keep::is_ours_at(&target, is_ours).map_err(fail)? {
        return Err(StoreError::NotOurs { path: path.to_owned() });
    }
    Ok(())
}

/// Writes files, all of them or none. For each that replaced another, gives the path at which that is kept; a file that
/// is there with the same bytes is left as it is. `folder` is made if it is not there, and goes again if nothing
/// comes into it.
///
/// # Errors
/// [`StoreError`]; what was at the paths before is then untouched. A device or pipe may have been written to.
pub fn write_all(
    hand: &Hand,
    folder: Option<&Path>,
    targets: &[Target],
    is_ours: IsOurs,
) -> Result<Vec<Option<PathBuf>>, StoreError> {
    let made = folder.map(|folder| {
        MadeFolders::make(hand, folder)
            .map_err(|source| StoreError::Write { path: folder.to_owned(), source })
    });
    let made = made.transpose()?;
    let mut staged = Vec::new();
    for target in targets {
        staged.push(Staged::new(hand, target)?);
    }
    refuse_twice(&staged)?;
    let folders = folders(&staged);
    let mut holds = Vec::new();
    for folder in &folders {
        holds.push(hold::hold_folder(folder)?);
    }
    for (staged, target) in staged.iter_mut().zip(targets) {
        staged.look(target, is_ours)?;
    }
    for (staged, target) in staged.iter().zip(targets) {
        staged.stream(target)?;
    }
    let kept = publish(hand, &mut staged, &folders, is_ours)?;
    if let Some(made) = made {
        made.keep();
    }
    folders.iter().for_each(|folder| sweep(folder));
    Ok(kept)
}

/// A file that is written and flushed, and not yet in its place.
struct Staged<'a> {
    hand: &'a Hand,
    path: PathBuf,
    place: Place,
    /// None for a device or a pipe.
    file: Option<NamedTempFile>,
    there: There,
    /// What was there, under its second name.
    kept: Option<Kept>,
    /// Whether it is in its place.
    placed: bool,
}

/// What is at a target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum There {
    Nothing,
    /// The very bytes that were to be written.
    TheSame,
    Another,
}

/// What files that are not yet in their place are called.
const PREFIX: &str = ".brede-";
const SUFFIX: &str = ".part";

impl<'a> Staged<'a> {
    fn new(hand: &'a Hand, target: &Target) -> Result<Self, StoreError> {
        let path = target.path.to_owned();
        let fail = |source| StoreError::Write { path: path.clone(), source };
        let place = place::takes_name(&path).and_then(|()| Place::of(&path)).map_err(fail)?;
        let file = match &place {
            Place::Stream => None,
            Place::File { folder, .. } => {
                let mut held = hand.held();
                let file = place::part(PREFIX, SUFFIX, folder).map_err(fail)?;
                held.take(file.path());
                Some(file)
            }
        };
        let mut staged =
            Self { hand, path: path.clone(), place, file, there: There::Nothing, kept: None, placed: false };
        if let (Some(file), Place::File { target: at, .. }) = (&mut staged.file, &staged.place) {
            file.write_all(target.bytes)
                .and_then(|()| place::follow_mode(file.as_file(), at))
                .and_then(|()| place::flush(file.as_file()))
                .map_err(fail)?;
        }
        step();
        Ok(staged)
    }

    /// Looks at what is there, which must be something that may be replaced.
    fn look(&mut self, target: &Target, is_ours: IsOurs) -> Result<(), StoreError> {
        let Place::File { target: at, .. } = &self.place else { return Ok(()) };
        let fail = |source| StoreError::Write { path: self.path.clone(), source };
        let present = match fs::metadata(at) {
            Ok(_) => place::can_be_replaced(at).and_then(|()| whole(at)).map_err(fail)?,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(source) => return Err(fail(source)),
        };
        let present = present.as_deref();
        match target.over {
            Over::Read(read) if present != Some(read) => {
                return Err(StoreError::Changed { path: self.path.clone() });
            }
            Over::Ours if present != Some(target.bytes) && !present.is_some_and(is_ours) => {
                return Err(StoreError::NotOurs { path: self.path.clone() });
            }
            _ => {}
        }
        self.there = if present == Some(target.bytes) { There::TheSame } else { There::Another };
        Ok(())
    }

    /// Writes to a device or a pipe.
    fn stream(&self, target: &Target) -> Result<(), StoreError> {
        let Place::Stream = self.place else { return Ok(()) };
        fs::OpenOptions::new()
            .write(true)
            .open(target.path)
            .and_then(|mut file| file.write_all(target.bytes))
            .map_err(|source| StoreError::Write { path: self.path.clone(), source })
    }
}

impl Drop for Staged<'_> {
    fn drop(&mut self) {
        if let Some(file) = &self.file {
            self.hand.held().let_go(file.path());
        }
    }
}

fn refuse_twice(staged: &[Staged]) -> Result<(), StoreError> {
    let mut seen: Vec<PathBuf> = Vec::new();
    for staged in staged {
        let Place::File { target, folder } = &staged.place else { continue };
        // The folder is there; two ways to name it are one.
        let folder = fs::canonicalize(folder).unwrap_or_else(|_| folder.clone());
        let target = folder.join(place::one_name(target.file_name().unwrap_or_default()));
        if seen.contains(&target) {
            return Err(StoreError::Twice { path: staged.path.clone() });
        }
        seen.push(target);
    }
    Ok(())
}

/// The folders of files, in an order that is the same for every brede: two that want the same ones never wait for each
/// other in a ring.
fn folders(staged: &[Staged]) -> Vec<PathBuf> {
    let folder = |staged: &Staged| match &staged.place {
        Place::File { folder, .. } => Some(whole_name(folder).unwrap_or_else(|_| folder.clone())),
        Place::Stream => None,
    };
    let mut folders: Vec<PathBuf> = staged.iter().filter_map(folder).collect();
    folders.sort_unstable();
    folders.dedup();
    folders
}

/// Renames files over their targets, one right after another, in the order that the head of this module gives.
fn publish(
    hand: &Hand,
    staged: &mut [Staged],
    folders: &[PathBuf],
    is_ours: IsOurs,
) -> Result<Vec<Option<PathBuf>>, StoreError> {
    // Until all is done, nobody ends the process.
    let mut held = hand.held();
    let done = keep_all(staged, is_ours).and_then(|()| flush(folders)).and_then(|()| {
        for staged in staged.iter_mut().filter(|staged| staged.there != There::TheSame) {
            let (Place::File { target, .. }, Some(file)) = (&staged.place, staged.file.take()) else {
                continue;
            };
            let part = file.path().to_owned();
            let renamed = persist(file, target);
            held.let_go(&part);
            renamed.map_err(|source| StoreError::Write { path: staged.path.clone(), source })?;
            staged.placed = true;
            step();
        }
        Ok(())
    });
    if done.is_err() {
        staged.iter_mut().rev().for_each(take_back);
    }
    done.and_then(|()| flush(folders))?;
    let settle = |staged: &mut Staged| {
        let kept = staged.kept.take().map(Kept::settle);
        step();
        kept
    };
    let kept = staged.iter_mut().map(settle).collect();
    flush(folders)?;
    Ok(kept)
}

/// Gives all that is there, and will be replaced, a second name.
fn keep_all(staged: &mut [Staged], is_ours: IsOurs) -> Result<(), StoreError> {
    for staged in staged.iter_mut().filter(|staged| staged.there == There::Another) {
        let Place::File { target, .. } = &staged.place else { continue };
        let kept = Kept::of(target, is_ours);
        staged.kept = Some(kept.map_err(|source| StoreError::Write { path: earlier(&staged.path), source })?);
        step();
    }
    Ok(())
}

/// Makes what was there be there again.
fn take_back(staged: &mut Staged) {
    let Place::File { target, .. } = &staged.place else { return };
    match (staged.placed, staged.kept.take()) {
        (true, Some(kept)) => kept.put_back(target),
        (true, None) => _ = fs::remove_file(target),
        (false, Some(kept)) => kept.forget(),
        (false, None) => {}
    }
    staged.placed = false;
}

fn flush(folders: &[PathBuf]) -> Result<(), StoreError> {
    for folder in folders {
        place::sync_folder(folder).map_err(|source| StoreError::Write { path: folder.clone(), source })?;
    }
    step();
    Ok(())
}

/// A test ends the process here; see [`tests`].
#[cfg(test)]
fn step() {
    tests::step();
}

#[cfg(not(test))]
fn step() {}

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

#[cfg(test)]
mod tests;
