//! From a picture and a card to a chart, its pages and its pictures.

use std::sync::Arc;

use image::RgbaImage;
use serde::{Serialize, Serializer};

use super::figures::places3;
use super::files::{Files, Output};
use super::memory::{self, Job};
use super::print::{PageFigures, PageSettings, pictures};
use super::proof::ProofReport;
use super::set::{CHART, apart_before};
use super::{Error, Heavy, Moment, Note, Replace, Report, Source, Target, Warning, What, Written};
use crate::chart::Chart;
use crate::chart::marks::Composed;
use crate::ground::colour::{Lab, Srgb8};
use crate::ground::plain;
use crate::ground::progress::Progress;
use crate::ground::units::{FabricCount, GridSize, Millimetres};
use crate::making::bare::{self, Ground};
use crate::making::exact::Match;
use crate::making::frame::{self, Kind, Protected};
use crate::making::make::{self, MakeOptions, Making};
use crate::making::photo::{Limits, Photo};
use crate::making::rethread::POOR;
use crate::making::squares::{Squares, look_like_a_page};
use crate::making::subject::{self, Care, Seek, Seen, Subject, Taken};
use crate::planning::shift::{SHIFT_LIMIT, shifts};
use crate::planning::verdict::{ChartVerdict, verdict};
use crate::planning::{self, ThreadCount, ThreadUse};
use crate::printing::sheet::ChartSheet;
use crate::printing::{picture, symbols};
use crate::reading::proof::{self, ProofError, ProofOptions};
use crate::thread::cloth::{CoverModel, StitchKind};
use crate::thread::code;
use crate::thread::shades::ShadeCard;

mod at_hand;
mod earlier;
mod settings;

pub use at_hand::{AtHand, USUAL_MARGIN};
pub(super) use earlier::Earlier;
pub use settings::{
    BareAt, BareBy, Detail, Kept, KeptCover, KeptMask, MakeSettings, SeenFromError, SizeWish, TakeSettings,
    seen_from,
};

/// Whether a sample of the pages is read back before they are given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sample {
    /// It is.
    #[default]
    Read,
    /// It is not.
    Unread,
}

/// Where a chart and what belongs to it goes, and how it is printed.
#[derive(Debug, Clone)]
pub struct SetRequest {
    /// The folder.
    pub folder: Target,
    /// Where a picture of what was taken for the subject goes.
    pub subject: Option<Target>,
    /// How pages are to be. Symbols are asked for with the settings of the chart.
    pub page: PageSettings,
    /// Whether a sample of them is read back.
    pub sample: Sample,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What pages are dated with.
    pub moment: Moment,
    /// What may be written over.
    pub replace: Replace,
}

/// What a chart is to be made of, and how.
#[derive(Debug, Clone)]
pub struct MakeRequest {
    /// The picture.
    pub photo: Source,
    /// The shade card; else the demonstration card.
    pub card: Option<Source>,
    /// Pictures that are white where detail is protected.
    pub masks: Vec<Source>,
    /// Pictures that are white where cloth is left bare besides.
    pub bare_masks: Vec<Source>,
    /// Measures of how thread covers.
    pub cover: Option<Source>,
    /// What the chart keeps of the request.
    pub settings: MakeSettings,
    /// The cloth and the frame that it is to fit; they decide count and size as far as those are not asked for.
    pub at_hand: Option<AtHand>,
    /// Where it goes.
    pub set: SetRequest,
}

/// A colour of the picture and the thread that it got.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Matched {
    /// The colour in the picture.
    pub colour: Srgb8,
    /// How many cells have it.
    pub cells: u64,
    /// The thread's code.
    pub code: String,
    /// The thread's name.
    pub name: String,
    /// The thread's colour.
    pub thread: Srgb8,
    /// The difference of the two (CIEDE2000).
    #[serde(serialize_with = "places3")]
    pub delta_e: f64,
}

impl From<Match> for Matched {
    fn from(found: Match) -> Self {
        let Match { colour, cells, code, name, thread, delta_e } = found;
        Self { colour, cells, code, name, thread, delta_e }
    }
}

