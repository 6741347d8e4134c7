//! The boundary of a set of cells as closed lines from hole to hole, exact or eased.
//!
//! A hole `[x, y]` is the top left corner of the cell in column `x`, row `y`. Every line keeps the cells on
//! its right, y pointing down: clockwise round the outside, anticlockwise round a gap within.

use std::collections::{HashMap, HashSet};

use super::region::Region;

/// Steps to the right, down, left and up.
const STEPS: [[i32; 2]; 4] = [[1, 0], [0, 1], [-1, 0], [0, -1]];

/// The boundary, unit by unit: closed lines that each pass a hole once at most. Where two cells meet at a
/// corner only, the lines part there.
#[must_use]
pub fn exact(region: &Region) -> Vec<Vec<[i32; 2]>> {
    let (origin, [width, height]) = region.window();
    let across = (width + 1) as usize;
    // Which ways the boundary leaves each hole.
    let mut ways = vec![0u8; across * (height + 1) as usize];
    let place = |[x, y]: [i32; 2]| y as usize * across + x as usize;
    for y in 0..height {
        let [above, here, below] = [-1, 0, 1].map(|by| region.row(origin[1] + y + by).1);
        let is_in = |cells: &[u8], x: usize| cells.get(x).is_some_and(|&cell| cell != 0);
        for at in (0..here.len()).filter(|&at| is_in(here, at)) {
            let x = at as i32;
            let corners = [[x, y], [x + 1, y], [x + 1, y + 1], [x, y + 1]];
            let inside =
                [is_in(above, at), is_in(here, at + 1), is_in(below, at), at > 0 && is_in(here, at - 1)];
            for (way, (corner, is_inside)) in corners.into_iter().zip(inside).enumerate() {
                if !is_inside {
                    ways[place(corner)] |= 1 << way;
                }
            }
        }
    }
    let mut loops = Vec::new();
    for start in 0..ways.len() {
        while ways[start] != 0 {
            let mut here = [(start % across) as i32, (start / across) as i32];
            let mut way = ways[start].trailing_zeros() as usize;
            let mut path: Vec<[i32; 2]> = Vec::new();
            let mut passed: HashMap<[i32; 2], usize> = HashMap::new();
            loop {
                if let Some(&at) = passed.get(&here) {
                    // A hole passed before closes a line of its own.
                    let closed = path.split_off(at);
                    for point in &closed {
                        passed.remove(point);
                    }
                    loops.push(closed.iter().map(|&[x, y]| [x + origin[0], y + origin[1]]).collect());
                    if path.is_empty() {
                        break;
                    }
                }
                passed.insert(here, path.len());
                path.push(here);
                // Right first: the line stays with the cell that it is going round.
                let next = [(way + 1) % 4, way, (way + 3) % 4];
                way = if path.len() == 1 && passed.len() == 1 && ways[place(here)] & (1 << way) != 0 {
                    way
                } else {
                    next.into_iter().find(|&next| ways[place(here)] & (1 << next) != 0).unwrap_or(way)
                };
                ways[place(here)] &= !(1 << way);
                here = [here[0] + STEPS[way][0], here[1] + STEPS[way][1]];
            }
        }
    }
    loops
}

/// A straight part of the boundary.
#[derive(Debug, Clone, Copy)]
struct Run {
    from: [i32; 2],
    way: usize,
    length: i32,
}

impl Run {
    fn at(&self, offset: i32) -> [i32; 2] {
        [self.from[0] + STEPS[self.way][0] * offset, self.from[1] + STEPS[self.way][1] * offset]
    }

    /// The cell to the right of the unit that begins `offset` from its start.
    fn cell(&self, offset: i32) -> [i32; 2] {
        let [x, y] = self.at(offset);
        match self.way {
            0 => [x, y],
            1 => [x - 1, y],
            2 => [x - 1, y - 1],
            _ => [x, y - 1],
        }
    }
}

fn runs(points: &[[i32; 2]]) -> Vec<Run> {
    let count = points.len();
    let way = |at: usize| {
        let (from, to) = (points[at % count], points[(at + 1) % count]);
        STEPS.iter().position(|&[dx, dy]| to == [from[0] + dx, from[1] + dy]).unwrap_or_default()
    };
    // Begin at a corner.
    let start = (0..count).find(|&at| way(at) != way(at + count - 1)).unwrap_or_default();
    let mut runs: Vec<Run> = Vec::new();
    for at in start..start + count {
        match runs.last_mut() {
            Some(run) if run.way == way(at) => run.length += 1,
            _ => runs.push(Run { from: points[at % count], way: way(at), length: 1 }),
        }
    }
    runs
}

