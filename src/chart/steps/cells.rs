//! Cells that differ, as runs: first every cell of one needle becomes another, then what that leaves is set cell by cell.
//!
//! So one thread in the place of another, or a new order of the needles, is a few bytes however large the chart is.

use std::collections::BTreeMap;
use std::fmt::{self, Write as _};

use serde::{Deserialize, Serialize};

use super::way::{DifferenceError, Way};
use crate::chart::Cell;
use crate::ground::units::GridSize;

/// A cell as it is written: the needle's place, or `.` for bare cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
struct Written(Cell);

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0.needle() {
            Some(needle) => needle.fmt(f),
            None => f.write_str("."),
        }
    }
}

impl From<Written> for String {
    fn from(cell: Written) -> Self {
        cell.to_string()
    }
}

impl TryFrom<String> for Written {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        if text == "." {
            return Ok(Self(Cell::BARE));
        }
        let needle: Option<u8> = text.parse().ok().filter(|&needle| needle != u8::MAX);
        needle
            .map(|needle| Self(Cell(needle)))
            .ok_or_else(|| "a square is the place of a thread among the threads, or `.`".into())
    }
}

/// What makes the cells at one end of those at the other.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct OneWay {
    /// What all cells of a needle become, where it is another.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    all: BTreeMap<Written, Written>,
    /// Cells that are set after that: for each needle how many cells are passed over before each run, in reading
    /// order, and `*` and the run's length where it is not 1.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    set: BTreeMap<Written, String>,
}

/// Cells that differ.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CellDifference {
    #[serde(default)]
    on: OneWay,
    #[serde(default)]
    back: OneWay,
}

type Grid<'a> = (&'a [Cell], GridSize);

/// The cell at a place of another grid with the same top left; bare beyond it.
fn beside((cells, size): Grid, other: GridSize, at: usize) -> Cell {
    let (x, y) = (at % other.width(), at / other.width());
    if x < size.width() { cells.get(y * size.width() + x).copied().unwrap_or(Cell::BARE) } else { Cell::BARE }
}

impl OneWay {
    fn between(from: Grid, to: Grid) -> Self {
        let is_same_size = from.1 == to.1;
        let source = |at: usize| if is_same_size { from.0[at] } else { beside(from, to.1, at) };
        let mut counts = vec![[0u32; 256]; 256];
        for (at, cell) in to.0.iter().enumerate() {
            counts[usize::from(source(at).0)][usize::from(cell.0)] += 1;
        }
        let mut becomes = [0u8; 256];
        let mut all = BTreeMap::new();
        for (old, (counts, becomes)) in (0u8..=255).zip(counts.iter().zip(&mut becomes)) {
            // The commonest; where there is a choice, what it was.
            let most = (0u8..=255).max_by_key(|&new| (counts[usize::from(new)], new == old)).unwrap_or(old);
            *becomes = most;
            if most != old {
                all.insert(Written(Cell(old)), Written(Cell(most)));
            }
        }
        let mut set: BTreeMap<Written, (String, usize)> = BTreeMap::new();
        let differs = |at: usize| becomes[usize::from(source(at).0)] != to.0[at].0;
        let mut at = 0;
        while at < to.0.len() {
            if !differs(at) {
                at += 1;
                continue;
            }
            let cell = to.0[at];
            let start = at;
            while at < to.0.len() && to.0[at] == cell && differs(at) {
                at += 1;
            }
            let (text, end) = set.entry(Written(cell)).or_default();
            if !text.is_empty() {
                text.push(' ');
            }
            _ = write!(text, "{}", start - *end);
            if at - start > 1 {
                _ = write!(text, "*{}", at - start);
            }
            *end = at;
        }
        Self { all, set: set.into_iter().map(|(cell, (text, _))| (cell, text)).collect() }
    }

    fn applied(&self, from: Grid, size: GridSize) -> Result<Vec<Cell>, DifferenceError> {
        let becomes = |cell: Cell| self.all.get(&Written(cell)).map_or(cell, |to| to.0);
        let table: Vec<Cell> = (0u8..=255).map(|cell| becomes(Cell(cell))).collect();
        let mapped = |cell: Cell| table[usize::from(cell.0)];
        let mut cells: Vec<Cell> = if from.1 == size {
            from.0.iter().map(|&cell| mapped(cell)).collect()
        } else {
            (0..size.cells()).map(|at| mapped(beside(from, size, at))).collect()
        };
        for (cell, runs) in &self.set {
            let mut at = 0usize;
            for run in runs.split(' ') {
                let read = || {
                    let (skip, length) = run.split_once('*').unwrap_or((run, "1"));
                    let start = at.checked_add(skip.parse().ok()?)?;
                    let end = start.checked_add(length.parse().ok()?)?;
                    Some((start, end))
                };
                let damaged = || DifferenceError::Run { run: run.chars().take(40).collect() };
                let (start, end) = read().ok_or_else(damaged)?;
                cells.get_mut(start..end).ok_or_else(damaged)?.fill(cell.0);
                at = end;
            }
        }
        Ok(cells)
    }
}

impl CellDifference {
    pub(super) fn between(old: Grid, new: Grid) -> Option<Self> {
        if old == new {
            return None;
        }
        Some(Self { on: OneWay::between(old, new), back: OneWay::between(new, old) })
    }

    pub(super) fn applied(&self, from: Grid, size: GridSize, way: Way) -> Result<Vec<Cell>, DifferenceError> {
        match way {
            Way::On => self.on.applied(from, size),
            Way::Back => self.back.applied(from, size),
        }
    }
}
