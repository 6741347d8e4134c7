//! How long a person waits who stops a job: 1,400 x 1,000 squares, 100 threads, stage by stage.
//!
//! Each stage is done once and listened to: the longest silence is the longest time, on the clock, between two questions
//! whether to go on, its beginning and its end counted. Then it is done again some times and stopped at moments spread
//! over it: the longest wait is the time from the wish to the stage's return, all its threads ended. `cargo bench --features
//! workshop --bench silence` prints the table of DEVELOPERS.md.
#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "processes.rs"]
mod processes;

use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use brede::chart::mark::{Change, Course, Motif, Outline, Pick, PickedCells, Touching};
use brede::chart::{Chart, LineStitch, Mark, PlacedMark, Thread};
use brede::ground::progress::{Progress, Silent, Stage};
use brede::making::frame::{FrameOptions, Sampling, Size, frame};
use brede::making::make::{MakeOptions, make};
use brede::making::photo::{Limits, Photo};
use brede::making::reduce::{self, Colours, Confetti};
use brede::planning::Handling;
use brede::planning::thread_uses;
use brede::printing::ink::{PdfOptions, pdf};
use brede::printing::picture;
use brede::printing::sheet::order::order_pages;
use brede::printing::sheet::{Paper, SheetOptions, lay_out};
use brede::printing::symbols::give_symbols;
use brede::printing::{worked, worked_while};
use brede::reading::proof::{ProofOptions, Spoil, proof};
use brede::reading::{Program, Reader};
use brede::thread::shades::ShadeCard;
use processes::{CARD, photo};

const SIZE: [u32; 2] = [1400, 1000];
const THREADS: u16 = 100;

/// The photo, two pixels and more a cell: 12 megapixels.
const PIXELS: [u32; 2] = [4096, 3000];

/// Moments at which a stage is stopped.
const STOPS: u32 = 6;

/// Listens, and wants the job to end from a moment on.
struct Ear {
    begun: Instant,
    /// Nanoseconds since the beginning at which it was last asked.
    last: AtomicU64,
    longest: AtomicU64,
    until: Option<Duration>,
}

impl Ear {
    fn new(until: Option<Duration>) -> Self {
        Self { begun: Instant::now(), last: AtomicU64::new(0), longest: AtomicU64::new(0), until }
    }

    fn hear(&self) {
        let now = self.begun.elapsed().as_nanos() as u64;
        let before = self.last.swap(now, Ordering::Relaxed);
        self.longest.fetch_max(now.saturating_sub(before), Ordering::Relaxed);
    }
}

impl Progress for Ear {
    fn at(&self, _: Stage, _: u64, _: u64) -> ControlFlow<()> {
        self.ask()
    }

    fn ask(&self) -> ControlFlow<()> {
        self.hear();
        match self.until {
            Some(until) if self.begun.elapsed() >= until => ControlFlow::Break(()),
            _ => ControlFlow::Continue(()),
        }
    }
}

/// Does a stage, whole and then stopped, and prints its row. It says whether it was done to its end.
fn listened(name: &str, stage: impl Fn(&dyn Progress) -> bool) {
    let ear = Ear::new(None);
    assert!(stage(&ear), "{name} is done to its end");
    let took = ear.begun.elapsed();
    ear.hear();
    let silence = Duration::from_nanos(ear.longest.load(Ordering::Relaxed));
    let mut longest = Duration::ZERO;
    for stop in 0..STOPS {
        let until = took.mul_f64((f64::from(stop) + 0.5) / f64::from(STOPS));
        let ear = Ear::new(Some(until));
        // It may have been quicker this time than to be stopped.
        if !stage(&ear) {
            longest = longest.max(ear.begun.elapsed().saturating_sub(until));
        }
    }
    let seconds = |time: Duration| format!("{:.3}", time.as_secs_f64());
    println!("| {name} | {} s | {} s | {} s |", seconds(took), seconds(silence), seconds(longest));
}

