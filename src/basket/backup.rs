//! Backups: the whole file once more, photos linked and never copied; the basket as one file for another machine.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, params};
use serde::Serialize;

use super::open::{self, Basket};
use super::{BasketError, place};
use crate::ground::day::{Day, When};

/// For how many days backups are kept.
pub const BACKUP_DAYS: i64 = 30;

/// What the names of backups end in.
const ENDING: &str = ".sqlite";

/// The photos of backups: other names of the same files.
const LINKED: &str = "photos";

/// A backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Backup {
    /// What it is called: the day, such as `2026-03-07`, or what it was made before.
    pub name: String,
    /// The day, where it is that of a day.
    pub day: Option<Day>,
    /// The bytes of its file.
    pub bytes: u64,
}

fn failed(path: &Path) -> impl FnOnce(std::io::Error) -> BasketError + '_ {
    |source| BasketError::Files { path: path.to_owned(), source }
}

/// Windows flushes only what may be written to.
fn flush(path: &Path) -> Result<(), BasketError> {
    let file = fs::File::options().write(true).open(path);
    file.and_then(|file| file.sync_all()).map_err(failed(path))
}

impl Basket {
    fn backup_folder(&self) -> PathBuf {
        self.folder.join(place::BACKUPS)
    }

    /// Writes the file once more, whole and compact, as it is at this moment (`SQLite`, "VACUUM INTO"), flushed, under
    /// another name first.
    fn copy_to(&self, path: &Path) -> Result<(), BasketError> {
        let part = path.with_extension("part");
        _ = fs::remove_file(&part);
        let named = open::as_path(&part);
        let text = named.to_str().ok_or_else(|| BasketError::Files {
            path: path.to_owned(),
            source: std::io::Error::new(std::io::ErrorKind::InvalidFilename, "the name is not UTF-8"),
        })?;
        // An empty file of the person's alone is written into.
        place::make_file(&part)?;
        let copied = self.store.execute("VACUUM INTO ?", [text]).map_err(BasketError::from);
        let flushed = copied.and_then(|_| {
            flush(&part)?;
            fs::rename(&part, path).map_err(failed(path))
        });
        if flushed.is_err() {
            _ = fs::remove_file(&part);
        }
        flushed?;
        path.parent().map_or(Ok(()), place::flush_folder)
    }

    /// What the file was, before it is brought to a newer form.
    pub(super) fn back_up_before_migration(&self) -> Result<(), BasketError> {
        let version: i64 = self.store.query_row("PRAGMA user_version", [], |row| row.get(0))?;
        self.back_up_as(&format!("version-{version}"))
    }

    fn back_up_as(&self, name: &str) -> Result<(), BasketError> {
        let folder = self.backup_folder();
        place::make_folder(&folder)?;
        self.copy_to(&folder.join(format!("{name}{ENDING}")))
    }

    /// Backs up what is here, once a day, before the first change of that day; backups of more than thirty days ago go.
    /// Gives whether one was made.
    ///
    /// # Errors
    /// [`BasketError`]; what is in the workbasket is as it was.
    pub fn back_up_for_today(&mut self, when: When) -> Result<bool, BasketError> {
        let folder = self.backup_folder();
        if folder.join(format!("{}{ENDING}", when.day)).exists() {
            return Ok(false);
        }
        let pieces: i64 = self.store.query_row("SELECT count(*) FROM piece", [], |row| row.get(0))?;
        if pieces == 0 {
            return Ok(false);
        }
        self.back_up_as(&when.day.to_string())?;
        self.link_photos()?;
        for old in self.backups()? {
            if old.day.is_some_and(|day| day.number() < when.day.number() - BACKUP_DAYS) {
                _ = fs::remove_file(folder.join(format!("{}{ENDING}", old.name)));
            }
        }
        Ok(true)
    }

    /// Gives each photo another name among the backups. Where a disk has no such names, photos are where they were.
    fn link_photos(&self) -> Result<(), BasketError> {
        let (from, to) = (self.folder.join(place::PHOTOS), self.backup_folder().join(LINKED));
        let Ok(photos) = fs::read_dir(&from) else { return Ok(()) };
        place::make_folder(&to)?;
        for photo in photos.flatten() {
            _ = fs::hard_link(photo.path(), to.join(photo.file_name()));
        }
        Ok(())
    }

