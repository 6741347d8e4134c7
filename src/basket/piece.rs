//! Pieces: kept, listed, found, changed.

use std::fmt;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OptionalExtension as _, Row as SqlRow, params};
use serde::Serialize;

use super::carried::{Carried, Unpicking};
use super::carry;
use super::cells::Cells;
use super::form::{self, Form, Worked};
use super::id::PieceId;
use super::open::Basket;
use super::states::{self, Needles, States};
use super::{BasketError, Limited, pack};
use crate::chart::{CellMap, Chart, MarkId, Stamp};
use crate::ground::day::{Day, When};
use crate::ground::units::GridSize;

/// The most bytes that a document, or what is to be worked of it, has when it is unpacked: four times what a file of a
/// chart may have.
const MOST_BYTES: usize = 256 << 20;

/// The most characters of a name: as of a chart.
pub(super) const MOST_NAME: usize = crate::chart::MAX_TITLE;

/// What a chart comes to when it is worked, as its caller reckons it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Work {
    /// Crosses in all, those of marks among them.
    pub stitches: u64,
    /// Threads.
    pub threads: u64,
    /// Base cells that a mark covers.
    pub hidden: Cells,
    /// The crosses of each mark that are not covered by another.
    pub crosses: Vec<(MarkId, u64)>,
    /// What the caller wants to find again when it asks what is left.
    pub figures: Vec<u8>,
    /// A small picture of it, as PNG.
    pub picture: Vec<u8>,
    /// Columns and rows with its marks, such as a key beneath; else as of the chart itself.
    pub size: Option<GridSize>,
}

/// A chart as it is kept.
#[derive(Debug, Clone, Copy)]
pub struct KeptChart<'a> {
    /// The chart.
    pub chart: &'a Chart,
    /// It as it is saved.
    pub document: &'a [u8],
    /// What it comes to.
    pub work: &'a Work,
}

/// The file that a chart was copied from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptFile {
    /// Where it was.
    pub path: PathBuf,
    /// What tells whether it is still the same, as its caller says it.
    pub stamp: String,
}

/// Something that happens to a piece as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Turn {
    /// The first stitch.
    Begun,
    /// It goes into its bag.
    PutDown,
    /// It comes out again.
    TakenUp,
    /// The last stitch.
    Finished,
}

impl Turn {
    const ALL: [Self; 4] = [Self::Begun, Self::PutDown, Self::TakenUp, Self::Finished];

    /// That of a name in the table.
    pub(super) fn of_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|turn| turn.name() == name)
    }

    /// Its name in the table.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Begun => "begun",
            Self::PutDown => "put-down",
            Self::TakenUp => "taken-up",
            Self::Finished => "finished",
        }
    }
}

impl fmt::Display for Turn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Begun => "begun",
            Self::PutDown => "put down",
            Self::TakenUp => "taken up",
            Self::Finished => "finished",
        })
    }
}

/// A piece in the list of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Piece {
    /// Its id.
    pub id: PieceId,
    /// What it is called.
    pub name: String,
    /// Columns and rows.
    pub size: Option<GridSize>,
    /// The count of its cloth.
    pub count: Option<String>,
    /// Threads.
    pub threads: Option<u64>,
    /// Crosses to work in all, where that is known.
    pub stitches: Option<u64>,
    /// How many of them are done.
    pub done: u64,
    /// The moment it was kept, in seconds after the beginning of 1970.
    pub kept: i64,
    /// When something was last done.
    pub last_day: Option<Day>,
    /// What last happened to it as a whole, and when.
    pub turn: Option<(Turn, Day)>,
    /// Its chart, where it has one here.
    pub chart: Option<Stamp>,
    /// The file that the chart was copied from.
    #[serde(skip)]
    pub file: Option<KeptFile>,
    /// The SHA-256 of a picture of it.
    pub picture: Option<String>,
    /// Who changes it says which revision they saw.
    pub revision: u64,
    /// Rises over all pieces with every change and tick; see [`Basket::changes`].
    pub changed: u64,
}

/// A row of the table of pieces, for changes.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) number: i64,
    pub(super) name: String,
    pub(super) revision: u64,
}

impl Row {
    pub(super) fn read(store: &Connection, id: &PieceId) -> Result<Self, BasketError> {
        let mut ask = store.prepare_cached("SELECT number, name, revision FROM piece WHERE id = ?")?;
        let row = ask.query_row([id.as_str()], |row| {
            let revision: i64 = row.get(2)?;
            Ok(Self { number: row.get(0)?, name: row.get(1)?, revision: revision.unsigned_abs() })
        });
        match row.optional()? {
            Some(row) => Ok(row),
            None => Err(BasketError::no_piece(id.as_str(), &names(store)?)),
        }
    }

