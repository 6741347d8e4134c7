//! The same picture made in other ways, side by side: in more and fewer threads, other strands, for an eye nearer and further
//! off, with and without a subject, with more and less bare cloth.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use serde::Serialize;

use super::figures::places3;
use super::files::{Files, Output};
use super::make::{Begun, Given, MakeSettings, seen_from};
use super::print::PageSettings;
use super::{Error, Heavy, Replace, Report, Source, Target, Warning, What, Written};
use crate::ground::progress::Progress;
use crate::ground::units::{Millimetres, counted};
use crate::making::make;
use crate::making::photo::Limits;
use crate::making::reduce::Colours;
use crate::making::subject::Seek;
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
    /// Pictures that are white where cloth is left bare besides.
    pub bare_masks: Vec<Source>,
    /// Measures of how thread covers.
    pub cover: Option<Source>,
    /// How each chart is made, but for what is compared.
    pub settings: MakeSettings,
    /// What is compared.
    pub choices: Choices,
    /// The folder that the sheet goes into.
    pub folder: Target,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// One way to make a chart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "of", content = "is", rename_all = "kebab-case")]
pub enum Choice {
    /// So many threads.
    Colours(u16),
    /// So many strands.
    Strands(u8),
    /// For an eye so far away.
    SeenFrom(Millimetres),
    /// With or without a subject.
    Detail(Seek),
    /// Bare where the cloth comes so near, in ΔE00, or worked all over.
    Bare(Option<f64>),
}

impl fmt::Display for Choice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Colours(count) => write!(f, "{count} asked"),
            Self::Strands(1) => f.write_str("1 strand"),
            Self::Strands(count) => write!(f, "{count} strands"),
            Self::SeenFrom(from) => write!(f, "from {} m", from.mm() / 1000.0),
            Self::Detail(Seek::Subject) => f.write_str("detail auto"),
            Self::Detail(Seek::Nothing) => f.write_str("detail none"),
            Self::Bare(Some(within)) => write!(f, "bare {within}"),
            Self::Bare(None) => f.write_str("nothing bare"),
        }
    }
}

/// Ways to make a chart that are compared, of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Choices(Vec<Choice>);

/// A text that names no choices.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "give numbers of threads from 2 to 200, such as 15,25,40; or strands=1,2 of 1 to 6, seen-from=1.5m,4m \
     of 30cm to 20m, detail=auto,none, or bare=none,8,16 of 0 to 50"
)]
pub struct ChoicesError;

impl FromStr for Choices {
    type Err = ChoicesError;
    fn from_str(text: &str) -> Result<Self, ChoicesError> {
        let (of, values) = text.split_once('=').unwrap_or(("", text));
        let choice = |value: &str| -> Option<Choice> {
            let value = value.trim();
            let bare = |value: &str| value.parse().ok().filter(|within| (0.0..=50.0).contains(within));
            match (of.trim(), value) {
                ("", _) => value.parse().ok().filter(|count| (2..=200).contains(count)).map(Choice::Colours),
                ("strands", _) => {
                    value.parse().ok().filter(|count| (1..=6).contains(count)).map(Choice::Strands)
                }
                ("seen-from", _) => seen_from(value).ok().map(Choice::SeenFrom),
                ("detail", "auto") => Some(Choice::Detail(Seek::Subject)),
                ("detail", "none") => Some(Choice::Detail(Seek::Nothing)),
                ("bare", "none") => Some(Choice::Bare(None)),
                ("bare", _) => bare(value).map(|within| Choice::Bare(Some(within))),
                _ => None,
            }
        };
        values.split(',').map(choice).collect::<Option<_>>().map(Self).ok_or(ChoicesError)
    }
}

/// What one way comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tried {
    /// Which way.
    pub choice: Choice,
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
    /// Each way, in the order in which they were asked for.
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

/// Tries each way and shows the finished pieces side by side.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn compare(request: &CompareRequest, progress: &dyn Progress) -> Result<CompareReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let name = format!("{}.compare.png", request.photo.result_name());
    files.may_write(What::Compared, &request.folder.within(&name))?;
    let mut settings = request.settings.clone();
    let counts = request.choices.0.iter().filter_map(|choice| match choice {
        Choice::Colours(count) => Some(*count),
        _ => None,
    });
    if let Some(most) = counts.max() {
        settings.colours = Colours::Exactly(most);
    }
    if settings.blends.is_some() && request.choices.0.contains(&Choice::Strands(1)) {
        return Err(Error::OneStrand);
    }
    let given = Given {
        photo: &request.photo,
        card: files.card_or_demonstration(request.card.as_ref())?,
        masks: &request.masks,
        bare_masks: &request.bare_masks,
        cover: request.cover.as_ref(),
        settings: &settings,
        expected: None,
    };
    let mut begun = Begun::read(&mut files, given, progress)?;
    let job = begun.job(&PageSettings::default())?;
    files.may_take(Heavy::Chart(job.size), job.choosing())?;
    let mut framed = begun.framed(progress)?;
    let (mut compared, mut pictures, mut captions) = (Vec::new(), Vec::new(), Vec::new());
    for &choice in &request.choices.0 {
        match choice {
            Choice::Colours(count) => begun.options.reduce.colours = Colours::Exactly(count),
            Choice::Strands(strands) => begun.options.strands = strands,
            Choice::SeenFrom(from) => begun.options.seen_from = from,
            Choice::Detail(seek) => begun.settings.seek = seek,
            Choice::Bare(within) => begun.settings.bare = within,
        }
        if matches!(choice, Choice::Detail(_) | Choice::Bare(_)) {
            framed = begun.framed(progress)?;
        }
        let making = make::make(&begun.photo, &framed, &begun.card, &begun.options, progress)?;
        let picture = picture::preview(&making.chart, &[], progress)?;
        let longest = picture.width().max(picture.height());
        let side = |length: u32| (length * SIDE / longest).max(1);
        pictures.push(image::imageops::thumbnail(&picture, side(picture.width()), side(picture.height())));
        let uses = planning::thread_uses(&making.chart, &[], progress)?;
        let tried = Tried {
            choice,
            colours: making.chart.needles().len(),
            mean_delta_e: making.figures.mean_delta_e,
            p95_delta_e: making.figures.p95_delta_e,
            single_percent: making.figures.singles_share * 100.0,
            skeins: uses.iter().map(ThreadUse::skeins).sum(),
            cost: cost(&uses, &begun.card),
        };
        captions.push([
            match choice {
                Choice::Colours(_) => String::new(),
                _ => format!("{choice}: "),
            } + &format!("{}, {}", counted(tried.colours as u64, "thread"), counted(tried.skeins, "skein")),
            // What an eye that is far away sees of it is nearer.
            format!(
                "{} {:.2}, singles {:.1} %",
                if matches!(choice, Choice::SeenFrom(_)) { "stitch by stitch" } else { "difference" },
                tried.mean_delta_e,
                tried.single_percent
            ),
        ]);
        compared.push(tried);
    }
    let sheet = side_by_side("The same picture made in other ways", &pictures, &captions);
    let bytes = picture::png(sheet, progress)?;
    let output = Output { what: What::Compared, target: request.folder.within(&name), name, bytes };
    let written = files.write_into(&request.folder, vec![output])?;
    files.warnings.append(&mut begun.warnings);
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
