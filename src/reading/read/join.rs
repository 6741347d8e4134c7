//! Where each page lies on the chart: by the numbers of its rulers, by columns and rows that pages repeat, or by the size
//! that the person says.

use super::squares::{Square, Squares};
use crate::ground::units::GridSize;

/// A page that shows a part of the chart.
pub(super) struct Part<'s> {
    pub(super) squares: &'s Squares,
    /// Columns and rows that lie before it, by its numbers.
    pub(super) before: [Option<i32>; 2],
}

impl Part<'_> {
    fn count(&self, axis: usize) -> i32 {
        i32::try_from(self.squares.grid.count[axis]).unwrap_or(i32::MAX)
    }

    fn at(&self, column: i32, row: i32) -> Square {
        let place = usize::try_from(row).ok().zip(usize::try_from(column).ok());
        let columns = self.squares.grid.count[0] as usize;
        place
            .and_then(|(row, column)| self.squares.squares.get(row * columns + column))
            .copied()
            .unwrap_or_default()
    }
}

/// How pages were joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Joined {
    /// There is one.
    OnePage,
    /// By the numbers on their rulers.
    Numbers,
    /// By columns and rows that they repeat.
    Repeats,
    /// By the size that the person said.
    Size,
}

/// The most columns or rows that pages are thought to repeat.
const MOST_REPEATED: i32 = 8;

/// Column and row of each page's first square, from 0; nothing where they cannot be joined.
pub(super) fn join(parts: &[Part], size: [Option<u32>; 2]) -> Option<(Vec<[i32; 2]>, Joined)> {
    if parts.len() == 1 && parts[0].before.contains(&None) {
        let before = parts[0].before.map(|before| before.unwrap_or(0));
        return Some((vec![before], Joined::OnePage));
    }
    by_numbers(parts)
        .map(|places| (places, Joined::Numbers))
        .or_else(|| by_repeats(parts).map(|places| (places, Joined::Repeats)))
        .or_else(|| {
            let [Some(columns), Some(rows)] = size else { return None };
            let size = [i32::try_from(columns).ok()?, i32::try_from(rows).ok()?];
            by_size(parts, size).map(|places| (places, Joined::Size))
        })
}

/// By numbers; a page that lacks one follows on the page before it.
fn by_numbers(parts: &[Part]) -> Option<Vec<[i32; 2]>> {
    let mut places: Vec<[i32; 2]> = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        let follows = |axis: usize| {
            let other = 1 - axis;
            // The last page before it that begins at the same column (or row) ends where it begins.
            let before = (0..at).rev().find(|&page| part.before[other] == Some(places[page][other]));
            match (before, part.before[other]) {
                (Some(page), _) => Some(places[page][axis] + parts[page].count(axis)),
                // The first of its row (or column) of pages.
                (None, Some(_)) => Some(0),
                (None, None) => None,
            }
        };
        let [column, row] = [0, 1].map(|axis| part.before[axis].or_else(|| follows(axis)));
        places.push([column?, row?]);
    }
    agree(parts, &places).then_some(places)
}

/// Whether pages that show the same squares show the same in them.
///
/// Each page is laid over those before it, so that all are looked at once.
fn agree(parts: &[Part], places: &[[i32; 2]]) -> bool {
    let edge = |axis: usize| {
        let low = places.iter().map(|place| i64::from(place[axis])).min().unwrap_or(0);
        let ends = parts
            .iter()
            .zip(places)
            .map(|(part, place)| i64::from(place[axis]) + i64::from(part.count(axis)));
        (low, u32::try_from(ends.max().unwrap_or(low) - low).unwrap_or(u32::MAX))
    };
    let ((left, columns), (top, rows)) = (edge(0), edge(1));
    // Another step says that such a chart is too large.
    let Ok(size) = GridSize::new(columns, rows) else { return true };
    let mut laid: Vec<Option<u32>> = vec![None; size.cells()];
    for (part, place) in parts.iter().zip(places) {
        let [dx, dy] = [i64::from(place[0]) - left, i64::from(place[1]) - top]
            .map(|off| usize::try_from(off).unwrap_or(0));
        let columns = part.squares.grid.count[0] as usize;
        let (mut same, mut all) = (0_usize, 0_usize);
        for (at, square) in part.squares.squares.iter().enumerate() {
            let Some(known) = laid.get_mut((at / columns + dy) * size.width() + at % columns + dx) else {
                continue;
            };
            // One of them may leave what it repeats bare, or in paler colours.
            if let (Some(one), Some(other)) = (*known, square.symbol) {
                all += 1;
                same += usize::from(one == other);
            }
            *known = known.or(square.symbol);
        }
        if all > 9 && same * 10 < all * 9 {
            return false;
        }
    }
    true
}

