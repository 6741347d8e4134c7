//! Where the cells are on the picture of a page: found from the rules alone.
//!
//! The skew is that at which dark points pile up highest in columns and rows. Under it, bold rules are the
//! longest dark lines; their ends give the block of cells, their distances say how wide ten cells are, and the
//! thin rules at the crossings decide between answers. Last, a plane is laid through the middles of all bold
//! rules, measured piece by piece, so that each cell is known to a fraction of a pixel.

mod fit;

use image::GrayImage;

use fit::{Straight, Stretch, measured, plane};

use crate::reading::error::GridFault;
use crate::reading::picture::{Levels, counted, value};

/// The steepest skew that is looked for, as a tangent: 1.2 degrees, over twice what a careless feed gives.
const STEEPEST: f64 = 0.021;

/// The cells of a page in pixels: `origin` is the top left, `right` a step of one column, `down` of one row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lattice {
    pub(super) origin: [f64; 2],
    pub(super) right: [f64; 2],
    pub(super) down: [f64; 2],
    pub(super) columns: u32,
    pub(super) rows: u32,
    /// The column line and the row line, from 0, of the first bold rules.
    pub(super) bold: [u32; 2],
}

impl Lattice {
    /// The pixel at so many columns and rows from the top left.
    pub(super) fn at(&self, column: f64, row: f64) -> [f64; 2] {
        let along = |axis: usize| self.origin[axis] + column * self.right[axis] + row * self.down[axis];
        [along(0), along(1)]
    }

    /// The side of a cell in pixels.
    pub(super) fn side(&self) -> f64 {
        self.right[0].hypot(self.right[1])
    }
}

/// A long dark line: where it stands across itself, and where it begins and ends, in pixels.
#[derive(Debug, Clone, Copy)]
struct Bold {
    at: f64,
    from: f64,
    to: f64,
}

/// Looks across (for upright rules) or along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Upright,
    Level,
}

/// The page as dark and light, and how it is turned.
struct Scan<'a> {
    page: &'a GrayImage,
    levels: Levels,
    /// 1 where it is dark, 0 where it is light.
    dark: Vec<u8>,
    middle: [f64; 2],
    /// An upright rule leans so many pixels to the right for each pixel down.
    skew: f64,
}

/// The lattice of the page, or what could not be found. Where symbols draw rules of their own, such as a bar through the
/// middle of every cell, more than one lattice fits; then the one of `wanted` columns and rows is taken.
pub(super) fn find(page: &GrayImage, wanted: [u32; 2]) -> Result<Lattice, GridFault> {
    let levels = Levels::of(page);
    let dark = darkness(page, levels);
    let middle = [f64::from(page.width()) / 2.0, f64::from(page.height()) / 2.0];
    let mut scan = Scan { page, levels, dark, middle, skew: 0.0 };
    scan.skew = scan.find_skew();
    let upright = scan.bold(Way::Upright);
    let level = scan.bold(Way::Level);
    if upright.is_empty() || level.is_empty() {
        return Err(GridFault::NoBoldRules);
    }
    let start = scan.start(&upright, &level, wanted).ok_or(GridFault::NoEvenGrid)?;
    Ok(scan.refined(start, &upright, &level))
}

