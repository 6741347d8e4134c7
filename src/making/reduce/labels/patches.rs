//! Small patches that a look about them takes over as a whole.
//!
//! Cell by cell an island of a few stitches stands fast, since the first cell to go would lengthen its border. So
//! patches move as one.

use super::settle::Queue;
use super::{Labels, VOID, WORTH};
use crate::ground::progress::{Progress, Stopped, ask};

/// The most stitches of a patch that is tried as a whole. Larger ones seldom go, and take longer to try.
const MOST: usize = 40;

/// What a patch of two stitches and of three costs, in ΔE, beside its border: threads are begun and ended for it as for a
/// single stitch. With these there are half as many as without.
const PAIR: f32 = 4.0;
const THREE: f32 = 3.6;

/// Marks cells of patches that are too large, are held or were met before.
const DONE: u32 = u32::MAX;

/// Times over the picture at the most; what is left to the next gains little.
const PASSES: usize = 1;

impl Labels<'_> {
    /// Lets looks take over the small patches beside them, and settles what that moves, until nothing lowers the sum.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop; the labels are then half settled.
    pub(in super::super) fn settle_patches(&mut self, progress: &dyn Progress) -> Result<(), Stopped> {
        let mut patch = Vec::new();
        for _ in 0..PASSES {
            let mut seen = vec![0_u32; self.label.len()];
            let mut number = 0;
            let mut queue = Queue::new(self.label.len());
            for start in self.stride..self.label.len() - self.stride {
                if start.is_multiple_of(1 << 14) {
                    ask(progress)?;
                }
                if self.begins(start) {
                    number += 1;
                    if self.patch(start, number, &mut seen, &mut patch) {
                        self.give_over(&patch, &mut queue);
                    }
                }
            }
            if queue.is_empty() {
                break;
            }
            self.settle_from(queue, progress)?;
        }
        Ok(())
    }

    /// Whether a cell may be the first of its patch, row by row.
    fn begins(&self, at: usize) -> bool {
        let label = self.label[at];
        label != VOID
            && [at - 1, at - self.stride - 1, at - self.stride, at - self.stride + 1]
                .iter()
                .all(|&n| self.label[n] != label)
    }

    /// Whether a small patch, joined by sides or corners, begins at `start`: not where it begins elsewhere, is larger than
    /// [`MOST`] or is held. Gives its cells in `patch`. `seen` marks cells with the patch's `number`, or as [`DONE`].
    fn patch(&self, start: usize, number: u32, seen: &mut [u32], patch: &mut Vec<usize>) -> bool {
        let label = self.label[start];
        patch.clear();
        patch.push(start);
        seen[start] = number;
        let mut next = 0;
        while let Some(&at) = patch.get(next) {
            next += 1;
            let (above, below) = (at - self.stride, at + self.stride);
            for n in [above - 1, above, above + 1, at - 1, at + 1, below - 1, below, below + 1] {
                if self.label[n] == label && seen[n] != number {
                    if n < start || seen[n] == DONE || self.held[n] || patch.len() == MOST {
                        patch.iter().for_each(|&at| seen[at] = DONE);
                        return false;
                    }
                    seen[n] = number;
                    patch.push(n);
                }
            }
        }
        // What moves one cell is tried for each cell by itself.
        patch.len() > 1 && !self.held[start]
    }

    /// Gives a patch the label beside it that lowers the sum most, if one does. The last patch of a label stays.
    fn give_over(&mut self, patch: &[usize], queue: &mut Queue) {
        let label = self.label[patch[0]];
        if self.used[usize::from(label)] as usize <= patch.len() {
            return;
        }
        let mut beside: Vec<u16> =
            patch.iter().flat_map(|&at| self.neighbours(at)).map(|n| self.label[n]).collect();
        beside.sort_unstable();
        beside.dedup();
        let size = match patch.len() {
            2 => PAIR,
            3 => THREE,
            _ => 0.0,
        };
        let stay: f32 =
            patch.iter().map(|&at| self.cost(at, label) + self.sides(at, label)).sum::<f32>() + size;
        let mut best = (stay - WORTH, VOID);
        for to in beside.into_iter().filter(|&to| to != VOID && to != label) {
            let mut go = 0.0;
            for &at in patch {
                go += self.cost(at, to)
                    + self.sides_to(
                        at,
                        to,
                        self.about(at).map(|other| if other == label { to } else { other }),
                    );
                if go >= best.0 {
                    break;
                }
            }
            if go < best.0 {
                best = (go, to);
            }
        }
        if best.1 != VOID {
            for &at in patch {
                self.put(at, best.1);
                self.wake(at, queue);
            }
        }
    }
}
