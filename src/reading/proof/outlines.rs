//! The lines of a page, read back: where each runs is the chart's to say, which pattern it shows is the picture's.
//!
//! A line is sampled every [`PITCH`] along and at [`ASIDE`] to both sides. What is under another line, under the
//! heavy lines through the middle of the design, or at a sharp turn beside it, does not count. What is judged is
//! one line on one page, or, where that is short, all short ones of a mark, thread and pattern together.

use std::collections::BTreeSet;

use super::cells::Inked;
use super::drawn::Drawn;
use super::lattice::Lattice;
use super::patterns::{self, ASIDE, PITCH, Place, Stretch};
use crate::chart::WorkedLine;
use crate::printing::sheet;

pub(super) use super::patterns::Read;

/// A stretch shorter than this says nothing: it need not show a gap of the longest dashes (1.1 cells and 0.4).
const SHORTEST: f64 = 2.0;

/// An outline that shows less than this is not judged: two periods of the longest pattern.
const ENOUGH: f64 = 3.0;

/// Lines that turn by more than this have, so far along, nothing told from beside them.
const SHARP: f64 = 0.35;
const TURN: f64 = 0.22;

/// Lines of one mark, in one thread and pattern, as they were read on a page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outline {
    /// Their places among the chart's lines.
    pub(super) lines: Vec<usize>,
    /// A cell at the first: column and row of the page, from 0.
    pub(super) at: [u32; 2],
    pub(super) read: Read,
}

/// What the lines of a page were read as, and those of which too little is seen.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Outlines {
    pub(super) read: Vec<Outline>,
    pub(super) short: Vec<usize>,
}

/// A stitch of a line, or what else hides it: from where to where along its line.
#[derive(Debug, Clone, Copy)]
struct Piece {
    line: usize,
    along: [f64; 2],
    drawn: Drawn,
}

/// Reads the lines of a page whose first column and row are `first`; `over` is what is drawn over them, symbols
/// stand over them in `crossed` cells, and `inked` says
/// whether the symbol of a cell of the page hides a place of it.
pub(super) fn read(
    page: &Inked,
    lines: &[WorkedLine],
    first: [u32; 2],
    over: &[Drawn],
    crossed: &BTreeSet<[i64; 2]>,
    inked: &dyn Fn([u32; 2], [f64; 2]) -> bool,
) -> Outlines {
    let lattice = page.lattice;
    let paths: Vec<(Vec<Piece>, f64)> =
        lines.iter().enumerate().map(|(at, line)| pieces(at, line, first, lattice)).collect();
    let seen = Seen { page, crossed, inked };
    let mut others: Vec<Piece> = paths.iter().flat_map(|(path, _)| path).copied().collect();
    others.extend(over.iter().map(|&drawn| Piece { line: usize::MAX, along: [0.0; 2], drawn }));
    let mut taken: Vec<Taken> = Vec::new();
    let mut pools: Vec<Taken> = Vec::new();
    for (at, (path, length)) in paths.iter().enumerate().filter(|(_, (path, _))| !path.is_empty()) {
        let stretches: Vec<Stretch> = seen
            .stretches(path, &others, lines[at].closed.then_some(*length))
            .into_iter()
            .filter(|one| one.seen() >= SHORTEST)
            .collect();
        let this = Taken { lines: vec![at], at: cell(path[0].drawn.from, lattice), stretches };
        if this.is_enough() {
            taken.push(this);
            continue;
        }
        let same = |pool: &&mut Taken| {
            let (one, other) = (&lines[pool.lines[0]], &lines[at]);
            one.mark == other.mark && one.threads == other.threads && one.pattern == other.pattern
        };
        match pools.iter_mut().find(same) {
            Some(pool) => {
                pool.lines.extend(this.lines);
                pool.stretches.extend(this.stretches);
            }
            None => pools.push(this),
        }
    }
    let (together, short): (Vec<Taken>, Vec<Taken>) = pools.into_iter().partition(Taken::is_enough);
    taken.extend(together);
    let stretches: Vec<Vec<Stretch>> =
        taken.iter_mut().map(|one| std::mem::take(&mut one.stretches)).collect();
    let read = patterns::read(&stretches);
    let read =
        taken.into_iter().zip(read).map(|(taken, read)| Outline { lines: taken.lines, at: taken.at, read });
    Outlines { read: read.collect(), short: short.into_iter().flat_map(|one| one.lines).collect() }
}

/// What is to be judged together: lines by their places, a cell at the first, and what is seen of them.
struct Taken {
    lines: Vec<usize>,
    at: [u32; 2],
    stretches: Vec<Stretch>,
}

impl Taken {
    fn is_enough(&self) -> bool {
        self.stretches.iter().map(Stretch::seen).sum::<f64>() >= ENOUGH
    }
}

/// The cell at a point, or the nearest.
fn cell([column, row]: [f64; 2], lattice: &Lattice) -> [u32; 2] {
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
    let within = |at: f64, count: u32| (at.max(0.0) as u32).min(count.saturating_sub(1));
    [within(column, lattice.columns), within(row, lattice.rows)]
}

