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

/// ISO 14289-1, 7.1: all that is drawn is a part of the structure or marked as for the eye alone; every mark is known to
/// the tree by its number, pictures have words, links are in the tree.
#[test]
fn everything_on_a_page_is_in_its_structure_or_for_the_eye_alone() {
    let sheet = sheet(90, 120);
    let bytes = pdf(&sheet, &PdfOptions::default(), &Silent).unwrap();
    let file = lopdf::Document::load_mem(&bytes).unwrap();
    let catalog = file.catalog().unwrap();
    let root = catalog.get(b"StructTreeRoot").unwrap().as_reference().unwrap();
    let root = file.get_dictionary(root).unwrap();
    let parents = file.get_dictionary(root.get(b"ParentTree").unwrap().as_reference().unwrap()).unwrap();
    let parents = parents.get(b"Nums").unwrap().as_array().unwrap();
    let of = |number: i64| {
        let at = parents.chunks(2).find(|pair| pair[0].as_i64().unwrap() == number);
        at.map(|pair| pair[1].clone()).unwrap()
    };
    let mut tags = std::collections::BTreeMap::new();
    let (mut marks, mut links) = (0, 0);
    for &page in file.get_pages().values() {
        let known = file.get_dictionary(page).unwrap().get(b"StructParents").unwrap().as_i64().unwrap();
        let known = of(known).as_array().unwrap().clone();
        let content = lopdf::content::Content::decode(&file.get_page_content(page)).unwrap();
        // Whether each mark that is open says what it is: layers do not.
        let mut open: Vec<bool> = Vec::new();
        let mut here = 0;
        for operation in &content.operations {
            match operation.operator.as_str() {
                "BDC" if operation.operands[0].as_name().unwrap() == b"OC" => open.push(false),
                "BDC" => {
                    let number = operation.operands[1].as_dict().unwrap().get(b"MCID").unwrap();
                    assert_eq!(number.as_i64().unwrap(), here);
                    let element = known[usize::try_from(here).unwrap()].as_reference().unwrap();
                    let element = file.get_dictionary(element).unwrap();
                    let tag = element.get(b"S").unwrap().as_name().unwrap().to_vec();
                    assert_eq!(tag, operation.operands[0].as_name().unwrap());
                    if tag == b"Figure" {
                        assert!(!lopdf::decode_text_string(element.get(b"Alt").unwrap()).unwrap().is_empty());
                    }
                    *tags.entry(String::from_utf8(tag).unwrap()).or_insert(0) += 1;
                    here += 1;
                    open.push(true);
                }
                "BMC" => open.push(true),
                "EMC" => _ = open.pop().unwrap(),
                "f" | "S" | "Tj" | "Do" => assert!(open.contains(&true), "{operation:?}"),
                _ => {}
            }
        }
        assert!(open.is_empty());
        assert_eq!(known.len(), usize::try_from(here).unwrap());
        marks += here;
        let annotations = file.get_dictionary(page).unwrap().get(b"Annots");
        for link in annotations.ok().and_then(|all| all.as_array().ok()).into_iter().flatten() {
            let link = file.get_dictionary(link.as_reference().unwrap()).unwrap();
            let element = of(link.get(b"StructParent").unwrap().as_i64().unwrap()).as_reference().unwrap();
            assert_eq!(file.get_dictionary(element).unwrap().get(b"S").unwrap().as_name().unwrap(), b"Link");
            links += 1;
        }
    }
    // The title; a heading of the key, the map and each chart page; a picture of each, and one for each needle in the
    // key; its five heads and five cells a needle.
    let chart_pages = sheet.pages.len() - 3;
    assert_eq!((tags["H1"], tags["H2"]), (1, 2 + chart_pages));
    assert!(tags["Figure"] >= 2 + chart_pages + 20, "{tags:?}");
    assert!(tags["TD"] >= 20 * 5 && tags["TH"] >= 5 && tags["P"] > 5, "{tags:?}");
    assert!(marks > 100 && links > chart_pages, "{marks} {links}");
}
