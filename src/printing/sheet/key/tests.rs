#![allow(clippy::unwrap_used)]
use image::RgbImage;

use super::super::tests::{chart, lines, shared, texts_of};
use super::super::{Print, Shape, Sheet, lay_out};
use super::*;
use crate::ground::progress::Silent;
use crate::ground::units::Millimetres;
use crate::planning::Handling;
use crate::planning::shopping::{Drawer, Item, Project, pool};
use crate::printing::sheet::Paper;

fn laid(chart: &Chart, lines: &[WorkedLine], options: &SheetOptions) -> Sheet {
    lay_out(chart, lines, RgbImage::new(30, 40), options, &Silent).unwrap().sheet
}

/// The pages of the key: those between the cover and the map or the chart pages.
fn key_pages(sheet: &Sheet) -> Vec<&Page> {
    sheet.pages.iter().filter(|page| texts_of(page).iter().any(|text| text.starts_with("Key"))).collect()
}

#[test]
fn codes_and_names_stand_whole_in_usual_and_in_large_print() {
    let mut lines = lines();
    lines[0].label = "Found by Ines at the evening tide".into();
    for (print, paper) in [
        (Print::Usual, Paper::A4),
        (Print::Large, Paper::A4),
        (Print::Large, Paper::Letter),
        (Print::Usual, "148x210mm".parse().unwrap()),
    ] {
        let chart = shared(45);
        let options = SheetOptions { print, paper, ..SheetOptions::default() };
        let sheet = laid(&chart, &lines, &options);
        let all = key_pages(&sheet).iter().flat_map(|page| texts_of(page)).collect::<Vec<_>>().join(" ");
        for needle in chart.needles() {
            let name = match needle.threads.len() {
                1 => "Weathered barnacle".to_owned(),
                _ => "Weathered barnacle + Weathered barnacle".to_owned(),
            };
            let stitch = needle.stitch.words().map(|words| format!(", {words}")).unwrap_or_default();
            let wanted = format!("{} {name}{stitch} {}", needle.code(), needle.strands_text());
            assert!(all.contains(&wanted), "{print:?} {wanted}: {all}");
        }
        assert!(all.contains("G1 Found by Ines at the evening tide: Gold 1"), "{all}");
        // Codes of one thread are never cut, however long.
        assert!(!all.contains('…'), "{all}");
    }
}

/// Figures of the last column, from its right ends.
fn skeins_of(sheet: &Sheet) -> Vec<String> {
    let mut figures = Vec::new();
    for page in key_pages(sheet) {
        let right: Vec<&str> = page
            .shapes
            .iter()
            .filter_map(|(_, shape)| match shape {
                Shape::Text { text, align: Align::Right, .. } => Some(text.as_str()),
                _ => None,
            })
            .filter(|text| !["Stitches", "Skeins", "Length"].contains(text))
            .collect();
        // Stitches, or a length, and then skeins.
        figures.extend(right.chunks(2).map(|pair| pair[1].to_owned()));
    }
    figures
}

#[test]
fn the_skeins_of_the_key_add_up_to_those_of_the_cover_and_of_the_shopping_list() {
    for print in [Print::Usual, Print::Large] {
        let chart = shared(45);
        // One line in a thread of the chart, one in a thread of its own.
        let mut lines = lines();
        lines[0].threads = vec![chart.needles()[3].threads[0].clone()];
        let sheet = laid(&chart, &lines, &SheetOptions { print, ..SheetOptions::default() });
        let figures = skeins_of(&sheet);
        assert_eq!(figures.len(), 45 + 2);
        let parts: Vec<&str> = figures.iter().flat_map(|text| text.split(" + ")).collect();
        let sum: u64 = parts
            .iter()
            .filter(|part| **part != TOLD_ABOVE)
            .map(|part| part.trim_end_matches('*').parse::<u64>().unwrap())
            .sum();
        let numbers = parts.iter().filter(|part| **part != TOLD_ABOVE).count();
        let project = Project::new(chart, lines, &Handling::default(), &Silent).unwrap();
        let list = pool(&[project], &Drawer::new());
        assert_eq!(sum, list.items.iter().map(Item::skeins).sum::<u64>());
        assert_eq!(numbers, list.items.len());
        assert!(parts.len() > numbers);
        let cover = texts_of(&sheet.pages[0]).join(" ");
        assert!(cover.contains(&format!("Skeins {sum} to have ready")), "{cover}");
        let threads = list.items.len();
        let wanted = format!("Threads {threads} threads with 45 symbols, 1 of them for outlines alone");
        assert!(cover.contains(&wanted), "{wanted}: {cover}");
        assert!(cover.contains("m of backstitch, 2 lines of the key"), "{cover}");
        let notes = key_pages(&sheet).iter().flat_map(|page| texts_of(page)).collect::<Vec<_>>().join(" ");
        assert!(notes.contains(&format!("Skeins in all: {sum}; those of a thread stand once")), "{notes}");
    }
}

