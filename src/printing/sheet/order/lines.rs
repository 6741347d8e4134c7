//! From outlines and letters to a line that can be followed: the holes in their order, in front and behind.
//!
//! Double running is walked out and home as `planning::double_running` has it, a stitch in front and one behind by turns,
//! so that every stitch is passed twice; the two passes are drawn side by side, each to the right of the way it goes.
//! Backstitch is drawn along its stitches.

use super::path::{LANE, Needleful, Piece, Way};
use crate::chart::{LineStitch, WorkedLine};
use crate::planning::double_running::{Hole, walks};

/// A step from hole to hole, the thread that it takes, and how far to its right it is drawn, in cells.
struct Step {
    way: Way,
    from: Hole,
    to: Hole,
    takes: f64,
    aside: f64,
}

/// The lengths of thread of lines that are worked in the same thread, one after the other: a figure that begins within
/// `travel` of where the last one ended goes on with its thread, as long as that lasts. `useful` is what can be sewn of
/// one, in cells.
pub(super) fn needlefuls(lines: &[&WorkedLine], travel: f64, useful: f64) -> Vec<Needleful> {
    let mut threads: Vec<Needleful> = Vec::new();
    let (mut last, mut used): (Option<Hole>, f64) = (None, 0.0);
    for figure in figures(lines) {
        for (place, step) in figure.iter().enumerate() {
            let gap = last.map_or(f64::INFINITY, |hole| distance(hole, step.from));
            let goes_on = used + gap + step.takes <= useful && (place > 0 || gap <= travel);
            match threads.last_mut() {
                Some(thread) if goes_on => {
                    if gap > 0.0 {
                        thread.pieces.push(Piece {
                            way: Way::Travel,
                            from: thread.end,
                            to: step.from.map(f64::from),
                        });
                    }
                    used += gap;
                }
                _ => {
                    let start = step.from.map(f64::from);
                    threads.push(Needleful { start, end: start, pieces: Vec::new() });
                    used = 0.0;
                }
            }
            if let Some(thread) = threads.last_mut() {
                thread.pieces.push(drawn(step));
                thread.end = step.to.map(f64::from);
            }
            used += step.takes;
            last = Some(step.to);
        }
    }
    threads
}

/// The figures in the order in which thread is reckoned for them (`planning::lengths`).
fn figures(lines: &[&WorkedLine]) -> Vec<Vec<Step>> {
    let double = |line: &&&WorkedLine| line.stitch == LineStitch::DoubleRunning;
    let stitches: Vec<[Hole; 2]> = lines.iter().filter(double).flat_map(|line| line.stitches()).collect();
    let mut figures: Vec<Vec<Step>> = walks(&stitches).iter().map(|walk| walked(walk)).collect();
    for line in lines.iter().filter(|line| line.stitch == LineStitch::Backstitch) {
        let mut before = 0.0;
        let step = |[from, to]: [Hole; 2]| {
            // In front once, and behind under itself and the one before.
            let long = distance(from, to);
            let takes = if before > 0.0 { 2.0 * long + before } else { long };
            before = long;
            Step { way: Way::First, from, to, takes, aside: 0.0 }
        };
        figures.push(line.stitches().map(step).collect());
    }
    figures
}

/// A walk as steps: every other one is behind; in front the first pass of a stitch goes out, the second home.
fn walked(walk: &[Hole]) -> Vec<Step> {
    let mut passed = std::collections::BTreeSet::new();
    let mut steps = Vec::new();
    for (place, pair) in walk.windows(2).enumerate() {
        let [from, to] = [pair[0], pair[1]];
        let is_new = passed.insert([from.min(to), from.max(to)]);
        let way = match (place % 2, is_new) {
            (1, _) => Way::Behind,
            (_, true) => Way::First,
            (_, false) => Way::Second,
        };
        steps.push(Step { way, from, to, takes: distance(from, to), aside: LANE });
    }
    steps
}

fn drawn(step: &Step) -> Piece {
    let [from, to] = [step.from, step.to].map(|hole| hole.map(f64::from));
    let aside = step.aside / distance(step.from, step.to).max(1e-9);
    // To the right as one walks, y pointing down.
    let [x, y] = [-(to[1] - from[1]) * aside, (to[0] - from[0]) * aside];
    Piece { way: step.way, from: [from[0] + x, from[1] + y], to: [to[0] + x, to[1] + y] }
}

fn distance([x, y]: Hole, [to_x, to_y]: Hole) -> f64 {
    libm::hypot(f64::from(to_x - x), f64::from(to_y - y))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::chart::{LineLayer, LinePattern};

    pub(in super::super) fn line(points: Vec<[i32; 2]>, stitch: LineStitch, closed: bool) -> WorkedLine {
        WorkedLine {
            mark: "crab".into(),
            label: "Crab".into(),
            threads: Vec::new(),
            pattern: LinePattern::Solid,
            stitch,
            points,
            closed,
            lane: 0.0,
            layer: LineLayer::Outlines,
        }
    }

    #[test]
    fn a_square_in_double_running_is_out_and_home_with_every_stitch_in_front_once() {
        let square = line(vec![[0, 0], [3, 0], [3, 3], [0, 3]], LineStitch::DoubleRunning, true);
        let threads = needlefuls(&[&square], 5.0, 1000.0);
        assert_eq!((threads.len(), threads[0].pieces.len()), (1, 8));
        assert_eq!((threads[0].start, threads[0].end), ([0.0, 0.0], [0.0, 0.0]));
        let count = |way: Way| threads[0].pieces.iter().filter(|piece| piece.way == way).count();
        assert_eq!((count(Way::First) + count(Way::Second), count(Way::Behind)), (4, 4));
        // The two passes of a stitch lie on both sides of it.
        let first = &threads[0].pieces[0];
        assert_eq!((first.from, first.to), ([0.0, LANE], [3.0, LANE]));
        let last = threads[0].pieces.last().unwrap();
        assert!((last.from[1] + LANE).abs() < 1e-9 || (last.from[0] - LANE).abs() < 1e-9, "{last:?}");
    }

    #[test]
    fn a_thread_that_runs_out_ends_and_the_next_begins_where_it_ended() {
        let points: Vec<[i32; 2]> = (0..=40).map(|x| [x, 0]).collect();
        for (stitch, whole) in [(LineStitch::DoubleRunning, 80.0), (LineStitch::Backstitch, 118.0)] {
            let long = line(points.clone(), stitch, false);
            assert_eq!(long.thread_length(), whole);
            let threads = needlefuls(&[&long], 5.0, 30.0);
            assert!(threads.len() as f64 >= whole / 30.0 && threads.len() < 6, "{}", threads.len());
            assert!(threads.windows(2).all(|pair| pair[0].end == pair[1].start));
        }
        // A figure near by goes on with the thread, one far away begins another.
        let at = |x: i32| line(vec![[x, 0], [x + 1, 0]], LineStitch::Backstitch, false);
        let (here, near, far) = (at(0), at(4), at(30));
        let threads = needlefuls(&[&here, &near, &far], 5.0, 1000.0);
        assert_eq!(threads.iter().map(|thread| thread.pieces.len()).collect::<Vec<_>>(), [3, 1]);
        assert_eq!(threads[0].pieces[1].way, Way::Travel);
    }
}