/// What came of a chart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MakeReport {
    /// Stitches across.
    pub columns: u32,
    /// Stitches down.
    pub rows: u32,
    /// Cells that are stitched.
    pub stitches: u64,
    /// Cells that are not.
    pub bare: u64,
    /// Needles.
    pub colours: usize,
    /// Threads, and in how many needles.
    pub threads: ThreadCount,
    /// Mean CIEDE2000 to the picture.
    #[serde(serialize_with = "places3")]
    pub mean_delta_e: f64,
    /// Stitches of a hundred that stand alone.
    #[serde(serialize_with = "places3")]
    pub single_percent: f64,
    /// The count of the cloth.
    pub count: FabricCount,
    /// Width and height as finished.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// Width and height of the cloth to cut.
    #[serde(rename = "cloth_to_cut_mm", serialize_with = "places3")]
    pub cloth_to_cut: [Millimetres; 2],
    /// Whole skeins to have ready.
    pub skeins: u64,
    /// The pages.
    #[serde(flatten)]
    pub pages: PageFigures,
    /// What reading a sample of the pages back found.
    #[serde(rename = "proof_read", serialize_with = "in_short")]
    pub proof: Option<ProofReport>,
    /// Whether its thread covers the cloth.
    pub verdict: ChartVerdict,
    /// How colours were matched, where a chart was taken cell by cell; the colour with most cells first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub matches: Option<Vec<Matched>>,
    /// What is worth knowing.
    pub notes: Vec<Note>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

#[allow(clippy::ref_option, reason = "serde gives a reference to the field")]
fn in_short<S: Serializer>(proof: &Option<ProofReport>, serializer: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Short {
        cells: u64,
        right: u64,
    }
    proof.as_ref().map(|&ProofReport { cells, right, .. }| Short { cells, right }).serialize(serializer)
}

impl Report for MakeReport {
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

impl MakeReport {
    /// Columns and rows, as they are written.
    #[must_use]
    pub fn size(&self) -> String {
        format!("{} x {}", self.columns, self.rows)
    }
}

/// What the names of a set of files end in.
const ENDINGS: [(What, &str); 5] = [
    (What::Chart, "chart.json"),
    (What::Pages, "pdf"),
    (What::Cells, "cells.png"),
    (What::Stitched, "stitched.png"),
    (What::Threads, "threads.csv"),
];

impl SetRequest {
    /// Where a file of a set goes.
    fn place(&self, picture: &Source, ending: &str) -> Target {
        self.folder.within(&format!("{}.{ending}", picture.result_name()))
    }

    /// The files of an operation that begins; those that it will write can be written, as far as can be said.
    pub(super) fn begin<'p>(&self, picture: &Source, progress: &'p dyn Progress) -> Result<Files<'p>, Error> {
        let files = Files::new(self.replace, progress).within(self.limits);
        for (what, ending) in ENDINGS {
            files.may_write(what, &self.place(picture, ending))?;
        }
        self.subject.iter().try_for_each(|target| files.may_write(What::Subject, target))?;
        Ok(files)
    }
}

/// A chart that is to be made, with all that is read for it.
pub(super) struct Begun {
    pub(super) photo: Arc<Photo>,
    pub(super) card: ShadeCard,
    pub(super) settings: MakeSettings,
    pub(super) options: MakeOptions,
    /// What the picture is about, once it is framed, where that is sought.
    pub(super) subject: Option<Subject>,
    /// What earlier tries of the picture found, where there may be any.
    pub(super) earlier: Option<Earlier>,
    /// What to say of it.
    pub(super) warnings: Vec<Warning>,
    /// What is worth knowing of it.
    notes: Vec<Note>,
    masks: Vec<String>,
    bare_masks: Vec<RgbaImage>,
    bare_names: Vec<String>,
}

/// What a chart is made of and by, as it was given.
pub(super) struct Given<'a> {
    pub(super) photo: &'a Source,
    pub(super) card: ShadeCard,
    pub(super) masks: &'a [Source],
    pub(super) bare_masks: &'a [Source],
    pub(super) cover: Option<&'a Source>,
    pub(super) settings: &'a MakeSettings,
    /// The picture that it must be.
    pub(super) expected: Option<&'a Expected>,
}

