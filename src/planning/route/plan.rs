//! The planner: patches become rings of legs, rings are strung together.

mod facing;
mod search;
mod waiting;

use std::collections::VecDeque;

use rayon::prelude::*;

use self::facing::Facing;
use self::search::Search;
use self::waiting::{Place, Reach, Waiting};
use super::{Leg, Stretch};
use crate::chart::Chart;
use crate::ground::progress::{Progress, Stopped, ask};
use crate::thread::cloth::{Diagonal, StitchKind};

/// No leg.
const NONE: u32 = u32::MAX;

/// Where the needle passes, in half cells.
type Hole = [i32; 2];

/// Where the thread goes down and where it comes up next; none at an end.
type Ends = [Option<Hole>; 2];

/// Between which two legs something is put; none at an end of the thread.
type Gap = (u32, u32);

/// Where a patch joins the thread.
#[derive(Debug, Clone, Copy)]
struct Join {
    /// How much longer the back gets.
    cost: f64,
    gap: Gap,
    /// How the cell that it is joined to is worked from now on.
    near: u8,
    /// How the first cell of the patch is worked.
    root: u8,
}

/// After so many cells or places it is asked whether to go on: some milliseconds.
const ASKING: u32 = 1 << 12;

/// What all needles are planned on.
pub(super) struct Land<'a> {
    chart: &'a Chart,
    progress: &'a dyn Progress,
    reach: Reach,
    /// The length in cells by its square in half cells, as far as the thread may travel; half a cell is no stitch.
    lengths: Vec<f64>,
}

/// Plans one needle after the other: none minds any other. Cells go by their numbers among those of the needle, so that all
/// that is known of them lies together, however far apart they are on the chart.
struct Planner<'a> {
    land: &'a Land<'a>,
    /// Cells and places that were looked at.
    steps: u32,
    kind: StitchKind,
    /// The first and the last leg of each cell: 0 for the lower one, 1 for the upper one.
    legs: [u32; 2],
    cells: &'a [Place],
    /// On which sides each cell has a neighbour of its patch: the bits of [`Facing::side`].
    sides: Vec<u8>,
    /// The cells that are on no thread yet.
    waiting: Waiting<'a>,
    /// How the legs of each cell run: the bits of a [`Facing`].
    runs: Vec<u8>,
    /// The legs before and after each; leg 2c is the lower one of cell c, 2c + 1 the upper one.
    before: Vec<u32>,
    after: Vec<u32>,
    search: Search,
    /// Neighbours within a patch that come next: the cell, the one that it is reached from, and on which side of that.
    next: VecDeque<(u32, u32, Facing)>,
    stretch: Stretch,
}

/// Charts of fewer cells are planned by one: beginning another takes as long.
const ALONE: usize = 1 << 12;

impl<'a> Land<'a> {
    pub(super) fn new(chart: &'a Chart, travel: f64, progress: &'a dyn Progress) -> Self {
        let mut lengths: Vec<f64> = (0u32..)
            .map(|square| f64::from(square).sqrt() / 2.0)
            .take_while(|length| *length <= travel + 1e-9)
            .collect();
        lengths[..2].fill(f64::INFINITY);
        Self { chart, progress, reach: Reach::new(travel), lengths }
    }

    /// What `of` makes of each stretch, for each needle. Needles are planned side by side.
    pub(super) fn plan<T: Send>(
        &self,
        of: impl Fn(&mut Stretch) -> T + Send + Sync,
    ) -> Result<Vec<Vec<T>>, Stopped> {
        ask(self.progress)?;
        let (cells, bounds) = self.by_needle();
        let of_needle = |(needle, bounds): (usize, &[usize])| (needle, &cells[bounds[0]..bounds[1]]);
        let needles = bounds.windows(2).enumerate().map(of_needle);
        if cells.len() < ALONE {
            let mut planner = Planner::new(self);
            return needles.map(|(needle, cells)| planner.plan(needle, cells, &of)).collect();
        }
        let needles: Vec<(usize, &[Place])> = needles.collect();
        needles
            .into_par_iter()
            .map_init(|| Planner::new(self), |planner, (needle, cells)| planner.plan(needle, cells, &of))
            .collect()
    }

    /// The cells of each needle in the order of rows, one needle after the other, and where each begins and ends.
    fn by_needle(&self) -> (Vec<Place>, Vec<usize>) {
        let mut bounds = vec![0];
        bounds.extend(self.chart.stitches().into_iter().scan(0, |sum, stitches| {
            *sum += stitches as usize;
            Some(*sum)
        }));
        let mut next = bounds.clone();
        let mut cells = vec![[0; 2]; bounds.last().copied().unwrap_or_default()];
        let (columns, rows) = (self.chart.size().columns() as u16, self.chart.size().rows() as u16);
        let places = (0..rows).flat_map(|row| (0..columns).map(move |column| [column, row]));
        for (place, cell) in places.zip(self.chart.cells()) {
            if let Some(needle) = cell.needle() {
                cells[next[needle]] = place;
                next[needle] += 1;
            }
        }
        (cells, bounds)
    }
}

