//! `brede shades`: look into a card, compare two, move a chart to another card, make one from a photo.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use brede::chart::Done;
use brede::ground::progress::Silent;
use brede::ground::store::Before;
use brede::ground::units::counted;
use brede::making::rethread::{Moving, POOR, RethreadOptions, Substitute, rethread};
use brede::planning;
use brede::printing::ink::{self, InkError, PdfOptions};
use brede::printing::picture;
use brede::printing::sheet::{Paper, Sheet, lists};
use brede::thread::shades::swatches::{Layout, Part, SwatchError, SwatchWarning, Swatches, swatches};
use brede::thread::shades::{Nearest, ShadeCard};
use clap::{Args, Subcommand};
use serde_json::json;

use super::cloth::read_cover;
use super::files::{name_of, read_text, save, save_chart};
use super::make::{LimitArgs, read_card};
use super::old::{compose, read_chart};
use super::print::moment;
use super::table::{Flush, table};
use super::{Failure, tell};

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede shades show tin.csv -o tin.pdf
  brede shades compare tin.csv shop.csv
  brede shades move pool.chart.json shop.csv -o pool-shop.chart.json
  brede shades from-photo tin.jpg --columns 8 --rows 5 --paper 40,30,600,200 --codes codes.txt -o tin.csv")]
pub(super) struct ShadesArgs {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// List the threads of a card, and print it as a sheet of swatches
    Show(ShowArgs),
    /// For each thread of one card the nearest of another
    Compare(CompareArgs),
    /// Give a chart the threads of another card
    Move(MoveArgs),
    /// Make a card from a photo of threads laid out in a grid beside a sheet of white paper
    FromPhoto(FromPhotoArgs),
}

