//! Charts that are tried before one is kept: the picture is decoded once, and each has the squares and
//! threads that `make` would give it.

use std::sync::Arc;

use serde::Serialize;

use super::figures::places3;
use super::files::Files;
use super::look::LookReport;
use super::make::{AtHand, Begun, Earlier, Given, Kept, MakeSettings, charted, keep, looks, settle, spare};
use super::print::PageSettings;
use super::{Error, Heavy, Moment, Note, Offer, Replace, Report, Source, Warning, Written};
use crate::chart::Chart;
use crate::ground::progress::Progress;
use crate::making::photo::{Limits, Photo};
use crate::planning::shift::{SHIFT_LIMIT, shifts};
use crate::planning::{self, ThreadUse};
use crate::printing::symbols;

/// A picture that is decoded, to be tried.
#[derive(Debug, Clone)]
pub struct OpenPhoto {
    source: Source,
    photo: Arc<Photo>,
    limits: Limits,
    warnings: Vec<Warning>,
    earlier: Earlier,
}

impl OpenPhoto {
    /// Width and height in pixels, upright.
    #[must_use]
    pub fn size(&self) -> [u32; 2] {
        [self.photo.pixels().width(), self.photo.pixels().height()]
    }

    /// Where it came from.
    #[must_use]
    pub fn source(&self) -> &Source {
        &self.source
    }

    /// What the person should know of it.
    #[must_use]
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    /// On which counts, and how large, it goes on the cloth and into the frame at hand, as `make` would offer them: one is
    /// the one that it would take.
    ///
    /// # Errors
    /// [`Error`] where it goes on none.
    pub fn offers(&self, at_hand: &AtHand, settings: &MakeSettings) -> Result<Vec<Offer>, Error> {
        Ok(at_hand.settle(&self.photo, settings)?.1)
    }
}

/// Decodes a picture, to be tried.
///
/// # Errors
/// [`Error`] where it cannot be read, or is too large.
pub fn open_photo(source: Source, limits: Limits, progress: &dyn Progress) -> Result<OpenPhoto, Error> {
    let mut files = Files::new(Replace::Ours, progress).within(limits);
    let photo = Arc::new(files.photo(&source, progress)?);
    files.warnings.extend(looks(photo.pixels()));
    Ok(OpenPhoto { source, photo, limits, warnings: files.warnings, earlier: Earlier::default() })
}

/// What is tried.
#[derive(Debug, Clone)]
pub struct TrialRequest {
    /// The picture.
    pub photo: OpenPhoto,
    /// The shade card; else the demonstration card.
    pub card: Option<Source>,
    /// What `make` would be asked for.
    pub settings: MakeSettings,
}

/// What came of it: a chart with the squares and threads that `make` gives to the same request.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrialReport {
    /// The chart as it is drawn.
    pub look: LookReport,
    /// The chart, and the symbols that were asked for.
    #[serde(skip)]
    made: (Chart, Vec<(String, String)>),
    /// Mean CIEDE2000 to the picture.
    #[serde(serialize_with = "places3")]
    pub mean_delta_e: f64,
    /// Stitches of a hundred that stand alone.
    #[serde(serialize_with = "places3")]
    pub single_percent: f64,
    /// Whole skeins to have ready.
    pub skeins: u64,
    /// What is worth knowing.
    pub notes: Vec<Note>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl TrialReport {
    /// The document of the chart, as `make` writes it: its symbols are tried as pages will show them, which takes longer
    /// than the chart that is looked at.
    ///
    /// # Errors
    /// [`Error`] where the job was stopped.
    pub fn document(&self, progress: &dyn Progress) -> Result<Vec<u8>, Error> {
        let (mut chart, wished) = self.made.clone();
        settle(&mut chart, &wished, (&PageSettings::default(), Moment::default()), progress)?;
        Ok(chart.to_json().into_bytes())
    }
}

impl Report for TrialReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn notes(&self) -> &[Note] {
        &self.notes
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Makes the chart of a request without pages and pictures.
///
/// # Errors
/// [`Error`].
pub fn try_out(request: &TrialRequest, progress: &dyn Progress) -> Result<TrialReport, Error> {
    let OpenPhoto { source, photo, limits, earlier, .. } = &request.photo;
    let mut files = Files::new(Replace::Ours, progress).within(*limits);
    let given = Given {
        photo: source,
        card: files.card_or_demonstration(request.card.as_ref())?,
        masks: &[],
        bare_masks: &[],
        cover: None,
        settings: &request.settings,
        expected: None,
    };
    let mut begun = Begun::of(&mut files, Arc::clone(photo), given, progress)?;
    begun.earlier = Some(earlier.clone());
    let job = begun.job(&PageSettings::default())?;
    files.may_take(Heavy::Chart(job.size), job.choosing())?;
    let (mut making, notes) = charted(&mut files, &mut begun, progress)?;
    let settings = &begun.settings;
    keep(&mut making.chart, &Kept::Made(Box::new(settings.clone())));
    let mut chart = making.chart;
    symbols::give_symbols(&mut chart);
    let mut warnings = std::mem::take(&mut files.warnings);
    warnings.extend(Warning::shifts(shifts(&chart, &settings.cover(), SHIFT_LIMIT)));
    warnings.extend(spare(&chart));
    if !settings.symbols.is_empty() {
        symbols::fix(&mut chart, &settings.symbols)?;
    }
    let composed = files.worked(&chart)?;
    let uses = planning::thread_uses(&chart, &[], progress)?;
    Ok(TrialReport {
        look: LookReport::of(&composed),
        made: (chart, settings.symbols.clone()),
        mean_delta_e: making.figures.mean_delta_e,
        single_percent: making.figures.singles_share * 100.0,
        skeins: uses.iter().map(ThreadUse::skeins).sum(),
        notes,
        warnings,
        files: Vec::new(),
    })
}
