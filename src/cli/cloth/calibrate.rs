//! The measures of your thread from a stitched swatch.

use std::path::{Path, PathBuf};

use brede::ground::colour::{LinearRgb, Srgb8};
use brede::ground::units::counted;
use brede::thread::cloth::{CoverModel, Sought, StitchKind, SwatchFitError, seen_cover};
use brede::thread::shades::swatches::{Part, SwatchError, median_of};
use clap::Args;
use image::RgbaImage;

use super::super::make::LimitArgs;
use super::super::shades::part;
use super::{ClothArgs, Failure, read_cover, save, tell};

#[derive(Debug, Args)]
#[command(next_help_heading = "Calibrating by a stitched swatch")]
pub(super) struct CalibrateArgs {
    /// A photo of a swatch in a thread much darker or lighter than its cloth, straight from above in even light:
    /// writes how your thread covers, for --cover. Say its
    /// --count and --strands, and the colours with --cloth and --thread
    #[arg(long, value_name = "PHOTO", conflicts_with_all = ["charts", "measured"])]
    pub(super) calibrate: Option<PathBuf>,
    /// The same from a swatch that you have measured: how much of the cloth is hidden
    #[arg(long, value_name = "PERCENT", value_parser = percent, conflicts_with = "charts")]
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
    #[arg(long, value_name = "X,Y,W,H", value_parser = part, conflicts_with = "thread")]
    thread_at: Option<Part>,
    /// Where on the photo there is bare cloth: its colour is taken from there
    #[arg(long, value_name = "X,Y,W,H", value_parser = part, conflicts_with = "cloth")]
    cloth_at: Option<Part>,
    /// Where on the photo the stitches are, in pixels: left, top, width, height; else all of it
    #[arg(long, value_name = "X,Y,W,H", value_parser = part)]
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

fn percent(text: &str) -> Result<f64, String> {
    let number = text.trim().trim_end_matches('%').trim_end().replace(',', ".");
    let percent: f64 = number.parse().map_err(|_| "not a number of per cent".to_owned())?;
    if (0.5..=100.0).contains(&percent) { Ok(percent) } else { Err("0.5 to 100 per cent".to_owned()) }
}

#[derive(Debug, thiserror::Error)]
enum CalibrateError {
    #[error("the count of the swatch's cloth is not said")]
    Count,
    #[error("the colour of the {0} is not said")]
    Colour(&'static str),
    #[error("could not calibrate by {}", path.display())]
    Photo { path: PathBuf, source: SwatchError },
    #[error("could not calibrate by the swatch")]
    Fit(#[source] SwatchFitError),
}

fn unfit(source: SwatchFitError) -> Failure {
    let hint = super::super::words::advice(&source.advice());
    Failure::new(CalibrateError::Fit(source), hint)
}

pub(super) fn run(args: &ClothArgs) -> Result<(), Failure> {
    let given = &args.swatch;
    let [count] = args.count.as_slice() else {
        return Err(Failure::new(CalibrateError::Count, "give it, such as --count 14"));
    };
    let model = read_cover(args.cover.as_deref())?;
    let (share, source) = match (&given.calibrate, given.measured) {
        (Some(path), _) => (seen(path, args)?, "a photo"),
        (None, measured) => (measured.unwrap_or_default() / 100.0, "a measured swatch"),
    };
    let fitted = if given.holes {
        model.with_holes(share).map_err(unfit)?
    } else {
        model.fitted(share, *count, given.strands, given.stitch).map_err(unfit)?
    };
    let about = format!(
        "# By {source}: {:.1} % of the cloth hidden on {count} count, {} of {}\n",
        share * 100.0,
        given.stitch,
        counted(given.strands.into(), "strand"),
    );
    let text = format!("{about}{}", fitted.to_toml());
    let Some(path) = &given.output else { return Ok(tell::result(&text)?) };
    save(path, text.as_bytes())?;
    let said = said(&fitted, share, given.holes);
    Ok(tell::result(&format!("{}: {said}\n", path.display()))?)
}

fn said(fitted: &CoverModel, share: f64, holes: bool) -> String {
    let hidden = share * 100.0;
    if holes {
        return format!("{hidden:.1} % hidden, holes are {:.1} % of the cloth", fitted.bare_holes * 100.0);
    }
    format!("{hidden:.1} % hidden, a strand lies {:.2} mm wide", fitted.width_mm(1))
}

/// What the photo shows.
fn seen(path: &Path, args: &ClothArgs) -> Result<f64, Failure> {
    let given = &args.swatch;
    let photo = super::super::old::open_photo(&given.limits, path)?;
    let pixels = photo.pixels();
    let colour = |what, said: Option<Srgb8>, at: Option<Part>| match (said, at) {
        (Some(colour), _) => Ok(colour.linear()),
        (None, Some(at)) => median_of(pixels, at, what).map_err(|source| off_photo(path, source)),
        (None, None) => {
            let hint = format!(
                "give it with --{what} '#rrggbb', or its place on the photo with --{what}-at x,y,w,h"
            );
            Err(Failure::new(CalibrateError::Colour(what), hint))
        }
    };
    let thread = colour("thread", given.thread, given.thread_at)?;
    let cloth = colour("cloth", args.cloth, given.cloth_at)?;
    let whole = Part { x: 0, y: 0, width: pixels.width(), height: pixels.height() };
    let part = given.part.unwrap_or(whole);
    part.on(pixels, "swatch").map_err(|source| off_photo(path, source))?;
    let sought = if given.holes { Sought::Holes } else { Sought::Width };
    seen_cover(lights(pixels, part), thread, cloth, sought).map_err(unfit)
}

fn off_photo(path: &Path, source: SwatchError) -> Failure {
    let hint = super::super::words::advice(&source.advice());
    Failure::new(CalibrateError::Photo { path: path.to_owned(), source }, hint)
}

fn lights(pixels: &RgbaImage, part: Part) -> impl Iterator<Item = LinearRgb> {
    let rows = part.y..part.y + part.height;
    rows.flat_map(move |y| (part.x..part.x + part.width).map(move |x| (x, y))).map(|(x, y)| {
        let [r, g, b, _] = pixels.get_pixel(x, y).0;
        Srgb8 { r, g, b }.linear()
    })
}
