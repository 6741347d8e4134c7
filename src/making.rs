//! Making: from a picture and a card to a chart, and a chart to another card.
//!
//! `photo` reads, `frame` cuts and resamples, `subject` finds what the picture is about, `bare` where cloth may
//! show, `reduce` chooses threads, `make` has the order of all that; `exact` takes a finished chart cell by cell, and
//! `rethread` moves one to other threads. Symbols are given later, in `printing`.

pub mod bare;
pub mod exact;
pub mod frame;
pub mod make;
pub mod photo;
pub mod reduce;
pub mod rethread;
pub mod squares;
pub mod subject;
