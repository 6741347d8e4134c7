#![allow(clippy::unwrap_used)]
use super::*;
use crate::chart::{Cell, Chart, Needle, Thread};
use crate::ground::progress::Silent;
use crate::ground::store::seal;
use crate::ground::units::GridSize;
use crate::printing::sheet::{self, Sheet, SheetOptions};
use crate::thread::cloth::{Cloth, StitchKind};
use image::RgbImage;
use std::ops::ControlFlow;

fn sheet(columns: u32, rows: u32) -> Sheet {
    let needles = (0..20u8).map(|index| Needle {
        symbol: crate::printing::symbols::SymbolId::all().nth(usize::from(index)).unwrap().id().to_owned(),
        threads: vec![Thread {
            code: format!("W{index:02}"),
            name: format!("Water {index}"),
            colour: crate::ground::colour::Srgb8 { r: index * 12, g: 90, b: 255 - index * 12 },
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    });
    let size = GridSize::new(columns, rows).unwrap();
    let cell = |at: usize| if at.is_multiple_of(31) { Cell::BARE } else { Cell::worked(at / 5 % 20) };
    let cells = (0..size.cells()).map(cell).collect();
    let chart =
        Chart::new("Λιμνούλα 潮\u{202e} pool\u{7}".into(), size, Cloth::default(), needles.collect(), cells)
            .unwrap();
    let options = SheetOptions { date: "1 January 2026".into(), ..SheetOptions::default() };
    let picture = RgbImage::from_pixel(60, 80, image::Rgb([200, 180, 90]));
    sheet::lay_out(&chart, &[], picture, &options, &Silent).unwrap().sheet
}

#[test]
fn the_same_sheet_gives_the_same_bytes_twice_in_one_process() {
    let sheet = sheet(90, 120);
    let options = PdfOptions { created: 1_767_225_600, author: "Ines".into(), stamp: None };
    let first = pdf(&sheet, &options, &Silent).unwrap();
    let second = pdf(&sheet, &options, &Silent).unwrap();
    assert!(first == second, "{} and {} bytes", first.len(), second.len());
}

#[test]
fn facts_bookmarks_links_and_layers_are_in_the_file() {
    let sheet = sheet(90, 120);
    let stamp = "0123456789abcdef/7/fedcba9876543210".to_owned();
    let options = PdfOptions { created: 1_767_225_600, author: "Ines".into(), stamp: Some(stamp.clone()) };
    let bytes = pdf(&sheet, &options, &Silent).unwrap();
    let sealed = seal::read(&bytes).unwrap();
    assert_eq!((sealed.state, sealed.stamp), (seal::State::Unchanged, Some(stamp)));
    let file = lopdf::Document::load_mem(&bytes).unwrap();
    let metadata = file.catalog().unwrap().get(b"Metadata").unwrap().as_reference().unwrap();
    let metadata = file.get_object(metadata).unwrap().as_stream().unwrap();
    assert_eq!(metadata.dict.get(b"Subtype").unwrap().as_name().unwrap(), b"XML");
    assert_eq!(file.get_pages().len(), sheet.pages.len());
    let info = file.trailer.get(b"Info").unwrap().as_reference().unwrap();
    let info = file.get_dictionary(info).unwrap();
    assert_eq!(info.get(b"CreationDate").unwrap().as_str().unwrap(), b"D:20260101000000Z");
    let title = lopdf::decode_text_string(info.get(b"Title").unwrap()).unwrap();
    assert_eq!(title, "Λιμνούλα 潮 pool ");
    let toc = file.get_toc().unwrap();
    let titles: Vec<&str> = toc.toc.iter().map(|entry| entry.title.as_str()).collect();
    assert!(titles.starts_with(&["Cover", "Key", "Page map"]), "{titles:?}");
    let catalog = file.catalog().unwrap();
    let layers = catalog.get(b"OCProperties").unwrap().as_dict().unwrap();
    let layers = layers.get(b"OCGs").unwrap().as_array().unwrap();
    assert_eq!(layers.len(), sheet::Layer::ALL.len());
    for layer in layers {
        // The writer's library would name another program here.
        let layer = file.get_dictionary(layer.as_reference().unwrap()).unwrap();
        assert!(
            layer.iter().all(|(key, _)| [b"Type".as_slice(), b"Name", b"Intent"].contains(&key.as_slice()))
        );
    }
    let links: usize = file
        .get_pages()
        .values()
        .filter_map(|&page| file.get_dictionary(page).ok()?.get(b"Annots").ok()?.as_array().ok())
        .map(Vec::len)
        .sum();
    assert_eq!(links, sheet.pages.iter().map(|page| page.links.len()).sum::<usize>());
}

#[test]
fn a_job_that_is_told_to_stop_stops() {
    struct Stop;
    impl crate::ground::progress::Progress for Stop {
        fn at(&self, _: crate::ground::progress::Stage, _: u64, _: u64) -> ControlFlow<()> {
            ControlFlow::Break(())
        }
        fn ask(&self) -> ControlFlow<()> {
            ControlFlow::Break(())
        }
    }
    let stopped = pdf(&sheet(20, 20), &PdfOptions::default(), &Stop);
    assert!(matches!(stopped, Err(InkError::Stopped(_))));
}
