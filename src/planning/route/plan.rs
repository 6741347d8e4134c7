//! The planner: patches become rings of legs, rings are strung together.

mod waiting;

use std::collections::VecDeque;

use self::waiting::Waiting;
use super::{Leg, Stretch};
use crate::chart::Chart;
use crate::ground::progress::{Progress, Stopped, ask};
use crate::thread::cloth::{Diagonal, StitchKind};

/// No leg, no patch.
const NONE: u32 = u32::MAX;

/// The side of a cell that faces the one it was reached from. It settles in which holes its legs begin:
///
/// | faces | lower leg | upper leg |
/// |---|---|---|
/// | left | lower left to upper right | lower right to upper left |
/// | down | lower left to upper right | upper left to lower right |
/// | right | upper right to lower left | upper left to lower right |
/// | up | upper right to lower left | lower right to upper left |
///
/// A neighbour on any other side can then be joined in: right after the lower leg where that ends on this
/// side, or right before the upper leg where that begins there. Both holes are the neighbour's too, and the
/// neighbour, facing back, begins or ends one side away from them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Facing {
    Left = 0b00,
    Up = 0b01,
    Down = 0b10,
    Right = 0b11,
}

impl Facing {
    const ALL: [Self; 4] = [Self::Left, Self::Up, Self::Right, Self::Down];

    /// Bit 0: the lower leg begins at the upper right. Bit 1: the upper leg begins at the upper left.
    fn bits(self) -> u8 {
        self as u8
    }

    fn opposite(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
            Self::Up => Self::Down,
            Self::Down => Self::Up,
        }
    }

    fn step(self) -> [i32; 2] {
        match self {
            Self::Left => [-1, 0],
            Self::Right => [1, 0],
            Self::Up => [0, -1],
            Self::Down => [0, 1],
        }
    }

    /// Whether the lower leg of a cell facing this side ends on side `on`.
    fn lower_ends_on(self, on: Self) -> bool {
        match self {
            Self::Left | Self::Down => matches!(on, Self::Right | Self::Up),
            Self::Right | Self::Up => matches!(on, Self::Left | Self::Down),
        }
    }
}

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

/// What all needles are planned on: the chart and its patches.
pub(super) struct Land<'a> {
    chart: &'a Chart,
    progress: &'a dyn Progress,
    columns: i32,
    rows: i32,
    travel: f64,
    /// The length in cells by its square in half cells, as far as the thread may travel.
    lengths: Vec<f64>,
    kinds: Vec<StitchKind>,
    /// The patch of each cell.
    patch: Vec<u32>,
    /// Of each patch: its first cell by rows, and whether it has more than one.
    first: Vec<u32>,
    many: Vec<bool>,
}

/// Plans one needle after the other: none minds any other.
struct Planner<'a> {
    land: &'a Land<'a>,
    /// Cells and places that were looked at.
    steps: u32,
    /// The cells of the needle that is planned for that are on no thread yet.
    waiting: Waiting,
    /// Whether each patch is on a thread.
    strung: Vec<bool>,
    /// How the legs of each cell run: the bits of a [`Facing`].
    runs: Vec<u8>,
    /// The legs before and after each; leg 2c is the lower one of cell c, 2c + 1 the upper one.
    before: Vec<u32>,
    after: Vec<u32>,
}

/// Cells that still look for neighbours, by the square of the distance at which they look next.
#[derive(Default)]
struct Search {
    buckets: Vec<Vec<(u32, u32)>>,
    lowest: usize,
}

impl Search {
    fn push(&mut self, key: usize, item: (u32, u32)) {
        if self.buckets.len() <= key {
            self.buckets.resize_with(key + 1, Vec::new);
        }
        self.buckets[key].push(item);
        self.lowest = self.lowest.min(key);
    }

    fn has_nearer(&self, key: usize) -> bool {
        self.buckets.iter().take(key).skip(self.lowest).any(|bucket| !bucket.is_empty())
    }

