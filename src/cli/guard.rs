//! What must not be written over: what was read in this run, and files of another kind.

use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use brede::desk::Replace;
use brede::ground::store::Over;

use super::Failure;

/// The files read so far, as the system knows them.
static READ: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

#[derive(Debug, thiserror::Error)]
enum OverwriteError {
    #[error("{} was read just now and would be lost", path.display())]
    Input { path: PathBuf },
    #[error("{} is there and is {found}; {new} would take its place", path.display())]
    OtherKind { path: PathBuf, found: &'static str, new: &'static str },
}

const HINT: &str =
    "give another name for what is to be written, or say --replace, which keeps what is there too";

/// What may be written over in this run.
static REPLACE: AtomicBool = AtomicBool::new(false);

/// Says what may be written over in this run.
pub(super) fn may_replace(replace: Replace) {
    REPLACE.store(replace == Replace::Anything, Ordering::Relaxed);
}

/// What may be at a path that is written to.
pub(super) fn over() -> Over<'static> {
    if REPLACE.load(Ordering::Relaxed) { Over::Anything } else { Over::Ours }
}

/// Remembers that a file was read.
pub(super) fn was_read(path: &Path) {
    if let Ok(path) = std::fs::canonicalize(path) {
        READ.lock().unwrap_or_else(PoisonError::into_inner).push(path);
    }
}

/// Whether these bytes may be written there. A chart may take a chart's place, as the old one is kept; a device or
/// pipe takes anything.
pub(super) fn may_write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let Ok(real) = std::fs::canonicalize(path) else { return Ok(()) };
    if !real.is_file() {
        return Ok(());
    }
    let mut start = Vec::new();
    // What cannot be read cannot be judged; writing will tell.
    let looked = File::open(&real).and_then(|file| file.take(START as u64).read_to_end(&mut start));
    if looked.is_err() || start.is_empty() {
        return Ok(());
    }
    let (found, new) = (Kind::of(&start), Kind::of(bytes));
    let refuse = |error| Err(Failure::new(error, HINT));
    if found != new && over() == Over::Ours {
        let (found, new) = (found.name(), new.name());
        return refuse(OverwriteError::OtherKind { path: path.to_owned(), found, new });
    }
    let read = READ.lock().unwrap_or_else(PoisonError::into_inner);
    if (found, new) != (Kind::Chart, Kind::Chart) && read.contains(&real) {
        return refuse(OverwriteError::Input { path: path.to_owned() });
    }
    Ok(())
}

/// How much of a file tells its kind.
const START: usize = 64;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Pdf,
    Png,
    Jpeg,
    OtherPicture,
    Chart,
    Text,
}

impl Kind {
    /// By how it begins: PDF (ISO 32000-1, 7.5.2), PNG (ISO 15948, 5.2), JPEG (ITU-T T.81, B.1.1.3), and the
    /// signatures of GIF, RIFF (WebP), TIFF and BMP.
    fn of(bytes: &[u8]) -> Self {
        let begins = |start: &[u8]| bytes.starts_with(start);
        if begins(b"%PDF") {
            Self::Pdf
        } else if begins(b"\x89PNG") {
            Self::Png
        } else if begins(b"\xff\xd8") {
            Self::Jpeg
        } else if begins(b"GIF8") || begins(b"RIFF") || begins(b"II*\0") || begins(b"MM\0*") || begins(b"BM")
        {
            Self::OtherPicture
        } else if begins(b"{") {
            Self::Chart
        } else {
            Self::Text
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Pdf => "a PDF",
            Self::Png => "a PNG picture",
            Self::Jpeg => "a JPEG picture",
            Self::OtherPicture => "a picture",
            Self::Chart => "a chart",
            Self::Text => "a text or a table",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_are_told_by_how_they_begin() {
        for (bytes, kind) in [
            (b"%PDF-1.7".as_slice(), Kind::Pdf),
            (b"\x89PNG\r\n\x1a\n", Kind::Png),
            (b"\xff\xd8\xff\xe0", Kind::Jpeg),
            (b"GIF89a", Kind::OtherPicture),
            (b"{\"brede_chart\":1", Kind::Chart),
            (b"code,name,colour\n", Kind::Text),
            (b"", Kind::Text),
        ] {
            assert_eq!(Kind::of(bytes), kind, "{bytes:?}");
        }
    }
}
