//! Good files changed at random, read over and over: each is taken or refused, and nothing panics.
//!
//! A few hundred rounds each in every run of the tests, the same each time. `BREDE_FUZZ_SECONDS` makes each part
//! run for so long instead, from `BREDE_FUZZ_SEED` on; only these tests read them. What a part fell over is written
//! beside the tests' other files, and its place is told. A reader of another kind of file gets a test here like
//! those at the end.
#![allow(clippy::print_stdout)]

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::{Duration, Instant};

use brede::chart::marks::{MarkFile, Resolver};
use brede::chart::{Cell, Chart, Done, Mark, MarkError, Needle, Thread};
use brede::ground::colour::Lab32;
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::making::frame::{FrameOptions, Size, frame};
use brede::making::photo::{Limits, Photo};
use brede::printing::ink::{PdfOptions, pdf};
use brede::printing::picture::preview;
use brede::printing::sheet::{SheetOptions, lay_out};
use brede::printing::worked as compose;
use brede::thread::cloth::{Cloth, StitchKind};
use brede::thread::shades::ShadeCard;
use serde_json::{Value, json};

use super::asking::Dice;
use super::charts::MARKS;
use super::making::{cmyk_jpeg, encoded, good, waves};

/// What came of an input.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Came {
    Taken,
    Refused,
}

/// Numbers and signs that readers stumble over.
const WORDS: [&str; 22] = [
    "0",
    "-1",
    "1",
    "255",
    "256",
    "65535",
    "4294967295",
    "4294967296",
    "18446744073709551616",
    "1e308",
    "-1e-308",
    "NaN",
    "inf",
    "\"",
    "'",
    "\n",
    "\r\n",
    ",",
    ";",
    "[[",
    "\u{feff}",
    "\u{202e}",
];

/// One change of a file.
pub(super) fn change(bytes: &mut Vec<u8>, seeds: &[Vec<u8>], dice: &mut Dice) {
    let place = dice.roll(bytes.len() as u64 + 1);
    let most = [2, 8, 64, 4000][dice.roll(4)];
    let length = dice.roll(most) + 1;
    let end = (place + length).min(bytes.len());
    let put = |bytes: &mut Vec<u8>, new: &[u8], end: usize| _ = bytes.splice(place..end, new.iter().copied());
    match dice.roll(10) {
        0 | 1 if place < bytes.len() => bytes[place] ^= 1 << dice.roll(8),
        2 if place < bytes.len() => bytes[place] = dice.roll(256) as u8,
        3 => put(bytes, &[], end),
        4 => {
            let part = bytes[place..end].to_vec();
            put(bytes, &part, place);
        }
        5 => put(bytes, WORDS[dice.roll(WORDS.len() as u64)].as_bytes(), place),
        6 => {
            // A number in the text becomes another.
            let digits = |byte: &u8| byte.is_ascii_digit();
            if let Some(from) = bytes[place..].iter().position(digits).map(|from| place + from) {
                let to =
                    bytes[from..].iter().position(|byte| !digits(byte)).map_or(bytes.len(), |to| from + to);
                let word = WORDS[dice.roll(12)].as_bytes();
                bytes.splice(from..to, word.iter().copied());
            }
        }
        7 => bytes.truncate(place),
        8 => {
            let other = &seeds[dice.roll(seeds.len() as u64)];
            let from = dice.roll(other.len() as u64 + 1);
            put(bytes, &other[from..(from + length).min(other.len())], end);
        }
        _ => {
            for byte in &mut bytes[place..end] {
                *byte = [0, 0xff, 0x7f, 0x80][dice.roll(4)];
            }
        }
    }
}

