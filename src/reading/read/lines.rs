//! Backstitch: strokes that run from hole to hole, page by page, put together to the lines of the chart.

use std::collections::{BTreeMap, BTreeSet};

use super::key::Entry;
use super::squares::Squares;
use crate::reading::drawing::{Drawn, Ink, Item, Line};

/// What lines of one thread look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Look {
    pub(super) ink: Ink,
    /// The width in hundredths of a square.
    pub(super) width: i32,
    /// The first dash and the gaps, in hundredths of a square; 0 for unbroken lines.
    pub(super) dash: [i32; 4],
}

impl Look {
    /// Of a stroke where squares have sides of this length.
    pub(super) fn of(line: &Line, cell: f64) -> Self {
        let share = |length: f32| (f64::from(length) / cell * 100.0).round() as i32;
        let mut dash = [0; 4];
        for (to, from) in dash.iter_mut().zip(&line.dash) {
            *to = share(*from);
        }
        Self { ink: line.ink, width: share(line.width), dash }
    }

    /// How unlike the sample of a key is, whose strokes may be of another size: 0 alike.
    pub(super) fn unlike(&self, other: &Self) -> f64 {
        let ink: f64 = (0..3).map(|part| f64::from(self.ink[part].abs_diff(other.ink[part]))).sum();
        let broken = |look: &Self| look.dash.iter().filter(|&&part| part > 0).count() as f64;
        let ratio = |look: &Self| f64::from(look.dash[0]) / f64::from(look.width.max(1));
        let dash =
            (broken(self) - broken(other)).abs() * 60.0 + (ratio(self) - ratio(other)).abs().min(20.0) * 4.0;
        let width = (f64::from(self.width) / f64::from(other.width.max(1))).max(0.05).ln().abs() * 10.0;
        ink + dash + width
    }

    /// Whether both are one thread's, drawn on pages whose squares differ a little.
    fn is_near(&self, other: &Self) -> bool {
        let near = |one: i32, other: i32| (one - other).abs() <= 2 + one.max(other) / 12;
        self.ink == other.ink
            && near(self.width, other.width)
            && (0..4).all(|part| near(self.dash[part], other.dash[part]))
    }
}

/// Lines of one look: pieces from hole to hole, in half squares.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sewn {
    pub(super) look: Look,
    /// In half squares from the top left of the chart.
    pub(super) pieces: Vec<[[i32; 2]; 2]>,
    /// Pieces whose ends are on no hole.
    pub(super) loose: usize,
    /// Whether most pieces are two strokes side by side.
    pub(super) is_double: bool,
}

/// A piece of a stroke in squares of the chart.
#[derive(Debug, Clone, Copy)]
struct Piece {
    ends: [[f64; 2]; 2],
}

/// A page, what is drawn on it, and where it lies on the chart.
pub(super) struct Sheet<'s> {
    pub(super) drawn: &'s Drawn,
    pub(super) squares: &'s Squares,
    pub(super) at: [i32; 2],
}

/// How far a line may be drawn beside its holes, in squares: lines that share holes are drawn side by side.
const ASIDE: f64 = 0.31;

/// The most looks that strokes of a chart have: more are drawings.
const MOST_LOOKS: usize = 400;

/// The most pairs of a stroke that was cut and a whole one that are compared.
const MOST_PAIRS: usize = 50_000_000;

/// Squares with part stitches that show a diagonal, by column and row, and whether it falls to the right.
pub(super) type Diagonals = Vec<([usize; 2], bool)>;

