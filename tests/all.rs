//! The tests from outside, in one program: it is built and linked once, where a program for each file would be eleven.
//!
//! `cargo test NAME` runs the tests whose path holds NAME: `cargo test kit_command`, `cargo test hard::files`.
//! A new file of tests is a line below; `rooms` tells where one was forgotten.
#![allow(clippy::panic, clippy::unwrap_used, missing_docs)]

mod asking;
mod basket_command;
mod basket_safe;
mod command;
mod examples;
mod eye;
mod hard;
mod judges;
mod kit;
mod kit_command;
mod mark_command;
mod marks;
mod page;
mod page_printed;
mod pages;
mod proof;
mod read;
mod rooms;
mod running;
mod said;
mod subject;
mod symbol_font;
