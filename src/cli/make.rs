//! `brede make`: from a picture to a chart, its pages and its pictures.

use std::path::{Path, PathBuf};

use brede::desk::{
    self, AgainRequest, AtHand, BareAt, Choice, Choices, Cloth, Colours, CompareReport, CompareRequest,
    Confetti, Crop, Detail, Kind, Limits, MakeReport, MakeRequest, MakeSettings, Matched, Owned, Piece,
    ProofReport, Sample, Sampling, SetRequest, SizeWish, Source, TakeRequest, TakeSettings, Tone, Tried,
    USUAL_MARGIN, USUAL_MIXES, thousands,
};
use brede::ground::colour::Srgb8;
use brede::ground::plain::table;
use brede::ground::units::{FabricCount, Millimetres, counted};
use clap::Args;

use super::bar::Bar;
use super::doing;
use super::moment::moment;
use super::over::OverArgs;
use super::print::{PageArgs, page_line};
use super::tell::TellArgs;
use super::values::{cloth_colour, number, one_of};
use super::{Failure, words};

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/make.txt"))]
pub(super) struct MakeArgs {
    /// The picture (JPEG, PNG, WebP, TIFF, GIF or BMP), or - for standard input
    photo: PathBuf,
    /// Your shade card: CSV with the columns code,name,colour; else a demonstration card
    #[arg(long, value_name = "CARD.csv")]
    shades: Option<PathBuf>,
    /// Take the picture as a chart that is one already: one pixel a square, or squares of many as a screen shows them, up to
    /// 255 colours, each matched to a thread of its own; or a CSV table of shade codes, one square a field
    #[arg(long, conflicts_with_all = ["columns", "rows", "width", "height", "crop", "colours", "seen_from", "confetti", "use", "avoid", "half_cross", "blends", "mixes", "prefer_owned", "bare", "detail", "tone"])]
    exact: bool,
    /// Make this chart again from the very picture it was made of, by the card and the settings that it remembers
    #[arg(long = "as", value_name = "CHART.chart.json", conflicts_with_all = ["shades", "exact", "compare", "title", "columns", "rows", "width", "height", "count", "cloth", "picture", "sampling", "crop", "colours", "strands", "seen_from", "confetti", "half_cross", "blends", "mixes", "cover", "prefer_owned", "bare", "bare_at", "detail", "dither", "tone", "use", "avoid", "seed", "symbol"])]
    again: Option<PathBuf>,
    /// Make no chart, but show the picture made in several ways, side by side, with what each comes to: in so many threads,
    /// or strands=1,2, seen-from=1.5m,4m, detail=auto,none, or bare=none,8,16
    #[arg(long, value_name = "N,...|WHAT=N,...", conflicts_with = "exact")]
    compare: Option<Choices>,
    /// What the piece is called; else the picture's name
    #[arg(long)]
    title: Option<String>,
    /// The folder to write into; else one named after the picture
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Draw what was taken for the subject on the part of the picture that is used, with rulers in the photo's pixels
    #[arg(long, value_name = "PNG", conflicts_with_all = ["exact", "compare"])]
    show_detail: Option<PathBuf>,
    #[command(flatten)]
    size: SizeArgs,
    #[command(flatten)]
    colour: ColourArgs,
    #[command(flatten)]
    page: PageArgs,
    #[command(flatten)]
    over: OverArgs,
    #[command(flatten)]
    limits: LimitArgs,
    /// Do not check a strip of the printed pages
    #[arg(long)]
    no_proof: bool,
    #[command(flatten)]
    tell: TellArgs,
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
    /// Stitches to the inch of the cloth; evenweave worked over two threads as 28/2 [default: 14]
    #[arg(long)]
    count: Option<FabricCount>,
    /// The piece of cloth in your drawer, such as 40x30cm: the piece becomes as large as it holds, on the finest count that
    /// is easy for the eyes; --count and a size decide where given
    #[arg(long, value_name = "SIZE", conflicts_with_all = ["exact", "again", "compare"])]
    on: Option<Piece>,
    /// With --on: the frame in which the design is to lie, measured inside, such as 20cm
    #[arg(long, value_name = "SIZE", requires = "on")]
    frame: Option<Piece>,
    /// With --on: cloth to leave on each side
    #[arg(long, value_name = "LENGTH", default_value = USUAL_MARGIN, requires = "on")]
    margin: Millimetres,
    /// The colour of the cloth: #rrggbb, or a name that CSS has, such as navy
    #[arg(long, value_name = "COLOUR", default_value = "#f4ecd8", value_parser = cloth_colour)]
    cloth: Srgb8,
    /// What the picture is: a photo, made smaller softly, or a flat drawing, where a square takes the colour that
    /// most of it has
    #[arg(long, default_value = "auto", value_parser = one_of::<Kind>(&["auto", "photo", "drawing"]))]
    picture: Kind,
    /// How a photo is made smaller: even takes the mean of what a stitch covers, crisp lets small things of strong
    /// contrast, such as eyes, count for more
    #[arg(long, default_value = "even", value_parser = one_of::<Sampling>(&["even", "crisp"]))]
    sampling: Sampling,
    /// Use only this part of the picture: left, top, width, height in pixels or per cent
    #[arg(long, value_name = "X,Y,W,H")]
    crop: Option<Crop>,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Threads")]
struct ColourArgs {
    /// How many threads, 2 to 200; or auto: as many as still make a visible difference
    #[arg(long, value_name = "N|auto", default_value = "30")]
    colours: Colours,
    /// Strands in the needle
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=6))]
    strands: u8,
    /// How far away the eye is that the chart is made for, 30cm to 20m; from some metres off stitches mix, and threads
    /// are mixed for it
    #[arg(long, value_name = "LENGTH", default_value = "1.5m", value_parser = desk::seen_from)]
    seen_from: Millimetres,
    /// Single stitches (confetti), each alone among other colours, with a start and an end of its own: keep them, leave a
    /// few that matter, or none
    #[arg(long, default_value = "few", value_parser = one_of::<Confetti>(&["keep", "few", "none"]))]
    confetti: Confetti,
    /// Threads to work in half crosses, by code, such as a background that should recede
    #[arg(long, value_name = "CODE,...", value_delimiter = ',')]
    half_cross: Vec<String>,
    /// Lay two of the threads in one needle where their mix is so much ΔE off each thread alone; wants two strands.
    /// --colours then counts the threads to buy, and mixes come on top
    #[arg(long, value_name = "DELTA_E", num_args = 0..=1, default_missing_value = "2", value_parser = number(0.0..=50.0))]
    blends: Option<f64>,
    /// How many mixes at the most, with --blends
    #[arg(long, value_name = "N", default_value_t = USUAL_MIXES, value_parser = clap::value_parser!(u16).range(1..=180))]
    mixes: u16,
    /// How your thread covers, as measured: a TOML file as for brede cloth
    #[arg(long, value_name = "FILE.toml")]
    cover: Option<PathBuf>,
    /// Use threads that the card's column `owned` says you have, unless another is clearly better
    #[arg(long)]
    prefer_owned: bool,
    /// Leave large regions at the picture's edge bare where the cloth comes this near to the picture (CIEDE2000), such as
    /// 8; never in the subject
    #[arg(long, value_name = "DELTA_E", value_parser = number(0.0..=50.0))]
    bare: Option<f64>,
    /// Leave the region round this place bare too, however small, the subject included: across, down in pixels or per
    /// cent of the whole picture; or a copy of it painted white there and black elsewhere; may be given again
    #[arg(long, value_name = "X,Y|PAINTED.png", requires = "bare")]
    bare_at: Vec<BareAt>,
    /// Where colour counts more: auto finds faces, else what is sharp and stands out; none is nowhere; or a part of the
    /// picture, where nothing is smoothed either: left, top, width, height in pixels or per cent, or a copy of the
    /// picture painted white there and black elsewhere; may be given again [default: auto]
    #[arg(long, value_name = "auto|none|X,Y,W,H|PAINTED.png")]
    detail: Vec<Detail>,
    /// Mix threads stitch by stitch where none is near enough, as long as at most so many per cent of the stitches
    /// stand alone
    #[arg(long = "mix-stitches", alias = "dither", value_name = "PER_CENT", num_args = 0..=1, default_missing_value = "5", value_parser = number(0.0..=50.0))]
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
    /// Any whole number: another one tries again from another beginning, and may give a slightly other chart
    #[arg(long = "try", alias = "seed", value_name = "N", default_value_t = 1)]
    seed: u64,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Limits")]
