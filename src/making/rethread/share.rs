//! Which shade each thread gets: alone or shared, within what a box holds.
//!
//! Owns the choice. Leaves what threads look like to `rethread`.

use std::collections::BTreeMap;

use crate::ground::assignment;
use crate::ground::colour::Compared;

/// Costs are whole numbers for the method, in thousandths.
const UNITS: f64 = 1e3;

/// What two threads of one chart on one shade count for where they are to be kept apart: more than all colours can
/// differ together.
const APART: f64 = 1e10;

/// What a skein that the box has not counts for: more than that.
const SKEIN_SHORT: f64 = 1e14;

/// What the difference of two threads that share a shade counts for beside a thread that is as far off: a half, as it is
/// missed only where both are seen side by side (by eye, no source). With more, threads go to shades far off rather
/// than share; with none, like ones share for nothing.
const LOST: f64 = 0.5;

/// Rounds of changes, each over all threads: most charts settle in three.
const ROUNDS: usize = 100;

/// Whether two threads of a chart may get one shade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sharing {
    /// Where that costs less than keeping them apart.
    #[default]
    WhereItCostsLess,
    /// Only where the card has fewer shades than the chart has threads.
    Apart,
}

/// A thread that is to get a shade.
pub(super) struct Seeker {
    /// The chart it is in.
    pub(super) chart: usize,
    /// What it counts.
    pub(super) weight: f64,
    /// Metres of single strand that its chart takes.
    pub(super) metres: f64,
    /// What it looks like.
    pub(super) look: Compared,
    /// How far off each shade is, in ΔE00.
    pub(super) off: Vec<f64>,
}

/// What the box holds of a shade.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room {
    /// Metres of single strand in a skein.
    pub(super) skein: f64,
    /// Skeins; `None` where as many can be had as are wanted.
    pub(super) skeins: Option<f64>,
}

/// A shade for each thread.
struct Board<'a> {
    seekers: &'a [Seeker],
    room: &'a [Room],
    sharing: Sharing,
    places: Vec<usize>,
    on: Vec<Vec<usize>>,
}

/// A shade for each seeker: the least sum of squared ΔE00, each by its weight, where threads that share a shade pay
/// for what is lost between them, and no more is asked of a shade than there is room for as long as that can be.
///
/// From the best assignment of different shades within each chart (Kuhn 1955, Munkres 1957), and from the nearest
/// shade of each, threads are moved and exchanged as long as that costs less; the better of both is taken.
pub(super) fn shades(seekers: &[Seeker], room: &[Room], sharing: Sharing) -> Vec<usize> {
    let starts = [apart(seekers), seekers.iter().map(nearest).collect()];
    let settled = starts.into_iter().map(|places| {
        let mut board = Board::new(seekers, room, sharing, places);
        board.settle();
        board
    });
    let best = settled.min_by(|one, other| one.cost().total_cmp(&other.cost()));
    best.map(|board| board.places).unwrap_or_default()
}

fn nearest(seeker: &Seeker) -> usize {
    let off = seeker.off.iter().enumerate();
    off.min_by(|one, other| one.1.total_cmp(other.1)).map_or(0, |(shade, _)| shade)
}

/// Different shades for the threads of each chart, as long as there are enough.
fn apart(seekers: &[Seeker]) -> Vec<usize> {
    let mut charts: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, seeker) in seekers.iter().enumerate() {
        charts.entry(seeker.chart).or_default().push(at);
    }
    let mut places = vec![0; seekers.len()];
    for of_chart in charts.values() {
        let rows: Vec<Vec<f64>> = of_chart
            .iter()
            .map(|&at| seekers[at].off.iter().map(|off| off * off * seekers[at].weight).collect())
            .collect();
        for (&at, shade) in of_chart.iter().zip(assignment::assign(&rows, UNITS).1) {
            places[at] = shade;
        }
    }
    places
}

impl<'a> Board<'a> {
    fn new(seekers: &'a [Seeker], room: &'a [Room], sharing: Sharing, places: Vec<usize>) -> Self {
        let mut on = vec![Vec::new(); room.len()];
        for (at, &shade) in places.iter().enumerate() {
            on[shade].push(at);
        }
        Self { seekers, room, sharing, places, on }
    }

