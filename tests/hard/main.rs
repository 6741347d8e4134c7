//! Hard input: whatever is on a phone may be refused, but nothing crashes, hangs, eats the machine or spoils a
//! file. Every file here is made by code, and every run goes through the command as a person has it.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "../running/mod.rs"]
mod running;

mod bounded;
mod cards;
mod charts;
mod making;
mod names;
mod pictures;

/// Bytes that look random and are the same every time (Marsaglia 2003, xorshift).
fn noise(seed: u64, count: usize) -> Vec<u8> {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    std::iter::repeat_with(|| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 24) as u8
    })
    .take(count)
    .collect()
}
