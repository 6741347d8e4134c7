//! Ticks: stitches said to be done, or not to be.
//!
//! The last writer of a cell wins, by (counter, device): the counter of a device is one more than the highest that it
//! has seen, its own or the basket's, so that the clock on the wall decides nothing. Ticks are kept in that order, and
//! one that comes late leaves alone what later ones have written. So in whatever order ticks come, and however often,
//! the end is the same; a test says so.
//!
//! A tick is known by its device and counter: sent again it changes nothing, and another under the same two is refused.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension as _, params};
use serde::{Deserialize, Serialize};

use super::carry::{self, Carrying};
use super::cells::Cells;
use super::diary;
use super::form::{self, BARE, Form};
use super::id::{DeviceId, PieceId};
use super::open::Basket;
use super::piece::{self, Row, Turn};
use super::states::{Needles, State, States};
use super::{BasketError, Limited, Unknown};
use crate::chart::MarkId;
use crate::ground::day::{Day, When};

/// What is ticked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ticked {
    /// Base cells, counted row by row from the top left. Those that are bare are left out.
    Cells(Cells),
    /// All that a mark lays down: its lines and crosses.
    Mark(MarkId),
}

/// Whether stitches are said to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// They are.
    Done,
    /// They are not, or not any more.
    NotDone,
}

/// A tick as a device makes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tick {
    /// The device.
    pub device: DeviceId,
    /// More than any counter that the device has used, and any that the basket has told it; nothing where the device
    /// is here now and takes the next.
    pub counter: Option<u64>,
    /// The form of the chart that was seen, as [`super::Seen`] gives it; nothing where it is the one that is there.
    pub form: Option<i64>,
    /// When it was made.
    pub when: When,
    /// What is ticked.
    pub what: Ticked,
    /// Which way.
    pub way: Way,
}

/// What came of ticks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct TickResult {
    /// So many stitches more are done, crosses of marks among them.
    pub done: u64,
    /// So many fewer.
    pub undone: u64,
    /// Ticks that were there already.
    pub known: u64,
    /// The highest counter that the basket knows now: devices go on from it.
    pub counter: u64,
}

impl Basket {
    /// Keeps ticks of a piece: when this returns, they are on the disk. All of them are kept, or none.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn tick(&mut self, piece: &PieceId, ticks: &[Tick]) -> Result<TickResult, BasketError> {
        let change = self.begin()?;
        let row = Row::read(&change, piece)?;
        let mut result = TickResult::default();
        let mut ticking = Ticking::begin(&change, &row)?;
        for tick in ticks {
            ticking.keep(tick, &mut result)?;
        }
        ticking.end()?;
        let clock = "SELECT counter FROM basket";
        result.counter = change.query_row(clock, [], |row| row.get::<_, i64>(0))?.unsigned_abs();
        change.commit()?;
        Ok(result)
    }

    /// The highest counter that any device has used.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn counter(&self) -> Result<u64, BasketError> {
        let clock = "SELECT counter FROM basket";
        Ok(self.store.query_row(clock, [], |row| row.get::<_, i64>(0))?.unsigned_abs())
    }
}

/// Ticks of one piece, kept one after the other in one change of the store.
struct Ticking<'a> {
    store: &'a Connection,
    row: &'a Row,
    form: Form,
    hidden: Cells,
    states: States<'a>,
    needles: Needles<'a>,
    /// The forms before, as far as ticks were made on them.
    forms: BTreeMap<i64, Form>,
    /// What came to each day.
    days: BTreeMap<i64, i64>,
    last_day: Option<i64>,
}

/// What decides which of two ticks is the later: the counter, then the name of the device.
type Key<'a> = (i64, &'a str);

/// A tick that is kept already.
struct Kept {
    form: i64,
    cells: Cells,
}

impl<'a> Ticking<'a> {
    fn begin(store: &'a Connection, row: &'a Row) -> Result<Self, BasketError> {
        let (form, hidden) = row.form_and_hidden(store)?;
        Ok(Self {
            store,
            row,
            states: States::new(store, row.number, form.size),
            needles: Needles::read(store, row.number)?,
            form,
            hidden,
            forms: BTreeMap::new(),
            days: BTreeMap::new(),
            last_day: None,
        })
    }

