//! Pieces without a chart here, such as a bought kit in its bag; and names of pieces.

use rusqlite::params;

use super::BasketError;
use super::id::PieceId;
use super::open::Basket;
use super::piece::{self, Row};
use crate::ground::day::When;
use crate::ground::units::GridSize;

/// What is known of a piece without a chart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bag {
    /// What it is called.
    pub name: String,
    /// Columns and rows.
    pub size: Option<GridSize>,
    /// The count of its cloth, as people write it.
    pub count: Option<String>,
    /// Threads.
    pub threads: Option<u32>,
    /// Crosses to work.
    pub stitches: Option<u64>,
    /// A picture of it: what its file is called, and its bytes.
    pub picture: Option<(String, Vec<u8>)>,
}

impl Basket {
    /// Keeps a piece without a chart.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn keep_bag(&mut self, bag: &Bag, when: When) -> Result<PieceId, BasketError> {
        let picture = bag.picture.as_ref().map(|(name, bytes)| self.keep_photo(name, bytes)).transpose()?;
        let change = self.begin()?;
        let id = piece::new_id(&change)?;
        let sql = "INSERT INTO piece (id, name, picture, columns, rows, count, threads, stitches, done, kept, revision, changed) \
            VALUES (?, ?, ?, ?, ?, ?, ?, ?, 0, ?, 1, 0)";
        change.execute(
            sql,
            params![
                id.as_str(),
                piece::name_of(&bag.name)?,
                picture,
                bag.size.map(GridSize::columns),
                bag.size.map(GridSize::rows),
                bag.count,
                bag.threads,
                bag.stitches.map(|stitches| stitches as i64),
                when.seconds
            ],
        )?;
        piece::touch(&change, change.last_insert_rowid(), None)?;
        change.commit()?;
        Ok(id)
    }

    /// Calls a piece something else.
    ///
    /// # Errors
    /// [`BasketError::Stale`] where it was changed since `seen`, and others.
    pub fn rename(&mut self, id: &PieceId, seen: Option<u64>, name: &str) -> Result<(), BasketError> {
        let change = self.begin()?;
        let row = Row::read(&change, id)?;
        row.must_be(seen)?;
        change.execute(
            "UPDATE piece SET name = ?, revision = revision + 1 WHERE number = ?",
            params![piece::name_of(name)?, row.number],
        )?;
        piece::touch(&change, row.number, None)?;
        change.commit()?;
        Ok(())
    }
}