    /// What a shade costs with these threads on it.
    fn of(&self, shade: usize, threads: &[usize]) -> f64 {
        let mut cost = 0.0;
        let mut metres = 0.0;
        for &at in threads {
            let seeker = &self.seekers[at];
            cost += seeker.off[shade] * seeker.off[shade] * seeker.weight + self.lost(at, threads);
            metres += seeker.metres;
        }
        let Room { skein, skeins } = self.room[shade];
        let short = skeins.map_or(0.0, |skeins| (metres / skein - skeins).max(0.0));
        // A hair, so that the last bits of a sum are no skein.
        cost + if short > 1e-9 { short * SKEIN_SHORT } else { 0.0 }
    }

    /// What is lost where a thread shares a shade with heavier ones of its chart: its difference to the nearest of
    /// them can no longer be seen. In other charts nobody compares.
    fn lost(&self, at: usize, threads: &[usize]) -> f64 {
        let this = &self.seekers[at];
        let is_heavier = |other: usize| {
            let seeker = &self.seekers[other];
            seeker.chart == this.chart && (seeker.weight, other) > (this.weight, at)
        };
        let heavier = threads.iter().filter(|&&other| other != at && is_heavier(other));
        let apart = heavier.map(|&other| this.look.ciede2000(&self.seekers[other].look));
        let Some(least) = apart.min_by(f64::total_cmp) else { return 0.0 };
        match self.sharing {
            Sharing::Apart => APART,
            Sharing::WhereItCostsLess => LOST * least * least * this.weight,
        }
    }

    fn cost(&self) -> f64 {
        self.on.iter().enumerate().map(|(shade, threads)| self.of(shade, threads)).sum()
    }

    /// A shade's threads without one and with another.
    fn changed(&self, shade: usize, without: Option<usize>, with: Option<usize>) -> Vec<usize> {
        let rest = self.on[shade].iter().copied().filter(|&at| Some(at) != without);
        rest.chain(with).collect()
    }

    fn put(&mut self, at: usize, shade: usize) {
        let was = self.places[at];
        self.on[was].retain(|&other| other != at);
        self.on[shade].push(at);
        self.places[at] = shade;
    }

    /// Moves and exchanges as long as they gain.
    fn settle(&mut self) {
        for _ in 0..ROUNDS {
            let mut gained = false;
            for at in 0..self.seekers.len() {
                gained |= self.move_one(at) | self.exchange(at);
            }
            if !gained {
                return;
            }
        }
    }

    /// Moves a thread to the shade where all costs least.
    fn move_one(&mut self, at: usize) -> bool {
        let from = self.places[at];
        let here = self.of(from, &self.on[from]) - self.of(from, &self.changed(from, Some(at), None));
        let mut best = (here, from);
        for shade in (0..self.room.len()).filter(|&shade| shade != from) {
            // What it costs by itself is the least that it adds.
            let seeker = &self.seekers[at];
            if seeker.off[shade] * seeker.off[shade] * seeker.weight >= best.0 {
                continue;
            }
            let there =
                self.of(shade, &self.changed(shade, None, Some(at))) - self.of(shade, &self.on[shade]);
            if there < best.0 {
                best = (there, shade);
            }
        }
        let gains = is_less(best.0, here);
        if gains {
            self.put(at, best.1);
        }
        gains
    }

    /// Exchanges a thread with the one with which that gains most.
    fn exchange(&mut self, at: usize) -> bool {
        let here = self.places[at];
        let mut best: Option<(f64, usize)> = None;
        for other in 0..self.seekers.len() {
            let there = self.places[other];
            if there == here {
                continue;
            }
            let was = self.of(here, &self.on[here]) + self.of(there, &self.on[there]);
            let is = self.of(here, &self.changed(here, Some(at), Some(other)))
                + self.of(there, &self.changed(there, Some(other), Some(at)));
            if is_less(is, was) && best.is_none_or(|(gain, _)| was - is > gain) {
                best = Some((was - is, other));
            }
        }
        let Some((_, other)) = best else { return false };
        let there = self.places[other];
        self.put(at, there);
        self.put(other, here);
        true
    }
}

/// Less by more than rounding.
fn is_less(one: f64, other: f64) -> bool {
    one < other - 1e-9 * other.abs().max(1.0)
}
