#![allow(clippy::unwrap_used)]
use super::super::{Paper, Sheet};
use super::*;
use crate::chart::{Cell, Chart, Needle, Thread};
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;
use crate::planning::Handling;
use crate::planning::shopping::{Drawer, Project, pool};
use crate::printing::sheet::tests::texts;
use crate::printing::symbols::SymbolId;
use crate::thread::cloth::{Cloth, StitchKind};
use crate::thread::shades::ShadeCard;

fn project(needles: usize) -> Project {
    let needle = |index: usize| Needle {
        symbol: SymbolId::all().nth(index % 20).unwrap().id().into(),
        threads: vec![Thread {
            code: format!("N{index}"),
            name: format!("A shade with the long name of number {index}"),
            colour: "#306090".parse().unwrap(),
            strands: 2,
            price: Some("1.15".parse().unwrap()),
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(20, 20).unwrap();
    let cells = (0..400).map(|at| Cell::worked(at % needles)).collect();
    let needles = (0..needles).map(needle).collect();
    let chart = Chart::new("Pool".into(), size, Cloth::default(), needles, cells).unwrap();
    Project::new(chart, Vec::new(), &Handling::default(), &Silent).unwrap()
}

#[test]
fn the_sorter_has_holes_for_lines_and_for_every_way_a_thread_is_worked() {
    let chart = super::super::tests::shared(12);
    let mut lines = super::super::tests::lines();
    let second = lines[0].threads[0].clone();
    lines[1].threads.push(Thread { code: "H2".into(), name: "Harbour".into(), ..second });
    let wanted: Vec<String> = chart.needles().iter().map(|n| n.code()).collect();
    let project = Project::new(chart, lines, &Handling::default(), &Silent).unwrap();
    let sheet = sorter_pages(&project, None, Paper::A4);
    let texts = texts(&sheet);
    for code in wanted.iter().map(String::as_str).chain([
        "G1",
        "G1 + H2",
        "2 strands, half cross /",
        "1 strand, backstitch",
        "1 + 1 strands, backstitch",
    ]) {
        assert!(texts.contains(&code), "{code}: {texts:?}");
    }
    assert_eq!(texts.iter().filter(|text| text.ends_with("backstitch")).count(), 2);
    let shapes = sheet.pages.iter().flat_map(|page| &page.shapes);
    let circles =
        shapes.filter(|(_, shape)| matches!(shape, Shape::Line { points, .. } if points.len() == 37));
    assert_eq!(circles.count(), 14);
    within_the_page(&sheet);
}

/// No text begins or ends outside the page, and none stands below the last line of the notes.
fn within_the_page(sheet: &Sheet) {
    for page in &sheet.pages {
        for (_, shape) in &page.shapes {
            if let Shape::Text { x, y, text, size, weight, align, .. } = shape {
                let long = typeface::width(text, *weight, *size);
                let left = align.left(*x, long);
                assert!(left >= MARGIN - mm(1e-6) && left + long <= page.width - MARGIN + mm(1e-6), "{text}");
                assert!(*y <= page.height - MARGIN + mm(1e-6), "{text}");
            }
        }
    }
}

#[test]
fn every_thread_stands_on_the_shopping_list_the_sorter_and_the_card() {
    for paper in [Paper::A4, Paper::Letter] {
        let project = project(100);
        let list = pool(std::slice::from_ref(&project), &Drawer::new());
        let shopping = shopping_pages(&list, std::slice::from_ref(&project), "EUR", paper);
        let sorter = sorter_pages(&project, None, paper);
        let card = card_pages(&ShadeCard::demonstration(), paper);
        assert!(shopping.pages.len() > 1 && sorter.pages.len() > 1 && card.pages.len() > 1);
        for index in 0..100 {
            assert!(texts(&shopping).contains(&format!("N{index}").as_str()), "N{index}");
            assert!(texts(&sorter).contains(&format!("N{index}").as_str()), "N{index}");
        }
        for shade in ShadeCard::demonstration().shades() {
            assert!(texts(&card).contains(&shade.code.as_str()), "{}", shade.code);
        }
        for sheet in [shopping, sorter, card] {
            within_the_page(&sheet);
        }
    }
}

/// What is to be bought is bold and has a box to tick, what is owned is not; the sums stand under the last row, and no
/// star is explained where none stands.
#[test]
fn the_shopping_list_sets_apart_what_is_bought_and_adds_it_up() {
    let project = project(4);
    let mut drawer = Drawer::new();
    drawer.entry("N1").owned = Some(5.into());
    let list = pool(std::slice::from_ref(&project), &drawer);
    let sheet = shopping_pages(&list, std::slice::from_ref(&project), "EUR", Paper::A4);
    assert_eq!(
        texts(&sheet)[..9],
        ["Threads for Pool", "Code", "Name", "Used", "Skeins", "Owned", "Buy", "Price", "Cost"]
    );
    let name = |number: usize| format!("A shade with the long name of number {number}");
    let weights: Vec<Weight> = (0..4)
        .map(|number| {
            let shown = sheet.pages[0].shapes.iter().find_map(|(_, shape)| match shape {
                Shape::Text { text, weight, .. }
                    if name(number).starts_with(text.trim_end_matches('…')) && text.len() > 20 =>
                {
                    Some(*weight)
                }
                _ => None,
            });
            shown.unwrap()
        })
        .collect();
    assert!(weights.contains(&Weight::Bold));
    let all = texts(&sheet);
    let at = all.iter().position(|text| *text == "In all").unwrap();
    assert_eq!(all[at..at + 4], ["In all", "4", "3", "3.45"]);
    assert_eq!(all.iter().filter(|text| **text == "–").count(), 2);
    assert!(!all.join(" ").contains('*'), "{all:?}");
    let frames =
        sheet.pages[0].shapes.iter().filter(|(_, shape)| matches!(shape, Shape::Frame { .. })).count();
    assert_eq!(frames, 4 + 3);
}
