//! What the person should know though all went well.

use serde::Serialize;

use crate::printing::sheet::SheetWarning;

/// Something to know.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Warning {
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
