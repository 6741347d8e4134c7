//! What the person should know though all went well.

use serde::Serialize;

use super::Stray;
use crate::chart::{OpeningNote, Revision};
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
    /// Files beside a chart that belong to another chart, or show another revision of it.
    Apart {
        /// What the chart is called.
        chart: String,
        /// Its revision.
        revision: Revision,
        /// Which files.
        files: Vec<Stray>,
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
