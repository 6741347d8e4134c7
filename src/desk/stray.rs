//! Files that came apart from their chart.

use serde::Serialize;

use crate::chart::Revision;

/// A file beside a chart that does not belong to it as it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stray {
    /// What it is called.
    pub name: String,
    /// What it belongs to.
    pub of: Of,
}

/// What a file belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "of", content = "revision", rename_all = "kebab-case")]
pub enum Of {
    /// Another chart, or one that was made in another way.
    AnotherChart,
    /// This revision of the chart.
    Revision(Revision),
    /// A revision of the same number that was changed elsewhere.
    AnotherCopy,
}
