//! What operations are given, read and checked.

use super::files::Files;
use super::{Error, Source, Wanted};
use crate::chart::Chart;

impl Files {
    /// A chart.
    pub(super) fn chart(&mut self, source: &Source) -> Result<Chart, Error> {
        let bytes = self.bytes(source, Wanted::Chart)?;
        Chart::from_json(&bytes).map_err(|error| Error::Chart { name: source.to_string(), source: error })
    }
}
