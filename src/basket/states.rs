//! What became of each base cell of a piece: bands of rows, read where they are looked at and written where they change.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, OptionalExtension as _, params};

use super::cells::Cells;
use super::form::Worked;
use super::{BasketError, pack};
use crate::ground::units::GridSize;

/// What became of a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub(super) struct State(u16);

/// Set where a stitch must be taken out again.
const UNPICK: u16 = 1 << 15;

impl State {
    /// Nothing is done.
    pub(super) const NONE: Self = Self(0);

    /// Worked in the needle of this number.
    pub(super) fn worked(number: u16) -> Self {
        Self(number & !UNPICK)
    }

    /// The number of the needle that it was worked in, where it was.
    pub(super) fn number(self) -> Option<u16> {
        Some(self.0 & !UNPICK).filter(|&number| number > 0)
    }

    /// Whether it is worked and may stay.
    pub(super) fn is_done(self) -> bool {
        self.0 > 0 && self.0 & UNPICK == 0
    }

    /// Whether it must be taken out again.
    pub(super) fn is_to_unpick(self) -> bool {
        self.0 & UNPICK != 0
    }

    /// The same, to be taken out again.
    pub(super) fn to_unpick(self) -> Self {
        if self.0 == 0 { self } else { Self(self.0 | UNPICK) }
    }
}

/// The cells of a band at the most: it is unpacked in about 0.1 ms.
const BAND: usize = 32_768;

/// What became of the cells of a piece.
pub(super) struct States<'a> {
    store: &'a Connection,
    piece: i64,
    size: GridSize,
    bands: BTreeMap<usize, Vec<State>>,
    changed: BTreeSet<usize>,
}

impl<'a> States<'a> {
    pub(super) fn new(store: &'a Connection, piece: i64, size: GridSize) -> Self {
        Self { store, piece, size, bands: BTreeMap::new(), changed: BTreeSet::new() }
    }

    /// The cells of a band: whole rows.
    fn length(&self) -> usize {
        (BAND / self.size.width()).max(1) * self.size.width()
    }

    fn band(&mut self, number: usize) -> Result<&mut Vec<State>, BasketError> {
        if !self.bands.contains_key(&number) {
            let length = self.length().min(self.size.cells() - number * self.length());
            let mut ask =
                self.store.prepare_cached("SELECT states FROM band WHERE piece = ? AND number = ?")?;
            let row: Option<Vec<u8>> =
                ask.query_row(params![self.piece, number as i64], |row| row.get(0)).optional()?;
            let states = match row {
                Some(bytes) => unpacked(&bytes, length)?,
                None => vec![State::NONE; length],
            };
            self.bands.insert(number, states);
        }
        Ok(self.bands.get_mut(&number).expect("it was put there"))
    }

    /// Shows what became of each of some cells, to be looked at or changed.
    pub(super) fn each(
        &mut self,
        cells: &Cells,
        mut show: impl FnMut(usize, &mut State),
    ) -> Result<(), BasketError> {
        let length = self.length();
        let cells_of_chart = self.size.cells();
        for &[from, to] in cells.runs() {
            let (mut at, to) = (from as usize, (to as usize).min(cells_of_chart));
            while at < to {
                let (number, start) = (at / length, at % length);
                let end = (start + to - at).min(length);
                let mut is_changed = false;
                for (place, state) in self.band(number)?[start..end].iter_mut().enumerate() {
                    let old = *state;
                    show(at + place, state);
                    is_changed |= old != *state;
                }
                if is_changed {
                    self.changed.insert(number);
                }
                at += end - start;
            }
        }
        Ok(())
    }

    /// All cells.
    pub(super) fn all(&mut self) -> Result<Vec<State>, BasketError> {
        let mut all = Vec::with_capacity(self.size.cells());
        for number in 0..self.size.cells().div_ceil(self.length()) {
            all.extend_from_slice(self.band(number)?);
        }
        Ok(all)
    }

    /// Keeps what was changed.
    pub(super) fn write(&mut self) -> Result<(), BasketError> {
        for number in std::mem::take(&mut self.changed) {
            let states = &self.bands[&number];
            self.store.prepare_cached(WRITE)?.execute(params![self.piece, number as i64, packed(states)])?;
        }
        Ok(())
    }

