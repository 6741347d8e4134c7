//! What a job may take of memory, held to `--max-memory` before it begins.

use brede::desk::Job;
use brede::ground::units::GridSize;
use brede::making::frame::{self, Protected};
use brede::making::make::{self, MakeOptions};
use brede::making::photo::Photo;
use brede::making::reduce::Colours;
use brede::thread::shades::ShadeCard;

use super::{Failure, LimitArgs, MakeArgs, make_failure};

#[derive(Debug, thiserror::Error)]
#[error("a chart of {size} cells may take {} MiB of memory; at most {} MiB may be used", needed.div_ceil(1 << 20), limit >> 20)]
struct MemoryError {
    size: GridSize,
    needed: u64,
    limit: u64,
}

impl LimitArgs {
    /// Holds what a job needs to the limit.
    pub(super) fn hold(&self, size: GridSize, needed: u64) -> Result<(), Failure> {
        let limit = self.limits().max_memory;
        if needed <= limit {
            return Ok(());
        }
        Err(Failure::new(
            MemoryError { size, needed, limit },
            "ask for fewer cells (--columns, --rows) or threads, give a smaller picture or card, or lift the limit with \
             --max-memory",
        ))
    }
}

/// What is known of a job once its picture is read.
pub(super) fn job(
    args: &MakeArgs,
    photo: &Photo,
    card: &ShadeCard,
    options: &MakeOptions,
) -> Result<Job, Failure> {
    let size = frame::size_of(photo, &options.frame).map_err(|error| make_failure(error.into()))?;
    let masks = options.frame.detail.iter().map(|detail| match detail {
        Protected::Mask(mask) => u64::from(mask.width()) * u64::from(mask.height()),
        Protected::Part(_) => 0,
    });
    let (width, height) = photo.pixels().dimensions();
    Ok(Job {
        pixels: u64::from(width) * u64::from(height) + masks.sum::<u64>(),
        size,
        shades: card.shades().len(),
        colours: match options.reduce.colours {
            Colours::Exactly(count) => count.into(),
            Colours::Auto => make::MAX_COLOURS,
        },
        paper: args.page.paper(),
    })
}
