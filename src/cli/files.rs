//! Writing results to where the person asked for them.

use std::path::Path;

use brede::store::{self, StoreError};

use super::Failure;

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

/// A figure for other programs, to three places.
pub(super) fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}
