//! Which way a step is gone, and why it cannot be.

use crate::chart::ChartError;

/// Which way a step is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Done.
    On,
    /// Taken back.
    Back,
}

/// A difference that does not fit the chart.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DifferenceError {
    /// A list that it changes is shorter.
    #[error("it changes {list} that are not there")]
    Missing {
        /// What the list is of.
        list: &'static str,
    },
    /// Runs of cells that cannot be read.
    #[error("its cells are damaged at `{run}`")]
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