    /// The nearest; of equals the last pushed, so that the thread goes on from where it is.
    fn pop(&mut self) -> Option<(u32, u32)> {
        while let Some(bucket) = self.buckets.get_mut(self.lowest) {
            if let Some(item) = bucket.pop() {
                return Some(item);
            }
            self.lowest += 1;
        }
        None
    }
}

/// Charts of fewer cells are planned by one: beginning another takes as long.
const ALONE: usize = 1 << 12;

impl<'a> Land<'a> {
    pub(super) fn new(chart: &'a Chart, travel: f64, progress: &'a dyn Progress) -> Self {
        let (columns, rows) = (chart.size().columns() as i32, chart.size().rows() as i32);
        Self {
            chart,
            progress,
            columns,
            rows,
            travel,
            lengths: (0u32..)
                .map(|square| f64::from(square).sqrt() / 2.0)
                .take_while(|length| *length <= travel + 1e-9)
                .collect(),
            kinds: chart.needles().iter().map(|needle| needle.stitch).collect(),
            patch: vec![NONE; chart.size().cells()],
            first: Vec::new(),
            many: Vec::new(),
        }
    }

    /// What `of` makes of each stretch, for each needle. Two plan side by side, each about half of the cells, and no more than
    /// two: each keeps 17 bytes a cell.
    pub(super) fn plan<T: Send>(mut self, of: impl Fn(Stretch) -> T + Sync) -> Result<Vec<Vec<T>>, Stopped> {
        ask(self.progress)?;
        self.find_patches()?;
        let mut cells: Vec<Vec<u32>> = vec![Vec::new(); self.chart.needles().len()];
        for (cell, needle) in self.chart.cells().iter().map(|cell| cell.needle()).enumerate() {
            if let Some(needle) = needle {
                cells[needle].push(cell as u32);
            }
        }
        let all: usize = cells.iter().map(Vec::len).sum();
        let upto = cells.iter().scan(0, |sum, cells| {
            *sum += cells.len();
            Some(*sum)
        });
        let half = upto.take_while(|&upto| all < ALONE || upto <= all / 2).count();
        let (one, other) = cells.split_at(half);
        let plan = |cells: &[Vec<u32>]| {
            if cells.is_empty() { Ok(Vec::new()) } else { Planner::new(&self).plan(cells, &of) }
        };
        let (one, other) = rayon::join(|| plan(one), || plan(other));
        let mut routes = one?;
        routes.extend(other?);
        Ok(routes)
    }

    fn needle(&self, cell: u32) -> usize {
        self.chart.cells()[cell as usize].needle().unwrap_or_default()
    }

    fn kind(&self, cell: u32) -> StitchKind {
        self.kinds[self.needle(cell)]
    }

    fn neighbour(&self, cell: u32, [x, y]: [i32; 2]) -> Option<u32> {
        let (column, row) = (cell as i32 % self.columns + x, cell as i32 / self.columns + y);
        let inside = (0..self.columns).contains(&column) && (0..self.rows).contains(&row);
        inside.then_some((row * self.columns + column) as u32)
    }

    /// The neighbour on a side, if it belongs to the same patch.
    fn of_patch(&self, cell: u32, side: Facing) -> Option<u32> {
        self.neighbour(cell, side.step())
            .filter(|&other| self.patch[other as usize] == self.patch[cell as usize])
    }

    /// Crosses that touch at their sides; any other stitch is a patch of its own, as nothing brings it home.
    fn find_patches(&mut self) -> Result<(), Stopped> {
        let mut stack = Vec::new();
        let mut steps = 0;
        for cell in 0..self.patch.len() {
            let Some(needle) = self.chart.cells()[cell].needle() else { continue };
            if self.patch[cell] != NONE {
                continue;
            }
            let id = self.first.len() as u32;
            self.first.push(cell as u32);
            self.patch[cell] = id;
            let mut size = 1;
            if self.kinds[needle] == StitchKind::FullCross {
                stack.push(cell as u32);
            }
            while let Some(here) = stack.pop() {
                step(&mut steps, self.progress)?;
                for side in Facing::ALL {
                    let Some(there) = self.neighbour(here, side.step()) else { continue };
                    if self.patch[there as usize] == NONE
                        && self.chart.cells()[there as usize].needle() == Some(needle)
                    {
                        self.patch[there as usize] = id;
                        size += 1;
                        stack.push(there);
                    }
                }
            }
            self.many.push(size > 1);
        }
        Ok(())
    }
}

