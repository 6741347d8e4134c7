//! Where the squares of a chart lie on a page: from its rules, from dots at the corners of squares, or from the lattice in
//! which symbols and fills stand.
//!
//! Owns the grid of one page. Leaves to `squares` what stands in it and to `rulers` which part of the chart it is.

use std::collections::BTreeMap;

use super::words::words;
use crate::reading::drawing::{Area, Drawn, Item};

/// The grid of a page, in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Grid {
    /// Its left and top edge.
    pub(super) at: [f64; 2],
    /// The width and height of a square.
    pub(super) cell: [f64; 2],
    /// Columns and rows.
    pub(super) count: [u32; 2],
}

/// Squares smaller than this cannot be read by anybody, in points: half a millimetre.
const SMALLEST: f64 = 1.4;

/// Squares larger than this are no chart's: 3 cm.
const LARGEST: f64 = 86.0;

/// The fewest columns and rows of a grid. Plans of pages and boxes of swatches have fewer.
const FEWEST: u32 = 4;

/// The most columns or rows of a page, and its most squares: those of the smallest squares on the largest paper.
const MOST: u32 = 2000;
const MOST_SQUARES: usize = 1_000_000;

/// How far rules may be off their places, in squares.
const OFF: f64 = 0.06;

impl Grid {
    /// A place on the page in squares from the top left.
    pub(super) fn place(&self, [x, y]: [f32; 2]) -> [f64; 2] {
        [(f64::from(x) - self.at[0]) / self.cell[0], (f64::from(y) - self.at[1]) / self.cell[1]]
    }

    /// The square in which a place lies.
    pub(super) fn square(&self, at: [f32; 2]) -> Option<[u32; 2]> {
        let [x, y] = self.place(at);
        let within = x >= 0.0 && y >= 0.0 && x < f64::from(self.count[0]) && y < f64::from(self.count[1]);
        #[allow(clippy::cast_sign_loss, reason = "not negative")]
        within.then_some([x as u32, y as u32])
    }

    /// The number of its squares.
    pub(super) fn squares(&self) -> usize {
        self.count[0] as usize * self.count[1] as usize
    }

    /// Whether its squares are square: cross stitch is worked on even cloth.
    pub(super) fn is_even(&self) -> bool {
        (0.87..1.15).contains(&(self.cell[0] / self.cell[1]))
    }
}

/// A straight upright or level line.
#[derive(Debug, Clone, Copy)]
struct Rule {
    at: f64,
    from: f64,
    to: f64,
}

/// Upright rules and level ones.
fn rules(drawn: &Drawn) -> [Vec<Rule>; 2] {
    let mut found = [Vec::new(), Vec::new()];
    let mut put = |axis: usize, at: f64, ends: [f64; 2], cut: Option<[f64; 4]>| {
        let [mut from, mut to] = [ends[0].min(ends[1]), ends[0].max(ends[1])];
        if let Some(cut) = cut {
            from = from.max(cut[1 - axis]);
            to = to.min(cut[3 - axis]);
            if at < cut[axis] - 0.5 || at > cut[axis + 2] + 0.5 {
                return;
            }
        }
        if to - from > SMALLEST {
            found[axis].push(Rule { at, from, to });
        }
    };
    for item in &drawn.items {
        match item {
            Item::Line(line) => {
                let cut = line.cut.map(|cut| cut.map(f64::from));
                for pair in line.points.windows(2) {
                    let [a, b] = [pair[0].map(f64::from), pair[1].map(f64::from)];
                    for axis in 0..2 {
                        if (a[axis] - b[axis]).abs() < 0.04 {
                            put(axis, (a[axis] + b[axis]) / 2.0, [a[1 - axis], b[1 - axis]], cut);
                        }
                    }
                }
            }
            Item::Fill(fill) => {
                let [x0, y0, x1, y1] = fill.area.map(f64::from);
                if is_rule(fill.area) {
                    let axis = usize::from(x1 - x0 > y1 - y0);
                    let middle = [(x0 + x1) / 2.0, (y0 + y1) / 2.0][axis];
                    put(axis, middle, if axis == 0 { [y0, y1] } else { [x0, x1] }, None);
                }
            }
            Item::Sign(_) => {}
        }
    }
    found
}

