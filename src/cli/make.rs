//! `brede make`: from a picture to a chart, its pages and its pictures.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use brede::chart::Chart;
use brede::desk::Job;
use brede::ground::colour::{Compared, Lab, Srgb8};
use brede::ground::progress::Silent;
use brede::ground::units::{FabricCount, Millimetres, counted};
use brede::making::frame::{self, Crop, FrameOptions, Framed, Kind, Sampling, Size, StitchField, Tone};
use brede::making::make::{self, MakeError, MakeOptions, Making, Owned};
use brede::making::photo::{Limits, Photo, PhotoError};
use brede::making::reduce::{self, Colours, Confetti};
use brede::planning::shift::{SHIFT_LIMIT, Shift, shifts};
use brede::planning::{self, ThreadUse};
use brede::printing::picture;
use brede::printing::sheet::{Sheet, thousands};
use brede::printing::symbols::give_symbols;
use brede::reading::proof::{self, Proof, ProofError, ProofOptions};
use brede::thread::cloth::{Cloth, CoverModel};
use brede::thread::shades::{COLUMNS, CardWarning, ShadeCard};
use clap::{Args, ValueEnum};
use serde_json::json;

use super::bar::{Bar, Chatter};
use super::files::{kept_told, make_folder, name_of, read, rounded, save_all};
use super::old::{self, misread};
use super::print::PageArgs;
use super::{Failure, tell};

mod compare;
mod detail;
mod exact;
mod memory;

use detail::Detail;

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede make rock-pool.jpg
  brede make rock-pool.jpg --shades tin.csv --columns 140 --colours 30
  brede make rock-pool.jpg --width 30cm --count 16 --cloth '#1b2a41'
  brede make rock-pool.jpg --crop 10%,10%,50%,50% --rows 120 --confetti none
  brede make rock-pool.jpg --shades tin.csv --compare 15,25,40
  brede make old-chart.png --exact --shades tin.csv

Into a folder named after the picture go NAME.chart.json, NAME.pdf, NAME.cells.png, NAME.stitched.png and \
NAME.threads.csv.")]
pub(super) struct MakeArgs {
    /// The picture (JPEG, PNG, WebP, TIFF, GIF or BMP), or - for standard input
    photo: PathBuf,
    /// Your shade card: CSV with the columns code,name,colour; else a demonstration card
    #[arg(long, value_name = "CARD.csv")]
    shades: Option<PathBuf>,
    /// Take the picture as a chart that is one already: one pixel a cell, up to 255 colours, each matched to a
    /// thread of its own; or a CSV table of shade codes, one cell a field
    #[arg(long, conflicts_with_all = ["columns", "rows", "width", "height", "crop", "colours", "confetti", "use", "avoid", "half_cross", "blends", "prefer_owned", "bare", "detail", "tone"])]
    exact: bool,
    /// Make no chart, but show the picture in so many threads each, side by side, with what each comes to
    #[arg(long, value_name = "N,...", value_delimiter = ',', conflicts_with_all = ["exact", "colours"],
          value_parser = clap::value_parser!(u16).range(2..=200))]
    compare: Vec<u16>,
    /// What the piece is called; else the picture's name
    #[arg(long)]
    title: Option<String>,
    /// The folder to write into; else one named after the picture
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    size: SizeArgs,
    #[command(flatten)]
    colour: ColourArgs,
    #[command(flatten)]
    page: PageArgs,
    #[command(flatten)]
    limits: LimitArgs,
    /// Do not proof-read a sample of the printed pages
    #[arg(long)]
    no_proof: bool,
    /// Tell what came of it as JSON, for other programs
    #[arg(long)]
    json: bool,
    /// Say nothing but errors
    #[arg(short, long)]
    quiet: bool,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Size and cloth")]