    /// Refuses who has seen another revision.
    pub(super) fn must_be(&self, seen: Option<u64>) -> Result<(), BasketError> {
        match seen.filter(|&seen| seen != self.revision) {
            Some(seen) => Err(BasketError::Stale { name: self.name.clone(), found: self.revision, seen }),
            None => Ok(()),
        }
    }

    fn no_chart(&self) -> BasketError {
        BasketError::NoChart { name: self.name.clone() }
    }

    /// The form of its chart, and the base cells that marks cover.
    pub(super) fn form_and_hidden(&self, store: &Connection) -> Result<(Form, Cells), BasketError> {
        let mut ask = store.prepare_cached("SELECT form, hidden FROM chart WHERE piece = ?")?;
        let row =
            ask.query_row([self.number], |row| Ok((row.get(0)?, row.get::<_, Vec<u8>>(1)?))).optional()?;
        let (form, hidden) = row.ok_or_else(|| self.no_chart())?;
        let form = Form::read(store, self.number, form)?;
        let hidden = Cells::from_bytes(&hidden, form.size.cells())?;
        Ok((form, hidden))
    }
}

/// The chart of a piece as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The document.
    pub document: Vec<u8>,
    /// The revision of the piece.
    pub revision: u64,
    /// The form of its base cells: who ticks says which they saw.
    pub form: i64,
    /// What the piece is called.
    pub name: String,
}

/// What is to be worked of a piece, as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeenWork {
    /// What the caller of [`Basket::keep`] wanted to find again.
    pub figures: Vec<u8>,
    /// The form of the base cells: who ticks says which they saw.
    pub form: i64,
}

/// What is done of a piece, for whoever counts what is left.
#[derive(Debug, Clone, PartialEq)]
pub struct DoneOf {
    /// The form of the base cells: who ticks says which they saw.
    pub form: i64,
    /// The size of the base.
    pub size: GridSize,
    /// Of each base cell, row by row: the place of what it was worked in among `needles`, where it is done; `None` where not.
    pub cells: Vec<Option<u16>>,
    /// Of each base cell whether something must be taken out there; empty where nothing must.
    pub unpick: Cells,
    /// What was worked in.
    pub needles: Vec<Worked>,
    /// The ids of marks that are done.
    pub marks: Vec<String>,
    /// What the caller of [`Basket::keep`] wanted to find again.
    pub figures: Vec<u8>,
    /// The base cells of the last tick, and its day.
    pub last: Option<(Cells, Day)>,
}

/// What became of a piece that was to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Its id.
    pub id: PieceId,
    /// Its revision now.
    pub revision: u64,
    /// What became of stitches that were done.
    pub carried: Carried,
}