pub(super) struct LimitArgs {
    /// The most pixels a picture may have
    #[arg(long, value_name = "N", default_value_t = Limits::default().max_pixels)]
    max_pixels: u64,
}

impl LimitArgs {
    pub(super) fn limits(&self, over: OverArgs) -> Limits {
        Limits { max_pixels: self.max_pixels, ..over.limits() }
    }
}

impl MakeArgs {
    fn photo(&self) -> Source {
        if self.photo == Path::new("-") { Source::Input } else { self.photo.clone().into() }
    }

    /// The folder to write into.
    fn folder(&self) -> PathBuf {
        self.out.clone().unwrap_or_else(|| self.photo().result_name().into())
    }

    fn cloth(&self) -> Cloth {
        Cloth { count: self.size.count.unwrap_or_default(), colour: self.size.cloth }
    }

    fn at_hand(&self) -> Option<AtHand> {
        let SizeArgs { on, frame, margin, count, .. } = self.size;
        on.map(|cloth| AtHand { cloth, frame, margin, count })
    }

    fn masks(&self) -> Vec<Source> {
        self.colour.detail.iter().filter_map(|detail| detail.mask().cloned()).map(Into::into).collect()
    }

    fn bare_masks(&self) -> Vec<Source> {
        self.colour.bare_at.iter().filter_map(|at| at.mask().cloned()).map(Into::into).collect()
    }

