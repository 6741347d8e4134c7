//! Photos: files named by the SHA-256 of what is in them, so that the same photo is there once.

use std::io::Write as _;
use std::path::PathBuf;

use rusqlite::{OptionalExtension as _, params};
use sha2::{Digest as _, Sha256};

use super::open::Basket;
use super::{BasketError, place};
use crate::ground::store::persist;

/// The SHA-256 of bytes, in hexadecimal: the name of their file.
pub(super) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Basket {
    /// Keeps a photo or a picture; gives its SHA-256. It is on the disk before it is known.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn keep_photo(&mut self, name: &str, bytes: &[u8]) -> Result<String, BasketError> {
        let sha256 = self.write_photo(bytes)?;
        let name: String = name.chars().take(super::piece::MOST_NAME).collect();
        let change = self.begin()?;
        change.execute(
            "INSERT INTO photo (sha256, name, bytes) VALUES (?, ?, ?) ON CONFLICT (sha256) DO NOTHING",
            params![sha256, name, bytes.len() as i64],
        )?;
        change.commit()?;
        Ok(sha256)
    }

    /// Writes the file of a photo where it is not there; gives its SHA-256.
    pub(super) fn write_photo(&self, bytes: &[u8]) -> Result<String, BasketError> {
        let sha256 = sha256(bytes);
        let path = self.photo_path(&sha256);
        if !path.exists() {
            let folder = self.folder.join(place::PHOTOS);
            place::make_folder(&folder)?;
            let fail = |source| BasketError::Files { path: path.clone(), source };
            let mut file = tempfile::NamedTempFile::new_in(&folder).map_err(fail)?;
            file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(fail)?;
            match persist(file, &path) {
                // Another that keeps the same photo was quicker, and its file is read already.
                Err(_) if path.exists() => {}
                put => put.map_err(fail)?,
            }
            place::flush_folder(&folder)?;
        }
        Ok(sha256)
    }

    /// The bytes of a photo; `None` where it was never kept.
    ///
    /// # Errors
    /// [`BasketError::Photo`] where its file is gone or another.
    pub fn photo(&self, sha256: &str) -> Result<Option<Vec<u8>>, BasketError> {
        let asked = "SELECT name FROM photo WHERE sha256 = ?";
        let Some(name) = self.store.query_row(asked, [sha256], |row| row.get::<_, String>(0)).optional()?
        else {
            return Ok(None);
        };
        let bytes = std::fs::read(self.photo_path(sha256)).unwrap_or_default();
        if self::sha256(&bytes) == sha256 { Ok(Some(bytes)) } else { Err(BasketError::Photo { name }) }
    }

    /// All photos: the SHA-256 of each, and what it was called when it came.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn photos(&self) -> Result<Vec<(String, String)>, BasketError> {
        let mut ask = self.store.prepare("SELECT sha256, name FROM photo ORDER BY sha256")?;
        Ok(ask.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?)
    }

    /// Where the file of a photo is.
    pub(super) fn photo_path(&self, sha256: &str) -> PathBuf {
        // What comes from the file of pieces names no way out of the folder.
        let name: String = sha256.chars().filter(char::is_ascii_hexdigit).collect();
        self.folder.join(place::PHOTOS).join(name)
    }
}