impl Basket {
    /// Keeps a chart as a new piece.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn keep(
        &mut self,
        kept: KeptChart,
        file: Option<&KeptFile>,
        when: When,
    ) -> Result<Kept, BasketError> {
        let KeptChart { chart, document, work } = kept;
        let change = self.begin()?;
        let id = new_id(&change)?;
        let (size, count) = (work.size.unwrap_or(chart.size()), chart.cloth.count.to_string());
        change.execute(
            NEW,
            params![
                id.as_str(),
                name_of(&chart.title)?,
                size.columns(),
                size.rows(),
                count,
                work.threads as i64,
                work.stitches as i64,
                when.seconds
            ],
        )?;
        let piece = change.last_insert_rowid();
        let form = Form::of(chart, 1, CellMap::STAY);
        form.write(&change, piece)?;
        change.execute(
            "INSERT INTO chart (piece, stamp, document, work, hidden, picture, form, file, file_stamp) \
             VALUES (?, ?, ?, ?, ?, ?, 1, ?, ?)",
            params![
                piece,
                chart.stamp().to_string(),
                pack::packed(document),
                pack::packed(&work.figures),
                work.hidden.to_bytes(),
                work.picture,
                file.and_then(|file| file.path.to_str()),
                file.map(|file| &file.stamp),
            ],
        )?;
        let mut carried = Carried::default();
        carry::keep_marks(&change, piece, &marks_of(chart, work), &mut carried)?;
        touch(&change, piece, None)?;
        change.commit()?;
        Ok(Kept { id, revision: 1, carried })
    }

    /// Puts another chart in the place of a piece's, with the ticks carried along: `moved` says where the cells went.
    /// `seen` is the revision that the change was made on.
    ///
    /// # Errors
    /// [`BasketError::Stale`] where the piece was changed since, [`BasketError::Unpick`] where stitches that are done
    /// would have to be taken out and that is not agreed to; and others.
    pub fn change_chart(
        &mut self,
        id: &PieceId,
        seen: Option<u64>,
        (kept, moved): (KeptChart, CellMap),
        unpicking: Unpicking,
        when: When,
    ) -> Result<Kept, BasketError> {
        let KeptChart { chart, document, work } = kept;
        let change = self.begin()?;
        let row = Row::read(&change, id)?;
        row.must_be(seen)?;
        let piece = row.number;
        let (old, hidden) = row.form_and_hidden(&change)?;
        let mut new = Form::of(chart, old.number + 1, moved);
        let stays = new.is_same_as(&old) && moved == CellMap::STAY;
        // A change that is taken back takes its way back too.
        let before = if stays { None } else { form::same_before(&change, piece, &new)? };
        if let Some(before) = before.filter(|_| moved == CellMap::STAY) {
            new.moved = form::way(&change, piece, before, old.number)?.back();
        }
        let (carry::Moved { mut after, lost }, mut carried) =
            carry::cells(&change, piece, (&old, &new), [&hidden, &work.hidden])?;
        if !stays {
            if let Some(before) = before {
                carry::come_back(&change, piece, (before, new.size), old.number, &mut after)?;
            }
            new.write(&change, piece)?;
            States::replace(&change, piece, new.size, &after)?;
            if !lost.is_empty() {
                states::park(&change, piece, old.number, &lost)?;
            }
        }
        let crosses = carry::keep_marks(&change, piece, &marks_of(chart, work), &mut carried)?;
        if carried.unpick + carried.lost > 0 && unpicking == Unpicking::Refused {
            return Err(BasketError::Unpick { name: row.name, carried: Box::new(carried) });
        }
        let on_base =
            after.iter().enumerate().filter(|(cell, state)| state.is_done() && !work.hidden.has(*cell));
        let done = on_base.count() as i64 + crosses;
        let before: i64 =
            change.query_row("SELECT done FROM piece WHERE number = ?", [piece], |row| row.get(0))?;
        add_to_day(&change, piece, when.day.number(), done - before)?;
        change.execute(
            "UPDATE chart SET stamp = ?2, document = ?3, work = ?4, hidden = ?5, form = ?6, picture = ?7 WHERE piece = ?1",
            params![
                piece,
                chart.stamp().to_string(),
                pack::packed(document),
                pack::packed(&work.figures),
                work.hidden.to_bytes(),
                if stays { old.number } else { new.number },
                work.picture,
            ],
        )?;
        let size = work.size.unwrap_or(chart.size());
        change.execute(
            "UPDATE piece SET columns = ?2, rows = ?3, count = ?4, threads = ?5, stitches = ?6, revision = revision + 1 \
             WHERE number = ?1",
            params![
                piece,
                size.columns(),
                size.rows(),
                chart.cloth.count.to_string(),
                work.threads as i64,
                work.stitches as i64
            ],
        )?;
        touch(&change, piece, None)?;
        change.commit()?;
        Ok(Kept { id: id.clone(), revision: row.revision + 1, carried })
    }

    /// Says which file a chart is a copy of, as it is now.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn is_copy_of(&mut self, id: &PieceId, file: &KeptFile) -> Result<(), BasketError> {
        let change = self.begin()?;
        let row = Row::read(&change, id)?;
        change.execute(
            "UPDATE chart SET file = ?2, file_stamp = ?3 WHERE piece = ?1",
            params![row.number, file.path.to_str(), file.stamp],
        )?;
        change.commit()?;
        Ok(())
    }

    /// All pieces, the one that something was done to last first.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn pieces(&self) -> Result<Vec<Piece>, BasketError> {
        let look = self.look()?;
        listed(&look, "ORDER BY coalesce(piece.last_day, piece.kept / 86400) DESC, piece.changed DESC", [])
    }

    /// One piece.
    ///
    /// # Errors
    /// [`BasketError::NoPiece`].
    pub fn piece(&self, id: &PieceId) -> Result<Piece, BasketError> {
        let look = self.look()?;
        let found = listed(&look, "WHERE piece.id = ?", [id.as_str()])?.into_iter().next();
        found.map_or_else(|| Err(BasketError::no_piece(id.as_str(), &names(&look)?)), Ok)
    }

    /// The piece that a person means: its id, the beginning of it, or its name.
    ///
    /// # Errors
    /// [`BasketError`] where there is none, or several.
    pub fn find(&self, asked: &str) -> Result<PieceId, BasketError> {
        let look = self.look()?;
        let all = names(&look)?;
        let text = asked.trim().to_lowercase();
        let by_id = |(id, _): &&(PieceId, String)| id.as_str() == text;
        if let Some((id, _)) = all.iter().find(by_id) {
            return Ok(id.clone());
        }
        // Names are the same whatever their capitals, spaces and hyphens.
        let plain = |name: &str| -> String {
            name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
        };
        let asked_name = Some(plain(asked)).filter(|name| !name.is_empty());
        let is_named =
            |name: &str| name.to_lowercase() == text || asked_name.as_deref() == Some(&plain(name));
        let named: Vec<_> = all.iter().filter(|(_, name)| is_named(name)).cloned().collect();
        let begun = all.iter().filter(|(id, _)| text.len() >= 4 && id.as_str().starts_with(&text)).cloned();
        let found = if named.is_empty() { begun.collect() } else { named };
        match found.as_slice() {
            [(id, _)] => Ok(id.clone()),
            [] => Err(BasketError::no_piece(asked, &all)),
            several => Err(BasketError::several(asked, several)),
        }
    }

    /// The pieces whose chart has this id, the last changed first.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn pieces_of_chart(&self, chart: crate::chart::ChartId) -> Result<Vec<Piece>, BasketError> {
        let mut pieces = self.pieces()?;
        pieces.retain(|piece| piece.chart.is_some_and(|stamp| stamp.id == chart));
        pieces.sort_by_key(|piece| std::cmp::Reverse(piece.changed));
        Ok(pieces)
    }

    /// The chart of a piece.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn chart(&self, id: &PieceId) -> Result<Seen, BasketError> {
        let look = self.look()?;
        let row = Row::read(&look, id)?;
        let asked = "SELECT document, form FROM chart WHERE piece = ?";
        let found =
            look.query_row(asked, [row.number], |found| Ok((found.get::<_, Vec<u8>>(0)?, found.get(1)?)));
        let (document, form) = found.optional()?.ok_or_else(|| row.no_chart())?;
        let document = pack::whole(&document, MOST_BYTES, "the chart")?;
        Ok(Seen { document, revision: row.revision, form, name: row.name })
    }

    /// A small picture of the piece as it will be, as PNG, where it has a chart here.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn picture(&self, id: &PieceId) -> Result<Vec<u8>, BasketError> {
        let look = self.look()?;
        let row = Row::read(&look, id)?;
        let found =
            look.query_row("SELECT picture FROM chart WHERE piece = ?", [row.number], |found| found.get(0));
        found.optional()?.ok_or_else(|| row.no_chart())
    }

    /// What is to be worked of a piece.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn work(&self, id: &PieceId) -> Result<SeenWork, BasketError> {
        let look = self.look()?;
        let row = Row::read(&look, id)?;
        let asked = "SELECT work, form FROM chart WHERE piece = ?";
        let found =
            look.query_row(asked, [row.number], |found| Ok((found.get::<_, Vec<u8>>(0)?, found.get(1)?)));
        let (work, form) = found.optional()?.ok_or_else(|| row.no_chart())?;
        Ok(SeenWork { figures: pack::whole(&work, MOST_BYTES, "what is to be worked")?, form })
    }

    /// What is done of a piece.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn done_of(&self, id: &PieceId) -> Result<DoneOf, BasketError> {
        let look = self.look()?;
        let row = Row::read(&look, id)?;
        let asked = "SELECT chart.work, form.columns, form.rows, form.number FROM chart \
            JOIN form ON form.piece = chart.piece AND form.number = chart.form WHERE chart.piece = ?";
        let found = look.query_row(asked, [row.number], |found| {
            Ok((found.get::<_, Vec<u8>>(0)?, found.get(1)?, found.get(2)?, found.get::<_, i64>(3)?))
        });
        let (work, columns, rows, form) = found.optional()?.ok_or_else(|| row.no_chart())?;
        let size = GridSize::new(columns, rows)
            .map_err(|_| BasketError::Damaged { what: "the size of a chart".to_owned() })?;
        let states = States::new(&look, row.number, size).all()?;
        let known = Needles::read(&look, row.number)?;
        let needles = known.list();
        let mut places = [None; 1 << 15];
        for (place, (number, _)) in needles.iter().enumerate() {
            places[usize::from(*number)] = Some(place as u16);
        }
        let cells = states
            .iter()
            .map(|state| state.is_done().then(|| places[usize::from(state.number()?)]).flatten());
        let unpick =
            states.iter().enumerate().filter(|(_, state)| state.is_to_unpick()).map(|(cell, _)| cell);
        let marks = carry::marks(&look, row.number)?;
        let last = "SELECT cells, on_day FROM tick WHERE piece = ? AND form = ? AND cells IS NOT NULL AND done = 1 \
            ORDER BY counter DESC, device DESC LIMIT 1";
        let last = look
            .query_row(last, params![row.number, form], |row| Ok((row.get::<_, Vec<u8>>(0)?, row.get(1)?)));
        let last = match last.optional()? {
            Some((bytes, day)) => {
                Some((Cells::from_bytes(&bytes, size.cells())?, Day::from_number(day).unwrap_or(Day::FIRST)))
            }
            None => None,
        };
        Ok(DoneOf {
            form,
            size,
            cells: cells.collect(),
            unpick: unpick.collect(),
            needles: needles.into_iter().map(|(_, needle)| needle).collect(),
            marks: marks.into_iter().filter(|(_, mark)| mark.is_done()).map(|(id, _)| id).collect(),
            figures: pack::whole(&work, MOST_BYTES, "what is to be worked")?,
            last,
        })
    }

    /// A number that rises with every change of whatever is kept, by this process or another.
    ///
    /// Who watches asks [`Basket::version_of_others`] as often as it likes, and then which pieces have a `changed` above the
    /// number that it knows.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn changes(&self) -> Result<u64, BasketError> {
        Ok(self.store.query_row("SELECT changes FROM basket", [], |row| row.get::<_, i64>(0))?.unsigned_abs())
    }

    /// Pieces that were changed after [`Basket::changes`] gave this number.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn changed_since(&self, changes: u64) -> Result<Vec<Piece>, BasketError> {
        let look = self.look()?;
        listed(&look, "WHERE piece.changed > ? ORDER BY piece.changed", [changes as i64])
    }

    /// A number that is another as soon as another connection, of this process or another, has changed the file (`SQLite`,
    /// "PRAGMA `data_version`"): asking costs some microseconds. What this connection changes itself leaves it.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn version_of_others(&self) -> Result<i64, BasketError> {
        Ok(self.store.query_row("PRAGMA data_version", [], |row| row.get(0))?)
    }
}

