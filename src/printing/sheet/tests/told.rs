//! What pages must say whole.

use std::path::Path;

use super::super::boxes::BoxOrder;
use super::super::{bobbins, boxes, lists, order};
use super::*;
use crate::ground::progress::Silent;
use crate::planning::Handling;
use crate::planning::shopping::{Drawer, Project, pool};
use crate::thread::shades::ShadeCard;

/// Letter, A4, a narrow sheet, usual and large: the head of a page never loses a number.
#[test]
fn the_head_of_a_page_says_all_of_its_columns_and_rows() {
    for (paper, print) in [
        (Paper::A4, Print::Usual),
        (Paper::A4, Print::Large),
        (Paper::Letter, Print::Large),
        ("130x240mm".parse().unwrap(), Print::Large),
    ] {
        let chart = chart(200, 1250, 20, "Rock pool of the north shore in the evening light", "Kelp");
        let ChartSheet { sheet, chart_pages, .. } =
            laid(&chart, &SheetOptions { paper, print, ..SheetOptions::default() });
        let firsts = sheet.pages.len() - chart_pages;
        let mut seen = 0;
        for band in sheet.bookmarks.iter().filter(|one| one.title.starts_with("Rows ")) {
            for leaf in &band.children {
                // What the table of contents says of the page stands on it, in words or with a dash.
                let columns = leaf.title.split_once(": ").unwrap().1;
                let said = format!("{columns}, {}", band.title.to_lowercase());
                let texts = texts_of(&sheet.pages[leaf.page]);
                let has = |said: &str| texts.iter().any(|text| text.ends_with(said));
                assert!(has(&said) || has(&said.replace(" to ", "–")), "{said}: {:?}", &texts[..3]);
                let number = format!("age {} of {}", leaf.page + 1, sheet.pages.len());
                assert!(texts.iter().any(|text| text.contains(&number)), "{number}: {:?}", &texts[..3]);
                seen += 1;
            }
        }
        assert_eq!(seen, sheet.pages.len() - firsts);
    }
}

#[test]
fn the_strip_says_every_code_whole_the_kind_of_stitch_and_the_lines_of_its_page() {
    for (needles, print) in [(12, Print::Usual), (60, Print::Usual), (45, Print::Large)] {
        let chart = shared(needles);
        let options = SheetOptions { print, ..SheetOptions::default() };
        let ChartSheet { sheet, chart_pages, .. } =
            lay_out(&chart, &lines(), RgbImage::new(30, 40), &options, &Silent).unwrap();
        let (mut with_lines, mut without) = (0, 0);
        for page in &sheet.pages[sheet.pages.len() - chart_pages..] {
            let texts = texts_of(page);
            for needle in chart.needles() {
                let code = needle.code();
                let at = texts.iter().position(|text| *text == code);
                assert!(at.is_some(), "{code}: {texts:?}");
                if let Some(words) = needle.stitch.words() {
                    // Behind the name where that stands whole.
                    let same = texts.windows(3).any(|texts| {
                        texts[0] == code
                            && (texts[1] == words || texts[1].ends_with(',') && texts[2] == words)
                    });
                    assert!(same, "{code} {words}: {texts:?}");
                }
            }
            // Lines drawn on the cells are in layers, their samples in the strip are in none.
            let count = |layer: Layer| page.shapes.iter().filter(|(own, _)| *own == Some(layer)).count();
            let is_drawn = [count(Layer::Lettering), count(Layer::Outlines)].map(|count| count > 0);
            let dotted = page.shapes.iter().filter(|(layer, shape)| {
                layer.is_none() && matches!(shape, Shape::Line { stroke, .. } if !stroke.dash.is_empty())
            });
            assert_eq!(dotted.count() > 0, is_drawn[0]);
            let said = texts.iter().filter(|text| **text == "G1").count();
            assert_eq!(said, is_drawn.into_iter().filter(|drawn| *drawn).count(), "{texts:?}");
            let named = texts.iter().filter(|text| **text == "Gold").count();
            assert_eq!(named, said);
            *if said > 0 { &mut with_lines } else { &mut without } += 1;
        }
        assert!(with_lines > 0 && without > 0, "{with_lines} {without}");
    }
}