#[derive(Debug, Args)]
struct ShowArgs {
    /// The shade card; else the demonstration card
    card: Option<PathBuf>,
    /// Write a sheet of swatches to print
    #[arg(short, long, value_name = "FILE.pdf")]
    output: Option<PathBuf>,
    /// The paper: a4, a3, letter, or a size such as 20x30cm
    #[arg(long, default_value = "a4")]
    paper: Paper,
    /// Write the card as JSON to standard output
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct CompareArgs {
    /// The card whose threads are looked up
    card: PathBuf,
    /// The card they are looked up on
    other: PathBuf,
    /// Write the pairs as CSV
    #[arg(long, value_name = "FILE.csv")]
    csv: Option<PathBuf>,
    /// Write the pairs as JSON to standard output
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct MoveArgs {
    /// The chart: a NAME.chart.json that `brede make` wrote
    chart: PathBuf,
    /// The card to move it to
    card: PathBuf,
    /// Where the moved chart goes
    #[arg(short, long, value_name = "CHART.chart.json")]
    output: PathBuf,
    /// How your thread covers: a TOML file as for brede cloth
    #[arg(long, value_name = "FILE.toml")]
    cover: Option<PathBuf>,
    /// Write the changes as JSON to standard output
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Lay one thread in each place of a grid, white office paper beside them, all flat in even daylight without a flash.
The file for --codes has a line a thread, row by row: the code, and if you like a comma and the name.
A photo is no spectrophotometer: look at the check picture, and trust the thread in daylight.")]
struct FromPhotoArgs {
    /// The photo
    photo: PathBuf,
    /// Places across
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
    columns: u32,
    /// Places down
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
    rows: u32,
    /// Where the white paper lies: left, top, width, height in pixels of the upright photo
    #[arg(long, value_name = "X,Y,W,H", value_parser = part)]
    paper: Part,
    /// Where the grid of threads lies; else the whole photo
    #[arg(long, value_name = "X,Y,W,H", value_parser = part)]
    grid: Option<Part>,
    /// Codes and names, a line a thread; else P1, P2, ... by rows
    #[arg(long, value_name = "FILE")]
    codes: Option<PathBuf>,
    /// Write the card here; else to standard output
    #[arg(short, long, value_name = "CARD.csv")]
    output: Option<PathBuf>,
    /// Write the balanced photo with the places that were looked at
    #[arg(long, value_name = "PNG")]
    check: Option<PathBuf>,
    #[command(flatten)]
    limits: LimitArgs,
}

pub(super) fn part(text: &str) -> Result<Part, String> {
    let numbers: Vec<u32> = text
        .split(',')
        .map(|number| number.trim().parse().map_err(|_| format!("`{number}` is not a number of pixels")))
        .collect::<Result<_, _>>()?;
    match numbers.as_slice() {
        &[x, y, width, height] => Ok(Part { x, y, width, height }),
        _ => Err("give left,top,width,height".to_owned()),
    }
}

pub(super) fn run(args: &ShadesArgs) -> Result<(), Failure> {
    match &args.what {
        What::Show(args) => show(args),
        What::Compare(args) => compare(args),
        What::Move(args) => move_chart(args),
        What::FromPhoto(args) => from_photo(args),
    }
}

/// Inks a sheet that shows no chart and writes it.
pub(super) fn write_sheet(path: &Path, sheet: &Sheet) -> Result<(), Failure> {
    let options = PdfOptions { created: moment().seconds(), author: String::new() };
    let bytes = ink::pdf(sheet, &options, &Silent).map_err(|error| match error {
        InkError::Stopped(_) => Failure::Stopped,
        error => Failure::Error(Box::new(error), None),
    })?;
    save(path, &bytes)
}

fn round(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

fn show(args: &ShowArgs) -> Result<(), Failure> {
    let card = args.card.as_deref().map_or_else(|| Ok(ShadeCard::demonstration()), read_card)?;
    if let Some(path) = &args.output {
        write_sheet(path, &lists::card_pages(&card, args.paper))?;
    }
    if args.json {
        let shade = |shade: &brede::thread::shades::Shade| {
            json!({
                "code": shade.code,
                "name": shade.name,
                "colour": shade.colour.to_string(),
                "lab": [round(shade.lab.l), round(shade.lab.a), round(shade.lab.b)],
                "price": shade.price.map(|price| price.to_string()),
                "owned": shade.owned.map(|owned| owned.to_string()),
                "kind": shade.kind,
            })
        };
        let shades: Vec<_> = card.shades().iter().map(shade).collect();
        return Ok(tell::data(&format!("{}\n", json!({ "card": card.name(), "shades": shades })))?);
    }
    let headings = [
        ("code", Flush::Left),
        ("name", Flush::Left),
        ("colour", Flush::Left),
        ("L*", Flush::Right),
        ("a*", Flush::Right),
        ("b*", Flush::Right),
        ("price", Flush::Right),
        ("owned", Flush::Right),
    ];
    let row = |shade: &brede::thread::shades::Shade| {
        let amount =
            |amount: Option<rust_decimal::Decimal>| amount.map_or_else(String::new, |a| a.to_string());
        vec![
            shade.code.clone(),
            shade.name.chars().take(32).collect(),
            shade.colour.to_string(),
            format!("{:.1}", shade.lab.l),
            format!("{:.1}", shade.lab.a),
            format!("{:.1}", shade.lab.b),
            amount(shade.price),
            amount(shade.owned),
        ]
    };
    let rows: Vec<_> = card.shades().iter().map(row).collect();
    Ok(tell::result(&format!("{}: {} threads\n\n{}", card.name(), rows.len(), table(&headings, &rows)))?)
}

fn compare(args: &CompareArgs) -> Result<(), Failure> {
    let (card, other) = (read_card(&args.card)?, read_card(&args.other)?);
    let pairs = card.nearest_on(&other);
    let poor = pairs.iter().filter(|pair| pair.delta_e > POOR).count();
    let codes = |pair: &Nearest| {
        let (one, two) = (&card.shades()[pair.shade], &other.shades()[pair.nearest]);
        [one.code.clone(), one.name.clone(), two.code.clone(), two.name.clone()]
    };
    if let Some(path) = &args.csv {
        let mut rows = vec!["code,name,nearest,nearest_name,delta_e".to_owned()];
        for pair in &pairs {
            let quoted = |text: &String| format!("\"{}\"", planning::safe_field(text).replace('"', "\"\""));
            let fields: Vec<String> = codes(pair).iter().map(quoted).collect();
            rows.push(format!("{},{:.2}", fields.join(","), pair.delta_e));
        }
        save(path, format!("{}\n", rows.join("\n")).as_bytes())?;
    }
    if args.json {
        let pair = |pair: &Nearest| {
            let [code, _, nearest, _] = codes(pair);
            json!({ "code": code, "nearest": nearest, "delta_e": round(pair.delta_e) })
        };
        let value = json!({ "pairs": pairs.iter().map(pair).collect::<Vec<_>>(), "poor": poor });
        return Ok(tell::data(&format!("{value}\n"))?);
    }
    let headings = [
        ("code", Flush::Left),
        ("name", Flush::Left),
        ("nearest", Flush::Left),
        ("its name", Flush::Left),
        ("ΔE", Flush::Right),
        ("", Flush::Left),
    ];
    let row = |pair: &Nearest| {
        let [code, name, nearest, its_name] = codes(pair);
        let short = |text: String| text.chars().take(28).collect::<String>();
        let note = if pair.delta_e > POOR { "poor" } else { "" };
        vec![code, short(name), nearest, short(its_name), format!("{:.1}", pair.delta_e), note.to_owned()]
    };
    let text = table(&headings, &pairs.iter().map(row).collect::<Vec<_>>());
    let total = pairs.len();
    Ok(tell::result(&format!(
        "{text}\n{} of {total} threads have one within {POOR} ΔE (CIEDE2000) on {}; {poor} have none.\n",
        total - poor,
        other.name()
    ))?)
}

fn move_chart(args: &MoveArgs) -> Result<(), Failure> {
    let mut chart = read_chart(&args.chart)?;
    let card = read_card(&args.card)?;
    let options = RethreadOptions { cover: read_cover(args.cover.as_deref())?, ..RethreadOptions::default() };
    let (worked, from) = (compose(&chart)?.chart, chart.stamp());
    let moved = chart.change(Done::CardMoved { card: card.name().to_owned() }, |chart| {
        let moving = Moving { chart, worked: &worked, metres: &BTreeMap::new() };
        let moved = rethread(&[moving], &card, &options).charts.remove(0);
        chart.clone_from(&moved.chart);
        Ok::<_, Failure>(moved)
    })?;
    chart.copy_as(&name_of(Path::new(args.output.file_name().unwrap_or_default())), &from);
    save_chart(&args.output, &chart, Before::Kept)?;
    let poor = moved.substitutes.iter().filter(|substitute| substitute.is_poor()).count();
    if poor > 0 {
        let threads = counted(poor as u64, "thread");
        tell::warning(&format!("{threads} more than {POOR} ΔE from what it was: plainly another colour"));
    }
    let other = moved.substitutes.iter().filter(|substitute| substitute.other_kind).count();
    if other > 0 {
        let threads = counted(other as u64, "thread");
        tell::warning(&format!(
            "{threads} metallic for plain or the other way round, as the card has no other"
        ));
    }
    if args.json {
        let change = |change: &Substitute| {
            json!({
                "from": change.from.0,
                "to": change.to.0,
                "stitches": change.stitches,
                "delta_e": round(change.delta_e),
                "poor": change.is_poor(),
                "other_kind": change.other_kind,
                "shared_with": change.shared_with,
            })
        };
        let value = json!({
            "changes": moved.substitutes.iter().map(change).collect::<Vec<_>>(),
            "file": name_of(&args.output),
        });
        return Ok(tell::data(&format!("{value}\n"))?);
    }
    let headings = [
        ("from", Flush::Left),
        ("name", Flush::Left),
        ("to", Flush::Left),
        ("its name", Flush::Left),
        ("stitches", Flush::Right),
        ("ΔE", Flush::Right),
        ("note", Flush::Left),
    ];
    let row = |change: &Substitute| {
        let short = |text: &str| text.chars().take(26).collect::<String>();
        let mut notes = Vec::new();
        if change.is_poor() && change.nearest > POOR {
            notes.push("poor: the card has none within 5 ΔE".to_owned());
        } else if change.is_poor() {
            notes.push("poor: the nearer went to another".to_owned());
        }
        if change.other_kind {
            notes.push("another kind of thread".to_owned());
        }
        notes.extend(change.shared_with.as_ref().map(|code| format!("same as for {code}")));
        vec![
            change.from.0.clone(),
            short(&change.from.1),
            change.to.0.clone(),
            short(&change.to.1),
            change.stitches.to_string(),
            format!("{:.1}", change.delta_e),
            notes.join(", "),
        ]
    };
    let stitches: f64 = moved.substitutes.iter().map(|change| change.stitches as f64).sum();
    let sum: f64 = moved.substitutes.iter().map(|change| change.delta_e * change.stitches as f64).sum();
    Ok(tell::result(&format!(
        "{}\nMean change {:.2} ΔE (CIEDE2000) over the stitches, as seen on the cloth. Written to {}\n",
        table(&headings, &moved.substitutes.iter().map(row).collect::<Vec<_>>()),
        sum / stitches.max(1.0),
        args.output.display()
    ))?)
}

#[derive(Debug, thiserror::Error)]
#[error("could not use the photo {}", path.display())]
struct PhotoFileError {
    path: PathBuf,
    source: SwatchError,
}

#[derive(Debug, thiserror::Error)]
#[error("{} names {found} threads, and the grid has {places} places", path.display())]
struct CodesError {
    path: PathBuf,
    found: usize,
    places: usize,
}

fn from_photo(args: &FromPhotoArgs) -> Result<(), Failure> {
    let photo = args.limits.open(&args.photo)?;
    let pixels = photo.pixels();
    let whole = Part { x: 0, y: 0, width: pixels.width(), height: pixels.height() };
    let layout = Layout {
        paper: args.paper,
        grid: args.grid.unwrap_or(whole),
        columns: args.columns,
        rows: args.rows,
    };
    let found = swatches(pixels, &layout).map_err(|source| {
        let hint = super::words::advice(&source.advice());
        Failure::new(PhotoFileError { path: args.photo.clone(), source }, hint)
    })?;
    let names = names(args, found.colours.len())?;
    let csv = card_csv(&names, &found);
    // The card must be one that brede can read again: a code twice is told here, not later.
    ShadeCard::read("the photo", csv.as_bytes()).map_err(|source| {
        let hint = super::words::advice(&source.advice());
        Failure::new(source, hint)
    })?;
    if let Some(path) = &args.check {
        save(path, &picture::png(&found.check)?)?;
    }
    for warning in &found.warnings {
        let SwatchWarning::LightFallsOff { share } = warning;
        tell::warning(&format!(
            "light falls off by about {:.0} % across paper and threads, so that threads on the dark side come out too \
             dark: photograph them again by a large window, out of the sun, turned so that both sides are as near to it, \
             and with the paper along the whole side",
            share * 100.0
        ));
    }
    for ((code, _), uneven) in names.iter().zip(&found.unevenness).filter(|(_, uneven)| **uneven > UNEVEN) {
        tell::warning(&format!("{code}: its place is uneven (median {uneven:.1} ΔE): is all of it thread?"));
    }
    tell::warning(
        "a photo is no spectrophotometer: look at the check picture and trust the thread in daylight",
    );
    match &args.output {
        Some(path) => {
            save(path, csv.as_bytes())?;
            Ok(tell::result(&format!("{}: {} threads\n", path.display(), names.len()))?)
        }
        None => Ok(tell::data(&csv)?),
    }
}

/// A place more uneven than this, in median ΔE00, is told: the sheen of thread alone stays below (common
/// practice, no source).
const UNEVEN: f64 = 6.0;

/// Code and name of each place; an empty line leaves its place out.
fn names(args: &FromPhotoArgs, places: usize) -> Result<Vec<(String, String)>, Failure> {
    let Some(path) = &args.codes else {
        return Ok((1..=places).map(|place| (format!("P{place}"), format!("place {place}"))).collect());
    };
    let hint = "write a line a thread, row by row: the code, a comma and the name";
    let text = read_text(path, hint)?;
    let names: Vec<(String, String)> = text
        .trim_end()
        .lines()
        .map(|line| {
            let (code, name) = line.split_once(',').unwrap_or((line, line));
            (code.trim().to_owned(), name.trim().to_owned())
        })
        .collect();
    if names.is_empty() || names.len() > places {
        let error = CodesError { path: path.clone(), found: names.len(), places };
        return Err(Failure::new(error, hint));
    }
    Ok(names)
}

fn card_csv(names: &[(String, String)], found: &Swatches) -> String {
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    let mut csv = "code,name,colour\n".to_owned();
    for ((code, name), colour) in names.iter().zip(&found.colours).filter(|((code, _), _)| !code.is_empty()) {
        csv.push_str(&format!("{},{},{colour}\n", quoted(code), quoted(name)));
    }
    csv
}