/// A change of one value in a document, which stays a document: reaches what lies behind the reader.
fn change_value(value: &mut Value, dice: &mut Dice) {
    let whole = [0, 1, -1, 2, 7, 13, 40, 255, 256, 65_535, 2_147_483_647, -2_147_483_648];
    let inner: Vec<&mut Value> = match value {
        Value::Object(fields) => fields.values_mut().collect(),
        Value::Array(values) => values.iter_mut().collect(),
        _ => Vec::new(),
    };
    let count = inner.len() as u64;
    if count > 0 && dice.roll(8) > 0 {
        let chosen = dice.roll(count);
        return inner.into_iter().nth(chosen).into_iter().for_each(|value| change_value(value, dice));
    }
    let chosen = dice.roll(count.max(1));
    match (value, dice.roll(6)) {
        (Value::Array(values), 0 | 1) if count > 0 => _ = values.remove(chosen),
        (Value::Array(values), 2..=4) if count > 0 => values.insert(chosen, values[chosen].clone()),
        (Value::Object(fields), 0..=4) if count > 0 => {
            let key = fields.keys().nth(chosen).unwrap().clone();
            fields.remove(&key);
        }
        (Value::Number(number), 0..=2) => *number = whole[dice.roll(12)].into(),
        (Value::Number(number), _) => {
            let by = dice.roll(7) as i64 - 3;
            *number = number.as_i64().map_or_else(|| 0.into(), |number| number.saturating_add(by).into());
        }
        (Value::String(text), _) => {
            let mut bytes = std::mem::take(text).into_bytes();
            change(&mut bytes, &[b"2*3 . 1*".to_vec()], dice);
            *text = String::from_utf8_lossy(&bytes).into_owned();
        }
        (Value::Bool(truth), _) => *truth = !*truth,
        (value, _) => *value = json!(whole[dice.roll(12)]),
    }
}

/// A round that takes this long is one that would hardly end: the slowest ever seen took 0.6 s in the development
/// profile, so that this is no measure of a machine's speed.
const ENDLESS: Duration = Duration::from_secs(600);

/// A file and a change of it.
pub(super) type Changing<'a> = &'a dyn Fn(&mut Vec<u8>, &mut Dice);

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.trim().parse().ok()
}

/// Changes files and reads them, `rounds` times or for as long as was asked. Every second round `knowing` makes the
/// changes, where the kind of file has such a one.
pub(super) fn fuzz(
    part: &str,
    seeds: &[Vec<u8>],
    rounds: u64,
    knowing: Option<Changing>,
    read: impl Fn(&[u8]) -> Came,
) {
    for (at, seed) in seeds.iter().enumerate() {
        assert_eq!(read(seed), Came::Taken, "{part}: the good file {at} must be taken");
    }
    let seconds = number("BREDE_FUZZ_SECONDS").map(Duration::from_secs);
    let first = number("BREDE_FUZZ_SEED").unwrap_or(1);
    let begun = Instant::now();
    let mut came: BTreeMap<Came, u64> = BTreeMap::new();
    let mut slowest = Duration::ZERO;
    let mut round = 0;
    while seconds.map_or(round < rounds, |seconds| begun.elapsed() < seconds) {
        let mut dice = Dice((first + round).wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        (0..8).for_each(|_| _ = dice.roll(2));
        let mut bytes = seeds[dice.roll(seeds.len() as u64)].clone();
        let knowing = knowing.filter(|_| round % 2 == 1);
        let more = dice.roll(if knowing.is_some() { 2 } else { 4 });
        for _ in 0..=more {
            match knowing {
                Some(knowing) => knowing(&mut bytes, &mut dice),
                None => change(&mut bytes, seeds, &mut dice),
            }
        }
        let began = Instant::now();
        let result = catch_unwind(AssertUnwindSafe(|| read(&bytes)));
        let took = began.elapsed();
        slowest = slowest.max(took);
        if result.is_err() || took > ENDLESS {
            let at = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("fuzz-{part}-{}", first + round));
            std::fs::write(&at, &bytes).unwrap();
            panic!("{part}: round {} took {took:?} and fell over {}", first + round, at.display());
        }
        *came.entry(result.unwrap()).or_default() += 1;
        round += 1;
    }
    println!("{part}: {round} rounds, {came:?}, the slowest {slowest:?}");
    assert!(came.len() == 2, "{part}: changes that are all taken or all refused try nothing: {came:?}");
}

pub(super) fn taken<T, E>(result: &Result<T, E>) -> Came {
    if result.is_ok() { Came::Taken } else { Came::Refused }
}

