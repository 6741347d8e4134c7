//! Which chosen look each cell is worked in, and what confetti that leaves.
//!
//! The labels lower one sum: the ΔE00 of every cell to its look, a price on each side between two stitches of
//! different looks (a Potts model), and a price on each single stitch, one with no side neighbour of its own
//! look. A cell at a time moves to the label among its neighbours', or its own best, that lowers the sum most
//! (iterated conditional modes: Besag 1986, "On the statistical analysis of dirty pictures", J. R. Stat. Soc.
//! B 48: 259-302), then singles take a neighbour with them to a third look where that is cheaper.

use std::collections::VecDeque;

use super::costs::Costs;
use super::histogram::{Histogram, NO_BIN};
use crate::units::GridSize;

/// No thread and none to come: a cell bare from the start, or outside the chart.
pub(super) const VOID: u16 = u16::MAX;

/// The labels of a chart's cells while they are settled. Cells are kept with a border of one [`VOID`] cell
/// all round, so that each has four neighbours.
#[derive(Debug, Clone)]
pub(super) struct Labels {
    size: GridSize,
    stride: usize,
    /// How many of the labels are looks.
    looks: usize,
    costs: Costs,
    /// The cheapest label of each row of costs.
    best: Vec<u16>,
    row_of: Vec<u32>,
    label: Vec<u16>,
    /// How many side neighbours share the label.
    same: Vec<u8>,
    /// What it costs that this cell is a single stitch.
    single_price: Vec<f32>,
    /// Cells that are left as they are.
    held: Vec<bool>,
    boundary_price: f32,
    /// How many cells have each label.
    used: Vec<u32>,
}

/// Less than this many ΔE00 is no reason to move a cell; it guards against rounding going in circles.
const WORTH: f32 = 1e-3;

impl Labels {
    /// Each cell with a colour gets its cheapest label; `costs` has a row a colour of `fine`, a column a label,
    /// the looks first, then perhaps bare cloth.
    pub(super) fn cheapest(size: GridSize, fine: &Histogram, looks: usize, costs: Costs) -> Self {
        let best: Vec<u16> = (0..fine.len()).map(|row| cheapest(costs.row(row)) as u16).collect();
        let stride = size.width() + 2;
        let padded = stride * (size.height() + 2);
        let mut labels = Self {
            size,
            stride,
            looks,
            used: vec![0; costs.columns()],
            costs,
            best,
            row_of: vec![NO_BIN; padded],
            label: vec![VOID; padded],
            same: vec![0; padded],
            single_price: vec![0.0; padded],
            held: vec![false; padded],
            boundary_price: 0.0,
        };
        for (cell, &bin) in fine.bin_of.iter().enumerate() {
            if bin != NO_BIN {
                let at = labels.padded(cell);
                labels.row_of[at] = bin;
                labels.label[at] = labels.best[bin as usize];
            }
        }
        labels.recount();
        labels
    }

    /// Columns and rows.
    pub(super) fn size(&self) -> GridSize {
        self.size
    }

    /// How many of the labels are looks; the next one, if there is one, is bare cloth.
    pub(super) fn looks(&self) -> usize {
        self.looks
    }

    /// The labels row by row, without the border.
    pub(super) fn rows(&self) -> Vec<u16> {
        (0..self.size.cells()).map(|cell| self.label[self.padded(cell)]).collect()
    }

    /// The prices: on a side between different looks, and for each cell on being single; and what to hold.
    pub(super) fn set_prices(
        &mut self,
        boundary: f32,
        single: impl Fn(usize) -> f32,
        held: impl Fn(usize) -> bool,
    ) {
        self.boundary_price = boundary;
        for cell in 0..self.size.cells() {
            let at = self.padded(cell);
            self.single_price[at] = single(cell);
            self.held[at] = held(cell);
        }
    }

    /// How many cells have each label.
    pub(super) fn used(&self) -> &[u32] {
        &self.used
    }

    /// The single stitches.
    pub(super) fn singles(&self) -> usize {
        self.stitches().filter(|&at| self.same[at] == 0).count()
    }

    /// Calls `found` with each stitch of a look that is single, by its place row by row.
    pub(super) fn lone(&self, mut found: impl FnMut(usize)) {
        for cell in 0..self.size.cells() {
            let at = self.padded(cell);
            if usize::from(self.label[at]) < self.looks && self.same[at] == 0 {
                found(cell);
            }
        }
    }

