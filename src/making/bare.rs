//! Where cloth may be left bare: large joined regions that are near the cloth's colour, and calm at their borders.
//!
//! Owns which regions. Leaves the colour that a bare cell has to `reduce`.

use crate::ground::colour::{Compared, Lab};
use crate::ground::units::GridSize;
use crate::making::frame::StitchField;

/// What is known of a picture that cloth is to show in.
#[derive(Debug, Clone, Copy)]
pub struct Ground<'a> {
    /// The picture.
    pub field: &'a StitchField,
    /// The colour of the cloth.
    pub cloth: Lab,
    /// How near to it a cell must be, in ΔE00.
    pub within: f64,
    /// Marks for cells that are worked in any case, such as the subject's; none where it is shorter.
    pub worked: &'a [bool],
    /// Cells that were pointed at: the region round each is left bare though it be small, inside or worked in any case.
    pub at: &'a [usize],
    /// Marks for cells that are left bare as far as they are near the cloth; none where it is shorter.
    pub painted: &'a [bool],
}

/// The least share of the cells that a region at the picture's edge must have to be left bare, and the least of them: a
/// hundredth, and a square of six. Smaller ones save little and look forgotten.
const LEAST_SHARE: f64 = 0.01;
const LEAST_CELLS: usize = 36;

/// How much further from the cloth a cell may be whose neighbours are bare: else a border follows every wave of the
/// picture.
const LENIENT: f64 = 1.5;

/// Rounds of smoothing; borders hardly move after three.
const ROUNDS: usize = 4;

/// Worked patches within bare cloth of up to so many cells go bare too, where they are leniently near.
const ISLAND: usize = 6;

/// The cells to leave bare.
#[must_use]
pub fn bare(ground: &Ground<'_>) -> Vec<bool> {
    let (size, cells) = (ground.field.size(), ground.field.cells());
    let apart = apart(ground);
    let is_worked = |cell: usize| ground.worked.get(cell) == Some(&true);
    let is_painted = |cell: usize| ground.painted.get(cell) == Some(&true);
    let mut near: Vec<bool> =
        (0..cells.len()).map(|cell| apart[cell] <= ground.within && !is_worked(cell)).collect();
    let lenient: Vec<bool> =
        (0..cells.len()).map(|cell| apart[cell] <= LENIENT * ground.within && !is_worked(cell)).collect();
    smooth(&mut near, &lenient, size);
    let least = LEAST_CELLS.max((LEAST_SHARE * cells.len() as f64).ceil() as usize);
    let mut bare = vec![false; cells.len()];
    for region in regions(&near, size) {
        let is_at_edge = region.iter().any(|&cell| size.sides(cell).count() < 4);
        if region.len() >= least && is_at_edge {
            region.iter().for_each(|&cell| bare[cell] = true);
        }
    }
    // Whoever points at a place means what is there, the subject too.
    let open: Vec<bool> = apart.iter().map(|&apart| apart <= ground.within).collect();
    for region in regions(&open, size) {
        if ground.at.iter().any(|cell| region.binary_search(cell).is_ok()) {
            region.iter().for_each(|&cell| bare[cell] = true);
        }
    }
    (0..cells.len()).filter(|&cell| is_painted(cell) && open[cell]).for_each(|cell| bare[cell] = true);
    let worked: Vec<bool> = (0..cells.len()).map(|cell| !bare[cell] && cells[cell].is_some()).collect();
    for island in regions(&worked, size) {
        let is_near = island.iter().all(|&cell| lenient[cell]);
        let is_within = island.iter().flat_map(|&cell| size.sides(cell)).any(|side| bare[side]);
        if island.len() <= ISLAND && is_near && is_within {
            island.iter().for_each(|&cell| bare[cell] = true);
        }
    }
    bare
}

