//! What pages must say whole.

use super::*;
use crate::ground::progress::Silent;

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
                    let same = texts.windows(2).any(|pair| pair[0] == code && pair[1] == words);
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
        for (number, page) in marked(options).pages.iter().enumerate() {
            told.push_str(&format!("== {name}, page {} ==\n", number + 1));
            for text in texts_of(page) {
                told.push_str(&format!("{text}\n"));
            }
        }
    }
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/src/printing/sheet/tests/pages.txt");
    if std::env::var_os("BREDE_WRITE_PAGES").is_some() && std::env::var_os("CI").is_none() {
        std::fs::write(file, &told).unwrap();
    }
    let agreed = std::fs::read_to_string(file).unwrap();
    for (number, (one, other)) in told.lines().zip(agreed.lines()).enumerate() {
        assert_eq!(one, other, "line {}", number + 1);
    }
    assert_eq!(told.lines().count(), agreed.lines().count());
}
