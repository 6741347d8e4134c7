//! The measures of one's own thread from a stitched swatch.

use image::RgbaImage;
use serde::Serialize;

use super::files::{Files, Output};
use super::report::places4;
use super::{Error, Replace, Report, Source, SwatchPlace, Target, Warning, What, Written};
use crate::ground::colour::{LinearRgb, Srgb8};
use crate::ground::progress::Progress;
use crate::ground::units::{FabricCount, counted};
use crate::making::photo::Limits;
use crate::thread::cloth::{CoverModel, Sought, StitchKind, seen_cover};
use crate::thread::shades::swatches::{Part, PhotoPart, median_of};

/// What tells how much of the cloth the swatch hides.
#[derive(Debug, Clone)]
pub enum Swatch {
    /// A photo of it.
    Photo(Box<SwatchPhoto>),
    /// The share of the cloth that is hidden, 0 to 1, measured otherwise.
    Measured(f64),
}

/// A photo of a swatch, straight from above in even light.
#[derive(Debug, Clone)]
pub struct SwatchPhoto {
    /// The photo.
    pub photo: Source,
    /// The colour of the thread, or where on the photo there is nothing else.
    pub thread: Option<SwatchColour>,
    /// The colour of the cloth, or where on the photo it is bare.
    pub cloth: Option<SwatchColour>,
    /// Where the stitches are; else all of it.
    pub part: Option<Part>,
}

/// A colour of a swatch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SwatchColour {
    /// As it is known.
    Known(Srgb8),
    /// As the photo shows it there.
    On(Part),
}

/// What is sought from which swatch.
#[derive(Debug, Clone)]
pub struct CalibrateRequest {
    /// The swatch.
    pub swatch: Swatch,
    /// The counts of its cloth; one must be given.
    pub counts: Vec<FabricCount>,
    /// Strands in its needle.
    pub strands: u8,
    /// Its stitch.
    pub stitch: StitchKind,
    /// The thread's width, or the holes of the cloth.
    pub sought: Sought,
    /// Measures that are known already.
    pub cover: Option<Source>,
    /// Where the measures go.
    pub output: Target,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// What a swatch tells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CalibrateReport {
    /// The share of the cloth that it hides.
    #[serde(serialize_with = "places4")]
    pub hidden: f64,
    /// How wide a strand lies, in millimetres.
    #[serde(serialize_with = "places4")]
    pub strand_mm: f64,
    /// The share of the cloth that its holes are.
    #[serde(serialize_with = "places4")]
    pub bare_holes: f64,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for CalibrateReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Works out how thread covers from a swatch.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn calibrate(request: &CalibrateRequest, progress: &dyn Progress) -> Result<CalibrateReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let [count] = request.counts.as_slice() else { return Err(Error::SwatchCount) };
    let model = files.cover_or_usual(request.cover.as_ref())?;
    let (hidden, source) = match &request.swatch {
        Swatch::Photo(photo) => (seen(photo, request.sought, &mut files, progress)?, "a photo"),
        Swatch::Measured(share) => (*share, "a measured swatch"),
    };
    let fitted = match request.sought {
        Sought::Holes => model.with_holes(hidden),
        Sought::Width => model.fitted(hidden, *count, request.strands, request.stitch),
    };
    let fitted: CoverModel = fitted.map_err(Error::Swatch)?;
    // The file's own words: it is read by people who wonder later whence the figures are.
    let about = format!(
        "# By {source}: {:.1} % of the cloth hidden on {count} count, {} of {}\n",
        hidden * 100.0,
        request.stitch,
        counted(request.strands.into(), "strand"),
    );
    let output = Output {
        what: What::Measures,
        target: request.output.clone(),
        name: "cover.toml".to_owned(),
        bytes: format!("{about}{}", fitted.to_toml()).into_bytes(),
    };
    let written = files.write(vec![output])?;
    Ok(CalibrateReport {
        hidden,
        strand_mm: fitted.width_mm(1),
        bare_holes: fitted.bare_holes,
        warnings: files.warnings,
        files: written,
    })
}

/// The share of the cloth that the photo shows hidden.
fn seen(
    given: &SwatchPhoto,
    sought: Sought,
    files: &mut Files,
    progress: &dyn Progress,
) -> Result<f64, Error> {
    let photo = files.photo(&given.photo, progress)?;
    let pixels = photo.pixels();
    let off = |source| Error::SwatchPhoto { name: given.photo.to_string(), source };
    let colour = |what, said: Option<SwatchColour>| match said {
        Some(SwatchColour::Known(colour)) => Ok(colour.linear()),
        Some(SwatchColour::On(part)) => {
            let name = if what == SwatchPlace::Thread { PhotoPart::Thread } else { PhotoPart::Cloth };
            median_of(pixels, part, name).map_err(off)
        }
        None => Err(Error::NoSwatchColour { place: what }),
    };
    let thread = colour(SwatchPlace::Thread, given.thread)?;
    let cloth = colour(SwatchPlace::Cloth, given.cloth)?;
    let whole = Part { x: 0, y: 0, width: pixels.width(), height: pixels.height() };
    let part = given.part.unwrap_or(whole);
    part.on(pixels, PhotoPart::Swatch).map_err(off)?;
    seen_cover(lights(pixels, part), thread, cloth, sought).map_err(Error::Swatch)
}

fn lights(pixels: &RgbaImage, part: Part) -> impl Iterator<Item = LinearRgb> {
    // Each of the 256 values once, not for each of some hundred million pixels.
    let light: Vec<f64> =
        (0..=u8::MAX).map(|value| Srgb8 { r: value, g: 0, b: 0 }.linear().channels[0]).collect();
    let rows = part.y..part.y + part.height;
    rows.flat_map(move |y| (part.x..part.x + part.width).map(move |x| (x, y))).map(move |(x, y)| {
        let [r, g, b, _] = pixels.get_pixel(x, y).0;
        LinearRgb { channels: [r, g, b].map(|value| light[usize::from(value)]) }
    })
}