/// An outline of what is like a cell in colour, as it is given by hand.
fn outline(at: i32) -> PlacedMark {
    let cells = PickedCells::At {
        cell: [at * 97 % SIZE[0] as i32, at * 61 % SIZE[1] as i32],
        within: 20.0,
        touching: Touching::Sides,
    };
    let thread = Thread {
        code: "L".into(),
        name: "line".into(),
        colour: "#203040".parse().unwrap(),
        strands: 1,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    };
    Mark::Outline(Outline {
        name: format!("outline {at}"),
        label: None,
        motif: Motif { pick: vec![Pick { change: Change::Add, cells }], ..Motif::default() },
        thread: vec![thread],
        course: Course::Exact,
        longest: 3.0,
        pattern: None,
        stitch: LineStitch::Backstitch,
    })
    .into()
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("photo.jpg");
    photo("tests/photos/flower.jpg", &path, PIXELS[0], PIXELS[1]);
    let bytes = std::fs::read(&path).unwrap();
    let card = ShadeCard::read("card", &std::fs::read(CARD).unwrap()).unwrap();
    let limits = Limits::default();
    let framing = |sampling: Sampling| FrameOptions {
        size: Size::Both { columns: SIZE[0], rows: SIZE[1] },
        sampling,
        ..FrameOptions::default()
    };
    let making = |confetti: Confetti, dither: Option<f64>| MakeOptions {
        title: "Flower".to_owned(),
        frame: framing(Sampling::default()),
        cloth: Default::default(),
        strands: 2,
        seen_from: brede::making::make::usually_seen_from(),
        cover: Default::default(),
        half_cross: Vec::new(),
        blends: None,
        mixes: 0,
        reduce: reduce::Options {
            colours: Colours::Exactly(THREADS),
            confetti,
            dither,
            ..reduce::Options::default()
        },
        owned: Default::default(),
        fixed: Vec::new(),
        forbidden: Vec::new(),
        settings: Default::default(),
    };
    println!("| stage | takes | longest silence | longest wait |\n|---|---|---|---|");
    listened("photo", |ear| Photo::read("photo.jpg", &bytes, &limits, ear).is_ok());
    let photo = Photo::read("photo.jpg", &bytes, &limits, &Silent).unwrap();
    listened("frame", |ear| frame(&photo, &framing(Sampling::default()), ear).is_ok());
    listened("frame, crisp", |ear| frame(&photo, &framing(Sampling::Crisp), ear).is_ok());
    let framed = frame(&photo, &framing(Sampling::default()), &Silent).unwrap();
    for (name, confetti, dither) in [
        ("threads, few singles", Confetti::Few, None),
        ("threads, no singles", Confetti::None, None),
        ("threads, dithered", Confetti::Few, Some(0.02)),
    ] {
        let options = making(confetti, dither);
        listened(name, |ear| make(&photo, &framed, &card, &options, ear).is_ok());
    }
    let mut chart: Chart = make(&photo, &framed, &card, &making(Confetti::Few, None), &Silent).unwrap().chart;
    give_symbols(&mut chart);
    let mut outlined = chart.clone();
    outlined.marks.extend((0..200).map(outline));
    listened("200 outlines", |ear| worked_while(&outlined, ear).is_ok());
    let composed = worked(&chart).unwrap();
    let (chart, lines) = (&composed.chart, &composed.lines);
    listened("lengths", |ear| thread_uses(chart, lines, ear).is_ok());
    listened("working orders", |ear| {
        order_pages(chart, &[], &Handling::default(), None, 2000, Paper::A4, ear).is_ok()
    });
    listened("stitched picture", |ear| picture::stitched(chart, lines, ear).is_ok());
    let stitched = picture::stitched(chart, lines, &Silent).unwrap();
    listened("its PNG", |ear| picture::png(stitched.clone(), ear).is_ok());
    let options = SheetOptions::default();
    let preview = picture::preview(chart, lines, &Silent).unwrap();
    listened("lay out", |ear| lay_out(chart, lines, preview.clone(), &options, ear).is_ok());
    let sheet = lay_out(chart, lines, preview.clone(), &options, &Silent).unwrap().sheet;
    listened("ink", |ear| pdf(&sheet, &PdfOptions::default(), ear).is_ok());
    let pages = pdf(&sheet, &PdfOptions::default(), &Silent).unwrap();
    let child = Program::new(env!("CARGO_BIN_EXE_brede").into(), vec!["reads-a-file-for-brede".into()]);
    for (name, spoil, reader) in [
        ("proof, 12 pages", Spoil::None, Reader::Here),
        ("proof, 12 pages, read by children", Spoil::None, Reader::Child(child)),
        ("proof, 12 pages, spoilt", Spoil::Home, Reader::Here),
    ] {
        let options = ProofOptions { pages: Some(12), spoil, ..ProofOptions::default() };
        listened(name, |ear| proof(&pages, &composed, options, &reader, ear).is_ok());
    }
}
