//! A mark on a chart: what was asked for, an id that stays, and the cells that it was found to be about.

use std::fmt;
use std::ops::Deref;

use serde::{Deserialize, Serialize};

use super::{Mark, Mask};

/// The id of a mark: 8 hexadecimal digits that stay when it is renamed or changed, and are not given again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct MarkId(pub(super) u32);

impl fmt::Display for MarkId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:08x}", self.0)
    }
}

impl From<MarkId> for String {
    fn from(id: MarkId) -> Self {
        id.to_string()
    }
}

impl TryFrom<String> for MarkId {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let is_id = text.len() == 8 && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
        let id = if is_id { u32::from_str_radix(&text, 16).ok() } else { None };
        id.map(Self).ok_or_else(|| "a mark's id is 8 hexadecimal digits".to_owned())
    }
}

/// A mark as a chart has it. What was asked for (its recipe) is kept beside the cells that came of it: these are worked
/// and never sought again, whatever becomes of the threads, until the recipe changes.
///
/// A mark that comes from elsewhere has neither id nor cells yet: [`Chart::settle`](super::Chart::settle) gives them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlacedMark {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) id: Option<MarkId>,
    #[serde(flatten)]
    mark: Mark,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) cells: Option<Mask>,
}

impl PlacedMark {
    /// Its id, once it is settled.
    #[must_use]
    pub fn id(&self) -> Option<MarkId> {
        self.id
    }

    /// What was asked for.
    #[must_use]
    pub fn mark(&self) -> &Mark {
        &self.mark
    }

    /// The cells that it is about, where it is about any and they have been found.
    #[must_use]
    pub fn cells(&self) -> Option<&Mask> {
        self.cells.as_ref()
    }

    /// The same mark about other cells.
    pub(super) fn with_cells(self, cells: Option<Mask>) -> Self {
        Self { cells, ..self }
    }

    /// The same mark asked for otherwise: its id stays, and its cells where their recipe does.
    #[must_use]
    pub fn changed(&self, mark: Mark) -> Self {
        let cells = if mark.motif() == self.mark.motif() { self.cells.clone() } else { None };
        Self { id: self.id, mark, cells }
    }

    /// The same mark and cells with other words for what it is about, where the chart's threads have got other codes.
    #[must_use]
    pub fn reworded(&self, mark: Mark) -> Self {
        Self { id: self.id, mark, cells: self.cells.clone() }
    }
}

impl From<Mark> for PlacedMark {
    fn from(mark: Mark) -> Self {
        Self { id: None, mark, cells: None }
    }
}

impl Deref for PlacedMark {
    type Target = Mark;
    fn deref(&self) -> &Mark {
        &self.mark
    }
}
