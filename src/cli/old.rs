//! What commands still do that the desk will.

use std::path::{Path, PathBuf};

use brede::chart::Chart;
use brede::desk;
use brede::thread::shades::ShadeCard;

use super::files::read;
use super::{Failure, words};

/// The chart of the bytes that a file holds.
pub(super) fn chart_of(path: &Path, bytes: &[u8]) -> Result<Chart, Failure> {
    let opened = Chart::open(bytes).map_err(|source| {
        let hint = words::advice(&source.advice());
        Failure::new(ChartFileError { path: path.to_owned(), source }, hint)
    })?;
    for note in &opened.notes {
        super::tell::warning(&words::opened(&path.display().to_string(), note));
    }
    Ok(opened.chart)
}

#[derive(Debug, thiserror::Error)]
#[error("could not use the chart {}", path.display())]
struct ChartFileError {
    path: PathBuf,
    source: brede::chart::DocumentError,
}

/// Reads a shade card.
pub(super) fn read_card(path: &Path) -> Result<ShadeCard, Failure> {
    let bytes = read(path, "give a CSV file with the columns code,name,colour")?;
    let name = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let shown = path.display().to_string();
    let card =
        ShadeCard::read(&name, &bytes).map_err(|source| desk::Error::Card { name: shown.clone(), source })?;
    for warning in card.warnings().iter().cloned() {
        super::tell::warning(&words::warning(&desk::Warning::Card { card: shown.clone(), warning }));
    }
    Ok(card)
}