/// A name as it is kept.
pub(super) fn name_of(name: &str) -> Result<&str, BasketError> {
    let name = name.trim();
    if name.chars().count() > MOST_NAME {
        return Err(BasketError::Limit { what: Limited::PieceName, limit: MOST_NAME as u64 });
    }
    Ok(if name.is_empty() { "Piece" } else { name })
}

/// Marks with their crosses and recipes.
fn marks_of(chart: &Chart, work: &Work) -> Vec<(String, u64, String)> {
    let crosses =
        |id: MarkId| work.crosses.iter().find(|(of, _)| *of == id).map_or(0, |(_, crosses)| *crosses);
    let marks = chart.marks.iter().filter_map(|mark| Some((mark.id()?, mark)));
    marks.map(|(id, mark)| (id.to_string(), crosses(id), carry::recipe(mark))).collect()
}

/// Letters that no piece has, and nothing that is being read.
pub(super) fn new_id(store: &Connection) -> Result<PieceId, BasketError> {
    loop {
        let bytes: Vec<u8> = store.query_row("SELECT randomblob(6)", [], |row| row.get(0))?;
        let id = PieceId::of(std::array::from_fn(|at| bytes.get(at).copied().unwrap_or_default()));
        let taken = "SELECT 1 FROM piece WHERE id = ?1 UNION SELECT 1 FROM reading WHERE id = ?1";
        let taken = store.query_row(taken, [id.as_str()], |_| Ok(())).optional()?;
        if taken.is_none() {
            return Ok(id);
        }
    }
}

