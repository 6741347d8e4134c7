//! Needles as people know them.

use serde::Serialize;

use crate::chart::Chart;

/// A needle as people know it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Named {
    /// Its code, or codes.
    pub code: String,
    /// Its symbol.
    pub symbol: String,
}

impl Named {
    pub(super) fn of(chart: &Chart, needle: Option<usize>) -> Option<Self> {
        let needle = chart.needles().get(needle?)?;
        Some(Self { code: needle.code(), symbol: needle.symbol.clone() })
    }
}