/// How far each cell is from the cloth, in ΔE00; open cells infinitely.
fn apart(ground: &Ground<'_>) -> Vec<f64> {
    let cloth = Compared::from(ground.cloth);
    let of = |cell: &Option<_>| cell.map_or(f64::INFINITY, |lab| Compared::from(lab).ciede2000(&cloth));
    ground.field.cells().iter().map(of).collect()
}

/// Cells most of whose eight neighbours are otherwise become so too, as far as they may.
fn smooth(near: &mut [bool], lenient: &[bool], size: GridSize) {
    for _ in 0..ROUNDS {
        let before = near.to_vec();
        for cell in 0..before.len() {
            let (mut bare, mut all) = (0, 0);
            for other in round(cell, size) {
                bare += usize::from(before[other]);
                all += 1;
            }
            if before[cell] && bare * 8 <= 3 * all {
                near[cell] = false;
            } else if !before[cell] && lenient[cell] && bare * 8 >= 5 * all {
                near[cell] = true;
            }
        }
        if *near == before[..] {
            break;
        }
    }
}

/// The cells round a cell, three to eight.
fn round(cell: usize, size: GridSize) -> impl Iterator<Item = usize> {
    let (x, y) = (cell % size.width(), cell / size.width());
    let (rows, columns) = (y.saturating_sub(1)..=y + 1, x.saturating_sub(1)..=x + 1);
    rows.flat_map(move |row| columns.clone().map(move |column| (column, row)))
        .filter(move |&(column, row)| column < size.width() && row < size.height())
        .map(move |(column, row)| row * size.width() + column)
        .filter(move |&other| other != cell)
}

/// Joined cells that are marked, each region's in ascending order.
pub(crate) fn regions(marks: &[bool], size: GridSize) -> Vec<Vec<usize>> {
    let mut seen = vec![false; marks.len()];
    let mut regions = Vec::new();
    for start in 0..marks.len() {
        if !marks[start] || seen[start] {
            continue;
        }
        seen[start] = true;
        let mut region = vec![start];
        let mut next = 0;
        while let Some(&cell) = region.get(next) {
            next += 1;
            for side in size.sides(cell) {
                if marks[side] && !seen[side] {
                    seen[side] = true;
                    region.push(side);
                }
            }
        }
        region.sort_unstable();
        regions.push(region);
    }
    regions
}

/// What bare cloth does to a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Harm {
    /// The mean difference of the cells that are bare from the picture, in ΔE00.
    pub delta_e: f64,
    /// The share of the subject's edge, 0 to 1, that is lost: where it meets bare cloth of nearly its own colour.
    pub lost_edge: f64,
}

