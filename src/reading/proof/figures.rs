//! What each needle's symbol looks like, taken from the printed key.
//!
//! `sheet` says about where the key's boxes stand; each is then found in the picture by its frame, so that a
//! page that lies askew or is a little large is read as well.

use image::GrayImage;

use super::lattice::Lattice;
use super::points::{ACROSS, Figure, POINTS, WINDOW, share};
use crate::printing::length::{Length, Point, mm};
use crate::printing::sheet::Area;
use crate::reading::picture::value;

/// Points across a box of the key: twice as many as it has pixels at 150 dots an inch.
const FINE: usize = 56;

/// The frame of a box with what runs and blurs from it, in points.
const FRAME: usize = 7;

/// Ink at each point of a box of the key, frame and all.
pub(super) type Fine = Vec<f32>;

/// A box of the key in levels.
pub(super) struct Boxed {
    figure: Fine,
    frame: f32,
}

/// Paper less value at each point of a cell, in levels; each point is the mean of as many values as its own size in pixels
/// asks.
pub(super) fn sampled(page: &GrayImage, paper: f32, lattice: &Lattice, [column, row]: [u32; 2]) -> Figure {
    let pitch = (WINDOW[1] - WINDOW[0]) / ACROSS as f64;
    #[allow(clippy::cast_sign_loss, reason = "at least 1")]
    let fine = ((lattice.side() * pitch / 1.3).ceil().max(1.0) as usize).min(6);
    // The shares of a side at which values are taken, `fine` for each point.
    let mut shares = [0.0; 6 * ACROSS];
    for (place, at) in shares.iter_mut().take(fine * ACROSS).enumerate() {
        *at = share(place / fine) + (((place % fine) as f64 + 0.5) / fine as f64 - 0.5) * pitch;
    }
    let shares = &shares[..fine * ACROSS];
    let [dx, dy] = lattice.right;
    let mut figure = [0.0; POINTS];
    for (down, points) in shares.chunks_exact(fine).zip(figure.chunks_exact_mut(ACROSS)) {
        for down in down {
            let [x, y] = lattice.at(f64::from(column), f64::from(row) + down);
            for (across, point) in shares.chunks_exact(fine).zip(points.iter_mut()) {
                for across in across {
                    *point += value(page, x + across * dx, y + across * dy);
                }
            }
        }
        points.iter_mut().for_each(|point| *point = paper - *point / (fine * fine) as f32);
    }
    figure
}

/// The mean ink along the frame of a box less that just inside and outside of it; `None` where it is not over `least`,
/// which the ink along the frame alone mostly says.
fn frame(page: &GrayImage, [x, y]: [f64; 2], side: f64, least: f64) -> Option<f64> {
    const STEPS: i32 = 12;
    // `None` where it cannot come to `least` any more, even if all that is left were full ink.
    let round = |off: f64, least: f64| {
        let (from, to) = (off, side - off);
        let mut sum = 0.0;
        for step in 0..STEPS {
            let along = from + (to - from) * (f64::from(step) + 0.5) / f64::from(STEPS);
            for [dx, dy] in [[along, from], [along, to], [from, along], [to, along]] {
                sum += 255.0 - f64::from(value(page, x + dx, y + dy));
            }
            let left = f64::from(STEPS - 1 - step) * 4.0 * 255.0;
            if sum + left < least * f64::from(STEPS * 4) {
                return None;
            }
        }
        Some(sum / f64::from(STEPS * 4))
    };
    let off = side * 0.055;
    let ink = round(0.0, least).filter(|&ink| ink > least)?;
    let clear = ink - 0.5 * (round(off, f64::MIN)? + round(-off, f64::MIN)?);
    (clear > least).then_some(clear)
}

/// A box that was found: its top left in pixels, its side, and how clear its frame is.
#[derive(Debug, Clone, Copy)]
struct Found {
    at: [f64; 2],
    side: f64,
    clear: f64,
}

