//! Printing: symbols, pages in millimetres, and the PDF and pictures that come of them.

use crate::chart::Chart;
use crate::chart::marks::{self, Composed, MarkError};
use crate::ground::progress::{Progress, Silent};

pub mod ink;
pub mod length;
mod near;
pub mod picture;
pub mod sheet;
pub mod symbols;
pub mod typeface;

/// A chart with its marks worked in and a symbol for every needle: what is printed, counted and read back.
///
/// # Errors
/// [`MarkError`] names the mark at fault.
pub fn worked(chart: &Chart) -> Result<Composed, MarkError> {
    worked_while(chart, &Silent)
}

/// The same, for as long as `progress` lets it go on.
///
/// # Errors
/// [`MarkError`] names the mark at fault, or is [`MarkError::Stopped`].
pub fn worked_while(chart: &Chart, progress: &dyn Progress) -> Result<Composed, MarkError> {
    let mut composed = marks::compose_while(chart, progress)?;
    symbols::give_symbols_to_added(&mut composed.chart);
    Ok(composed)
}
