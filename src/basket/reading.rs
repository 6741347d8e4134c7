//! Charts that were printed elsewhere, while they are being read: their files, and what was said of their symbols.

use rusqlite::{Connection, OptionalExtension as _, Row as SqlRow, params};
use serde::Serialize;

use super::BasketError;
use super::id::PieceId;
use super::open::Basket;
use super::{photo, piece};
use crate::ground::day::{Day, When};
use crate::ground::units::GridSize;

/// A chart that is being read, in the list of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// Its id.
    pub id: PieceId,
    /// What it is called.
    pub name: String,
    /// Columns and rows; nothing where its pages were not laid together yet.
    pub size: Option<GridSize>,
    /// Its symbols.
    pub symbols: Option<u64>,
    /// Questions that are open.
    pub open: Option<u64>,
    /// When something was last said of it.
    pub last_day: Option<Day>,
    /// Whether it is put away.
    pub away: bool,
    /// The piece that it became.
    pub piece: Option<PieceId>,
    /// Columns and rows of the whole chart, as the person said them.
    #[serde(skip)]
    pub said_size: [Option<u32>; 2],
    /// The stamp of the chart as it was kept.
    #[serde(skip)]
    pub stamp: Option<String>,
}

/// What a reading came to when it was last looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingFigures {
    /// Columns and rows.
    pub size: GridSize,
    /// Its symbols.
    pub symbols: u64,
    /// Questions that are open.
    pub open: u64,
    /// A small picture of it, as PNG.
    pub picture: Vec<u8>,
}

const LIST: &str = "SELECT reading.id, reading.name, reading.columns, reading.rows, symbols, open, reading.last_day, away, \
    piece.id, said_columns, said_rows, stamp FROM reading LEFT JOIN piece ON piece.number = reading.piece";

fn reading_of(row: &SqlRow) -> rusqlite::Result<Reading> {
    let id = |at: usize| {
        let text = row.get::<_, Option<String>>(at)?;
        Ok::<_, rusqlite::Error>(text.and_then(|text| PieceId::try_from(text).ok()))
    };
    let number = |at: usize| Ok::<_, rusqlite::Error>(row.get::<_, Option<i64>>(at)?.map(i64::unsigned_abs));
    let size = row.get::<_, Option<u32>>(2)?.zip(row.get::<_, Option<u32>>(3)?);
    Ok(Reading {
        id: id(0)?.unwrap_or_else(|| PieceId::of([0; 6])),
        name: row.get(1)?,
        size: size.and_then(|(columns, rows)| GridSize::new(columns, rows).ok()),
        symbols: number(4)?,
        open: number(5)?,
        last_day: Day::from_number(row.get(6)?),
        away: row.get(7)?,
        piece: id(8)?,
        said_size: [row.get(9)?, row.get(10)?],
        stamp: row.get(11)?,
    })
}

/// The number of a reading's row.
fn number(store: &Connection, id: &PieceId) -> Result<i64, BasketError> {
    let found = store.query_row("SELECT number FROM reading WHERE id = ?", [id.as_str()], |row| row.get(0));
    found.optional()?.ok_or_else(|| BasketError::no_piece(id.as_str(), &[]))
}