/// Asks now and then whether to go on.
fn step(steps: &mut u32, progress: &dyn Progress) -> Result<(), Stopped> {
    *steps = steps.wrapping_add(1);
    if steps.is_multiple_of(ASKING) { ask(progress) } else { Ok(()) }
}

impl<'a> Planner<'a> {
    fn new(land: &'a Land<'a>) -> Self {
        let (size, cells) = (land.chart.size(), land.chart.size().cells());
        Self {
            land,
            steps: 0,
            waiting: Waiting::new([size.columns(), size.rows()], land.travel),
            strung: vec![false; land.first.len()],
            runs: vec![0; cells],
            before: vec![NONE; 2 * cells],
            after: vec![NONE; 2 * cells],
        }
    }

    fn step(&mut self) -> Result<(), Stopped> {
        step(&mut self.steps, self.land.progress)
    }

    /// What `of` makes of each stretch, for each needle of which there are the cells.
    fn plan<T>(mut self, needles: &[Vec<u32>], of: impl Fn(Stretch) -> T) -> Result<Vec<Vec<T>>, Stopped> {
        let mut routes = Vec::with_capacity(needles.len());
        for cells in needles {
            cells.iter().for_each(|&cell| self.waiting.add(cell));
            let mut route = Vec::new();
            // A patch begins with its first cell by rows.
            for &cell in cells {
                let patch = self.land.patch[cell as usize] as usize;
                if !self.strung[patch] {
                    route.push(of(self.string(self.land.first[patch])?));
                }
            }
            routes.push(route);
        }
        Ok(routes)
    }
}

