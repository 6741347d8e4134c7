//! The diary: days on which something was ticked, sittings, notes.

use rusqlite::{Connection, OptionalExtension as _, params};
use serde::Serialize;

use super::id::PieceId;
use super::open::Basket;
use super::piece::{self, Row, Turn};
use super::{BasketError, Limited};
use crate::ground::day::Day;

/// The most characters of a note.
const MOST_NOTE: usize = 20_000;

/// A sitting, or a note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sitting {
    /// The day on which it began.
    pub day: Day,
    /// Minutes after midnight, where that is known.
    pub began: Option<u32>,
    /// How long it was.
    pub minutes: Option<u32>,
    /// Stitches that were counted and not ticked.
    pub stitches: Option<u64>,
    /// What was written.
    pub note: String,
}

/// A day of a piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DiaryDay {
    /// The day.
    pub day: Day,
    /// The piece; nothing where what was written is about none.
    pub piece: Option<PieceId>,
    /// What it is called.
    pub name: Option<String>,
    /// How many stitches more were ticked at its end than at its beginning.
    pub ticked: i64,
    /// Sittings and notes, in their order.
    pub sittings: Vec<Sitting>,
    /// What happened to the piece as a whole.
    pub turns: Vec<Turn>,
}

/// How fast stitches were worked on days whose minutes are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pace {
    /// Stitches.
    pub stitches: u64,
    /// In so many minutes.
    pub minutes: u64,
    /// On so many days.
    pub days: u64,
}

impl Basket {
    /// Writes sittings down, each with its piece or about none. One that is there already, the same in all, is not written
    /// again. Gives how many are new.
    ///
    /// # Errors
    /// [`BasketError`]; then none is.
    pub fn write_sittings(&mut self, sittings: &[(Option<PieceId>, Sitting)]) -> Result<usize, BasketError> {
        let change = self.begin()?;
        let mut new = 0;
        for (piece, sitting) in sittings {
            let piece = piece.as_ref().map(|id| Row::read(&change, id)).transpose()?.map(|row| row.number);
            let Sitting { day, began, minutes, stitches, note } = sitting;
            if note.chars().count() > MOST_NOTE {
                return Err(BasketError::Limit { what: Limited::Note, limit: MOST_NOTE as u64 });
            }
            let values = params![piece, day.number(), began, minutes, stitches.map(|n| n as i64), note];
            let same = change.prepare_cached(SAME)?.query_row(values, |_| Ok(())).optional()?;
            if same.is_some() {
                continue;
            }
            change.prepare_cached(WRITE)?.execute(values)?;
            new += 1;
            if let (Some(piece), Some(stitches)) = (piece, stitches) {
                change.prepare_cached(COUNTED)?.execute(params![piece, *stitches as i64])?;
            }
            match piece {
                Some(piece) => piece::touch(&change, piece, Some(day.number()))?,
                None => piece::changed(&change)?,
            }
        }
        change.commit()?;
        Ok(new)
    }

