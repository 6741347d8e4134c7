//! How lines are told apart: a pattern each, and lanes side by side where they share holes.

use std::collections::HashMap;

use crate::chart::{LinePattern, WorkedLine};

/// Motifs this near are neighbours, in cells: about the width of a thumb on the page.
const NEAR: i32 = 6;

/// One outline that is to get a pattern.
pub(super) struct Patterned<'a> {
    pub(super) name: &'a str,
    /// First and last columns and rows of its motif.
    pub(super) extent: [i32; 4],
    pub(super) asked: Option<LinePattern>,
}

/// A pattern for each outline: the one asked for, or one that no neighbour has and few others. Settled in the
/// order of names, so that the order of the marks does not matter.
pub(super) fn patterns(outlines: &[Patterned]) -> Vec<LinePattern> {
    let mut chosen: Vec<Option<LinePattern>> = outlines.iter().map(|outline| outline.asked).collect();
    let mut order: Vec<usize> = (0..outlines.len()).collect();
    order.sort_by_key(|&at| outlines[at].name);
    for &at in &order {
        if chosen[at].is_some() {
            continue;
        }
        let uses = |pattern: LinePattern, near_only: bool| {
            let others = (0..outlines.len()).filter(|&other| other != at && chosen[other] == Some(pattern));
            others.filter(|&other| !near_only || near(&outlines[at].extent, &outlines[other].extent)).count()
        };
        chosen[at] =
            LinePattern::ALL.into_iter().min_by_key(|&pattern| (uses(pattern, true), uses(pattern, false)));
    }
    chosen.into_iter().map(|pattern| pattern.unwrap_or(LinePattern::Solid)).collect()
}

fn near(one: &[i32; 4], two: &[i32; 4]) -> bool {
    one[0] - NEAR <= two[2] && two[0] - NEAR <= one[2] && one[1] - NEAR <= two[3] && two[1] - NEAR <= one[3]
}

/// Puts lines that share a stitch into lanes of their own. A closed line lies in lanes on its inside; two that
/// pass the same holes in opposite ways (neighbours) are then on their own sides, two that go the same way
/// (one motif outlined twice, or one within another) are one within the other.
pub(super) fn set_apart(lines: &mut [WorkedLine]) {
    let mut order: Vec<usize> = (0..lines.len()).collect();
    order.sort_by(|&one, &two| (&lines[one].mark, one).cmp(&(&lines[two].mark, two)));
    let mut users: HashMap<[[i32; 2]; 2], Users> = HashMap::new();
    let mut shared = vec![false; lines.len()];
    let mut lanes = vec![0usize; lines.len()];
    for &at in &order {
        let mut taken = Lanes::default();
        for [from, to] in lines[at].stitches() {
            let here = users.entry(stitch(from, to)).or_insert_with(|| Users::of(at));
            if here.first != at {
                (shared[at], shared[here.first]) = (true, true);
                taken.add(&here.ways[usize::from(from <= to)]);
            }
        }
        lanes[at] = taken.first_free();
        for [from, to] in lines[at].stitches() {
            if let Some(here) = users.get_mut(&stitch(from, to)) {
                here.ways[usize::from(from <= to)].take(lanes[at]);
            }
        }
    }
    for (at, line) in lines.iter_mut().enumerate().filter(|(at, _)| shared[*at]) {
        line.lane = lanes[at] as f64 + 0.5;
    }
}

/// A stitch, whichever way it is gone.
fn stitch(from: [i32; 2], to: [i32; 2]) -> [[i32; 2]; 2] {
    if from <= to { [from, to] } else { [to, from] }
}

/// Who works a stitch: the first line, and the lanes that are taken by those that go backwards and forwards.
struct Users {
    first: usize,
    ways: [Lanes; 2],
}

impl Users {
    fn of(first: usize) -> Self {
        Self { first, ways: [Lanes::default(), Lanes::default()] }
    }
}

/// Lanes, a bit each: hundreds of lines may share a stitch.
#[derive(Default)]
struct Lanes(Vec<u64>);

impl Lanes {
    fn take(&mut self, lane: usize) {
        let word = lane / 64;
        if self.0.len() <= word {
            self.0.resize(word + 1, 0);
        }
        self.0[word] |= 1 << (lane % 64);
    }

    fn add(&mut self, other: &Self) {
        if self.0.len() < other.0.len() {
            self.0.resize(other.0.len(), 0);
        }
        self.0.iter_mut().zip(&other.0).for_each(|(word, other)| *word |= other);
    }

    fn first_free(&self) -> usize {
        let word = self.0.iter().position(|&word| word != u64::MAX).unwrap_or(self.0.len());
        word * 64 + self.0.get(word).map_or(0, |word| word.trailing_ones() as usize)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_lane_that_nobody_has_is_found_among_hundreds() {
        let mut lanes = Lanes::default();
        for lane in 0..200 {
            assert_eq!(lanes.first_free(), lane);
            lanes.take(lane);
        }
        let mut some = Lanes::default();
        for lane in [0, 2, 130] {
            some.take(lane);
        }
        assert_eq!(some.first_free(), 1);
        some.add(&lanes);
        assert_eq!(some.first_free(), 200);
    }
}
