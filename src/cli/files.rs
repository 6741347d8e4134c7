//! Reading what the person gives, and writing results to where they asked for them.

use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use brede::store::{self, StoreError};

use super::Failure;

/// The most bytes of a chart, a card or another text, 64 MiB: the largest chart there can be takes a quarter of
/// it, and a device that never ends must not eat the machine.
pub(super) const MOST_BYTES: u64 = 64 << 20;

#[derive(Debug, thiserror::Error)]
#[error("could not read {}", path.display())]
pub(super) struct ReadError {
    path: PathBuf,
    source: io::Error,
}

/// The bytes of a file that is not a picture.
pub(super) fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let file = std::fs::File::open(path)?;
    if file.metadata()?.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    let mut bytes = Vec::new();
    file.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MOST_BYTES {
        let text = format!("it is larger than {} MiB", MOST_BYTES >> 20);
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, text));
    }
    Ok(bytes)
}

/// The bytes of a file that is not a picture; `hint` says what to give instead.
pub(super) fn read(path: &Path, hint: &str) -> Result<Vec<u8>, Failure> {
    bytes(path).map_err(|source| Failure::new(ReadError { path: path.to_owned(), source }, hint))
}

/// The text of a file; `hint` says what to give instead.
pub(super) fn read_text(path: &Path, hint: &str) -> Result<String, Failure> {
    String::from_utf8(read(path, hint)?).map_err(|_| {
        let source = io::Error::new(io::ErrorKind::InvalidData, "it is not UTF-8 text");
        Failure::new(ReadError { path: path.to_owned(), source }, hint)
    })
}

/// Writes a file as a whole or not at all.
pub(super) fn save(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    store::write(path, bytes).map_err(failed)
}

/// Makes a folder where there is none.
pub(super) fn make_folder(path: &Path) -> Result<(), Failure> {
    store::make_folder(path).map_err(failed)
}

fn failed(error: StoreError) -> Failure {
    let hint = error.hint();
    Failure::new(error, hint)
}

/// A name for other programs: JSON is UTF-8 and names need not be, so that what does not fit is marked.
pub(super) fn name_of(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// A figure for other programs, to three places.
pub(super) fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}
