//! The measures of your thread from a stitched swatch.

use std::path::PathBuf;

use brede::desk::{
    self, CalibrateReport, CalibrateRequest, Part, Sought, StitchKind, Swatch, SwatchColour, SwatchPhoto,
    Target,
};
use brede::ground::colour::Srgb8;
use clap::Args;

use super::super::doing;
use super::super::make::LimitArgs;
use super::super::values::number;
use super::{ClothArgs, Failure};

#[derive(Debug, Args)]
#[command(next_help_heading = "Calibrating by a stitched swatch")]
pub(super) struct CalibrateArgs {
    /// A photo of a swatch in a thread much darker or lighter than its cloth, straight from above in even light:
    /// writes how your thread covers, for --cover. Say its
    /// --count and --strands, and the colours with --cloth and --thread
    #[arg(long, value_name = "PHOTO", conflicts_with_all = ["charts", "measured"])]
    pub(super) calibrate: Option<PathBuf>,
    /// The same from a swatch that you have measured: how much of the cloth is hidden
    #[arg(long, value_name = "PERCENT", value_parser = number(0.5..=100.0), conflicts_with = "charts")]
    pub(super) measured: Option<f64>,
    /// Strands in the needle of the swatch
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=12))]
    strands: u8,
    /// The stitch of the swatch
    #[arg(long, value_name = "KIND", default_value = "full-cross")]
    stitch: StitchKind,
    /// The colour of its thread
    #[arg(long, value_name = "#rrggbb")]
    thread: Option<Srgb8>,
    /// Where on the photo there is nothing but thread, such as a skein laid beside: its colour is taken from there
    #[arg(long, value_name = "X,Y,W,H", conflicts_with = "thread")]
    thread_at: Option<Part>,
    /// Where on the photo there is bare cloth: its colour is taken from there
    #[arg(long, value_name = "X,Y,W,H", conflicts_with = "cloth")]
    cloth_at: Option<Part>,
    /// Where on the photo the stitches are, in pixels: left, top, width, height; else all of it
    #[arg(long, value_name = "X,Y,W,H")]
    part: Option<Part>,
    /// The swatch is so thick that only the holes of the cloth are bare: they are measured, not the thread
    #[arg(long)]
    holes: bool,
    /// Write the measures here; else to standard output
    #[arg(short, long, value_name = "FILE.toml")]
    output: Option<PathBuf>,
    #[command(flatten)]
    limits: LimitArgs,
}

impl CalibrateArgs {
    fn swatch(&self, args: &ClothArgs) -> Swatch {
        let Some(photo) = &self.calibrate else {
            return Swatch::Measured(self.measured.unwrap_or_default() / 100.0);
        };
        let colour = |known: Option<Srgb8>, on: Option<Part>| {
            known.map(SwatchColour::Known).or_else(|| on.map(SwatchColour::On))
        };
        Swatch::Photo(Box::new(SwatchPhoto {
            photo: photo.clone().into(),
            thread: colour(self.thread, self.thread_at),
            cloth: colour(args.cloth, self.cloth_at),
            part: self.part,
        }))
    }
}

pub(super) fn run(args: &ClothArgs) -> Result<(), Failure> {
    let given = &args.swatch;
    let request = CalibrateRequest {
        swatch: given.swatch(args),
        counts: args.count.clone(),
        strands: given.strands,
        stitch: given.stitch,
        sought: if given.holes { Sought::Holes } else { Sought::Width },
        cover: args.cover.clone().map(Into::into),
        output: given.output.clone().map_or(Target::Held, Into::into),
        limits: given.limits.limits(args.over),
        replace: args.over.replace(),
    };
    let words = |report: &CalibrateReport| match &given.output {
        Some(path) => format!("{}: {}\n", path.display(), said(report, given.holes)),
        None => doing::held(report),
    };
    doing::told(args.tell, |bar| desk::calibrate(&request, bar), words).map(drop)
}

fn said(report: &CalibrateReport, holes: bool) -> String {
    let hidden = report.hidden * 100.0;
    if holes {
        return format!("{hidden:.1} % hidden, holes are {:.1} % of the cloth", report.bare_holes * 100.0);
    }
    format!("{hidden:.1} % hidden, a strand lies {:.2} mm wide", report.strand_mm)
}
