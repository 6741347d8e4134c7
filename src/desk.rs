//! The desk: what a person can do, one operation each. Both faces call nothing else.

mod memory;

pub use memory::Job;