struct SizeArgs {
    /// Stitches across, 4 to 2000
    #[arg(long, value_name = "N", conflicts_with = "width")]
    columns: Option<u32>,
    /// Stitches down, 4 to 2000
    #[arg(long, value_name = "N", conflicts_with = "height")]
    rows: Option<u32>,
    /// Finished width, such as 20cm or 8in
    #[arg(long, value_name = "LENGTH")]
    width: Option<Millimetres>,
    /// Finished height, such as 20cm or 8in
    #[arg(long, value_name = "LENGTH")]
    height: Option<Millimetres>,
    /// Stitches to the inch of the cloth; evenweave worked over two threads as 28/2
    #[arg(long, default_value = "14")]
    count: FabricCount,
    /// The colour of the cloth
    #[arg(long, value_name = "#rrggbb", default_value = "#f4ecd8")]
    cloth: Srgb8,
    /// What the picture is: a photo, made smaller softly, or a flat drawing, where a cell takes the colour that
    /// most of it has
    #[arg(long, value_enum, default_value_t = KindArg::Auto)]
    picture: KindArg,
    /// How a photo is made smaller: even takes the mean of what a stitch covers, crisp lets small things of strong
    /// contrast, such as eyes, count for more
    #[arg(long, value_enum, default_value_t = SamplingArg::Even)]
    sampling: SamplingArg,
    /// Use only this part of the picture: left, top, width, height in pixels or per cent
    #[arg(long, value_name = "X,Y,W,H")]
    crop: Option<Crop>,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Threads")]
struct ColourArgs {
    /// How many threads, 2 to 200; or auto: as many as still make a visible difference
    #[arg(long, value_name = "N|auto", default_value = "30", value_parser = colours)]
    colours: Colours,
    /// Strands in the needle
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=6))]
    strands: u8,
    /// Single stitches alone among others: keep them, leave a few that matter, or none
    #[arg(long, value_enum, default_value_t = ConfettiArg::Few)]
    confetti: ConfettiArg,
    /// Threads to work in half crosses, by code, such as a background that should recede
    #[arg(long, value_name = "CODE,...", value_delimiter = ',')]
    half_cross: Vec<String>,
    /// Lay two threads in one needle where their mix beats any single thread by so much ΔE; wants two strands
    #[arg(long, value_name = "DELTA_E", num_args = 0..=1, default_missing_value = "2", value_parser = gain)]
    blends: Option<f64>,
    /// How your thread covers, as measured: a TOML file as for brede cloth
    #[arg(long, value_name = "FILE.toml")]
    cover: Option<PathBuf>,
    /// Use threads that the card's column `owned` says you have, unless another is clearly better
    #[arg(long)]
    prefer_owned: bool,
    /// Leave cells bare where the cloth comes this near to the picture (CIEDE2000), such as 8
    #[arg(long, value_name = "DELTA_E", value_parser = gain)]
    bare: Option<f64>,
    /// A part of the picture, such as a face, where nothing is smoothed and colour counts more: left, top, width,
    /// height in pixels or per cent, or a copy of the picture painted white there and black elsewhere; may be given
    /// again
    #[arg(long, value_name = "X,Y,W,H|MASK.png")]
    detail: Vec<Detail>,
    /// Mix threads stitch by stitch where none is near enough, as long as at most so many per cent of the stitches
    /// stand alone
    #[arg(long, value_name = "PER_CENT", num_args = 0..=1, default_missing_value = "5", value_parser = gain)]
    dither: Option<f64>,
    /// Change the picture first: lightness=10 makes all of it lighter, contrast=20 makes light parts lighter and
    /// dark ones darker, saturation=-30 makes colours duller; -100 to 100, may be given again
    #[arg(long, value_name = "PART=N")]
    tone: Vec<Tone>,
    /// Threads that must be used, by code
    #[arg(long, value_name = "CODE,...", value_delimiter = ',')]
    r#use: Vec<String>,
    /// Threads that must not be used, by code
    #[arg(long, value_name = "CODE,...", value_delimiter = ',')]
    avoid: Vec<String>,
    /// Any whole number: another one may give a slightly other chart
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Limits")]
pub(super) struct LimitArgs {
    /// The most pixels a picture may have
    #[arg(long, value_name = "N", default_value_t = Limits::default().max_pixels)]
    max_pixels: u64,
    /// The most memory that reading a picture, or making a chart, may take, in MiB
    #[arg(long, value_name = "MIB", default_value_t = Limits::default().max_memory >> 20, value_parser = clap::value_parser!(u64).range(1..=1 << 40))]
    max_memory: u64,
}

