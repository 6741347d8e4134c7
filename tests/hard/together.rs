//! Two jobs at once in one process.

use brede::ground::progress::Silent;
use brede::making::frame::{FrameOptions, Size, frame};
use brede::making::make::{MakeOptions, make};
use brede::making::photo::{Limits, Photo};
use brede::printing::ink::{PdfOptions, pdf};
use brede::printing::picture;
use brede::printing::sheet::{SheetOptions, lay_out};
use brede::printing::symbols::give_symbols;
use brede::printing::worked;
use brede::thread::shades::ShadeCard;

/// All that `brede make` writes of a photo, made by the library.
fn made(photo: &str, columns: u32) -> Vec<Vec<u8>> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/photos").join(photo);
    let photo = Photo::open(&path, &Limits::default(), &Silent).unwrap();
    let framing = FrameOptions { size: Size::Columns(columns), ..FrameOptions::default() };
    let framed = frame(&photo, &framing, &Silent).unwrap();
    let options = MakeOptions {
        title: photo.name().to_owned(),
        frame: framing,
        cloth: Default::default(),
        strands: 2,
        seen_from: brede::making::make::usually_seen_from(),
        cover: Default::default(),
        half_cross: Vec::new(),
        blends: None,
        mixes: 0,
        reduce: Default::default(),
        owned: Default::default(),
        fixed: Vec::new(),
        forbidden: Vec::new(),
        settings: Default::default(),
    };
    let mut making = make(&photo, &framed, &ShadeCard::demonstration(), &options, &Silent).unwrap();
    give_symbols(&mut making.chart);
    let composed = worked(&making.chart).unwrap();
    let (chart, lines) = (&composed.chart, &composed.lines);
    let preview = picture::preview(chart, lines, &Silent).unwrap();
    let sheet = lay_out(chart, lines, preview, &SheetOptions::default(), &Silent).unwrap();
    vec![
        making.chart.to_json().into_bytes(),
        pdf(&sheet.sheet, &PdfOptions::default(), &Silent).unwrap(),
        picture::stitched(chart, lines, &Silent).unwrap().into_raw(),
    ]
}

#[test]
fn two_makes_at_once_give_what_each_gives_alone() {
    let jobs = [("bee.jpg", 70), ("cat.jpg", 60)];
    let alone = jobs.map(|(photo, columns)| made(photo, columns));
    // Each in a thread of its own, and both sharing the same workers.
    let workers = brede::desk::workers(Some(2)).unwrap();
    let together = std::thread::scope(|scope| {
        let run = |(photo, columns): (&'static str, u32)| {
            let workers = &workers;
            scope.spawn(move || workers.install(|| made(photo, columns)))
        };
        jobs.map(run).map(|job| job.join().unwrap())
    });
    for (at, (alone, together)) in alone.iter().zip(&together).enumerate() {
        for (part, (alone, together)) in alone.iter().zip(together).enumerate() {
            assert!(alone == together, "job {at}, part {part}");
        }
    }
    assert_ne!(alone[0][1], alone[1][1]);
}