/// Whether a filled rectangle is so thin that it is a rule.
pub(super) fn is_rule([x0, y0, x1, y1]: Area) -> bool {
    let (short, long) = ((x1 - x0).min(y1 - y0), (x1 - x0).max(y1 - y0));
    short <= 3.0 && long >= 6.0 * short
}

/// Edges of fills, as rules: squares of colour show the grid where no rules do.
fn edges(drawn: &Drawn) -> [Vec<Rule>; 2] {
    let mut found = [Vec::new(), Vec::new()];
    for fill in drawn.fills() {
        let [x0, y0, x1, y1] = fill.area.map(f64::from);
        if is_rule(fill.area) || x1 - x0 < SMALLEST || y1 - y0 < SMALLEST {
            continue;
        }
        for (axis, at, from, to) in [(0, x0, y0, y1), (0, x1, y0, y1), (1, y0, x0, x1), (1, y1, x0, x1)] {
            found[axis].push(Rule { at, from, to });
        }
    }
    found
}

/// Places of rules, each with the length of rules there.
fn gathered(rules: &[Rule]) -> Vec<(f64, f64)> {
    let mut sorted: Vec<(f64, f64)> = rules.iter().map(|rule| (rule.at, rule.to - rule.from)).collect();
    sorted.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut places: Vec<(f64, f64)> = Vec::new();
    for (at, length) in sorted {
        match places.last_mut() {
            Some((place, sum)) if at - *place < 0.25 => {
                *place = (*place * *sum + at * length) / (*sum + length);
                *sum += length;
            }
            _ => places.push((at, length)),
        }
    }
    places
}

/// The step that most neighbours among sorted differences have.
fn commonest(mut steps: Vec<f64>) -> Option<(f64, usize)> {
    steps.retain(|step| (SMALLEST..=LARGEST).contains(step));
    steps.sort_by(f64::total_cmp);
    let mut best: Option<(f64, usize)> = None;
    let mut end = 0;
    for start in 0..steps.len() {
        while end < steps.len() && steps[end] <= steps[start] * 1.02 + 0.02 {
            end += 1;
        }
        if best.is_none_or(|(_, count)| end - start > count) {
            let mean = steps[start..end].iter().sum::<f64>() / (end - start) as f64;
            best = Some((mean, end - start));
        }
    }
    best
}

/// An even run of places.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Run {
    start: f64,
    step: f64,
    count: u32,
}

/// The longest even run among places.
fn run(places: &[(f64, f64)], step: Option<f64>) -> Option<Run> {
    let most = places.iter().map(|place| place.1).fold(0.0, f64::max);
    // Short strokes are not rules: outlines and underlines.
    let strong: Vec<f64> = places.iter().filter(|place| place.1 > most * 0.2).map(|place| place.0).collect();
    let steps = strong.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let step = match step {
        Some(step) => step,
        None => commonest(steps)?.0,
    };
    let near = |at: f64| {
        let place = strong.partition_point(|&other| other < at - OFF * step);
        strong.get(place).copied().filter(|&found| found <= at + OFF * step)
    };
    let mut best: Option<Run> = None;
    let mut used = vec![false; strong.len()];
    for (first, &start) in strong.iter().enumerate() {
        if used[first] {
            continue;
        }
        let (mut last, mut count) = (start, 0_u32);
        while let Some(next) = near(last + step) {
            last = next;
            count += 1;
            if let Ok(place) = strong.binary_search_by(|other| other.total_cmp(&next)) {
                used[place] = true;
            }
        }
        if count > 0 && best.is_none_or(|best| count > best.count) {
            best = Some(Run { start, step: (last - start) / f64::from(count), count });
        }
    }
    best
}

/// Something small that may be a symbol, a part of one or a dot: what it looks like, and where its middle is.
struct Spot {
    look: (u32, u32),
    at: [f64; 2],
    side: f64,
    /// Whether it is so thin that it may be a rule.
    thin: bool,
}

