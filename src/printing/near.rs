//! What lies near a straight stretch.

/// From where to where along a row, at height `y`, places can lie within `reach` of a stretch: a little more than those that
/// do, so that a long slanting stretch need not be sought over all that it spans.
pub(crate) fn along_row([from, to]: [[f64; 2]; 2], reach: f64, y: f64) -> [f64; 2] {
    let span = |axis: usize| [from[axis].min(to[axis]) - reach, from[axis].max(to[axis]) + reach];
    let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    let [low, high] = span(0);
    if dy.abs() < 1e-9 {
        return [low, high];
    }
    // The stripe to both sides of the line through both ends.
    let middle = from[0] + dx * (y - from[1]) / dy;
    let aside = reach * dx.hypot(dy) / dy.abs() + 1e-6;
    [low.max(middle - aside), high.min(middle + aside)]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn nothing_near_lies_outside(
            from in [-20.0..20.0f64, -20.0..20.0],
            to in [-20.0..20.0f64, -20.0..20.0],
            level in any::<bool>(),
            reach in 0.1..3.0f64,
            place in [-25.0..25.0f64, -25.0..25.0],
        ) {
            let to = if level { [to[0], from[1]] } else { to };
            let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
            let [x, y] = [place[0] - from[0], place[1] - from[1]];
            let share = ((x * dx + y * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
            let is_near = libm::hypot(x - share * dx, y - share * dy) < reach;
            let [low, high] = along_row([from, to], reach, place[1]);
            prop_assert!(!is_near || (low..=high).contains(&place[0]), "{low} to {high}");
        }
    }

    #[test]
    fn a_slanting_stretch_is_sought_beside_itself_alone() {
        // By hand: the stripe of reach 1 beside y = x is 2 * sqrt 2 wide along a row.
        let [low, high] = along_row([[0.0, 0.0], [1000.0, 1000.0]], 1.0, 500.0);
        assert!(
            (low - (500.0 - 2.0f64.sqrt())).abs() < 1e-5 && (high - (500.0 + 2.0f64.sqrt())).abs() < 1e-5
        );
    }
}
