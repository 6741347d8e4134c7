//! How a long job tells how far it is, and how it is told to stop.
//!
//! The stages call [`Progress::at`] now and then; only `cli` draws a bar.

use std::ops::ControlFlow;

/// Listens to a job.
pub trait Progress: Sync {
    /// The job is at `stage`, with `done` of `total` steps behind it. [`ControlFlow::Break`] stops the job.
    fn at(&self, stage: &'static str, done: u64, total: u64) -> ControlFlow<()>;
}

/// Hears nothing and never stops a job.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn at(&self, _: &'static str, _: u64, _: u64) -> ControlFlow<()> {
        ControlFlow::Continue(())
    }
}

/// The job was told to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("stopped")]
pub struct Stopped;

/// Tells `progress` and turns a wish to stop into an error that `?` passes on.
///
/// # Errors
/// [`Stopped`] when the listener wants the job to end.
pub fn tell(progress: &dyn Progress, stage: &'static str, done: u64, total: u64) -> Result<(), Stopped> {
    match progress.at(stage, done, total) {
        ControlFlow::Continue(()) => Ok(()),
        ControlFlow::Break(()) => Err(Stopped),
    }
}
