//! From the legs of a working order to a line that can be followed with a finger.

use crate::planning::route::{Leg, NeedleRoute, distance};
use crate::thread::cloth::{Diagonal, StitchKind};

/// How far the line of first legs and that of second legs run from the middle of the cells, in cells: two lanes
/// side by side, the way out to the lower left, the way home to the upper right.
pub(super) const LANE: f64 = 0.17;

/// How a piece of the line is worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// The first legs of stitches, or the only ones.
    First,
    /// The second legs, over the first.
    Second,
    /// On the back, past cells that are not worked now.
    Travel,
    /// On the back, along a line: a stitch of double running as it is seen behind.
    Behind,
}

/// A piece of the line, in cells from the top left of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    pub(super) way: Way,
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
}

/// What is worked with one length of thread, from its start to its end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Needleful {
    pub(super) start: [f64; 2],
    pub(super) end: [f64; 2],
    pub(super) pieces: Vec<Piece>,
}

/// The lengths of thread of a needle, one after the other. `useful` is what can be sewn of one, in cells.
pub(super) fn needlefuls(route: &NeedleRoute, kind: StitchKind, useful: f64) -> Vec<Needleful> {
    let parts = route.stretches.iter().flat_map(|stretch| cut(&stretch.legs, useful));
    parts.filter_map(|legs| needleful(legs, kind)).collect()
}

/// Cuts a stretch where the thread runs out: before the leg for which it is too short.
fn cut(legs: &[Leg], useful: f64) -> Vec<&[Leg]> {
    let (mut parts, mut from, mut used) = (Vec::new(), 0, 0.0);
    for at in 0..legs.len() {
        let leg = distance(legs[at].from, legs[at].to);
        let back = if at > from { distance(legs[at - 1].to, legs[at].from) } else { 0.0 };
        if at > from && used + back + leg > useful + 1e-9 {
            parts.push(&legs[from..at]);
            (from, used) = (at, leg);
        } else {
            used += back + leg;
        }
    }
    parts.push(&legs[from..]);
    parts
}

fn is_second(leg: &Leg, kind: StitchKind) -> bool {
    let (across, down) = (leg.to[0] - leg.from[0], leg.to[1] - leg.from[1]);
    let diagonal = if (across > 0) == (down > 0) { Diagonal::Falling } else { Diagonal::Rising };
    kind.legs().first().is_some_and(|(first, _)| *first != diagonal)
}

/// Where the line passes for a leg.
fn place(leg: &Leg, kind: StitchKind) -> [f64; 2] {
    let lane = match (kind.legs().len(), is_second(leg, kind)) {
        (1, _) => 0.0,
        (_, false) => -LANE,
        (_, true) => LANE,
    };
    [f64::from(leg.cell[0]) + 0.5 + lane, f64::from(leg.cell[1]) + 0.5 - lane]
}

fn needleful(legs: &[Leg], kind: StitchKind) -> Option<Needleful> {
    let (first, last) = (legs.first()?, legs.last()?);
    let piece = |pair: &[Leg]| {
        let apart = [0, 1].map(|axis| pair[0].cell[axis].abs_diff(pair[1].cell[axis]));
        // Cells that touch at a corner share a hole or have two a side apart: that is no travel.
        let is_near = match apart {
            [0, 0] | [0, 1] | [1, 0] => true,
            [1, 1] => distance(pair[0].to, pair[1].from) < 1.0 + 1e-9,
            _ => false,
        };
        let way = match (is_near, is_second(&pair[1], kind)) {
            (false, _) => Way::Travel,
            (true, true) => Way::Second,
            (true, false) => Way::First,
        };
        Piece { way, from: place(&pair[0], kind), to: place(&pair[1], kind) }
    };
    let pieces = legs.windows(2).map(piece).collect();
    Some(Needleful { start: place(first, kind), end: place(last, kind), pieces })
}

/// The part of a piece within `[left, top, right, bottom]`, where there is one (Liang and Barsky 1984).
pub(super) fn within(piece: &Piece, [left, top, right, bottom]: [f64; 4]) -> Option<Piece> {
    let [x, y] = piece.from;
    let [dx, dy] = [piece.to[0] - x, piece.to[1] - y];
    let (mut enters, mut leaves) = (0.0f64, 1.0f64);
    for (step, room) in [(-dx, x - left), (dx, right - x), (-dy, y - top), (dy, bottom - y)] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enters = enters.max(room / step);
        } else {
            leaves = leaves.min(room / step);
        }
    }
    let at = |share: f64| [x + dx * share, y + dy * share];
    (enters < leaves).then(|| Piece { way: piece.way, from: at(enters), to: at(leaves) })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::progress::Silent;
    use crate::planning::route::{route, tests::chart};

    #[test]
    fn every_leg_is_on_the_line_once_and_no_needleful_is_longer_than_can_be_sewn() {
        for kind in StitchKind::all() {
            let cells: Vec<u8> = (0..30 * 20).map(|at| u8::from(at % 7 < 5 && at % 11 != 3)).collect();
            let chart = chart(30, &cells, kind);
            let route = &route(&chart, 5.0, &Silent).unwrap()[0];
            let legs: usize = route.stretches.iter().map(|stretch| stretch.legs.len()).sum();
            let needlefuls = needlefuls(route, kind, 60.0);
            let drawn: usize = needlefuls.iter().map(|needleful| needleful.pieces.len() + 1).sum();
            assert_eq!(drawn, legs, "{kind}");
            let whole: f64 = route.lengths().iter().sum();
            assert!(needlefuls.len() as f64 >= whole / 60.0, "{kind}");
            for stretch in &route.stretches {
                for part in cut(&stretch.legs, 60.0) {
                    let front: f64 = part.iter().map(|leg| distance(leg.from, leg.to)).sum();
                    let back: f64 = part.windows(2).map(|pair| distance(pair[0].to, pair[1].from)).sum();
                    assert!(front + back <= 60.0 + 1e-6, "{kind}");
                }
            }
            // One piece follows on the other, and second legs come only where there are two.
            for needleful in &needlefuls {
                let mut at = needleful.start;
                for piece in &needleful.pieces {
                    assert_eq!(piece.from, at);
                    assert!(piece.way != Way::Second || kind.legs().len() == 2);
                    at = piece.to;
                }
                assert_eq!(at, needleful.end);
            }
        }
    }

    #[test]
    fn a_row_is_first_legs_out_and_second_legs_home() {
        let chart = chart(5, &[1; 5], StitchKind::FullCross);
        let needlefuls = needlefuls(&route(&chart, 5.0, &Silent).unwrap()[0], StitchKind::FullCross, 1000.0);
        let ways: Vec<Way> = needlefuls[0].pieces.iter().map(|piece| piece.way).collect();
        assert_eq!(ways, [[Way::First; 4].as_slice(), &[Way::Second; 5]].concat());
    }

    #[test]
    fn pieces_are_clipped_to_the_page() {
        let piece = Piece { way: Way::Travel, from: [0.0, 0.0], to: [10.0, 5.0] };
        let part = within(&piece, [2.0, 0.0, 6.0, 10.0]).unwrap();
        assert_eq!((part.from, part.to), ([2.0, 1.0], [6.0, 3.0]));
        assert_eq!(within(&piece, [0.0, 6.0, 10.0, 8.0]), None);
        assert_eq!(within(&piece, [-1.0, -1.0, 11.0, 11.0]), Some(piece));
    }
}
