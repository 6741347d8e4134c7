//! Files that are being written and are not in their place yet.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What a face holds of the writing that goes on, so that it can end the process at any moment and leave nothing
/// lying about. Clones are the same hand.
#[derive(Debug, Clone, Default)]
pub struct Hand(Arc<Mutex<Held>>);

/// What is in hand.
#[derive(Debug, Default)]
pub(super) struct Held {
    parts: Vec<PathBuf>,
    /// Folders made for them, the innermost last.
    folders: Vec<PathBuf>,
}

impl Hand {
    /// Removes what is not yet in its place, and lets nothing be written any more by whoever has this hand: to be called
    /// just before the process ends. Waits for renames under way, so that files that belong together are all new or
    /// all old.
    pub fn give_up(&self) {
        let mut held = self.held();
        // What is gone already is no matter, and there is nobody to tell of the rest.
        for part in held.parts.drain(..) {
            _ = fs::remove_file(part);
        }
        for folder in held.folders.drain(..).rev() {
            _ = fs::remove_dir(folder);
        }
        std::mem::forget(held);
    }

    /// What is in hand, nobody else's hand on it: nothing can be given up until this is dropped.
    pub(super) fn held(&self) -> MutexGuard<'_, Held> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Held {
    pub(super) fn take(&mut self, part: &Path) {
        self.parts.push(part.to_owned());
    }

    pub(super) fn let_go(&mut self, part: &Path) {
        self.parts.retain(|other| other != part);
    }
}

/// Folders that were made for files, and go again unless the files come.
pub(super) struct MadeFolders<'a> {
    hand: &'a Hand,
    made: Vec<PathBuf>,
}

impl<'a> MadeFolders<'a> {
    /// Makes a folder and those above it, as far as they are not there.
    pub(super) fn make(hand: &'a Hand, path: &Path) -> io::Result<Self> {
        let missing =
            path.ancestors().take_while(|folder| !folder.as_os_str().is_empty() && !folder.exists());
        let missing: Vec<&Path> = missing.collect();
        let mut all = Self { hand, made: Vec::new() };
        for folder in missing.into_iter().rev() {
            let mut held = hand.held();
            match fs::create_dir(folder) {
                Ok(()) => {
                    held.folders.push(folder.to_owned());
                    all.made.push(folder.to_owned());
                }
                // Another was quicker, or the name leads there by a detour such as `..`.
                Err(_) if folder.is_dir() => {}
                Err(error) => {
                    drop(held);
                    return Err(error);
                }
            }
        }
        // What is there but is no folder.
        fs::create_dir_all(path).map(|()| all)
    }

    /// The files have come: the folders stay.
    pub(super) fn keep(mut self) {
        self.forget();
    }

    fn forget(&mut self) -> Vec<PathBuf> {
        let made = std::mem::take(&mut self.made);
        self.hand.held().folders.retain(|folder| !made.contains(folder));
        made
    }
}

impl Drop for MadeFolders<'_> {
    fn drop(&mut self) {
        for folder in self.forget().iter().rev() {
            // Only an empty one goes.
            _ = fs::remove_dir(folder);
        }
    }
}