/// Which points are dark: over half way from paper to ink (a bold rule that is blurred by half its width still
/// reaches two thirds, a thin rule is half as dark as ink), the ink being that of some rows together, as a print head leaves bands.
fn darkness(page: &GrayImage, levels: Levels) -> Vec<u8> {
    /// A millimetre at 150 dots an inch, an eighth of a band.
    const ROWS: usize = 6;
    /// Of the points of these rows 1 in so many is as dark as ink: four bold rules across them.
    const SHARE: u64 = 300;
    /// A row of which fewer than 1 in so many points have ink is no row of cells.
    const BLANK: i64 = 250;
    let width = page.width() as usize;
    let ink_of = |rows: &[u8]| {
        let counts = counted(rows);
        let mut seen = 0;
        let ink = counts.iter().position(|count| {
            seen += count;
            u64::from(seen) * SHARE > rows.len() as u64
        });
        // Rows without ink have only grain.
        (ink.unwrap_or(255) as f32).min(levels.paper - 0.75 * levels.contrast()).max(levels.ink)
    };
    // Rules cross each row of the cells, and each has more points than dirt.
    let pale = least_over(levels.paper - 0.25 * levels.contrast());
    let is_blank = |row: &[u8]| {
        let inked = sum(row.iter().map(|&value| i32::from(value < pale)));
        i64::from(inked) * BLANK < row.len() as i64
    };
    let inks: Vec<f32> = page.as_raw().chunks(ROWS * width).map(ink_of).collect();
    let mut dark = Vec::with_capacity(page.as_raw().len());
    for (at, rows) in page.as_raw().chunks(ROWS * width).enumerate() {
        // Rows at the edge of the cells have few points of bold rules, and a thin one would pass for bold: their neighbours
        // know better. Within the cells bands differ, and each knows its own ink.
        let near = if rows.chunks(width).any(is_blank) { at.saturating_sub(1)..at + 2 } else { at..at + 1 };
        let near = inks.get(near.start..near.end.min(inks.len())).unwrap_or_default();
        let ink = near.iter().copied().fold(f32::MAX, f32::min);
        let limit = least_over(ink + 0.49 * (levels.paper - ink));
        dark.extend(rows.iter().map(|&value| u8::from(value < limit)));
    }
    dark
}

/// How many points of a line: too few to overflow, and without that question many are added at once.
fn sum(points: impl Iterator<Item = i32>) -> i32 {
    points.fold(0, i32::wrapping_add)
}

/// The least level that is not under a limit.
fn least_over(limit: f32) -> u8 {
    #[allow(clippy::cast_sign_loss, reason = "clamped to what levels may be")]
    let level = limit.ceil().clamp(0.0, 255.0) as u8;
    level
}

