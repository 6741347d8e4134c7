//! Shade cards: looked into, compared, and charts moved from one to another.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde::Serialize;

use super::figures::{displayed, displayed_or_null, places2};
use super::files::{Files, Output};
use super::memory;
use super::print::inked;
use super::{Error, Heavy, Moment, Replace, Report, Source, Target, Warning, What, Written};
use crate::chart::Done;
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, ask};
use crate::making::photo::Limits;
use crate::making::rethread::{Moving, POOR, RethreadOptions, Sharing, Short, Substitute, Supply, rethread};
use crate::planning::{safe_field, table, thread_uses};
use crate::printing::sheet::{Paper, lists};
use crate::thread::shades::{Shade, ShadeCard};

/// A card to be looked into.
#[derive(Debug, Clone)]
pub struct ShowCardRequest {
    /// The card; else the demonstration card.
    pub card: Option<Source>,
    /// Where a sheet of swatches goes.
    pub pages: Option<Target>,
    /// Its paper.
    pub paper: Paper,
    /// What it is dated with.
    pub moment: Moment,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// A thread of a card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShadeFigures {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its colour.
    #[serde(serialize_with = "displayed")]
    pub colour: Srgb8,
    /// The same in CIELAB.
    #[serde(serialize_with = "places2")]
    pub lab: [f64; 3],
    /// What a skein costs.
    #[serde(serialize_with = "displayed_or_null")]
    pub price: Option<Decimal>,
    /// Metres of a skein, as far as the card says.
    #[serde(serialize_with = "places2")]
    pub length_m: Option<f64>,
    /// The strands that these are the metres of, as far as the card says.
    pub strands: Option<u8>,
    /// Skeins owned.
    #[serde(serialize_with = "displayed_or_null")]
    pub owned: Option<Decimal>,
    /// What it is spun of.
    pub kind: Option<String>,
}

impl ShadeFigures {
    fn of(shade: &Shade) -> Self {
        Self {
            code: shade.code.clone(),
            name: shade.name.clone(),
            colour: shade.colour,
            lab: [shade.lab.l, shade.lab.a, shade.lab.b],
            price: shade.price,
            length_m: shade.length.map(|length| length.mm() / 1000.0),
            strands: shade.strands,
            owned: shade.owned,
            kind: shade.kind.clone(),
        }
    }
}

/// A card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShowCardReport {
    /// What it is called.
    pub card: String,
    /// Its threads.
    pub shades: Vec<ShadeFigures>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for ShowCardReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// That the colours of a card are to be trusted less than measured ones.
fn not_measured(card: &ShadeCard) -> Option<Warning> {
    (!card.is_measured()).then(|| Warning::NotMeasured { card: card.name().to_owned() })
}

/// Looks into a card.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn show_card(request: &ShowCardRequest, progress: &dyn Progress) -> Result<ShowCardReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let card = match &request.card {
        Some(source) => {
            let card = files.card(source)?;
            files.warnings.extend(not_measured(&card));
            card
        }
        None => ShadeCard::demonstration(),
    };
    let mut outputs = Vec::new();
    if let Some(target) = &request.pages {
        let mut pages = lists::card_pages(&card, request.paper);
        outputs.push(Output {
            what: What::CardPages,
            target: target.clone(),
            name: format!("{}.pdf", card.name()),
            bytes: inked(&mut pages, &[], "", request.moment, progress)?,
        });
    }
    Ok(ShowCardReport {
        card: card.name().to_owned(),
        shades: card.shades().iter().map(ShadeFigures::of).collect(),
        files: files.write(outputs)?,
        warnings: files.warnings,
    })
}

/// Two cards to be held against each other.
#[derive(Debug, Clone)]
pub struct CompareCardsRequest {
    /// The card whose threads are looked up.
    pub card: Source,
    /// The card they are looked up on.
    pub other: Source,
    /// Where the pairs go as CSV.
    pub csv: Option<Target>,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// A thread and the nearest of another card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NearestFigures {
    /// Its code.
    pub code: String,
    /// Its name.
    #[serde(skip)]
    pub name: String,
    /// The code of the nearest.
    pub nearest: String,
    /// Its name.
    #[serde(skip)]
    pub nearest_name: String,
    /// How far apart they are (CIEDE2000).
    #[serde(serialize_with = "places2")]
    pub delta_e: f64,
}

impl NearestFigures {
    /// Whether it is plainly another colour.
    #[must_use]
    pub fn is_poor(&self) -> bool {
        self.delta_e > POOR
    }
}

