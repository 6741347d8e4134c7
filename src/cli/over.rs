//! What may be written over.

use brede::desk::Replace;
use clap::Args;

/// What may be written over; for every command that writes.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct OverArgs {
    /// Write over any file, also one that brede did not write or that was changed since: what was there is kept
    /// beside it under its name with .earlier
    #[arg(long, global = true, display_order = 905)]
    replace: bool,
}

impl OverArgs {
    pub(super) fn replace(self) -> Replace {
        if self.replace { Replace::Anything } else { Replace::Ours }
    }
}
