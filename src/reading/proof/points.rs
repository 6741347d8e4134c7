//! The points of a cell at which it is compared, and the arithmetic of what stands there.

/// Points across a cell at which it is compared: as many as a cell of 3 mm has pixels at 150 dots an inch.
pub(super) const ACROSS: usize = 14;

/// All points of a cell, and some zeros so that they go in eights.
pub(super) const POINTS: usize = (ACROSS * ACROSS).next_multiple_of(8);

/// The part of a cell that is compared, from its top left, in sides: symbols keep a tenth free, and half a bold
/// rule whose ink has run is an eighth of a cell of 2 mm.
pub(super) const WINDOW: [f64; 2] = [0.13, 0.87];

/// Ink at each point of a cell: 0 none, 1 full.
pub(super) type Figure = [f32; POINTS];

/// Points of a cell, as a number to divide by.
pub(super) const WHOLE: f32 = (ACROSS * ACROSS) as f32;

/// The share of a cell at which a point lies.
pub(super) fn share(place: usize) -> f64 {
    WINDOW[0] + (WINDOW[1] - WINDOW[0]) * (place as f64 + 0.5) / ACROSS as f64
}

/// Takes the mean off, over the points that count, and gives the sum of squares.
pub(super) fn centred(figure: &mut Figure, mask: &Figure, count: f32) -> f32 {
    let mean = dot(figure, mask) / count;
    let mut energy = 0.0;
    for (point, weight) in figure.iter_mut().zip(mask) {
        *point = (*point - mean) * weight;
        energy += *point * *point;
    }
    energy
}

/// The sum of products, in eight lanes.
pub(super) fn dot(one: &Figure, other: &Figure) -> f32 {
    let mut lanes = [0.0f32; 8];
    for (a, b) in one.chunks_exact(8).zip(other.chunks_exact(8)) {
        for lane in 0..8 {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    lanes.iter().sum()
}

/// All points of a cell.
pub(super) fn whole() -> Figure {
    let mut mask = [0.0; POINTS];
    mask[..ACROSS * ACROSS].fill(1.0);
    mask
}
