//! What the person should know though all went well.

use serde::Serialize;

use crate::chart::OpeningNote;
use crate::printing::sheet::SheetWarning;

/// Something to know.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Warning {
    /// Of a chart that was read.
    Opened {
        /// What it is called.
        chart: String,
        /// What.
        note: OpeningNote,
    },
    /// Of pages.
    Sheet {
        /// What.
        warning: SheetWarning,
    },
}

impl From<SheetWarning> for Warning {
    fn from(warning: SheetWarning) -> Self {
        Self::Sheet { warning }
    }
}
