//! Shade cards, and what lies in the box of threads.

use std::str::FromStr as _;

use rusqlite::{OptionalExtension as _, params};
use rust_decimal::Decimal;
use serde::Serialize;

use super::BasketError;
use super::open::Basket;
use super::piece;
use crate::thread::code;

/// A thread in the box.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InBox {
    /// Its code, as the person writes it.
    pub code: String,
    /// Skeins that are owned, those that are begun among them.
    pub owned: Decimal,
    /// How many of them are begun.
    pub opened: u32,
    /// What is left of these, in skeins.
    pub left: Decimal,
}

impl Basket {
    /// Keeps a shade card as the text that it is; one of the same name is replaced.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn keep_card(&mut self, name: &str, text: &[u8]) -> Result<(), BasketError> {
        let change = self.begin()?;
        let sql = "INSERT INTO card (name, text) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET text = excluded.text";
        change.execute(sql, params![name, text])?;
        piece::changed(&change)?;
        change.commit()?;
        Ok(())
    }

    /// The names of the shade cards.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn cards(&self) -> Result<Vec<String>, BasketError> {
        let mut ask = self.store.prepare("SELECT name FROM card ORDER BY name")?;
        Ok(ask.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
    }

    /// The text of a shade card; `None` where there is none of the name.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn card(&self, name: &str) -> Result<Option<Vec<u8>>, BasketError> {
        let asked = "SELECT text FROM card WHERE name = ?";
        Ok(self.store.query_row(asked, [name], |row| row.get(0)).optional()?)
    }

    /// Says what lies in the box of some threads; of others nothing changes. One of which nothing is owned goes.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn keep_in_box(&mut self, threads: &[InBox]) -> Result<(), BasketError> {
        let change = self.begin()?;
        for thread in threads {
            let key = code::key(&thread.code);
            if thread.owned.is_zero() && thread.opened == 0 {
                change.execute("DELETE FROM box WHERE code = ?", [key])?;
                continue;
            }
            let sql = "INSERT INTO box (code, written, owned, opened, left_over) VALUES (?, ?, ?, ?, ?) \
                ON CONFLICT (code) DO UPDATE SET written = excluded.written, owned = excluded.owned, \
                opened = excluded.opened, left_over = excluded.left_over";
            let (owned, left) = (thread.owned.to_string(), thread.left.to_string());
            change.prepare_cached(sql)?.execute(params![key, thread.code, owned, thread.opened, left])?;
        }
        piece::changed(&change)?;
        change.commit()?;
        Ok(())
    }

    /// What lies in the box, in the order of codes.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn in_box(&self) -> Result<Vec<InBox>, BasketError> {
        let mut ask =
            self.store.prepare("SELECT written, owned, opened, left_over FROM box ORDER BY code")?;
        let mut rows = ask.query([])?;
        let mut threads = Vec::new();
        while let Some(row) = rows.next()? {
            let decimal = |at: usize| -> Result<Decimal, BasketError> {
                let text: String = row.get(at)?;
                Decimal::from_str(&text).map_err(|_| BasketError::Damaged {
                    what: format!("`{text}` in the box of threads is no number"),
                })
            };
            threads.push(InBox {
                code: row.get(0)?,
                owned: decimal(1)?,
                opened: row.get(2)?,
                left: decimal(3)?,
            });
        }
        Ok(threads)
    }
}