    fn keep(&mut self, tick: &Tick, result: &mut TickResult) -> Result<(), BasketError> {
        let device = device(self.store, &tick.device)?;
        let counter = match tick.counter {
            Some(counter) => i64::try_from(counter).ok().filter(|&counter| counter < i64::MAX),
            None => Some(self.store.query_row("SELECT counter + 1 FROM basket", [], |row| row.get(0))?),
        };
        let counter = counter.ok_or(BasketError::Limit { what: Limited::Counter, limit: i64::MAX as u64 })?;
        let form = tick.form.unwrap_or(self.form.number);
        if !(1..=self.form.number).contains(&form) {
            return Err(BasketError::NothingToTick { what: Unknown::Form });
        }
        let (mark, cells) = match &tick.what {
            Ticked::Mark(mark) => (Some(mark.to_string()), None),
            Ticked::Cells(cells) => (None, Some(self.worked_cells(form, cells)?)),
        };
        let bytes = cells.as_ref().map(Cells::to_bytes);
        let done = i64::from(tick.way == Way::Done);
        let mut ask = self.store.prepare_cached(KNOWN)?;
        let same = ask
            .query_row(params![counter, device, self.row.number, form, done, mark, bytes], |row| row.get(0));
        match same.optional()? {
            Some(true) => {
                result.known += 1;
                return Ok(());
            }
            Some(false) => {
                let (device, counter) = (tick.device.as_str().to_owned(), counter.unsigned_abs());
                return Err(BasketError::OtherTick { device, counter });
            }
            None => {}
        }
        let When { seconds, day } = tick.when;
        self.store.prepare_cached(WRITE)?.execute(params![
            counter,
            device,
            self.row.number,
            form,
            seconds,
            day.number(),
            done,
            mark,
            bytes
        ])?;
        self.store.execute("UPDATE basket SET counter = max(counter, ?)", [counter])?;
        let by = match (mark, cells) {
            (Some(mark), _) => self.tick_mark(&mark, (counter, tick.device.as_str()), tick.way)?,
            (None, cells) => {
                self.tick_cells(&cells.unwrap_or_default(), form, (counter, tick.device.as_str()), tick.way)?
            }
        };
        result.done += by.max(0).unsigned_abs();
        result.undone += by.min(0).unsigned_abs();
        *self.days.entry(day.number()).or_default() += by;
        self.last_day = self.last_day.max(Some(day.number()));
        Ok(())
    }

    /// Those of the cells on which anything is worked.
    fn worked_cells(&mut self, form: i64, cells: &Cells) -> Result<Cells, BasketError> {
        let form = self.form_of(form)?;
        if cells.end() > form.size.cells() {
            return Err(BasketError::NothingToTick { what: Unknown::Cell });
        }
        let worked = |run: &[u32; 2]| {
            let [from, to] = *run;
            let mut runs = Vec::new();
            let mut at = from;
            for same in
                form.cells[from as usize..to as usize].chunk_by(|one, next| (*one == BARE) == (*next == BARE))
            {
                let end = at + same.len() as u32;
                if same.first().is_some_and(|&cell| cell != BARE) {
                    runs.push([at, end]);
                }
                at = end;
            }
            runs
        };
        Ok(Cells::of_runs(cells.runs().iter().flat_map(worked)))
    }

    fn form_of(&mut self, number: i64) -> Result<&Form, BasketError> {
        if number == self.form.number {
            return Ok(&self.form);
        }
        if !self.forms.contains_key(&number) {
            let form = Form::read(self.store, self.row.number, number)?;
            self.forms.insert(number, form);
        }
        Ok(&self.forms[&number])
    }

    /// Ticks cells; gives how many stitches more are done.
    fn tick_cells(&mut self, cells: &Cells, form: i64, key: Key, way: Way) -> Result<i64, BasketError> {
        // Numbers of the needles that the cells are worked in, on the form that was seen.
        let mut numbers = BTreeMap::new();
        if way == Way::Done {
            let named = self.form_of(form)?;
            let mut seen: Vec<usize> = cells.iter().map(|cell| usize::from(named.cells[cell])).collect();
            seen.sort_unstable();
            seen.dedup();
            let needles: Vec<(usize, _)> =
                seen.into_iter().filter_map(|at| Some((at, named.needles.get(at)?.clone()))).collect();
            for (at, needle) in needles {
                numbers.insert(at, self.needles.number(&needle, &self.row.name)?);
            }
        }
        let later = self.later(key)?;
        if form == self.form.number && later.iter().all(|tick| tick.form == form) {
            let mut cells = cells.clone();
            for tick in &later {
                cells = cells.without(&tick.cells);
            }
            let form = &self.form;
            let state = |cell: usize| {
                numbers.get(&usize::from(form.cells[cell])).map_or(State::NONE, |&n| State::worked(n))
            };
            return set(&mut self.states, &self.hidden, &cells, state);
        }
        // On an earlier form: what it came to is carried through every change of the chart since.
        let mut carried = self.carried(cells, form, |form, cell| {
            numbers.get(&usize::from(form.cells[cell])).map_or(State::NONE, |&number| State::worked(number))
        })?;
        for tick in later {
            for cell in self.carried(&tick.cells, tick.form, |_, _| State::NONE)?.keys() {
                carried.remove(cell);
            }
        }
        let cells: Cells = carried.keys().copied().collect();
        set(&mut self.states, &self.hidden, &cells, |cell| carried[&cell])
    }