/// The picture that a chart was made of.
pub(super) struct Expected {
    pub(super) sha256: String,
    /// What the chart is called.
    pub(super) chart: String,
}

impl Expected {
    /// Whether it is this one.
    pub(super) fn hold(&self, photo: &Source, sha256: &str) -> Result<(), Error> {
        if sha256 == self.sha256 {
            return Ok(());
        }
        Err(Error::OtherPhoto { photo: photo.to_string(), name: self.chart.clone() })
    }
}

impl Begun {
    /// Reads what is given.
    pub(super) fn read(files: &mut Files, given: Given, progress: &dyn Progress) -> Result<Self, Error> {
        let photo = files.photo(given.photo, progress)?;
        Self::of(files, Arc::new(photo), given, progress)
    }

    /// The same of a picture that was decoded before.
    pub(super) fn of(
        files: &mut Files,
        photo: Arc<Photo>,
        given: Given,
        progress: &dyn Progress,
    ) -> Result<Self, Error> {
        let mut settings = given.settings.clone();
        if let Some(cover) = given.cover {
            settings.cover = Some(files.cover(cover)?);
        }
        if settings.blends.is_some() && settings.strands < 2 {
            return Err(Error::OneStrand);
        }
        given.expected.map_or(Ok(()), |expected| expected.hold(given.photo, photo.sha256()))?;
        let mut read = |masks: &[Source]| -> Result<Vec<RgbaImage>, Error> {
            masks.iter().map(|mask| Ok(files.photo(mask, progress)?.into_pixels())).collect()
        };
        let (masks, bare_masks) = (read(given.masks)?, read(given.bare_masks)?);
        let title = one_line_title(&mut settings.title, given.photo);
        let options = settings.options(title, masks);
        let names = |masks: &[Source]| masks.iter().map(Source::file_name).collect();
        let (masks, bare_names) = (names(given.masks), names(given.bare_masks));
        let (card, subject, earlier, warnings, notes) = (given.card, None, None, Vec::new(), Vec::new());
        Ok(Self {
            photo,
            card,
            settings,
            options,
            subject,
            earlier,
            warnings,
            notes,
            masks,
            bare_masks,
            bare_names,
        })
    }

    /// What is known of the job.
    pub(super) fn job(&self, page: &PageSettings) -> Result<Job, Error> {
        let mut job = memory::job(&self.photo, &self.card, &self.options, page.paper)?;
        let pixels = self.bare_masks.iter().map(|mask| u64::from(mask.width()) * u64::from(mask.height()));
        job.pixels += pixels.sum::<u64>();
        Ok(job)
    }

    /// The part of the picture that is used, at one value a stitch. Masks become cells, as the chart keeps them.
    pub(super) fn framed(&mut self, progress: &dyn Progress) -> Result<frame::Framed, Error> {
        // What the picture is about is sought beside, in threads of the finder's own for the most part.
        let kind = frame::kind_of(&self.photo, &self.options.frame)?;
        let asked = std::mem::replace(&mut self.options.frame.kind, kind);
        let seek = kind == Kind::Photo && self.settings.seek == Seek::Subject;
        // It takes longer, so it begins.
        let (seen, framed) = rayon::join(
            || seek.then(|| self.seen(progress)).transpose(),
            || self.at_one_value_a_stitch(progress),
        );
        self.options.frame.kind = asked;
        let mut framed = framed?;
        if let (Some(cells), false) = (&framed.detail, self.masks.is_empty()) {
            self.settings.mask = Some(KeptMask::of(self.masks.clone(), cells));
        }
        if !self.bare_masks.is_empty() {
            let masks: Vec<Protected> =
                std::mem::take(&mut self.bare_masks).into_iter().map(Protected::Mask).collect();
            let cells = frame::cells_in(&self.photo, &self.options.frame, &masks)?;
            self.settings.bare_mask = Some(KeptMask::of(self.bare_names.clone(), &cells));
        }
        self.options.settings = self.settings.named();
        (self.options.reduce.weights, self.options.reduce.bare_cells) = (None, None);
        self.options.reduce.bare = self.settings.bare_cloth();
        self.subject = None;
        if let Some(seen) = seen? {
            let subject = seen.subject(framed.field.size());
            self.options.reduce.weights = (subject.taken != Taken::Nothing).then(|| subject.weights());
            if let Taken::Faces(_) = subject.taken {
                let marks = framed.detail.get_or_insert_with(|| vec![false; subject.cells.len()]);
                marks.iter_mut().zip(&subject.cells).for_each(|(mark, &care)| *mark |= care == Care::Eye);
            }
            self.subject = Some(subject);
        }
        self.leave_bare(&framed)?;
        Ok(framed)
    }

