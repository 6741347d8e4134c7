//! Making: from a picture and a card to a chart, and a chart to another card.
//!
//! `photo` reads, `frame` cuts and resamples, `reduce` chooses threads, `make` has the order of all that; `exact` takes
//! a finished chart cell by cell, and `rethread` moves one to other threads. Symbols are given later, in `printing`.

pub mod exact;
pub mod frame;
pub mod make;
pub mod photo;
pub mod reduce;
pub mod rethread;
pub mod squares;
