//! The first step: k-means in CIELAB, then for each mean the look nearest by CIEDE2000, all distinct.

use kmeans_colors::{Calculate, get_kmeans};
use rand::Rng;

use super::histogram::Histogram;
use crate::ground::colour::{Compared, Lab};

/// Rounds after which k-means stops even if a mean still moves: the exchanges that follow undo what it leaves.
const ROUNDS: usize = 20;

/// The most means asked for: `kmeans_colors` numbers them in a byte.
const MOST: usize = 255;

/// A colour of the histogram and how many cells have it.
#[derive(Debug, Clone, Copy)]
struct Weighed {
    colour: [f32; 3],
    weight: f32,
}

impl Calculate for Weighed {
    fn get_closest_centroid(buffer: &[Self], centroids: &[Self], indices: &mut Vec<u8>) {
        indices.extend(buffer.iter().map(|point| {
            let mut best = (f32::INFINITY, 0);
            for (index, mean) in centroids.iter().enumerate() {
                let difference = Self::difference(point, mean);
                if difference < best.0 {
                    best = (difference, index);
                }
            }
            best.1 as u8
        }));
    }

    /// A mean that nothing is nearest to stays where it is; no random colour takes its place.
    fn recalculate_centroids(_: &mut impl Rng, buffer: &[Self], centroids: &mut [Self], indices: &[u8]) {
        let mut sums = vec![([0.0_f64; 3], 0.0_f64); centroids.len()];
        for (point, &index) in buffer.iter().zip(indices) {
            let (sum, weight) = &mut sums[usize::from(index)];
            for (axis, value) in sum.iter_mut().zip(point.colour) {
                *axis += f64::from(value) * f64::from(point.weight);
            }
            *weight += f64::from(point.weight);
        }
        for (mean, (sum, weight)) in centroids.iter_mut().zip(sums) {
            if weight > 0.0 {
                mean.colour = sum.map(|axis| (axis / weight) as f32);
            }
        }
    }

    fn check_loop(centroids: &[Self], old_centroids: &[Self]) -> f32 {
        centroids.iter().zip(old_centroids).map(|(new, old)| Self::difference(new, old)).sum()
    }

    fn create_random(_: &mut impl Rng) -> Self {
        Self { colour: [50.0, 0.0, 0.0], weight: 0.0 }
    }

    fn difference(c1: &Self, c2: &Self) -> f32 {
        c1.colour.iter().zip(c2.colour).map(|(x, y)| (x - y) * (x - y)).sum()
    }
}

/// Up to `count` looks among `usable` (indices into `looks`): the nearest to each mean that is not yet taken,
/// the heaviest mean first.
pub(super) fn nearest_to_means(
    histogram: &Histogram,
    looks: &[Compared],
    usable: &[usize],
    count: usize,
    seed: u64,
) -> Vec<usize> {
    let count = count.min(MOST).min(histogram.len());
    if count == 0 {
        return Vec::new();
    }
    let points: Vec<Weighed> = histogram
        .colours
        .iter()
        .zip(&histogram.weights)
        .map(|(colour, &weight)| {
            let Lab { l, a, b } = colour.lab();
            Weighed { colour: [l as f32, a as f32, b as f32], weight: weight as f32 }
        })
        .collect();
    let means = get_kmeans(count, ROUNDS, 0.0, false, &points, seed).centroids;
    // The crate's own labels are one round old.
    let mut labels = Vec::with_capacity(points.len());
    Weighed::get_closest_centroid(&points, &means, &mut labels);
    let mut weights = vec![0.0_f64; means.len()];
    for (point, &label) in points.iter().zip(&labels) {
        weights[usize::from(label)] += f64::from(point.weight);
    }
    let mut order: Vec<usize> = (0..means.len()).collect();
    order.sort_by(|&x, &y| weights[y].total_cmp(&weights[x]).then(x.cmp(&y)));
    let mut free = usable.to_vec();
    let mut taken = Vec::with_capacity(count);
    for mean in order {
        let [l, a, b] = means[mean].colour.map(f64::from);
        let colour = Compared::from(Lab { l, a, b });
        let nearest = free
            .iter()
            .enumerate()
            .map(|(place, &look)| (colour.ciede2000(&looks[look]), place))
            .min_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
        let Some((_, place)) = nearest else { break };
        taken.push(free.remove(place));
    }
    taken
}