    fn at_one_value_a_stitch(&self, progress: &dyn Progress) -> Result<frame::Framed, Error> {
        let options = &self.options.frame;
        let frame = || Ok(frame::frame(&self.photo, options, progress)?);
        self.earlier.as_ref().map_or_else(frame, |earlier| earlier.framed(options, frame))
    }

    /// What the part of the picture that is used shows.
    fn seen(&self, progress: &dyn Progress) -> Result<Seen, Error> {
        let options = &self.options.frame;
        let look = || {
            let (view, _) = frame::view(&self.photo, options, subject::SIDE, progress)?;
            Ok(subject::look(&view, progress)?)
        };
        match &self.earlier {
            Some(earlier) => earlier.seen(&frame::part_of(&self.photo, options)?, look),
            None => look(),
        }
    }

    /// Finds the cells that are left bare, and what that does to the piece.
    fn leave_bare(&mut self, framed: &frame::Framed) -> Result<(), Error> {
        let (Some(within), BareBy::Area) = (self.settings.bare, self.settings.bare_by) else { return Ok(()) };
        let at = frame::cells_at(&self.photo, &self.options.frame, &self.settings.bare_at)?;
        let painted = KeptMask::cells_of(self.settings.bare_mask.as_ref());
        let is_subject =
            |cell: usize| self.subject.as_ref().is_some_and(|found| found.cells[cell] > Care::Around);
        let is_held = |cell: usize| framed.detail.as_ref().is_some_and(|detail| detail[cell]);
        let worked: Vec<bool> =
            (0..framed.field.size().cells()).map(|cell| is_subject(cell) || is_held(cell)).collect();
        let cloth = self.options.cloth.colour.lab();
        let ground =
            Ground { field: &framed.field, cloth, within, worked: &worked, at: &at, painted: &painted };
        let bare = bare::bare(&ground);
        for (&cell, spot) in at.iter().zip(&self.settings.bare_at).filter(|(cell, _)| !bare[**cell]) {
            let delta_e = framed.field.cells()[cell].map(|lab| Lab::from(lab).ciede2000(cloth));
            self.warnings.push(Warning::NothingBareAt { spot: *spot, within, delta_e });
        }
        let bare::Harm { delta_e, lost_edge } = bare::harm(&ground, &bare, &worked);
        if delta_e > POOR || lost_edge > LOST {
            self.warnings.push(Warning::BareHarms { delta_e, lost_edge_percent: lost_edge * 100.0 });
        }
        self.options.reduce.bare_cells = Some(bare);
        Ok(())
    }

    /// What was taken for the subject, drawn on the part of the picture that is used.
    fn drawn(&self, progress: &dyn Progress) -> Result<Vec<u8>, Error> {
        let (view, part) = frame::view(&self.photo, &self.options.frame, picture::SUBJECT_SIDE, progress)?;
        let size = frame::size_of(&self.photo, &self.options.frame)?;
        let cells = self.subject.as_ref().map(|subject| subject.cells.as_slice());
        let cloth = self.options.cloth.colour;
        let bare = self.options.reduce.bare_cells.as_deref().map(|cells| (cells, cloth));
        Ok(picture::png(picture::subject(&view, part, size, cells, bare), progress)?)
    }
}