/// The lines of the chart, and the diagonals of squares with part stitches, which are none.
///
/// A stroke from edge to edge is backstitch only if the key has its look, or other strokes of its look are.
pub(super) fn read(
    sheets: &[Sheet],
    samples: &[(Look, Entry)],
    parts: &BTreeSet<u32>,
) -> (Vec<Sewn>, Diagonals) {
    let mut looks: Vec<Look> = Vec::new();
    let mut diagonals = Diagonals::new();
    let mut pieces: Vec<Vec<Vec<Piece>>> = Vec::new();
    for (page, sheet) in sheets.iter().enumerate() {
        for item in &sheet.drawn.items {
            let Item::Line(line) = item else { continue };
            let grid = &sheet.squares.grid;
            let places: Vec<[f64; 2]> = line.points.iter().map(|&point| grid.place(point)).collect();
            let near = |[x, y]: [f64; 2]| {
                (-0.7..f64::from(grid.count[0]) + 0.7).contains(&x)
                    && (-0.7..f64::from(grid.count[1]) + 0.7).contains(&y)
            };
            if !places.iter().any(|&place| near(place)) && line.cut.is_none() {
                continue;
            }
            if line.cut.is_none() && !places.iter().all(|&place| near(place)) {
                // A frame or a heading's rule.
                continue;
            }
            if let [one, other] = places[..]
                && let Some((symbol, square, falls)) = diagonal(sheet.squares, one, other)
                && parts.contains(&symbol)
            {
                let at = |axis: usize| square[axis] + usize::try_from(sheet.at[axis]).unwrap_or(0);
                diagonals.push(([at(0), at(1)], falls));
                continue;
            }
            let look = Look::of(line, grid.cell[0]);
            let at = match looks.iter().position(|known| known.is_near(&look)) {
                Some(at) => at,
                None if looks.len() == MOST_LOOKS => continue,
                None => {
                    looks.push(look);
                    pieces.push(vec![Vec::new(); sheets.len()]);
                    looks.len() - 1
                }
            };
            let moved = |[x, y]: [f64; 2]| [x + f64::from(sheet.at[0]), y + f64::from(sheet.at[1])];
            pieces[at][page]
                .extend(places.windows(2).map(|pair| Piece { ends: [moved(pair[0]), moved(pair[1])] }));
        }
    }
    let end = |axis: usize| {
        let ends =
            sheets.iter().map(|sheet| f64::from(sheet.at[axis]) + f64::from(sheet.squares.grid.count[axis]));
        ends.fold(0.0, f64::max)
    };
    let size = [end(0), end(1)];
    let mut sewn: Vec<(Look, Vec<Vec<Piece>>)> = looks
        .into_iter()
        .zip(pieces)
        .filter_map(|(look, pieces)| {
            let is_sampled = samples.iter().any(|(sample, _)| sample.unlike(&look) < SAMPLED);
            Some((look, without_rules(pieces, size, is_sampled)?))
        })
        .collect();
    without_casings(&mut sewn);
    let sewn = sewn
        .into_iter()
        .map(|(look, pieces)| together(look, pieces))
        .filter(|sewn| !sewn.pieces.is_empty())
        .collect();
    (sewn, diagonals)
}

/// How unlike a stroke may be of the sample in the key that is its own: keys draw them in another size.
const SAMPLED: f64 = 14.0;

/// The square whose diagonal runs between two places: its symbol, its column and row, and whether it falls to the right.
fn diagonal(squares: &Squares, one: [f64; 2], other: [f64; 2]) -> Option<(u32, [usize; 2], bool)> {
    let is_hole = |[x, y]: [f64; 2]| (x - x.round()).abs() < 0.12 && (y - y.round()).abs() < 0.12;
    let steps = [0, 1].map(|axis| (other[axis].round() - one[axis].round()) as i32);
    if !is_hole(one) || !is_hole(other) || steps.iter().any(|step| step.abs() != 1) {
        return None;
    }
    let middle = [0, 1].map(|axis| (one[axis] + other[axis]) / 2.0);
    let grid = &squares.grid;
    let is_in = (0..2).all(|axis| middle[axis] > 0.0 && middle[axis] < f64::from(grid.count[axis]));
    #[allow(clippy::cast_sign_loss, reason = "not negative")]
    let [column, row] = is_in.then_some(middle.map(|at| at as usize))?;
    let symbol = squares.squares.get(row * grid.count[0] as usize + column)?.symbol?;
    Some((symbol, [column, row], steps[0] == steps[1]))
}

/// The axis along which a piece does not change, and where on it it lies, in eighths of a square.
fn upright(piece: &Piece) -> Option<(usize, i64)> {
    let [a, b] = piece.ends;
    (0..2).find(|&axis| (a[axis] - b[axis]).abs() < 0.02).map(|axis| (axis, (a[axis] * 8.0).round() as i64))
}

