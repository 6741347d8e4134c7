#![allow(clippy::unwrap_used)]
use proptest::prelude::*;

use super::*;
use crate::chart::mark::{Motif, Outline, Pick, PickedCells};
use crate::chart::tests::{needle, thread};
use crate::chart::{Cell, LineStitch, Mark, Needle};
use crate::ground::units::{FabricCount, GridSize};
use crate::thread::cloth::Cloth;
use crate::thread::shades::ShadeCard;

fn chart(columns: u32, rows: u32, cells: impl Fn(usize) -> usize) -> Chart {
    let size = GridSize::new(columns, rows).unwrap();
    let needles = (0..4).map(|at| needle(&format!("N{at}"), &format!("#{at}0{at}0{at}0"))).collect();
    let cell = |at: usize| if cells(at) % 5 == 4 { Cell::BARE } else { Cell::worked(cells(at) % 5) };
    let cells = (0..size.cells()).map(cell).collect();
    Chart::new("Pool".into(), size, Cloth::default(), needles, cells).unwrap()
}

fn outline(name: &str, cells: PickedCells) -> Mark {
    let motif = Motif { pick: vec![Pick { change: Default::default(), cells }], ..Motif::default() };
    Mark::Outline(Outline {
        name: name.into(),
        label: None,
        motif,
        thread: vec![thread("L", "#102030", 1)],
        course: Default::default(),
        longest: 3.0,
        pattern: None,
        stitch: LineStitch::default(),
    })
}

/// The chart with other parts; its card and marks stay.
fn remade(chart: &mut Chart, size: GridSize, needles: Vec<Needle>, cells: Vec<Cell>) {
    let mut other = Chart::new(chart.title.clone(), size, chart.cloth, needles, cells).unwrap();
    other.marks.clone_from(&chart.marks);
    other.card.clone_from(&chart.card);
    *chart = other;
}

/// One of the ways in which a chart changes, by some numbers.
fn alter(chart: &mut Chart, [way, a, b, c]: [usize; 4]) -> Result<(), MarkError> {
    let (size, mut needles, mut cells) = (chart.size(), chart.needles().to_vec(), chart.cells().to_vec());
    let count = needles.len();
    let name = format!("m{}", c % 3);
    match way {
        0 => chart.title = format!("Pool {a}"),
        1 => chart.cloth.count = [FabricCount::FOURTEEN, FabricCount::new(18).unwrap()][a % 2],
        // A needle gets another thread.
        2 => {
            needles[a % count] = needle(&format!("S{b}"), &format!("#{:06x}", c * 7919 % 0xff_ffff));
            remade(chart, size, needles, cells);
        }
        // One needle merged into another and taken out, so that those after it move up.
        3 if count > 1 => {
            let (from, to) = (a % count, b % (count - 1));
            needles.remove(from);
            for cell in &mut cells {
                *cell = match cell.needle() {
                    Some(needle) if needle == from => Cell::worked(to),
                    Some(needle) if needle > from => Cell::worked(needle - 1),
                    _ => *cell,
                };
            }
            remade(chart, size, needles, cells);
        }
        // Two needles change places.
        4 => {
            let (one, two) = (a % count, b % count);
            needles.swap(one, two);
            for cell in &mut cells {
                *cell = match cell.needle() {
                    Some(needle) if needle == one => Cell::worked(two),
                    Some(needle) if needle == two => Cell::worked(one),
                    _ => *cell,
                };
            }
            remade(chart, size, needles, cells);
        }
        // Cells are painted, or freed.
        5 => {
            let (from, length) = (a % cells.len(), 1 + b % 40);
            let end = (from + length).min(cells.len());
            cells[from..end].fill(if c % 4 == 0 { Cell::BARE } else { Cell::worked(c % count) });
            remade(chart, size, needles, cells);
        }
        // Another size, the same top left.
        6 => {
            let other = GridSize::new(4 + (a % 20) as u32, 4 + (b % 20) as u32).unwrap();
            let cell = |at: usize| {
                let (x, y) = (at % other.width(), at / other.width());
                if x < size.width() && y < size.height() { cells[y * size.width() + x] } else { Cell::BARE }
            };
            let cells = (0..other.cells()).map(cell).collect();
            // Marks would reach beyond it.
            chart.marks.clear();
            remade(chart, other, needles, cells);
        }
        7 => {
            let (column, row) = (1 + (a % size.width()) as i32, 1 + (b % size.height()) as i32);
            let pick = if c % 2 == 0 {
                PickedCells::At { cell: [column, row], within: 0.0, touching: Default::default() }
            } else {
                PickedCells::Rectangle([1, 1, column, row])
            };
            let mark = outline(&name, pick);
            match chart.marks.iter_mut().find(|old| old.name() == name) {
                Some(old) => *old = old.changed(mark),
                None => chart.marks.push(mark.into()),
            }
        }
        8 if !chart.marks.is_empty() => _ = chart.marks.remove(a % chart.marks.len()),
        9 if !chart.marks.is_empty() => {
            let at = a % chart.marks.len();
            let mut mark = chart.marks[at].mark().clone();
            mark.rename(format!("{}'", mark.name()));
            chart.marks[at] = chart.marks[at].changed(mark);
        }
        10 => chart.marks.reverse(),
        11 => {
            let rows: String = (0..1 + a % 3).map(|at| format!("C{at},c{b},#{c:06x}\n")).collect();
            chart.card =
                Some(ShadeCard::read("tin", format!("code,name,colour\n{rows}").as_bytes()).unwrap());
        }
        _ => chart.set_symbols([format!("sign {a}"), "ring".into()]),
    }
    Ok(())
}

