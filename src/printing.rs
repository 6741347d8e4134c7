//! Printing: symbols, pages in millimetres, and the PDF and pictures that come of them.

use crate::chart::Chart;
use crate::chart::marks::{self, Composed, MarkError};

pub mod ink;
pub mod length;
pub mod picture;
pub mod sheet;
pub mod symbols;
pub mod typeface;

/// A chart with its marks worked in and a symbol for every needle: what is printed, counted and read back.
///
/// # Errors
/// [`MarkError`] names the mark at fault.
pub fn worked(chart: &Chart) -> Result<Composed, MarkError> {
    let mut composed = marks::compose(chart)?;
    symbols::give_symbols_to_added(&mut composed.chart);
    Ok(composed)
}