/// The share of the subject's edge that may be lost to bare cloth: more than a sixth is seen as a hole in it (looked at
/// on portraits).
const LOST: f64 = 1.0 / 6.0;

/// Makes a chart of a picture.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn make(request: &MakeRequest, progress: &dyn Progress) -> Result<MakeReport, Error> {
    let mut files = request.set.begin(&request.photo, progress)?;
    let photo = Arc::new(files.photo(&request.photo, progress)?);
    let (settings, offers) = match &request.at_hand {
        Some(at_hand) => at_hand.settle(&photo, &request.settings)?,
        None => (request.settings.clone(), Vec::new()),
    };
    let given = Given {
        photo: &request.photo,
        card: files.card_or_demonstration(request.card.as_ref())?,
        masks: &request.masks,
        bare_masks: &request.bare_masks,
        cover: request.cover.as_ref(),
        settings: &settings,
        expected: None,
    };
    let mut begun = Begun::of(&mut files, photo, given, progress)?;
    begun.notes.extend((!offers.is_empty()).then_some(Note::Offers { offers }));
    made(files, begun, &request.photo, &request.set, progress)
}

/// Makes the chart that was begun, and all that belongs to it.
pub(super) fn made(
    mut files: Files,
    mut begun: Begun,
    photo: &Source,
    set: &SetRequest,
    progress: &dyn Progress,
) -> Result<MakeReport, Error> {
    let job = begun.job(&set.page)?;
    files.may_take(Heavy::Chart(job.size), job.needed())?;
    let photo_behind = Arc::clone(&begun.photo);
    let place = files.warnings.len();
    let (charted, looks) =
        rayon::join(|| charted(&mut files, &mut begun, progress), || looks(photo_behind.pixels()));
    let (mut making, notes) = charted?;
    files.warnings.splice(place..place, looks);
    let settings = &begun.settings;
    keep(&mut making.chart, &Kept::Made(Box::new(settings.clone())));
    let subject = set.subject.as_ref().map(|_| begun.drawn(progress)).transpose()?;
    let (cover, symbols) = (settings.cover(), &settings.symbols);
    let made = Made { making, notes, matches: None, subject, cover, symbols };
    finish(files, made, photo, set, progress)
}

/// The chart that was begun, before it has symbols, and what is worth knowing of it.
pub(super) fn charted(
    files: &mut Files,
    begun: &mut Begun,
    progress: &dyn Progress,
) -> Result<(Making, Vec<Note>), Error> {
    let framed = begun.framed(progress)?;
    files.warnings.append(&mut begun.warnings);
    let mut notes = std::mem::take(&mut begun.notes);
    let Begun { photo: pixels, card, settings, options, .. } = &*begun;
    let making = make::make(pixels, &framed, card, options, progress)?;
    notes.extend(begun.subject.iter().map(Note::subject));
    if settings.bare.is_some() {
        let mut whole = options.clone();
        whole.reduce.bare = None;
        let whole = make::make(pixels, &framed, card, &whole, progress)?;
        notes.push(Note::bare_saves(&making, &whole, progress)?);
        notes.push(Note::near_cloth(&framed.field, options.cloth.colour));
    }
    if making.kind == Kind::Drawing && settings.kind == Kind::Auto {
        notes.push(Note::TakenForDrawing);
    }
    if let Some(delta_e) = making.figures.enough {
        notes.push(Note::Enough { threads: making.chart.needles().len(), delta_e });
    }
    let not_chosen = not_in_half_crosses(&making.chart, &settings.half_cross);
    if !not_chosen.is_empty() {
        files.warnings.push(Warning::HalfCrossNotChosen { codes: not_chosen });
    }
    Ok((making, notes))
}

/// What a chart is called: as asked for, else as its picture, on one line.
pub(super) fn one_line_title(title: &mut Option<String>, picture: &Source) -> String {
    let asked = title.take().unwrap_or_else(|| picture.called());
    title.insert(plain::lettered(&asked)).clone()
}

