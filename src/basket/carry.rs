//! What becomes of ticks when a chart changes.
//!
//! A stitch that is done stays done where its cell still is and the needle there is the one that it was worked in, or
//! took that needle's place on the whole chart: a swap of threads keeps what was worked in the old one. Where single cells
//! got another needle, or none, what was worked there would have to be taken out again; so would a mark that is done and
//! goes or becomes another. All of it is counted before anything is changed.

use std::collections::BTreeMap;

use rusqlite::{Connection, Row as SqlRow, params};

use super::BasketError;
use super::carried::Carried;
use super::cells::Cells;
use super::form::{self, BARE, Form};
use super::states::{self, Needles, State, States};
use crate::chart::{Mark, PlacedMark};
use crate::ground::units::GridSize;

/// One form of a chart and the next.
pub(super) struct Carrying<'a> {
    old: &'a Form,
    new: &'a Form,
    /// For each old needle the one that took its place on the whole chart, where one did.
    became: Vec<Option<u8>>,
}

impl<'a> Carrying<'a> {
    pub(super) fn new(old: &'a Form, new: &'a Form) -> Self {
        let mut became: Vec<Option<Option<u8>>> = vec![None; old.needles.len()];
        for (cell, &needle) in old.cells.iter().enumerate() {
            let (Some(slot), Some(to)) =
                (became.get_mut(usize::from(needle)), new.moved.place(old.size, new.size, cell))
            else {
                continue;
            };
            let to = Some(new.cells[to]);
            *slot = match *slot {
                None => Some(to),
                Some(same) if same == to => continue,
                Some(_) => Some(None),
            };
        }
        let became = became.into_iter().map(Option::flatten).collect();
        Self { old, new, became }
    }

    /// Where a cell is now.
    pub(super) fn place(&self, cell: usize) -> Option<usize> {
        self.new.moved.place(self.old.size, self.new.size, cell)
    }

    /// What becomes of what was worked on a cell of the old form that the new one still has.
    pub(super) fn state(&self, cell: usize, state: State, needles: &Needles) -> State {
        let (Some(number), Some(place)) = (state.number(), self.place(cell)) else { return state };
        let Some(now) = self.new.needle(place) else { return state.to_unpick() };
        if needles.get(number).is_some_and(|worked| worked.is_same_as(now)) {
            return State::worked(number);
        }
        let old = self.old.cells[cell];
        let is_swap = old != BARE && self.became[usize::from(old)] == Some(self.new.cells[place]);
        if state.is_done() && is_swap { state } else { state.to_unpick() }
    }
}

/// All cells carried from one form to the next, and what that comes to.
pub(super) fn cells(
    store: &Connection,
    piece: i64,
    (old, new): (&Form, &Form),
    [hidden_before, hidden_now]: [&Cells; 2],
) -> Result<(Moved, Carried), BasketError> {
    let before = States::new(store, piece, old.size).all()?;
    let needles = Needles::read(store, piece)?;
    let carrying = Carrying::new(old, new);
    let mut after = vec![State::NONE; new.size.cells()];
    let mut carried = Carried::default();
    let mut lost = Vec::new();
    for (cell, &state) in before.iter().enumerate() {
        if state == State::NONE {
            continue;
        }
        let was_done = state.is_done() && !hidden_before.has(cell);
        let Some(place) = carrying.place(cell) else {
            carried.lost += u64::from(was_done);
            lost.resize(before.len(), State::NONE);
            lost[cell] = state;
            continue;
        };
        let state = carrying.state(cell, state, &needles);
        after[place] = state;
        let is_done = state.is_done() && !hidden_now.has(place);
        if is_done {
            let worked = state.number().and_then(|number| needles.get(number));
            let is_same = worked.zip(new.needle(place)).is_some_and(|(worked, now)| worked.is_same_as(now));
            *(if is_same { &mut carried.kept } else { &mut carried.otherwise }) += 1;
        } else {
            carried.unpick += u64::from(was_done);
        }
    }
    Ok((Moved { after, lost }, carried))
}

/// Cells carried from one form to the next.
pub(super) struct Moved {
    /// What became of the cells of the new form.
    pub(super) after: Vec<State>,
    /// What was done on cells of the old form that went; empty where none was.
    pub(super) lost: Vec<State>,
}

