//! Hard input: whatever is on a phone may be refused, but nothing crashes, hangs, eats the machine or spoils a
//! file. Every file here is made by code, and every run goes through the command as a person has it.
#![cfg(unix)]

use crate::{asking, running};

mod apart;
mod arguments;
mod bounded;
mod cards;
mod charts;
mod everywhere;
mod files;
mod fuzz;
mod fuzz_pages;
mod keeping;
mod making;
mod memory;
mod names;
mod pages;
mod pictures;
mod stopping;
mod together;

/// Bytes that look random and are the same every time.
fn noise(seed: u64, count: usize) -> Vec<u8> {
    let mut dice = asking::Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    // The first rolls of like seeds are alike.
    (0..8).for_each(|_| _ = dice.roll(256));
    (0..count).map(|_| dice.roll(256) as u8).collect()
}