/// Two cards held against each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CompareCardsReport {
    /// A pair for each thread of the first.
    pub pairs: Vec<NearestFigures>,
    /// How many have no near one.
    pub poor: usize,
    /// What the other card is called.
    #[serde(skip)]
    pub other: String,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for CompareCardsReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Finds for each thread of a card the nearest of another.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn compare_cards(
    request: &CompareCardsRequest,
    progress: &dyn Progress,
) -> Result<CompareCardsReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let (card, other) = (files.card(&request.card)?, files.card(&request.other)?);
    files.warnings.extend([&card, &other].into_iter().filter_map(not_measured));
    let pairs: Vec<NearestFigures> = card
        .nearest_on(&other)
        .into_iter()
        .map(|pair| {
            let (one, two) = (&card.shades()[pair.shade], &other.shades()[pair.nearest]);
            NearestFigures {
                code: one.code.clone(),
                name: one.name.clone(),
                nearest: two.code.clone(),
                nearest_name: two.name.clone(),
                delta_e: pair.delta_e,
            }
        })
        .collect();
    let mut outputs = Vec::new();
    if let Some(target) = &request.csv {
        let rows = pairs.iter().map(|pair| {
            let texts = [&pair.code, &pair.name, &pair.nearest, &pair.nearest_name];
            let [code, name, nearest, nearest_name] = texts.map(|text| safe_field(text));
            [code, name, nearest, nearest_name, format!("{:.2}", pair.delta_e)]
        });
        outputs.push(Output {
            what: What::Pairs,
            target: target.clone(),
            name: format!("{}-{}.csv", card.name(), other.name()),
            bytes: table(["code", "name", "nearest", "nearest_name", "delta_e"], rows).into_bytes(),
        });
    }
    Ok(CompareCardsReport {
        poor: pairs.iter().filter(|pair| pair.is_poor()).count(),
        pairs,
        other: other.name().to_owned(),
        files: files.write(outputs)?,
        warnings: files.warnings,
    })
}

/// Charts that are to have the threads of another card.
#[derive(Debug, Clone)]
pub struct MoveRequest {
    /// The charts.
    pub charts: Vec<Source>,
    /// The card.
    pub card: Source,
    /// Where the moved chart goes; of several the folder, in which each keeps its name.
    pub output: Target,
    /// Whether two threads of a chart may get one.
    pub sharing: Sharing,
    /// Which threads may be asked for. Where it is left open, several charts ask for no more than is owned if the card
    /// says what is, and for whatever suits otherwise.
    pub supply: Option<Supply>,
    /// How thread covers, as measured.
    pub cover: Option<Source>,
    /// How much may be taken of memory.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// A thread that took another's place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MovedThread {
    /// The place of its chart, from 0.
    pub chart: usize,
    /// The code of what it was.
    pub from: String,
    /// Its name.
    #[serde(skip)]
    pub from_name: String,
    /// The code of what it is.
    pub to: String,
    /// Its name.
    #[serde(skip)]
    pub to_name: String,
    /// How many stitches it works.
    pub stitches: u64,
    /// How far they are apart (CIEDE2000).
    #[serde(serialize_with = "places2")]
    pub delta_e: f64,
    /// How far the nearest of the card is.
    #[serde(skip)]
    pub nearest: f64,
    /// Whether it is plainly another colour.
    pub poor: bool,
    /// Whether it is metallic for plain or the other way round.
    pub other_kind: bool,
    /// The code of a thread that has the same in its place.
    pub shared_with: Option<String>,
}

impl MovedThread {
    fn of(chart: usize, change: &Substitute) -> Self {
        Self {
            chart,
            from: change.from.0.clone(),
            from_name: change.from.1.clone(),
            to: change.to.0.clone(),
            to_name: change.to.1.clone(),
            stitches: change.stitches,
            delta_e: change.delta_e,
            nearest: change.nearest,
            poor: change.is_poor(),
            other_kind: change.other_kind,
            shared_with: change.shared_with.clone(),
        }
    }

    /// Whether the card has none that is near.
    #[must_use]
    pub fn has_none_near(&self) -> bool {
        self.nearest > POOR
    }
}

