//! Reading: a picture of a page becomes a grid, cells and symbols.
//!
//! Owns the border with files from outside: what is taken of one at all (`gate`), and the child in which it is read
//! (`apart`). `proof` reads pages whose chart is known, from their pictures; `read` pages whose chart is not, from what
//! is drawn on them (`drawing`).

mod apart;
mod drawing;
mod error;
mod gate;
mod pages;
mod picture;
mod places;
pub mod proof;
pub mod read;
pub mod shown;

pub use apart::{Limits, Program, Reader, serve};
pub use error::{GridFault, ProofError};
