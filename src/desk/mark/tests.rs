#![allow(clippy::unwrap_used)]
use super::*;
use crate::chart::{Cell, Needle, Thread};
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, StitchKind};

/// A field of one thread with a square of another, held as a page holds it.
fn pool() -> Source {
    let needle = |code: &str, colour: &str| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: code.into(),
            name: format!("shade {code}"),
            colour: colour.parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(30, 20).unwrap();
    let is_in = |at: usize| (10..16).contains(&(at % 30)) && (8..12).contains(&(at / 30));
    let cells = (0..size.cells()).map(|at| Cell::worked(usize::from(is_in(at)))).collect();
    let needles = vec![needle("A", "#204060"), needle("B", "#e0d0b0")];
    let mut chart = Chart::new("Pool".into(), size, Cloth::default(), needles, cells).unwrap();
    let card = b"code,name,colour\nA,shade A,#204060\nB,shade B,#e0d0b0\nC,Coral,#d06050\n";
    chart.card = Some(ShadeCard::read("tin", card).unwrap());
    Source::held("pool.chart.json", chart.to_json().into_bytes())
}

fn asked(chart: Source, changes: Vec<MarkChange>) -> MarkRequest {
    let (card, masks, sketch, output) = (None, Vec::new(), None, None);
    MarkRequest {
        chart,
        card,
        changes,
        masks,
        sketch,
        output,
        limits: Limits::default(),
        replace: Replace::Ours,
    }
}

fn step_of(chart: Source) -> StepRequest {
    StepRequest { chart, sketch: None, output: None, limits: Limits::default(), replace: Replace::Ours }
}

fn outline(name: &str, cells: PickedCells, thread: &str) -> MarkChange {
    let motif = Motif { pick: vec![Pick { change: Change::Add, cells }], ..Motif::default() };
    MarkChange::Add {
        mark: Box::new(Mark::Outline(Outline {
            name: name.into(),
            label: None,
            motif,
            thread: thread.into(),
            course: Course::Exact,
            longest: 3.0,
            pattern: None,
            stitch: LineStitch::default(),
        })),
    }
}

fn at(cell: [i32; 2]) -> PickedCells {
    PickedCells::At { cell, within: 0.0, touching: Touching::Sides }
}

/// The chart that stayed in a report.
fn held(report: &MarkReport) -> Source {
    let file = report.files.iter().find(|file| file.what == What::Chart).unwrap();
    Source::held(file.name.clone(), file.bytes.clone().unwrap())
}

#[test]
fn a_chart_that_is_held_is_marked_undone_and_redone_without_a_file() {
    // Coral is on the chart's own card alone.
    let marked = mark(&asked(pool(), vec![outline("rock", at([12, 10]), "Coral")]), &Silent).unwrap();
    let rock = &marked.marks[0];
    // By hand: 6 x 4 cells have 20 sides.
    assert_eq!((rock.cells, rock.backstitches, rock.threads[0].code.as_str()), (Some(24), 20, "C"));
    assert_eq!((marked.can_undo, marked.can_redo), (1, 0));
    let value = serde_json::to_value(&marked).unwrap();
    assert_eq!(value["marks"][0]["mark"], "outline");
    assert_eq!(value["chart"]["revision"], 2);
    let back = undo(&step_of(held(&marked)), &Silent).unwrap();
    assert_eq!((back.marks.len(), back.can_undo, back.can_redo), (0, 0, 1));
    assert_eq!(back.step, Some(Done::MarkAdded { mark: "rock".into(), of: "outline".into() }));
    let again = redo(&step_of(held(&back)), &Silent).unwrap();
    assert_eq!(again.marks, marked.marks);
    assert_eq!(again.chart.fingerprint, marked.chart.fingerprint);
    assert_eq!(again.chart.revision.number(), 4);
    let error = redo(&step_of(held(&again)), &Silent).unwrap_err();
    assert!(matches!(error, Error::Step(crate::chart::StepError::NothingUndone)), "{error}");
}

#[test]
fn looking_at_marks_writes_nothing_and_several_changes_are_several_steps() {
    let looked = mark(&asked(pool(), Vec::new()), &Silent).unwrap();
    assert!(looked.files.is_empty() && looked.step.is_none());
    let changes = vec![
        outline("rock", at([12, 10]), "2 of A"),
        outline("all", PickedCells::Stitched, "A"),
        MarkChange::Change {
            name: "rock".into(),
            to: Box::new(MarkSettings {
                name: Some("stone".into()),
                thread: Some("B".into()),
                ..MarkSettings::default()
            }),
        },
        MarkChange::Reorder { name: "all".into(), to: Order::Bottom },
    ];
    let report = mark(&asked(pool(), changes), &Silent).unwrap();
    assert_eq!(report.can_undo, 4);
    let names: Vec<&str> = report.marks.iter().map(|mark| mark.name.as_str()).collect();
    assert_eq!(names, ["all", "stone"]);
    // Another thread keeps the strands where none are said.
    assert_eq!(report.marks[1].threads, [StrandsOf { strands: 2, code: "B".into() }]);
}

#[test]
fn masks_that_a_page_holds_are_found_by_their_names() {
    let picture =
        image::GrayImage::from_fn(30, 20, |x, y| image::Luma([if x < 3 && y < 2 { 255 } else { 0 }]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    let bytes = bytes.into_inner();
    let marked = |bytes: &[u8]| {
        let change = outline("corner", PickedCells::MaskFile("corner.png".into()), "B");
        let masks = vec![Source::held("corner.png", bytes)];
        mark(&MarkRequest { masks, ..asked(pool(), vec![change]) }, &Silent)
    };
    assert_eq!(marked(&bytes).unwrap().marks[0].cells, Some(6));
    // Half a picture is no mask: its rows below would count as outside.
    let error = marked(&bytes[..bytes.len() - 30]).unwrap_err();
    assert!(matches!(error, Error::MarkFile(FileError::MaskPicture { .. })), "{error:?}");
}

#[test]
fn a_choice_is_shown_and_leaves_the_chart_alone() {
    let request = ChooseRequest {
        chart: pool(),
        name: "rock".into(),
        motif: Motif { pick: vec![Pick { change: Change::Add, cells: at([12, 10]) }], ..Motif::default() },
        masks: Vec::new(),
        picture: Target::Held,
        limits: Limits::default(),
        replace: Replace::Ours,
    };
    let report = choose(&request, &Silent).unwrap();
    assert_eq!((report.cells, report.extent), (24, Some([11, 9, 16, 12])));
    assert_eq!((report.files.len(), report.files[0].what), (1, What::Sketch));
}
