//! Double running: how to work any connected figure of lines so that both sides look alike.
//!
//! Owns the order of the stitches. Leaves lengths and skeins to `kit`.

use std::collections::BTreeMap;

/// A corner of cells: `[x, y]` is the top left of the cell in column `x` and row `y`, from 0.
pub type Hole = [i32; 2];

/// A walk for each connected figure that the stitches make: the holes in their order, beginning and ending in
/// the same one.
///
/// A figure of E stitches takes exactly 2E steps: each stitch is passed once in front (the first step, and
/// every other one after it) and once behind. So it is after going out along a stitch, working all that hangs
/// on its far end, and coming home along it: between the two passes lies an even number of steps, as all that
/// was worked there was passed twice. Two stitches between the same holes are two stitches; one that ends where
/// it begins is none.
#[must_use]
pub fn walks(stitches: &[[Hole; 2]]) -> Vec<Vec<Hole>> {
    let mut at: BTreeMap<Hole, Vec<usize>> = BTreeMap::new();
    for (index, &[from, to]) in stitches.iter().enumerate().filter(|(_, [from, to])| from != to) {
        at.entry(from).or_default().push(index);
        at.entry(to).or_default().push(index);
    }
    // The hole's stitches are taken from the end: the first given is the first worked.
    for ends in at.values_mut() {
        ends.reverse();
    }
    let mut passed = vec![false; stitches.len()];
    let mut reached: BTreeMap<Hole, ()> = BTreeMap::new();
    let mut walks = Vec::new();
    for &[start, to] in stitches {
        if start == to || reached.contains_key(&start) {
            continue;
        }
        reached.insert(start, ());
        let mut walk = vec![start];
        let mut way = vec![start];
        while let Some(&here) = way.last() {
            let next = at.get_mut(&here).and_then(Vec::pop);
            match next {
                Some(stitch) if passed[stitch] => {}
                Some(stitch) => {
                    passed[stitch] = true;
                    let [from, to] = stitches[stitch];
                    let there = if from == here { to } else { from };
                    walk.push(there);
                    if reached.insert(there, ()).is_none() {
                        way.push(there);
                    } else {
                        // It closes a ring: home along it at once.
                        walk.push(here);
                    }
                }
                None => {
                    way.pop();
                    walk.extend(way.last());
                }
            }
        }
        walks.push(walk);
    }
    walks
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_line_is_worked_out_and_home() {
        assert_eq!(walks(&[[[0, 0], [1, 0]], [[1, 0], [2, 0]]]), [[[0, 0], [1, 0], [2, 0], [1, 0], [0, 0]]]);
        assert!(walks(&[[[3, 3], [3, 3]]]).is_empty());
    }

    proptest! {
        #[test]
        fn each_stitch_is_passed_once_in_front_and_once_behind(
            stitches in prop::collection::vec((0i32..6, 0i32..6, -1i32..=1, -1i32..=1), 1..60),
        ) {
            let stitches: Vec<[Hole; 2]> = stitches
                .into_iter()
                .map(|(x, y, dx, dy)| [[x, y], [x + dx, y + dy]])
                .filter(|[from, to]| from != to)
                .collect();
            let mut sides: BTreeMap<[Hole; 2], [usize; 2]> = BTreeMap::new();
            let mut steps = 0;
            for walk in walks(&stitches) {
                prop_assert_eq!(walk.first(), walk.last());
                for (place, pair) in walk.windows(2).enumerate() {
                    let key = [pair[0].min(pair[1]), pair[0].max(pair[1])];
                    sides.entry(key).or_default()[place % 2] += 1;
                    steps += 1;
                }
            }
            prop_assert_eq!(steps, 2 * stitches.len());
            for ([from, to], [front, behind]) in sides {
                let wanted = stitches
                    .iter()
                    .filter(|[one, two]| [*one.min(two), *one.max(two)] == [from, to])
                    .count();
                prop_assert_eq!([front, behind], [wanted, wanted]);
            }
        }
    }
}