fn spots(drawn: &Drawn, shapes: &[u32]) -> Vec<Spot> {
    let mut spots = Vec::new();
    for item in &drawn.items {
        match item {
            Item::Sign(sign) => {
                let side = f64::from(sign.size[0].max(sign.size[1]));
                // Of one outline, in half points of size.
                let look = (shapes[sign.shape as usize], (side * 2.0).round() as u32);
                spots.push(Spot { look, at: sign.at.map(f64::from), side, thin: false });
            }
            Item::Fill(fill) => {
                let [x0, y0, x1, y1] = fill.area.map(f64::from);
                if (x1 - x0).max(y1 - y0) < LARGEST {
                    let look = (u32::MAX, ((x1 - x0) * 8.0) as u32 * 4096 + ((y1 - y0) * 8.0) as u32);
                    spots.push(Spot {
                        look,
                        at: [(x0 + x1) / 2.0, (y0 + y1) / 2.0],
                        side: (x1 - x0).max(y1 - y0),
                        thin: is_rule(fill.area),
                    });
                }
            }
            Item::Line(line) if line.points.len() < 12 => {
                let span = |axis: usize| {
                    let along = line.points.iter().map(|point| f64::from(point[axis]));
                    [along.clone().fold(f64::MAX, f64::min), along.fold(f64::MIN, f64::max)]
                };
                let [x, y] = [span(0), span(1)];
                let side = (x[1] - x[0]).max(y[1] - y[0]);
                if side < LARGEST {
                    let look = (
                        u32::MAX - line.points.len() as u32,
                        ((x[1] - x[0]) * 8.0) as u32 * 4096 + ((y[1] - y[0]) * 8.0) as u32,
                    );
                    let thin = (x[1] - x[0]).min(y[1] - y[0]) < 0.05;
                    spots.push(Spot { look, at: [(x[0] + x[1]) / 2.0, (y[0] + y[1]) / 2.0], side, thin });
                }
            }
            Item::Line(_) => {}
        }
    }
    spots
}

/// Spots by what they look like.
type Looks<'s> = BTreeMap<(u32, u32), Vec<&'s Spot>>;

fn by_look(spots: &[Spot]) -> Looks<'_> {
    let mut looks: Looks = BTreeMap::new();
    for spot in spots {
        looks.entry(spot.look).or_default().push(spot);
    }
    looks.retain(|_, spots| spots.len() > 2);
    looks
}

/// The step of the lattice in which equal spots stand, along an axis.
fn lattice_step(looks: &Looks, axis: usize) -> Option<f64> {
    let mut steps = Vec::new();
    for spots in looks.values() {
        let mut along: Vec<f64> = spots.iter().map(|spot| spot.at[axis]).collect();
        along.sort_by(f64::total_cmp);
        along.dedup_by(|one, other| (*one - *other).abs() < 0.3);
        steps.extend(along.windows(2).map(|pair| pair[1] - pair[0]));
    }
    let (step, count) = commonest(steps)?;
    (count >= 8).then_some(step)
}

/// The mean of places on a circle of this length, and how well they agree: 1 all in one place.
fn phase(places: impl Iterator<Item = f64>, step: f64) -> (f64, f64) {
    let (mut x, mut y, mut count) = (0.0, 0.0, 0.0_f64);
    for at in places {
        let angle = at / step * std::f64::consts::TAU;
        x += libm::cos(angle);
        y += libm::sin(angle);
        count += 1.0;
    }
    let mean = libm::atan2(y, x) / std::f64::consts::TAU * step;
    (mean.rem_euclid(step), libm::hypot(x, y) / count.max(1.0))
}

/// What a grid is sought on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum On {
    Page,
    /// What other grids leave of one.
    Rest,
}

/// The most grids of one page.
const MOST_GRIDS: usize = 6;