/// The boundary with its stair-steps eased: where a step of one cell leads to an inner corner, the line goes
/// straight from hole to hole and cuts a triangle off the motif's own cells, off each cell once at most. So
/// lines round motifs that share no cell never cross. Straight parts keep one stitch a cell.
///
/// `longest` is the longest stitch in cells.
#[must_use]
pub fn eased(region: &Region, longest: f64) -> Vec<Vec<[i32; 2]>> {
    let mut cut = Cut { cells: HashSet::new(), most: reach(longest) };
    exact(region).iter().map(|points| cut.ease(points)).collect()
}

/// How many cells along a stitch one cell deep may go.
fn reach(longest: f64) -> i32 {
    (longest * longest - 1.0).max(0.0).sqrt().floor().min(64.0) as i32
}

/// The longest side of a step that counts as part of a slope, in cells: a longer one is a corner meant as one.
const LARGE_STEP: i32 = 4;

/// Which cells have lost a corner.
struct Cut {
    cells: HashSet<[i32; 2]>,
    most: i32,
}

impl Cut {
    fn ease(&mut self, points: &[[i32; 2]]) -> Vec<[i32; 2]> {
        let runs = runs(points);
        let count = runs.len();
        // Taken off the end of each run and off the start of the next, by the corner between them.
        let taken: Vec<Option<[i32; 2]>> = (0..count).map(|at| self.corner(&runs, at)).collect();
        let mut line = Vec::with_capacity(points.len());
        for (at, run) in runs.iter().enumerate() {
            let from = taken[(at + count - 1) % count].map_or(0, |[_, next]| next);
            let to = run.length - taken[at].map_or(0, |[this, _]| this);
            line.extend((from..to).map(|offset| run.at(offset)));
            if taken[at].is_some() {
                line.push(run.at(to));
            }
        }
        line.dedup();
        if line.len() > 1 && line.first() == line.last() {
            line.pop();
        }
        line
    }

    /// What the corner at the end of run `at` loses: so much of that run, so much of the next.
    fn corner(&mut self, runs: &[Run], at: usize) -> Option<[i32; 2]> {
        let count = runs.len();
        let run = |offset: usize| &runs[(at + count * 2 + offset - 2) % count];
        let (before, this, next, after) = (run(1), run(2), run(3), run(4));
        let outer = |one: &Run, two: &Run| (one.way + 1) % 4 == two.way;
        if !outer(this, next) {
            return None;
        }
        let inner_before = !outer(before, this);
        let inner_after = !outer(next, after);
        if next.length == 1 && inner_after {
            let room = room(this, inner_before, after, outer(after, run(5)));
            let along = |along: i32| (1..=along).map(|back| this.cell(this.length - back)).collect();
            return self.take(room, along).map(|along| [along, 1]);
        }
        if this.length == 1 && inner_before {
            let earlier = run(0);
            let room = room(next, inner_after, before, outer(earlier, before));
            let along = |along: i32| (0..along).map(|forth| next.cell(forth)).collect();
            return self.take(room, along).map(|along| [1, along]);
        }
        // A larger step of a stair: no stitch spans it without cutting a cell off, but its corner is rounded.
        let is_step = inner_before && inner_after && this.length.max(next.length) <= LARGE_STEP;
        if is_step {
            return self.take(1, |_| vec![this.cell(this.length - 1)]).map(|_| [1, 1]);
        }
        None
    }

    /// Takes as many cells along as may be cut, up to `room`.
    fn take(&mut self, room: i32, cells: impl Fn(i32) -> Vec<[i32; 2]>) -> Option<i32> {
        (1..=room.min(self.most)).rev().find(|&along| {
            let cells = cells(along);
            let free = cells.iter().all(|cell| !self.cells.contains(cell));
            if free {
                self.cells.extend(cells);
            }
            free
        })
    }
}

/// How much of a run a diagonal may take: all of a step; of a flat with an outer corner at both ends no more
/// than half, and no more than the next step of the stair is long, so that the slope only grows.
fn room(flat: &Run, is_step: bool, next_step: &Run, stair_goes_on: bool) -> i32 {
    if is_step {
        flat.length
    } else {
        let like = if stair_goes_on { next_step.length } else { 1 };
        like.min(flat.length / 2)
    }
}
