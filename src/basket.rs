//! The workbasket: pieces on the go, kept safe in one file of `SQLite` in a folder of the person's own, photos beside it as
//! files named by their content.
//!
//! Owns what is kept and how, and is the only place that knows SQL. Leaves to the desk what a chart comes to when it is
//! worked, and what is said of it. It has no clock: the moment comes with each change.
//!
//! For a page that stands on it (the desk hands these on: `desk::pieces`, `piece_picture`, `done_cells`, `ticks`, `Watch`):
//!
//! - [`Basket::pieces`] lists pieces with how far they are, the last day and a picture; [`Basket::find`] takes what a person
//!   writes.
//! - [`Basket::tick`] keeps stitches that are done, or not. A tick is known by its device and counter, which the device
//!   gives it, so that sending it twice changes nothing; each window is a device. What was seen of the chart is its
//!   [`Seen::form`]: ticks on an earlier one are carried along.
//! - [`Basket::change_chart`] and other changes say which [`Piece::revision`] they saw and are refused where it is no more.
//! - Who watches for what other processes change asks [`Basket::version_of_others`] often; where it is another,
//!   [`Basket::changed_since`] says which pieces are new.

mod backup;
mod bag;
mod carried;
mod carry;
mod cells;
mod diary;
mod error;
mod form;
mod id;
mod open;
mod pack;
mod photo;
mod piece;
mod place;
mod printing;
mod reading;
mod states;
mod threads;
mod tick;

pub use backup::{BACKUP_DAYS, Backup};
pub use bag::Bag;
pub use carried::{Carried, Unpicking};
pub use cells::Cells;
pub use diary::{DiaryDay, Pace, Sitting};
pub use error::{BasketError, Limited, Unknown};
pub use form::{Worked, WorkedThread};
pub use id::{DeviceId, IdError, PieceId};
pub use open::{Basket, Missing, VERSION};
pub use piece::{DoneOf, Kept, KeptChart, KeptFile, Piece, Seen, SeenWork, Turn, Work};
pub use printing::Printing;
pub use reading::{Reading, ReadingFigures};
pub use threads::InBox;
pub use tick::{Tick, TickResult, Ticked, Way};

#[cfg(test)]
mod tests;