/// A thread: legs strung together.
impl Planner<'_> {
    /// Where a leg comes up and goes down. A leg that ends in the middle of its cell comes up in the corner.
    fn holes(&self, leg: u32) -> (Hole, Hole) {
        let cell = (leg / 2) as usize;
        let (x, y) = (2 * (cell as i32 % self.land.columns), 2 * (cell as i32 / self.land.columns));
        let diagonal = if leg.is_multiple_of(2) { Diagonal::Rising } else { Diagonal::Falling };
        if let StitchKind::Quarter(corner) | StitchKind::ThreeQuarter(corner) = self.land.kind(cell as u32)
            && corner.diagonal() == diagonal
        {
            let [across, down] = corner.place();
            return ([x + 2 * across, y + 2 * down], [x + 1, y + 1]);
        }
        let bits = self.runs[cell];
        let (one, two, turned) = if diagonal == Diagonal::Rising {
            ([x, y + 2], [x + 2, y], bits & 1 != 0)
        } else {
            ([x + 2, y + 2], [x, y], bits & 2 != 0)
        };
        if turned { (two, one) } else { (one, two) }
    }

    /// The first and the last leg of a cell.
    fn legs(&self, cell: u32) -> [u32; 2] {
        let leg = |(diagonal, _): (Diagonal, _)| 2 * cell + u32::from(diagonal == Diagonal::Falling);
        match self.land.kind(cell).legs() {
            [one, two] => [leg(*one), leg(*two)],
            one => [one.first().map_or(2 * cell, |&one| leg(one)); 2],
        }
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
        self.waiting.take(cell);
        let [first, last] = self.legs(cell);
        self.link(one, first);
        if first != last {
            self.link(first, last);
        }
        self.link(last, two);
    }

    /// Works the patch of `root`, in the gap, and lets its edge look for neighbours.
    fn work_patch(&mut self, root: u32, runs: u8, gap: Gap, search: &mut Search) -> Result<(), Stopped> {
        let patch = self.land.patch[root as usize] as usize;
        self.strung[patch] = true;
        self.insert(gap, root, runs);
        if self.land.many[patch] {
            let facing = Facing::ALL.into_iter().find(|facing| facing.bits() == runs);
            let mut waiting = VecDeque::new();
            self.offer(root, facing.unwrap_or(Facing::Left), &mut waiting);
            while let Some((cell, near, side)) = waiting.pop_front() {
                self.step()?;
                if !self.waiting.holds(cell) {
                    continue;
                }
                let [lower, upper] = self.legs(near);
                let near_runs = self.runs[near as usize];
                let near_facing = Facing::ALL.into_iter().find(|facing| facing.bits() == near_runs);
                let after = near_facing.is_some_and(|facing| facing.lower_ends_on(side));
                let gap = if after {
                    (lower, self.after[lower as usize])
                } else {
                    (self.before[upper as usize], upper)
                };
                let facing = side.opposite();
                self.insert(gap, cell, facing.bits());
                self.offer(cell, facing, &mut waiting);
            }
        }
        self.search_from(patch, root, search);
        Ok(())
    }

    /// Neighbours of the patch on all sides but the one that is faced: those in the row next, others later.
    fn offer(&self, cell: u32, facing: Facing, waiting: &mut VecDeque<(u32, u32, Facing)>) {
        for side in Facing::ALL.into_iter().filter(|&side| side != facing) {
            if let Some(other) = self.land.of_patch(cell, side).filter(|&other| self.waiting.holds(other)) {
                match side {
                    Facing::Left | Facing::Right => waiting.push_front((other, cell, side)),
                    Facing::Up | Facing::Down => waiting.push_back((other, cell, side)),
                }
            }
        }
    }

    /// Lets the edge cells of a patch look for other patches.
    fn search_from(&self, patch: usize, root: u32, search: &mut Search) {
        if !self.land.many[patch] {
            search.push(1, (root, 0));
            return;
        }
        // Over the patch once more, from leg to leg of its ring.
        let mut leg = 2 * root;
        loop {
            let cell = leg / 2;
            let is_edge = || Facing::ALL.into_iter().any(|side| self.land.of_patch(cell, side).is_none());
            if leg.is_multiple_of(2) && is_edge() {
                search.push(1, (cell, 0));
            }
            if leg == 2 * root + 1 {
                return;
            }
            leg = self.after[leg as usize];
        }
    }

    /// One thread from `root` on, through all patches within reach of each other.
    fn string(&mut self, root: u32) -> Result<Stretch, Stopped> {
        let mut search = Search::default();
        let runs = self.ways(root).into_iter().flatten().next().unwrap_or_default();
        self.work_patch(root, runs, (NONE, NONE), &mut search)?;
        while let Some((cell, cursor)) = search.pop() {
            self.step()?;
            let Some((other, key, cursor)) = self.waiting.nearest(cell, cursor) else { continue };
            // The cell may not be the nearest any more: its next place in the queue tells.
            if search.has_nearer(key) {
                search.push(key, (cell, cursor));
                continue;
            }
            search.push(key, (cell, cursor + 1));
            if let Some(join) = self.best_join(cell, other) {
                self.runs[cell as usize] = join.near;
                self.work_patch(other, join.root, join.gap, &mut search)?;
            }
        }
        Ok(self.collect(root))
    }

    /// How the legs of a patch's first cell may run: facing any side on which it has no neighbour.
    fn ways(&self, root: u32) -> [Option<u8>; 4] {
        let kind = self.land.kind(root);
        Facing::ALL.map(|side| {
            let free = match kind {
                StitchKind::FullCross => self.land.of_patch(root, side).is_none(),
                // One leg is to be worked from either end: the other two ways are the same again.
                StitchKind::HalfCross | StitchKind::HalfCrossBack | StitchKind::ThreeQuarter(_) => {
                    matches!(side, Facing::Left | Facing::Right)
                }
                StitchKind::Quarter(_) => side == Facing::Left,
            };
            free.then_some(side.bits())
        })
    }

    /// Where the thread goes down before a gap and comes up behind it; none at an end.
    fn ends(&self, (one, two): Gap) -> Ends {
        [(one != NONE).then(|| self.holes(one).1), (two != NONE).then(|| self.holes(two).0)]
    }

    /// The length of the stitch behind between two holes: none at an end; `None` where it may not be.
    fn stitch(&self, [one, two]: Ends) -> Option<f64> {
        let (Some([x, y]), Some([to_x, to_y])) = (one, two) else { return Some(0.0) };
        let square = ((to_x - x).pow(2) + (to_y - y).pow(2)).unsigned_abs() as usize;
        // Half a cell is no stitch.
        self.land.lengths.get(square).copied().filter(|_| square > 1)
    }

    /// The cheapest way to work the patch of `root` before, within or after the cell `near`.
    fn best_join(&mut self, near: u32, root: u32) -> Option<Join> {
        let [first, last] = self.legs(near);
        let gaps = [
            (last, self.after[last as usize]),
            (self.before[first as usize], first),
            (first, self.after[first as usize]),
            (self.before[last as usize], last),
        ];
        let [root_first, root_last] = self.legs(root);
        let was = (self.runs[near as usize], self.runs[root as usize]);
        // A cell worked by itself can be turned to suit; one within a patch cannot.
        let alone = !self.land.many[self.land.patch[near as usize] as usize];
        let turns = if alone { self.ways(near) } else { [Some(was.0), None, None, None] };
        // Of each gap its ends and its stitch, and all stitches together.
        let around = |planner: &Self| -> Option<([Ends; 4], [Option<f64>; 4], f64)> {
            let ends = gaps.map(|gap| planner.ends(gap));
            let stitches = ends.map(|ends| planner.stitch(ends));
            let mut sum = 0.0;
            for stitch in &stitches[..if first == last { 2 } else { 4 }] {
                sum += (*stitch)?;
            }
            // Between the two legs of one cell the gap is listed twice.
            let twice = if first != last && gaps[2].1 == last { stitches[2]? } else { 0.0 };
            Some((ends, stitches, sum - twice))
        };
        let old = around(self).map_or(0.0, |(.., sum)| sum);
        let ways = self.ways(root).map(|way| {
            self.runs[root as usize] = way?;
            Some((way?, Some(self.holes(root_first).0), Some(self.holes(root_last).1)))
        });
        let mut best: Option<Join> = None;
        for turn in turns.into_iter().flatten() {
            self.runs[near as usize] = turn;
            let Some((ends, stitches, turned)) = around(self) else { continue };
            for (way, up, down) in ways.into_iter().flatten() {
                for ((gap, [one, two]), here) in gaps.into_iter().zip(ends).zip(stitches) {
                    let (Some(here), Some(before), Some(after)) =
                        (here, self.stitch([one, up]), self.stitch([down, two]))
                    else {
                        continue;
                    };
                    let cost = turned - old - here + before + after;
                    if best.is_none_or(|best| cost < best.cost - 1e-9) {
                        best = Some(Join { cost, gap, near: turn, root: way });
                    }
                }
            }
        }
        (self.runs[near as usize], self.runs[root as usize]) = was;
        best
    }

    /// The legs of the thread that `root` is on.
    fn collect(&self, root: u32) -> Stretch {
        let mut leg = self.legs(root)[0];
        while self.before[leg as usize] != NONE {
            leg = self.before[leg as usize];
        }
        let mut legs = Vec::new();
        while leg != NONE {
            let cell = leg / 2;
            let (from, to) = self.holes(leg);
            let columns = self.land.columns as u32;
            legs.push(Leg { cell: [cell % columns, cell / columns], from, to });
            leg = self.after[leg as usize];
        }
        Stretch { legs }
    }
}