/// The box nearest to where it should be, not further off than `reach` pixels. Where what stands there is nearly as clear as
/// the box before it, it is that, to a pixel.
fn find_box(page: &GrayImage, near: [f64; 2], side: f64, reach: f64, before: Option<f64>) -> Found {
    /// Half a pixel beside a frame, less than three quarters of its ink are seen.
    const NEARLY: f64 = 0.8;
    let mut best = Found { at: near, side, clear: f64::MIN };
    // Most boxes are where they should be; then all other places fall out early.
    if let Some(clear) = frame(page, near, side, best.clear) {
        best.clear = clear;
    }
    let is_there = before.is_some_and(|before| best.clear > NEARLY * before);
    let (mut middle, mut reach, mut step) =
        if is_there { (near, 1.0, 1.0 / 3.0) } else { (near, reach, 1.0) };
    while step > 0.1 {
        let steps = (reach / step).ceil() as i32;
        for down in -steps..=steps {
            for across in -steps..=steps {
                let at = [middle[0] + f64::from(across) * step, middle[1] + f64::from(down) * step];
                if let Some(clear) = frame(page, at, side, best.clear) {
                    best = Found { at, side, clear };
                }
            }
        }
        (middle, reach, step) = (best.at, step, step / 3.0);
    }
    best
}

/// The furthest that a box is looked for: half a degree over a page is 2.6, and half a row of
/// the key is 3.4.
const FIRST_REACH: Length = mm(3.2);

/// The furthest from where the box before it leads one to expect.
const NEXT_REACH: Length = mm(1.3);

/// From further away, a box says little of where the next is.
const FAR: Length = mm(40.0);

/// A frame fainter than this, in levels of 255, is none.
const FAINTEST: f64 = 12.0;

/// The figures of the boxes on a page of the key, in levels, and how clear the faintest frame is, in levels;
/// `None` where there are no such boxes.
pub(super) fn on_page(
    page: &GrayImage,
    paper: f32,
    areas: &[Area],
    per_mm: f64,
) -> Option<(Vec<Boxed>, f64)> {
    let mut found: Vec<Found> = Vec::new();
    let mut off = [0.0, 0.0];
    let pixels = |length: Length| length.to_mm() * per_mm;
    for area in areas {
        let far = areas[..found.len()].last().is_some_and(|last| (last.y - area.y).abs() > FAR);
        let near = if far && found.len() > 2 {
            // At the head of the next column, a page that lies askew is off otherwise than at the foot of the last.
            Laid::through(&areas[..found.len()], &found, per_mm).at([area.x, area.y])
        } else {
            [pixels(area.x) + off[0], pixels(area.y) + off[1]]
        };
        let reach = if found.is_empty() { FIRST_REACH } else { NEXT_REACH };
        let this =
            find_box(page, near, pixels(area.width), pixels(reach), found.last().map(|found| found.clear));
        if this.clear < FAINTEST {
            return None;
        }
        off = [this.at[0] - pixels(area.x), this.at[1] - pixels(area.y)];
        found.push(this);
    }
    let laid = Laid::through(areas, &found, per_mm);
    let faintest = found.iter().map(|found| found.clear).fold(f64::MAX, f64::min);
    Some((areas.iter().map(|area| boxed(page, paper, area, laid)).collect(), faintest))
}

/// The figures of boxes of which it is known where they are.
pub(super) fn in_place(page: &GrayImage, paper: f32, areas: &[Area], per_mm: f64) -> Vec<Boxed> {
    let laid = Laid { from: [0.0, 0.0], right: per_mm, down: 0.0 };
    areas.iter().map(|area| boxed(page, paper, area, laid)).collect()
}

/// The figure in a box, and how dark its frame is.
fn boxed(page: &GrayImage, paper: f32, area: &Area, laid: Laid) -> Boxed {
    let ink = |x: f64, y: f64| {
        let [x, y] = laid.at([area.x + x * area.width, area.y + y * area.height]);
        paper - value(page, x, y)
    };
    let along = |place: usize| (place as f64 + 0.5) / FINE as f64;
    let figure = (0..FINE * FINE).map(|place| ink(along(place % FINE), along(place / FINE))).collect();
    let side = (0..FINE).map(along).map(|at| ink(at, 0.0) + ink(at, 1.0) + ink(0.0, at) + ink(1.0, at));
    Boxed { figure, frame: side.sum::<f32>() / (4 * FINE) as f32 }
}

/// How the page lies in its picture: `x' = from[0] + right * x - down * y`, `y' = from[1] + down * x + right * y`,
/// millimetres to pixels.
#[derive(Debug, Clone, Copy)]
struct Laid {
    from: [f64; 2],
    right: f64,
    down: f64,
}