    /// Keeps these instead of all that was there, on a chart of this size.
    pub(super) fn replace(
        store: &'a Connection,
        piece: i64,
        size: GridSize,
        all: &[State],
    ) -> Result<(), BasketError> {
        store.execute("DELETE FROM band WHERE piece = ?", [piece])?;
        let length = Self::new(store, piece, size).length();
        for (number, states) in all.chunks(length).enumerate() {
            if states.iter().any(|state| *state != State::NONE) {
                store.prepare_cached(WRITE)?.execute(params![piece, number as i64, packed(states)])?;
            }
        }
        Ok(())
    }
}

const WRITE: &str = "INSERT INTO band (piece, number, states) VALUES (?, ?, ?) \
    ON CONFLICT (piece, number) DO UPDATE SET states = excluded.states";

/// What was done on cells that went with a change of the chart from this form.
pub(super) fn park(store: &Connection, piece: i64, form: i64, states: &[State]) -> Result<(), BasketError> {
    let sql = "INSERT INTO parked (piece, form, states) VALUES (?, ?, ?)";
    store.execute(sql, params![piece, form, packed(states)])?;
    Ok(())
}

/// What was parked of a form with so many cells; it is there no more.
pub(super) fn unpark(
    store: &Connection,
    piece: i64,
    form: i64,
    cells: usize,
) -> Result<Option<Vec<State>>, BasketError> {
    let asked = "DELETE FROM parked WHERE piece = ? AND form = ? RETURNING states";
    let bytes: Option<Vec<u8>> = store.query_row(asked, params![piece, form], |row| row.get(0)).optional()?;
    bytes.map(|bytes| unpacked(&bytes, cells)).transpose()
}

/// The low bytes of all cells, then the high ones: alike beside alike.
fn packed(states: &[State]) -> Vec<u8> {
    let mut bytes: Vec<u8> = states.iter().map(|state| state.0 as u8).collect();
    bytes.extend(states.iter().map(|state| (state.0 >> 8) as u8));
    pack::packed(&bytes)
}

fn unpacked(bytes: &[u8], length: usize) -> Result<Vec<State>, BasketError> {
    let bytes = pack::whole(bytes, length * 2, "what is done")?;
    if bytes.len() != length * 2 {
        return Err(BasketError::Damaged { what: "what is done has too few cells".to_owned() });
    }
    let (low, high) = bytes.split_at(length);
    Ok(low.iter().zip(high).map(|(&low, &high)| State(u16::from(low) | u16::from(high) << 8)).collect())
}

/// The needles that something of a piece was worked in, by number.
pub(super) struct Needles<'a> {
    store: &'a Connection,
    piece: i64,
    list: BTreeMap<u16, Worked>,
}

impl<'a> Needles<'a> {
    pub(super) fn read(store: &'a Connection, piece: i64) -> Result<Self, BasketError> {
        let mut list = BTreeMap::new();
        let mut ask = store.prepare_cached("SELECT number, needle FROM worked WHERE piece = ?")?;
        let rows = ask.query_map([piece], |row| Ok((row.get::<_, u16>(0)?, row.get::<_, String>(1)?)))?;
        for row in rows {
            let (number, text) = row?;
            let needle = serde_json::from_str(&text).map_err(|_| BasketError::Damaged {
                what: "a thread that was worked in cannot be read".to_owned(),
            })?;
            list.insert(number, needle);
        }
        Ok(Self { store, piece, list })
    }

    /// The needle of a number.
    pub(super) fn get(&self, number: u16) -> Option<&Worked> {
        self.list.get(&number)
    }

    /// All of them, by number.
    pub(super) fn list(self) -> Vec<(u16, Worked)> {
        self.list.into_iter().collect()
    }

    /// The number of a needle, which it is given if it has none.
    pub(super) fn number(&mut self, needle: &Worked, name: &str) -> Result<u16, BasketError> {
        if let Some((&number, _)) = self.list.iter().find(|(_, known)| known.is_same_as(needle)) {
            return Ok(number);
        }
        let number = self.list.keys().last().map_or(1, |last| last + 1);
        if number >= UNPICK {
            return Err(BasketError::TooManyThreads { name: name.to_owned() });
        }
        let text = serde_json::to_string(needle).expect("a needle has only string keys");
        self.store
            .prepare_cached("INSERT INTO worked (piece, number, needle) VALUES (?, ?, ?)")?
            .execute(params![self.piece, number, text])?;
        self.list.insert(number, needle.clone());
        Ok(number)
    }
}
