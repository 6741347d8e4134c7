//! A picture parted into regions, each of cells that are alike.

use rayon::prelude::*;

use crate::ground::progress::{Progress, Stopped, ask};
use crate::ground::units::GridSize;

/// How much a small region may differ from its neighbour and still join it, in 8-bit values times cells (k of the paper).
/// Larger gives larger regions.
const SCALE: f32 = 60.0;

/// Share of a side neighbour beside the cell itself when cells are smoothed first: a Gaussian of 0.6 cells.
const BESIDE: f32 = 0.249;

/// Steps are sorted in parts of an 8-bit value. Four times as many take half as long again in large pictures, and find no
/// better regions.
const PARTS: f32 = 4.0;

/// Steps beyond so many parts are all alike: black and a strong blue are so far apart.
const STEPS: usize = 1024;

/// Neighbours that a cell has a step to: the next, the one below, and those beside that one. Cells that meet at a corner join
/// too, so that thin slanting things hold together.
const WAYS: usize = 4;

/// How far about a region its surroundings reach, in steps along the sides.
const ABOUT: usize = 3;

/// Regions of a picture. Cells with no colour are in none.
#[derive(Debug)]
pub(super) struct Regions {
    width: usize,
    /// The region of each cell, or `u32::MAX`.
    of: Vec<u32>,
    /// The cells, region by region, and where each region begins.
    cells: Vec<u32>,
    starts: Vec<usize>,
}

/// Trees of cells: each region one, by its root. Parents lie by themselves, since most steps need no more than them.
struct Forest {
    parents: Vec<u32>,
    /// Of roots: the cells of the tree, and the largest step within.
    trees: Vec<(u32, f32)>,
}

impl Forest {
    fn new(cells: usize) -> Self {
        Self { parents: (0..cells as u32).collect(), trees: vec![(1, 0.0); cells] }
    }

    fn root(&mut self, mut at: u32) -> u32 {
        loop {
            let parent = self.parents[at as usize];
            if parent == at {
                return at;
            }
            let up = self.parents[parent as usize];
            if up == parent {
                return parent;
            }
            self.parents[at as usize] = up;
            at = up;
        }
    }

    fn size(&self, root: u32) -> u32 {
        self.trees[root as usize].0
    }

    /// The step that the tree still takes in.
    fn bound(&self, root: u32) -> f32 {
        let (size, inner) = self.trees[root as usize];
        inner + SCALE / size as f32
    }

    fn join(&mut self, one: u32, two: u32, step: f32) {
        let (large, small) = if self.size(one) >= self.size(two) { (one, two) } else { (two, one) };
        self.parents[small as usize] = large;
        let size = self.size(large) + self.size(small);
        self.trees[large as usize] = (size, step);
    }
}

impl Regions {
    /// Parts a picture into regions of `least` cells and more, as far as they have neighbours to join. Colours are as
    /// sRGB encodes them, 0 to 255, as those of the paper were: by CIELAB and sides alone, other regions came out than
    /// other ways to part a picture find.
    pub(super) fn new(
        cells: &[Option<[f32; 3]>],
        size: GridSize,
        least: u32,
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let width = size.width();
        let smooth = smoothed(cells, width);
        ask(progress)?;
        let steps = steps(&smooth, width);
        ask(progress)?;
        drop(smooth);
        let (order, ends_at) = sorted(&steps);
        drop(steps);
        ask(progress)?;
        let mut forest = Forest::new(cells.len());
        let ends = |edge: u32| {
            let (cell, way) = (edge / WAYS as u32, edge as usize % WAYS);
            let below = cell + width as u32;
            [cell, [cell + 1, below, below + 1, below.saturating_sub(1)][way]]
        };
        let mut left = Vec::new();
        let mut from = 0;
        for (parts, &to) in ends_at.iter().enumerate() {
            ask(progress)?;
            let step = parts as f32 / PARTS;
            for &edge in &order[from..to] {
                let [one, two] = ends(edge).map(|end| forest.root(end));
                if one == two {
                    continue;
                }
                if step < forest.bound(one).min(forest.bound(two)) {
                    forest.join(one, two, step);
                } else {
                    left.push((edge, step));
                }
            }
            from = to;
        }
        for (edge, step) in left {
            let [one, two] = ends(edge).map(|end| forest.root(end));
            if one != two && (forest.size(one) < least || forest.size(two) < least) {
                forest.join(one, two, step);
            }
        }
        ask(progress)?;
        let mut number = vec![u32::MAX; cells.len()];
        let mut of = vec![u32::MAX; cells.len()];
        let mut sizes: Vec<usize> = Vec::new();
        for cell in (0..cells.len()).filter(|&cell| cells[cell].is_some()) {
            let root = forest.root(cell as u32) as usize;
            if number[root] == u32::MAX {
                number[root] = sizes.len() as u32;
                sizes.push(0);
            }
            of[cell] = number[root];
            sizes[number[root] as usize] += 1;
        }
        let mut starts = vec![0];
        starts.extend(sizes.iter().scan(0, |sum, size| {
            *sum += size;
            Some(*sum)
        }));
        let mut next = starts.clone();
        let mut listed = vec![0; starts[sizes.len()]];
        for (cell, &region) in of.iter().enumerate().filter(|(_, region)| **region != u32::MAX) {
            listed[next[region as usize]] = cell as u32;
            next[region as usize] += 1;
        }
        Ok(Self { width, of, cells: listed, starts })
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.starts.len() - 1
    }