/// So many columns (or rows) at the end of one page begin the other, if any do.
fn repeated(one: &Part, other: &Part, axis: usize) -> Option<i32> {
    if one.count(1 - axis) != other.count(1 - axis) {
        return None;
    }
    let length = one.count(1 - axis);
    (1..=MOST_REPEATED.min(one.count(axis)).min(other.count(axis))).rev().find(|&count| {
        let (mut worked, mut kinds) = (0, std::collections::BTreeSet::new());
        let first = one.count(axis) - count;
        for step in 0..count {
            for along in 0..length {
                let at = |part: &Part, across: i32| {
                    if axis == 0 { part.at(across, along) } else { part.at(along, across) }
                };
                let [a, b] = [at(one, first + step), at(other, step)];
                if a.symbol != b.symbol || (a.symbol.is_none() && a.ground != b.ground) {
                    return false;
                }
                worked += usize::from(a.symbol.is_some() || a.ground.is_some());
                kinds.insert((a.symbol, a.ground));
            }
        }
        // What is all alike says nothing.
        worked >= 6 && kinds.len() > 2
    })
}

fn by_repeats(parts: &[Part]) -> Option<Vec<[i32; 2]>> {
    // Across first, then down first.
    [0, 1].into_iter().find_map(|axis| {
        let mut places: Vec<[i32; 2]> = vec![[0, 0]];
        let mut head = 0;
        for at in 1..parts.len() {
            let mut place = [0, 0];
            if let Some(count) = repeated(&parts[at - 1], &parts[at], axis) {
                place = places[at - 1];
                place[axis] += parts[at - 1].count(axis) - count;
            } else {
                let count = repeated(&parts[head], &parts[at], 1 - axis)?;
                place[1 - axis] = places[head][1 - axis] + parts[head].count(1 - axis) - count;
                head = at;
            }
            places.push(place);
        }
        agree(parts, &places).then_some(places)
    })
}

/// Pages in order, across or down first, that fill a chart of this size, each repeating equally many.
fn by_size(parts: &[Part], size: [i32; 2]) -> Option<Vec<[i32; 2]>> {
    let filled = |axis: usize, repeat: i32| {
        let mut places: Vec<[i32; 2]> = Vec::new();
        let (mut along, mut across) = (0, 0);
        for part in parts {
            let mut place = [0, 0];
            place[axis] = along;
            place[1 - axis] = across;
            let end = along + part.count(axis);
            if end > size[axis] || across + part.count(1 - axis) > size[1 - axis] {
                return None;
            }
            places.push(place);
            if end == size[axis] {
                along = 0;
                across += part.count(1 - axis) - repeat;
            } else {
                along = end - repeat;
            }
        }
        (along == 0 && across + repeat == size[1 - axis] && agree(parts, &places)).then_some(places)
    };
    let found = (0..=MOST_REPEATED).flat_map(|repeat| [0, 1].map(|axis| (axis, repeat)));
    let fits: Vec<Vec<[i32; 2]>> = found.filter_map(|(axis, repeat)| filled(axis, repeat)).collect();
    // Of two orders, the one in which neighbours at the joins are more alike.
    fits.into_iter().max_by_key(|places| seams(parts, places))
}

/// How many neighbours on two sides of joins are alike.
fn seams(parts: &[Part], places: &[[i32; 2]]) -> usize {
    let mut alike = 0;
    for one in 0..parts.len() {
        for other in 0..parts.len() {
            for axis in 0..2 {
                let joins = places[one][axis] + parts[one].count(axis) == places[other][axis]
                    && places[one][1 - axis] == places[other][1 - axis];
                if !joins {
                    continue;
                }
                let last = parts[one].count(axis) - 1;
                let length = parts[one].count(1 - axis).min(parts[other].count(1 - axis));
                alike += (0..length)
                    .filter(|&along| {
                        let at = |part: &Part, across: i32| {
                            if axis == 0 { part.at(across, along) } else { part.at(along, across) }
                        };
                        let [a, b] = [at(&parts[one], last), at(&parts[other], 0)];
                        a.symbol.is_some() && a.symbol == b.symbol
                    })
                    .count();
            }
        }
    }
    alike
}
