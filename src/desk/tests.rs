#![allow(clippy::unwrap_used)]
//! Operations as a face that stays calls them: bytes in, bytes out, several at once.

use super::*;
use crate::chart::{Cell, Chart, Needle, Thread};
use crate::ground::progress::{Progress, Silent, Stage};
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, StitchKind};
use std::ops::ControlFlow;

/// A chart of two threads in stripes, as bytes.
fn chart(title: &str, side: u32) -> Source {
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
        replace: Replace::Ours,
    }
}

fn bytes_of(report: &impl Report, what: What) -> Vec<u8> {
    let file = report.files().iter().find(|file| file.what == what).unwrap();
    file.bytes.clone().unwrap()
}

#[test]
fn two_jobs_at_once_do_not_disturb_each_other() {
    let requests = [print_request(chart("crab", 60)), print_request(chart("kelp", 41))];
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
    let report = print(&print_request(chart("crab", 40)), &Silent).unwrap();
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
        replace: Replace::Ours,
    };
    let found = proof(&request, &Silent).unwrap();
    assert!(found.is_right() && found.cells == 1600 && found.right == 1600, "{found:?}");
    assert!(bytes_of(&found, What::ProofPicture).starts_with(b"\x89PNG"));
    let json = serde_json::to_value(&found).unwrap();
    assert_eq!(json["right"], 1600);
    assert_eq!(json["files"][0]["what"], "proof-picture");
    let json = serde_json::to_value(&report).unwrap();
    assert_eq!(json["chart_pages"], 1);
    assert!(json["files"][0].get("bytes").is_none() && json["files"][0]["path"].is_null(), "{json}");
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
    let error = print(&print_request(chart("crab", 40)), &Stop).unwrap_err();
    assert!(matches!(error, Error::Stopped) && error.advice().is_none(), "{error:?}");
}
