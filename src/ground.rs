//! The ground: units, colour, files written whole, progress, advice. Things that know nothing of stitches.

pub mod advice;
pub(crate) mod assignment;
pub mod colour;
pub mod day;
pub mod plain;
pub mod progress;
pub mod store;
pub mod table;
pub mod told;
pub mod units;