impl LimitArgs {
    fn limits(&self) -> Limits {
        Limits { max_pixels: self.max_pixels, max_memory: self.max_memory << 20 }
    }

    /// Reads a picture within the limits.
    pub(super) fn open(&self, path: &Path) -> Result<Photo, Failure> {
        super::guard::was_read(path);
        Photo::open(path, &self.limits(), &Silent).map_err(photo_failure)
    }
}

fn photo_failure(error: PhotoError) -> Failure {
    let hint = super::words::advice(&error.advice());
    Failure::new(error, hint)
}

fn colours(text: &str) -> Result<Colours, String> {
    if text.trim() == "auto" {
        return Ok(Colours::Auto);
    }
    match text.trim().parse() {
        Ok(count @ 2..=200) => Ok(Colours::Exactly(count)),
        _ => Err("give a number from 2 to 200, or auto".to_owned()),
    }
}

fn gain(text: &str) -> Result<f64, String> {
    let gain: f64 = text.trim().replace(',', ".").parse().map_err(|_| "not a number".to_owned())?;
    if (0.0..=50.0).contains(&gain) { Ok(gain) } else { Err("outside 0 to 50".to_owned()) }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum KindArg {
    Auto,
    Photo,
    Drawing,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum SamplingArg {
    Even,
    Crisp,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ConfettiArg {
    Keep,
    Few,
    None,
}

impl MakeArgs {
    /// The picture's name without its ending: what the outputs are called.
    fn stem(&self) -> String {
        let stem = self.photo.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        stem.filter(|stem| stem != "-" && !stem.is_empty()).unwrap_or_else(|| "chart".to_owned())
    }

    fn wanted_size(&self) -> Size {
        let SizeArgs { columns, rows, width, height, count, .. } = &self.size;
        let columns = columns.or_else(|| width.map(|width| count.stitches_in(width)));
        let rows = rows.or_else(|| height.map(|height| count.stitches_in(height)));
        match (columns, rows) {
            (None, None) => Size::Usual,
            (Some(columns), None) => Size::Columns(columns),
            (None, Some(rows)) => Size::Rows(rows),
            (Some(columns), Some(rows)) => Size::Both { columns, rows },
        }
    }

    /// The options; masks are read.
    fn options(&self) -> Result<MakeOptions, Failure> {
        let detail = self.colour.detail.iter().map(|detail| detail.protected(&self.limits));
        let detail = detail.collect::<Result<Vec<_>, _>>()?;
        let confetti = match self.colour.confetti {
            ConfettiArg::Keep => Confetti::Keep,
            ConfettiArg::Few => Confetti::Few,
            ConfettiArg::None => Confetti::None,
        };
        Ok(MakeOptions {
            title: self.title.clone().unwrap_or_else(|| self.stem()),
            frame: FrameOptions {
                size: self.wanted_size(),
                crop: self.size.crop,
                detail,
                tone: self.tone(),
                kind: match self.size.picture {
                    KindArg::Auto => Kind::Auto,
                    KindArg::Photo => Kind::Photo,
                    KindArg::Drawing => Kind::Drawing,
                },
                sampling: match self.size.sampling {
                    SamplingArg::Even => Sampling::Even,
                    SamplingArg::Crisp => Sampling::Crisp,
                },
            },
            cloth: Cloth { count: self.size.count, colour: self.size.cloth },
            strands: self.colour.strands,
            cover: CoverModel::default(),
            half_cross: self.colour.half_cross.clone(),
            blends: self.colour.blends,
            reduce: reduce::Options {
                colours: self.colour.colours,
                bare: self
                    .colour
                    .bare
                    .map(|within| reduce::BareCloth { look: self.size.cloth.lab(), within }),
                confetti,
                seed: self.colour.seed,
                dither: self.colour.dither.map(|per_cent| per_cent / 100.0),
                ..reduce::Options::default()
            },
            owned: if self.colour.prefer_owned { Owned::Preferred } else { Owned::AsOthers },
            fixed: self.colour.r#use.clone(),
            forbidden: self.colour.avoid.clone(),
            settings: self.settings(),
        })
    }

    fn tone(&self) -> Tone {
        self.colour.tone.iter().fold(Tone::default(), |all, &tone| all.and(tone))
    }

    fn settings(&self) -> BTreeMap<String, String> {
        let mut settings = BTreeMap::new();
        let mut set = |name: &str, value: Option<String>| {
            if let Some(value) = value {
                settings.insert(name.to_owned(), value);
            }
        };
        let SizeArgs { columns, rows, width, height, count, cloth, picture, sampling, crop } = &self.size;
        set("sampling", sampling.to_possible_value().map(|value| value.get_name().to_owned()));
        set("picture", picture.to_possible_value().map(|value| value.get_name().to_owned()));
        set("columns", columns.map(|n| n.to_string()));
        set("rows", rows.map(|n| n.to_string()));
        set("width", width.map(|length| format!("{}mm", length.mm())));
        set("height", height.map(|length| format!("{}mm", length.mm())));
        set("count", Some(count.to_string()));
        set("cloth", Some(cloth.to_string()));
        set("crop", crop.as_ref().map(ToString::to_string));
        let colour = &self.colour;
        set(
            "colours",
            Some(match colour.colours {
                Colours::Exactly(count) => count.to_string(),
                Colours::Auto => "auto".to_owned(),
            }),
        );
        set("prefer-owned", colour.prefer_owned.then(|| "yes".to_owned()));
        set("dither", colour.dither.map(|per_cent| per_cent.to_string()));
        set("bare", colour.bare.map(|within| within.to_string()));
        let parts: Vec<String> = colour.detail.iter().map(ToString::to_string).collect();
        set("detail", (!parts.is_empty()).then(|| parts.join(" ")));
        set("tone", (!colour.tone.is_empty()).then(|| self.tone().to_string()));
        set("strands", Some(colour.strands.to_string()));
        set("half-cross", (!colour.half_cross.is_empty()).then(|| colour.half_cross.join(",")));
        set("blends", colour.blends.map(|gain| gain.to_string()));
        set("cover", colour.cover.as_ref().map(|path| path.display().to_string()));
        let confetti = colour.confetti.to_possible_value();
        set("confetti", confetti.map(|value| value.get_name().to_owned()));
        set("use", (!colour.r#use.is_empty()).then(|| colour.r#use.join(",")));
        set("avoid", (!colour.avoid.is_empty()).then(|| colour.avoid.join(",")));
        if self.exact {
            // Nothing is chosen or smoothed.
            settings.retain(|name, _| name != "colours" && name != "confetti");
            settings.insert("exact".to_owned(), "yes".to_owned());
        }
        settings
    }

    fn photo(&self) -> Result<Photo, Failure> {
        if self.photo != Path::new("-") {
            return self.limits.open(&self.photo);
        }
        let limits = self.limits.limits();
        Photo::from_stream("standard input", std::io::stdin().lock(), &limits, &Silent).map_err(photo_failure)
    }

    fn card(&self) -> Result<ShadeCard, Failure> {
        self.shades.as_deref().map_or_else(|| Ok(ShadeCard::demonstration()), read_card)
    }
}

/// Reads a shade card.
pub(super) fn read_card(path: &Path) -> Result<ShadeCard, Failure> {
    let bytes = read(path, "give a CSV file with the columns code,name,colour")?;
    let name = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let card = ShadeCard::read(&name, &bytes).map_err(|source| {
        let hint = super::words::advice(&source.advice());
        Failure::new(CardError { path: path.to_owned(), source }, hint)
    })?;
    for warning in card.warnings() {
        tell::warning(&card_warning(path, warning));
    }
    Ok(card)
}

/// What its owner should know of a card.
fn card_warning(path: &Path, warning: &CardWarning) -> String {
    let CardWarning::UnknownColumns { columns } = warning;
    let (noun, is) = if columns.len() == 1 { ("column", "is") } else { ("columns", "are") };
    let named: Vec<String> = columns.iter().map(|column| format!("`{column}`")).collect();
    format!(
        "the {noun} {} of {} {is} not known and left out; a card may have {}",
        named.join(", "),
        path.display(),
        COLUMNS.join(", "),
    )
}

#[derive(Debug, thiserror::Error)]
#[error("could not use the shade card {}", path.display())]
struct CardError {
    path: PathBuf,
    source: brede::thread::shades::ShadesError,
}

/// The pages that are read back: enough to see that symbols can be told apart, and a quarter of a second.
const PROOF_PAGES: usize = 2;

/// What was made, ready to be written.
struct Output {
    making: Making,
    sheet: Sheet,
    files: Vec<(&'static str, Vec<u8>)>,
    /// What reading a sample of the printed pages back found, where it was asked for.
    proof: Option<Result<Proof, ProofError>>,
}

pub(super) fn run(args: &MakeArgs) -> Result<(), Failure> {
    let bar = Bar::new(if args.quiet { Chatter::Quiet } else { Chatter::Usual });
    let (mut warnings, mut notes) = (Vec::new(), Vec::new());
    let card = args.card()?;
    if args.shades.is_none() {
        warnings.push(
            "no shade card given: the demonstration card is used, whose colours are no maker's threads; \
             give your own with --shades"
                .to_owned(),
        );
    }
    let cover = super::cloth::read_cover(args.colour.cover.as_deref())?;
    if !args.compare.is_empty() {
        return compare::run(args, &args.compare, &card, cover, &bar);
    }
    let (mut making, matches) = if args.exact {
        exact::making(args, &card, &mut warnings)?
    } else {
        (from_photo(args, cover, &card, &bar, &mut warnings, &mut notes)?, Vec::new())
    };
    give_symbols(&mut making.chart);
    warnings.extend(shift_warnings(&shifts(&making.chart, &cover, SHIFT_LIMIT)));
    if !args.exact {
        warnings.extend(spare_warning(&making.chart));
    }
    old::fix_wished_symbols(&mut making.chart, &args.page)?;
    let mut output = outputs(making, args, &bar)?;
    warnings.extend(output.sheet.warnings.iter().map(super::words::sheet));
    warnings.extend(output.proof.as_ref().and_then(proof_warning));
    let stem = args.stem();
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from(&stem));
    let paths = write(&folder, &stem, std::mem::take(&mut output.files), &mut warnings)?;
    bar.finish();
    if !args.quiet {
        for warning in &warnings {
            tell::warning(warning);
        }
    }
    if args.json {
        let mut summary = summary(&output, &paths, &warnings);
        summary["notes"] = json!(notes);
        if args.exact {
            summary["matches"] = matches.iter().map(match_json).collect();
        }
        tell::data(&format!("{summary}\n"))?;
    } else if !args.quiet {
        if args.exact {
            tell::result(&exact::told(&matches))?;
        }
        tell::result(&closing_lines(&output, &folder, &notes))?;
    }
    output.proof.as_ref().map_or(Ok(()), proof_failure)
}

#[derive(Debug, thiserror::Error)]
#[error("one strand cannot be two threads")]
struct OneStrand;

/// Needles that are told of one by one; the rest are counted.
const SHIFTS_TOLD: usize = 6;

/// Threads with fewer stitches than this are hardly worth a skein (common practice, no source).
const FEW_STITCHES: u64 = 10;

/// That threads were asked for which hardly work a stitch, where they are more than one or two.
fn spare_warning(chart: &Chart) -> Option<String> {
    let threads = chart.needles().len();
    let spare = chart.stitches().iter().filter(|&&stitches| stitches < FEW_STITCHES).count();
    (spare > 2).then(|| {
        format!(
            "{spare} of {threads} threads work fewer than {FEW_STITCHES} stitches each, and each takes a skein: \
             --colours {} or so does without them",
            (threads - spare).max(2)
        )
    })
}

/// Where the cloth shows through, needle by needle, the worst first.
pub(super) fn shift_warnings(shifts: &[Shift]) -> Vec<String> {
    let mut warnings: Vec<String> = shifts.iter().take(SHIFTS_TOLD).map(ToString::to_string).collect();
    if let Some(more) = shifts.len().checked_sub(SHIFTS_TOLD).filter(|&more| more > 0) {
        warnings.push(format!("the cloth shifts {more} more threads by over {SHIFT_LIMIT} ΔE"));
    }
    warnings
}

/// The chart of a photo in the threads that suit it.
fn from_photo(
    args: &MakeArgs,
    cover: CoverModel,
    card: &ShadeCard,
    bar: &Bar,
    warnings: &mut Vec<String>,
    notes: &mut Vec<String>,
) -> Result<Making, Failure> {
    if args.colour.blends.is_some() && args.colour.strands < 2 {
        return Err(Failure::new(OneStrand, "ask for --strands 2, or leave --blends out"));
    }
    let photo = args.photo()?;
    warnings.extend(photo.warnings().iter().map(ToString::to_string));
    let mut options = MakeOptions { cover, ..args.options()? };
    let job = memory::job(args, &photo, card, &options)?;
    args.limits.hold(job.size, job.needed())?;
    let framed = framed(&photo, &options, bar)?;
    let making = make::make(&photo, &framed, card, &options, bar).map_err(make_failure)?;
    if options.reduce.bare.take().is_some() {
        let whole = make::make(&photo, &framed, card, &options, bar).map_err(make_failure)?;
        notes.push(bare_saves(&making, &whole));
        notes.push(near_cloth(&framed.field, options.cloth.colour.linear().lab()));
    }
    if making.kind == Kind::Drawing && matches!(args.size.picture, KindArg::Auto) {
        notes
            .push("taken for a flat drawing, without blur; if it is a photo, say --picture photo".to_owned());
    }
    if let Some(enough) = making.figures.enough {
        notes.push(format!(
            "{} threads: one more would bring the chart nearer to the picture by less than {enough} ΔE",
            making.chart.needles().len()
        ));
    }
    Ok(making)
}

/// The part of the photo that is used, at one value a stitch.
fn framed(photo: &Photo, options: &MakeOptions, bar: &Bar) -> Result<Framed, Failure> {
    frame::frame(photo, &options.frame, bar).map_err(|error| make_failure(error.into()))
}

fn make_failure(error: MakeError) -> Failure {
    match error {
        MakeError::Frame(frame::FrameError::Stopped(_))
        | MakeError::Reduce(reduce::ReduceError::Stopped(_)) => Failure::Stopped,
        error => {
            let hint = error.advice().map(|advice| super::words::advice(&advice));
            Failure::Error(Box::new(error), hint)
        }
    }
}

/// What it saves to leave cloth bare, against the same chart stitched all over.
fn bare_saves(bare: &Making, whole: &Making) -> String {
    let total = |making: &Making| {
        let uses = planning::thread_uses(&making.chart, &[]);
        let metres: f64 = uses.iter().map(|thread| thread.strand_metres).sum();
        (metres, uses.iter().map(ThreadUse::skeins).sum::<u64>())
    };
    let (metres, skeins) = total(bare);
    let (all_metres, all_skeins) = total(whole);
    format!(
        "bare cloth saves {} stitches, {:.0} m of single strand and {}",
        bare.figures.bare_by_choice,
        (all_metres - metres).max(0.0),
        counted(all_skeins.saturating_sub(skeins), "skein")
    )
}

/// How many cells lie how near to the cloth, to choose a number for `--bare` by.
fn near_cloth(field: &StitchField, cloth: Lab) -> String {
    let cloth = Compared::from(cloth);
    let apart = |&[l, a, b]: &[f32; 3]| {
        let [l, a, b] = [l, a, b].map(f64::from);
        Compared::from(Lab { l, a, b }).ciede2000(&cloth)
    };
    let apart: Vec<f64> = field.cells().iter().flatten().map(apart).collect();
    let within = |limit: f64| apart.iter().filter(|&&apart| apart <= limit).count();
    let steps = [4.0, 8.0, 12.0, 16.0, 20.0, 25.0].map(|limit| format!("{limit} ΔE {}", within(limit)));
    format!("cells as near to the cloth as this, to choose --bare by: {}", steps.join(", "))
}

fn match_json(found: &brede::making::exact::Match) -> serde_json::Value {
    json!({
        "colour": found.colour.to_string(),
        "cells": found.cells,
        "code": found.code,
        "name": found.name,
        "thread": found.thread.to_string(),
        "delta_e": rounded(found.delta_e),
    })
}

/// Everything that `make` writes, in memory.
fn outputs(making: Making, args: &MakeArgs, bar: &Bar) -> Result<Output, Failure> {
    let chart = &making.chart;
    let (size, paper) = (chart.size(), args.page.paper());
    // Of charts that are taken cell by cell nothing was reckoned before.
    args.limits.hold(size, Job { pixels: 0, size, shades: 0, colours: 0, paper }.printing())?;
    let composed = old::compose(chart)?;
    let (sheet, pdf) = old::pages(&composed, &args.page, bar)?;
    let options = ProofOptions { pages: Some(PROOF_PAGES), ..ProofOptions::default() };
    let proof = (!args.no_proof && args.page.can_be_proof_read())
        .then(|| proof::proof(&pdf, &composed, options, bar));
    if let Some(Err(ProofError::Stopped(_))) = proof {
        return Err(Failure::Stopped);
    }
    let cells = picture::png(&picture::cells(&composed.chart))?;
    let stitched = picture::png(&picture::stitched(&composed.chart, &composed.lines, bar)?)?;
    let files = vec![
        ("chart.json", chart.to_json().into_bytes()),
        ("pdf", pdf),
        ("cells.png", cells),
        ("stitched.png", stitched),
        ("threads.csv", planning::thread_list_csv(&sheet.thread_uses).into_bytes()),
    ];
    Ok(Output { making, sheet, files, proof })
}

/// Writes the files, all or none, and says where an earlier chart in their place is kept.
fn write(
    folder: &Path,
    stem: &str,
    files: Vec<(&'static str, Vec<u8>)>,
    warnings: &mut Vec<String>,
) -> Result<Vec<PathBuf>, Failure> {
    make_folder(folder)?;
    let named = |(ending, bytes)| (folder.join(format!("{stem}.{ending}")), bytes);
    let files: Vec<(PathBuf, Vec<u8>)> = files.into_iter().map(named).collect();
    for kept in save_all(&files)? {
        warnings.push(kept_told(&kept));
    }
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

/// The summary for other programs.
fn summary(output: &Output, paths: &[PathBuf], warnings: &[String]) -> serde_json::Value {
    let chart = &output.making.chart;
    let (width, height) = chart.finished();
    let (cut_width, cut_height) = planning::cloth_to_cut(chart);
    let (worked, bare) = worked_and_bare(chart);
    let figures = old::page_figures(&output.sheet);
    json!({
        "title": chart.title,
        "columns": chart.size().columns(),
        "rows": chart.size().rows(),
        "stitches": worked,
        "bare": bare,
        "colours": chart.needles().len(),
        "mean_delta_e": rounded(output.making.figures.mean_delta_e),
        "single_percent": rounded(output.making.figures.singles_share * 100.0),
        "finished_mm": [rounded(width.mm()), rounded(height.mm())],
        "cloth_to_cut_mm": [rounded(cut_width.mm()), rounded(cut_height.mm())],
        "skeins": output.sheet.thread_uses.iter().map(ThreadUse::skeins).sum::<u64>(),
        "pages": figures["pages"],
        "chart_pages": figures["chart_pages"],
        "ink_percent": figures["ink_percent"],
        "alike": figures["alike"],
        "files": paths.iter().map(|path| name_of(path)).collect::<Vec<_>>(),
        "warnings": warnings,
        "proof_read": output.proof.as_ref().and_then(|proof| proof.as_ref().ok()).map(|proof| {
            json!({"cells": proof.own.cells, "right": proof.own.right})
        }),
    })
}

fn worked_and_bare(chart: &Chart) -> (u64, u64) {
    let worked: u64 = chart.stitches().iter().sum();
    (worked, chart.size().cells() as u64 - worked)
}

/// That the printed pages could not be read back.
fn proof_warning(proof: &Result<Proof, ProofError>) -> Option<String> {
    let error = proof.as_ref().err()?;
    Some(format!(
        "the printed pages cannot be proof-read: {error}; {}",
        error.advice().map(|advice| super::words::advice(&advice)).unwrap_or_default()
    ))
}

/// That cells were misread; all files are written by then.
fn proof_failure(proof: &Result<Proof, ProofError>) -> Result<(), Failure> {
    match proof {
        Ok(proof) if !proof.is_right() => Err(misread(proof)),
        _ => Ok(()),
    }
}

/// What was read back, and on how many of the chart pages.
fn proof_told(proof: &Proof) -> String {
    let (right, cells) = (thousands(proof.own.right), thousands(proof.own.cells));
    let pages = if proof.pages == proof.of_pages {
        String::new()
    } else {
        format!(" on {} of {} chart pages", proof.pages, proof.of_pages)
    };
    format!("proof-read: {right} of {cells} cells{pages}\n")
}

/// What a person reads when the chart is made.
fn closing_lines(output: &Output, folder: &Path, notes: &[String]) -> String {
    let chart = &output.making.chart;
    let (width, height) = chart.finished();
    let (cut_width, cut_height) = planning::cloth_to_cut(chart);
    let (worked, bare) = worked_and_bare(chart);
    let bare = if bare == 0 { String::new() } else { format!(", {bare} cells bare") };
    let figures = &output.making.figures;
    format!(
        "{title}: {size} cells, {worked} stitches{bare}, {threads}, {skeins} skeins to have ready\n\
         finished {width:.1} x {height:.1} cm on {count} count; cut the cloth {cut_width:.1} x {cut_height:.1} cm\n\
         mean difference from the picture {delta:.2} (CIEDE2000); single stitches {singles:.1} %\n\
         {notes}{pages}; all in {folder}\n\
         {proof}\
         \n\
         Before you start: a picture or a chart may be someone's copyright; local law and its maker's terms\n\
         decide. Buy each shade in one dye lot, and test for running dye before washing. Good light, short\n\
         breaks, and needles and scissors away from children.\n",
        notes = notes.iter().map(|note| format!("{note}\n")).collect::<String>(),
        proof = output.proof.iter().flatten().map(proof_told).collect::<String>(),
        title = chart.title,
        size = chart.size(),
        threads = planning::threads_told(chart, &[]),
        skeins = output.sheet.thread_uses.iter().map(ThreadUse::skeins).sum::<u64>(),
        width = width.cm(),
        height = height.cm(),
        count = chart.cloth.count,
        cut_width = cut_width.cm(),
        cut_height = cut_height.cm(),
        delta = figures.mean_delta_e,
        singles = figures.singles_share * 100.0,
        pages = old::page_line(&output.sheet),
        folder = folder.display(),
    )
}