    /// The backups that there are, the newest first.
    ///
    /// # Errors
    /// [`BasketError`].
    pub fn backups(&self) -> Result<Vec<Backup>, BasketError> {
        let folder = self.backup_folder();
        let Ok(entries) = fs::read_dir(&folder) else { return Ok(Vec::new()) };
        let mut backups = Vec::new();
        for entry in entries.flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            let Some(name) = name.strip_suffix(ENDING) else { continue };
            let bytes = entry.metadata().map_err(failed(&folder))?.len();
            backups.push(Backup { name: name.to_owned(), day: name.parse().ok(), bytes });
        }
        backups.sort_by(|one, other| (other.day, &other.name).cmp(&(one.day, &one.name)));
        Ok(backups)
    }

    /// Brings a backup back: all that is here becomes what it was then. What is here now is a backup too from then on,
    /// whose name is given.
    ///
    /// # Errors
    /// [`BasketError`]; what is in the workbasket is as it was.
    pub fn bring_back(&mut self, name: &str, when: When) -> Result<String, BasketError> {
        let there = self.backups()?;
        let Some(backup) = there.iter().find(|backup| backup.name == name.trim()) else {
            let there = there.into_iter().map(|backup| backup.name).collect();
            return Err(BasketError::NoBackup { asked: name.to_owned(), there });
        };
        let path = self.backup_folder().join(format!("{}{ENDING}", backup.name));
        let before = self.take_place(&path, when)?;
        let linked = self.backup_folder().join(LINKED);
        let photos = self
            .store
            .prepare("SELECT sha256 FROM photo")?
            .query_map([], |row| row.get(0))?
            .collect::<Result<Vec<String>, _>>()?;
        for sha256 in photos {
            let (from, to) = (linked.join(&sha256), self.photo_path(&sha256));
            if !to.exists() && from.exists() {
                place::make_folder(&self.folder.join(place::PHOTOS))?;
                _ = fs::hard_link(from, to);
            }
        }
        Ok(before)
    }

    /// Writes the whole workbasket into one file, photos and all, for another machine.
    ///
    /// # Errors
    /// [`BasketError`]; then there is no file.
    pub fn give(&self, path: &Path) -> Result<(), BasketError> {
        if path.exists() {
            return Err(BasketError::InTheWay { path: path.to_owned() });
        }
        let part = path.with_extension("packing");
        let given = self.copy_to(&part).and_then(|()| {
            let mut copy = open::connect(&part, OpenFlags::empty())?;
            let pack = copy.transaction()?;
            let photos = pack
                .prepare("SELECT sha256 FROM photo")?
                .query_map([], |row| row.get(0))?
                .collect::<Result<Vec<String>, _>>()?;
            for sha256 in photos {
                let bytes = self.photo(&sha256)?.unwrap_or_default();
                pack.execute(
                    "INSERT INTO packed_photo (sha256, bytes) VALUES (?, ?)",
                    params![sha256, bytes],
                )?;
            }
            pack.commit()?;
            copy.close().map_err(|(_, error)| error)?;
            flush(&part)?;
            fs::rename(&part, path).map_err(failed(path))
        });
        if given.is_err() {
            _ = fs::remove_file(&part);
        }
        given
    }

    /// Takes the place of all that is here from a file that [`Basket::give`] wrote. What was here is a backup, whose name
    /// is given.
    ///
    /// # Errors
    /// [`BasketError`]; what is in the workbasket is as it was.
    pub fn take(&mut self, path: &Path, when: When) -> Result<String, BasketError> {
        let given = open::connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        if open::version(&given, path)? == 0 {
            return Err(BasketError::NotABasket { path: path.to_owned() });
        }
        // Photos first: what is known of them is then there.
        let mut photos = given.prepare(
            "SELECT photo.sha256, name, packed_photo.bytes FROM photo JOIN packed_photo USING (sha256)",
        )?;
        let mut rows = photos.query([])?;
        while let Some(row) = rows.next()? {
            let (sha256, name, bytes): (String, String, Vec<u8>) = (row.get(0)?, row.get(1)?, row.get(2)?);
            if self.write_photo(&bytes)? != sha256 {
                return Err(BasketError::Photo { name });
            }
        }
        let before = self.take_place(path, when)?;
        // The photos are files now; where others are at work, their room is used up by and by.
        self.store.execute("DELETE FROM packed_photo", [])?;
        _ = self.store.execute_batch("VACUUM");
        Ok(before)
    }

    /// Puts the pages of another file in the place of this one's, all at once, so that whoever has it open sees the one or
    /// the other. What was here is backed up first.
    fn take_place(&mut self, path: &Path, when: When) -> Result<String, BasketError> {
        let from = open::connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        open::version(&from, path)?;
        let fault: String = from.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
        if fault != "ok" {
            return Err(BasketError::Damaged { what: fault });
        }
        let before = self.name_before(when);
        self.back_up_as(&before)?;
        let known = "SELECT counter, changes, (SELECT coalesce(max(revision), 0) FROM piece) FROM basket";
        let number = |row: &rusqlite::Row| Ok((row.get(0)?, row.get(1)?, row.get(2)?));
        let (counter, changes, revision): (i64, i64, i64) = self.store.query_row(known, [], number)?;
        restore(&from, &mut self.store)?;
        open::migrate(&mut self.store, path)?;
        // Who has seen what was here must see that all is other, and no counter or revision is given twice.
        let change = self.begin()?;
        change.execute(
            "UPDATE basket SET counter = max(counter, ?), changes = max(changes, ?) + 1",
            [counter, changes],
        )?;
        change.execute(
            "UPDATE piece SET revision = revision + ?, changed = (SELECT changes FROM basket)",
            [revision],
        )?;
        change.commit()?;
        Ok(before)
    }

    /// A name of a backup that there is not.
    fn name_before(&self, when: When) -> String {
        let name = format!("before-{}", when.day);
        let is_free = |name: &String| !self.backup_folder().join(format!("{name}{ENDING}")).exists();
        let numbered = (2..).map(|number| format!("{name}-{number}"));
        std::iter::once(name.clone()).chain(numbered).find(is_free).unwrap_or(name)
    }
}

/// All pages at once (`SQLite`, "Online Backup API").
fn restore(from: &Connection, to: &mut Connection) -> Result<(), BasketError> {
    use rusqlite::backup::StepResult;
    let copy = rusqlite::backup::Backup::new(from, to)?;
    // Others that are at work are waited for: the store itself does not.
    for _ in 0..1000 {
        match copy.step(-1)? {
            StepResult::Done => return Ok(()),
            _ => std::thread::sleep(std::time::Duration::from_millis(10)),
        }
    }
    Err(BasketError::Busy)
}