    fn settings(&self) -> MakeSettings {
        let (size, colour) = (&self.size, &self.colour);
        MakeSettings {
            title: self.title.clone(),
            size: SizeWish { columns: size.columns, rows: size.rows, width: size.width, height: size.height },
            crop: size.crop,
            kind: size.picture,
            sampling: size.sampling,
            tone: colour.tone.iter().fold(Tone::default(), |all, &tone| all.and(tone)),
            cloth: self.cloth(),
            strands: colour.strands,
            colours: colour.colours,
            confetti: colour.confetti,
            half_cross: colour.half_cross.clone(),
            blends: colour.blends,
            mixes: colour.mixes,
            owned: if colour.prefer_owned { Owned::Preferred } else { Owned::AsOthers },
            bare: colour.bare,
            bare_at: colour.bare_at.iter().filter_map(BareAt::spot).collect(),
            dither: colour.dither,
            seen_from: colour.seen_from,
            seek: Detail::seek(&colour.detail),
            detail: colour.detail.iter().filter_map(Detail::part).collect(),
            fixed: colour.r#use.clone(),
            forbidden: colour.avoid.clone(),
            seed: colour.seed,
            symbols: self.page.symbol.clone(),
            ..MakeSettings::default()
        }
    }

    fn set(&self) -> Result<SetRequest, Failure> {
        Ok(SetRequest {
            folder: self.folder().into(),
            subject: self.show_detail.clone().map(Into::into),
            page: self.page.settings(),
            sample: if self.no_proof { Sample::Unread } else { Sample::Read },
            limits: self.limits.limits(self.over),
            moment: moment()?,
            replace: self.over.replace(),
        })
    }
}

pub(super) fn run(args: &MakeArgs) -> Result<(), Failure> {
    let (photo, set) = (args.photo(), args.set()?);
    let (card, cover) = (args.shades.clone().map(Into::into), args.colour.cover.clone().map(Into::into));
    if let Some(choices) = &args.compare {
        let request = CompareRequest {
            photo,
            card,
            masks: args.masks(),
            bare_masks: args.bare_masks(),
            cover,
            settings: args.settings(),
            choices: choices.clone(),
            folder: set.folder,
            limits: set.limits,
            replace: set.replace,
        };
        return doing::told(args.tell, |bar| desk::compare(&request, bar), compared).map(drop);
    }
    let operation = |bar: &Bar| {
        if let Some(chart) = &args.again {
            return desk::make_again(&AgainRequest { photo, chart: chart.clone().into(), set }, bar);
        }
        if !args.exact {
            let (masks, bare_masks, settings) = (args.masks(), args.bare_masks(), args.settings());
            let at_hand = args.at_hand();
            return desk::make(
                &MakeRequest { photo, card, masks, bare_masks, cover, settings, at_hand, set },
                bar,
            );
        }
        let settings = TakeSettings {
            title: args.title.clone(),
            cloth: args.cloth(),
            strands: args.colour.strands,
            symbols: args.page.symbol.clone(),
            ..TakeSettings::default()
        };
        desk::take(&TakeRequest { picture: photo, card, cover, settings, set }, bar)
    };
    let words = |report: &MakeReport| {
        let matches = report.matches.as_deref().map(matched).unwrap_or_default();
        matches + &closing_lines(report, &args.folder())
    };
    let report = doing::told(args.tell, operation, words)?;
    Ok(report.proof.as_ref().map_or(Ok(()), ProofReport::right)?)
}

