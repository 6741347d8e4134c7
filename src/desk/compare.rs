//! The same picture in more and fewer threads, side by side.

use rust_decimal::Decimal;
use serde::Serialize;

use super::files::{Files, Output};
use super::make::{Begun, Given, MakeSettings};
use super::print::PageSettings;
use super::report::places3;
use super::{Error, Heavy, Replace, Report, Source, Target, Warning, What, Written};
use crate::ground::progress::Progress;
use crate::ground::units::counted;
use crate::making::make;
use crate::making::photo::Limits;
use crate::making::reduce::Colours;
use crate::planning::{self, ThreadUse};
use crate::printing::picture;
use crate::printing::picture::contact::side_by_side;
use crate::thread::shades::ShadeCard;

/// The longer side of each picture on the sheet, in pixels.
const SIDE: u32 = 560;

/// What is to be compared.
#[derive(Debug, Clone)]
pub struct CompareRequest {
    /// The picture.
    pub photo: Source,
    /// The shade card; else the demonstration card.
    pub card: Option<Source>,
    /// Pictures that are white where detail is protected.
    pub masks: Vec<Source>,
    /// Measures of how thread covers.
    pub cover: Option<Source>,
    /// How each chart is made, but for its threads.
    pub settings: MakeSettings,
    /// How many threads each has.
    pub counts: Vec<u16>,
    /// The folder that the sheet goes into.
    pub folder: Target,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// What a number of threads comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tried {
    /// Threads.
    pub colours: usize,
    /// Mean CIEDE2000 to the picture.
    #[serde(serialize_with = "places3")]
    pub mean_delta_e: f64,
    /// What 95 of 100 stitches stay under.
    #[serde(serialize_with = "places3")]
    pub p95_delta_e: f64,
    /// Stitches of a hundred that stand alone.
    #[serde(serialize_with = "places3")]
    pub single_percent: f64,
    /// Whole skeins.
    pub skeins: u64,
    /// What they cost, where the card has a price for each.
    pub cost: Option<Decimal>,
}

/// What came of comparing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CompareReport {
    /// Each number of threads, in the order in which they were asked for.
    pub compared: Vec<Tried>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for CompareReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Tries each number of threads and shows the finished pieces side by side.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn compare(request: &CompareRequest, progress: &dyn Progress) -> Result<CompareReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let name = format!("{}.compare.png", request.photo.result_name());
    files.may_write(What::Compared, &request.folder.within(&name))?;
    let most = request.counts.iter().copied().max().unwrap_or_default();
    let settings = MakeSettings { colours: Colours::Exactly(most), ..request.settings.clone() };
    let given = Given {
        photo: &request.photo,
        card: files.card_or_demonstration(request.card.as_ref())?,
        masks: &request.masks,
        cover: request.cover.as_ref(),
        settings: &settings,
        expected: None,
    };
    let mut begun = Begun::read(&mut files, given, progress)?;
    let job = begun.job(&PageSettings::default())?;
    files.may_take(Heavy::Chart(job.size), job.choosing())?;
    let framed = begun.framed(progress)?;
    let (mut compared, mut pictures, mut captions) = (Vec::new(), Vec::new(), Vec::new());
    for &count in &request.counts {
        begun.options.reduce.colours = Colours::Exactly(count);
        let making = make::make(&begun.photo, &framed, &begun.card, &begun.options, progress)?;
        let picture = picture::preview(&making.chart, &[], progress)?;
        let longest = picture.width().max(picture.height());
        let side = |length: u32| (length * SIDE / longest).max(1);
        pictures.push(image::imageops::thumbnail(&picture, side(picture.width()), side(picture.height())));
        let uses = planning::thread_uses(&making.chart, &[], progress)?;
        let tried = Tried {
            colours: making.chart.needles().len(),
            mean_delta_e: making.figures.mean_delta_e,
            p95_delta_e: making.figures.p95_delta_e,
            single_percent: making.figures.singles_share * 100.0,
            skeins: uses.iter().map(ThreadUse::skeins).sum(),
            cost: cost(&uses, &begun.card),
        };
        captions.push([
            format!("{}, {}", counted(tried.colours as u64, "thread"), counted(tried.skeins, "skein")),
            format!("difference {:.2}, singles {:.1} %", tried.mean_delta_e, tried.single_percent),
        ]);
        compared.push(tried);
    }
    let bytes = picture::png(side_by_side(&pictures, &captions), progress)?;
    let output = Output { what: What::Compared, target: request.folder.within(&name), name, bytes };
    let written = files.write_into(&request.folder, vec![output])?;
    Ok(CompareReport { compared, warnings: files.warnings, files: written })
}

/// What the skeins cost, where the card has a price for each.
fn cost(uses: &[ThreadUse], card: &ShadeCard) -> Option<Decimal> {
    uses.iter()
        .map(|thread| {
            let shade = &card.shades()[card.position(&thread.code)?];
            shade.price.map(|price| price * Decimal::from(thread.skeins()))
        })
        .sum()
}
