//! Printings: what each page showed, so that a page can be ticked by its number.

use rusqlite::{OptionalExtension as _, params};

use super::BasketError;
use super::id::PieceId;
use super::open::Basket;
use super::piece::Row;
use crate::chart::Stamp;
use crate::ground::day::When;

/// Pages of a chart as they were printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Printing {
    /// The chart as it was.
    pub stamp: Stamp,
    /// Of each page its own cells: the first column and row of the worked chart, from 0, and one past the last; nothing
    /// where it shows none.
    pub pages: Vec<Option<[u32; 4]>>,
}

impl Basket {
    /// Keeps what was printed of a piece.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn keep_printing(
        &mut self,
        piece: &PieceId,
        printing: &Printing,
        when: When,
    ) -> Result<(), BasketError> {
        let change = self.begin()?;
        let row = Row::read(&change, piece)?;
        let pages = serde_json::to_string(&printing.pages).expect("numbers can be written");
        change.execute(
            "INSERT INTO printing (piece, at, stamp, pages) VALUES (?, ?, ?, ?)",
            params![row.number, when.seconds, printing.stamp.to_string(), pages],
        )?;
        change.commit()?;
        Ok(())
    }

    /// What was last printed of a piece.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn last_printing(&self, piece: &PieceId) -> Result<Option<Printing>, BasketError> {
        let look = self.look()?;
        let row = Row::read(&look, piece)?;
        let asked = "SELECT stamp, pages FROM printing WHERE piece = ? ORDER BY number DESC LIMIT 1";
        let found = look
            .query_row(asked, [row.number], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?)));
        let Some((stamp, pages)) = found.optional()? else { return Ok(None) };
        let damaged = || BasketError::Damaged { what: "a printing cannot be read".to_owned() };
        let stamp = stamp.parse().map_err(|_| damaged())?;
        Ok(Some(Printing { stamp, pages: serde_json::from_str(&pages).map_err(|_| damaged())? }))
    }
}