impl Laid {
    /// Nearest to the boxes that were found, by least squares. A box that lies further from where the others
    /// lead than `STRAY` was taken for another thing, such as a rule beside it, and is left out, the furthest
    /// first.
    fn through(areas: &[Area], found: &[Found], per_mm: f64) -> Self {
        /// In shares of a side: a frame is found to a twentieth of one, and mistakes are a tenth or more.
        const STRAY: f64 = 0.06;
        let mut pairs: Vec<(Point, [f64; 2])> =
            areas.iter().zip(found).map(|(area, found)| ([area.x, area.y], found.at)).collect();
        let side = found.first().map_or(1.0, |found| found.side);
        loop {
            let laid = Self::least_squares(&pairs, per_mm);
            let off = |(place, at): &(Point, [f64; 2])| {
                let [x, y] = laid.at(*place);
                (x - at[0]).hypot(y - at[1])
            };
            let offs: Vec<f64> = pairs.iter().map(off).collect();
            let furthest = (0..offs.len()).max_by(|&one, &other| offs[one].total_cmp(&offs[other]));
            match furthest.filter(|&place| pairs.len() > 2 && offs[place] > STRAY * side) {
                Some(place) => drop(pairs.swap_remove(place)),
                None => return laid,
            }
        }
    }

    fn least_squares(pairs: &[(Point, [f64; 2])], per_mm: f64) -> Self {
        let pairs: Vec<([f64; 2], [f64; 2])> =
            pairs.iter().map(|(place, at)| (place.map(Length::to_mm), *at)).collect();
        let count = pairs.len() as f64;
        let mean = |of: fn(&([f64; 2], [f64; 2])) -> f64| pairs.iter().map(of).sum::<f64>() / count;
        let [mx, my] = [mean(|pair| pair.0[0]), mean(|pair| pair.0[1])];
        let [ax, ay] = [mean(|pair| pair.1[0]), mean(|pair| pair.1[1])];
        let (mut along, mut across, mut squares) = (0.0, 0.0, 0.0);
        for ([x, y], [px, py]) in pairs {
            let (x, y, px, py) = (x - mx, y - my, px - ax, py - ay);
            along += x * px + y * py;
            across += x * py - y * px;
            squares += x * x + y * y;
        }
        // One box alone says where the page lies, not how it is turned.
        let (right, down) = if squares > 0.0 { (along / squares, across / squares) } else { (per_mm, 0.0) };
        Self { from: [ax - right * mx + down * my, ay - down * mx - right * my], right, down }
    }

    fn at(self, place: Point) -> [f64; 2] {
        let [x, y] = place.map(Length::to_mm);
        [self.from[0] + self.right * x - self.down * y, self.from[1] + self.down * x + self.right * y]
    }
}

/// Levels become ink: 0 the ground under a symbol, 1 full ink. Bands of thin ink are known by the frames.
pub(super) fn levelled(boxes: Vec<Boxed>) -> Vec<Fine> {
    /// Grain is smoothed away first, by a blur of so many cells.
    const SMOOTH: f32 = 0.054;
    /// The frame and its blur, in points.
    const EDGE: usize = 9;
    let frame = middle(boxes.iter().map(|one| one.frame).collect(), 0.5);
    let mut bounds = Vec::new();
    let mut figures: Vec<Fine> = Vec::new();
    for Boxed { mut figure, frame: own } in boxes {
        // Bands are not so deep as a frame that is hidden would say.
        let share = (own / frame.max(1.0)).clamp(0.6, 1.4);
        figure.iter_mut().for_each(|point| *point /= share);
        let smooth = blurred(&figure, SMOOTH * FINE as f32);
        let is_inner = |at: usize| (EDGE..FINE - EDGE).contains(&at);
        let inner: Vec<f32> = (0..FINE * FINE)
            .filter(|place| is_inner(place % FINE) && is_inner(place / FINE))
            .map(|place| smooth[place])
            .collect();
        let low = middle(inner.clone(), 0.04);
        bounds.push([low, middle(inner, 0.99) - low]);
        figures.push(figure);
    }
    // Thin strokes do not come to full ink; solid forms do.
    let full = middle(bounds.iter().map(|[_, top]| *top).collect(), 0.8).max(1.0);
    for (figure, [low, _]) in figures.iter_mut().zip(bounds) {
        figure.iter_mut().for_each(|point| *point = (*point - low) / full);
    }
    figures
}

