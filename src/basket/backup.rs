//! Backups: the whole file once more, photos linked.

use std::path::PathBuf;

use super::open::Basket;
use super::{BasketError, place};

impl Basket {
    /// Writes the file once more, whole and compact, as it is at this moment (SQLite, "VACUUM INTO").
    pub(super) fn copy_to(&self, path: &std::path::Path) -> Result<(), BasketError> {
        let text = path.to_str().ok_or_else(|| BasketError::Files {
            path: path.to_owned(),
            source: std::io::Error::new(std::io::ErrorKind::InvalidFilename, "the name is not UTF-8"),
        })?;
        // An empty file of the person's alone is written into.
        place::make_file(path)?;
        self.store.execute("VACUUM INTO ?", [text])?;
        Ok(())
    }

    /// What the file was, before it is brought to a newer form.
    pub(super) fn back_up_before_migration(&self) -> Result<PathBuf, BasketError> {
        let folder = self.folder.join(place::BACKUPS);
        place::make_folder(&folder)?;
        let version: i64 = self.store.query_row("PRAGMA user_version", [], |row| row.get(0))?;
        let path = folder.join(format!("version-{version}.sqlite"));
        if !path.exists() {
            self.copy_to(&path)?;
        }
        Ok(path)
    }
}
