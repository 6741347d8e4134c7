//! The file of the workbasket: opened, brought to the newest form, or refused.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use super::{BasketError, place};

/// What stands in the file's head (`SQLite`, "Database File Format", 1.3.16): `bred` in ASCII.
const APPLICATION: i64 = 0x6272_6564;

/// What brings the file from one version to the next; the number of the last is the newest version. A file is only ever
/// added, never changed once a brede with it was given to anybody.
const MIGRATIONS: [&str; 2] = [include_str!("schema/1.sql"), include_str!("schema/2.sql")];

/// The newest version.
pub const VERSION: i64 = MIGRATIONS.len() as i64;

/// How long others are waited for: each holds the file for some milliseconds.
const PATIENCE: Duration = Duration::from_secs(10);

/// Whether a workbasket that is not there is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// It is.
    Make,
    /// That is an error.
    Refuse,
}

/// The workbasket, open.
#[derive(Debug)]
pub struct Basket {
    pub(super) folder: PathBuf,
    pub(super) store: Connection,
}

impl Basket {
    /// Opens the workbasket in a folder, and brings one of an earlier brede to the newest form: what it was before is
    /// among its backups.
    ///
    /// # Errors
    /// [`BasketError`], where it is refused or cannot be read.
    pub fn open(folder: &Path, missing: Missing) -> Result<Self, BasketError> {
        let path = folder.join(place::FILE);
        if missing == Missing::Refuse && !path.exists() {
            return Err(BasketError::None { folder: folder.to_owned() });
        }
        place::make_folder(folder)?;
        place::refuse_network(folder)?;
        place::make_file(&path)?;
        let mut basket = Self { folder: folder.to_owned(), store: connect(&path, OpenFlags::empty())? };
        match version(&basket.store, &path)? {
            VERSION => {}
            0 => {}
            _ => basket.back_up_before_migration()?,
        }
        migrate(&mut basket.store, &path)?;
        write_ahead(&basket.store)?;
        Ok(basket)
    }

    /// The folder that it is in.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// A change, all of it or none. Another brede that changes something is waited for.
    pub(super) fn begin(&mut self) -> Result<Transaction<'_>, BasketError> {
        Ok(self.store.transaction_with_behavior(TransactionBehavior::Immediate)?)
    }

    /// Something that is looked at, all of it as it is at one moment.
    pub(super) fn look(&self) -> Result<Transaction<'_>, BasketError> {
        Ok(self.store.unchecked_transaction()?)
    }

    /// What the store finds wrong with itself; nothing where all is well.
    ///
    /// # Errors
    /// [`BasketError`] where it cannot be asked.
    pub fn faults(&self) -> Result<Vec<String>, BasketError> {
        let mut found = Vec::new();
        let mut ask = self.store.prepare("PRAGMA integrity_check")?;
        for row in ask.query_map([], |row| row.get::<_, String>(0))? {
            found.push(row?);
        }
        found.retain(|text| text != "ok");
        let mut ask = self.store.prepare("PRAGMA foreign_key_check")?;
        for row in ask.query_map([], |row| row.get::<_, String>(0))? {
            found.push(format!("a row of {} belongs to nothing", row?));
        }
        Ok(found)
    }
}

/// A path that begins with no scheme: `SQLite`, as it is built in, takes `file:tide` for a URI of `tide` ("Uniform Resource
/// Identifiers", 2).
pub(super) fn as_path(path: &Path) -> PathBuf {
    if path.is_relative() { Path::new(".").join(path) } else { path.to_owned() }
}

/// Opens a file as it is.
pub(super) fn connect(path: &Path, more: OpenFlags) -> Result<Connection, BasketError> {
    let access = if more.contains(OpenFlags::SQLITE_OPEN_READ_ONLY) {
        more
    } else {
        more | OpenFlags::SQLITE_OPEN_READ_WRITE
    };
    let store = Connection::open_with_flags(as_path(path), access | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    store.busy_timeout(PATIENCE)?;
    // On a Mac, a flush reaches the disk only with this (SQLite, "PRAGMA fullfsync"); elsewhere it does nothing.
    store.execute_batch("PRAGMA foreign_keys = ON; PRAGMA fullfsync = ON; PRAGMA checkpoint_fullfsync = ON; PRAGMA trusted_schema = OFF;")?;
    Ok(store)
}

/// Changes go to a log first, which is flushed at the end of each: others can read meanwhile, and what was acknowledged
/// is there after a loss of power (`SQLite`, "PRAGMA synchronous": FULL).
fn write_ahead(store: &Connection) -> Result<(), BasketError> {
    let mode: String = store.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))?;
    store.execute_batch("PRAGMA synchronous = FULL")?;
    if mode == "wal" { Ok(()) } else { Err(BasketError::ReadOnly) }
}

/// The version of a file, which must be ours: 0 where nothing is in it yet.
pub(super) fn version(store: &Connection, path: &Path) -> Result<i64, BasketError> {
    let number = |pragma: &str| store.query_row(pragma, [], |row| row.get::<_, i64>(0));
    let not_ours = || BasketError::NotABasket { path: path.to_owned() };
    let application = match number("PRAGMA application_id") {
        Err(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::NotADatabase) => {
            return Err(not_ours());
        }
        other => other?,
    };
    let version = number("PRAGMA user_version")?;
    let tables = number("SELECT count(*) FROM sqlite_schema")?;
    match (application, version, tables) {
        (0, 0, 0) => Ok(0),
        (APPLICATION, 1..=VERSION, _) => Ok(version),
        (APPLICATION, found, _) if found > VERSION => {
            Err(BasketError::Newer { path: path.to_owned(), found, known: VERSION })
        }
        _ => Err(not_ours()),
    }
}

/// Brings a file to the newest version, in one step each.
pub(super) fn migrate(store: &mut Connection, path: &Path) -> Result<(), BasketError> {
    while version(store, path)? < VERSION {
        let change = store.transaction_with_behavior(TransactionBehavior::Exclusive)?;
        // Another may have been quicker.
        let at = version(&change, path)?;
        let Some(sql) = usize::try_from(at).ok().and_then(|at| MIGRATIONS.get(at)) else { break };
        change.execute_batch(sql)?;
        change.execute_batch(&format!(
            "PRAGMA application_id = {APPLICATION}; PRAGMA user_version = {}",
            at + 1
        ))?;
        change.commit()?;
    }
    Ok(())
}