/// The value that this share of all lie below.
fn middle(mut values: Vec<f32>, share: f64) -> f32 {
    #[allow(clippy::cast_sign_loss, reason = "a share of a length")]
    let place = ((values.len() as f64 * share) as usize).min(values.len().saturating_sub(1));
    if values.is_empty() { 0.0 } else { *values.select_nth_unstable_by(place, f32::total_cmp).1 }
}

/// The figure without its frame, its ink run by `spread`, in cells.
pub(super) fn spread(figure: &Fine, spread: f32) -> Fine {
    let mut inner: Fine = vec![0.0; FINE * FINE];
    let rows = figure.chunks_exact(FINE).zip(inner.chunks_exact_mut(FINE)).take(FINE - FRAME).skip(FRAME);
    for (from, to) in rows {
        to[FRAME..FINE - FRAME].copy_from_slice(&from[FRAME..FINE - FRAME]);
    }
    let mut figure = inner;
    let mut left = spread * FINE as f32;
    while left > 1e-6 {
        figure = run(&figure, left.min(1.0));
        left -= 1.0;
    }
    figure
}

/// Ink that runs by a part of a point, to both sides and then up and down.
fn run(figure: &Fine, share: f32) -> Fine {
    let more = |here: f32, before: f32, after: f32| here + (before.max(after).max(here) - here) * share;
    let mut across = figure.clone();
    for (from, to) in figure.chunks_exact(FINE).zip(across.chunks_exact_mut(FINE)) {
        for (to, near) in to[1..].iter_mut().zip(from.windows(3)) {
            *to = more(near[1], near[0], near[2]);
        }
        to[0] = more(from[0], from[0], from[1]);
        to[FINE - 1] = more(from[FINE - 1], from[FINE - 2], from[FINE - 1]);
    }
    let mut down = across.clone();
    for (row, to) in down.chunks_exact_mut(FINE).enumerate() {
        let at = |row: usize| &across[row * FINE..(row + 1) * FINE];
        let (here, before, after) = (at(row), at(row.saturating_sub(1)), at((row + 1).min(FINE - 1)));
        for (to, ((here, before), after)) in to.iter_mut().zip(here.iter().zip(before).zip(after)) {
            *to = more(*here, *before, *after);
        }
    }
    down
}

/// The ink at a place of a cell, given as a share of its side.
pub(super) fn ink_at(figure: &Fine, within: [f64; 2]) -> f32 {
    #[allow(clippy::cast_sign_loss, reason = "clamped to 0 and over")]
    let [x, y] = within.map(|at| ((at * FINE as f64).max(0.0) as usize).min(FINE - 1));
    figure[y * FINE + x]
}

/// How the points of a cell see the points along a side of a figure, through a blur. A point is the mean of three by three
/// places, each between four points of the figure, and a Gaussian falls into two: so one table of weights does for across
/// and for down.
pub(super) struct Lens(Vec<[f32; FINE]>);

impl Lens {
    /// Through a blur of so many cells. What is beyond the edge is as the edge.
    pub(super) fn new(blur: f32) -> Self {
        let kernel = kernel(blur * FINE as f32);
        let reach = kernel.len() / 2;
        let pitch = (WINDOW[1] - WINDOW[0]) / ACROSS as f64;
        let row = |place: usize| {
            let mut weights = [0.0; FINE];
            for part in [-1.0, 0.0, 1.0] {
                let at = (share(place) + part / 3.0 * pitch) * FINE as f64 - 0.5;
                #[allow(clippy::cast_sign_loss, reason = "the window lies inside the figure")]
                let first = at as usize;
                let beyond = at.fract() as f32;
                for (tap, weight) in kernel.iter().enumerate() {
                    let within = |at: usize| (at + tap).saturating_sub(reach).min(FINE - 1);
                    weights[within(first)] += weight * (1.0 - beyond) / 3.0;
                    weights[within(first + 1)] += weight * beyond / 3.0;
                }
            }
            weights
        };
        Self((0..ACROSS).map(row).collect())
    }

