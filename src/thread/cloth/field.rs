//! How much of the cloth stitches that are no full crosses hide, in a field of their kind.
//!
//! Owns the geometry of legs that are drawn together at their holes. Leaves how wide a leg is to
//! [`CoverModel`](super::CoverModel).
//!
//! A half cross, a quarter and a three-quarter stitch are looked at in a field of the same stitch: their legs are
//! wider than their own square has room for, and what hangs over lies on the next. Full crosses need no such
//! model: where a leg hangs over its square at a corner, the leg of the neighbour that ends there hides as much.
//!
//! A leg by itself is as wide in its middle as its strands lie flat, and where it enters a hole no wider than they
//! are round: thread cannot stay spread where it passes a hole of the cloth. Between, its width follows the root of
//! a sine, which rises steeply at the holes as thread does. Bands of one width throughout would hide all of a 14
//! count cloth with half crosses of two strands; common practice knows that they do not (no source). For full crosses
//! bands stay: how flat a strand lies was set by what such crosses hide, so that their ends are in it already.

use std::sync::LazyLock;

use super::StitchKind;

/// Places along a leg: so many that no share is off by a thousandth.
const PLACES: usize = 256;

/// Places across and along the gap that a quarter of a three-quarter stitch fills.
const GAP_PLACES: usize = 48;

/// The root of the sine over a leg from hole to hole, at the middles of [`PLACES`] equal parts.
static BULGE: LazyLock<[f64; PLACES]> = LazyLock::new(|| {
    std::array::from_fn(|place| {
        libm::sqrt(libm::sin((place as f64 + 0.5) / PLACES as f64 * std::f64::consts::PI))
    })
});

/// A leg: its width in its middle and at its holes, in sides of a cell.
#[derive(Debug, Clone, Copy)]
pub(super) struct Leg {
    pub(super) middle: f64,
    pub(super) hole: f64,
}

impl Leg {
    /// The width at one of [`PLACES`] from hole to hole.
    fn at(self, place: usize) -> f64 {
        self.hole + (self.middle - self.hole) * BULGE[place]
    }

    /// The width so far along, 0 to 1.
    fn along(self, share: f64) -> f64 {
        #[allow(clippy::cast_sign_loss, reason = "held above nothing")]
        let place = (share * PLACES as f64).max(0.0) as usize;
        self.at(place.min(PLACES - 1))
    }

    fn mean(places: usize, of: impl Fn(usize) -> f64) -> f64 {
        (0..places).map(of).sum::<f64>() / places as f64
    }

    /// Half crosses: legs lie end to end on lines `1/sqrt 2` apart. Beside a leg's middle lie the holes of the next
    /// line, half a leg on, so the gap at any place is what both leave of the distance.
    fn half_crosses(self) -> f64 {
        let half_on = |place: usize| (place + PLACES / 2) % PLACES;
        Self::mean(PLACES, |place| {
            ((self.at(place) + self.at(half_on(place))) / std::f64::consts::SQRT_2).min(1.0)
        })
    }

    /// Quarters in one corner of every cell: legs half as long on the same lines, and beside each a line that is bare
    /// there, so that it has `sqrt 2` to itself. In the middle of the cell too it is drawn together.
    fn quarters(self) -> f64 {
        Self::mean(PLACES, |place| (self.at(place) / std::f64::consts::SQRT_2).min(1.0))
    }

    /// Three-quarter stitches in one corner of every cell: half crosses, and the part of each quarter that lies in the
    /// gap between two lines of them, from the hole of one line in its corner to the middle of the leg in its cell.
    fn three_quarters(self) -> f64 {
        let apart = std::f64::consts::FRAC_1_SQRT_2;
        // From the quarter's own line, to either side.
        let most = (self.middle.max(self.hole) / 2.0).min(apart);
        let step = most / GAP_PLACES as f64;
        let beside = |place: usize| {
            let aside = (place as f64 + 0.5) * step;
            let low = self.along(0.5 + aside * apart) / 2.0;
            let high = apart - self.along(aside * apart) / 2.0;
            let tall = (high - low).max(0.0) / GAP_PLACES as f64;
            let within = (0..GAP_PLACES).filter(|&at| {
                let from_hole = apart - (low + (at as f64 + 0.5) * tall);
                aside <= self.along(from_hole / apart) / 2.0
            });
            within.count() as f64 * tall
        };
        let filled = 2.0 * step * (0..GAP_PLACES).map(beside).sum::<f64>();
        (self.half_crosses() + filled).min(1.0)
    }