/// Ids and names of all pieces.
fn names(store: &Connection) -> Result<Vec<(PieceId, String)>, BasketError> {
    let mut ask = store.prepare_cached("SELECT id, name FROM piece ORDER BY changed DESC")?;
    let rows = ask.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get(1)?)))?;
    let mut names = Vec::new();
    for row in rows {
        let (id, name) = row?;
        names.push((id_of(id)?, name));
    }
    Ok(names)
}

fn id_of(text: String) -> Result<PieceId, BasketError> {
    PieceId::try_from(text).map_err(|error| BasketError::Damaged { what: error.to_string() })
}

/// Whoever watches sees that there is something new.
pub(super) fn changed(store: &Connection) -> Result<(), BasketError> {
    store.execute("UPDATE basket SET changes = changes + 1", [])?;
    Ok(())
}

/// A change of a piece is the newest of all; something was done on a day.
pub(super) fn touch(store: &Connection, piece: i64, day: Option<i64>) -> Result<(), BasketError> {
    changed(store)?;
    let sql = "UPDATE piece SET changed = (SELECT changes FROM basket), \
        last_day = CASE WHEN ?2 IS NULL THEN last_day ELSE max(coalesce(last_day, ?2), ?2) END WHERE number = ?1";
    store.prepare_cached(sql)?.execute(params![piece, day])?;
    Ok(())
}

