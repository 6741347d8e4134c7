#![allow(clippy::unwrap_used)]
use super::*;
use crate::cloth::StitchKind;
use crate::kit::route::tests::chart;
use crate::typeface;

fn sheet(columns: usize, cells: &[u8], stitch: StitchKind, only: Option<&[usize]>) -> Sheet {
    order_pages(&chart(columns, cells, stitch), &Handling::default(), only, Paper::A4)
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
fn nothing_stands_outside_the_page() {
    for paper in [Paper::A4, Paper::Letter, Paper::A3] {
        let chart = chart(120, &cells(), StitchKind::ThreeQuarter(crate::cloth::Corner::TopLeft));
        for page in &order_pages(&chart, &Handling::default(), None, paper).pages {
            for (_, shape) in &page.shapes {
                let points = match shape {
                    Shape::Line { points, .. } | Shape::Polygon { points, .. } => points.clone(),
                    Shape::Text { x, y, text, size, weight, align, .. } => {
                        let long = typeface::width(text, *weight, *size);
                        let left = match align {
                            Align::Left => *x,
                            Align::Centre => x - long / 2.0,
                            Align::Right => x - long,
                        };
                        vec![[left, *y], [left + long, *y]]
                    }
                    _ => continue,
                };
                for [x, y] in points {
                    assert!((4.0..=page.width - 4.0).contains(&x), "{shape:?}");
                    assert!((4.0..=page.height - 4.0).contains(&y), "{shape:?}");
                }
            }
        }
    }
}
