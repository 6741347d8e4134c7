//! Which looks to take: a p-median over the whole card.
//!
//! Given what each group of cells would cost in each look, find the set of so many looks that costs least
//! when each group takes its best. Built up greedily or begun from k-means, then improved by exchanges of a
//! chosen look for one that is not (Teitz & Bart 1968, "Heuristic methods for estimating the generalized
//! vertex median of a weighted graph", Oper. Res. 16: 955-961). What an exchange gains is split into gain,
//! loss and correction after Resende & Werneck (2007), "A fast swap-based local search procedure for location
//! problems", Ann. Oper. Res. 150: 205-230, so that one pass over the groups prices a candidate against
//! every chosen look at once; the first exchange that gains is made at once, as in Schubert & Rousseeuw
//! (2021), "Fast and eager k-medoids clustering", Inf. Syst. 101: 101804.

use rand::Rng;
use rayon::prelude::*;

use super::costs::Costs;
use crate::ground::progress::{Progress, Stopped, ask};

/// What is to be served: the cost of each group in each look, already times its weight, and a price on
/// looks that one would rather not take.
#[derive(Debug)]
pub(super) struct Demand {
    /// Weighted cost of each look (row) for each group (column).
    pub(super) costs: Costs,
    /// What taking a look costs by itself, in the same measure.
    pub(super) price: Vec<f64>,
}

/// A look for each group, the best and the second best among the chosen, by place in the choice.
#[derive(Debug, Clone, Copy)]
struct Served {
    nearest: u32,
    second: u32,
    nearest_cost: f32,
    second_cost: f32,
}

/// A set of looks that serves a [`Demand`].
#[derive(Debug, Clone)]
pub(super) struct Choice {
    /// The looks taken, in no meaningful order; the fixed ones come first.
    pub(super) looks: Vec<usize>,
    fixed: usize,
    served: Vec<Served>,
    /// What dropping each look would add.
    loss: Vec<f64>,
}

/// Less than this share of the total is not worth an exchange: it guards against rounding going in circles.
const WORTH: f64 = 1e-7;

impl Choice {
    /// Serves the demand with `looks`, of which the first `fixed` may not be exchanged.
    pub(super) fn new(demand: &Demand, looks: Vec<usize>, fixed: usize) -> Self {
        let served = vec![Served::NONE; demand.costs.columns()];
        let mut choice = Self { looks, fixed, served, loss: Vec::new() };
        for (place, &look) in choice.looks.iter().enumerate() {
            for (served, &cost) in choice.served.iter_mut().zip(demand.costs.row(look)) {
                served.offer(place as u32, cost);
            }
        }
        choice.weigh_losses();
        choice
    }

    fn weigh_losses(&mut self) {
        self.loss = vec![0.0; self.looks.len()];
        for served in &self.served {
            if let Some(loss) = self.loss.get_mut(served.nearest as usize) {
                *loss += f64::from(served.second_cost - served.nearest_cost);
            }
        }
    }

    /// The cost of the whole, price of looks included.
    pub(super) fn total(&self, demand: &Demand) -> f64 {
        let served: f64 = self.served.iter().map(|served| f64::from(served.nearest_cost)).sum();
        served + self.looks.iter().map(|&look| demand.price[look]).sum::<f64>()
    }

    /// Adds the look among `usable` that gains most, the first of equals; false when none is left.
    pub(super) fn add_best(&mut self, demand: &Demand, usable: &[usize]) -> bool {
        let nearest: Vec<f32> = self.served.iter().map(|served| served.nearest_cost).collect();
        let gain = |&look: &usize| {
            if self.looks.contains(&look) {
                return None;
            }
            let row = demand.costs.row(look);
            let change: f64 = if self.looks.is_empty() {
                row.iter().map(|&cost| f64::from(cost)).sum()
            } else {
                -saved(&nearest, row)
            };
            Some((change + demand.price[look], look))
        };
        let gains: Vec<_> = usable.par_iter().map(gain).collect();
        let best = gains.into_iter().flatten().reduce(|best, next| if next.0 < best.0 { next } else { best });
        let Some((_, look)) = best else { return false };
        let place = self.looks.len() as u32;
        self.looks.push(look);
        for (served, &cost) in self.served.iter_mut().zip(demand.costs.row(look)) {
            served.offer(place, cost);
        }
        self.weigh_losses();
        true
    }

