#![allow(clippy::unwrap_used)]
use super::*;
use crate::ground::progress::Silent;
use crate::planning::route::tests::chart;
use crate::printing::sheet::tests::texts_of;
use crate::printing::typeface;
use crate::thread::cloth::StitchKind;

fn sheet(columns: usize, cells: &[u8], stitch: StitchKind, only: Option<&[usize]>) -> Sheet {
    let chart = chart(columns, cells, stitch);
    order_pages(&chart, &[], &Handling::default(), only, usize::MAX, Paper::A4, &Silent).unwrap().sheet
}

/// Stripes of three needles with strays, over several pages.
fn cells() -> Vec<u8> {
    (0..120 * 160)
        .map(|at| {
            let (x, y) = (at % 120, at / 120);
            if (x * 7 + y * 13) % 29 == 0 { 0 } else { 1 + ((x + y / 3) / 5 % 3) as u8 }
        })
        .collect()
}

fn numbers(page: &Page) -> Vec<String> {
    let texts = page.shapes.iter().filter_map(|(_, shape)| match shape {
        Shape::Text { text, weight: Weight::Bold, align: Align::Centre, .. } => Some(text.clone()),
        _ => None,
    });
    texts.collect()
}

#[test]
fn every_start_is_numbered_once_and_every_thread_ends() {
    let sheet = sheet(120, &cells(), StitchKind::FullCross, Some(&[1]));
    let starts = sheet.pages[1..].iter().flat_map(|page| {
        // The legend has one too, the last of the page.
        let mut numbers = numbers(page);
        numbers.pop();
        numbers
    });
    let mut starts: Vec<usize> = starts.map(|text| text.parse().unwrap()).collect();
    starts.sort_unstable();
    assert!(starts.len() > 50, "{}", starts.len());
    assert_eq!(starts, (1..=starts.len()).collect::<Vec<_>>());
    let squares =
        |page: &Page| page.shapes.iter().filter(|(_, shape)| matches!(shape, Shape::Fill { .. })).count() - 1;
    assert_eq!(sheet.pages[1..].iter().map(squares).sum::<usize>(), starts.len());
    // The list says as many threads.
    let listed = sheet.pages[0]
        .shapes
        .iter()
        .any(|(_, shape)| matches!(shape, Shape::Text { text, .. } if *text == starts.len().to_string()));
    assert!(listed);
}

#[test]
fn every_cell_of_every_needle_is_shown_once() {
    let cells = cells();
    let sheet = sheet(120, &cells, StitchKind::HalfCross, None);
    let shown: u32 = sheet
        .pages
        .iter()
        .flat_map(|page| &page.shapes)
        .filter_map(|(_, shape)| match shape {
            Shape::Tints { tints, .. } => Some(tints),
            _ => None,
        })
        .flatten()
        .flat_map(|tint| &tint.rects)
        .map(|[_, _, columns, rows]| columns * rows)
        .sum();
    assert_eq!(shown as usize, cells.iter().filter(|&&cell| cell > 0).count());
    assert_eq!(sheet.bookmarks.len(), 4);
}

#[test]
fn a_needle_of_one_column_is_shown_among_its_neighbours() {
    // Cells in the last column alone, in three rows.
    let cells: Vec<u8> =
        (0..45 * 30).map(|at| u8::from(at % 45 == 44 && (7..10).contains(&(at / 45)))).collect();
    let one = sheet(45, &cells, StitchKind::FullCross, None);
    let texts = texts_of(&one.pages[1]);
    assert!(texts.contains(&"Columns 36 to 45, rows 8 to 11"), "{texts:?}");
    // The bold rule after 40 columns has its number.
    assert!(texts.contains(&"40"), "{texts:?}");
    let list = one.pages[0].shapes.iter();
    assert!(list.clone().any(|(_, s)| matches!(s, Shape::Text { text, .. } if text == "Lengths")));
    assert_eq!(
        (said_range("column", &(115..116)), said_range("row", &(2..4))),
        ("column 116".into(), "rows 3 to 4".into())
    );
}

#[test]
fn nothing_stands_outside_the_page() {
    for paper in [Paper::A4, Paper::Letter, Paper::A3] {
        let chart = chart(120, &cells(), StitchKind::ThreeQuarter(crate::thread::cloth::Corner::TopLeft));
        for page in &order_pages(&chart, &[], &Handling::default(), None, usize::MAX, paper, &Silent)
            .unwrap()
            .sheet
            .pages
        {
            for (_, shape) in &page.shapes {
                let points = match shape {
                    Shape::Line { points, .. } | Shape::Polygon { points, .. } => points.clone(),
                    Shape::Text { x, y, text, size, weight, align, .. } => {
                        let long = typeface::width(text, *weight, *size);
                        let left = align.left(*x, long);
                        vec![[left, *y], [left + long, *y]]
                    }
                    _ => continue,
                };
                for [x, y] in points {
                    assert!((mm(4.0)..=page.width - mm(4.0)).contains(&x), "{shape:?}");
                    assert!((mm(4.0)..=page.height - mm(4.0)).contains(&y), "{shape:?}");
                }
            }
        }
    }
}

#[test]
fn so_many_pages_hold_whole_needles_and_the_list_says_which_are_left_out() {
    let cells = cells();
    let small: Vec<u8> =
        cells.iter().enumerate().map(|(at, &cell)| if at < 240 { 4 } else { cell }).collect();
    let chart = chart(120, &small, StitchKind::FullCross);
    let order =
        |most| order_pages(&chart, &[], &Handling::default(), None, most, Paper::A4, &Silent).unwrap();
    let all = order(usize::MAX);
    assert_eq!((all.shown, all.left_out.len(), &all.cut_short), (4, 0, &None));
    // Three needles spread over the chart take as many pages each; the fourth lies in two rows.
    let each = (all.sheet.pages.len() - 1) / 3;
    let some = order(each + 1);
    assert_eq!((some.shown, some.left_out.as_slice()), (2, ["N2".to_owned(), "N3".to_owned()].as_slice()));
    assert!(some.sheet.pages.len() <= each + 2 && some.cut_short.is_none());
    let dashes = texts_of(&some.sheet.pages[0]).iter().filter(|text| **text == "–").count();
    assert_eq!(dashes, 2);
    // What is shown is shown as with all pages.
    assert_eq!(some.sheet.pages[1].shapes.len(), all.sheet.pages[1].shapes.len());
    // Where not even one has room, the first pages of the first are better than none.
    let alone = order_pages(&chart, &[], &Handling::default(), Some(&[0]), 2, Paper::A4, &Silent).unwrap();
    assert_eq!((alone.shown, alone.sheet.pages.len(), alone.cut_short), (0, 3, Some("N1".to_owned())));
    assert!(alone.left_out.is_empty());
}
