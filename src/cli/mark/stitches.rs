//! The mark that says how an area is worked, from arguments.

use brede::chart::mark::{Holes, Motif, Stitches};
use brede::chart::{Mark, Thread};
use brede::ground::units::counted;
use brede::thread::cloth::StitchKind;
use clap::Args;

use super::new::PickArgs;

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede mark pool.chart.json stitches sea --needle S01 --stitch half-cross --strands 1
  brede mark pool.chart.json stitches gleam --at 34,60 --within 6 --add M01
  brede mark pool.chart.json stitches tip --rectangle 40,12,40,12 --stitch three-quarter-bottom-right

Kinds of stitch: full-cross, half-cross (/), half-cross-back (\\), quarter, three-quarter.
A quarter lies in a corner of its cell, the bottom left unless one is named, such as \
quarter-top-left. A three-quarter stitch is a quarter and a half cross past its corner.")]
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
    pub(super) fn is_given(&self) -> bool {
        self.stitch.is_some() || self.strands.is_some() || self.add.is_some()
    }

    /// Changes what is given but for the thread added, which is to be found first.
    pub(super) fn change<T>(&self, mark: &mut Stitches<T>) {
        mark.stitch = self.stitch.or(mark.stitch);
        mark.strands = self.strands.or(mark.strands);
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

/// What a mark says of its stitches: `half-cross, 1 strand, with 1 of M01`.
pub(super) fn said(mark: &Stitches<Vec<Thread>>) -> String {
    let mut parts = Vec::new();
    parts.extend(mark.stitch.map(|stitch| stitch.to_string()));
    parts.extend(mark.strands.map(|strands| counted(strands.into(), "strand")));
    parts.extend(mark.add.iter().map(|threads| {
        let part = |thread: &Thread| format!("{} of {}", thread.strands, thread.code);
        format!("with {}", threads.iter().map(part).collect::<Vec<_>>().join(" + "))
    }));
    parts.join(", ")
}