/// The grids of a page: where there are several, they have equal squares.
pub(super) fn find_all(drawn: &Drawn, shapes: &[u32]) -> Vec<Grid> {
    let mut found: Vec<Grid> = Vec::new();
    let mut rest: Option<Drawn> = None;
    while found.len() < MOST_GRIDS {
        let page = rest.as_ref().unwrap_or(drawn);
        let Some(whole) = find(page, shapes, if rest.is_some() { On::Rest } else { On::Page }) else { break };
        let like = |first: &Grid| (0..2).all(|axis| (whole.cell[axis] / first.cell[axis] - 1.0).abs() < 0.03);
        if !found.first().is_none_or(like) {
            break;
        }
        found.push(without_numbers(&whole, page));
        let left: Vec<Item> = page.items.iter().filter(|item| !is_over(&whole, item)).cloned().collect();
        // Another grid takes more than a few numbers.
        if left.len() < 60 {
            break;
        }
        rest = Some(Drawn { size: drawn.size, items: left, ..Drawn::default() });
    }
    found
}

/// Whether something is drawn on a grid and nowhere else.
fn is_over(grid: &Grid, item: &Item) -> bool {
    let on = |at: [f32; 2]| {
        let [x, y] = grid.place(at);
        (-0.3..=f64::from(grid.count[0]) + 0.3).contains(&x)
            && (-0.3..=f64::from(grid.count[1]) + 0.3).contains(&y)
    };
    match item {
        Item::Sign(sign) => on(sign.at),
        Item::Fill(fill) => on([fill.area[0], fill.area[1]]) && on([fill.area[2], fill.area[3]]),
        Item::Line(line) => line.points.iter().all(|&point| on(point)),
    }
}

/// A grid without rows and columns at its edges that hold the numbers of the others: tables print them so.
fn without_numbers(whole: &Grid, drawn: &Drawn) -> Grid {
    let all = words(drawn, |sign| whole.square(sign.at).is_some());
    // By row and by column: the numbers, each less its place, and whether something else stands there.
    let is_ruler = |axis: usize, line: u32| {
        let (mut offs, mut others): (BTreeMap<i64, usize>, usize) = (BTreeMap::new(), 0);
        for word in &all {
            let Some(square) = whole.square(word.middle()) else { continue };
            if square[axis] != line {
                continue;
            }
            match word.number() {
                Some(number) => {
                    *offs.entry(i64::from(number) - i64::from(square[1 - axis])).or_default() += 1
                }
                None => others += 1,
            }
        }
        let numbers: usize = offs.values().sum();
        let agreed = offs.values().max().copied().unwrap_or(0);
        agreed >= 3 && agreed * 10 >= (numbers + others) * 9
    };
    let mut grid = *whole;
    for axis in 0..2 {
        let last = whole.count[axis] - 1;
        if whole.count[axis] > FEWEST && is_ruler(axis, last) {
            grid.count[axis] -= 1;
        }
        if grid.count[axis] > FEWEST && is_ruler(axis, 0) {
            grid.count[axis] -= 1;
            grid.at[axis] += grid.cell[axis];
        }
    }
    grid
}

/// The grid of a page, if it shows one. `shapes` are the places of the page's shapes in the book: writers round, so that
/// a page has one outline as several.
fn find(drawn: &Drawn, shapes: &[u32], on: On) -> Option<Grid> {
    let spots = spots(drawn, shapes);
    let looks = by_look(&spots);
    let ruled = of_rules(&rules(drawn), &looks);
    let unruled = || [of_rules(&edges(drawn), &looks), of_spots(&looks)];
    // Beside another grid, only rules make one: the key's boxes may be as large as squares.
    let others = if on == On::Rest { [None; 2] } else { unruled() };
    // Fewer large squares of rules may be boxes round smaller squares: what stands in them says so.
    std::iter::once(ruled)
        .chain(others)
        .flatten()
        .filter(|grid| grid.count.iter().all(|&count| (FEWEST..=MOST).contains(&count)))
        .filter(|grid| grid.squares() <= MOST_SQUARES)
        .find(|grid| is_likely(grid, &spots))
}

