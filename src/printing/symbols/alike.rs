//! Needles that some eyes cannot tell apart by colour.
//!
//! Owns which pairs they are; that symbols and codes tell them is for the key to show.

use crate::chart::Chart;
use crate::ground::colour::{Compared, Vision};

use super::SymbolId;

/// The difference (CIEDE2000) under which two threads are taken to look alike in the hand: some five times what a
/// trained eye just sees side by side under even light, as threads lie apart, in lamplight, twisted. Our own
/// choice; a higher one would list more pairs than anyone reads, a lower one would miss threads that are mixed up.
pub const ALIKE: f64 = 5.0;

/// Two needles that usual eyes tell apart by colour and some eyes do not.
#[derive(Debug, Clone, PartialEq)]
pub struct AlikePair {
    /// The places of the two in the key, the lower first.
    pub needles: [usize; 2],
    /// Their codes.
    pub codes: [String; 2],
    /// How far apart they are to usual eyes (CIEDE2000).
    pub usual: f64,
    /// The eyes to which they look alike, and how far apart they are to those.
    pub to: Vec<(Vision, f64)>,
}

/// Every pair of needles of which usual eyes see the colours [`ALIKE`] or more apart and protan, deutan or tritan
/// eyes nearer, in the order of the key. Pairs that are alike to all eyes are none of these.
#[must_use]
pub fn alike(chart: &Chart) -> Vec<AlikePair> {
    let light: Vec<_> = chart.needles().iter().map(|needle| needle.colour().linear()).collect();
    let compared = |vision: Option<Vision>| -> Vec<Compared> {
        light.iter().map(|&light| vision.map_or(light, |v| light.seen_by(v)).lab().into()).collect()
    };
    let usual = compared(None);
    let seen = Vision::ALL.map(|vision| (vision, compared(Some(vision))));
    let mut pairs = Vec::new();
    for one in 0..light.len() {
        for two in one + 1..light.len() {
            let apart = usual[one].ciede2000(&usual[two]);
            if apart < ALIKE {
                continue;
            }
            let to: Vec<(Vision, f64)> = seen
                .iter()
                .map(|(vision, labs)| (*vision, labs[one].ciede2000(&labs[two])))
                .filter(|(_, apart)| *apart < ALIKE)
                .collect();
            if !to.is_empty() {
                let needles = [one, two];
                let codes = needles.map(|needle| chart.needles()[needle].code());
                pairs.push(AlikePair { needles, codes, usual: apart, to });
            }
        }
    }
    pairs
}

/// The least distance of the symbols of the pairs, or `None` without pairs: over 0 the symbols tell them apart.
#[must_use]
pub fn least_between(pairs: &[AlikePair], symbols: &[SymbolId]) -> Option<f64> {
    let distance = |pair: &AlikePair| {
        let [one, two] = pair.needles;
        symbols.get(one).zip(symbols.get(two)).map(|(one, two)| one.distance(*two))
    };
    pairs.iter().filter_map(distance).min_by(f64::total_cmp)
}
