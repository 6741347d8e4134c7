//! Thread: the shade card, and what a thread looks like on the cloth it is worked on.

pub mod cloth;
pub mod code;
pub mod kind;
pub mod shades;
pub mod skein;