/// Those of these threads that no needle of a chart works in half crosses.
fn not_in_half_crosses(chart: &Chart, asked: &[String]) -> Vec<String> {
    let is_half = |code: &str| {
        let mut half = chart.needles().iter().filter(|needle| needle.stitch == StitchKind::HalfCross);
        half.any(|needle| needle.threads.iter().any(|thread| code::same(&thread.code, code)))
    };
    asked.iter().map(|code| code.trim()).filter(|code| !is_half(code)).map(str::to_owned).collect()
}

/// What a picture looks like that is no photo of a motif, but a chart already.
pub(super) fn looks(pixels: &RgbaImage) -> Option<Warning> {
    match Squares::find(pixels) {
        Some(squares) => Some(Warning::ShowsSquares { pitch: squares.pitch(), size: squares.size() }),
        None => look_like_a_page(pixels).then_some(Warning::ShowsPage),
    }
}

/// Keeps in a chart how it came to be.
pub(super) fn keep(chart: &mut Chart, kept: &Kept) {
    if let Some(made) = &mut chart.made {
        made.request = serde_json::to_value(kept).ok();
    }
}

/// A chart, and what is to be said of it.
pub(super) struct Made<'a> {
    pub(super) making: Making,
    pub(super) notes: Vec<Note>,
    pub(super) matches: Option<Vec<Matched>>,
    /// A picture of what was taken for the subject, as PNG.
    pub(super) subject: Option<Vec<u8>>,
    pub(super) cover: CoverModel,
    pub(super) symbols: &'a [(String, String)],
}

/// The rows of one page that are read back. That symbols can be told apart is seen in a trial before; here it is seen that
/// page, grid and key say what the chart says.
const PROOF_ROWS: u32 = 24;

/// Gives a chart its symbols, prints it, reads a sample back and writes everything.
pub(super) fn finish(
    mut files: Files,
    made: Made,
    picture: &Source,
    set: &SetRequest,
    progress: &dyn Progress,
) -> Result<MakeReport, Error> {
    let Made { making: Making { mut chart, figures, .. }, notes, matches, subject, cover, symbols: wished } =
        made;
    let squares = set.page.squares();
    symbols::give_symbols_for(&mut chart, squares);
    let mut warnings = std::mem::take(&mut files.warnings);
    warnings.extend(Warning::shifts(shifts(&chart, &cover, SHIFT_LIMIT)));
    if matches.is_none() {
        warnings.extend(spare(&chart));
    }
    if !wished.is_empty() {
        symbols::fix_for(&mut chart, wished, squares)?;
    }
    // Of charts that are taken cell by cell nothing was reckoned before. None has a mark yet.
    let job = Job { pixels: 0, size: chart.size(), shades: 0, colours: 0, paper: set.page.paper };
    files.may_take(Heavy::Chart(job.size), job.printing())?;
    // Symbols do not show on the pictures, which are drawn meanwhile where there is room for that.
    let early = if job.draws_early() { Some(files.worked(&chart)?) } else { None };
    let print = || -> Result<_, Error> {
        warnings.extend(settle(&mut chart, wished, (&set.page, set.moment), progress)?);
        files.belong_only_to(&chart);
        let composed = files.worked(&chart)?;
        let (laid, pdf) = set.page.pages(&composed, &files.stamps, set.moment, progress)?;
        warnings.extend(laid.warnings.iter().cloned().map(Warning::from));
        let read = || read_back(&pdf, &composed, set, progress);
        // The page is read, and the PNG packed, by a thread each: side by side they take half as long.
        let late = || early.is_none().then(|| pictures(&composed, progress)).transpose();
        let (read, late) = rayon::join(read, late);
        let (proof, not_read) = read?;
        warnings.extend(not_read);
        Ok((laid, pdf, proof, late?))
    };
    let draw = || early.as_ref().map(|composed| pictures(composed, progress)).transpose();
    let (printed, drawn) = rayon::join(print, draw);
    let (laid, pdf, proof, late) = printed?;
    let [cells, stitched] = drawn?.or(late).expect("pictures are drawn early or late");
    let threads = planning::thread_list_csv(&laid.thread_uses).into_bytes();
    if let Target::Path(path) = set.place(picture, CHART) {
        warnings.extend(apart_before(&path));
    }
    let stem = picture.result_name();
    let bytes = [chart.to_json().into_bytes(), pdf, cells, stitched, threads];
    let outputs = ENDINGS.into_iter().zip(bytes).map(|((what, ending), bytes)| Output {
        what,
        target: set.place(picture, ending),
        name: format!("{stem}.{ending}"),
        bytes,
    });
    let subject = set.subject.clone().zip(subject).map(|(target, bytes)| Output {
        what: What::Subject,
        target,
        name: format!("{stem}.subject.png"),
        bytes,
    });
    let files = files.write_into(&set.folder, outputs.chain(subject).collect())?;
    let mut report = figures_of(&chart, &laid, &cover);
    report.mean_delta_e = figures.mean_delta_e;
    report.single_percent = figures.singles_share * 100.0;
    Ok(MakeReport { proof, matches, notes, warnings, files, ..report })
}