    /// Exchanges looks until no single exchange gains, at most `passes` times over the card.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub(super) fn exchange(
        &mut self,
        demand: &Demand,
        usable: &[usize],
        passes: usize,
        progress: &dyn Progress,
    ) -> Result<(), Stopped> {
        if self.looks.len() <= self.fixed {
            return Ok(());
        }
        let mut total = self.total(demand);
        let mut since_change = 0;
        for &candidate in usable.iter().cycle().take(usable.len() * passes) {
            if since_change > usable.len() {
                break;
            }
            since_change += 1;
            ask(progress)?;
            if self.looks.contains(&candidate) {
                continue;
            }
            let (change, place) = self.price_exchange(demand, candidate);
            if change < -WORTH * total.abs() {
                self.swap(demand, place, candidate);
                total += change;
                since_change = 0;
            }
        }
        Ok(())
    }

    /// Exchanges up to `places` looks, not the fixed ones, for others at random.
    pub(super) fn kick(&mut self, demand: &Demand, usable: &[usize], places: usize, random: &mut impl Rng) {
        let free = self.looks.len() - self.fixed;
        for _ in 0..places.min(free) {
            let place = self.fixed + random.random_range(0..free);
            let look = usable[random.random_range(0..usable.len())];
            if !self.looks.contains(&look) {
                self.swap(demand, place, look);
            }
        }
    }

    /// The best exchange for a candidate: the change of the total, and the place it would take.
    fn price_exchange(&self, demand: &Demand, candidate: usize) -> (f64, usize) {
        let row = demand.costs.row(candidate);
        if let [only] = self.looks[..] {
            let change: f64 = row.iter().zip(&self.served).map(|(&c, s)| f64::from(c - s.nearest_cost)).sum();
            return (change + demand.price[candidate] - demand.price[only], 0);
        }
        let mut gain = 0.0_f64;
        let mut change = self.loss.clone();
        for (served, &cost) in self.served.iter().zip(row) {
            if cost < served.nearest_cost {
                gain += f64::from(cost - served.nearest_cost);
                change[served.nearest as usize] -= f64::from(served.second_cost - served.nearest_cost);
            } else if cost < served.second_cost {
                change[served.nearest as usize] -= f64::from(served.second_cost - cost);
            }
        }
        let mut best = (f64::INFINITY, 0);
        for (place, &loss) in change.iter().enumerate().skip(self.fixed) {
            let whole = gain + loss + demand.price[candidate] - demand.price[self.looks[place]];
            if whole < best.0 {
                best = (whole, place);
            }
        }
        best
    }

    /// Puts `look` in the stead of the look at `place`.
    fn swap(&mut self, demand: &Demand, place: usize, look: usize) {
        self.looks[place] = look;
        let place = place as u32;
        let row = demand.costs.row(look);
        for (group, served) in self.served.iter_mut().enumerate() {
            if served.nearest == place || served.second == place {
                *served = Served::NONE;
                for (place, &look) in self.looks.iter().enumerate() {
                    served.offer(place as u32, demand.costs.row(look)[group]);
                }
            } else {
                served.offer(place, row[group]);
            }
        }
        self.weigh_losses();
    }
}

/// By how much `costs` are under what is, summed where they are: in several sums side by side, so that none waits for the
/// one before.
fn saved(nearest: &[f32], costs: &[f32]) -> f64 {
    let ((nearest, last), (costs, last_costs)) = (nearest.as_chunks::<SUMS>(), costs.as_chunks::<SUMS>());
    let mut sums = [0.0; SUMS];
    for (nearest, costs) in nearest.iter().zip(costs) {
        for ((sum, nearest), cost) in sums.iter_mut().zip(nearest).zip(costs) {
            *sum += f64::from((nearest - cost).max(0.0));
        }
    }
    let rest = last.iter().zip(last_costs).map(|(nearest, cost)| f64::from((nearest - cost).max(0.0)));
    sums.into_iter().chain(rest).sum()
}

/// How many sums that are.
const SUMS: usize = 8;

impl Served {
    /// Not served by anything.
    const NONE: Self =
        Self { nearest: u32::MAX, second: u32::MAX, nearest_cost: f32::INFINITY, second_cost: f32::INFINITY };

    fn offer(&mut self, place: u32, cost: f32) {
        if cost < self.nearest_cost {
            (self.second, self.second_cost) = (self.nearest, self.nearest_cost);
            (self.nearest, self.nearest_cost) = (place, cost);
        } else if cost < self.second_cost {
            (self.second, self.second_cost) = (place, cost);
        }
    }
}