#[test]
fn photos() {
    let mut seeds: Vec<Vec<u8>> = good().into_iter().map(|(_, bytes)| bytes).collect();
    let deep = image::DynamicImage::from(waves(20, 15)).to_rgba16();
    seeds.push(encoded(&deep.clone().into(), image::ImageFormat::Png));
    seeds.push(encoded(&deep.into(), image::ImageFormat::Tiff));
    seeds.push(cmyk_jpeg());
    let mut noted = Vec::new();
    let mut encoder = image::codecs::png::PngEncoder::new(&mut noted);
    let profile = moxcms::ColorProfile::new_display_p3().encode().unwrap();
    image::ImageEncoder::set_icc_profile(&mut encoder, profile).unwrap();
    let pixels = waves(20, 15);
    image::ImageEncoder::write_image(encoder, pixels.as_raw(), 20, 15, image::ExtendedColorType::Rgb8)
        .unwrap();
    seeds.push(noted);
    let limits = Limits { max_pixels: 1 << 20, max_memory: 64 << 20 };
    fuzz("photos", &seeds, 1500, None, |bytes| {
        let photo = Photo::read("fuzz", bytes, &limits, &Silent);
        if let Ok(photo) = &photo {
            assert!(photo.pixels().len() as u64 <= limits.max_pixels * 4);
            let options =
                FrameOptions { size: Size::Both { columns: 8, rows: 6 }, ..FrameOptions::default() };
            if let Ok(framed) = frame(photo, &options, &Silent) {
                let finite = |lab: &Lab32| lab.axes().iter().all(|part| part.is_finite());
                assert!(framed.field.cells().iter().flatten().all(finite));
            }
        }
        taken(&photo)
    });
}

#[test]
fn cards() {
    let seeds = [
        "code,name,colour,price,length_m,owned,kind\nA,Kelp,#2f6f4f,1.15,8,2,cotton\nB,\"Sand, wet\",#d8c49a,,8,,\n",
        "\u{feff}code;name;L;a;b\r\nA;Kelp;52,5;-20;12\r\nB;Sand;80;2;20\r\n",
        "name\tcode\tcolour\nKelp\t1\t#123456\n\nSand\t2\t#abcdef\n",
        include_str!("../../samples-own/tin-of-threads.csv"),
    ]
    .map(|text| text.as_bytes().to_vec());
    fuzz("cards", &seeds, 6000, None, |bytes| {
        let card = ShadeCard::read("fuzz", bytes);
        if let Ok(card) = &card {
            for (place, shade) in card.shades().iter().enumerate() {
                assert!([shade.lab.l, shade.lab.a, shade.lab.b].iter().all(|part| part.is_finite()));
                assert_eq!(card.position(&shade.code), Some(place), "a code stands once");
            }
        }
        taken(&card)
    });
}

