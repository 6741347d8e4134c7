//! The mark that says how an area is worked, from arguments.

use brede::desk::StitchKind;
use brede::desk::mark::{Holes, Mark, MarkSettings, Motif, Stitches};
use clap::Args;

use super::new::PickArgs;

#[derive(Debug, Args)]
#[command(after_help = include_str!("../help/mark-stitches.txt"))]
pub(super) struct StitchesArgs {
    /// What to call it
    name: String,
    #[command(flatten)]
    pub(super) pick: PickArgs,
    #[command(flatten)]
    pub(super) how: HowArgs,
    /// Holes in the area are worked so too; else they are kept, with or without --keep-holes
    #[arg(long, conflicts_with = "keep_holes", help_heading = "Choosing the motif")]
    fill_holes: bool,
}

/// How stitches are worked.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "How it is worked")]
pub(super) struct HowArgs {
    /// The kind of stitch: full-cross, half-cross, half-cross-back, quarter, three-quarter, quarter-top-left ...
    #[arg(long, value_name = "KIND")]
    stitch: Option<StitchKind>,
    /// All strands in the needle; a blend keeps its proportions
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=12))]
    strands: Option<u8>,
    /// A thread that joins those in the needle, one strand of it unless `2 of M01` is said
    #[arg(long, value_name = "THREAD")]
    pub(super) add: Option<String>,
}

impl HowArgs {
    /// What is given, as settings of a mark that is there.
    pub(super) fn settings(&self) -> MarkSettings {
        let Self { stitch, strands, add } = self.clone();
        MarkSettings { stitch, strands, add, ..MarkSettings::default() }
    }
}

impl StitchesArgs {
    pub(super) fn mark(&self) -> Mark<String> {
        let holes = if self.fill_holes { Holes::Filled } else { Holes::Kept };
        Mark::Stitches(Stitches {
            name: self.name.clone(),
            motif: Motif { holes, ..self.pick.motif() },
            stitch: self.how.stitch,
            strands: self.how.strands,
            add: self.how.add.clone(),
        })
    }
}