/// The stitches of a line that reach the page, in cells from its top left, and the length of all its stitches.
fn pieces(at: usize, line: &WorkedLine, first: [u32; 2], lattice: &Lattice) -> (Vec<Piece>, f64) {
    let half = sheet::half_width(line.pattern);
    let mut points = line.drawn(0.0);
    if line.closed {
        points.extend(points.first().copied());
    }
    let place = |[x, y]: [f64; 2]| [x - f64::from(first[0]), y - f64::from(first[1])];
    let limits = [f64::from(lattice.columns), f64::from(lattice.rows)];
    let mut along = 0.0;
    let mut pieces = Vec::new();
    for pair in points.windows(2) {
        let (from, to) = (place(pair[0]), place(pair[1]));
        let start = along;
        along += (to[0] - from[0]).hypot(to[1] - from[1]);
        let reaches = (0..2)
            .all(|axis| from[axis].max(to[axis]) >= -0.01 && from[axis].min(to[axis]) <= limits[axis] + 0.01);
        if reaches && along > start {
            pieces.push(Piece { line: at, along: [start, along], drawn: Drawn { from, to, half, ink: 1.0 } });
        }
    }
    (pieces, along)
}

/// By how much the next stitch turns from this one, in radians.
fn turn(one: &Piece, next: &Piece) -> f64 {
    let way = |piece: &Piece| {
        let Drawn { from, to, .. } = piece.drawn;
        libm::atan2(to[1] - from[1], to[0] - from[0])
    };
    let turn = (way(next) - way(one)).rem_euclid(std::f64::consts::TAU);
    turn.min(std::f64::consts::TAU - turn)
}

/// A page that is looked at.
struct Seen<'a> {
    page: &'a Inked<'a>,
    /// Cells whose symbols stand over lines.
    crossed: &'a BTreeSet<[i64; 2]>,
    inked: &'a dyn Fn([u32; 2], [f64; 2]) -> bool,
}

impl Seen<'_> {
    /// Whether a symbol stands over the lines here.
    fn is_under_symbol(&self, [x, y]: [f64; 2]) -> bool {
        let cell = [x, y].map(|at| at.floor() as i64);
        let [Ok(column), Ok(row)] = cell.map(u32::try_from) else { return false };
        self.crossed.contains(&cell) && (self.inked)([column, row], [x.fract(), y.fract()])
    }

    /// A line's stretches that lie on the page in one piece; `round` is the length of one that is closed.
    fn stretches(&self, path: &[Piece], others: &[Piece], round: Option<f64>) -> Vec<Stretch> {
        let mut stretches = vec![Stretch::default()];
        let mut before: Option<&Piece> = None;
        let mut next_at = path.first().map_or(0.0, |piece| piece.along[0]);
        for (index, piece) in path.iter().enumerate() {
            if before.is_some_and(|before| before.along[1] < piece.along[0]) {
                stretches.push(Stretch::default());
                (before, next_at) = (None, piece.along[0]);
            }
            let near: Vec<&Piece> = others.iter().filter(|other| is_near(piece, other)).collect();
            let sharp_before = before.is_some_and(|before| turn(before, piece) > SHARP);
            let after = path.get(index + 1).filter(|after| after.along[0] <= piece.along[1]);
            let sharp_after = after.is_some_and(|after| turn(piece, after) > SHARP);
            let [start, end] = piece.along;
            while next_at < end {
                let at_turn =
                    (sharp_before && next_at - start < TURN) || (sharp_after && end - next_at < TURN);
                match self.place(piece, next_at, &near, at_turn, round) {
                    Some(place) => {
                        if let Some(stretch) = stretches.last_mut() {
                            stretch.places.push(place);
                        }
                    }
                    None => stretches.push(Stretch::default()),
                }
                next_at += PITCH;
            }
            before = Some(piece);
        }
        stretches
    }

    /// What is seen at one place of a stitch; `None` beyond the page's cells.
    fn place(
        &self,
        piece: &Piece,
        along: f64,
        near: &[&Piece],
        at_turn: bool,
        round: Option<f64>,
    ) -> Option<Place> {
        let Drawn { from, to, .. } = piece.drawn;
        let [start, end] = piece.along;
        let [dx, dy] = [(to[0] - from[0]) / (end - start), (to[1] - from[1]) / (end - start)];
        let middle = [from[0] + dx * (along - start), from[1] + dy * (along - start)];
        let limits = [f64::from(self.page.lattice.columns), f64::from(self.page.lattice.rows)];
        if (0..2).any(|axis| middle[axis] < -0.01 || middle[axis] > limits[axis] + 0.01) {
            return None;
        }
        let hides = |other: &&&Piece, point: [f64; 2]| {
            if other.line == piece.line {
                let apart = (other.along[0] - along).max(along - other.along[1]).max(0.0);
                let apart = round.map_or(apart, |length| apart.min((length - apart).abs()));
                if apart < 0.6 {
                    return false;
                }
            }
            other.drawn.distance(point) < other.drawn.half
        };
        let mut place = Place::default();
        for (channel, aside) in ASIDE.into_iter().enumerate() {
            let sides: &[f64] = if aside > 0.0 { &[-1.0, 1.0] } else { &[0.0] };
            for side in sides.iter().filter(|_| !(at_turn && aside > 0.0)) {
                let point = [middle[0] - dy * aside * side, middle[1] + dx * aside * side];
                if near.iter().any(|other| hides(&other, point)) || self.is_under_symbol(point) {
                    continue;
                }
                let ink = self.page.at(point);
                place.ink[channel] += ink;
                place.sides[channel] += 1.0;
                place.squares += ink * ink;
            }
        }
        Some(place)
    }
}

/// Whether one could hide a part of the other: by the boxes round them.
fn is_near(piece: &Piece, other: &Piece) -> bool {
    let room = ASIDE[ASIDE.len() - 1] + other.drawn.half;
    (0..2).all(|axis| {
        let span =
            |drawn: &Drawn| [drawn.from[axis].min(drawn.to[axis]), drawn.from[axis].max(drawn.to[axis])];
        let (own, others) = (span(&piece.drawn), span(&other.drawn));
        own[0] - room <= others[1] && others[0] - room <= own[1]
    })
}