/// A small chart in three threads.
pub(super) fn small() -> Chart {
    let needle = |at: usize| Needle {
        symbol: brede::printing::symbols::SymbolId::all().nth(at).unwrap().id().into(),
        threads: vec![Thread {
            code: ["A", "B", "C"][at].into(),
            name: ["Kelp", "Sand", "Ink"][at].into(),
            colour: ["#2f6f4f", "#d8c49a", "#101020"][at].parse().unwrap(),
            strands: 2,
            price: Some("1.15".parse().unwrap()),
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(14, 10).unwrap();
    let cell = |at: usize| if at.is_multiple_of(11) { Cell::BARE } else { Cell::worked(at / 5 % 3) };
    let cells = (0..size.cells()).map(cell).collect();
    Chart::new("Pool".into(), size, Cloth::default(), (0..3).map(needle).collect(), cells).unwrap()
}

fn with_marks(text: &str, chart: &Chart) -> Result<Vec<Mark>, brede::chart::marks::FileError> {
    let card = ShadeCard::demonstration();
    let no_masks = |_: &str| Err("not there".into());
    MarkFile::parse(text)?.resolve(&Resolver::new(chart, &card), chart.size(), no_masks)
}

/// Works the marks of a chart and lays it out, where it is not so large that fewer rounds would be made.
fn work(chart: &Chart) {
    let Ok(composed) = compose(chart) else { return };
    for point in composed.lines.iter().flat_map(|line| &line.points) {
        let size = composed.chart.size();
        assert!(
            (0..=size.columns() as i32).contains(&point[0]) && (0..=size.rows() as i32).contains(&point[1])
        );
    }
    if composed.chart.size().cells() > 2500 {
        return;
    }
    let picture = preview(&composed.chart, &composed.lines, &Silent).unwrap();
    if let Ok(laid) = lay_out(&composed.chart, &composed.lines, picture, &SheetOptions::default(), &Silent) {
        assert!(pdf(&laid.sheet, &PdfOptions::default(), &Silent).unwrap().starts_with(b"%PDF"));
    }
}

#[test]
fn charts() {
    let plain = small();
    let mut marked = small();
    let marks = with_marks(MARKS, &plain).unwrap();
    let names = marks.iter().map(|mark| mark.name().to_owned()).collect();
    marked.card = Some(
        ShadeCard::read("tin", b"code,name,colour,price\nA,Kelp,#2f6f4f,1.15\nB,Sand,#d8c49a,\n").unwrap(),
    );
    let put = |chart: &mut Chart| {
        chart.marks = marks.into_iter().map(Into::into).collect();
        Ok::<_, MarkError>(())
    };
    marked.change(Done::MarksTaken { marks: names }, put).unwrap();
    let swap = |chart: &mut Chart| {
        let cells =
            chart.cells().iter().map(|cell| if cell.needle() == Some(2) { Cell::worked(0) } else { *cell });
        let size = GridSize::new(chart.size().columns(), chart.size().rows() - 2).unwrap();
        let needles = chart.needles()[..2].to_vec();
        let cells = cells.take(size.cells()).collect();
        let mut other = Chart::new("Tide pool".into(), size, chart.cloth, needles, cells).unwrap();
        other.marks = chart.marks[1..].to_vec();
        other.card = None;
        *chart = other;
        Ok::<_, MarkError>(())
    };
    marked.change(Done::SymbolsGiven, swap).unwrap();
    marked.undo().unwrap();
    let seeds = [plain.to_json().into_bytes(), marked.to_json().into_bytes()];
    let knowing = |bytes: &mut Vec<u8>, dice: &mut Dice| {
        let mut document: Value = serde_json::from_slice(bytes).unwrap();
        change_value(&mut document, dice);
        *bytes = document.to_string().into_bytes();
    };
    fuzz("charts", &seeds, 700, Some(&knowing), |bytes| {
        let chart = Chart::from_json(bytes);
        if let Ok(chart) = &chart {
            let again = Chart::from_json(chart.to_json().as_bytes()).unwrap();
            assert_eq!(&again, chart, "a chart is read as it was written");
            work(chart);
            // Steps that were forged are refused, or undo and redo each other.
            let mut stepping = chart.clone();
            while stepping.redo().is_ok() {}
            let last = stepping.fingerprint();
            let mut steps = 0;
            while stepping.undo().is_ok() {
                steps += 1;
            }
            if (0..steps).all(|_| stepping.redo().is_ok()) {
                assert_eq!(stepping.fingerprint(), last);
            }
        }
        taken(&chart)
    });
}

/// Marks that the others do not have: letters in crosses, a picture's cells left out, a key of its own.
const ALIKE: &str = "\
[[mark]]
kind = 'lettering'
name = 'ink'
text = 'Ines & Ko'
at = [3, 3]
thread = '2 of A + 1 of B'
style = { face = 'ten', align = 'right', turn = 270 }

[[mark]]
kind = 'outline'
name = 'shell'
thread = 'C'
motif = { pick = [{ at = [4, 4], within = 9.0 }, { rectangle = [1, 1, 2, 9], take_away = true }], grow = -1 }

[[mark]]
kind = 'key'
name = 'key'
thread = 'A'
place = { at = [1, 1] }
face = 'script'
";

#[test]
fn files_of_marks() {
    let seeds = [MARKS, ALIKE].map(|text| text.as_bytes().to_vec());
    let chart = small();
    let knowing = |bytes: &mut Vec<u8>, dice: &mut Dice| {
        let table: toml::Table = std::str::from_utf8(bytes).unwrap().parse().unwrap();
        let mut document = serde_json::to_value(table).unwrap();
        change_value(&mut document, dice);
        // What TOML cannot say, such as a list on top, is no change.
        if let Ok(text) = toml::to_string(&document) {
            *bytes = text.into_bytes();
        }
    };
    fuzz("marks", &seeds, 700, Some(&knowing), |bytes| {
        let Ok(text) = std::str::from_utf8(bytes) else { return Came::Refused };
        let marks = with_marks(text, &chart);
        if let Ok(marks) = &marks {
            let mut chart = chart.clone();
            chart.marks = marks.iter().cloned().map(Into::into).collect();
            work(&chart);
        }
        taken(&marks)
    });
}
