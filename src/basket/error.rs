//! What can go wrong with the workbasket.

use std::fmt;
use std::io;
use std::path::PathBuf;

use super::carried::Carried;
use super::id::PieceId;
use crate::ground::advice::Advice;

/// What a tick can name that a piece does not have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unknown {
    /// A form that its chart had.
    Form,
    /// A cell of the chart.
    Cell,
    /// A mark.
    Mark,
}

impl fmt::Display for Unknown {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(match self {
            Self::Form => "a form of the chart",
            Self::Cell => "a cell",
            Self::Mark => "a mark",
        })
    }
}

/// What is kept up to a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limited {
    /// The number that a device gives a tick.
    Counter,
    /// What a piece is called, in characters.
    PieceName,
    /// A note of the diary, in characters.
    Note,
}

impl fmt::Display for Limited {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(match self {
            Self::Counter => "the counter of a tick",
            Self::PieceName => "the name of a piece",
            Self::Note => "a note",
        })
    }
}

/// Why something could not be kept or found. What is in the workbasket is as it was.
#[derive(Debug, thiserror::Error)]
pub enum BasketError {
    /// There is none in this folder.
    #[error("there is no workbasket in {}", folder.display())]
    None {
        /// Where one was looked for.
        folder: PathBuf,
    },
    /// The folder, or a file in it, cannot be used.
    #[error("could not use {} of the workbasket", path.display())]
    Files {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The folder is on another machine.
    #[error("the workbasket cannot be kept in {}: it is on another machine ({kind})", folder.display())]
    Network {
        /// Which.
        folder: PathBuf,
        /// The kind of file system.
        kind: String,
    },
    /// A file that is something else.
    #[error("{} is no workbasket of brede", path.display())]
    NotABasket {
        /// Which.
        path: PathBuf,
    },
    /// A file of a later brede.
    #[error("{} has version {found}; this brede knows workbaskets up to version {known}", path.display())]
    Newer {
        /// Which.
        path: PathBuf,
        /// Its version.
        found: i64,
        /// The newest that is known.
        known: i64,
    },
    /// What is kept cannot be read.
    #[error("the workbasket is damaged: {what}")]
    Damaged {
        /// What, as far as it can be told.
        what: String,
    },
    /// Another brede does not let go of it.
    #[error("another brede is at work on the workbasket")]
    Busy,
    /// The disk is full.
    #[error("there is no room left for the workbasket")]
    Full,
    /// It may not be written to.
    #[error("the workbasket may not be written to")]
    ReadOnly,
    /// Anything else that the store of it says.
    #[error("the workbasket could not be used")]
    Store(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// No such piece.
    #[error("there is no piece `{asked}` in the workbasket")]
    NoPiece {
        /// What was asked for.
        asked: String,
        /// Those that there are, as `id name`.
        pieces: Vec<String>,
    },
    /// Several pieces of one name.
    #[error("several pieces are called `{asked}`")]
    SeveralPieces {
        /// What was asked for.
        asked: String,
        /// Those, as `id name`.
        pieces: Vec<String>,
    },
    /// A piece whose chart is not here.
    #[error("{name} has no chart in the workbasket")]
    NoChart {
        /// What it is called.
        name: String,
    },
    /// A piece was changed since it was looked at.
    #[error("{name} has been changed since: it is at revision {found}, and revision {seen} was seen")]
    Stale {
        /// What it is called.
        name: String,
        /// Its revision.
        found: u64,
        /// The one that was seen.
        seen: u64,
    },
    /// A change would undo stitches.
    #[error("{} of {name} that are done would have to be unpicked", stitches(carried.unpick + carried.lost))]
    Unpick {
        /// What the piece is called.
        name: String,
        /// What would become of the stitches.
        carried: Box<Carried>,
    },
    /// A counter that a device has given to another tick.
    #[error("tick {counter} of device {device} is there already and is another")]
    OtherTick {
        /// The device.
        device: String,
        /// The counter.
        counter: u64,
    },
    /// A tick about what the piece does not have.
    #[error("a tick names {what} that the piece does not have")]
    NothingToTick {
        /// What.
        what: Unknown,
    },
    /// A chart that has had more threads than can be told apart.
    #[error("{name} has been worked in more threads than can be kept")]
    TooManyThreads {
        /// What it is called.
        name: String,
    },
    /// A text or a number beyond what is kept.
    #[error("{what} is beyond {limit}")]
    Limit {
        /// What.
        what: Limited,
        /// The limit.
        limit: u64,
    },
    /// A photo whose file is not there or is another.
    #[error("the photo {name} in the workbasket is missing or damaged")]
    Photo {
        /// What it was called when it came.
        name: String,
    },
    /// No such backup.
    #[error("there is no backup of {asked}")]
    NoBackup {
        /// What was asked for.
        asked: String,
        /// Those that there are.
        there: Vec<String>,
    },
    /// Something is in the way.
    #[error("{} is there already", path.display())]
    InTheWay {
        /// What.
        path: PathBuf,
    },
}

fn stitches(count: u64) -> String {
    if count == 1 { "1 stitch".to_owned() } else { format!("{count} stitches") }
}

impl BasketError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        Some(match self {
            Self::None { .. } => Advice::KeepFirst,
            Self::Files { source, .. } => match source.kind() {
                io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Advice::MakeRoom,
                _ => Advice::OtherBasket,
            },
            Self::Network { .. } | Self::ReadOnly | Self::NotABasket { .. } => Advice::OtherBasket,
            Self::Newer { .. } => Advice::UpdateBrede,
            Self::Damaged { .. } | Self::Photo { .. } => Advice::BringBack,
            Self::Busy => Advice::WaitForOther,
            Self::Full => Advice::MakeRoom,
            Self::Store(_) => return None,
            Self::NoPiece { pieces, .. } | Self::SeveralPieces { pieces, .. } => {
                Advice::PiecesThere { pieces: pieces.clone() }
            }
            Self::NoChart { .. } => Advice::KeepChart,
            Self::Stale { .. } | Self::OtherTick { .. } => Advice::DoAgain,
            Self::Unpick { .. } => Advice::AgreeToUnpick,
            Self::NothingToTick { .. } => Advice::DoAgain,
            Self::TooManyThreads { .. } => Advice::KeepAsNew,
            Self::Limit { .. } => Advice::Shorten,
            Self::NoBackup { there, .. } => Advice::BackupsThere { there: there.clone() },
            Self::InTheWay { .. } => Advice::OtherName,
        })
    }

    /// That of a piece that is not there, with those that are.
    pub(super) fn no_piece(asked: &str, pieces: &[(PieceId, String)]) -> Self {
        Self::NoPiece { asked: asked.to_owned(), pieces: told(pieces) }
    }

    /// That of several pieces of one name.
    pub(super) fn several(asked: &str, pieces: &[(PieceId, String)]) -> Self {
        Self::SeveralPieces { asked: asked.to_owned(), pieces: told(pieces) }
    }
}

fn told(pieces: &[(PieceId, String)]) -> Vec<String> {
    pieces.iter().map(|(id, name)| format!("{id} {name}")).collect()
}

impl From<rusqlite::Error> for BasketError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode;
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Busy,
            Some(ErrorCode::DiskFull) => Self::Full,
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => Self::ReadOnly,
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                Self::Damaged { what: error.to_string() }
            }
            _ => Self::Store(Box::new(error)),
        }
    }
}
