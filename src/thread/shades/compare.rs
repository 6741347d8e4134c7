//! Two cards side by side: the nearest shade of one for each of the other.

use super::ShadeCard;
use crate::ground::colour::Compared;

/// A shade of one card and the nearest of another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// The place on the first card.
    pub shade: usize,
    /// The place of the nearest on the other card; of equals the first.
    pub nearest: usize,
    /// Their difference in ΔE00, by the colours of the cards.
    pub delta_e: f64,
}

impl ShadeCard {
    /// For each shade of this card the nearest of the other, in this card's order.
    #[must_use]
    pub fn nearest_on(&self, other: &Self) -> Vec<Nearest> {
        let theirs: Vec<Compared> = other.shades.iter().map(|shade| shade.lab.into()).collect();
        self.shades
            .iter()
            .enumerate()
            .filter_map(|(place, shade)| {
                let mine = Compared::from(shade.lab);
                let differences = theirs.iter().map(|theirs| mine.ciede2000(theirs)).enumerate();
                let (nearest, delta_e) = differences.min_by(|one, two| one.1.total_cmp(&two.1))?;
                Some(Nearest { shade: place, nearest, delta_e })
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::thread::shades::Shade;

    #[test]
    fn the_nearest_is_the_least_difference_of_sharmas_formula() {
        // Sharma, Wu & Dalal 2005, table 1, pairs 1 and 2: the first colour is nearer to its pair's second in
        // pair 1 (2.0425) than to that of pair 2 (2.8615).
        let shade = |code: &str, a: f64, b: f64| -> Shade {
            let text = format!("code,name,L,a,b\n{code},{code},50,{a},{b}\n");
            ShadeCard::read("x", text.as_bytes()).unwrap().shades()[0].clone()
        };
        let card = |name: &str, shades| ShadeCard { name: name.into(), shades, warnings: Vec::new() };
        let one = card("one", vec![shade("p", 2.6772, -79.7751)]);
        let other = card("other", vec![shade("far", 20.0, 20.0), shade("pair", 0.0, -82.7485)]);
        let nearest = one.nearest_on(&other);
        assert_eq!((nearest.len(), nearest[0].nearest), (1, 1));
        assert!((nearest[0].delta_e - 2.0425).abs() < 1e-4, "{}", nearest[0].delta_e);
    }
}
