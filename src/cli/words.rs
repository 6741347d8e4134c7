//! Words for what the library says in values: what to do, and what to know.

mod advice;

pub(super) use advice::advice;