/// The grid of a page that shows a narrow rest of a chart, or bare cloth alone: ruled as the chart's other pages are, from
/// the same corner.
pub(super) fn find_like(drawn: &Drawn, like: &[Grid]) -> Option<Grid> {
    let first = like.first()?;
    [rules(drawn), edges(drawn)].into_iter().find_map(|rules| {
        let places = [0, 1].map(|axis| gathered(&rules[axis]));
        let mut grid = *first;
        for axis in 0..2 {
            let run = run(&places[axis], Some(first.cell[axis]))?;
            (grid.at[axis], grid.cell[axis], grid.count[axis]) = (run.start, run.step, run.count);
        }
        let is_there = |other: &Grid| {
            (0..2).all(|axis| {
                (grid.at[axis] - other.at[axis]).abs() < 0.3 * other.cell[axis]
                    && (grid.cell[axis] / other.cell[axis] - 1.0).abs() < 0.02
                    && grid.count[axis] <= other.count[axis]
            })
        };
        (like.iter().any(is_there) && grid.squares() <= MOST_SQUARES).then_some(grid)
    })
}

/// From rules or edges; where rules stand only at the tens, the step of what is in them says how many squares lie between.
fn of_rules(rules: &[Vec<Rule>; 2], looks: &Looks) -> Option<Grid> {
    let places = [gathered(&rules[0]), gathered(&rules[1])];
    let mut grid = Grid { at: [0.0; 2], cell: [0.0; 2], count: [0; 2] };
    for (axis, places) in places.iter().enumerate() {
        let run = run(places, None)?;
        let (mut step, mut count) = (run.step, run.count);
        if let Some(inner) = lattice_step(looks, axis) {
            let parts = (step / inner).round();
            if parts >= 2.0 && (step / inner - parts).abs() < 0.08 {
                step /= parts;
                #[allow(clippy::cast_sign_loss, reason = "positive")]
                let parts = parts as u32;
                count = count.saturating_mul(parts);
            }
        }
        grid.at[axis] = run.start;
        grid.cell[axis] = step;
        grid.count[axis] = count;
    }
    // Rules at the tens end at the tens: what lies beyond, up to a rule that closes the chart, belongs to it.
    for (axis, places) in places.iter().enumerate() {
        let end = grid.at[axis] + grid.cell[axis] * f64::from(grid.count[axis]);
        let most = places.iter().map(|place| place.1).fold(0.0, f64::max);
        let strong = places.iter().filter(|place| place.1 > most * 0.5);
        let (mut before, mut after) = (0.0_f64, 0.0_f64);
        for (at, _) in strong {
            let whole = |away: f64| {
                let cells = away / grid.cell[axis];
                (cells > 0.5 && cells < 9.5 && (cells - cells.round()).abs() < OFF).then_some(cells.round())
            };
            before = before.max(whole(grid.at[axis] - at).unwrap_or(0.0));
            after = after.max(whole(at - end).unwrap_or(0.0));
        }
        if is_coarse(places, grid.cell[axis]) {
            #[allow(clippy::cast_sign_loss, reason = "not negative")]
            let more = (before + after) as u32;
            grid.at[axis] -= before * grid.cell[axis];
            grid.count[axis] += more;
        }
    }
    Some(grid)
}

/// Whether rules stand further apart than squares are wide.
fn is_coarse(places: &[(f64, f64)], cell: f64) -> bool {
    let near = places.windows(2).filter(|pair| (pair[1].0 - pair[0].0) < cell * 1.5).count();
    near * 3 < places.len()
}

/// From dots at the corners of squares, else from the symbols or fills themselves.
fn of_spots(looks: &Looks) -> Option<Grid> {
    let step = [lattice_step(looks, 0)?, lattice_step(looks, 1)?];
    let dots = looks.values().find(|spots| is_dots(spots, step, looks));
    let mut grid = Grid { at: [0.0; 2], cell: step, count: [0; 2] };
    for axis in 0..2 {
        let step = step[axis];
        let chosen: Vec<f64> = match dots {
            Some(dots) => dots.iter().map(|spot| spot.at[axis]).collect(),
            None => {
                let held = |spots: &&Vec<&Spot>| {
                    phase(spots.iter().map(|spot| spot.at[axis]), step).1 > 0.9
                        && spots.iter().all(|spot| spot.side < 1.3 * step && !spot.thin)
                };
                looks.values().filter(held).flatten().map(|spot| spot.at[axis]).collect()
            }
        };
        let (mean, agreed) = phase(chosen.iter().copied(), step);
        if agreed < 0.6 || chosen.len() < 12 {
            return None;
        }
        // Only what stands in an unbroken row: a number apart from the chart is none of its symbols.
        let mut taken: Vec<i64> = chosen.iter().map(|at| ((at - mean) / step).round() as i64).collect();
        taken.sort_unstable();
        taken.dedup();
        let [first, last] = longest(&taken)?;
        // Steps are refined over the whole length.
        let edge = if dots.is_some() { 0.0 } else { 0.5 };
        grid.at[axis] = mean + (first as f64 - edge) * step;
        grid.count[axis] = u32::try_from(last - first).ok()? + u32::from(dots.is_none());
    }
    Some(grid)
}

