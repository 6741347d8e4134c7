//! The progress bar: on a terminal only, and never in the way of a result.

use std::io::IsTerminal as _;
use std::ops::ControlFlow;

use brede::ground::progress::{Progress, Stage};
use brede::ground::store::Hand;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::tell::TellArgs;

/// Draws how far a job is.
pub(super) struct Bar {
    bar: ProgressBar,
}

impl Bar {
    /// A bar on standard error where that is a terminal; else nothing is drawn.
    pub(super) fn new(how: TellArgs) -> Self {
        let shown = !how.quiet && std::io::stderr().is_terminal();
        let target = if shown { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bar = ProgressBar::with_draw_target(Some(0), target);
        let style = ProgressStyle::with_template("{msg:>12} {bar:32} {percent:>3} %")
            .unwrap_or_else(|_| ProgressStyle::default_bar());
        bar.set_style(style);
        Self { bar }
    }

    pub(super) fn finish(&self) {
        self.bar.finish_and_clear();
    }
}

impl Progress for Bar {
    fn at(&self, stage: Stage, done: u64, total: u64) -> ControlFlow<()> {
        self.bar.set_message(words(stage));
        self.bar.set_length(total);
        self.bar.set_position(done);
        self.ask()
    }

    /// A person stops the whole process (`stopping`), never a job.
    fn ask(&self) -> ControlFlow<()> {
        ControlFlow::Continue(())
    }

    fn hand(&self) -> Hand {
        super::stopping::hand().clone()
    }
}

fn words(stage: Stage) -> &'static str {
    match stage {
        Stage::ReadingPicture => "reading the picture",
        Stage::Framing => "framing the picture",
        Stage::ChoosingThreads => "choosing threads",
        Stage::Marking => "laying marks",
        Stage::GivingSymbols => "giving symbols",
        Stage::Planning => "planning",
        Stage::LayingOut => "laying out",
        Stage::Inking => "pages",
        Stage::Stitching => "stitching",
        Stage::Proofing => "proof-reading",
        Stage::Reading => "reading",
    }
}
