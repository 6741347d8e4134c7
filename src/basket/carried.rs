//! What a change of a chart does to stitches that are done.

use serde::Serialize;

/// Stitches that are done, and what a change of the chart does to them.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Carried {
    /// So many stay as they are.
    pub kept: u64,
    /// So many stay, and are worked in another thread than the chart has now; those of before among them.
    pub otherwise: u64,
    /// So many would have to be taken out again, which they need not now.
    pub unpick: u64,
    /// So many were on cells that the chart has no more.
    pub lost: u64,
}

/// Whether a change may go so far that stitches have to be taken out again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unpicking {
    /// It is refused, with what it would come to.
    #[default]
    Refused,
    /// That is agreed to.
    Agreed,
}