impl<'a> Planner<'a> {
    fn new(land: &'a Land<'a>) -> Self {
        let size = land.chart.size();
        Self {
            land,
            steps: 0,
            kind: StitchKind::FullCross,
            legs: [0, 1],
            cells: &[],
            sides: Vec::new(),
            waiting: Waiting::new([size.columns(), size.rows()], &land.reach),
            runs: Vec::new(),
            before: Vec::new(),
            after: Vec::new(),
            search: Search::new(land.reach.most()),
            next: VecDeque::new(),
            stretch: Stretch::default(),
        }
    }

    /// Asks now and then whether to go on.
    fn step(&mut self) -> Result<(), Stopped> {
        self.steps = self.steps.wrapping_add(1);
        if self.steps.is_multiple_of(ASKING) { ask(self.land.progress) } else { Ok(()) }
    }

    /// What `of` makes of each stretch of a needle of which there are the cells.
    fn plan<T>(
        &mut self,
        needle: usize,
        cells: &'a [Place],
        of: impl Fn(&mut Stretch) -> T,
    ) -> Result<Vec<T>, Stopped> {
        self.turn_to(needle, cells);
        let mut route = Vec::new();
        // A patch begins with its first cell by rows.
        for (cell, &place) in (0..).zip(cells) {
            if self.waiting.holds(place) {
                self.string(cell)?;
                route.push(of(&mut self.stretch));
            }
        }
        Ok(route)
    }

    fn turn_to(&mut self, needle: usize, cells: &'a [Place]) {
        self.kind = self.land.chart.needles()[needle].stitch;
        let leg = |(diagonal, _): &(Diagonal, _)| u32::from(*diagonal == Diagonal::Falling);
        self.legs = match self.kind.legs() {
            [one, two] => [leg(one), leg(two)],
            one => [one.first().map_or(0, leg); 2],
        };
        let before = std::mem::replace(&mut self.cells, cells);
        self.waiting.turn_to(cells, before);
        self.runs.clear();
        self.runs.resize(cells.len(), 0);
        for of_legs in [&mut self.before, &mut self.after] {
            of_legs.clear();
            of_legs.resize(2 * cells.len(), NONE);
        }
        self.sides.clear();
        self.sides.resize(cells.len(), 0);
        // Crosses that touch at their sides are a patch; any other stitch is one of its own, as nothing brings it home.
        if self.kind != StitchKind::FullCross {
            return;
        }
        for (cell, &[column, row]) in cells.iter().enumerate() {
            if cell > 0 && column > 0 && cells[cell - 1] == [column - 1, row] {
                self.sides[cell] |= Facing::Left.side();
                self.sides[cell - 1] |= Facing::Right.side();
            }
            if let Some(above) = row.checked_sub(1).and_then(|row| self.waiting.number([column, row])) {
                self.sides[cell] |= Facing::Up.side();
                self.sides[above as usize] |= Facing::Down.side();
            }
        }
    }

    /// The neighbour on a side, if it belongs to the same patch.
    fn of_patch(&self, cell: u32, side: Facing) -> Option<u32> {
        if self.sides[cell as usize] & side.side() == 0 {
            return None;
        }
        let [column, row] = self.cells[cell as usize];
        match side {
            Facing::Left => Some(cell - 1),
            Facing::Right => Some(cell + 1),
            Facing::Up => self.waiting.number([column, row - 1]),
            Facing::Down => self.waiting.number([column, row + 1]),
        }
    }

    /// Whether a cell is a patch by itself.
    fn is_alone(&self, cell: u32) -> bool {
        self.sides[cell as usize] == 0
    }
}