    /// The diary of a piece, or of all: the oldest day first.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn diary(&self, piece: Option<&PieceId>) -> Result<Vec<DiaryDay>, BasketError> {
        let look = self.look()?;
        let only = piece.map(|id| Row::read(&look, id)).transpose()?.map(|row| row.number);
        let mut days: Vec<DiaryDay> = Vec::new();
        let mut of_day =
            |day: i64, piece: Option<String>, name: Option<String>| -> Result<usize, BasketError> {
                let day = Day::from_number(day).unwrap_or(Day::FIRST);
                let piece = piece.map(PieceId::try_from).transpose();
                let piece = piece.map_err(|error| BasketError::Damaged { what: error.to_string() })?;
                let key = |known: &DiaryDay| (known.day, known.piece.clone()).cmp(&(day, piece.clone()));
                let at = days.binary_search_by(key);
                Ok(at.unwrap_or_else(|at| {
                    let (ticked, sittings, turns) = (0, Vec::new(), Vec::new());
                    days.insert(at, DiaryDay { day, piece, name, ticked, sittings, turns });
                    at
                }))
            };
        // Each table in the order of days, so that what is new comes near the end of the list.
        let mut found = Vec::new();
        {
            let mut ask = look.prepare_cached(DAYS)?;
            let mut rows = ask.query([only])?;
            while let Some(row) = rows.next()? {
                found.push((row.get(0)?, row.get(1)?, row.get(2)?, Found::Ticked(row.get(3)?)));
            }
            let mut ask = look.prepare_cached(SITTINGS)?;
            let mut rows = ask.query([only])?;
            while let Some(row) = rows.next()? {
                let sitting = Sitting {
                    day: Day::from_number(row.get(0)?).unwrap_or(Day::FIRST),
                    began: row.get(3)?,
                    minutes: row.get(4)?,
                    stitches: row.get::<_, Option<i64>>(5)?.map(i64::unsigned_abs),
                    note: row.get(6)?,
                };
                found.push((row.get(0)?, row.get(1)?, row.get(2)?, Found::Sitting(sitting)));
            }
            let mut ask = look.prepare_cached(TURNS)?;
            let mut rows = ask.query([only])?;
            while let Some(row) = rows.next()? {
                if let Some(turn) = Turn::of_name(&row.get::<_, String>(3)?) {
                    found.push((row.get(0)?, row.get(1)?, row.get(2)?, Found::Turn(turn)));
                }
            }
        }
        found.sort_by(|one: &(i64, Option<String>, Option<String>, Found), other| {
            (one.0, &one.1).cmp(&(other.0, &other.1))
        });
        let mut places = Vec::with_capacity(found.len());
        for (day, piece, name, what) in found {
            places.push((of_day(day, piece, name)?, what));
        }
        // In the order of days every new one was put at the end: places stand.
        for (at, what) in places {
            match what {
                Found::Ticked(stitches) => days[at].ticked += stitches,
                Found::Sitting(sitting) => days[at].sittings.push(sitting),
                Found::Turn(turn) => days[at].turns.push(turn),
            }
        }
        Ok(days)
    }

    /// How fast a piece was worked on days whose minutes are known; nothing where there is none.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn pace(&self, piece: &PieceId) -> Result<Option<Pace>, BasketError> {
        let look = self.look()?;
        let row = Row::read(&look, piece)?;
        let (stitches, minutes, days): (i64, i64, i64) =
            look.query_row(PACE, [row.number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        let of = |number: i64| u64::try_from(number).ok().filter(|&number| number > 0);
        Ok(of(stitches).zip(of(minutes)).zip(of(days)).map(|((stitches, minutes), days)| Pace {
            stitches,
            minutes,
            days,
        }))
    }

    /// On how many days something was done to a piece.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn days_of(&self, piece: &PieceId) -> Result<u64, BasketError> {
        let look = self.look()?;
        let row = Row::read(&look, piece)?;
        Ok(look.query_row(COUNT, [row.number], |row| row.get::<_, i64>(0))?.unsigned_abs())
    }

    /// Something happens to a piece as a whole.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn turn(&mut self, piece: &PieceId, turn: Turn, day: Day) -> Result<(), BasketError> {
        let change = self.begin()?;
        let row = Row::read(&change, piece)?;
        write_turn(&change, row.number, turn, day)?;
        piece::touch(&change, row.number, None)?;
        change.commit()?;
        Ok(())
    }
}

/// Writes down that something happened to a piece.
pub(super) fn write_turn(store: &Connection, piece: i64, turn: Turn, day: Day) -> Result<(), BasketError> {
    let sql = "INSERT INTO turn (piece, on_day, what) VALUES (?, ?, ?)";
    store.prepare_cached(sql)?.execute(params![piece, day.number(), turn.name()])?;
    Ok(())
}

enum Found {
    Ticked(i64),
    Sitting(Sitting),
    Turn(Turn),
}

const SAME: &str = "SELECT 1 FROM sitting WHERE piece IS ?1 AND on_day = ?2 AND began IS ?3 AND minutes IS ?4 \
    AND stitches IS ?5 AND note = ?6";
const WRITE: &str =
    "INSERT INTO sitting (piece, on_day, began, minutes, stitches, note) VALUES (?, ?, ?, ?, ?, ?)";
/// Of a piece without a chart here, what is counted is what is known to be done.
const COUNTED: &str = "UPDATE piece SET done = done + ?2 WHERE number = ?1 \
    AND NOT EXISTS (SELECT 1 FROM chart WHERE chart.piece = ?1)";
const DAYS: &str = "SELECT day.on_day, piece.id, piece.name, day.stitches FROM day JOIN piece ON piece.number = day.piece \
    WHERE (?1 IS NULL OR day.piece = ?1)";
const SITTINGS: &str = "SELECT sitting.on_day, piece.id, piece.name, began, minutes, sitting.stitches, note FROM sitting \
    LEFT JOIN piece ON piece.number = sitting.piece WHERE (?1 IS NULL OR sitting.piece = ?1) ORDER BY sitting.on_day, sitting.number";
const TURNS: &str = "SELECT turn.on_day, piece.id, piece.name, what FROM turn JOIN piece ON piece.number = turn.piece \
    WHERE (?1 IS NULL OR turn.piece = ?1) ORDER BY turn.on_day, turn.number";
const PACE: &str = "SELECT coalesce(sum(stitches), 0), coalesce(sum(minutes), 0), count(*) FROM ( \
    SELECT sum(minutes) AS minutes, coalesce(sum(stitches), 0) + coalesce((SELECT stitches FROM day \
        WHERE day.piece = ?1 AND day.on_day = sitting.on_day), 0) AS stitches \
    FROM sitting WHERE piece = ?1 AND minutes > 0 GROUP BY on_day) WHERE stitches > 0";
const COUNT: &str = "SELECT count(*) FROM (SELECT on_day FROM day WHERE piece = ?1 \
    UNION SELECT on_day FROM sitting WHERE piece = ?1)";