/// All that a step may change.
fn content(chart: &Chart) -> Chart {
    let mut content = chart.clone();
    (content.identity, content.steps) = (None, Steps::default());
    content
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn as_many_undos_as_changes_give_the_first_chart_and_redos_the_last(
        columns in 4u32..16,
        rows in 4u32..16,
        seed in 0usize..1000,
        changes in proptest::collection::vec([0usize..13, 0usize..1000, 0usize..1000, 0usize..1000], 1..24),
        save_at in 0usize..24,
    ) {
        let mut chart = chart(columns, rows, |at| (at * 7 + seed * at / 3 + at / 11) % 5);
        chart.settle().unwrap();
        let mut charts = vec![content(&chart)];
        for (at, change) in changes.into_iter().enumerate() {
            let before = chart.steps().done().count();
            let revision = chart.stamp().revision;
            chart.change(Done::SymbolsGiven, |chart| alter(chart, change)).unwrap();
            if chart.steps().done().count() > before {
                prop_assert!(chart.stamp().revision > revision);
                charts.push(content(&chart));
            } else {
                prop_assert_eq!(&content(&chart), charts.last().unwrap());
            }
            if at == save_at {
                // In another sitting.
                chart = Chart::from_json(chart.to_json().as_bytes()).unwrap();
            }
        }
        let last = charts.len() - 1;
        for wanted in charts[..last].iter().rev() {
            chart.undo().unwrap();
            prop_assert_eq!(&content(&chart), wanted);
        }
        prop_assert_eq!(chart.undo(), Err(StepError::NothingDone));
        chart = Chart::from_json(chart.to_json().as_bytes()).unwrap();
        for wanted in &charts[1..] {
            chart.redo().unwrap();
            prop_assert_eq!(&content(&chart), wanted);
        }
        prop_assert_eq!(chart.redo(), Err(StepError::NothingUndone));
    }

    #[test]
    fn a_difference_and_its_inverse_give_the_chart_back(
        change in [0usize..13, 0usize..1000, 0usize..1000, 0usize..1000],
        seed in 0usize..1000,
    ) {
        let mut old = chart(12, 9, |at| (at * seed + at / 5) % 5);
        old.settle().unwrap();
        let mut new = old.clone();
        alter(&mut new, change).unwrap();
        new.settle().unwrap();
        let difference = Difference::between(&old, &new);
        prop_assert_eq!(content(&difference.applied(&old, Way::On).unwrap()), content(&new));
        prop_assert_eq!(content(&difference.applied(&new, Way::Back).unwrap()), content(&old));
    }
}

#[test]
fn a_new_change_takes_the_place_of_what_was_undone() {
    let mut chart = chart(8, 8, |at| at);
    let title = |chart: &mut Chart, title: &str| {
        let title = title.to_owned();
        let change = |chart: &mut Chart| {
            chart.title = title;
            Ok::<_, MarkError>(())
        };
        chart.change(Done::SymbolsGiven, change).unwrap();
    };
    title(&mut chart, "one");
    title(&mut chart, "two");
    chart.undo().unwrap();
    title(&mut chart, "three");
    assert_eq!(chart.redo(), Err(StepError::NothingUndone));
    chart.undo().unwrap();
    assert_eq!(chart.title, "one");
}

#[test]
fn what_fails_or_changes_nothing_leaves_the_chart_as_it_was() {
    let mut chart = chart(8, 8, |at| at);
    chart.settle().unwrap();
    let before = chart.clone();
    let nowhere = |chart: &mut Chart| {
        chart.title = "gone".into();
        let cell = [9, 9];
        chart
            .marks
            .push(outline("x", PickedCells::At { cell, within: 0.0, touching: Default::default() }).into());
        Ok::<_, MarkError>(())
    };
    assert!(matches!(chart.change(Done::SymbolsGiven, nowhere), Err(MarkError::NoSuchCell { .. })));
    assert_eq!(chart, before);
    chart.change(Done::SymbolsGiven, |_| Ok::<_, MarkError>(())).unwrap();
    assert_eq!(chart, before);
}

