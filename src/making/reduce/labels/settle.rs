//! Moves cells until nothing lowers the sum.
//!
//! Prices on single stitches rise step by step, and most cells have no reason to move at the next one. So each
//! cell keeps the price at which it first would, from the last time that it was looked at; it is looked at
//! again when the price reaches that, or when something about it moves.

use std::collections::VecDeque;

use super::{Labels, VOID, WORTH};
use crate::ground::progress::{Progress, Stopped, ask};

/// After so many cells it is asked whether to go on: some hundredths of a second.
const ASKING: usize = 1 << 14;

/// Prices at which cells first move are taken this much lower, since they are rounded.
const SAFE: f32 = 0.999;

/// Cells to be looked at, in order, none of them twice.
#[derive(Debug)]
pub(super) struct Queue {
    cells: VecDeque<u32>,
    waits: Vec<bool>,
}

impl Queue {
    pub(super) fn new(cells: usize) -> Self {
        Self { cells: VecDeque::new(), waits: vec![false; cells] }
    }

    /// Whether there is none.
    pub(super) fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }

    fn push(&mut self, at: usize) {
        if !self.waits[at] {
            self.waits[at] = true;
            self.cells.push_back(at as u32);
        }
    }

    fn pop(&mut self) -> Option<usize> {
        let at = self.cells.pop_front()? as usize;
        self.waits[at] = false;
        Some(at)
    }
}

/// The price on a single stitch from which a change of `plain` that saves `singles` of them is worth while.
fn price_of(plain: f32, singles: f32) -> f32 {
    if singles > 0.0 { (plain + WORTH) / singles * SAFE } else { f32::INFINITY }
}