/// Strokes without the rules of the grid: those that run all across the chart, page after page; nothing is left where
/// the rest are rules too, drawn only where squares are worked.
fn without_rules(mut pieces: Vec<Vec<Piece>>, size: [f64; 2], is_sampled: bool) -> Option<Vec<Vec<Piece>>> {
    let mut spans: BTreeMap<(usize, i64), Vec<[f64; 2]>> = BTreeMap::new();
    let (mut upright_length, mut all) = (0.0, 0.0);
    for piece in pieces.iter().flatten() {
        let [a, b] = piece.ends;
        let length = libm::hypot(b[0] - a[0], b[1] - a[1]);
        all += length;
        if let Some((axis, place)) = upright(piece) {
            upright_length += length;
            let [from, to] = [a[1 - axis].min(b[1 - axis]), a[1 - axis].max(b[1 - axis])];
            spans.entry((axis, place)).or_default().push([from, to]);
        }
    }
    // Rules may be drawn as dashes: a square's side counts as whole that is drawn in good part.
    let covered: BTreeMap<(usize, i64), f64> = spans
        .into_iter()
        .map(|((axis, place), spans)| ((axis, place), touched(spans, size[1 - axis])))
        .collect();
    let whole = |(axis, _): (usize, i64)| size[1 - axis].max(1.0);
    let is_rule = |key: (usize, i64)| covered.get(&key).is_some_and(|covered| *covered > 0.97 * whole(key));
    // Weighed by its own length: a rule counts as much as all the stitches that it is as long as.
    let sum: f64 = covered.values().sum();
    let weighed: f64 = covered.iter().map(|(&key, covered)| covered * covered / whole(key)).sum();
    let many = covered.len() as f64 > (0.08 * (size[0] + size[1])).max(5.0);
    if all == 0.0 || upright_length > 0.97 * all && many && weighed > 0.72 * sum {
        return None;
    }
    // A few lines from edge to edge are a frame, unless others of their look, or the key, say that they are stitches.
    let whole_lines = covered.keys().filter(|&&key| is_rule(key));
    let each = [0, 1].map(|axis| whole_lines.clone().filter(|key| key.0 == axis).count());
    let of_rules: f64 = covered.iter().filter(|(key, _)| is_rule(**key)).map(|(_, covered)| covered).sum();
    let rest = sum - of_rules + (all - upright_length);
    let is_stitched = is_sampled || rest > (0.05 * of_rules).max(3.0);
    // Lines through the middle of the design show it, and are not stitched.
    let is_middle = |(axis, place): (usize, i64)| (place as f64 / 8.0 - size[axis] / 2.0).abs() <= 0.5;
    let is_free = covered.keys().any(|&key| is_rule(key) && !is_middle(key));
    if each[0] <= 2 && each[1] <= 2 && is_stitched && is_free {
        return Some(pieces);
    }
    for page in &mut pieces {
        page.retain(|piece| !upright(piece).is_some_and(is_rule));
    }
    Some(pieces)
}

/// How many sides of squares between 0 and the end are drawn for a quarter or more.
fn touched(mut spans: Vec<[f64; 2]>, end: f64) -> f64 {
    spans.sort_by(|one, other| one[0].total_cmp(&other[0]));
    #[allow(clippy::cast_sign_loss, reason = "a chart's side")]
    let mut sides = vec![0.0_f64; end.ceil().clamp(0.0, 2000.0) as usize];
    let mut reached = 0.0_f64;
    for [from, to] in spans {
        let (from, to) = (from.max(reached), to.min(sides.len() as f64));
        if to <= from {
            continue;
        }
        reached = to;
        #[allow(clippy::cast_sign_loss, reason = "not negative")]
        for side in from as usize..to.ceil() as usize {
            sides[side] += to.min(side as f64 + 1.0) - from.max(side as f64);
        }
    }
    sides.into_iter().filter(|&drawn| drawn >= 0.25).count() as f64
}

/// Takes out the pale ground that lines are drawn on: wider strokes of the same way, drawn before.
fn without_casings(sewn: &mut Vec<(Look, Vec<Vec<Piece>>)>) {
    let way = |pieces: &[Vec<Piece>]| -> BTreeSet<(usize, [[i64; 2]; 2])> {
        let of = |page: usize, piece: &Piece| {
            (page, piece.ends.map(|end| end.map(|at| (at * 2.0).round() as i64)))
        };
        pieces
            .iter()
            .enumerate()
            .flat_map(|(page, all)| all.iter().map(move |piece| of(page, piece)))
            .collect()
    };
    let ways: Vec<_> = sewn.iter().map(|(_, pieces)| way(pieces)).collect();
    let is_pale = |look: &Look| look.ink.iter().all(|&part| part > 215);
    let is_casing = |at: usize| {
        let (look, _) = &sewn[at];
        let narrower: BTreeSet<_> = (0..sewn.len())
            .filter(|&other| other != at && sewn[other].0.width < look.width)
            .flat_map(|other| ways[other].iter())
            .collect();
        let shared = ways[at].iter().filter(|way| narrower.contains(way)).count();
        is_pale(look) && shared * 10 > ways[at].len() * 8
    };
    let casings: Vec<bool> = (0..sewn.len()).map(is_casing).collect();
    let mut at = 0;
    sewn.retain(|_| {
        at += 1;
        !casings[at - 1]
    });
}

/// The hole nearest to a place, in half squares, and how far it is; holes in the middle of sides and squares count where a
/// place is very near to them.
fn hole([x, y]: [f64; 2]) -> Option<[i32; 2]> {
    let off = |at: f64| (at - at.round()).abs();
    if off(x) < ASIDE && off(y) < ASIDE {
        return Some([x, y].map(|at| at.round() as i32 * 2));
    }
    let half = |at: f64| (at * 2.0 - (at * 2.0).round()).abs() < 0.16;
    (half(x) && half(y)).then(|| [x, y].map(|at| (at * 2.0).round() as i32))
}

