//! Reading what the person gives, and writing results to where they asked for them.

use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use brede::chart::Chart;
use brede::ground::store::{self, Before, StoreError, Target};

use super::{Failure, guard};

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
    guard::was_read(path);
    let file = std::fs::File::open(path)?;
    if file.metadata()?.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    let mut bytes = Vec::new();
    file.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MOST_BYTES {
        let text = format!("it is larger than {} megabytes", MOST_BYTES >> 20);
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
    guard::may_write(path, bytes)?;
    store::write(path, bytes).map_err(failed)
}

/// Writes files that belong together, all of them or none. Of those that are charts, what was there is kept.
/// Gives the paths at which it is.
pub(super) fn save_all(files: &[(PathBuf, Vec<u8>)]) -> Result<Vec<PathBuf>, Failure> {
    let target = |(path, bytes)| {
        let is_chart = Path::as_os_str(path).as_encoded_bytes().ends_with(b".chart.json");
        Target { path, bytes, before: if is_chart { Before::Kept } else { Before::Dropped } }
    };
    for (path, bytes) in files {
        guard::may_write(path, bytes)?;
    }
    let targets: Vec<Target> =
        files.iter().map(|(path, bytes)| target((path.as_path(), bytes.as_slice()))).collect();
    store::write_all(&targets).map_err(failed)
}

#[derive(Debug, thiserror::Error)]
#[error("the chart would take {} megabytes; at most {} can be read again", found >> 20, MOST_BYTES >> 20)]
struct TooLarge {
    found: u64,
}

/// That a chart was written over and is kept.
pub(super) fn kept_told(kept: &Path) -> String {
    format!("there was another chart of this name, which is kept as {}", kept.display())
}

/// Writes a chart; `before` says what becomes of the one that is there.
pub(super) fn save_chart(path: &Path, chart: &Chart, before: Before) -> Result<(), Failure> {
    let text = chart.to_json();
    if text.len() as u64 > MOST_BYTES {
        let error = TooLarge { found: text.len() as u64 };
        return Err(Failure::new(
            error,
            "take masks off that follow every cell, or part the chart into several",
        ));
    }
    let bytes = text.as_bytes();
    guard::may_write(path, bytes)?;
    store::write_all(&[Target { path, bytes, before }]).map_err(failed).map(drop)
}

/// Makes a folder where there is none.
pub(super) fn make_folder(path: &Path) -> Result<(), Failure> {
    store::make_folder(path).map_err(failed)
}

fn failed(error: StoreError) -> Failure {
    let hint = super::words::advice(&error.advice());
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
