//! A shade card on paper.

use super::super::measures::MARGIN;
use super::super::{Align, Area, Page, Paper, Sheet};
use super::{BODY, HEADING, SMALL, heading, notes, put, swatch};
use crate::printing::length::mm;
use crate::printing::typeface::Weight;
use crate::thread::shades::ShadeCard;

/// A shade card on paper: a swatch, the code and the name of each thread.
#[must_use]
pub fn card_pages(card: &ShadeCard, paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let columns = if width > mm(180.0) { 4 } else { 3 };
    let gap = mm(3.0);
    let cell = (width - 2.0 * MARGIN - gap * (columns as f64 - 1.0)) / columns as f64;
    let row = mm(9.5);
    let top = MARGIN + HEADING * 2.0;
    let rows = (height - top - MARGIN - SMALL * 4.5).holds(row, 0.0).max(1) as usize;
    let chunks: Vec<_> = card.shades().chunks(columns * rows).collect();
    let pages = chunks
        .iter()
        .enumerate()
        .map(|(index, shades)| {
            let mut page = Page::new([width, height]);
            heading(&mut page, card.name(), HEADING, index, chunks.len());
            for (place, shade) in shades.iter().enumerate() {
                let x = MARGIN + (place / rows) as f64 * (cell + gap);
                let y = top + (place % rows) as f64 * row;
                swatch(&mut page, Area { x, y: y + mm(0.6), width: mm(10.0), height: row - mm(1.2) }, shade.colour);
                let (left, limit) = (x + mm(11.5), cell - mm(11.5));
                put(&mut page, [left, y + mm(4.2)], &shade.code, BODY, Weight::Code, Align::Left, limit);
                put(&mut page, [left, y + mm(8.0)], &shade.name, SMALL, Weight::Regular, Align::Left, limit);
            }
            notes(
                &mut page,
                "Printed colours are not the threads: paper, ink and lamp all change them. Tie a snippet of each thread \
                 beside its swatch and trust that, in daylight.",
                SMALL,
                2,
            );
            page
        })
        .collect();
    Sheet::list(card.name(), pages)
}
