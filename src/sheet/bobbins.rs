//! Labels for thread wound on bobbins.
//!
//! Owns their design. Leaves what is listed to `kit`.

use super::grid::MARGIN;
use super::lists;
use super::{Align, Area, MM_PER_POINT, Page, Paper, Shape, Sheet, Stroke};
use crate::cloth::StitchKind;
use crate::colour::Srgb8;
use crate::kit::shopping::{Item, Project, ShoppingList};
use crate::symbols::SymbolId;
use crate::typeface::{self, Weight};

/// A label in millimetres. A card bobbin is about 38 mm wide and has some 12 mm of card free above the thread
/// (common practice, no source): the label is a little narrower, so that it lies within its edges.
pub const LABEL: [f64; 2] = [36.0, 12.0];

const HEADING: f64 = 14.0 * MM_PER_POINT;
const CODE: f64 = 9.5 * MM_PER_POINT;
const SMALL: f64 = 6.5 * MM_PER_POINT;
const NOTE: f64 = 8.5 * MM_PER_POINT;

/// The side of a symbol and of a swatch.
const SQUARE: f64 = 4.6;

/// As many symbols as have room on a label.
const MOST_SYMBOLS: usize = 3;

/// A label for each thread of the list: code, name, symbols in the first chart that has it, and the metres of
/// single strand that all charts take of it.
#[must_use]
pub fn bobbin_pages(list: &ShoppingList, projects: &[Project], paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let [wide, high] = LABEL;
    let top = MARGIN + HEADING * 1.8;
    #[allow(clippy::cast_sign_loss, reason = "paper is larger than its margins")]
    let fit = |room: f64, each: f64| ((room / each).floor() as usize).max(1);
    let (columns, rows) = (fit(width - 2.0 * MARGIN, wide), fit(height - top - MARGIN - 3.2 * NOTE, high));
    let title = "Bobbin labels".to_owned();
    let chunks: Vec<&[Item]> = list.items.chunks(columns * rows).collect();
    let pages = chunks
        .iter()
        .enumerate()
        .map(|(index, items)| {
            let mut page = Page::new([width, height]);
            lists::heading(&mut page, &title, HEADING, index, chunks.len());
            let used = [items.len().min(columns), items.len().div_ceil(columns)];
            cut_lines(&mut page, [MARGIN, top], used);
            for (place, item) in items.iter().enumerate() {
                let x = MARGIN + (place % columns) as f64 * wide;
                let y = top + (place / columns) as f64 * high;
                label(&mut page, [x, y], item, projects);
            }
            let note = "For card bobbins of 38 mm. Cut along the dashed lines and glue on; heavy paper lasts. Metres are \
                        of single strand, as much as the charts take. Scissors and small parts away from small children.";
            lists::notes(&mut page, note, NOTE, 2);
            page
        })
        .collect();
    lists::sheet(&title, pages)
}

fn cut_lines(page: &mut Page, [x, y]: [f64; 2], [columns, rows]: [usize; 2]) {
    let [wide, high] = LABEL;
    let stroke = Stroke { colour: Srgb8::BLACK, width: 0.15, dash: vec![2.0, 1.5] };
    let (right, bottom) = (x + columns as f64 * wide, y + rows as f64 * high);
    let across = (0..=rows).map(|row| y + row as f64 * high).map(|y| vec![[x, y], [right, y]]);
    let down = (0..=columns).map(|column| x + column as f64 * wide).map(|x| vec![[x, y], [x, bottom]]);
    for points in across.chain(down) {
        page.add(Shape::Line { points, stroke: stroke.clone() });
    }
}

fn label(page: &mut Page, [x, y]: [f64; 2], item: &Item, projects: &[Project]) {
    let [wide, _] = LABEL;
    let inner = x + 1.2;
    let square = |place: usize| Area {
        x: inner + place as f64 * (SQUARE + 0.5),
        y: y + 1.0,
        width: SQUARE,
        height: SQUARE,
    };
    page.add(Shape::Fill { area: square(0), colour: item.colour });
    page.add(Shape::Frame { area: square(0), stroke: Stroke::solid(Srgb8::BLACK, 0.15) });
    let symbols = symbols(item, projects);
    for (place, &(symbol, stitch)) in symbols.iter().enumerate() {
        page.symbol(square(place + 1), symbol, stitch);
        page.add(Shape::Frame { area: square(place + 1), stroke: Stroke::solid(Srgb8::BLACK, 0.15) });
    }
    let mut put = |at: [f64; 2], text: &str, size: f64, weight: Weight, align: Align, limit: f64| {
        let (text, _) = typeface::showable(text);
        page.text(at, &typeface::shortened(&text, weight, size, limit), size, weight, align);
    };
    let right = x + wide - 1.2;
    let left = square(symbols.len() + 1).x;
    put([right, y + 4.6], &item.code, CODE, Weight::Bold, Align::Right, right - left);
    let metres = format!("{:.1} m", item.strand_metres);
    put([right, y + 10.4], &metres, SMALL, Weight::Regular, Align::Right, 12.0);
    let limit = right - inner - typeface::width(&metres, Weight::Regular, SMALL) - 1.5;
    put([inner, y + 10.4], &item.name, SMALL, Weight::Regular, Align::Left, limit);
}

/// The symbols of the needles with this thread, in the first chart that has it.
fn symbols(item: &Item, projects: &[Project]) -> Vec<(SymbolId, StitchKind)> {
    projects
        .iter()
        .map(|project| {
            let has =
                |needle: &&crate::chart::Needle| needle.threads.iter().any(|thread| thread.code == item.code);
            let of = |needle: &crate::chart::Needle| (SymbolId::of(&needle.symbol), needle.stitch);
            project.chart.needles().iter().filter(has).take(MOST_SYMBOLS).map(of).collect::<Vec<_>>()
        })
        .find(|symbols| !symbols.is_empty())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::kit::Handling;
    use crate::kit::route::tests::chart;
    use crate::kit::shopping::{Drawer, pool};

    #[test]
    fn every_thread_has_a_label_and_every_text_lies_within_its_own() {
        let cells: Vec<u8> = (0..60 * 60).map(|at| 1 + (at % 130) as u8).collect();
        let project =
            Project::new(chart(60, &cells, StitchKind::HalfCross), Vec::new(), &Handling::default());
        let projects = [project];
        let list = pool(&projects, &Drawer::new());
        for paper in [Paper::A4, Paper::Letter] {
            let sheet = bobbin_pages(&list, &projects, paper);
            assert!(sheet.pages.len() > 1);
            let mut codes = Vec::new();
            for page in &sheet.pages {
                for (_, shape) in &page.shapes {
                    let Shape::Text { x, y, text, size, weight, align, .. } = shape else { continue };
                    if text.starts_with('N') && *weight == Weight::Bold {
                        codes.push(text.clone());
                        let from = x - typeface::width(text, *weight, *size);
                        // Right of swatch and symbol of its own label.
                        let label = ((x - MARGIN) / LABEL[0]).floor() * LABEL[0] + MARGIN;
                        assert_eq!(*align, Align::Right);
                        assert!(from >= label + 1.2 + 2.0 * SQUARE && *x < label + LABEL[0], "{text}");
                    }
                    assert!(*y <= page.height - MARGIN + 1e-6);
                }
            }
            let wanted: Vec<String> = (1..=130).map(|index| format!("N{index}")).collect();
            codes.sort_by_key(|code| code[1..].parse::<u32>().unwrap());
            assert_eq!(codes, wanted);
        }
    }
}
