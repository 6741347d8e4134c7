//! Words for what the library says in values: what to do, and what to know.

mod advice;
mod marks;
pub(super) mod verdict;
mod warning;

pub(super) use advice::advice;
pub(super) use warning::{kept, note, warning};
