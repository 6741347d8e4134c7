//! From the picks of a motif to its cells.

use super::MarkError;
use super::region::Region;
use crate::chart::Chart;
use crate::chart::mark::{Change, Holes, Motif, Pick, PickedCells, Touching};
use crate::ground::units::GridSize;
use crate::thread::code;

/// The cells of a motif on a chart, which may be none.
///
/// # Errors
/// [`MarkError`] when a pick names a cell or a needle that the chart does not have, or a mask does not fit.
pub fn choose(chart: &Chart, motif: &Motif, mark: &str) -> Result<Region, MarkError> {
    let mut region = Region::empty();
    for pick in &motif.pick {
        let cells = picked(chart, pick, mark)?;
        region = match pick.change {
            Change::Add => region.with(&cells),
            Change::TakeAway => region.without(&cells),
        };
    }
    if region.is_empty() {
        return Ok(region);
    }
    if motif.bridge > 0 {
        region = region.bridged(motif.bridge);
    }
    if motif.holes == Holes::Filled {
        region = region.filled();
    }
    let by = motif.grow.unsigned_abs().min(200) as u8;
    region = match motif.grow {
        0 => region,
        1.. => region.grown(by),
        _ => region.shrunk(by),
    };
    Ok(region.on(chart.size()).framed(0))
}

/// Further out than any chart reaches, and small enough that products of two differences stay in an i64.
const FAR: i32 = 1_000_000;

fn picked(chart: &Chart, pick: &Pick, mark: &str) -> Result<Region, MarkError> {
    let size = chart.size();
    match &pick.cells {
        PickedCells::At { cell, within, touching } => like(chart, *cell, *within, *touching, mark),
        PickedCells::Needles(codes) => {
            let mut wanted = vec![false; chart.needles().len()];
            for wanted_code in codes {
                let mut found = false;
                for (needle, wanted) in chart.needles().iter().zip(&mut wanted) {
                    if code::same(&needle.code(), wanted_code) || needle.name() == *wanted_code {
                        (found, *wanted) = (true, true);
                    }
                }
                if !found {
                    return Err(MarkError::NoSuchNeedle { mark: mark.into(), needle: wanted_code.clone() });
                }
            }
            Ok(of_chart(chart, |needle| needle.is_some_and(|needle| wanted[needle])))
        }
        PickedCells::Stitched => Ok(of_chart(chart, |needle| needle.is_some())),
        PickedCells::Rectangle(corners) => {
            let ([left, top], [right, bottom]) = sorted(*corners);
            Ok(shape(size, [left, top, right, bottom], |_, _| true))
        }
        PickedCells::Ellipse(corners) => {
            let ([left, top], [right, bottom]) = sorted(*corners);
            let middle = |one: i32, two: i32| (f64::from(one) + f64::from(two)) / 2.0;
            let radius = |one: i32, two: i32| (f64::from(two) - f64::from(one) + 1.0) / 2.0;
            let (cx, cy) = (middle(left, right), middle(top, bottom));
            let (rx, ry) = (radius(left, right), radius(top, bottom));
            Ok(shape(size, [left, top, right, bottom], |x, y| {
                ((f64::from(x) - cx) / rx).powi(2) + ((f64::from(y) - cy) / ry).powi(2) <= 1.0
            }))
        }
        PickedCells::Polygon(points) => {
            if points.len() < 3 {
                return Err(MarkError::Polygon { mark: mark.into(), corners: points.len() });
            }
            let points: Vec<[i64; 2]> =
                points.iter().map(|point| point.map(|at| i64::from(at.clamp(-FAR, FAR)) - 1)).collect();
            let extent =
                points.iter().fold([i64::MAX, i64::MAX, i64::MIN, i64::MIN], |[l, t, r, b], &[x, y]| {
                    [l.min(x), t.min(y), r.max(x), b.max(y)]
                });
            // FAR keeps them within an i32.
            let extent = extent.map(|at| at as i32);
            Ok(shape(size, extent, |x, y| in_polygon([i64::from(x), i64::from(y)], &points)))
        }
        PickedCells::Mask(rows) => mask(chart, rows, mark),
        PickedCells::MaskFile(path) => Err(MarkError::MaskNotRead { mark: mark.into(), path: path.clone() }),
    }
}

/// Corners counted from 1 in any order, to the first and last column and row from 0.
fn sorted([x1, y1, x2, y2]: [i32; 4]) -> ([i32; 2], [i32; 2]) {
    let from_0 = |value: i32| value.saturating_sub(1);
    ([from_0(x1.min(x2)), from_0(y1.min(y2))], [from_0(x1.max(x2)), from_0(y1.max(y2))])
}

/// The cells of a shape within `[left, top, right, bottom]` that lie on the chart.
fn shape(size: GridSize, [left, top, right, bottom]: [i32; 4], holds: impl Fn(i32, i32) -> bool) -> Region {
    let (left, top) = (left.max(0), top.max(0));
    let length = |from: i32, to: i32, total: u32| {
        u32::try_from(i64::from(to.min(total as i32 - 1)) - i64::from(from) + 1).unwrap_or(0)
    };
    let extent = [length(left, right, size.columns()), length(top, bottom, size.rows())];
    Region::of([left, top], extent, holds)
}

