//! Which part of the chart a page shows, by the numbers beside its grid.
//!
//! A number stands at the line after its square, or over its square; both say how many squares lie before. Where the tens
//! and one stand at lines (1, 11, 21), a number is that of the square after its line. Numbers may also begin at the middle
//! of the chart and grow to both sides.

use std::collections::BTreeMap;

use super::grid::Grid;
use super::words::Word;

/// What the numbers along one side of a grid say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Ruler {
    /// How many columns or rows lie before the page's first; from the middle of the chart where numbers begin there.
    pub(super) before: Option<i32>,
    /// How many squares from the page's first the numbers begin that grow to the left or upwards.
    back: Option<i32>,
    /// Whether so many numbers grow backwards that the page says so alone.
    sure: bool,
    /// Whether numbers grow to the left or upwards alone.
    pub(super) backwards: bool,
}

/// The rulers of all pages, each with the words beside its grid: columns, rows.
pub(super) fn read<'w>(pages: impl Iterator<Item = (&'w Grid, &'w [Word])>) -> Vec<[Ruler; 2]> {
    let mut rulers: Vec<[Ruler; 2]> =
        pages.map(|(grid, words)| [0, 1].map(|axis| along(grid, words, axis))).collect();
    for axis in 0..2 {
        // Numbers that grow to both sides begin at the middle.
        let is_from_middle = rulers.iter().any(|ruler| ruler[axis].before.is_some())
            && rulers.iter().any(|ruler| ruler[axis].back.is_some());
        for ruler in &mut rulers {
            let ruler = &mut ruler[axis];
            if is_from_middle && ruler.before.is_none() {
                ruler.before = ruler.back.map(|back| -back);
            }
            ruler.backwards = !is_from_middle && ruler.back.is_some() && ruler.sure;
        }
    }
    rulers
}

/// A number beside the grid, and where along it, in squares.
type Label = (i32, f64);

fn along(grid: &Grid, words: &[Word], axis: usize) -> Ruler {
    // Numbers of one ruler stand as far from the grid as each other; those of a heading stand elsewhere.
    let mut rulers: BTreeMap<(bool, i64), Vec<Label>> = BTreeMap::new();
    for (at, word) in words.iter().enumerate() {
        let Some(number) = word.number() else { continue };
        // A number in a phrase is none of a ruler: `page 7`, `20 strands`.
        let is_text = |other: &Word| other.text.chars().any(char::is_alphabetic);
        let before = at.checked_sub(1).and_then(|at| words.get(at));
        let after = words.get(at + 1);
        if before.is_some_and(|before| is_text(before) && word.follows(before))
            || after.is_some_and(|after| is_text(after) && after.follows(word))
        {
            continue;
        }
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
    let sure = read.iter().find(|(_, ruler)| ruler.before.is_some() || ruler.back.is_some());
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
        let lines_before = if at_line(place) { place.round() } else { place.floor() } as i32;
        *backward.entry(number + lines_before).or_default() += 1;
    }
    let best = |votes: &BTreeMap<i32, usize>| {
        votes.iter().max_by_key(|&(before, count)| (*count, -before)).map(|(&before, &count)| (before, count))
    };
    let (ahead, back) = (best(&forward), best(&backward));
    let is_most = |count: usize| count * 10 >= labels.len() * 6;
    // Both ways from one place.
    if let (Some((before, one)), Some((after, other))) = (ahead, back)
        && before == -after
        && before < 0
        && one > 0
        && other > 0
        && one + other > 2
        && is_most(one + other)
    {
        return (one + other, Ruler { before: Some(before), back: Some(after), ..Ruler::default() });
    }
    let ten = labels.len() == 1 && labels.iter().all(|label| label.0 % 10 == 0);
    let is_sure = |count: usize| is_most(count) && (count > 1 || ten);
    let ahead = ahead.filter(|&(before, count)| is_sure(count) && before >= 0);
    let back = back.filter(|&(_, count)| ahead.is_none() && is_sure(count));
    let count = ahead.or(back).map_or(0, |(_, count)| count);
    let ruler = Ruler {
        before: ahead.map(|(before, _)| before),
        back: back.map(|(after, _)| after),
        sure: count > 2,
        backwards: false,
    };
    (count, ruler)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(labels: &[Label]) -> [Option<i32>; 2] {
        let (_, ruler) = of_labels(labels);
        [ruler.before, ruler.back]
    }

    #[test]
    fn numbers_say_how_many_squares_lie_before() {
        // At lines, over squares, and one more than the tens at the lines before them.
        assert_eq!(read(&[(40, 0.0), (50, 10.0), (60, 20.0)]), [Some(40), None]);
        assert_eq!(read(&[(5, 4.5), (10, 9.5)]), [Some(0), None]);
        assert_eq!(read(&[(31, 0.0), (41, 10.0), (51, 20.0)]), [Some(30), None]);
    }

    #[test]
    fn numbers_from_the_middle_say_how_far_it_is() {
        assert_eq!(read(&[(20, 5.0), (10, 15.0), (10, 35.0), (20, 45.0)]), [Some(-25), Some(25)]);
        // Over squares: the tenth to each side.
        assert_eq!(read(&[(20, 5.5), (10, 15.5), (10, 34.5), (20, 44.5)]), [Some(-25), Some(25)]);
        assert_eq!(read(&[(60, 0.0), (50, 10.0), (40, 20.0)]), [None, Some(60)]);
    }
}