/// What reading a page of a set back finds, or why it could not be read.
fn read_back(
    pdf: &[u8],
    composed: &Composed,
    set: &SetRequest,
    progress: &dyn Progress,
) -> Result<(Option<ProofReport>, Option<Warning>), Error> {
    if set.sample != Sample::Read || !set.page.can_be_proof_read() {
        return Ok((None, None));
    }
    let options = ProofOptions { pages: Some(1), rows: Some(PROOF_ROWS), ..ProofOptions::default() };
    match proof::proof(pdf, composed, options, &proof::Reader::Here, progress) {
        Ok(found) => Ok((Some(ProofReport::of(&found, &composed.chart, options)), None)),
        Err(ProofError::Stopped(_)) => Err(Error::Stopped),
        Err(error) => Ok((None, Some(Warning::not_read(&error)))),
    }
}

/// Tries a chart's symbols as pages will show them: those that are taken for others' are exchanged. What is to be said of
/// the rest.
pub(super) fn settle(
    chart: &mut Chart,
    wished: &[(String, String)],
    (page, moment): (&PageSettings, Moment),
    progress: &dyn Progress,
) -> Result<Vec<Warning>, Error> {
    if !page.can_be_proof_read() {
        return Ok(Vec::new());
    }
    match proof::settle(chart, &[], &page.options(moment), wished, progress) {
        Ok(settled) => Ok(Warning::confused(chart, &settled, wished).into_iter().collect()),
        Err(ProofError::Stopped(_)) => Err(Error::Stopped),
        Err(error) => Ok(vec![Warning::not_read(&error)]),
    }
}

/// What a chart and its pages come to.
fn figures_of(chart: &Chart, laid: &ChartSheet, cover: &CoverModel) -> MakeReport {
    let (size, stitches): (GridSize, u64) = (chart.size(), chart.stitches().iter().sum());
    let (finished, cut) = (chart.finished(), planning::cloth_to_cut(chart));
    MakeReport {
        columns: size.columns(),
        rows: size.rows(),
        stitches,
        bare: size.cells() as u64 - stitches,
        colours: chart.needles().len(),
        threads: ThreadCount::of(chart, &[]),
        mean_delta_e: 0.0,
        single_percent: 0.0,
        count: chart.cloth.count,
        finished: finished.into(),
        cloth_to_cut: cut.into(),
        skeins: laid.thread_uses.iter().map(ThreadUse::skeins).sum(),
        pages: PageFigures { title: chart.title.clone(), ..PageFigures::of(laid) },
        proof: None,
        verdict: verdict(chart, cover),
        matches: None,
        notes: Vec::new(),
        warnings: Vec::new(),
        files: Vec::new(),
    }
}

/// Threads with fewer stitches than this are hardly worth a skein (common practice, no source).
const FEW_STITCHES: u64 = 10;

/// That threads were asked for which hardly work a stitch, where they are more than one or two.
pub(super) fn spare(chart: &Chart) -> Option<Warning> {
    let threads = chart.needles().len();
    let spare = chart.stitches().iter().filter(|&&stitches| stitches < FEW_STITCHES).count();
    (spare > 2).then_some(Warning::SpareThreads { spare, threads, few: FEW_STITCHES })
}