    /// What a cell shows of a figure.
    pub(super) fn seen(&self, figure: &Fine) -> Figure {
        let mut cell = [0.0; POINTS];
        for (down, points) in self.0.iter().zip(cell.chunks_exact_mut(ACROSS)) {
            let mut line = [0.0f32; FINE];
            for (weight, row) in
                down.iter().zip(figure.chunks_exact(FINE)).filter(|(weight, _)| **weight > 0.0)
            {
                line.iter_mut().zip(row).for_each(|(sum, point)| *sum += point * weight);
            }
            for (across, point) in self.0.iter().zip(points) {
                *point = summed(&line, across);
            }
        }
        cell
    }
}

/// The sum of products, in eight lanes.
fn summed(line: &[f32; FINE], weights: &[f32; FINE]) -> f32 {
    let mut lanes = [0.0f32; 8];
    for (points, weights) in line.chunks_exact(8).zip(weights.chunks_exact(8)) {
        for lane in 0..8 {
            lanes[lane] += points[lane] * weights[lane];
        }
    }
    lanes.iter().sum()
}

/// The weights of a Gaussian blur of so many points, as far as three of its standard deviations; together 1.
fn kernel(blur: f32) -> Vec<f32> {
    if blur <= 0.0 {
        return vec![1.0];
    }
    #[allow(clippy::cast_sign_loss, reason = "a blur is not negative")]
    let reach = (blur * 3.0).ceil() as usize;
    let weights: Vec<f32> =
        (0..=2 * reach).map(|at| (-0.5 * ((at as f32 - reach as f32) / blur).powi(2)).exp()).collect();
    let total: f32 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / total).collect()
}

/// A figure under a Gaussian blur of so many points. What is beyond its edge is as its edge.
fn blurred(figure: &Fine, blur: f32) -> Fine {
    let weights = kernel(blur);
    let reach = weights.len() / 2;
    // Sums are made tap by tap over whole rows, so that the compiler can work on many points at once.
    let mut across: Fine = vec![0.0; FINE * FINE];
    let mut row = vec![0.0f32; FINE + 2 * reach];
    for (from, to) in figure.chunks_exact(FINE).zip(across.chunks_exact_mut(FINE)) {
        row[..reach].fill(from[0]);
        row[reach..reach + FINE].copy_from_slice(from);
        row[reach + FINE..].fill(from[FINE - 1]);
        for (tap, weight) in weights.iter().enumerate() {
            to.iter_mut().zip(&row[tap..tap + FINE]).for_each(|(sum, point)| *sum += point * weight);
        }
    }
    let mut down: Fine = vec![0.0; FINE * FINE];
    for (place, to) in down.chunks_exact_mut(FINE).enumerate() {
        for (tap, weight) in weights.iter().enumerate() {
            let line = (place + tap).saturating_sub(reach).min(FINE - 1) * FINE;
            to.iter_mut().zip(&across[line..line + FINE]).for_each(|(sum, point)| *sum += point * weight);
        }
    }
    down
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slope_of_grey_is_seen_as_the_same_slope_through_any_blur() {
        let place = |at: usize| (at as f32 + 0.5) / FINE as f32;
        let slope: Fine =
            (0..FINE * FINE).map(|at| 0.2 + 0.3 * place(at % FINE) + 0.4 * place(at / FINE)).collect();
        for blur in [0.0, 0.02, 0.04] {
            let seen = Lens::new(blur).seen(&slope);
            for (place, seen) in seen.iter().enumerate().take(ACROSS * ACROSS) {
                let (x, y) = (share(place % ACROSS) as f32, share(place / ACROSS) as f32);
                let wanted = 0.2 + 0.3 * x + 0.4 * y;
                assert!((seen - wanted).abs() < 2e-3, "blur {blur}, point {place}: {seen}, not {wanted}");
            }
        }
    }

    #[test]
    fn ink_runs_to_all_sides_and_the_frame_goes() {
        let mut figure: Fine = vec![0.0; FINE * FINE];
        figure[30 * FINE + 20] = 1.0;
        figure[0] = 1.0;
        let run = spread(&figure, 0.5 / FINE as f32);
        let at = |column: usize, row: usize| run[row * FINE + column];
        assert_eq!([at(20, 30), at(19, 30), at(21, 30), at(20, 29), at(20, 31)], [1.0, 0.5, 0.5, 0.5, 0.5]);
        assert_eq!([at(19, 29), at(21, 31), at(22, 30), at(20, 28)], [0.25, 0.25, 0.0, 0.0]);
        assert_eq!(at(0, 0), 0.0);
    }
}
