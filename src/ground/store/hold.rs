//! A file or folder for oneself, as far as other bredes go.

use std::fs::File;
use std::io;
use std::path::Path;
use std::time::Duration;

use super::StoreError;

/// How long another brede is waited for: a change takes well under a second, renames a few milliseconds.
const PATIENCE: Duration = Duration::from_secs(2);

/// Between two looks.
const STEP: Duration = Duration::from_millis(5);

/// What is held until this is dropped or the process ends in any way.
#[derive(Debug)]
pub struct Hold {
    /// None on a disk that has no locks: there, two changes within the same moment go unseen until the second is
    /// written, which is then refused.
    _file: Option<File>,
}

/// Holds a file from before it is read until after it is written, so that what others change meanwhile is not lost.
/// Others wait two seconds for it.
///
/// A file that is not there is not held.
///
/// # Errors
/// [`StoreError::Busy`].
pub fn hold(path: &Path) -> Result<Hold, StoreError> {
    held(path, || system::take_file(path))
}

/// Holds a folder while files in it are renamed.
pub(super) fn hold_folder(path: &Path) -> Result<Hold, StoreError> {
    held(path, || system::take_folder(path))
}

/// What came of one attempt.
enum Taken {
    Held(File),
    ByAnother,
    /// This disk has no locks, or there is no such file.
    Cannot,
}

fn held(path: &Path, take: impl Fn() -> Taken) -> Result<Hold, StoreError> {
    // Steps are counted and no clock is asked: on a machine with much to do the wait grows with what is waited for.
    for _ in 0..PATIENCE.as_millis() / STEP.as_millis() {
        match take() {
            Taken::Held(file) => return Ok(Hold { _file: Some(file) }),
            Taken::Cannot => return Ok(Hold { _file: None }),
            Taken::ByAnother => std::thread::sleep(STEP),
        }
    }
    Err(StoreError::Busy { path: path.to_owned() })
}

#[cfg(unix)]
mod system {
    use std::fs::TryLockError;
    use std::os::unix::fs::MetadataExt as _;

    use super::{File, Path, Taken, io};

    fn lock(file: File) -> Taken {
        match file.try_lock() {
            Ok(()) => Taken::Held(file),
            Err(TryLockError::WouldBlock) => Taken::ByAnother,
            Err(TryLockError::Error(_)) => Taken::Cannot,
        }
    }

    /// The file itself is locked. Whoever held it before may have renamed another over it: then it is that one that
    /// must be locked.
    pub(super) fn take_file(path: &Path) -> Taken {
        let Ok(file) = File::open(path) else { return Taken::Cannot };
        let same = |file: &File| -> io::Result<bool> {
            let (held, there) = (file.metadata()?, std::fs::metadata(path)?);
            Ok((held.dev(), held.ino()) == (there.dev(), there.ino()) && held.is_file())
        };
        match lock(file) {
            Taken::Held(file) if !file.metadata().is_ok_and(|found| found.is_file()) => Taken::Cannot,
            Taken::Held(file) if !same(&file).unwrap_or(false) => Taken::ByAnother,
            taken => taken,
        }
    }

    pub(super) fn take_folder(path: &Path) -> Taken {
        File::open(path).map_or(Taken::Cannot, lock)
    }
}

/// Windows locks a file against its own readers, and opens no folder: a file beside is made that none but one may
/// open, and that is gone when it is closed, also by the end of the process.
#[cfg(windows)]
mod system {
    use std::os::windows::fs::OpenOptionsExt as _;

    use super::{Path, Taken, io};

    /// `FILE_FLAG_DELETE_ON_CLOSE` and `FILE_ATTRIBUTE_HIDDEN` (Microsoft, `CreateFileW`).
    const DELETE_ON_CLOSE: u32 = 0x0400_0000;
    const HIDDEN: u32 = 0x2;

    /// `ERROR_SHARING_VIOLATION` and `ERROR_DELETE_PENDING` (Microsoft, system error codes).
    const HELD_BY_ANOTHER: [i32; 2] = [32, 303];

    fn take(path: &Path) -> Taken {
        let mut options = std::fs::OpenOptions::new();
        options.write(true).create(true).share_mode(0).custom_flags(DELETE_ON_CLOSE).attributes(HIDDEN);
        match options.open(path) {
            Ok(file) => Taken::Held(file),
            Err(error) if error.raw_os_error().is_some_and(|code| HELD_BY_ANOTHER.contains(&code)) => {
                Taken::ByAnother
            }
            // One that is going, while its holder closes it, is refused like a folder that nobody may write in; but
            // there, looking tells that it is not there.
            Err(error) if error.kind() == io::ErrorKind::PermissionDenied => match path.try_exists() {
                Ok(false) => Taken::Cannot,
                _ => Taken::ByAnother,
            },
            Err(_) => Taken::Cannot,
        }
    }

    pub(super) fn take_file(path: &Path) -> Taken {
        match (path.is_file(), path.file_name()) {
            (true, Some(name)) => {
                let mut lock = std::ffi::OsString::from(".brede-");
                lock.push(name);
                lock.push(".lock");
                take(&path.with_file_name(lock))
            }
            _ => Taken::Cannot,
        }
    }

    pub(super) fn take_folder(path: &Path) -> Taken {
        take(&path.join(".brede.lock"))
    }
}

#[cfg(not(any(unix, windows)))]
mod system {
    use super::{Path, Taken};

    pub(super) fn take_file(_: &Path) -> Taken {
        Taken::Cannot
    }

    pub(super) fn take_folder(_: &Path) -> Taken {
        Taken::Cannot
    }
}
