//! Which way a step is gone, and why it cannot be.

use std::fmt;

use crate::chart::ChartError;

/// Which way a step is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Done.
    On,
    /// Taken back.
    Back,
}

/// A list of a chart that steps change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum List {
    /// The threads and blends.
    Needles,
    /// The marks.
    Marks,
    /// The rows of the shade card.
    Card,
}

impl fmt::Display for List {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Needles => "needles",
            Self::Marks => "marks",
            Self::Card => "rows of the card",
        })
    }
}

/// A difference that does not fit the chart.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DifferenceError {
    /// A list that it changes is shorter.
    #[error("it changes {list} that are not there")]
    Missing {
        /// What the list is of.
        list: List,
    },
    /// Runs of cells that cannot be read.
    #[error("its squares are damaged at `{run}`")]
    Run {
        /// The run at fault.
        run: String,
    },
    /// A card that cannot be read.
    #[error("its shade card is damaged")]
    Card,
    /// What comes of it is not what it says.
    #[error("what comes of it is not what was saved")]
    Content,
    /// Parts that do not make a chart.
    #[error(transparent)]
    Chart(#[from] ChartError),
}