/// All words of every kind of page, each page's texts in the order in which they are drawn. `BREDE_WRITE_PAGES=1` writes
/// them anew, never where `CI` is set.
#[test]
fn pages_say_what_was_agreed() {
    let marked = |options: SheetOptions| {
        let mut chart = shared(9);
        chart.title = "Rock pool".into();
        let options = SheetOptions { date: "1 January 2026".into(), ..options };
        let mut sheet = lay_out(&chart, &lines(), RgbImage::new(30, 40), &options, &Silent).unwrap().sheet;
        sheet.mark(["HKTM-7-RA"]);
        sheet
    };
    let tablet = Some("160x230mm".parse().unwrap());
    let grey =
        SheetOptions { ink: Ink::Grey, show: Show::Symbols, paper: Paper::Letter, ..Default::default() };
    let large = SheetOptions { print: Print::Large, paper: Paper::A3, ..SheetOptions::default() };
    let mut told = String::new();
    for (name, options) in [
        ("usual", SheetOptions::default()),
        ("symbols in grey on letter", grey),
        ("large on A3", large),
        ("tablet", SheetOptions { tablet, ..SheetOptions::default() }),
    ] {
        tell(&mut told, name, &marked(options).pages);
    }
    agreed("pages.txt", &told);
}

/// The same of all lists and sheets that `kit` and `shades` print, of the same chart.
#[test]
fn lists_say_what_was_agreed() {
    let mut chart = shared(9);
    chart.title = "Rock pool".into();
    let mut lines = lines();
    lines[0].stitch = crate::chart::LineStitch::DoubleRunning;
    let handling = Handling::default();
    let project = Project::new(chart.clone(), lines.clone(), &handling, &Silent).unwrap();
    let list = pool(std::slice::from_ref(&project), &Drawer::new());
    let projects = std::slice::from_ref(&project);
    let both = [project.clone(), project.clone()];
    let card = ShadeCard::read(
        "tin",
        b"code,name,colour,price,owned,kind\nG1,Gold,#c0a040,2.40,1,metallic\nS2,Sea lavender,#8a7fb0,,,\n",
    )
    .unwrap();
    let boxed = boxes::in_order(&list, BoxOrder::Colour);
    let order = order::order_pages(&chart, &lines, &handling, None, 3, Paper::A4, &Silent).unwrap();
    let mut told = String::new();
    for (name, pages) in [
        ("shopping list", lists::shopping_pages(&list, projects, "EUR", Paper::A4).pages),
        ("shopping list of two charts", {
            let list = pool(&both, &Drawer::new());
            lists::shopping_pages(&list, &both, "", Paper::Letter).pages
        }),
        ("sorter cards", lists::sorter_pages(&project, None, Paper::A4).pages),
        ("sorter cards in the order of a box", lists::sorter_pages(&project, Some(&boxed), Paper::A4).pages),
        ("bobbin labels", bobbins::bobbin_pages(&list, projects, Paper::A4).pages),
        ("plan of a box", boxes::plan_pages(&boxed, projects, "3x4".parse().unwrap(), Paper::A4)),
        ("working order", order.sheet.pages),
        ("shade card", lists::card_pages(&card, Paper::A4).pages),
    ] {
        assert!(!pages.is_empty(), "{name}");
        tell(&mut told, name, &pages);
    }
    agreed("lists.txt", &told);
}

/// All words of pages, each under the name of its page.
fn tell(told: &mut String, name: &str, pages: &[Page]) {
    for (number, page) in pages.iter().enumerate() {
        told.push_str(&format!("== {name}, page {} ==\n", number + 1));
        for text in texts_of(page) {
            told.push_str(&format!("{text}\n"));
        }
    }
}

fn agreed(name: &str, told: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/printing/sheet/tests").join(name);
    if std::env::var_os("BREDE_WRITE_PAGES").is_some() && std::env::var_os("CI").is_none() {
        std::fs::write(&file, told).unwrap();
    }
    let agreed = std::fs::read_to_string(&file).unwrap();
    for (number, (one, other)) in told.lines().zip(agreed.lines()).enumerate() {
        assert_eq!(one, other, "{name}, line {}", number + 1);
    }
    assert_eq!(told.lines().count(), agreed.lines().count(), "{name}");
}
