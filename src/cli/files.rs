//! Reading what the person gives, and writing results to where they asked for them.

use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use brede::chart::{Chart, OpeningNote};
use brede::ground::store::{self, Hold, Over, StoreError, Target, seal};

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

/// Whether bytes are of a file that brede wrote and nobody changed.
fn is_ours(bytes: &[u8]) -> bool {
    let is_edited = |note: &OpeningNote| matches!(note, OpeningNote::Edited { .. });
    let is_chart = || Chart::open(bytes).is_ok_and(|opened| !opened.notes.iter().any(is_edited));
    seal::is_unchanged(bytes) || bytes.starts_with(b"{") && is_chart()
}

/// Holds a chart that is going to be changed.
pub(super) fn hold(path: &Path) -> Result<Hold, Failure> {
    store::hold(path).map_err(failed)
}

/// Writes a file as a whole or not at all.
pub(super) fn save(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    save_all(None, &[(path.to_owned(), bytes.to_owned())], None).map(drop)
}

fn write(folder: Option<&Path>, targets: &[Target]) -> Result<Vec<PathBuf>, Failure> {
    let kept = store::write_all(super::stopping::hand(), folder, targets, &is_ours).map_err(failed)?;
    Ok(kept.into_iter().flatten().collect())
}

/// Writes files that belong together, all of them or none. Gives the paths at which is kept what they replaced.
pub(super) fn save_all(
    folder: Option<&Path>,
    files: &[(PathBuf, Vec<u8>)],
    stamp: Option<&str>,
) -> Result<Vec<PathBuf>, Failure> {
    let sealed = files.iter().map(|(path, bytes)| (path, seal::sealed(bytes.clone(), stamp)));
    let files: Vec<_> = sealed.collect();
    for (path, bytes) in &files {
        guard::may_write(path, bytes)?;
    }
    let targets: Vec<Target> =
        files.iter().map(|(path, bytes)| Target { path, bytes, over: guard::over() }).collect();
    write(folder, &targets)
}

#[derive(Debug, thiserror::Error)]
#[error("the chart would take {} megabytes; at most {} can be read again", found >> 20, MOST_BYTES >> 20)]
struct TooLarge {
    found: u64,
}

/// Writes a chart; `over` says what may be there.
pub(super) fn save_chart(path: &Path, chart: &Chart, over: Over) -> Result<(), Failure> {
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
    write(None, &[Target { path, bytes, over }]).map(drop)
}

fn failed(error: StoreError) -> Failure {
    let hint = super::words::advice(&error.advice());
    Failure::new(error, hint)
}