#[test]
fn a_thread_at_its_limit_and_a_reel_are_told_in_the_key() {
    let mut plain = chart(60, 60, 2, "Rock pool", "Kelp");
    let uses = crate::planning::thread_uses(&plain, &[], &Silent).unwrap();
    // A skein just a hundredth longer than what is taken of the first; a reel of one strand of the second.
    let metres = uses[0].strand_metres / 6.0 / 0.99;
    let mut needles = plain.needles().to_vec();
    needles[0].threads[0].skein_mm = Some(Millimetres::new(metres * 1000.0).unwrap());
    needles[1].threads[0].kind = Some("metallic".into());
    let (size, cells) = (plain.size(), plain.cells().to_vec());
    plain = Chart::new("x".into(), size, plain.cloth, needles, cells).unwrap();
    let sheet = laid(&plain, &[], &SheetOptions::default());
    assert_eq!(skeins_of(&sheet)[0], "1*");
    let notes = key_pages(&sheet).iter().flat_map(|page| texts_of(page)).collect::<Vec<_>>().join(" ");
    let code = &plain.needles()[1].threads[0].code;
    assert!(
        notes.contains("* Nearly used up") && notes.contains(&format!("{code} 8 m of 1 strand")),
        "{notes}"
    );
}

#[test]
fn a_thread_of_one_needle_needs_no_word_of_needles_and_a_covered_one_buys_nothing() {
    let plain = chart(40, 30, 6, "Rock pool", "Kelp");
    let sheet = laid(&plain, &[], &SheetOptions::default());
    assert!(texts_of(&sheet.pages[0]).contains(&"6 threads"));
    assert!(!key_pages(&sheet).iter().flat_map(|page| texts_of(page)).any(|text| text.contains(TOLD_ABOVE)));
    // All cells of the last needle are covered by the first.
    let cells = plain.cells().iter().map(|cell| match cell.needle() {
        Some(5) => crate::chart::Cell::worked(0),
        _ => *cell,
    });
    let (size, needles) = (plain.size(), plain.needles().to_vec());
    let covered = Chart::new("x".into(), size, plain.cloth, needles, cells.collect()).unwrap();
    let sheet = laid(&covered, &[], &SheetOptions::default());
    assert!(texts_of(&sheet.pages[0]).contains(&"5 threads"));
    assert_eq!(skeins_of(&sheet), ["1", "1", "1", "1", "1", "0"]);
}

#[test]
fn pairs_for_colour_blind_eyes_take_no_page_of_their_own() {
    let (mut shown, mut left_out) = (0, 0);
    for print in [Print::Usual, Print::Large] {
        for needles in 10..80 {
            let chart = chart(40, 30, needles, "Rock pool", "Weathered barnacle");
            let pairs = symbols::alike(&chart);
            let options = SheetOptions { print, ..SheetOptions::default() };
            let key = Key::new(&chart, &[], &pairs, &options);
            let last = key.page_count() - 1;
            let on_last = key.rows.iter().filter(|placed| placed.page == last);
            assert!(on_last.clone().any(|placed| !placed.row.is_of_pairs()), "{print:?} {needles}");
            let has_pairs = key.rows.iter().any(|placed| placed.row.is_of_pairs());
            assert_eq!(has_pairs, !pairs.is_empty() && key.left_out == 0);
            if key.left_out > 0 {
                assert_eq!(key.left_out, pairs.len());
                let note = note(&chart, &[], Show::Both, [1, 1], key.left_out);
                assert!(
                    note.contains("alike to colour-blind eyes") && note.contains("brede can list them"),
                    "{note}"
                );
            }
            *if has_pairs { &mut shown } else { &mut left_out } += 1;
        }
    }
    assert!(shown > 20 && left_out > 2, "{shown} {left_out}");
}

/// Without symbols neither cover nor key tells of any, and a needle has one swatch.
#[test]
fn a_print_of_colours_says_what_is_true_for_it() {
    let chart = shared(12);
    let said = |show| {
        let sheet = laid(&chart, &[], &SheetOptions { show, ..SheetOptions::default() });
        let texts = sheet.pages[..2].iter().flat_map(|page| texts_of(page)).collect::<Vec<_>>().join(" ");
        let boxes = key_pages(&sheet)[0].shapes.iter();
        let boxes = boxes.filter(|(_, shape)| matches!(shape, Shape::Frame { .. })).count();
        (texts, boxes)
    };
    let (texts, boxes) = said(Show::Colours);
    for wrong in ["Trust the symbol", "paler", "Squares without a symbol", "by symbol", "black the corners"] {
        assert!(!texts.contains(wrong), "{wrong}: {texts}");
    }
    assert!(texts.contains("colours without symbols"), "{texts}");
    let (both, with_symbols) = said(Show::Both);
    assert!(both.contains("Trust the symbol, not the tint"));
    assert_eq!(with_symbols - boxes, 12);
    let (symbols, _) = said(Show::Symbols);
    assert!(symbols.contains("Trust the symbol.") && !symbols.contains("tint"), "{symbols}");
}
