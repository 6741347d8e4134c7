//! How a long job tells how far it is, and how it is told to stop.
//!
//! The stages call [`tell`] where they have come a step further, and [`ask`] wherever they would else be silent for
//! longer than a person waits: a wish to stop is heard within 0.2 s everywhere. Only `cli` draws a bar.

use std::ops::ControlFlow;
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::time::Duration;

use serde::Serialize;

use super::store::Hand;

/// What a job is at. Faces have words for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// A picture is decoded and brought to sRGB.
    ReadingPicture,
    /// A picture becomes cells.
    Framing,
    /// Threads are chosen and given to cells.
    ChoosingThreads,
    /// Marks are laid over the base.
    Marking,
    /// Symbols are given to needles.
    GivingSymbols,
    /// Routes, lengths and skeins are worked out.
    Planning,
    /// Pages are laid out.
    LayingOut,
    /// Pages are written as PDF.
    Inking,
    /// The finished piece is drawn.
    Stitching,
    /// Printed pages are read back.
    Proofing,
    /// A chart is read from pages that were printed elsewhere.
    Reading,
}

/// Listens to a job.
pub trait Progress: Sync {
    /// The job is at `stage`, with `done` of `total` steps behind it. [`ControlFlow::Break`] stops the job.
    fn at(&self, stage: Stage, done: u64, total: u64) -> ControlFlow<()>;

    /// Nothing new; may the job go on? Asked a thousand times a second and more, on many threads at once: the
    /// answer must cost next to nothing. [`ControlFlow::Break`] stops the job.
    fn ask(&self) -> ControlFlow<()>;

    /// The hand that the face has on files while they are being written: whoever may end the process at any moment gives
    /// its own. Else parts of files go when the job that was stopped is left.
    fn hand(&self) -> Hand {
        Hand::default()
    }
}

/// Hears nothing and never stops a job.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn at(&self, _: Stage, _: u64, _: u64) -> ControlFlow<()> {
        ControlFlow::Continue(())
    }

    fn ask(&self) -> ControlFlow<()> {
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
pub fn tell(progress: &dyn Progress, stage: Stage, done: u64, total: u64) -> Result<(), Stopped> {
    heard(progress.at(stage, done, total))
}

/// Asks `progress` and turns a wish to stop into an error that `?` passes on.
///
/// # Errors
/// [`Stopped`] when the listener wants the job to end.
pub fn ask(progress: &dyn Progress) -> Result<(), Stopped> {
    heard(progress.ask())
}

/// How often a wish to stop is asked for while another thread works: a tenth of what a person waits for it.
const OFTEN: Duration = Duration::from_millis(20);

/// Waits for what another thread sends, and leaves it behind when `progress` wants the job to end. Nothing comes where
/// that thread has ended without a word, as by a panic.
///
/// # Errors
/// [`Stopped`] when the listener wants the job to end.
pub(crate) fn wait_for<T>(other: &Receiver<T>, progress: &dyn Progress) -> Result<Option<T>, Stopped> {
    loop {
        match other.recv_timeout(OFTEN) {
            Ok(sent) => return Ok(Some(sent)),
            Err(RecvTimeoutError::Disconnected) => return Ok(None),
            Err(RecvTimeoutError::Timeout) => ask(progress)?,
        }
    }
}

/// Does work that cannot be asked in the middle in a thread of its own, and leaves it behind when `progress` wants the
/// job to end: it goes on until it is done, and what it holds is free only then. Nothing comes back where it panicked
/// or no thread could be begun. It must not divide its work with rayon, whose pool belongs to the job.
///
/// # Errors
/// [`Stopped`] when the listener wants the job to end.
pub(crate) fn aside<T: Send + 'static>(
    progress: &dyn Progress,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<Option<T>, Stopped> {
    let (tell, told) = sync_channel(1);
    // Nobody listens any more where the job was stopped.
    let begun =
        std::thread::Builder::new().name("brede, aside".to_owned()).spawn(move || _ = tell.send(work()));
    if begun.is_err() { Ok(None) } else { wait_for(&told, progress) }
}

fn heard(answer: ControlFlow<()>) -> Result<(), Stopped> {
    match answer {
        ControlFlow::Continue(()) => Ok(()),
        ControlFlow::Break(()) => Err(Stopped),
    }
}