/// How each colour was matched, the worst first: where nothing is far off, one line says so.
fn matched(matches: &[Matched]) -> String {
    let mut text =
        String::from("colour  squares  thread                             match (ΔE, CIEDE2000)\n");
    let mut order: Vec<&Matched> = matches.iter().collect();
    order.sort_by(|one, two| two.delta_e.total_cmp(&one.delta_e));
    for found in order {
        let thread = format!("{} {}", found.code, found.name);
        let near = words::near(found.delta_e);
        text += &format!("{} {:>7}  {thread:<34} {near} {:.2}\n", found.colour, found.cells, found.delta_e);
    }
    text
}

/// What each way comes to.
fn compared(report: &CompareReport) -> String {
    let row = |tried: &Tried| {
        vec![
            tried.choice.to_string(),
            tried.colours.to_string(),
            format!("{:.2}", tried.mean_delta_e),
            format!("{:.1}", tried.p95_delta_e),
            format!("{:.1}", tried.single_percent),
            tried.skeins.to_string(),
            tried.cost.map_or_else(|| "-".to_owned(), |cost| cost.to_string()),
        ]
    };
    let headings = "choice|>threads|>difference|>95 % under|>singles %|>skeins|>cost";
    let place = report.files.iter().filter_map(|file| file.path.as_deref());
    let place = place.map(|path| path.display().to_string()).collect::<Vec<_>>().join(", ");
    let mixes = match report.compared.first().map(|tried| tried.choice) {
        Some(Choice::SeenFrom(_)) => {
            ", stitch by stitch: from afar stitches mix, and what is further off so can look nearer"
        }
        _ => "",
    };
    format!(
        "{}Differences are CIEDE2000 from the picture{mixes}; the pictures are in {place}\n",
        table(headings, &report.compared.iter().map(row).collect::<Vec<_>>())
    )
}

/// Whether thread covers, and the command that mends it where it does not.
fn verdict(report: &MakeReport) -> String {
    let command = words::verdict::command(&report.verdict);
    let mend = command.map_or_else(String::new, |command| format!("; this mends it:\n  {command}"));
    format!("{}{mend}\n", words::verdict::whole(&report.verdict))
}

/// What was read back.
fn proof_told(proof: &ProofReport) -> String {
    let (right, cells) = (thousands(proof.right), thousands(proof.cells));
    format!(
        "pages checked: symbols beside their likes, and {right} of {cells} squares in a strip of a page\n"
    )
}

/// What a person reads when the chart is made.
fn closing_lines(report: &MakeReport, folder: &Path) -> String {
    let bare = match report.bare {
        0 => String::new(),
        bare => format!(", {} left unstitched", counted(bare, "square")),
    };
    let [width, height] = report.finished;
    let [cut_width, cut_height] = report.cloth_to_cut;
    format!(
        "{title}: {size} squares, {worked}{bare}, {threads}, {skeins} to have ready\n\
         finished {width:.1} x {height:.1} cm on {count} count; cut the cloth {cut_width:.1} x {cut_height:.1} cm\n\
         difference from the picture: {near}, {delta:.2} ΔE (CIEDE2000) in the mean; single stitches {singles:.1} %\n\
         {verdict}{notes}{pages}; all in {folder}\n\
         {proof}\
         \n\
         Before you start: a picture or a chart may be someone's copyright; local law and its maker's terms\n\
         decide. Buy each shade in one dye lot, and test for running dye before washing. Good light, short\n\
         breaks, and needles and scissors away from children.\n",
        verdict = verdict(report),
        notes = report.notes.iter().map(|note| words::note(note) + "\n").collect::<String>(),
        proof = report.proof.iter().map(proof_told).collect::<String>(),
        title = report.pages.title,
        size = report.size(),
        worked = counted(report.stitches, "stitch"),
        threads = report.threads,
        skeins = counted(report.skeins, "skein"),
        width = width.cm(),
        height = height.cm(),
        count = report.count,
        cut_width = cut_width.cm_up(),
        cut_height = cut_height.cm_up(),
        near = words::near(report.mean_delta_e),
        delta = report.mean_delta_e,
        singles = report.single_percent,
        pages = page_line(&report.pages),
        folder = folder.display(),
    )
}
