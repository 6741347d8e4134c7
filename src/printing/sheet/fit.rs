//! How many cells go on a page, and how large they are.

use std::ops::{Range, RangeInclusive};

use rayon::prelude::*;

use super::measures::{MARGIN, Measures, room, turned};
use super::pagination::{self, Plan, with_repeats};
use super::strip::{Sign, Signs, Strip};
use super::{Print, SheetError, SheetOptions};
use crate::chart::{Chart, WorkedLine};
use crate::ground::units::GridSize;
use crate::printing::length::{Length, mm};

/// The cell sides that can be asked for: under 1.5 mm (0.2 degrees at 400 mm is 1.4 mm: Legge
/// & Bigelow 2011) nobody reads on; over 10 mm is a wall chart.
pub const CELL_LIMITS: RangeInclusive<Length> = mm(1.5)..=mm(10.0);

/// The side of a cell where none is asked for. Its symbol then stands over 2 mm tall, 16 to 18 minutes of
/// arc at 400 mm (ISO 9241-3 asks for 16 at least).
const USUAL_CELL: Length = mm(3.0);

/// The same in large print.
const LARGE_CELL: Length = mm(4.5);

/// As wide as a cell grows to fill its paper.
const WIDEST_CELL: Length = mm(4.5);

/// More pages than anybody would stitch from, and a bound on memory.
pub const MAX_PAGES: usize = 2000;

/// What each page of the plan shows, repeats counted.
pub(super) fn signs_of(signs: &Signs, size: GridSize, plan: &Plan) -> Vec<Vec<Sign>> {
    let cuts = plan.rows.iter().flat_map(|rows| plan.columns.iter().map(move |columns| (columns, rows)));
    let cuts: Vec<_> = cuts.collect();
    let within = |&(columns, rows): &(&Range<u32>, &Range<u32>)| {
        signs.within(&with_repeats(columns, size.columns()), &with_repeats(rows, size.rows()))
    };
    cuts.par_iter().map(within).collect()
}

/// Cuts the chart into pages and settles the side of a cell.
pub(super) fn plan(
    chart: &Chart,
    lines: &[WorkedLine],
    options: &SheetOptions,
) -> Result<(Plan, Length), SheetError> {
    let asked = options.cell.map(Length::from);
    if let Some(side) = asked.filter(|side| !CELL_LIMITS.contains(side)) {
        return Err(SheetError::Cell { side });
    }
    let least = match options.print {
        Print::Usual => USUAL_CELL,
        Print::Large => LARGE_CELL,
    };
    let cell = asked.unwrap_or(least);
    let needles = chart.needles().len();
    let signs = Signs::of(chart, lines, options);
    let tried = |on_its_side| try_plan(chart, &signs, options, cell, on_its_side);
    let (upright, turned) = rayon::join(|| tried(false), || tried(true));
    let plan = match (upright, turned) {
        (Some(upright), Some(turned)) if turned.pages() < upright.pages() => turned,
        (Some(upright), _) => upright,
        (None, Some(turned)) => turned,
        (None, None) => return Err(SheetError::NoRoom { cell, needles }),
    };
    if plan.pages() > MAX_PAGES {
        return Err(SheetError::TooManyPages { pages: plan.pages(), limit: MAX_PAGES });
    }
    let cell = if asked.is_some() { cell } else { grown(chart, &signs, options, &plan, cell) };
    Ok((plan, cell))
}

/// The plan at one way of laying the paper. The strip's height depends on the pages and the pages on the
/// strip's height: the least height is taken whose pages have no more to show than it holds.
fn try_plan(
    chart: &Chart,
    signs: &Signs,
    options: &SheetOptions,
    cell: Length,
    on_its_side: bool,
) -> Option<Plan> {
    let measures = Measures::of(options.print);
    let paper = turned(options.paper.size(), on_its_side);
    let width = paper[0] - 2.0 * MARGIN;
    let size = chart.size();
    let rows_of = |shown: &[Vec<Sign>]| Strip::new(signs, shown, width, &measures).most_rows(shown);
    let plan_with = |strip_rows: usize| {
        let [across, down] = room(paper, &measures, strip_rows).map(|room| room.holds(cell, 1e-9));
        let columns = pagination::cut(size.columns(), across)?;
        let rows = pagination::cut(size.rows(), down)?;
        Some(Plan { columns, rows, turned: on_its_side })
    };
    let most = rows_of(&[signs.all()]);
    // Pages under less of a strip are larger and show no less.
    let least = plan_with(most).map_or(0, |plan| rows_of(&signs_of(signs, size, &plan)));
    let mut last: Option<(Plan, usize)> = None;
    for strip_rows in least..=most.max(least) + MORE_ROWS {
        let plan = plan_with(strip_rows)?;
        let needed = match &last {
            Some((same, needed)) if *same == plan => *needed,
            _ => rows_of(&signs_of(signs, size, &plan)),
        };
        if needed <= strip_rows {
            return Some(plan);
        }
        last = Some((plan, needed));
    }
    None
}

/// Strips of few entries have names and may take more rows than one of all entries without.
const MORE_ROWS: usize = 6;

/// The cell as large as the pages of a plan can hold it, down to a twentieth of a millimetre.
fn grown(chart: &Chart, signs: &Signs, options: &SheetOptions, plan: &Plan, cell: Length) -> Length {
    let measures = Measures::of(options.print);
    let paper = turned(options.paper.size(), plan.turned);
    let shown = signs_of(signs, chart.size(), plan);
    let strip = Strip::new(signs, &shown, paper[0] - 2.0 * MARGIN, &measures).most_rows(&shown);
    let [width, height] = room(paper, &measures, strip);
    let size = chart.size();
    let across = width / f64::from(pagination::longest(&plan.columns, size.columns()));
    let down = height / f64::from(pagination::longest(&plan.rows, size.rows()));
    let widest = across.min(down).min(WIDEST_CELL.max(cell));
    mm((widest.to_mm() * 20.0).floor() / 20.0).max(cell)
}