impl Basket {
    /// Begins to read a chart from files, in the order of their pages: each its name and its bytes.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn begin_reading(
        &mut self,
        name: &str,
        files: &[(String, Vec<u8>)],
        when: When,
    ) -> Result<PieceId, BasketError> {
        let kept: Vec<String> =
            files.iter().map(|(name, bytes)| self.keep_photo(name, bytes)).collect::<Result<_, _>>()?;
        let change = self.begin()?;
        let id = piece::new_id(&change)?;
        let sql = "INSERT INTO reading (id, name, begun, last_day, away) VALUES (?, ?, ?, ?, 0)";
        change.execute(sql, params![id.as_str(), piece::name_of(name)?, when.seconds, when.day.number()])?;
        let reading = change.last_insert_rowid();
        for (at, sha256) in kept.iter().enumerate() {
            let sql = "INSERT INTO reading_file (reading, number, sha256) VALUES (?, ?, ?)";
            change.execute(sql, params![reading, at as i64, sha256])?;
        }
        piece::changed(&change)?;
        change.commit()?;
        Ok(id)
    }

    /// The reading of the very same files in the same order, where there is one.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn reading_of_files(&self, files: &[(String, Vec<u8>)]) -> Result<Option<PieceId>, BasketError> {
        let wanted: Vec<String> = files.iter().map(|(_, bytes)| photo::sha256(bytes)).collect();
        let asked = "SELECT id, (SELECT group_concat(sha256, ' ' ORDER BY reading_file.number) FROM reading_file \
            WHERE reading_file.reading = reading.number) FROM reading ORDER BY reading.number DESC";
        let mut ask = self.store.prepare_cached(asked)?;
        let rows =
            ask.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, Option<String>>(1)?)))?;
        for row in rows {
            let (id, all) = row?;
            if all.as_deref() == Some(&wanted.join(" ")) {
                return Ok(PieceId::try_from(id).ok());
            }
        }
        Ok(None)
    }

    /// All that is being read and was, what was said of last first.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn readings(&self) -> Result<Vec<Reading>, BasketError> {
        let mut ask = self
            .store
            .prepare_cached(&format!("{LIST} ORDER BY reading.last_day DESC, reading.number DESC"))?;
        Ok(ask.query_map([], reading_of)?.collect::<Result<_, _>>()?)
    }

    /// One of them.
    ///
    /// # Errors
    /// [`BasketError::NoPiece`].
    pub fn reading(&self, id: &PieceId) -> Result<Reading, BasketError> {
        let mut ask = self.store.prepare_cached(&format!("{LIST} WHERE reading.id = ?"))?;
        let found = ask.query_row([id.as_str()], reading_of).optional()?;
        found.ok_or_else(|| BasketError::no_piece(id.as_str(), &[]))
    }

    /// Its files, in order: the name and the bytes of each.
    ///
    /// # Errors
    /// [`BasketError::Photo`] where one is gone or another.
    pub fn reading_files(&self, id: &PieceId) -> Result<Vec<(String, Vec<u8>)>, BasketError> {
        let asked = "SELECT photo.sha256, photo.name FROM reading JOIN reading_file ON reading_file.reading = reading.number \
            JOIN photo USING (sha256) WHERE reading.id = ? ORDER BY reading_file.number";
        let mut ask = self.store.prepare_cached(asked)?;
        let rows = ask.query_map([id.as_str()], |row| Ok((row.get::<_, String>(0)?, row.get(1)?)))?;
        let mut files = Vec::new();
        for row in rows {
            let (sha256, name) = row?;
            let bytes = self.photo(&sha256)?.unwrap_or_default();
            files.push((name, bytes));
        }
        Ok(files)
    }

    /// What was said of its symbols: what each is known by, and the words.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn answers(&self, id: &PieceId) -> Result<Vec<(String, String)>, BasketError> {
        let asked = "SELECT sign, said FROM answer JOIN reading ON reading.number = answer.reading WHERE reading.id = ? \
            ORDER BY sign";
        let mut ask = self.store.prepare_cached(asked)?;
        let rows = ask.query_map([id.as_str()], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Keeps what is said of a symbol in the place of what was said before, or that nothing is said any more. When it
    /// returns, that is on the disk.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn answer(
        &mut self,
        id: &PieceId,
        sign: &str,
        said: Option<&str>,
        when: When,
    ) -> Result<(), BasketError> {
        let change = self.begin()?;
        let reading = number(&change, id)?;
        match said {
            Some(said) => change.execute(
                "INSERT INTO answer (reading, sign, said) VALUES (?, ?, ?) \
                 ON CONFLICT (reading, sign) DO UPDATE SET said = excluded.said",
                params![reading, sign, said],
            )?,
            None => {
                change.execute("DELETE FROM answer WHERE reading = ? AND sign = ?", params![reading, sign])?
            }
        };
        change.execute(
            "UPDATE reading SET last_day = max(last_day, ?2) WHERE number = ?1",
            params![reading, when.day.number()],
        )?;
        piece::changed(&change)?;
        change.commit()?;
        Ok(())
    }

    /// Keeps how large the whole chart is, as the person says.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn size_of_reading(&mut self, id: &PieceId, size: [u32; 2]) -> Result<(), BasketError> {
        self.set_reading(id, "said_columns = ?2, said_rows = ?3", &[&size[0], &size[1]])
    }

    /// Keeps what a reading comes to, for the list. Where it comes to the same, nothing is new to anybody.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn tell_reading(&mut self, id: &PieceId, figures: &ReadingFigures) -> Result<(), BasketError> {
        let ReadingFigures { size, symbols, open, picture } = figures;
        let known = "SELECT 1 FROM reading WHERE id = ? AND columns = ? AND rows = ? AND symbols = ? AND open = ? AND picture = ?";
        let (symbols, open) = (*symbols as i64, *open as i64);
        let same = params![id.as_str(), size.columns(), size.rows(), symbols, open, picture];
        if self.store.query_row(known, same, |_| Ok(())).optional()?.is_some() {
            return Ok(());
        }
        self.set_reading(
            id,
            "columns = ?2, rows = ?3, symbols = ?4, open = ?5, picture = ?6",
            &[&size.columns(), &size.rows(), &symbols, &open, picture],
        )
    }

    /// Calls a reading something else.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn rename_reading(&mut self, id: &PieceId, name: &str) -> Result<(), BasketError> {
        self.set_reading(id, "name = ?2", &[&piece::name_of(name)?])
    }

    /// Puts a reading away, or brings it back.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn put_reading_away(&mut self, id: &PieceId, away: bool) -> Result<(), BasketError> {
        self.set_reading(id, "away = ?2", &[&away])
    }

    /// Says which piece a reading became, and with which chart.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn reading_became(&mut self, id: &PieceId, became: &PieceId, stamp: &str) -> Result<(), BasketError> {
        self.set_reading(
            id,
            "piece = (SELECT number FROM piece WHERE id = ?2), stamp = ?3",
            &[&became.as_str(), &stamp],
        )
    }

    fn set_reading(
        &mut self,
        id: &PieceId,
        what: &str,
        values: &[&dyn rusqlite::ToSql],
    ) -> Result<(), BasketError> {
        let change = self.begin()?;
        let reading = number(&change, id)?;
        let all: Vec<&dyn rusqlite::ToSql> =
            std::iter::once(&reading as &dyn rusqlite::ToSql).chain(values.iter().copied()).collect();
        change.execute(&format!("UPDATE reading SET {what} WHERE number = ?1"), all.as_slice())?;
        piece::changed(&change)?;
        change.commit()?;
        Ok(())
    }

    /// The small picture of a reading, as PNG; nothing where its pages were not laid together yet.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn reading_picture(&self, id: &PieceId) -> Result<Option<Vec<u8>>, BasketError> {
        let asked = "SELECT picture FROM reading WHERE id = ?";
        let found = self.store.query_row(asked, [id.as_str()], |row| row.get(0)).optional()?;
        found.ok_or_else(|| BasketError::no_piece(id.as_str(), &[]))
    }
}