    /// The share of the cloth that a field of such stitches hides; `None` for full crosses.
    pub(super) fn hidden(self, stitch: StitchKind) -> Option<f64> {
        match stitch {
            StitchKind::FullCross => None,
            StitchKind::HalfCross | StitchKind::HalfCrossBack => Some(self.half_crosses()),
            StitchKind::Quarter(_) => Some(self.quarters()),
            StitchKind::ThreeQuarter(_) => Some(self.three_quarters()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Diagonal;
    use super::*;

    /// Whether a point of a cell, y down, lies under a leg of its own stitch or of one of the eight round it: the
    /// field as it is drawn, point by point.
    fn under(kind: StitchKind, leg: Leg, [x, y]: [f64; 2]) -> bool {
        let cells =
            (-1..=1).flat_map(|down| (-1..=1).map(move |across| [f64::from(across), f64::from(down)]));
        cells.flat_map(|cell| kind.legs().iter().map(move |leg| (cell, leg))).any(|([across, down], ends)| {
            let &(diagonal, corner) = ends;
            let [mut from, mut to] = diagonal.ends().map(|end| end.place().map(f64::from));
            if let Some(corner) = corner {
                (from, to) = (corner.place().map(f64::from), [0.5, 0.5]);
            }
            let (from, to) = ([from[0] + across, from[1] + down], [to[0] + across, to[1] + down]);
            let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
            let long = dx.hypot(dy);
            let along = ((x - from[0]) * dx + (y - from[1]) * dy) / (long * long);
            let aside = ((x - from[0]) * dy - (y - from[1]) * dx).abs() / long;
            let bulge = (along * std::f64::consts::PI).sin().max(0.0).sqrt();
            (0.0..=1.0).contains(&along) && aside <= (leg.hole + (leg.middle - leg.hole) * bulge) / 2.0
        })
    }

    fn counted(kind: StitchKind, leg: Leg) -> f64 {
        let side = 100;
        let point = |at: i32| (f64::from(at) + 0.5) / f64::from(side);
        let points = (0..side).flat_map(|row| (0..side).map(move |column| [point(column), point(row)]));
        points.filter(|&at| under(kind, leg, at)).count() as f64 / f64::from(side * side)
    }

    #[test]
    fn a_field_hides_what_a_raster_of_its_legs_shows() {
        // Outside check: the legs of nine cells drawn point by point, bands and legs drawn together at their holes,
        // from a thin thread to one that fills the cell; every kind in every corner.
        for middle in [0.15, 0.5, 0.9] {
            for pinch in [1.0, 1.0 / 3.0] {
                let leg = Leg { middle, hole: middle * pinch };
                for kind in StitchKind::all().filter(|&kind| kind != StitchKind::FullCross) {
                    let (found, counted) = (leg.hidden(kind).unwrap_or_default(), counted(kind, leg));
                    assert!((found - counted).abs() < 0.015, "{kind} {leg:?}: {found}, not {counted}");
                }
            }
        }
    }

    #[test]
    fn overhang_adds_nothing_to_full_crosses() {
        // A raster of bands with their neighbours against the closed form of one cell by itself.
        for middle in [0.2, 0.5] {
            let corner: f64 = 1.0 - middle / std::f64::consts::SQRT_2;
            let alone = 2.0 * (1.0 - corner * corner) - middle * middle;
            let counted = counted(StitchKind::FullCross, Leg { middle, hole: middle });
            assert!((alone - counted).abs() < 0.015, "{middle}: {alone}, not {counted}");
        }
        assert_eq!(StitchKind::FullCross.legs()[0].0, Diagonal::Rising);
    }
}