    /// The cells of a region, row by row.
    pub(super) fn cells(&self, region: usize) -> &[u32] {
        &self.cells[self.starts[region]..self.starts[region + 1]]
    }

    /// The cells about a region, in no meaningful order. `seen` is a number a cell to work with, none of them that of
    /// this region.
    pub(super) fn about(&self, region: usize, seen: &mut [u32]) -> Vec<u32> {
        let own = region as u32;
        let (mut about, mut ring, mut next) = (Vec::new(), Vec::new(), Vec::new());
        for step in 0..ABOUT {
            let from = if step == 0 { self.cells(region) } else { &ring };
            for &cell in from {
                let (at, x) = (cell as usize, cell as usize % self.width);
                let sides = [
                    (at >= self.width).then(|| at - self.width),
                    (x > 0).then(|| at - 1),
                    (x + 1 < self.width).then_some(at + 1),
                    (at + self.width < self.of.len()).then_some(at + self.width),
                ];
                for side in sides.into_iter().flatten() {
                    if self.of[side] != own && seen[side] != own {
                        seen[side] = own;
                        next.push(side as u32);
                    }
                }
            }
            std::mem::swap(&mut ring, &mut next);
            next.clear();
            about.extend(ring.iter().copied().filter(|&cell| self.of[cell as usize] != u32::MAX));
        }
        about
    }
}

/// Each colour mixed with those beside it in its row, then with those above and below.
fn smoothed(cells: &[Option<[f32; 3]>], width: usize) -> Vec<Option<[f32; 3]>> {
    let mixed = |own: Option<[f32; 3]>, beside: [Option<[f32; 3]>; 2]| {
        let (mut sum, mut whole) = (own?, 1.0);
        for beside in beside.into_iter().flatten() {
            for (sum, value) in sum.iter_mut().zip(beside) {
                *sum += BESIDE * value;
            }
            whole += BESIDE;
        }
        Some(sum.map(|sum| sum / whole))
    };
    let mut along = vec![None; cells.len()];
    along.par_chunks_mut(width).zip(cells.par_chunks(width)).for_each(|(row, cells)| {
        let colour = |x: usize| cells.get(x).copied().flatten();
        let mut before = None;
        let mut own = colour(0);
        for (x, mix) in row.iter_mut().enumerate() {
            let after = colour(x + 1);
            *mix = mixed(own, [before, after]);
            (before, own) = (own, after);
        }
    });
    let mut smooth = vec![None; cells.len()];
    smooth.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        let at = y * width;
        for (x, mix) in row.iter_mut().enumerate() {
            let above = if y > 0 { along[at - width + x] } else { None };
            *mix = mixed(along[at + x], [above, along.get(at + width + x).copied().flatten()]);
        }
    });
    smooth
}

/// For each cell its steps to the cells of its [`WAYS`], in parts; `u16::MAX` where there is none.
fn steps(cells: &[Option<[f32; 3]>], width: usize) -> Vec<u16> {
    let mut steps = vec![u16::MAX; cells.len() * WAYS];
    steps.par_chunks_mut(WAYS * width).enumerate().for_each(|(y, steps)| {
        let row = |y: usize| cells.get(y * width..(y + 1) * width).unwrap_or(&[]);
        let (own, below) = (row(y), row(y + 1));
        for (x, steps) in steps.chunks_exact_mut(WAYS).enumerate() {
            let left = if x > 0 { below.get(x - 1) } else { None };
            let others = [own.get(x + 1), below.get(x), below.get(x + 1), left];
            for (step, other) in steps.iter_mut().zip(others) {
                let (Some(one), Some(two)) = (own[x], other.copied().flatten()) else { continue };
                let apart: f32 = one.iter().zip(two).map(|(x, y)| (x - y) * (x - y)).sum();
                #[allow(clippy::cast_sign_loss, reason = "a root is not negative")]
                let parts = (apart.sqrt() * PARTS) as u16;
                *step = parts.min(STEPS as u16 - 1);
            }
        }
    });
    steps
}

/// The places of the steps that are there, the smallest first, of equals the first; and for each number of parts where
/// the steps of so many end.
fn sorted(steps: &[u16]) -> (Vec<u32>, Vec<usize>) {
    let mut ends = vec![0_usize; STEPS];
    for &step in steps.iter().filter(|&&step| step != u16::MAX) {
        ends[usize::from(step)] += 1;
    }
    let mut whole = 0;
    for end in &mut ends {
        (*end, whole) = (whole, whole + *end);
    }
    let mut order = vec![0; whole];
    for (place, &step) in steps.iter().enumerate().filter(|(_, step)| **step != u16::MAX) {
        let end = &mut ends[usize::from(step)];
        order[*end] = place as u32;
        *end += 1;
    }
    (order, ends)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::progress::Silent;

    #[test]
    fn a_slanting_line_that_meets_itself_at_corners_alone_is_one_region() {
        let line = |cell: usize| cell % 40 == cell / 40 && (5..35).contains(&(cell / 40));
        let colour = |cell: usize| Some(if line(cell) { [200.0, 30.0, 30.0] } else { [60.0, 120.0, 50.0] });
        let cells: Vec<Option<[f32; 3]>> = (0..1600).map(colour).collect();
        let regions = Regions::new(&cells, GridSize::new(40, 40).unwrap(), 12, &Silent).unwrap();
        let of = regions.of[10 * 40 + 10];
        assert!((0..1600).filter(|&cell| line(cell)).all(|cell| regions.of[cell] == of));
        assert_ne!(regions.of[3 * 40 + 30], of);
        assert_ne!(regions.of[30 * 40 + 3], of);
    }
}