fn of_chart(chart: &Chart, wanted: impl Fn(Option<usize>) -> bool) -> Region {
    let size = chart.size();
    let cells = chart.cells();
    Region::of([0, 0], [size.columns(), size.rows()], |x, y| {
        wanted(cells[y as usize * size.width() + x as usize].needle())
    })
}

/// Crossings of a ray to the right, in whole numbers so that nothing rests on rounding; the edge is within.
fn in_polygon([x, y]: [i64; 2], points: &[[i64; 2]]) -> bool {
    let mut within = false;
    for (at, &[x1, y1]) in points.iter().enumerate() {
        let [x2, y2] = points[(at + 1) % points.len()];
        let cross = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1);
        let in_box = x >= x1.min(x2) && x <= x1.max(x2) && y >= y1.min(y2) && y <= y1.max(y2);
        if cross == 0 && in_box {
            return true;
        }
        if (y1 > y) != (y2 > y) && (cross < 0) == (y2 < y1) {
            within = !within;
        }
    }
    within
}

/// The connected region of like colours round a cell. A flood from the cell: labelling every region of the
/// chart to keep one would take far longer.
fn like(
    chart: &Chart,
    [column, row]: [i32; 2],
    within: f64,
    touching: Touching,
    mark: &str,
) -> Result<Region, MarkError> {
    let size = chart.size();
    let (width, height) = (size.columns() as i32, size.rows() as i32);
    if !(1..=width).contains(&column) || !(1..=height).contains(&row) {
        return Err(MarkError::NoSuchCell { mark: mark.into(), cell: [column, row], size });
    }
    let place = |[x, y]: [i32; 2]| y as usize * size.width() + x as usize;
    let start = [column - 1, row - 1];
    let seed = chart.cells()[place(start)];
    let colour = |needle: Option<usize>| match needle {
        Some(needle) => chart.needles()[needle].colour().lab(),
        None => chart.cloth.colour.lab(),
    };
    let wanted = colour(seed.needle());
    let is_like = |needle: Option<usize>| {
        needle == seed.needle() || (within > 0.0 && colour(needle).ciede2000(wanted) <= within)
    };
    let likes: Vec<bool> = (0..chart.needles().len()).map(|needle| is_like(Some(needle))).collect();
    let bare = is_like(None);

    let mut seen = vec![false; size.cells()];
    let mut todo = vec![start];
    seen[place(start)] = true;
    let ([mut left, mut top], [mut right, mut bottom]) = (start, start);
    let neighbours: &[[i32; 2]] = match touching {
        Touching::Sides => &[[1, 0], [0, 1], [-1, 0], [0, -1]],
        Touching::Corners => &[[1, 0], [0, 1], [-1, 0], [0, -1], [1, 1], [-1, 1], [-1, -1], [1, -1]],
    };
    while let Some([x, y]) = todo.pop() {
        (left, top, right, bottom) = (left.min(x), top.min(y), right.max(x), bottom.max(y));
        for [dx, dy] in neighbours {
            let next = [x + dx, y + dy];
            if !(0..width).contains(&next[0]) || !(0..height).contains(&next[1]) || seen[place(next)] {
                continue;
            }
            if chart.cells()[place(next)].needle().map_or(bare, |needle| likes[needle]) {
                seen[place(next)] = true;
                todo.push(next);
            }
        }
    }
    let extent = [(right - left + 1) as u32, (bottom - top + 1) as u32];
    Ok(Region::of([left, top], extent, |x, y| seen[place([x, y])]))
}

/// A mask's rows, each as lengths of runs: out, in, out, ... What follows the last run is out.
fn mask(chart: &Chart, rows: &[String], mark: &str) -> Result<Region, MarkError> {
    let size = chart.size();
    let fail = |row: usize| MarkError::Mask { mark: mark.into(), row: row + 1, size };
    if rows.len() > size.height() {
        return Err(fail(rows.len() - 1));
    }
    let mut cells = vec![false; size.cells()];
    for (row, text) in rows.iter().enumerate() {
        let mut at = 0usize;
        for (place, run) in text.split_ascii_whitespace().enumerate() {
            let length: usize = run.parse().map_err(|_| fail(row))?;
            let end = at.checked_add(length).filter(|&end| end <= size.width()).ok_or_else(|| fail(row))?;
            if place % 2 == 1 {
                cells[row * size.width() + at..row * size.width() + end].fill(true);
            }
            at = end;
        }
    }
    Ok(Region::of([0, 0], [size.columns(), size.rows()], |x, y| {
        cells[y as usize * size.width() + x as usize]
    }))
}

/// A region as the rows of a mask for a chart of this size.
#[must_use]
pub fn mask_rows(region: &Region, rows: usize) -> Vec<String> {
    let ([left, _], [width, _]) = region.window();
    (0..rows as i32)
        .map(|row| {
            let mut runs: Vec<i32> = vec![0];
            for column in 0..left + width {
                let within = region.has(column, row);
                if within == runs.len().is_multiple_of(2) {
                    *runs.last_mut().expect("there is one from the start") += 1;
                } else {
                    runs.push(1);
                }
            }
            if !runs.len().is_multiple_of(2) {
                runs.pop();
            }
            runs.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
        })
        .collect()
}
