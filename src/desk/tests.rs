#![allow(clippy::unwrap_used)]
//! Operations as a face that stays calls them: bytes in, bytes out, several at once.

use super::*;
use crate::chart::{Cell, Chart, Needle, Thread};
use crate::ground::progress::{Progress, Silent, Stage};
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, StitchKind};
use std::ops::ControlFlow;

/// Invented.
const CARD: &[u8; 179] = b"code,name,colour,price\nP1,Deep water,#1b2a41,1.20\nP2,Foam,#f4f4ee,1.20\nP3,Kelp,#4a5a30,1.20\n\
                          P4,Sand,#d8c49a,1.20\nP5,Anemone,#b04a60,1.20\nP6,Slate,#708090,1.20\nP7,Sky,#9ac0e0,1.20\n";

/// A chart of two threads in stripes, as bytes.
fn chart_of_stripes(title: &str, side: u32) -> Source {
    let needle = |code: &str, colour: &str| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: code.into(),
            name: format!("Thread {code}"),
            colour: colour.parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(side, side).unwrap();
    let cells = (0..size.cells()).map(|at| Cell::worked(at / 7 % 2)).collect();
    let needles = vec![needle("P1", "#2f6f8f"), needle("P2", "#f0d0a0")];
    let chart = Chart::new(title.into(), size, Cloth::default(), needles, cells).unwrap();
    Source::held(format!("{title}.chart.json"), chart.to_json().into_bytes())
}

fn print_request(chart: Source) -> PrintRequest {
    PrintRequest {
        chart,
        page: PageSettings::default(),
        output: Target::Held,
        pictures: Pictures::Beside,
        keep: Some(Target::Held),
        symbol_names: Some(Target::Held),
        moment: Moment::from_seconds(1_700_000_000).unwrap(),
        limits: Limits::default(),
        replace: Replace::Ours,
    }
}

fn bytes_of(report: &impl Report, what: What) -> Vec<u8> {
    let file = report.files().iter().find(|file| file.what == what).unwrap();
    file.bytes.clone().unwrap()
}

#[test]
fn two_jobs_at_once_do_not_disturb_each_other() {
    let requests = [print_request(chart_of_stripes("crab", 60)), print_request(chart_of_stripes("kelp", 41))];
    let alone: Vec<PrintReport> = requests.iter().map(|request| print(request, &Silent).unwrap()).collect();
    let both: Vec<PrintReport> = std::thread::scope(|scope| {
        let jobs: Vec<_> =
            requests.iter().map(|request| scope.spawn(move || print(request, &Silent).unwrap())).collect();
        jobs.into_iter().map(|job| job.join().unwrap()).collect()
    });
    assert_eq!(alone, both);
    assert_ne!(bytes_of(&both[0], What::Pages), bytes_of(&both[1], What::Pages));
}

#[test]
fn pages_that_are_held_are_proof_read_from_there() {
    let report = print(&print_request(chart_of_stripes("crab", 40)), &Silent).unwrap();
    let names: Vec<&str> = report.files.iter().map(|file| file.name.as_str()).collect();
    let wanted = [
        "crab.pdf",
        "crab.threads.csv",
        "crab.cells.png",
        "crab.stitched.png",
        "crab.chart.json",
        "crab.symbols.pdf",
    ];
    assert_eq!(names, wanted);
    let request = ProofRequest {
        pages: Source::held("crab.pdf", bytes_of(&report, What::Pages)),
        chart: Source::held("crab.chart.json", bytes_of(&report, What::Chart)),
        dpi: 150.0,
        spoil: Spoil::None,
        most: None,
        picture: Some(Target::Held),
        limits: Limits::default(),
        replace: Replace::Ours,
        reader: Reader::Here,
    };
    let found = proof(&request, &Silent).unwrap();
    assert!(found.right().is_ok() && found.cells == 1600 && found.right == 1600, "{found:?}");
    assert!(bytes_of(&found, What::ProofPicture).starts_with(b"\x89PNG"));
    let json = serde_json::to_value(&found).unwrap();
    assert_eq!(json["right"], 1600);
    assert_eq!(json["files"][0]["what"], "proof-picture");
    let json = serde_json::to_value(&report).unwrap();
    assert_eq!(json["chart_pages"], 1);
    assert!(json["files"][0].get("bytes").is_none() && json["files"][0]["path"].is_null(), "{json}");
}

/// A picture of smooth and grainy parts, as PNG.
fn picture(name: &str, seed: u32) -> Source {
    let picture = image::RgbImage::from_fn(160, 120, |x, y| {
        let grain = (x * 7919 + y * 104_729 + seed).wrapping_mul(2_654_435_761) >> 28;
        image::Rgb([(x + grain) as u8, (2 * y + grain) as u8, (90 + seed + x / 2) as u8])
    });
    Source::held(name, crate::printing::picture::png(picture, &Silent).unwrap())
}

fn mask() -> Source {
    let mask = image::RgbImage::from_fn(16, 12, |x, y| image::Rgb([if x + y < 9 { 255 } else { 0 }; 3]));
    Source::held("face.png", crate::printing::picture::png(mask, &Silent).unwrap())
}

fn set() -> SetRequest {
    SetRequest {
        subject: None,
        folder: Target::Held,
        page: PageSettings::default(),
        sample: Sample::Read,
        limits: Limits::default(),
        moment: Moment::from_seconds(1_700_000_000).unwrap(),
        replace: Replace::Ours,
    }
}