/// Where a chart is again what it was on a form, what was done on cells that went meanwhile is there again.
pub(super) fn come_back(
    store: &Connection,
    piece: i64,
    form: (i64, GridSize),
    last: i64,
    after: &mut [State],
) -> Result<(), BasketError> {
    for number in form.0..=last {
        let size = form::size(store, piece, number)?;
        let Some(parked) = states::unpark(store, piece, number, size.cells())? else { continue };
        let back = form::way(store, piece, form.0, number)?.back();
        for (cell, &state) in parked.iter().enumerate().filter(|(_, state)| **state != State::NONE) {
            if let Some(place) = back.place(size, form.1, cell).filter(|&place| after[place] == State::NONE) {
                after[place] = state;
            }
        }
    }
    Ok(())
}

/// A mark of a piece as it is kept.
pub(super) struct MarkRow {
    pub(super) crosses: i64,
    pub(super) recipe: String,
    pub(super) is_here: bool,
    done: bool,
    done_recipe: Option<String>,
    pub(super) counter: i64,
    pub(super) device: String,
}

pub(super) const MARK: &str =
    "SELECT crosses, recipe, here, done, done_recipe, counter, device FROM mark WHERE piece = ? AND id = ?";

impl MarkRow {
    pub(super) fn of(row: &SqlRow) -> rusqlite::Result<Self> {
        Ok(Self {
            crosses: row.get(0)?,
            recipe: row.get(1)?,
            is_here: row.get(2)?,
            done: row.get(3)?,
            done_recipe: row.get(4)?,
            counter: row.get(5)?,
            device: row.get(6)?,
        })
    }

    /// Whether it is worked as it is asked for.
    pub(super) fn is_done(&self) -> bool {
        self.is_here && self.done && self.done_recipe.as_deref() == Some(&self.recipe)
    }

    /// Its crosses that are done.
    pub(super) fn done_crosses(&self) -> i64 {
        if self.is_done() { self.crosses } else { 0 }
    }
}

/// The marks of a piece by their ids.
pub(super) fn marks(store: &Connection, piece: i64) -> Result<BTreeMap<String, MarkRow>, BasketError> {
    let mut ask = store.prepare_cached(
        "SELECT crosses, recipe, here, done, done_recipe, counter, device, id FROM mark WHERE piece = ?",
    )?;
    let rows = ask.query_map([piece], |row| Ok((row.get::<_, String>(7)?, MarkRow::of(row)?)))?;
    let mut marks = BTreeMap::new();
    for row in rows {
        let (id, row) = row?;
        marks.insert(id, row);
    }
    Ok(marks)
}

/// Keeps which marks a chart has now. A mark that goes, or is asked for otherwise, is not done any more, and is again
/// when it comes back; crosses that were done so are added to what is to be taken out.
pub(super) fn keep_marks(
    store: &Connection,
    piece: i64,
    now: &[(String, u64, String)],
    carried: &mut Carried,
) -> Result<i64, BasketError> {
    let before = marks(store, piece)?;
    store.execute("UPDATE mark SET here = 0 WHERE piece = ?", [piece])?;
    for (id, crosses, recipe) in now {
        store.prepare_cached(KEEP)?.execute(params![piece, id, *crosses as i64, recipe])?;
    }
    let after = marks(store, piece)?;
    let mut done = 0;
    for (id, mark) in &after {
        let is_done = mark.is_done();
        done += mark.done_crosses();
        if let Some(old) = before.get(id).filter(|old| old.is_done()) {
            let stitches = old.crosses.max(1).unsigned_abs();
            *(if is_done { &mut carried.kept } else { &mut carried.unpick }) += stitches;
        }
    }
    Ok(done)
}

const KEEP: &str = "INSERT INTO mark (piece, id, crosses, recipe, here, done, counter, device) VALUES (?, ?, ?, ?, 1, 0, 0, '') \
    ON CONFLICT (piece, id) DO UPDATE SET crosses = excluded.crosses, recipe = excluded.recipe, here = 1";

/// What a mark asks for, without what changes no stitch: its names and threads. The cells that it was found to be about
/// stand for how they were chosen.
pub(super) fn recipe(placed: &PlacedMark) -> String {
    let plain = placed.mark().clone().with_threads(|_, _| Ok::<(), std::convert::Infallible>(()));
    let Ok(mut plain) = plain;
    plain.rename(String::new());
    if let Some(motif) = plain.motif_mut().filter(|_| placed.cells().is_some()) {
        *motif = crate::chart::mark::Motif::default();
    }
    if let Mark::Outline(crate::chart::mark::Outline { label, .. })
    | Mark::Halo(crate::chart::mark::Halo { label, .. })
    | Mark::Backstitch(crate::chart::mark::Backstitch { label, .. }) = &mut plain
    {
        *label = None;
    }
    serde_json::to_string(&(plain, placed.cells())).expect("a mark has only string keys")
}
