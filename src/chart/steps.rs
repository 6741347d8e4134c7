//! What was done to a chart, step by step: each step says what it was and holds the differences that it made, so that it
//! can be undone and done again, in any sitting.
//!
//! Every change goes through [`Chart::change`]. Owns the list of steps; leaves differences to `difference`.

mod cells;
mod difference;
mod way;

use serde::{Deserialize, Serialize};

use super::{Chart, Fingerprint, Identity, MarkError};

pub use difference::Difference;
pub use way::{DifferenceError, Way};

/// What was done to a chart.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Done {
    /// A mark was added.
    MarkAdded {
        /// Its name.
        mark: String,
        /// Its kind.
        of: String,
    },
    /// A mark was changed.
    MarkChanged {
        /// Its name before the change.
        mark: String,
    },
    /// A mark was moved.
    MarkMoved {
        /// Its name.
        mark: String,
        /// By so many columns to the right and rows down.
        by: [i32; 2],
    },
    /// Marks were taken off.
    MarksRemoved {
        /// Their names.
        marks: Vec<String>,
    },
    /// A mark was laid over or under others.
    MarkReordered {
        /// Its name.
        mark: String,
    },
    /// Marks were taken from a file.
    MarksTaken {
        /// Their names.
        marks: Vec<String>,
    },
    /// All threads were changed for those of another card.
    CardMoved {
        /// The new card's name.
        card: String,
    },
    /// Needles got other symbols.
    SymbolsGiven,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// What was done.
    #[serde(flatten)]
    pub done: Done,
    /// The fingerprint of the chart before it.
    pub before: Fingerprint,
    /// The fingerprint of the chart after it.
    pub after: Fingerprint,
    /// What it changed.
    pub change: Difference,
}

/// All steps, the oldest first; the last of them may be undone.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Steps {
    pub(super) list: Vec<Step>,
    pub(super) undone: usize,
}

impl Steps {
    /// What was done, the oldest first, without what is undone.
    #[must_use]
    pub fn done(&self) -> impl DoubleEndedIterator<Item = &Step> {
        self.list[..self.list.len() - self.undone].iter()
    }

    /// What is undone and can be done again, the next first.
    #[must_use]
    pub fn undone(&self) -> impl DoubleEndedIterator<Item = &Step> {
        self.list[self.list.len() - self.undone..].iter()
    }
}

/// A step that cannot be taken back or done again.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StepError {
    /// There is none to take back.
    #[error("nothing has been done to the chart that could be undone")]
    NothingDone,
    /// There is none to do again.
    #[error("nothing has been undone that could be done again")]
    NothingUndone,
    /// The chart is not what the step left or found.
    #[error("the chart is not what its last step left: something else than brede changed it")]
    OtherChart,
    /// The step is damaged.
    #[error("the step is damaged")]
    Damaged(#[from] DifferenceError),
}

impl Chart {
    /// Its steps.
    #[must_use]
    pub fn steps(&self) -> &Steps {
        &self.steps
    }

    /// Changes the chart: all that `change` does to it is one step, which can be undone. New marks get ids and cells.
    /// Where it fails, or changes nothing, the chart stays as it was. Gives what `change` gave.
    ///
    /// # Errors
    /// That of `change`, or a [`MarkError`] of a mark that the chart cannot have.
    pub fn change<R, E: From<MarkError>>(
        &mut self,
        done: Done,
        change: impl FnOnce(&mut Self) -> Result<R, E>,
    ) -> Result<R, E> {
        let before = self.clone();
        let result = change(self).and_then(|given| {
            self.take_place_of(&before);
            self.settle()?;
            Ok(given)
        });
        let after = self.fingerprint();
        let from = before.fingerprint();
        if result.is_err() || (after == from && self.card == before.card) {
            *self = before;
            return result;
        }
        let change = Difference::between(&before, self);
        self.take_step(&before);
        self.steps.list.truncate(before.steps.list.len() - before.steps.undone);
        self.steps.undone = 0;
        self.steps.list.push(Step { done, before: from, after, change });
        result
    }

    /// Is the chart that the other was, whatever its content.
    fn take_place_of(&mut self, before: &Self) {
        self.identity = Some(before.identity());
        self.steps.clone_from(&before.steps);
        self.made.clone_from(&before.made);
        self.printed = before.printed.clone();
        // Where needles got other symbols, those of the paper go with them.
        if self.needles.len() == before.needles.len() {
            for printed in &mut self.printed {
                let needle = before.needles.iter().position(|needle| needle.symbol == printed.symbol);
                if let Some(at) = needle {
                    printed.symbol.clone_from(&self.needles[at].symbol);
                }
            }
        }
    }

    fn take_step(&mut self, before: &Self) {
        let identity = before.identity();
        self.identity = Some(Identity { revision: identity.revision.next(), ..identity });
    }

    /// Forgets the older half of the steps that could be taken back, so that the chart becomes smaller. Gives how many:
    /// none where there are none.
    pub fn forget_older_steps(&mut self) -> usize {
        let count = (self.steps.list.len() - self.steps.undone).div_ceil(2);
        self.steps.list.drain(..count);
        count
    }

    /// Takes back the last step. The number of the revision rises, as it does with every change: what was printed
    /// meanwhile must not pass for what is there now.
    ///
    /// # Errors
    /// [`StepError`] where there is none, or it does not fit; the chart is as it was.
    pub fn undo(&mut self) -> Result<Done, StepError> {
        let at = (self.steps.list.len() - self.steps.undone).checked_sub(1).ok_or(StepError::NothingDone)?;
        self.go(at, Way::Back)?;
        self.steps.undone += 1;
        Ok(self.steps.list[at].done.clone())
    }

    /// Does the step again that was taken back last.
    ///
    /// # Errors
    /// [`StepError`] where there is none, or it does not fit; the chart is as it was.
    pub fn redo(&mut self) -> Result<Done, StepError> {
        if self.steps.undone == 0 {
            return Err(StepError::NothingUndone);
        }
        let at = self.steps.list.len() - self.steps.undone;
        self.go(at, Way::On)?;
        self.steps.undone -= 1;
        Ok(self.steps.list[at].done.clone())
    }

    fn go(&mut self, at: usize, way: Way) -> Result<(), StepError> {
        let Step { change, before, after, .. } = &self.steps.list[at];
        let (from, to) = match way {
            Way::On => (before, after),
            Way::Back => (after, before),
        };
        if self.fingerprint() != *from {
            return Err(StepError::OtherChart);
        }
        let mut other = change.applied(self, way)?;
        if other.fingerprint() != *to {
            return Err(DifferenceError::Content.into());
        }
        other.take_place_of(self);
        other.take_step(self);
        *self = other;
        Ok(())
    }
}

#[cfg(test)]
mod tests;