/// Puts the pieces of all pages together: each once, those cut at the edge of a page made whole.
fn together(look: Look, pages: Vec<Vec<Piece>>) -> Sewn {
    let mut whole: BTreeMap<[[i32; 2]; 2], usize> = BTreeMap::new();
    let mut first: Vec<[[i32; 2]; 2]> = Vec::new();
    let (mut cut, mut twice): (Vec<Piece>, usize) = (Vec::new(), 0);
    for (page, pieces) in pages.into_iter().enumerate() {
        for piece in pieces {
            match piece.ends.map(hole) {
                [Some(from), Some(to)] if from != to => {
                    let key = if from <= to { [from, to] } else { [to, from] };
                    match whole.get(&key) {
                        None => {
                            whole.insert(key, page);
                            first.push([from, to]);
                        }
                        Some(&known) if known == page => twice += 1,
                        Some(_) => {}
                    }
                }
                [Some(_), Some(_)] => {}
                _ => cut.push(piece),
            }
        }
    }
    let is_double = first.len() > 1 && twice * 10 > first.len() * 6;
    let mut loose = 0;
    // As many as files from elsewhere like.
    let most = MOST_PAIRS / whole.len().max(1);
    if cut.len() > most {
        loose += cut.len() - most;
        cut.truncate(most);
    }
    for piece in joined(cut) {
        let lies = |ends: &[[i32; 2]; 2]| {
            let [a, b] = ends.map(|end| end.map(|at| f64::from(at) / 2.0));
            piece.ends.iter().all(|&end| off_line(a, b, end) < ASIDE)
        };
        if whole.keys().any(lies) {
            continue;
        }
        let ends = piece.ends.map(|[x, y]| [x, y].map(|at| at.round()));
        let off = (0..2).map(|end| {
            (0..2).map(|axis| (ends[end][axis] - piece.ends[end][axis]).abs()).fold(0.0, f64::max)
        });
        let ends = ends.map(|end| end.map(|at| at as i32 * 2));
        if off.fold(0.0, f64::max) < 0.46 && ends[0] != ends[1] {
            let key = if ends[0] <= ends[1] { ends } else { [ends[1], ends[0]] };
            if whole.insert(key, usize::MAX).is_none() {
                first.push(ends);
            }
        } else {
            loose += 1;
        }
    }
    Sewn { look, pieces: first, loose, is_double }
}

/// How far a point is from a stretch.
fn off_line(a: [f64; 2], b: [f64; 2], point: [f64; 2]) -> f64 {
    let [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    let length = (dx * dx + dy * dy).max(1e-12);
    let along = (((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / length).clamp(0.0, 1.0);
    libm::hypot(a[0] + along * dx - point[0], a[1] + along * dy - point[1])
}

/// Joins pieces of one straight line that meet, overlap, or leave the gap of a dash.
fn joined(mut pieces: Vec<Piece>) -> Vec<Piece> {
    const GAP: f64 = 0.65;
    let direct = |piece: &mut Piece| {
        if piece.ends[0] > piece.ends[1] {
            piece.ends.reverse();
        }
    };
    pieces.iter_mut().for_each(direct);
    pieces.sort_by(|one, other| {
        one.ends[0][0].total_cmp(&other.ends[0][0]).then(one.ends[0][1].total_cmp(&other.ends[0][1]))
    });
    let mut done: Vec<Piece> = Vec::new();
    for piece in pieces {
        let continues = |known: &&mut Piece| {
            let [a, b] = known.ends;
            let [c, d] = piece.ends;
            let (long, short) =
                (libm::hypot(b[0] - a[0], b[1] - a[1]), libm::hypot(d[0] - c[0], d[1] - c[1]));
            if long < 1e-6 || short < 1e-6 {
                return false;
            }
            let cross = ((b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])) / (long * short);
            let along = |p: [f64; 2]| ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / long;
            let off =
                |p: [f64; 2]| ((p[0] - a[0]) * (b[1] - a[1]) - (p[1] - a[1]) * (b[0] - a[0])).abs() / long;
            cross.abs() < 0.03 && off(c) < 0.08 && off(d) < 0.08 && along(c) <= long + GAP && along(d) >= -GAP
        };
        match done.iter_mut().rev().take(400).find(continues) {
            Some(known) => {
                if piece.ends[1] > known.ends[1] {
                    known.ends[1] = piece.ends[1];
                }
            }
            None => done.push(piece),
        }
    }
    done
}
