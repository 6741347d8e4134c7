//! Lines, knots and beads in the key of a printed chart: beside each sample its code and name.
//!
//! Samples stand one below the other as symbols do, in a table of their own: the words of another table's columns say
//! nothing of theirs. Leaves which lines of the chart a sample is of to `chart`.

use std::collections::BTreeSet;

use super::key::{Beside, Entry, Seen, Table, table};
use super::squares::Spot;
use crate::reading::drawing::{Ink, Item};

/// A line of the key: what it looks like, and what stands beside it.
pub(super) struct LineEntry {
    /// The item of the page.
    pub(super) item: usize,
    pub(super) entry: Entry,
}

/// A level stroke.
#[derive(Clone, Copy)]
struct Sample {
    item: usize,
    from: f32,
    to: f32,
    y: f32,
}

/// The shortest and the longest sample, and how far off its text may begin, in points.
const SHORTEST: f32 = 6.0;
const LONGEST: f32 = 120.0;
const REACH: f32 = 60.0;

/// How far up or down from a sample its text may stand, in ems: beside it, or in two lines over and under its middle.
const BESIDE: f32 = 0.42;
const TWO_LINES: f32 = 0.9;

/// The most strokes of a page that may be samples: a key has a few.
const MOST: usize = 2_000;

/// Level strokes beside the chart with text at their right.
pub(super) fn lines(pages: &[Beside], tables: &[Table]) -> Vec<LineEntry> {
    let of_page = |beside: &Beside| {
        let samples = samples(beside, TWO_LINES);
        columns(samples)
            .into_iter()
            .flat_map(|rows| {
                let places: Vec<[f32; 2]> = rows.iter().map(|sample| [sample.to, sample.y]).collect();
                let entries = entries(beside, tables, &places);
                let items = rows.into_iter().map(|sample| sample.item);
                items.zip(entries).map(|(item, entry)| LineEntry { item, entry }).collect::<Vec<_>>()
            })
            .collect::<Vec<_>>()
    };
    let found = pages.iter().flat_map(of_page);
    found.filter(|found| found.entry.code.is_some() || found.entry.name.is_some()).collect()
}

/// Where samples begin: from the left, from the top.
pub(super) fn starts(beside: &Beside) -> Vec<[f32; 2]> {
    samples(beside, BESIDE).into_iter().map(|sample| [sample.from, sample.y]).collect()
}

/// What stands at the right of samples one below the other, which end at these places.
fn entries(beside: &Beside, tables: &[Table], places: &[[f32; 2]]) -> Vec<Entry> {
    let all: Vec<(f32, f32, f32)> =
        tables.iter().filter(|table| table.page == beside.page).flat_map(Table::places).collect();
    let rows: Vec<Seen> = places
        .iter()
        .map(|&[x, y]| {
            let side = beside.text_at([x, y], REACH, TWO_LINES).map_or(12.0, |em| 1.3 * em);
            Seen::sample([x - 0.35 * side, y], side)
        })
        .collect();
    let known: Vec<&Table> = tables.iter().filter(|table| table.page == beside.page).collect();
    table(beside, &rows, &all, &std::collections::BTreeMap::new(), &known).1
}

/// The strokes that may be samples, dashes that were drawn one by one put together.
fn samples(beside: &Beside, off: f32) -> Vec<Sample> {
    let mut strokes: Vec<(Sample, Ink, f32)> = Vec::new();
    for (item, drawn) in beside.drawn.items.iter().enumerate() {
        let Item::Line(line) = drawn else { continue };
        let (Some(first), Some(last)) = (line.points.first(), line.points.last()) else { continue };
        let is_level = line.points.iter().all(|point| (point[1] - first[1]).abs() < 0.3);
        let [from, to] = [first[0].min(last[0]), first[0].max(last[0])];
        if is_level && beside.is_outside(*first) && to - from < LONGEST && strokes.len() < MOST {
            strokes.push((Sample { item, from, to, y: first[1] }, line.ink, line.width));
        }
    }
    strokes.sort_by(|(one, ..), (other, ..)| {
        one.y.total_cmp(&other.y).then(one.from.total_cmp(&other.from)).then(one.item.cmp(&other.item))
    });
    let mut joined: Vec<(Sample, Ink, f32)> = Vec::new();
    for stroke in strokes {
        match joined.last_mut() {
            Some((known, ink, width))
                if (known.y - stroke.0.y).abs() < 0.3
                    && (*ink, *width) == (stroke.1, stroke.2)
                    && stroke.0.from - known.to < 8.0 =>
            {
                known.to = known.to.max(stroke.0.to);
            }
            _ => joined.push(stroke),
        }
    }
    joined.retain(|(sample, ..)| {
        (SHORTEST..LONGEST).contains(&(sample.to - sample.from))
            && beside.text_at([sample.to, sample.y], REACH, off).is_some()
    });
    joined.into_iter().map(|(sample, ..)| sample).collect()
}

/// Samples by the place where they begin; of two side by side, which are one double line, the upper.
fn columns(mut samples: Vec<Sample>) -> Vec<Vec<Sample>> {
    let mut columns: Vec<Vec<Sample>> = Vec::new();
    samples.sort_by(|one, other| one.y.total_cmp(&other.y));
    for sample in samples {
        match columns.iter_mut().find(|column| (column[0].from - sample.from).abs() < 3.0) {
            Some(column) => {
                if column.last().is_none_or(|last| sample.y - last.y > 4.0) {
                    column.push(sample);
                }
            }
            None => columns.push(vec![sample]),
        }
    }
    columns
}

/// What the key says of knots and beads: the outline and the ink of each sample, and its text.
pub(super) fn spots(pages: &[Beside], knots: &[Spot], tables: &[Table]) -> Vec<(u32, Ink, Entry)> {
    let shapes: BTreeSet<u32> = knots.iter().map(|knot| knot.shape).collect();
    let mut found = Vec::new();
    for beside in pages {
        let samples = beside.signs_of(&shapes);
        let mut columns: Vec<Vec<(u32, Ink, [f32; 2], f32)>> = Vec::new();
        for sample in samples {
            let [x, y] = sample.2;
            // The symbol of a square may look so too.
            let is_symbol = tables
                .iter()
                .filter(|table| table.page == beside.page)
                .flat_map(Table::places)
                .any(|(left, row, side)| (left - x).abs() < 0.5 * side && (row - y).abs() < 0.5 * side);
            if is_symbol {
                continue;
            }
            if beside.text_at([x + sample.3 / 2.0, y], REACH, BESIDE).is_none() {
                continue;
            }
            match columns.iter_mut().find(|column| (column[0].2[0] - x).abs() < 3.0) {
                Some(column) => column.push(sample),
                None => columns.push(vec![sample]),
            }
        }
        for mut rows in columns {
            rows.sort_by(|one, other| one.2[1].total_cmp(&other.2[1]));
            let places: Vec<[f32; 2]> = rows.iter().map(|row| [row.2[0] + row.3 / 2.0, row.2[1]]).collect();
            let entries = entries(beside, tables, &places);
            found.extend(rows.into_iter().zip(entries).map(|((shape, ink, ..), entry)| (shape, ink, entry)));
        }
    }
    found.retain(|(_, _, entry)| entry.code.is_some() || entry.name.is_some());
    found
}
