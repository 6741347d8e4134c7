//! One stage of `make` in a process of its own: what it needs is got ready, then time and memory are taken.

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use brede::chart::mark::{Change, Halo, Key, LetterStyle, Lettering, Motif, Outline, Pick, PickedCells};
use brede::chart::{Chart, Mark};
use brede::ground::progress::Silent;
use brede::making::frame::{FrameOptions, Framed, Size, frame};
use brede::making::photo::{Limits, Photo};
use brede::making::reduce::{self, Colours, Look, Wish, reduce};
use brede::planning::thread_uses;
use brede::printing::ink::{PdfOptions, pdf};
use brede::printing::picture;
use brede::printing::sheet::{SheetOptions, lay_out};
use brede::printing::symbols::give_symbols;
use brede::printing::worked as compose;
use brede::reading::proof::{ProofOptions, Reader, proof};
use brede::thread::cloth::{Cloth, CoverModel, StitchKind};
use brede::thread::shades::ShadeCard;

use super::processes::{CARD, high_water, processor};

/// So many chart pages are proof-read at the most; of more, the times are reckoned for all.
const PROOF_PAGES: [usize; 6] = [30, 29, 25, 19, 13, 7];

/// Does a stage and says its seconds, those of the processors, and the most memory while it ran, in MB, what it was
/// given included.
fn measure<T>(stage: impl FnOnce() -> T) {
    measure_part(1.0, stage);
}

/// The same where only a part of it is done: the times are multiplied.
fn measure_part<T>(times: f64, stage: impl FnOnce() -> T) {
    // The mark of the most memory falls to what is held now (proc(5), clear_refs).
    std::fs::write("/proc/self/clear_refs", "5").unwrap();
    let (start, before) = (Instant::now(), processor());
    let done = black_box(stage());
    let seconds = start.elapsed().as_secs_f64() * times;
    let after = processor();
    let processor = f64::max(after[0] - before[0], after[1] - before[1]) * times;
    let memory = high_water(&std::fs::read_to_string("/proc/self/status").unwrap()).unwrap();
    println!("{seconds} {processor} {memory}");
    drop(done);
}

/// The arguments: the stage, the folder with the photo and what `brede make` made of it, columns, rows, threads.
pub(super) fn run(arguments: &[String]) {
    let folder = Path::new(&arguments[1]);
    let [columns, rows, colours] = [2, 3, 4].map(|at| arguments[at].parse::<u32>().unwrap());
    let framed = || -> Framed {
        let photo = Photo::open(&folder.join("photo.jpg"), &Limits::default(), &Silent).unwrap();
        let options = FrameOptions { size: Size::Both { columns, rows }, ..FrameOptions::default() };
        frame(&photo, &options, &Silent).unwrap()
    };
    let read = |ending: &str| std::fs::read(folder.join(format!("photo.{ending}"))).unwrap();
    let chart = || Chart::from_json(&read("chart.json")).unwrap();
    let laid_out = |chart: &Chart| {
        let preview = picture::preview(chart, &[], &Silent).unwrap();
        lay_out(chart, &[], preview, &SheetOptions::default(), &Silent).unwrap().sheet
    };
    match arguments[0].as_str() {
        "photo and frame" => measure(framed),
        "reduce" => {
            let (field, looks) = (framed().field, looks());
            let options =
                reduce::Options { colours: Colours::Exactly(colours as u16), ..reduce::Options::default() };
            measure(|| reduce(&field, &looks, &options, &Silent).unwrap());
        }
        "symbols" => {
            let mut chart = chart();
            let none = vec![String::new(); chart.needles().len()];
            chart.set_symbols(none);
            measure(|| give_symbols(&mut chart));
        }
        "marks" => {
            let chart = marked(chart());
            measure(|| compose(&chart).unwrap());
        }
        "kit" => {
            let chart = chart();
            measure(|| thread_uses(&chart, &[], &Silent));
        }
        "lay out" => {
            let chart = chart();
            measure(|| laid_out(&chart));
        }
        "ink" => {
            let sheet = laid_out(&chart());
            measure(|| pdf(&sheet, &PdfOptions::default(), &Silent).unwrap());
        }
        "pictures" => {
            let chart = chart();
            measure(|| {
                let cells = picture::png(picture::cells(&chart), &Silent).unwrap();
                let stitched = picture::stitched(&chart, &[], &Silent).unwrap();
                (cells, picture::png(stitched, &Silent).unwrap())
            });
        }
        "save and read" => {
            let chart = chart();
            measure(|| Chart::from_json(chart.to_json().as_bytes()).unwrap());
        }
        "proof" => {
            let (pdf, composed) = (read("pdf"), compose(&chart()).unwrap());
            let read = |pages| {
                proof(
                    &pdf,
                    &composed,
                    ProofOptions { pages: Some(pages), ..ProofOptions::default() },
                    &Reader::Here,
                    &Silent,
                )
            };
            // A sample with a page on which no grid is found ends early: then another one is read.
            let readable = PROOF_PAGES.into_iter().find(|&pages| {
                read(pages).inspect_err(|error| eprintln!("proof of {columns} x {rows}: {error}")).is_ok()
            });
            let pages = readable.expect("a sample of pages that can be read");
            let of_pages = read(1).map_or(pages, |found| found.of_pages);
            measure_part(of_pages as f64 / of_pages.min(pages) as f64, || read(pages).unwrap());
        }
        other => panic!("no stage is called {other}"),
    }
}

/// What the threads of the card look like, as `make` has it.
fn looks() -> Vec<Look> {
    let card = ShadeCard::read("card", &std::fs::read(CARD).unwrap()).unwrap();
    let (cover, cloth) = (CoverModel::default(), Cloth::default());
    let look =
        |colour: brede::ground::colour::LinearRgb| cover.look(&cloth, colour, 2, StitchKind::FullCross);
    card.shades().iter().map(|shade| Look { lab: look(shade.lab.linear()), wish: Wish::Allowed }).collect()
}

/// The chart with marks that grow with it: an outline, a halo, lettering and the key.
fn marked(mut chart: Chart) -> Chart {
    let [columns, rows] = [chart.size().columns() as i32, chart.size().rows() as i32];
    let motif = |cells| Motif { pick: vec![Pick { change: Change::Add, cells }], ..Motif::default() };
    let middle = [columns / 2, rows / 2];
    let thread = |at: usize| chart.needles()[at].threads.clone();
    let marks = vec![
        Mark::Outline(Outline {
            name: "flower".into(),
            label: None,
            motif: motif(PickedCells::At { cell: middle, within: 12.0, touching: Default::default() }),
            thread: thread(0),
            course: Default::default(),
            longest: 3.0,
            pattern: None,
            stitch: Default::default(),
        }),
        Mark::Halo(Halo {
            name: "ring".into(),
            label: Some("Ring".into()),
            motif: motif(PickedCells::Ellipse([columns / 4, rows / 4, columns * 3 / 4, rows * 3 / 4])),
            thread: thread(1),
            wide: 1,
            away: 1,
        }),
        Mark::Lettering(Lettering {
            name: "words".into(),
            text: "Low tide".into(),
            at: [4, 4],
            thread: thread(2),
            style: LetterStyle::default(),
        }),
        Mark::Key(Key {
            name: "key".into(),
            thread: thread(2),
            place: Default::default(),
            title: None,
            date: Some("2026".into()),
            initials: None,
            face: Default::default(),
            title_face: None,
            sample: Default::default(),
            columns: None,
            gap: 4,
            frame: None,
        }),
    ];
    chart.marks = marks.into_iter().map(Into::into).collect();
    chart.settle().unwrap();
    chart
}
