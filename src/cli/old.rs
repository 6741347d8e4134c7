//! What commands still do that the desk will.

use std::path::{Path, PathBuf};

use brede::chart::Chart;
use brede::chart::marks::Composed;
use brede::desk;
use brede::making::photo::Photo;
use brede::planning::shift::Shift;
use brede::thread::shades::ShadeCard;

use super::files::read;
use super::make::LimitArgs;
use super::{Failure, words};

/// Reads a chart document.
pub(super) fn read_chart(path: &Path) -> Result<Chart, Failure> {
    chart_of(path, &read(path, "give a NAME.chart.json that brede wrote")?)
}

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

/// Lays the marks of a chart over it.
pub(super) fn compose(chart: &Chart) -> Result<Composed, Failure> {
    brede::printing::worked(chart).map_err(|error| {
        let hint = words::advice(&error.advice());
        Failure::new(error, hint)
    })
}

/// Reads a shade card.
pub(super) fn read_card(path: &Path) -> Result<ShadeCard, Failure> {
    let bytes = read(path, "give a CSV file with the columns code,name,colour")?;
    let name = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    ShadeCard::read(&name, &bytes)
        .map_err(|source| desk::Error::Card { name: path.display().to_string(), source }.into())
}

/// Reads a picture within the limits.
pub(super) fn open_photo(limits: &LimitArgs, path: &Path) -> Result<Photo, Failure> {
    super::guard::was_read(path);
    Photo::open(path, &limits.limits()).map_err(|error| desk::Error::from(error).into())
}

/// Where the cloth shows through, needle by needle, the worst first.
pub(super) fn shift_warnings(shifts: &[Shift]) -> Vec<String> {
    let mut warnings: Vec<String> = shifts.iter().take(6).map(words::shift).collect();
    if let Some(more) = shifts.len().checked_sub(6).filter(|&more| more > 0) {
        warnings.push(words::warning(&desk::Warning::MoreShifts { threads: more }));
    }
    warnings
}