/// The first and last of the longest row of numbers with gaps of at most three.
fn longest(numbers: &[i64]) -> Option<[i64; 2]> {
    let mut best: Option<[i64; 2]> = None;
    let mut start = *numbers.first()?;
    for (at, &number) in numbers.iter().enumerate() {
        let is_end = numbers.get(at + 1).is_none_or(|next| next - number > 3);
        if is_end {
            if best.is_none_or(|[first, last]| number - start > last - first) {
                best = Some([start, number]);
            }
            start = numbers.get(at + 1).copied().unwrap_or(number);
        }
    }
    best
}

/// Whether these are dots at the corners of squares: small, nearly everywhere, and between where all else stands.
fn is_dots(spots: &[&Spot], step: [f64; 2], looks: &Looks) -> bool {
    let small = spots.iter().all(|spot| spot.side < 0.35 * step[0].min(step[1]));
    if !small || spots.len() < 25 {
        return false;
    }
    let area: f64 = (0..2)
        .map(|axis| {
            let along = spots.iter().map(|spot| spot.at[axis]);
            let (low, high) = (along.clone().fold(f64::MAX, f64::min), along.fold(f64::MIN, f64::max));
            ((high - low) / step[axis]).round() + 1.0
        })
        .product();
    let own = [0, 1].map(|axis| phase(spots.iter().map(|spot| spot.at[axis]), step[axis]).0);
    let others: Vec<&&Spot> = looks
        .values()
        .filter(|other| other[0].look != spots[0].look && other[0].side < 1.3 * step[0])
        .flatten()
        .collect();
    let apart = [0, 1].iter().all(|&axis| {
        let (other, _) = phase(others.iter().map(|spot| spot.at[axis]), step[axis]);
        let away = ((other - own[axis]) / step[axis]).rem_euclid(1.0);
        (0.25..0.75).contains(&away)
    });
    spots.len() as f64 > 0.85 * area && apart
}

/// Whether squares hold what squares of charts hold: few things in each, in their middles, and the same again and again.
fn is_likely(grid: &Grid, spots: &[Spot]) -> bool {
    let (mut within, mut held, mut taken) = (0_usize, 0_usize, vec![0_u16; grid.squares()]);
    let mut looks: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for spot in spots {
        if spot.side > 1.3 * grid.cell[0] || spot.side < 0.02 * grid.cell[0] {
            continue;
        }
        let at = spot.at.map(|at| at as f32);
        let Some([column, row]) = grid.square(at) else { continue };
        let middle = grid.place(at).map(|at| (at.fract() - 0.5).abs());
        // Dots at corners, and pieces of rules.
        if middle[0] > 0.42 && middle[1] > 0.42 || spot.thin && (middle[0] > 0.36 || middle[1] > 0.36) {
            continue;
        }
        within += 1;
        if middle[0] < 0.36 && middle[1] < 0.36 {
            held += 1;
            let place = row as usize * grid.count[0] as usize + column as usize;
            taken[place] = taken[place].saturating_add(1);
            *looks.entry(spot.look).or_default() += 1;
        }
    }
    let filled = taken.iter().filter(|&&count| count > 0).count();
    let often = looks.values().filter(|&&count| count > 2).sum::<usize>();
    // Long rectangles of one colour over several squares are no spots: such pages have few.
    filled >= 9 && held * 10 >= within * 6 && often * 10 >= held * 6 && held <= filled * 6
}