impl Labels<'_> {
    /// Moves cells and singles with a neighbour until nothing lowers the sum.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop; the labels are then half settled.
    pub(in super::super) fn settle(&mut self, progress: &dyn Progress) -> Result<(), Stopped> {
        let mut queue = Queue::new(self.label.len());
        // Well inside a patch of its cheapest look no cell has a reason to move.
        let inside = |at: usize| self.same[at] == 4 && self.label[at] == self.best[self.row_of[at] as usize];
        self.stitches().filter(|&at| !inside(at)).for_each(|at| queue.push(at));
        self.settle_from(queue, progress)
    }

    /// The same after nothing but the price on single stitches has risen, or cells were let go: that gives only
    /// single stitches and their neighbours a reason to move.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop; the labels are then half settled.
    pub(in super::super) fn settle_singles(&mut self, progress: &dyn Progress) -> Result<(), Stopped> {
        let mut queue = Queue::new(self.label.len());
        for at in self.singled() {
            let at = at as usize;
            for cell in self.neighbours(at).into_iter().chain([at]) {
                if self.label[cell] != VOID && self.rest[cell] <= self.single_price {
                    queue.push(cell);
                }
            }
        }
        self.settle_from(queue, progress)
    }

    pub(super) fn settle_from(&mut self, mut queue: Queue, progress: &dyn Progress) -> Result<(), Stopped> {
        loop {
            self.settle_cells(&mut queue, progress)?;
            for (count, at) in self.singled().into_iter().enumerate() {
                if count.is_multiple_of(ASKING / 16) {
                    ask(progress)?;
                }
                let at = at as usize;
                if self.same[at] == 0 && !self.held[at] && self.pair_rest[at] <= self.single_price {
                    self.settle_pair(at, &mut queue);
                }
            }
            if queue.cells.is_empty() {
                return Ok(());
            }
        }
    }

    fn settle_cells(&mut self, queue: &mut Queue, progress: &dyn Progress) -> Result<(), Stopped> {
        let mut count = 0;
        while let Some(at) = queue.pop() {
            if count % ASKING == 0 {
                ask(progress)?;
            }
            count += 1;
            if self.held[at] {
                continue;
            }
            let own = self.best[self.row_of[at] as usize];
            if self.label[at] == own && self.stays(at) {
                continue;
            }
            let [up, left, right, down] = self.about(at);
            let stay = self.stay(at);
            let mut best = (-WORTH, VOID);
            let mut rest = f32::INFINITY;
            for (place, to) in [own, up, left, right, down].into_iter().enumerate() {
                if to == VOID || to == self.label[at] || [own, up, left, right][..place].contains(&to) {
                    continue;
                }
                let change = self.entry(at, to).less(stay);
                rest = rest.min(price_of(change.plain, -change.singles));
                let change = change.at(self.single_price);
                if change < best.0 || (change == best.0 && to < best.1) {
                    best = (change, to);
                }
            }
            self.rest[at] = rest;
            if best.1 != VOID {
                self.put(at, best.1);
                self.wake(at, queue);
            }
        }
        Ok(())
    }

    /// Whether the price is too low to move the cell `at` from its cheapest label, whatever the other would be.
    fn stays(&mut self, at: usize) -> bool {
        let same = self.same[at];
        if same == 4 {
            self.rest[at] = f32::INFINITY;
            return true;
        }
        let lone = self.neighbours(at).into_iter().filter(|&n| self.same[n] == 0).count() as f32;
        // Sides that are there may go; those to its like come.
        let sides = self.sides(at, self.label[at]) - self.boundary_price * f32::from(same);
        let plain = self.weight[at] * self.gap[self.row_of[at] as usize] - sides;
        self.rest[at] = price_of(plain, lone + f32::from(u8::from(same == 0)));
        plain >= 0.0 && self.rest[at] > self.single_price
    }

    /// A single stitch and one of its neighbours both take the label that lowers the sum most.
    fn settle_pair(&mut self, at: usize, queue: &mut Queue) {
        let before = self.label[at];
        let mut best = (-WORTH, VOID, at);
        let mut rest = f32::INFINITY;
        for n in self.neighbours(at) {
            if self.label[n] == VOID || self.held[n] {
                continue;
            }
            // The most that both can gain beside likeness: all sides, themselves and all singles about them.
            let about = self.neighbours(at).into_iter().chain(self.neighbours(n));
            let lone = about.filter(|&cell| self.same[cell] == 0).count() as f32;
            let now = self.cost(at, before) + self.cost(n, self.label[n]);
            let sides = self.sides(at, before) + self.sides(n, self.label[n]);
            for to in self.candidates(at, n) {
                if to == VOID || to == self.label[n] {
                    continue;
                }
                let likeness = self.cost(at, to) + self.cost(n, to) - now;
                let bound = price_of(likeness - sides, lone);
                if bound > self.single_price {
                    rest = rest.min(bound);
                    continue;
                }
                let first = self.change(at, to);
                self.put(at, to);
                let change = first.and(self.change(n, to));
                self.put(at, before);
                rest = rest.min(price_of(change.plain, -change.singles));
                let change = change.at(self.single_price);
                if change < best.0 {
                    best = (change, to, n);
                }
            }
        }
        self.pair_rest[at] = rest;
        let (_, to, n) = best;
        if to != VOID {
            self.put(at, to);
            self.put(n, to);
            self.wake(at, queue);
            self.wake(n, queue);
        }
    }

    /// Gives cells back their cheapest labels where that makes single stitches, those that gain most a single first,
    /// as long as there are no more than `most` and each gains at least `least`.
    pub(in super::super) fn give_back(&mut self, most: usize, least: f32) {
        let own = |labels: &Self, at: usize| labels.best[labels.row_of[at] as usize];
        let mut singles = self.singles();
        let mut gains: Vec<(f32, usize)> = Vec::new();
        for at in self.stitches().filter(|&at| !self.held[at]) {
            let change = self.change(at, own(self, at));
            if change.singles > 0.0 && change.at(least) < 0.0 {
                gains.push((change.plain / change.singles, at));
            }
        }
        gains.sort_unstable_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
        for (_, at) in gains {
            let to = own(self, at);
            // What was given back before may have changed it.
            let change = self.change(at, to);
            #[allow(clippy::cast_sign_loss, reason = "no fewer singles than none")]
            let after = (singles as f32 + change.singles) as usize;
            if after <= most && change.at(least) < 0.0 {
                self.put(at, to);
                singles = after;
            }
        }
    }

    /// The labels that two neighbours may take together: those about them, and each one's two cheapest.
    fn candidates(&self, at: usize, mate: usize) -> [u16; 12] {
        let mut labels = [VOID; 12];
        let rows = [at, mate].map(|cell| self.row_of[cell] as usize);
        let own = rows.into_iter().flat_map(|row| [self.best[row], self.second[row]]);
        let about = [at, mate].into_iter().flat_map(|cell| self.neighbours(cell)).map(|n| self.label[n]);
        for (label, to) in labels.iter_mut().zip(about.chain(own)) {
            *label = to;
        }
        labels.sort_unstable();
        for place in (1..labels.len()).rev() {
            if labels[place] == labels[place - 1] {
                labels[place] = VOID;
            }
        }
        labels
    }

    /// Looks again at a cell that has moved and all whose sum its move may change: two steps along the sides; and
    /// at pairs three steps away.
    pub(super) fn wake(&mut self, at: usize, queue: &mut Queue) {
        for down in -3_isize..=3 {
            let reach = 3 - down.abs();
            let middle = at as isize + down * self.stride as isize;
            for cell in middle - reach..=middle + reach {
                let Ok(cell) = usize::try_from(cell) else { continue };
                if self.label.get(cell).is_none_or(|&label| label == VOID) {
                    continue;
                }
                self.pair_rest[cell] = 0.0;
                if cell.abs_diff(at.wrapping_add_signed(down * self.stride as isize)) + down.unsigned_abs()
                    <= 2
                {
                    queue.push(cell);
                }
            }
        }
    }
}
