//! Reading: a picture of a page becomes a grid, cells and symbols.

pub mod proof;
pub mod shown;