/// Charts moved to another card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MoveReport {
    /// The titles of the charts.
    pub charts: Vec<String>,
    /// Thread by thread, chart after chart.
    pub changes: Vec<MovedThread>,
    /// Threads of which more is asked for than is owned.
    pub short: Vec<Short>,
    /// Where the first chart is.
    pub file: String,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for MoveReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Moves charts to another card, all of them together.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn move_to_card(request: &MoveRequest, progress: &dyn Progress) -> Result<MoveReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let names = names_of(request)?;
    let several = request.charts.len() > 1;
    let target_of = |name: &str| if several { request.output.within(name) } else { request.output.clone() };
    let (mut charts, mut sizes) = (Vec::new(), Vec::new());
    for (source, name) in request.charts.iter().zip(&names) {
        ask(progress)?;
        let in_place = target_of(name).is_same_as(&source.as_target());
        if in_place {
            files.hold(source)?;
        }
        let chart = files.chart(source)?;
        files.may_write(What::Chart, &target_of(name))?;
        let worked = files.worked(&chart)?;
        let size = worked.chart.size();
        files.may_take(Heavy::Together(sizes.len() + 1), memory::planned(size, &sizes))?;
        sizes.push(size);
        let uses = thread_uses(&worked.chart, &worked.lines, progress)?;
        let metres: BTreeMap<String, f64> =
            uses.into_iter().map(|thread| (thread.code, thread.strand_metres)).collect();
        charts.push((chart, worked.chart, metres, in_place));
    }
    let card = files.card(&request.card)?;
    files.warnings.extend(not_measured(&card));
    let cover = files.cover_or_usual(request.cover.as_ref())?;
    let says_what_is_owned = || card.shades().iter().any(|shade| shade.owned.is_some());
    let usual = if charts.len() > 1 && says_what_is_owned() { Supply::Owned } else { Supply::Any };
    let supply = request.supply.unwrap_or(usual);
    let options = RethreadOptions { sharing: request.sharing, supply, cover };
    let moving: Vec<Moving> =
        charts.iter().map(|(chart, worked, metres, _)| Moving { chart, worked, metres }).collect();
    let moved = rethread(&moving, &card, &options);
    let changes: Vec<MovedThread> = moved
        .charts
        .iter()
        .enumerate()
        .flat_map(|(place, moved)| moved.substitutes.iter().map(move |change| MovedThread::of(place, change)))
        .collect();
    let (mut outputs, mut stamps) = (Vec::new(), Vec::new());
    for (((mut chart, .., in_place), moved), name) in charts.into_iter().zip(&moved.charts).zip(names) {
        let from = chart.stamp();
        chart.change(Done::CardMoved { card: card.name().to_owned() }, |chart| {
            chart.clone_from(&moved.chart);
            Ok::<_, Error>(())
        })?;
        // In its own file, it goes on as the chart that it was.
        if !in_place {
            chart.copy_as(&name, &from);
        }
        stamps.push(chart.stamp());
        let (target, bytes) = (target_of(&name), files.chart_bytes(&mut chart)?);
        outputs.push(Output { what: What::Chart, target, name, bytes });
    }
    // What is written belongs to what was made, not to what it was made of.
    files.stamps = stamps;
    let titles = moved.charts.iter().map(|moved| moved.chart.title.clone()).collect();
    warn(&changes, &moved.short, &mut files.warnings);
    let written = if several { files.write_into(&request.output, outputs)? } else { files.write(outputs)? };
    let file = written.first().map(|file| {
        file.path.as_ref().map_or_else(|| file.name.clone(), |path| path.to_string_lossy().into_owned())
    });
    let file = file.unwrap_or_default();
    Ok(MoveReport {
        charts: titles,
        changes,
        short: moved.short,
        file,
        warnings: files.warnings,
        files: written,
    })
}

/// What the moved charts are called; no two alike.
fn names_of(request: &MoveRequest) -> Result<Vec<String>, Error> {
    let own = |source: &Source| format!("{}.chart.json", source.set());
    if let ([_], Target::Path(path)) = (request.charts.as_slice(), &request.output) {
        return Ok(vec![path.file_name().unwrap_or_default().to_string_lossy().into_owned()]);
    }
    let names: Vec<String> = request.charts.iter().map(own).collect();
    let twice = names.iter().enumerate().find(|(at, name)| names[..*at].contains(name));
    match twice {
        Some((_, name)) => Err(Error::SameName { name: name.clone() }),
        None => Ok(names),
    }
}

/// What is to be said of the changes.
fn warn(changes: &[MovedThread], short: &[Short], warnings: &mut Vec<Warning>) {
    let poor = changes.iter().filter(|change| change.poor).count();
    if poor > 0 {
        warnings.push(Warning::PoorThreads { threads: poor });
    }
    let other = changes.iter().filter(|change| change.other_kind).count();
    if other > 0 {
        warnings.push(Warning::OtherKinds { threads: other });
    }
    if !short.is_empty() {
        warnings.push(Warning::ShortOfThread { threads: short.to_vec() });
    }
}