#[test]
fn a_chart_that_something_else_changed_is_not_undone_past_that() {
    let mut chart = chart(8, 8, |at| at);
    chart.change(Done::SymbolsGiven, |chart| alter(chart, [0, 1, 1, 1])).unwrap();
    let edited = chart.to_json().replacen("Pool 1", "Poll 1", 1);
    let mut chart = Chart::from_json(edited.as_bytes()).unwrap();
    assert_eq!(chart.undo(), Err(StepError::OtherChart));
    chart.change(Done::SymbolsGiven, |chart| alter(chart, [0, 2, 1, 1])).unwrap();
    chart.undo().unwrap();
    assert_eq!(chart.title, "Poll 1");
}

#[test]
fn a_thread_in_the_place_of_another_takes_bytes_however_large_the_chart() {
    let mut chart = chart(400, 400, |at| at * at % 7919);
    let size = |chart: &Chart| chart.to_json().len();
    let before = size(&chart);
    for a in 0..4 {
        chart.change(Done::SymbolsGiven, |chart| alter(chart, [2, a, 3, 4])).unwrap();
    }
    chart.change(Done::SymbolsGiven, |chart| alter(chart, [4, 0, 3, 0])).unwrap();
    let steps = size(&chart) - before;
    assert!(steps < 5 * 1100, "{steps} bytes of steps; the chart itself has {before}");
}

#[test]
fn a_mark_keeps_its_id_under_another_name_and_its_cells_under_other_threads() {
    let mut chart = chart(8, 8, |at| at / 20);
    let add = |chart: &mut Chart| {
        let cells = PickedCells::At { cell: [1, 1], within: 0.0, touching: Default::default() };
        chart.marks.push(outline("sea", cells).into());
        Ok::<_, MarkError>(())
    };
    chart.change(Done::SymbolsGiven, add).unwrap();
    let (id, cells) = (chart.marks[0].id(), chart.marks[0].cells().cloned());
    assert!(id.is_some() && cells.is_some());
    let first = chart.region(0).unwrap();
    chart.change(Done::SymbolsGiven, |chart| alter(chart, [9, 0, 0, 0])).unwrap();
    // All cells in one needle: flooded again, the mark would be the whole chart.
    chart.change(Done::SymbolsGiven, |chart| alter(chart, [5, 0, 39, 1])).unwrap();
    assert_eq!((chart.marks[0].id(), chart.marks[0].cells().cloned()), (id, cells));
    assert_eq!((chart.marks[0].name(), chart.region(0).unwrap()), ("sea'", first.clone()));
    // Another recipe is followed anew.
    let other = |chart: &mut Chart| {
        let mark = outline("sea", PickedCells::Rectangle([1, 1, 8, 8]));
        chart.marks[0] = chart.marks[0].changed(mark);
        Ok::<_, MarkError>(())
    };
    chart.change(Done::SymbolsGiven, other).unwrap();
    assert_eq!((chart.marks[0].id(), chart.region(0).unwrap().count()), (id, 64));
    // A mark that comes after one was taken off gets an id of its own.
    chart.change(Done::SymbolsGiven, |chart| alter(chart, [8, 0, 0, 0])).unwrap();
    chart.change(Done::SymbolsGiven, add).unwrap();
    assert_ne!(chart.marks[0].id(), id);
}

#[test]
fn a_chart_that_forgets_its_older_steps_keeps_the_later_ones() {
    let mut chart = chart(8, 8, |at| at);
    for a in 0..5 {
        chart.change(Done::SymbolsGiven, |chart| alter(chart, [0, a, 1, 1])).unwrap();
    }
    chart.undo().unwrap();
    let before = chart.to_json().len();
    assert_eq!(chart.forget_older_steps(), 2);
    assert!(chart.to_json().len() < before);
    chart.undo().unwrap();
    chart.undo().unwrap();
    assert_eq!(chart.undo(), Err(StepError::NothingDone));
    assert_eq!(chart.title, "Pool 1");
    (0..3).for_each(|_| drop(chart.redo().unwrap()));
    assert_eq!(chart.title, "Pool 4");
    (0..2).for_each(|_| drop(chart.undo().unwrap()));
    assert_eq!((chart.forget_older_steps(), chart.forget_older_steps()), (1, 0));
}
