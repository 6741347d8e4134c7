//! Which part of the chart a page shows, by the numbers beside its grid.
//!
//! A number stands at the line after its square, or over its square; both say how many squares lie before. Where the tens
//! and one stand at lines (1, 11, 21), a number is that of the square after its line.

use std::collections::BTreeMap;

use super::grid::Grid;
use super::words::Word;

/// What the numbers along one side of a grid say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Ruler {
    /// How many columns or rows lie before the page's first.
    pub(super) before: Option<i32>,
    /// Whether numbers grow to the left or upwards.
    pub(super) backwards: bool,
}

/// The rulers of a page: columns, rows.
pub(super) fn read(grid: &Grid, words: &[Word]) -> [Ruler; 2] {
    [0, 1].map(|axis| along(grid, words, axis))
}

/// A number beside the grid, and where along it, in squares.
type Label = (i32, f64);

fn along(grid: &Grid, words: &[Word], axis: usize) -> Ruler {
    // Numbers of one ruler stand as far from the grid as each other; those of a heading stand elsewhere.
    let mut rulers: BTreeMap<(bool, i64), Vec<Label>> = BTreeMap::new();
    for word in words {
        let Some(number) = word.number() else { continue };
        let place = grid.place(word.middle())[axis];
        let end = |at: usize| f64::from(word.area[at]);
        let side = grid.at[1 - axis] + grid.cell[1 - axis] * f64::from(grid.count[1 - axis]);
        let before = grid.at[1 - axis] - end(3 - axis);
        let after = end(1 - axis) - side;
        let off = before.max(after);
        let room = (2.6 * grid.cell[1 - axis]).max(30.0);
        let on = (-0.7..f64::from(grid.count[axis]) + 0.7).contains(&place);
        if off > -0.5 && off < room && on {
            rulers.entry((before > after, (off / 2.5).round() as i64)).or_default().push((number, place));
        }
    }
    let mut read: Vec<(usize, Ruler)> = rulers.values().map(|labels| of_labels(labels)).collect();
    read.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
    let sure = read.iter().find(|(_, ruler)| ruler.before.is_some() || ruler.backwards);
    sure.map(|(_, ruler)| *ruler).unwrap_or_default()
}

/// What the numbers of one ruler say, and how many of them say so.
fn of_labels(labels: &[Label]) -> (usize, Ruler) {
    let at_line = |place: f64| (place - place.round()).abs() < 0.26;
    // Numbers of squares stand at the line before where all of them are one more than a ten.
    let lines: Vec<&Label> = labels.iter().filter(|label| at_line(label.1)).collect();
    let one_more = lines.len() > 1 && lines.iter().all(|label| label.0 % 10 == 1);
    let squares_before = |place: f64| {
        if at_line(place) { place.round() as i32 + i32::from(one_more) } else { place.floor() as i32 + 1 }
    };
    let mut forward: BTreeMap<i32, usize> = BTreeMap::new();
    let mut backward: BTreeMap<i32, usize> = BTreeMap::new();
    for &(number, place) in labels {
        *forward.entry(number - squares_before(place)).or_default() += 1;
        *backward.entry(number + squares_before(place)).or_default() += 1;
    }
    let best = |votes: &BTreeMap<i32, usize>| {
        votes.iter().max_by_key(|&(before, count)| (*count, -before)).map(|(&before, &count)| (before, count))
    };
    let (ahead, back) = (best(&forward), best(&backward));
    let ten = labels.len() == 1 && labels.iter().all(|label| label.0 % 10 == 0);
    let is_sure = |count: usize| count * 10 >= labels.len() * 6 && (count > 1 || ten);
    let ahead = ahead.filter(|&(before, count)| is_sure(count) && before >= 0);
    let back = back.filter(|&(_, count)| ahead.is_none() && count > 2 && is_sure(count));
    let count = ahead.or(back).map_or(0, |(_, count)| count);
    (count, Ruler { before: ahead.map(|(before, _)| before), backwards: back.is_some() })
}