/// What bare cells cost, and how much of the edge of `subject` they take away. A cell of the edge is lost where the cloth
/// beside it is within `within` of its own colour.
#[must_use]
pub fn harm(ground: &Ground<'_>, bare: &[bool], subject: &[bool]) -> Harm {
    let (size, apart) = (ground.field.size(), apart(ground));
    let all: Vec<f64> = (0..bare.len()).filter(|&cell| bare[cell]).map(|cell| apart[cell]).collect();
    let is_edge = |&cell: &usize| subject[cell] && size.sides(cell).any(|side| !subject[side]);
    let edge: Vec<usize> = (0..subject.len()).filter(is_edge).collect();
    let is_lost = |&&cell: &&usize| {
        apart[cell] <= ground.within && size.sides(cell).any(|side| !subject[side] && bare[side])
    };
    Harm {
        delta_e: all.iter().sum::<f64>() / all.len().max(1) as f64,
        lost_edge: edge.iter().filter(is_lost).count() as f64 / edge.len().max(1) as f64,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::colour::Srgb8;

    const CLOTH: Srgb8 = Srgb8 { r: 244, g: 236, b: 216 };

    /// A picture of letters: `.` of the cloth's colour, `,` a little off, `#` dark.
    fn field(rows: &[&str]) -> StitchField {
        let size = GridSize::new(rows[0].len() as u32, rows.len() as u32).unwrap();
        let cells = rows.iter().flat_map(|row| row.bytes()).map(|letter| {
            let colour = match letter {
                b'.' => CLOTH,
                b',' => Srgb8 { r: 228, g: 218, b: 196 },
                _ => Srgb8 { r: 40, g: 50, b: 60 },
            };
            Some(colour.lab().into())
        });
        StitchField::new(size, cells.collect())
    }

    fn ground(field: &StitchField) -> Ground<'_> {
        Ground { field, cloth: CLOTH.lab(), within: 4.0, worked: &[], at: &[], painted: &[] }
    }

    /// 12 x 12: two rows at the top of the cloth's colour and a window of 4 x 4 in the dark.
    fn house() -> StitchField {
        let mut rows = vec!["............"; 3];
        rows.extend(["############"; 2]);
        rows.extend(["####....####"; 4]);
        rows.extend(["############"; 3]);
        field(&rows)
    }

    #[test]
    fn only_a_large_region_at_the_edge_is_bare_unless_a_place_is_named() {
        let house = house();
        let window = |bare: &[bool]| bare[6 * 12 + 5];
        let usual = bare(&ground(&house));
        assert!(usual[..36].iter().all(|&bare| bare) && !window(&usual));
        let named = bare(&Ground { at: &[6 * 12 + 5], ..ground(&house) });
        assert!(named[..36].iter().all(|&bare| bare) && window(&named));
        assert_eq!(named.iter().filter(|&&bare| bare).count(), 36 + 16);
        // The top, less a row: 24 cells are too few.
        let low = field(&[&["............"; 2][..], &["############"; 10]].concat());
        assert!(bare(&ground(&low)).iter().all(|&bare| !bare));
    }

    #[test]
    fn the_subject_is_worked_unless_it_is_asked_for() {
        let house = house();
        let subject: Vec<bool> = (0..144).map(|cell| cell % 12 < 3).collect();
        let inside =
            |bare: &[bool]| (0..3).flat_map(|y| (0..3).map(move |x| y * 12 + x)).any(|cell| bare[cell]);
        let sky = field(&[&["............"; 6][..], &["############"; 6]].concat());
        let usual = bare(&Ground { worked: &subject, ..ground(&sky) });
        assert!(!inside(&usual) && usual[8]);
        assert!(inside(&bare(&Ground { worked: &subject, at: &[0], ..ground(&sky) })));
        let painted = vec![true; 144];
        let all = bare(&Ground { worked: &subject, painted: &painted, ..ground(&house) });
        assert!(inside(&all) && all[6 * 12 + 5] && !all[4 * 12]);
    }

    #[test]
    fn a_few_waves_of_the_picture_leave_no_holes_and_no_teeth() {
        let mut rows = vec!["............"; 3];
        rows.extend(["..,.....,...", "..........,.", "...,........"]);
        rows.extend(["#.#.#.#.#.##"]);
        rows.extend(["############"; 5]);
        let sky = field(&rows);
        let bare = bare(&ground(&sky));
        assert!(bare[..72].iter().all(|&bare| bare), "holes");
        assert!(bare[72..].iter().all(|&bare| !bare), "teeth: {:?}", &bare[72..84]);
    }

    #[test]
    fn an_edge_is_lost_where_cloth_of_its_own_colour_meets_it() {
        let house = house();
        let bare = bare(&ground(&house));
        // A subject of the cloth's colour beside the bare rows: all its cells are edge, and all but the top row meet
        // bare cloth at one side.
        let subject: Vec<bool> = (0..144).map(|cell| cell == 5 || cell == 12 * 8 + 1).collect();
        let bare: Vec<bool> = bare.iter().zip(&subject).map(|(&bare, &subject)| bare && !subject).collect();
        let harm = harm(&ground(&house), &bare, &subject);
        assert!(harm.delta_e < 1e-4 && (harm.lost_edge - 0.5).abs() < 1e-9, "{harm:?}");
    }
}
