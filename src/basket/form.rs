//! What base cells and needles a chart has while ticks are made.

use rusqlite::{Connection, OptionalExtension as _, params};
use serde::{Deserialize, Serialize};

use super::{BasketError, pack};
use crate::chart::{CellMap, Chart, Needle};
use crate::ground::colour::Srgb8;
use crate::ground::units::GridSize;
use crate::thread::cloth::StitchKind;

/// A thread that something was worked in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WorkedThread {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its colour.
    pub colour: Srgb8,
    /// Its strands.
    pub strands: u8,
}

/// What something was worked in: threads and a kind of stitch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Worked {
    /// The threads in the needle.
    pub threads: Vec<WorkedThread>,
    /// The kind of stitch.
    pub stitch: StitchKind,
}

impl Worked {
    /// What a needle of a chart is.
    #[must_use]
    pub fn of(needle: &Needle) -> Self {
        let thread = |thread: &crate::chart::Thread| WorkedThread {
            code: thread.code.clone(),
            name: thread.name.clone(),
            colour: thread.colour,
            strands: thread.strands,
        };
        Self { threads: needle.threads.iter().map(thread).collect(), stitch: needle.stitch }
    }

    /// Whether both are the same threads, known by their codes, worked the same way.
    #[must_use]
    pub fn is_same_as(&self, other: &Self) -> bool {
        let key = |thread: &WorkedThread| (thread.code.clone(), thread.strands);
        self.stitch == other.stitch && self.threads.iter().map(key).eq(other.threads.iter().map(key))
    }

    /// The codes of its threads, joined by `+`.
    #[must_use]
    pub fn code(&self) -> String {
        self.threads.iter().map(|thread| thread.code.as_str()).collect::<Vec<_>>().join(" + ")
    }

    /// The names of its threads, joined by `+`.
    #[must_use]
    pub fn name(&self) -> String {
        self.threads.iter().map(|thread| thread.name.as_str()).collect::<Vec<_>>().join(" + ")
    }
}

/// A cell on which nothing is worked.
pub(super) const BARE: u8 = u8::MAX;

/// Base cells and needles of a chart.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    pub(super) number: i64,
    pub(super) size: GridSize,
    pub(super) cells: Vec<u8>,
    pub(super) needles: Vec<Worked>,
    /// Where the cells of the form before went.
    pub(super) moved: CellMap,
}

impl Form {
    /// That of a chart.
    pub(super) fn of(chart: &Chart, number: i64, moved: CellMap) -> Self {
        let cell = |cell: &crate::chart::Cell| cell.needle().map_or(BARE, |needle| needle as u8);
        Self {
            number,
            size: chart.size(),
            cells: chart.cells().iter().map(cell).collect(),
            needles: chart.needles().iter().map(Worked::of).collect(),
            moved,
        }
    }

    /// Whether ticks made on either mean the same.
    pub(super) fn is_same_as(&self, other: &Self) -> bool {
        self.size == other.size
            && self.cells == other.cells
            && self.needles.len() == other.needles.len()
            && self.needles.iter().zip(&other.needles).all(|(one, two)| one.is_same_as(two))
    }

    /// The needle of a cell.
    pub(super) fn needle(&self, cell: usize) -> Option<&Worked> {
        self.needles.get(usize::from(*self.cells.get(cell)?))
    }

    pub(super) fn write(&self, store: &Connection, piece: i64) -> Result<(), BasketError> {
        let needles = serde_json::to_string(&self.needles).expect("needles have only string keys");
        let moved = serde_json::to_string(&self.moved).expect("a way of cells has only string keys");
        store.prepare_cached(WRITE)?.execute(params![
            piece,
            self.number,
            self.size.columns(),
            self.size.rows(),
            pack::packed(&self.cells),
            needles,
            moved
        ])?;
        Ok(())
    }

    pub(super) fn read(store: &Connection, piece: i64, number: i64) -> Result<Self, BasketError> {
        let damaged =
            || BasketError::Damaged { what: format!("form {number} of piece {piece} cannot be read") };
        let mut ask = store.prepare_cached(READ)?;
        let row = ask.query_row(params![piece, number], |row| {
            let cells: Vec<u8> = row.get(2)?;
            Ok((
                row.get::<_, u32>(0)?,
                row.get::<_, u32>(1)?,
                cells,
                row.get::<_, String>(3)?,
                row.get::<_, String>(4)?,
            ))
        });
        let (columns, rows, cells, needles, moved) = row.optional()?.ok_or_else(damaged)?;
        let size = GridSize::new(columns, rows).map_err(|_| damaged())?;
        let cells = pack::whole(&cells, size.cells(), "cells of a chart")?;
        if cells.len() != size.cells() {
            return Err(damaged());
        }
        let needles = serde_json::from_str(&needles).map_err(|_| damaged())?;
        let moved = serde_json::from_str(&moved).map_err(|_| damaged())?;
        Ok(Self { number, size, cells, needles, moved })
    }
}

/// The last form before this one that was the same; nothing where there is none.
pub(super) fn same_before(store: &Connection, piece: i64, form: &Form) -> Result<Option<i64>, BasketError> {
    let mut ask = store.prepare_cached(
        "SELECT number FROM form WHERE piece = ? AND columns = ? AND rows = ? AND cells = ? AND number < ? ORDER BY number DESC",
    )?;
    let values =
        params![piece, form.size.columns(), form.size.rows(), pack::packed(&form.cells), form.number];
    let numbers = ask.query_map(values, |row| row.get(0))?.collect::<Result<Vec<i64>, _>>()?;
    for number in numbers {
        if Form::read(store, piece, number)?.is_same_as(form) {
            return Ok(Some(number));
        }
    }
    Ok(None)
}

/// The way of the cells of one form to those of a later one.
pub(super) fn way(store: &Connection, piece: i64, from: i64, to: i64) -> Result<CellMap, BasketError> {
    let mut ask = store.prepare_cached(
        "SELECT moved FROM form WHERE piece = ? AND number > ? AND number <= ? ORDER BY number",
    )?;
    let rows = ask.query_map(params![piece, from, to], |row| row.get::<_, String>(0))?;
    let mut way = CellMap::STAY;
    for row in rows {
        let moved = serde_json::from_str(&row?)
            .map_err(|_| BasketError::Damaged { what: "the way of cells cannot be read".to_owned() })?;
        way = way.then(moved);
    }
    Ok(way)
}

const WRITE: &str =
    "INSERT INTO form (piece, number, columns, rows, cells, needles, moved) VALUES (?, ?, ?, ?, ?, ?, ?)";
const READ: &str = "SELECT columns, rows, cells, needles, moved FROM form WHERE piece = ? AND number = ?";

/// The size of a form, without its cells.
pub(super) fn size(store: &Connection, piece: i64, number: i64) -> Result<GridSize, BasketError> {
    let damaged = || BasketError::Damaged { what: format!("form {number} of piece {piece} is not there") };
    let mut ask = store.prepare_cached("SELECT columns, rows FROM form WHERE piece = ? AND number = ?")?;
    let row = ask.query_row(params![piece, number], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
    let (columns, rows) = row.ok_or_else(damaged)?;
    GridSize::new(columns, rows).map_err(|_| damaged())
}