/// More stitches done on a day, or fewer.
pub(super) fn add_to_day(store: &Connection, piece: i64, day: i64, stitches: i64) -> Result<(), BasketError> {
    if stitches != 0 {
        store.prepare_cached(DAY)?.execute(params![piece, day, stitches])?;
        store
            .prepare_cached("UPDATE piece SET done = done + ? WHERE number = ?")?
            .execute(params![stitches, piece])?;
    }
    Ok(())
}

const DAY: &str = "INSERT INTO day (piece, on_day, stitches) VALUES (?, ?, ?) \
    ON CONFLICT (piece, on_day) DO UPDATE SET stitches = stitches + excluded.stitches";

const NEW: &str = "INSERT INTO piece (id, name, columns, rows, count, threads, stitches, done, kept, revision, changed) \
    VALUES (?, ?, ?, ?, ?, ?, ?, 0, ?, 1, 0)";

const LIST: &str = "SELECT piece.id, piece.name, piece.columns, piece.rows, piece.count, piece.threads, piece.stitches, \
    piece.done, piece.last_day, piece.picture, piece.revision, piece.changed, chart.stamp, chart.file, chart.file_stamp, \
    (SELECT what FROM turn WHERE turn.piece = piece.number ORDER BY on_day DESC, number DESC LIMIT 1), \
    (SELECT on_day FROM turn WHERE turn.piece = piece.number ORDER BY on_day DESC, number DESC LIMIT 1), piece.kept \
    FROM piece LEFT JOIN chart ON chart.piece = piece.number";

fn listed(store: &Connection, which: &str, values: impl rusqlite::Params) -> Result<Vec<Piece>, BasketError> {
    let mut ask = store.prepare_cached(&format!("{LIST} {which}"))?;
    let rows = ask.query_map(values, |row| Ok((row.get::<_, String>(0)?, piece_of(row)?)))?;
    let mut pieces = Vec::new();
    for row in rows {
        let (id, piece) = row?;
        pieces.push(Piece { id: id_of(id)?, ..piece });
    }
    Ok(pieces)
}

fn piece_of(row: &SqlRow) -> rusqlite::Result<Piece> {
    let number = |at: usize| Ok::<_, rusqlite::Error>(row.get::<_, Option<i64>>(at)?.map(i64::unsigned_abs));
    let day = |at: usize| Ok::<_, rusqlite::Error>(row.get::<_, Option<i64>>(at)?.and_then(Day::from_number));
    let size = row.get::<_, Option<u32>>(2)?.zip(row.get::<_, Option<u32>>(3)?);
    let turn = row.get::<_, Option<String>>(15)?;
    let turn = turn.and_then(|name| Turn::of_name(&name));
    let file = row.get::<_, Option<String>>(13)?.zip(row.get::<_, Option<String>>(14)?);
    Ok(Piece {
        id: PieceId::of([0; 6]),
        name: row.get(1)?,
        size: size.and_then(|(columns, rows)| GridSize::new(columns, rows).ok()),
        count: row.get(4)?,
        threads: number(5)?,
        stitches: number(6)?,
        done: number(7)?.unwrap_or_default(),
        kept: row.get(17)?,
        last_day: day(8)?,
        picture: row.get(9)?,
        revision: number(10)?.unwrap_or_default(),
        changed: number(11)?.unwrap_or_default(),
        chart: row.get::<_, Option<String>>(12)?.and_then(|stamp| stamp.parse().ok()),
        file: file.map(|(path, stamp)| KeptFile { path: Path::new(&path).to_owned(), stamp }),
        turn: turn.zip(day(16)?),
    })
}