/// A thread: legs strung together.
impl Planner<'_> {
    /// Where a leg comes up and goes down. A leg that ends in the middle of its cell comes up in the corner.
    fn holes(&self, leg: u32) -> (Hole, Hole) {
        self.holes_if(leg, self.runs[leg as usize / 2])
    }

    /// The same, if the legs of its cell ran so.
    fn holes_if(&self, leg: u32, bits: u8) -> (Hole, Hole) {
        let [x, y] = self.cells[leg as usize / 2].map(|side| 2 * i32::from(side));
        let diagonal = if leg.is_multiple_of(2) { Diagonal::Rising } else { Diagonal::Falling };
        if let StitchKind::Quarter(corner) | StitchKind::ThreeQuarter(corner) = self.kind
            && corner.diagonal() == diagonal
        {
            let [across, down] = corner.place();
            return ([x + 2 * across, y + 2 * down], [x + 1, y + 1]);
        }
        let (one, two, turned) = if diagonal == Diagonal::Rising {
            ([x, y + 2], [x + 2, y], bits & 1 != 0)
        } else {
            ([x + 2, y + 2], [x, y], bits & 2 != 0)
        };
        if turned { (two, one) } else { (one, two) }
    }

    /// The first and the last leg of a cell.
    fn legs(&self, cell: u32) -> [u32; 2] {
        let [first, last] = self.legs;
        [2 * cell + first, 2 * cell + last]
    }

    fn link(&mut self, one: u32, two: u32) {
        if one != NONE {
            self.after[one as usize] = two;
        }
        if two != NONE {
            self.before[two as usize] = one;
        }
    }

    fn insert(&mut self, (one, two): Gap, cell: u32, runs: u8) {
        self.runs[cell as usize] = runs;
        self.waiting.take(self.cells[cell as usize]);
        let [first, last] = self.legs(cell);
        self.link(one, first);
        if first != last {
            self.link(first, last);
        }
        self.link(last, two);
    }

    /// Works the patch of `root`, in the gap, and lets its edge look for neighbours.
    fn work_patch(&mut self, root: u32, runs: u8, gap: Gap) -> Result<(), Stopped> {
        self.insert(gap, root, runs);
        if self.is_alone(root) {
            self.search.push(1, (root, 0));
            return Ok(());
        }
        self.offer(root, Facing::of(runs));
        while let Some((cell, near, side)) = self.next.pop_front() {
            self.step()?;
            if !self.waiting.holds(self.cells[cell as usize]) {
                continue;
            }
            let [lower, upper] = self.legs(near);
            let gap = if Facing::of(self.runs[near as usize]).lower_ends_on(side) {
                (lower, self.after[lower as usize])
            } else {
                (self.before[upper as usize], upper)
            };
            let facing = side.opposite();
            self.insert(gap, cell, facing.bits());
            self.offer(cell, facing);
        }
        self.search_from(root);
        Ok(())
    }

    /// Neighbours of the patch on all sides but the one that is faced: those in the row next, others later.
    fn offer(&mut self, cell: u32, facing: Facing) {
        for side in Facing::ALL.into_iter().filter(|&side| side != facing) {
            let Some(other) = self.of_patch(cell, side) else { continue };
            if self.waiting.holds(self.cells[other as usize]) {
                match side {
                    Facing::Left | Facing::Right => self.next.push_front((other, cell, side)),
                    Facing::Up | Facing::Down => self.next.push_back((other, cell, side)),
                }
            }
        }
    }

    /// Lets the edge cells of a patch look for other patches.
    fn search_from(&mut self, root: u32) {
        // Over the patch once more, from leg to leg of its ring.
        let mut leg = 2 * root;
        loop {
            let cell = leg / 2;
            if leg.is_multiple_of(2) && self.sides[cell as usize] != Facing::EVERY {
                self.search.push(1, (cell, 0));
            }
            if leg == 2 * root + 1 {
                return;
            }
            leg = self.after[leg as usize];
        }
    }

    /// One thread from `root` on, through all patches within reach of each other; the legs are those of the stretch.
    fn string(&mut self, root: u32) -> Result<(), Stopped> {
        let runs = self.ways(root).into_iter().flatten().next().unwrap_or_default();
        self.work_patch(root, runs, (NONE, NONE))?;
        while let Some((cell, cursor)) = self.search.pop() {
            self.step()?;
            let near = self.waiting.nearest(self.cells[cell as usize], cursor);
            let Some((other, square, cursor)) = near else { continue };
            // The cell may not be the nearest any more: its next place in the queue tells.
            if self.search.has_nearer(square) {
                self.search.push(square, (cell, cursor));
                continue;
            }
            self.search.push(square, (cell, cursor + 1));
            if let Some(join) = self.best_join(cell, other) {
                self.runs[cell as usize] = join.near;
                self.work_patch(other, join.root, join.gap)?;
            }
        }
        self.collect(root);
        Ok(())
    }

    /// How the legs of a patch's first cell may run: facing any side on which it has no neighbour.
    fn ways(&self, root: u32) -> [Option<u8>; 4] {
        Facing::ALL.map(|side| {
            let free = match self.kind {
                StitchKind::FullCross => self.sides[root as usize] & side.side() == 0,
                // One leg is to be worked from either end: the other two ways are the same again.
                StitchKind::HalfCross | StitchKind::HalfCrossBack | StitchKind::ThreeQuarter(_) => {
                    matches!(side, Facing::Left | Facing::Right)
                }
                StitchKind::Quarter(_) => side == Facing::Left,
            };
            free.then_some(side.bits())
        })
    }

    /// The length of the stitch behind between two holes: none at an end; without end where it may not be.
    fn stitch(&self, [one, two]: Ends) -> f64 {
        let (Some([x, y]), Some([to_x, to_y])) = (one, two) else { return 0.0 };
        let (across, down) = (to_x - x, to_y - y);
        let square = (across * across + down * down).unsigned_abs() as usize;
        self.land.lengths.get(square).copied().unwrap_or(f64::INFINITY)
    }

    /// The cheapest way to work the patch of `root` before, within or after the cell `near`.
    fn best_join(&self, near: u32, root: u32) -> Option<Join> {
        let [first, last] = self.legs(near);
        let [before_first, after_first] = [self.before[first as usize], self.after[first as usize]];
        let [before_last, after_last] = [self.before[last as usize], self.after[last as usize]];
        let gaps = [(last, after_last), (before_first, first), (first, after_first), (before_last, last)];
        // One leg has no gap within; between two that follow one another there is one.
        let count = match () {
            () if first == last => 2,
            () if after_first == last => 3,
            () => 4,
        };
        let down_of = |leg: u32| (leg != NONE).then(|| self.holes(leg).1);
        let up_of = |leg: u32| (leg != NONE).then(|| self.holes(leg).0);
        // What other cells have to do with it stays where it is.
        let (behind, ahead) = (up_of(after_last), down_of(before_first));
        let within = if count == 4 { (up_of(after_first), down_of(before_last)) } else { (None, None) };
        // Of each gap its ends and its stitch, and all stitches together.
        let around = |runs: u8| -> ([Ends; 4], [f64; 4], f64) {
            let (first, last) = (self.holes_if(first, runs), self.holes_if(last, runs));
            let into = if count == 4 { within.0 } else { Some(last.0) };
            let ends = [
                [Some(last.1), behind],
                [ahead, Some(first.0)],
                [Some(first.1), into],
                [within.1, Some(last.0)],
            ];
            let mut stitches = [0.0; 4];
            for (stitch, ends) in stitches.iter_mut().zip(ends).take(count) {
                *stitch = self.stitch(ends);
            }
            (ends, stitches, stitches.iter().sum())
        };
        let (.., old) = around(self.runs[near as usize]);
        let old = if old.is_finite() { old } else { 0.0 };
        // Where the patch comes up first and goes down last, as the leg in question runs: its bit tells.
        let [root_first, root_last] = self.legs(root);
        let [first_bit, last_bit] = self.legs;
        let up = |bit: u8| Some(self.holes_if(root_first, bit << first_bit).0);
        let down = |bit: u8| Some(self.holes_if(root_last, bit << last_bit).1);
        let (up, down) = ([up(0), up(1)], [down(0), down(1)]);
        let ways = self.ways(root);
        // A cell worked by itself can be turned to suit; one within a patch cannot.
        let alone = self.is_alone(near);
        let turns = if alone { self.ways(near) } else { [Some(self.runs[near as usize]), None, None, None] };
        let mut best: Option<Join> = None;
        for turn in turns.into_iter().flatten() {
            let (ends, stitches, turned) = around(turn);
            if turned.is_infinite() {
                continue;
            }
            let (mut before, mut after) = ([[0.0; 2]; 4], [[0.0; 2]; 4]);
            for (place, [one, two]) in ends.into_iter().enumerate().take(count) {
                before[place] = [self.stitch([one, up[0]]), self.stitch([one, up[1]])];
                after[place] = [self.stitch([down[0], two]), self.stitch([down[1], two])];
            }
            for way in ways.into_iter().flatten() {
                let (first, last) = (usize::from(way >> first_bit & 1), usize::from(way >> last_bit & 1));
                for place in 0..count {
                    let cost = turned - old - stitches[place] + before[place][first] + after[place][last];
                    if cost < best.map_or(f64::INFINITY, |best| best.cost - 1e-9) {
                        best = Some(Join { cost, gap: gaps[place], near: turn, root: way });
                    }
                }
            }
        }
        best
    }

    /// The legs of the thread that `root` is on.
    fn collect(&mut self, root: u32) {
        let mut leg = self.legs(root)[0];
        while self.before[leg as usize] != NONE {
            leg = self.before[leg as usize];
        }
        let mut legs = std::mem::take(&mut self.stretch.legs);
        legs.clear();
        while leg != NONE {
            let (from, to) = self.holes(leg);
            legs.push(Leg { cell: self.cells[leg as usize / 2].map(u32::from), from, to });
            leg = self.after[leg as usize];
        }
        self.stretch.legs = legs;
    }
}
