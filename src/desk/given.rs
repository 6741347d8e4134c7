//! What operations are given, read and checked.

use super::files::Files;
use super::{Error, Source, Wanted, Warning};
use crate::chart::Chart;

impl Files {
    /// A chart.
    pub(super) fn chart(&mut self, source: &Source) -> Result<Chart, Error> {
        let bytes = self.bytes(source, Wanted::Chart)?;
        let name = || source.to_string();
        let opened = Chart::open(&bytes).map_err(|error| Error::Chart { name: name(), source: error })?;
        self.warnings.extend(opened.notes.into_iter().map(|note| Warning::Opened { chart: name(), note }));
        Ok(opened.chart)
    }
}
