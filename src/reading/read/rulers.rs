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
    let labels: Vec<Label> = words
        .iter()
        .filter_map(|word| {
            let number = word.number()?;
            let place = grid.place(word.middle());
            let side = f64::from(grid.count[1 - axis]);
            // Within some squares of the sides that run along this axis.
            let room = (30.0 / grid.cell[1 - axis]).max(2.6);
            let off = if place[1 - axis] < 0.0 { -place[1 - axis] } else { place[1 - axis] - side };
            let on = (-0.7..f64::from(grid.count[axis]) + 0.7).contains(&place[axis]);
            (off > 0.0 && off < room && on).then_some((number, place[axis]))
        })
        .collect();
    let at_line = |place: f64| (place - place.round()).abs() < 0.26;
    // Numbers of squares stand at the line before where all of them are one more than a ten.
    let lines: Vec<&Label> = labels.iter().filter(|label| at_line(label.1)).collect();
    let one_more = lines.len() > 1 && lines.iter().all(|label| label.0 % 10 == 1);
    let squares_before = |place: f64| {
        if at_line(place) { place.round() as i32 + i32::from(one_more) } else { place.floor() as i32 + 1 }
    };
    let mut forward: BTreeMap<i32, usize> = BTreeMap::new();
    let mut backward: BTreeMap<i32, usize> = BTreeMap::new();
    for &(number, place) in &labels {
        *forward.entry(number - squares_before(place)).or_default() += 1;
        *backward.entry(number + squares_before(place)).or_default() += 1;
    }
    let best = |votes: &BTreeMap<i32, usize>| {
        votes.iter().max_by_key(|&(before, count)| (*count, -before)).map(|(&before, &count)| (before, count))
    };
    let (ahead, back) = (best(&forward), best(&backward));
    let ten = labels.len() == 1 && labels.iter().all(|label| label.0 % 10 == 0);
    let is_sure = |count: usize| count * 10 >= labels.len() * 6 && (count > 1 || ten);
    let before = ahead.filter(|&(before, count)| is_sure(count) && before >= 0).map(|(before, _)| before);
    let backwards = before.is_none() && back.is_some_and(|(_, count)| count > 2 && is_sure(count));
    Ruler { before, backwards }
}