fn make_request(photo: Source) -> MakeRequest {
    MakeRequest {
        photo,
        card: Some(Source::held("tin.csv", *CARD)),
        masks: vec![mask()],
        bare_masks: Vec::new(),
        cover: Some(Source::held("mine.toml", *b"flattening = 2.0\n")),
        settings: MakeSettings {
            size: SizeWish { columns: Some(48), ..SizeWish::default() },
            colours: Colours::Exactly(6),
            bare: Some(3.0),
            crop: Some("0,0,150,110".parse().unwrap()),
            ..MakeSettings::default()
        },
        at_hand: None,
        set: set(),
    }
}

#[test]
fn a_chart_is_made_again_from_what_it_keeps() {
    let request = make_request(picture("pool.png", 1));
    let first = make(&request, &Silent).unwrap();
    assert!(first.notes.iter().any(|note| matches!(note, Note::BareSaves { .. })), "{:?}", first.notes);
    let chart = Source::held("pool.chart.json", bytes_of(&first, What::Chart));
    let mut again = AgainRequest { photo: picture("pool.png", 1), chart, set: set() };
    let second = make_again(&again, &Silent).unwrap();
    for what in [What::Chart, What::Pages, What::Cells, What::Stitched, What::Threads] {
        assert!(bytes_of(&first, what) == bytes_of(&second, what), "{what:?}");
    }
    // What was read from other files counts: without it, the chart is another.
    let plain = MakeRequest { masks: Vec::new(), cover: None, ..request };
    assert_ne!(bytes_of(&make(&plain, &Silent).unwrap(), What::Cells), bytes_of(&first, What::Cells));
    let text = String::from_utf8(bytes_of(&first, What::Chart)).unwrap();
    assert!(text.contains("face.png") && text.contains("mine.toml"));
    again.photo = picture("pool.png", 2);
    let error = make_again(&again, &Silent).unwrap_err();
    assert!(matches!(error, Error::OtherPhoto { .. }), "{error:?}");
    assert_eq!(error.advice(), Some(crate::ground::advice::Advice::SamePhoto));
    again.chart = chart_of_stripes("crab", 20);
    assert!(matches!(make_again(&again, &Silent).unwrap_err(), Error::NoRequest { .. }));
}

#[test]
fn a_chart_that_was_taken_is_taken_again() {
    let row = |y: usize| (0..20).map(|x| ["P1", "P1", "P2", ""][(x + y) % 4]).collect::<Vec<_>>().join(",");
    let table: Vec<String> = (0..20).map(row).collect();
    let table = Source::held("tide.csv", table.join("\n").into_bytes());
    let card = Some(Source::held("tin.csv", *CARD));
    let settings = TakeSettings::default();
    let request = TakeRequest { picture: table.clone(), card, cover: None, settings, set: set() };
    let first = take(&request, &Silent).unwrap();
    assert_eq!((first.stitches, first.bare, first.matches.as_ref().unwrap().len()), (300, 100, 2));
    let chart = Source::held("tide.chart.json", bytes_of(&first, What::Chart));
    let second = make_again(&AgainRequest { photo: table, chart, set: set() }, &Silent).unwrap();
    assert_eq!(bytes_of(&first, What::Chart), bytes_of(&second, What::Chart));
    let json = serde_json::to_value(&first).unwrap();
    assert_eq!(json["matches"][0]["code"], "P1");
    assert_eq!(json["proof_read"]["right"], 400);
}

#[test]
fn numbers_of_threads_are_compared_without_a_chart() {
    let MakeRequest { photo, settings, .. } = make_request(picture("pool.png", 1));
    let request = CompareRequest {
        photo,
        card: None,
        masks: Vec::new(),
        bare_masks: Vec::new(),
        cover: None,
        settings,
        choices: "3,8".parse().unwrap(),
        folder: Target::Held,
        limits: Limits::default(),
        replace: Replace::Ours,
    };
    let report = compare(&request, &Silent).unwrap();
    assert_eq!(report.warnings, [Warning::DemonstrationCard]);
    assert!(report.compared[0].mean_delta_e > report.compared[1].mean_delta_e, "{report:?}");
    assert!(bytes_of(&report, What::Compared).starts_with(b"\x89PNG"));
    let json = serde_json::to_value(&report).unwrap();
    assert_eq!(json["compared"][1]["colours"], 8);
    assert_eq!(json["warnings"][0]["kind"], "demonstration-card");
}

#[test]
fn a_job_that_would_take_too_much_memory_is_not_begun() {
    let mut request = make_request(picture("pool.png", 1));
    request.set.limits.max_memory = 50 << 20;
    assert!(matches!(make(&request, &Silent).unwrap_err(), Error::Memory { .. }));
}

struct Stop;

impl Progress for Stop {
    fn at(&self, _: Stage, _: u64, _: u64) -> ControlFlow<()> {
        ControlFlow::Break(())
    }
    fn ask(&self) -> ControlFlow<()> {
        ControlFlow::Break(())
    }
}

#[test]
fn an_operation_that_is_stopped_says_so_and_nothing_else() {
    let error = print(&print_request(chart_of_stripes("crab", 40)), &Stop).unwrap_err();
    assert!(matches!(error, Error::Stopped) && error.advice().is_none(), "{error:?}");
}