    /// Where cells of a form are now, and what became of what they were.
    fn carried(
        &mut self,
        cells: &Cells,
        form: i64,
        state: impl Fn(&Form, usize) -> State,
    ) -> Result<BTreeMap<usize, State>, BasketError> {
        let from = self.form_of(form)?;
        let mut carried: BTreeMap<usize, State> =
            cells.iter().map(|cell| (cell, state(from, cell))).collect();
        for number in form..self.form.number {
            let old = self.form_of(number)?.clone();
            let new = self.form_of(number + 1)?.clone();
            let carrying = Carrying::new(&old, &new);
            let after =
                |(cell, state)| Some((carrying.place(cell)?, carrying.state(cell, state, &self.needles)));
            carried = carried.into_iter().filter_map(after).collect();
        }
        Ok(carried)
    }

    /// Ticks of cells of the piece that are later than this one.
    fn later(&self, (counter, device): Key) -> Result<Vec<Kept>, BasketError> {
        let mut ask = self.store.prepare_cached(LATER)?;
        let rows = ask.query_map(params![counter, device, self.row.number], |row| {
            Ok((row.get::<_, i64>(0)?, row.get::<_, Vec<u8>>(1)?))
        })?;
        let mut kept = Vec::new();
        for row in rows {
            let (form, bytes) = row?;
            let size = form::size(self.store, self.row.number, form)?;
            kept.push(Kept { form, cells: Cells::from_bytes(&bytes, size.cells())? });
        }
        Ok(kept)
    }

    /// Ticks a mark; gives how many crosses more are done.
    fn tick_mark(&mut self, mark: &str, key: Key, way: Way) -> Result<i64, BasketError> {
        let mut ask = self.store.prepare_cached(carry::MARK)?;
        let known = ask.query_row(params![self.row.number, mark], carry::MarkRow::of).optional()?;
        let Some(known) = known else { return Err(BasketError::NothingToTick { what: Unknown::Mark }) };
        if (known.counter, known.device.as_str()) >= key {
            return Ok(0);
        }
        let done_recipe = (way == Way::Done).then_some(known.recipe.as_str());
        self.store.prepare_cached(TICK_MARK)?.execute(params![
            self.row.number,
            mark,
            i64::from(way == Way::Done),
            done_recipe,
            key.0,
            key.1,
        ])?;
        let after = if known.is_here && way == Way::Done { known.crosses } else { 0 };
        Ok(after - known.done_crosses())
    }

    fn end(mut self) -> Result<(), BasketError> {
        self.states.write()?;
        for (day, stitches) in std::mem::take(&mut self.days) {
            piece::add_to_day(self.store, self.row.number, day, stitches)?;
        }
        self.begun()?;
        piece::touch(self.store, self.row.number, self.last_day)
    }
}

impl Ticking<'_> {
    /// The first stitch of a piece is its beginning.
    fn begun(&self) -> Result<(), BasketError> {
        let any = "SELECT 1 FROM turn WHERE piece = ? LIMIT 1";
        let begun = self.store.prepare_cached(any)?.query_row([self.row.number], |_| Ok(())).optional()?;
        match self.last_day.and_then(Day::from_number) {
            Some(day) if begun.is_none() => diary::write_turn(self.store, self.row.number, Turn::Begun, day),
            _ => Ok(()),
        }
    }
}

/// Sets what became of cells; gives how many more of those that no mark covers are done.
fn set(
    states: &mut States,
    hidden: &Cells,
    cells: &Cells,
    state: impl Fn(usize) -> State,
) -> Result<i64, BasketError> {
    let mut by = 0;
    states.each(cells, |cell, here| {
        let new = state(cell);
        let old = std::mem::replace(here, new);
        if old != new && (hidden.is_empty() || !hidden.has(cell)) {
            by += i64::from(new.is_done()) - i64::from(old.is_done());
        }
    })?;
    Ok(by)
}

/// The number of a device, which it is given if it has none.
fn device(store: &Connection, id: &DeviceId) -> Result<i64, BasketError> {
    let mut ask = store.prepare_cached("SELECT number FROM device WHERE id = ?")?;
    if let Some(number) = ask.query_row([id.as_str()], |row| row.get(0)).optional()? {
        return Ok(number);
    }
    store.execute("INSERT INTO device (id) VALUES (?)", [id.as_str()])?;
    Ok(store.last_insert_rowid())
}

const KNOWN: &str = "SELECT piece = ?3 AND form = ?4 AND done = ?5 AND mark IS ?6 AND cells IS ?7 \
    FROM tick WHERE counter = ?1 AND device = ?2";
const WRITE: &str = "INSERT INTO tick (counter, device, piece, form, at, on_day, done, mark, cells) \
    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)";
const LATER: &str = "SELECT tick.form, tick.cells FROM tick JOIN device ON device.number = tick.device \
    WHERE tick.counter >= ?1 AND (tick.counter > ?1 OR device.id > ?2) AND tick.piece = ?3 AND tick.cells IS NOT NULL";
const TICK_MARK: &str =
    "UPDATE mark SET done = ?3, done_recipe = ?4, counter = ?5, device = ?6 WHERE piece = ?1 AND id = ?2";
