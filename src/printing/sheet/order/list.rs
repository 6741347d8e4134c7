//! All needles and outlines with the number of threads that each begins and the page where it starts, if it is shown.

use super::super::lists::{notes, put};
use super::super::measures::MARGIN;
use super::super::{Align, Area, Page, Said, Shape, Stroke, thousands};
use super::{BODY, HEADING, Listed, RULE, SMALL, Source, Subject};
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, mm};
use crate::printing::typeface::Weight;

/// From needle to needle, and where the first stands.
const ROW: Length = BODY.times(1.9);
const TOP: Length = MARGIN.plus(HEADING.times(2.6));

/// How many of them stand on a page of the list.
pub(super) fn rows(paper: [Length; 2]) -> usize {
    (paper[1] - TOP - MARGIN - SMALL * 6.0).holds(ROW, 0.0).max(1) as usize
}

/// All needles with the number of threads that each begins and the page where it starts.
pub(super) fn pages(
    source: &Source<'_>,
    title: &str,
    listed: &[Listed],
    firsts: &[Option<usize>],
    paper: [Length; 2],
) -> Vec<Page> {
    let [width, _] = paper;
    let (row, top, per_page) = (ROW, TOP, rows(paper));
    let stitches = source.chart.stitches();
    let count = listed.len().div_ceil(per_page).max(1);
    let note = note(listed);
    let right = width - MARGIN;
    (0..count)
        .map(|index| {
            let mut page = Page::new(paper);
            page.begin(Said::Heading(1));
            put(
                &mut page,
                [MARGIN, MARGIN + HEADING],
                title,
                HEADING,
                Weight::Bold,
                Align::Left,
                width - mm(45.0),
            );
            page.begin(Said::Texts);
            for (text, x) in [("Stitches", right - mm(42.0)), ("Lengths", right - mm(20.0)), ("Page", right)]
            {
                page.text([x, top - SMALL * 0.6], text, SMALL, Weight::Regular, Align::Right);
            }
            let rule = |y: Length| vec![[MARGIN, y], [right, y]];
            page.add(Shape::Line { points: rule(top), stroke: Stroke::solid(Srgb8::BLACK, mm(0.3)) });
            let shown = listed.iter().zip(firsts).skip(index * per_page).take(per_page);
            for (place, (listed, first)) in shown.enumerate() {
                let y = top + place as f64 * row;
                let area = Area { x: MARGIN, y, width: row, height: row }.inset(row * 0.08);
                source.sign(&mut page, area, listed.subject);
                let base = y + row / 2.0 + BODY * 0.34;
                let from = MARGIN + row * 1.3;
                let limit = right - mm(60.0) - from;
                put(
                    &mut page,
                    [from, base],
                    &source.said(listed.subject),
                    BODY,
                    Weight::Code,
                    Align::Left,
                    limit,
                );
                let mut figure =
                    |x: Length, text: &str| page.text([x, base], text, BODY, Weight::Regular, Align::Right);
                let worked = match listed.subject {
                    Subject::Needle(needle) => stitches[needle],
                    Subject::Lines(kind) => source.kinds[kind].stitches() as u64,
                };
                figure(right - mm(42.0), &thousands(worked));
                figure(right - mm(20.0), &thousands(listed.lengths as u64));
                figure(right, &first.map_or_else(|| "–".to_owned(), |first| (first + 1).to_string()));
                page.add(Shape::Line { points: rule(y + row), stroke: Stroke::solid(RULE, mm(0.1)) });
            }
            notes(&mut page, &note, SMALL, 5);
            page
        })
        .collect()
}

/// What stands at the foot of the list.
fn note(listed: &[Listed]) -> String {
    let mut note = "Lengths are threads to cut and begin. Each number on the pages that follow is a start: hold the tail \
                    under the first stitches, follow the solid line out and the broken line home, go along dots on the \
                    back, and end off at the square. Another way may suit you as well; this is the one that thread is \
                    reckoned by."
        .to_owned();
    if listed.iter().any(|listed| matches!(listed.subject, Subject::Lines(_))) {
        note.push_str(
            " Lines in double running go out in running stitch and come home in its gaps, so that both sides look alike.",
        );
    }
    if listed.iter().any(|listed| listed.work.is_none()) {
        note.push_str(" – Not shown here: ask for a thread by its code.");
    }
    note
}