impl Scan<'_> {
    fn size(&self) -> [usize; 2] {
        [self.page.width() as usize, self.page.height() as usize]
    }

    /// From the frame in which rules are upright to the picture. There, an upright rule at `x` crosses the
    /// middle of the page at `x`.
    fn turned(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [cx, cy] = self.middle;
        let scale = 1.0 / (1.0 + self.skew * self.skew);
        let (dx, dy) = (x - cx, y - cy);
        [cx + (dx + self.skew * dy) * scale, cy + (dy - self.skew * dx) * scale]
    }

    /// Every third row, and every third column, as rows: enough for the skew.
    fn thirds(&self) -> [Vec<Vec<u8>>; 2] {
        let [width, height] = self.size();
        let rows: Vec<Vec<u8>> = self.dark.chunks_exact(width).step_by(3).map(<[u8]>::to_vec).collect();
        let mut columns = vec![Vec::with_capacity(height); width.div_ceil(3)];
        for row in self.dark.chunks_exact(width) {
            for (column, dark) in columns.iter_mut().zip(row.iter().step_by(3)) {
                column.push(*dark);
            }
        }
        [rows, columns]
    }

    fn find_skew(&self) -> f64 {
        let [rows, columns] = self.thirds();
        let [width, height] = self.size();
        let [cx, cy] = self.middle;
        let room = width.max(height) as f64 * STEEPEST + 2.0;
        #[allow(clippy::cast_sign_loss, reason = "room is not negative")]
        let mut counts = vec![0u16; width.max(height) + 2 * room as usize + 2];
        let mut pile = |skew: f64| {
            let mut energy = 0.0;
            // An upright rule leans to the right, a level one up.
            for (lines, middle, lean) in [(&rows, cy, skew), (&columns, cx, -skew)] {
                counts.fill(0);
                for (at, line) in lines.iter().enumerate() {
                    #[allow(clippy::cast_sign_loss, reason = "room is left for the steepest skew")]
                    let first = (room - lean * (3.0 * at as f64 - middle)) as usize;
                    // A third of 65,535 lines cannot overflow; without that question, many points are added at once.
                    let points = counts[first..].iter_mut().zip(line);
                    points.for_each(|(count, dark)| *count = count.wrapping_add(u16::from(*dark)));
                }
                energy += counts.iter().map(|&count| u64::from(count).pow(2)).sum::<u64>() as f64;
            }
            energy
        };
        let mut best = (0.0, pile(0.0));
        let mut around = STEEPEST;
        // A step of a thousandth moves the end of a rule by about its own width.
        for step in [0.001, 0.0002] {
            let middle: f64 = best.0;
            let steps = (around / step) as i32;
            for index in -steps..=steps {
                let skew = middle + f64::from(index) * step;
                let energy = pile(skew);
                if energy > best.1 {
                    best = (skew, energy);
                }
            }
            around = step;
        }
        best.0
    }

    /// How many points are dark on each line that stands this way.
    fn counts(&self, way: Way, across: usize, along: usize, lean: &dyn Fn(usize) -> i64) -> Vec<i32> {
        let [width, _] = self.size();
        let mut counts = vec![0i32; across];
        let mut from = 0;
        while from < along {
            let shift = lean(from);
            let mut to = from + 1;
            while to < along && lean(to) == shift {
                to += 1;
            }
            // So many lines begin before the page, so many points lie before them.
            let [before, first] = [-shift, shift].map(|off| usize::try_from(off).unwrap_or(0).min(across));
            match way {
                Way::Upright => {
                    for row in self.dark.chunks_exact(width).take(to).skip(from) {
                        let points = counts[before..].iter_mut().zip(&row[first..]);
                        points.for_each(|(count, dark)| *count = count.wrapping_add(i32::from(*dark)));
                    }
                }
                Way::Level => {
                    for (count, row) in
                        counts[before..].iter_mut().zip(self.dark.chunks_exact(width).skip(first))
                    {
                        *count += sum(row[from..to].iter().map(|dark| i32::from(*dark)));
                    }
                }
            }
            from = to;
        }
        counts
    }

    /// The bold rules that stand this way, in order.
    fn bold(&self, way: Way) -> Vec<Bold> {
        let [width, height] = self.size();
        let (across, along) = match way {
            Way::Upright => (width, height),
            Way::Level => (height, width),
        };
        let lean = |step: usize| -> i64 {
            let lean = match way {
                Way::Upright => self.skew * (step as f64 + 0.5 - self.middle[1]),
                Way::Level => -self.skew * (step as f64 + 0.5 - self.middle[0]),
            };
            lean.round() as i64
        };
        let counts = self.counts(way, across, along, &lean);
        // A line has no longer stretch than it has dark points, so that few need be looked at: the fullest first.
        let mut order: Vec<usize> = (0..across).collect();
        order.sort_by_key(|&at| std::cmp::Reverse(counts[at]));
        let mut stretches = vec![Stretch::default(); across];
        let mut most = 0;
        for at in order {
            if counts[at] * 4 < most * 3 {
                break;
            }
            for step in 0..along {
                let place = usize::try_from(at as i64 + lean(step)).ok().filter(|place| *place < across);
                let dark = place.is_some_and(|place| match way {
                    Way::Upright => self.dark[step * width + place] > 0,
                    Way::Level => self.dark[place * width + step] > 0,
                });
                stretches[at].take(step as i32, dark);
            }
            most = most.max(stretches[at].best);
        }
        // All bold rules of a page are as long; an outline in broken strokes may hide a fifth of one.
        let is_long = |stretch: &Stretch| most > 0 && stretch.best * 4 >= most * 3;
        let mut found: Vec<Bold> = Vec::new();
        let mut at = 0;
        while at < across {
            if !is_long(&stretches[at]) {
                at += 1;
                continue;
            }
            let start = at;
            while at < across && is_long(&stretches[at]) {
                at += 1;
            }
            let group = &stretches[start..at];
            let weight: f64 = group.iter().map(|stretch| f64::from(stretch.best)).sum();
            let moment: f64 = group
                .iter()
                .enumerate()
                .map(|(place, stretch)| (start + place) as f64 * f64::from(stretch.best))
                .sum();
            let from = group.iter().map(|stretch| stretch.from).min().unwrap_or(0);
            let to = group.iter().map(|stretch| stretch.to).max().unwrap_or(0);
            let (from, to) = (f64::from(from), f64::from(to) + 1.0);
            found.push(Bold { at: moment / weight + 0.5, from, to });
        }
        found
    }

    /// The block of cells in the straight frame: left, top, right, bottom.
    fn block(&self, upright: &[Bold], level: &[Bold]) -> [f64; 4] {
        let [cx, cy] = self.middle;
        // The furthest out but one: thin ink hides the ends of any of them, but only one has a mark beyond its
        // end, that of the middle of the design.
        let begin = |mut values: Vec<f64>| {
            values.sort_by(f64::total_cmp);
            values[1.min(values.len() - 1)]
        };
        let end = |mut values: Vec<f64>| {
            values.sort_by(f64::total_cmp);
            values[values.len().saturating_sub(2)]
        };
        let down = |bold: &Bold| self.skew * (bold.at - cx);
        let across = |bold: &Bold| -self.skew * (bold.at - cy);
        [
            begin(level.iter().map(|bold| bold.from + across(bold)).collect()),
            begin(upright.iter().map(|bold| bold.from + down(bold)).collect()),
            end(level.iter().map(|bold| bold.to + across(bold)).collect()),
            end(upright.iter().map(|bold| bold.to + down(bold)).collect()),
        ]
    }

    /// The lattice that fits best, in the straight frame, with its distance between rules.
    fn start(&self, upright: &[Bold], level: &[Bold], wanted: [u32; 2]) -> Option<Straight> {
        let block = self.block(upright, level);
        let [left, top, right, bottom] = block;
        let mut sides: Vec<f64> = Vec::new();
        for bold in [upright, level] {
            sides.extend(bold.windows(2).map(|pair| (pair[1].at - pair[0].at) / 10.0));
        }
        // A chart of fewer than ten cells has no tens.
        for n in 4..10 {
            sides.extend([(right - left) / f64::from(n), (bottom - top) / f64::from(n)]);
        }
        let mut sides: Vec<f64> = sides.into_iter().map(|side| measured(side, [upright, level])).collect();
        sides.sort_by(f64::total_cmp);
        sides.dedup_by(|one, other| (*one / *other - 1.0).abs() < 0.004);
        let fits: Vec<(Straight, f64)> = sides
            .into_iter()
            .filter(|side| *side >= 5.0)
            .filter_map(|side| Straight::new(block, side, upright[0].at, level[0].at))
            .map(|straight| (straight, self.crossings(&straight, [upright, level])))
            .collect();
        let best = fits.iter().map(|(_, score)| *score).fold(0.0, f64::max);
        let good = || {
            fits.iter().filter(|(_, score)| best > 0.0 && *score >= 0.6 * best).map(|(straight, _)| straight)
        };
        // Cells of double side meet the rules as well; so the least side of those that do.
        good().find(|straight| [straight.columns, straight.rows] == wanted).or_else(|| good().next()).copied()
    }

    /// How much darker thin rules are than the corners of cells beside them, over all crossings: symbols leave
    /// a tenth of a cell free at each side. Bold rules have had their say.
    fn crossings(&self, straight: &Straight, bold: [&[Bold]; 2]) -> f64 {
        let side = straight.side;
        let off = side * 0.085;
        // What is far darker is something else: it must not outweigh the thin rules.
        let most = 0.2 * f64::from(self.levels.contrast());
        let thin = |at: f64, bold: &[Bold]| bold.iter().all(|bold| (bold.at - at).abs() > side * 0.2);
        let (mut sum, mut count) = (0.0, 0u32);
        for row in 0..=straight.rows {
            let y = straight.top + f64::from(row) * side;
            let thin_row = thin(y, bold[1]);
            for column in 0..=straight.columns {
                let x = straight.left + f64::from(column) * side;
                let look = |dx: f64, dy: f64| {
                    let [x, y] = self.turned([x + dx * off, y + dy * off]);
                    f64::from(value(self.page, x, y))
                };
                let corners = look(1.0, 1.0) + look(-1.0, 1.0) + look(1.0, -1.0) + look(-1.0, -1.0);
                if thin(x, bold[0]) {
                    sum += (corners / 2.0 - look(0.0, 1.0) - look(0.0, -1.0)).clamp(-most, most);
                    count += 1;
                }
                if thin_row {
                    sum += (corners / 2.0 - look(1.0, 0.0) - look(-1.0, 0.0)).clamp(-most, most);
                    count += 1;
                }
            }
        }
        if count > 0 { sum / f64::from(count) } else { 0.0 }
    }

    /// The lattice through the middles of the bold rules.
    fn refined(&self, start: Straight, upright: &[Bold], level: &[Bold]) -> Lattice {
        let origin = self.turned([start.left, start.top]);
        let step = |x: f64, y: f64| {
            let [ax, ay] = self.turned([start.left + x, start.top + y]);
            [ax - origin[0], ay - origin[1]]
        };
        let mut lattice = Lattice {
            origin,
            right: step(start.side, 0.0),
            down: step(0.0, start.side),
            columns: start.columns,
            rows: start.rows,
            bold: start.bold,
        };
        for _ in 0..2 {
            let across = self.middles(&lattice, Way::Upright, upright, start);
            let down = self.middles(&lattice, Way::Level, level, start);
            if let Some([at, by_column, by_row]) = plane(&across) {
                lattice.origin[0] = at;
                lattice.right[0] = by_column;
                lattice.down[0] = by_row;
            }
            if let Some([at, by_column, by_row]) = plane(&down) {
                lattice.origin[1] = at;
                lattice.right[1] = by_column;
                lattice.down[1] = by_row;
            }
        }
        lattice
    }

    /// Column, row and pixel of the middles of bold rules, a piece of each cell's length at a time.
    fn middles(&self, lattice: &Lattice, way: Way, bold: &[Bold], start: Straight) -> Vec<[f64; 3]> {
        let (first, along) = match way {
            Way::Upright => (start.left, lattice.rows),
            Way::Level => (start.top, lattice.columns),
        };
        // No wider than the free edge of a cell, or symbols would draw the middle to them.
        let reach = (lattice.side() * 0.12).max(1.5);
        let mut found = Vec::new();
        for line in bold.iter().map(|bold| ((bold.at - first) / start.side).round()) {
            for piece in 0..along {
                let (mut weight, mut moment) = (0.0, 0.0);
                for place in 0..5 {
                    let along = f64::from(piece) + 0.1 + 0.2 * f64::from(place);
                    let [x, y] = match way {
                        Way::Upright => lattice.at(line, along),
                        Way::Level => lattice.at(along, line),
                    };
                    for step in -6..=6 {
                        let off = f64::from(step) / 6.0 * reach;
                        let ink = match way {
                            Way::Upright => value(self.page, x + off, y),
                            Way::Level => value(self.page, x, y + off),
                        };
                        let ink = f64::from(255.0 - ink).powi(2);
                        weight += ink;
                        moment += ink * off;
                    }
                }
                let along = f64::from(piece) + 0.5;
                let off = if weight > 0.0 { moment / weight } else { 0.0 };
                found.push(match way {
                    Way::Upright => [line, along, lattice.at(line, along)[0] + off],
                    Way::Level => [along, line, lattice.at(along, line)[1] + off],
                });
            }
        }
        found
    }
}

#[cfg(test)]
mod tests;
