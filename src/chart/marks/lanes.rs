//! How lines are told apart: a pattern each, and lanes side by side where they share holes.

use std::collections::{BTreeMap, BTreeSet, HashMap};

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
    let mut users: HashMap<[[i32; 2]; 2], Vec<(usize, bool)>> = HashMap::new();
    let mut same: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    let mut shared = vec![false; lines.len()];
    for &at in &order {
        for [from, to] in lines[at].stitches() {
            let (stitch, forwards) = if from <= to { ([from, to], true) } else { ([to, from], false) };
            let here = users.entry(stitch).or_default();
            for &(other, way) in here.iter().filter(|&&(other, _)| other != at) {
                (shared[at], shared[other]) = (true, true);
                if way == forwards {
                    same.entry(at).or_default().insert(other);
                }
            }
            here.push((at, forwards));
        }
    }
    let mut lanes = vec![0u16; lines.len()];
    for &at in &order {
        let taken: BTreeSet<u16> = same.get(&at).into_iter().flatten().map(|&other| lanes[other]).collect();
        lanes[at] = (0..).find(|lane| !taken.contains(lane)).unwrap_or_default();
        if shared[at] {
            lines[at].lane = f64::from(lanes[at]) + 0.5;
        }
    }
}
