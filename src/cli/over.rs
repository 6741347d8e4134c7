//! What may be written over and what may be taken of memory.

use brede::desk::{Limits, Replace};
use clap::Args;

/// What may be written over and taken of memory; for every command that writes.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct OverArgs {
    /// Write over any file, also one that brede did not write or that was changed since: what was there is kept
    /// beside it under its name with .earlier
    #[arg(long, global = true, display_order = 905)]
    replace: bool,
    /// The most memory that the command may take, in MB (of 1,048,576 bytes)
    #[arg(long, value_name = "MB", global = true, display_order = 906,
          default_value_t = Limits::default().max_memory >> 20, value_parser = clap::value_parser!(u64).range(1..=1 << 40))]
    max_memory: u64,
}

impl OverArgs {
    pub(super) fn replace(self) -> Replace {
        if self.replace { Replace::Anything } else { Replace::Ours }
    }

    pub(super) fn limits(self) -> Limits {
        Limits { max_memory: self.max_memory << 20, ..Limits::default() }
    }
}