    /// The sum that the labels lower.
    pub(super) fn energy(&self) -> f64 {
        self.stitches()
            .map(|at| {
                let sides = self.neighbours(at).iter().filter(|&&n| self.differs(at, n)).count();
                let single = if self.same[at] == 0 { self.single_price[at] } else { 0.0 };
                // Each side is met from both its cells.
                f64::from(self.cost(at, self.label[at]) + single)
                    + f64::from(self.boundary_price) * sides as f64 / 2.0
            })
            .sum()
    }

    fn differs(&self, at: usize, other: usize) -> bool {
        self.label[other] != VOID && self.label[other] != self.label[at]
    }

    fn padded(&self, cell: usize) -> usize {
        let width = self.size.width();
        (cell / width + 1) * self.stride + cell % width + 1
    }

    fn stitches(&self) -> impl Iterator<Item = usize> + '_ {
        (self.stride..self.label.len() - self.stride).filter(|&at| self.label[at] != VOID)
    }

    fn neighbours(&self, at: usize) -> [usize; 4] {
        [at - self.stride, at - 1, at + 1, at + self.stride]
    }

    fn cost(&self, at: usize, label: u16) -> f32 {
        self.costs.row(self.row_of[at] as usize)[usize::from(label)]
    }

    fn recount(&mut self) {
        self.used.fill(0);
        for at in self.stride..self.label.len() - self.stride {
            let label = self.label[at];
            if label == VOID {
                continue;
            }
            self.same[at] = self.count(at, label);
            self.used[usize::from(label)] += 1;
        }
    }

    fn count(&self, at: usize, label: u16) -> u8 {
        self.neighbours(at).into_iter().map(|n| u8::from(self.label[n] == label)).sum()
    }

    /// How the sum changes when the cell `at` takes the label `to`.
    fn change(&self, at: usize, to: u16) -> f32 {
        let from = self.label[at];
        if from == to {
            return 0.0;
        }
        let row = self.costs.row(self.row_of[at] as usize);
        let mut change = row[usize::from(to)] - row[usize::from(from)];
        let mut joins = 0_u8;
        for n in self.neighbours(at) {
            let label = self.label[n];
            if label == from && self.same[n] == 1 {
                change += self.single_price[n];
            } else if label == to {
                joins += 1;
                if self.same[n] == 0 {
                    change -= self.single_price[n];
                }
            }
        }
        let leaves = self.same[at];
        change += self.boundary_price * (f32::from(leaves) - f32::from(joins));
        if leaves == 0 {
            change -= self.single_price[at];
        }
        if joins == 0 {
            change += self.single_price[at];
        }
        change
    }

    fn put(&mut self, at: usize, to: u16) {
        let from = self.label[at];
        if from == to {
            return;
        }
        let mut joins = 0;
        for n in self.neighbours(at) {
            if self.label[n] == from {
                self.same[n] -= 1;
            } else if self.label[n] == to {
                self.same[n] += 1;
                joins += 1;
            }
        }
        self.label[at] = to;
        self.same[at] = joins;
        self.used[usize::from(from)] -= 1;
        self.used[usize::from(to)] += 1;
    }

    /// Moves cells and singles with a neighbour until nothing lowers the sum.
    pub(super) fn settle(&mut self) {
        let queue: VecDeque<usize> = self.stitches().collect();
        let mut queued = vec![false; self.label.len()];
        for &at in &queue {
            queued[at] = true;
        }
        self.settle_from(queue, queued);
    }

    /// The same after nothing but the price on single stitches has risen: that gives only single stitches and
    /// what lies about them a reason to move.
    pub(super) fn settle_singles(&mut self) {
        let mut queue = VecDeque::new();
        let mut queued = vec![false; self.label.len()];
        let singles: Vec<usize> = self.stitches().filter(|&at| self.same[at] == 0).collect();
        for at in singles {
            self.wake(at, &mut queue, &mut queued);
        }
        self.settle_from(queue, queued);
    }

    fn settle_from(&mut self, mut queue: VecDeque<usize>, mut queued: Vec<bool>) {
        loop {
            self.settle_cells(&mut queue, &mut queued);
            let singles: Vec<usize> = self.stitches().filter(|&at| self.same[at] == 0).collect();
            for at in singles {
                if self.same[at] == 0 && !self.held[at] {
                    self.settle_pair(at, &mut queue, &mut queued);
                }
            }
            if queue.is_empty() {
                break;
            }
        }
    }

    fn settle_cells(&mut self, queue: &mut VecDeque<usize>, queued: &mut [bool]) {
        while let Some(at) = queue.pop_front() {
            queued[at] = false;
            if self.held[at] {
                continue;
            }
            let own = self.best[self.row_of[at] as usize];
            if self.same[at] == 4 && self.label[at] == own {
                continue;
            }
            let [up, left, right, down] = self.neighbours(at).map(|n| self.label[n]);
            let mut best = (-WORTH, VOID);
            for (place, to) in [own, up, left, right, down].into_iter().enumerate() {
                if to == VOID || to == self.label[at] || [own, up, left, right][..place].contains(&to) {
                    continue;
                }
                let change = self.change(at, to);
                if change < best.0 || (change == best.0 && to < best.1) {
                    best = (change, to);
                }
            }
            if best.1 != VOID {
                self.put(at, best.1);
                self.wake(at, queue, queued);
            }
        }
    }

    /// A single stitch and one of its neighbours both take the label that lowers the sum most.
    fn settle_pair(&mut self, at: usize, queue: &mut VecDeque<usize>, queued: &mut [bool]) {
        let before = self.label[at];
        let mut best = (-WORTH, VOID, at);
        for n in self.neighbours(at) {
            if self.label[n] == VOID || self.held[n] {
                continue;
            }
            for to in self.about(at, n) {
                if to == VOID || to == self.label[n] {
                    continue;
                }
                let first = self.change(at, to);
                self.put(at, to);
                let change = first + self.change(n, to);
                self.put(at, before);
                if change < best.0 {
                    best = (change, to, n);
                }
            }
        }
        let (_, to, n) = best;
        if to != VOID {
            self.put(at, to);
            self.put(n, to);
            self.wake(at, queue, queued);
            self.wake(n, queue, queued);
        }
    }

    /// The labels that two neighbours may take together: those about them, and each one's own best.
    fn about(&self, at: usize, mate: usize) -> [u16; 10] {
        let mut labels = [VOID; 10];
        let own = [at, mate].map(|cell| self.best[self.row_of[cell] as usize]);
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

    /// Looks again at a cell and all whose sum its move may change: two steps along the sides.
    fn wake(&self, at: usize, queue: &mut VecDeque<usize>, queued: &mut [bool]) {
        let mut push = |at: usize| {
            if self.label[at] != VOID && !queued[at] {
                queued[at] = true;
                queue.push_back(at);
            }
        };
        push(at);
        for n in self.neighbours(at) {
            if self.label[n] != VOID {
                push(n);
                self.neighbours(n).into_iter().for_each(&mut push);
            }
        }
    }

    /// Gives the label `to`, which no cell has, to the two side neighbours that lose least by it, or with
    /// `alone` to one cell. Labels that would vanish by it are left alone. False when there is no such place.
    pub(super) fn introduce(&mut self, to: u16, alone: Alone, limit: f32) -> bool {
        let mut best: Option<(f32, usize, usize)> = None;
        for at in self.stride..self.label.len() - self.stride {
            if self.label[at] == VOID {
                continue;
            }
            let mates = if alone == Alone::Yes { [at, at] } else { [at + 1, at + self.stride] };
            for mate in mates {
                if self.label[mate] == VOID || !self.may_leave(at, mate) {
                    continue;
                }
                let loss = |at: usize| self.cost(at, to) - self.cost(at, self.label[at]);
                let bound = loss(at) + if mate == at { 0.0 } else { loss(mate) };
                if best.is_some_and(|(least, ..)| bound >= least) {
                    continue;
                }
                let before = (self.label[at], self.label[mate]);
                let mut change = self.change(at, to);
                self.put(at, to);
                change += self.change(mate, to);
                self.put(at, before.0);
                if change < limit && best.is_none_or(|(least, ..)| change < least) {
                    best = Some((change, at, mate));
                }
            }
        }
        let Some((_, at, mate)) = best else { return false };
        self.put(at, to);
        self.put(mate, to);
        true
    }

    fn may_leave(&self, at: usize, mate: usize) -> bool {
        let (one, two) = (self.label[at], self.label[mate]);
        let left = |label: u16| self.used[usize::from(label)];
        // Two cells at least stay behind, so that a label is not left to a single stitch.
        if one == two && at != mate { left(one) >= 4 } else { left(one) >= 3 && left(two) >= 3 }
    }
}

/// Whether a thread may be brought in by a single stitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Alone {
    /// One cell will do.
    Yes,
    /// Two side by side.
    No,
}

/// The place of the least value, the first of equals.
pub(super) fn cheapest(row: &[f32]) -> usize {
    let mut best = (f32::INFINITY, 0);
    for (place, &cost) in row.iter().enumerate() {
        if cost < best.0 {
            best = (cost, place);
        }
    }
    best.1
}
