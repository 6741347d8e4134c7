//! Labels for thread wound on bobbins.
//!
//! Owns their design. Leaves what is listed to `kit`.

use super::lines::{self, Kind};
use super::lists;
use super::measures::MARGIN;
use super::{Align, Area, Ink, Page, Paper, Shape, Sheet, Stroke};
use crate::chart::Thread;
use crate::ground::colour::Srgb8;
use crate::planning::shopping::{Item, Project, ShoppingList};
use crate::printing::length::{Length, Point, mm, text_points};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::{self, Weight};
use crate::thread::cloth::StitchKind;
use crate::thread::code;

/// A label's width and height. A card bobbin is about 38 mm wide and has some 12 mm of card free above the thread
/// (common practice, no source): the label is a little narrower, so that it lies within its edges.
pub const LABEL: [Length; 2] = [mm(36.0), mm(12.0)];

const HEADING: Length = text_points(14.0);
const CODE: Length = text_points(9.5);
const SMALL: Length = text_points(8.0);
const NOTE: Length = text_points(8.5);

/// The side of a swatch and of symbols, and of symbols where there are many.
const SQUARES: [Length; 2] = [mm(4.6), mm(3.3)];

/// How long a piece of a line is, in sides of a symbol.
const LINE: f64 = 1.7;

/// A label for each thread of the list: code, name, the symbols and lines that it works, with the number of their
/// chart where there are several, and the metres of single strand that all charts take of it.
#[must_use]
pub fn bobbin_pages(list: &ShoppingList, projects: &[Project], paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let [wide, high] = LABEL;
    let top = MARGIN + HEADING * 1.8;
    let fit = |room: Length, each: Length| room.holds(each, 0.0).max(1) as usize;
    let note = note(projects);
    let note_lines = typeface::wrapped(&note, Weight::Regular, NOTE, width - 2.0 * MARGIN, NOTE_LINES).len();
    let foot = (note_lines as f64 + 0.4) * NOTE * 1.35;
    let (columns, rows) = (fit(width - 2.0 * MARGIN, wide), fit(height - top - MARGIN - foot, high));
    let title = "Bobbin labels".to_owned();
    let kinds: Vec<Vec<Kind>> = projects.iter().map(|project| lines::kinds_by_look(&project.lines)).collect();
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
                label(&mut page, [x, y], item, projects, &kinds);
            }
            lists::notes(&mut page, &note, NOTE, NOTE_LINES);
            page
        })
        .collect();
    Sheet::list(&title, pages)
}

fn cut_lines(page: &mut Page, [x, y]: Point, [columns, rows]: [usize; 2]) {
    let [wide, high] = LABEL;
    let stroke = Stroke { colour: Srgb8::BLACK, width: mm(0.15), dash: vec![mm(2.0), mm(1.5)] };
    let (right, bottom) = (x + columns as f64 * wide, y + rows as f64 * high);
    let across = (0..=rows).map(|row| y + row as f64 * high).map(|y| vec![[x, y], [right, y]]);
    let down = (0..=columns).map(|column| x + column as f64 * wide).map(|x| vec![[x, y], [x, bottom]]);
    for points in across.chain(down) {
        page.add(Shape::Line { points, stroke: stroke.clone() });
    }
}

/// The lines of the note at most.
const NOTE_LINES: usize = 8;

fn note(projects: &[Project]) -> String {
    let mut note = "For card bobbins of 38 mm. Cut along the dashed lines and glue on; heavy paper lasts. Metres are \
                    of single strand, as much as the charts take. Scissors and small parts away from small children."
        .to_owned();
    if projects.len() > 1 {
        let chart = |(at, project): (usize, &Project)| {
            let title: String = project.chart.title.chars().take(60).collect();
            format!("{} {title}", at + 1)
        };
        let charts: Vec<String> = projects.iter().enumerate().map(chart).collect();
        note.push_str(&format!(" Numbers before symbols are charts: {}.", charts.join("; ")));
    }
    note
}

/// What a thread is known by in a chart.
enum Sign<'a> {
    /// The number of the chart, before its symbols.
    Chart(usize),
    Symbol(SymbolId, StitchKind),
    Line(&'a Kind<'a>),
}

/// The symbols and lines of a thread in each of the charts.
fn signs<'a>(item: &Item, projects: &[Project], kinds: &'a [Vec<Kind<'a>>]) -> Vec<Sign<'a>> {
    let has = |threads: &[Thread]| threads.iter().any(|thread| code::same(&thread.code, &item.code));
    let mut signs = Vec::new();
    for (at, (project, kinds)) in projects.iter().zip(kinds).enumerate() {
        let needles = project.chart.needles().iter().filter(|needle| has(&needle.threads));
        let mut own: Vec<Sign> =
            needles.map(|needle| Sign::Symbol(SymbolId::of(&needle.symbol), needle.stitch)).collect();
        own.extend(kinds.iter().filter(|kind| has(kind.threads())).map(Sign::Line));
        if !own.is_empty() && projects.len() > 1 {
            signs.push(Sign::Chart(at + 1));
        }
        signs.extend(own);
    }
    signs
}

impl Sign<'_> {
    /// How much of the label's width it takes, with what parts it from the next.
    fn width(&self, square: Length) -> Length {
        match self {
            Self::Chart(number) => typeface::width(&number.to_string(), Weight::Bold, SMALL) + mm(0.7),
            Self::Symbol(..) => square + mm(0.5),
            Self::Line(_) => square * LINE + mm(0.9),
        }
    }

    fn draw(&self, page: &mut Page, x: Length, middle: Length, square: Length) {
        match self {
            Self::Chart(number) => {
                let base = middle + SMALL * 0.35;
                page.text([x + mm(0.2), base], &number.to_string(), SMALL, Weight::Bold, Align::Left);
            }
            Self::Symbol(symbol, stitch) => {
                let area = Area { x, y: middle - square / 2.0, width: square, height: square };
                page.symbol(area, *symbol, *stitch);
                page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
            }
            Self::Line(kind) => {
                let ends = [x + mm(0.2), x + mm(0.2) + square * LINE];
                kind.sample(page, Ink::Colour, ends, middle, square * 0.65);
            }
        }
    }
}

/// How many of the signs have room, and the side of their squares: all of them if they can
/// be, else with room for the count of the rest. No number of a chart stands alone at the end.
fn fitting(signs: &[Sign], room: Length) -> (usize, Length) {
    for square in SQUARES {
        if signs.iter().map(|sign| sign.width(square)).sum::<Length>() <= room + mm(1e-9) {
            return (signs.len(), square);
        }
    }
    let [_, square] = SQUARES;
    let mut used = rest_width(signs.len());
    let mut shown = 0;
    for (at, sign) in signs.iter().enumerate() {
        used += sign.width(square);
        if used > room + mm(1e-9) {
            break;
        }
        if !matches!(sign, Sign::Chart(_)) {
            shown = at + 1;
        }
    }
    (shown, square)
}

fn rest_width(rest: usize) -> Length {
    typeface::width(&format!("+{rest}"), Weight::Bold, SMALL) + mm(0.8)
}

fn label(page: &mut Page, [x, y]: Point, item: &Item, projects: &[Project], kinds: &[Vec<Kind>]) {
    let [wide, _] = LABEL;
    let [square, _] = SQUARES;
    let (inner, right, middle) = (x + mm(1.2), x + wide - mm(1.2), y + mm(1.0) + square / 2.0);
    let area = Area { x: inner, y: y + mm(1.0), width: square, height: square };
    page.add(Shape::Fill { area, colour: item.colour });
    page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
    let signs = signs(item, projects, kinds);
    let from = inner + square + mm(0.5);

    // A long code is set smaller before it is cut, and leaves room for a symbol and the count of the rest.
    let limit = right - from - 2.0 * SQUARES[1] - rest_width(signs.len());
    let (code, _) = typeface::showable(&item.code);
    let size =
        CODE * (limit / typeface::width(&code, Weight::Code, CODE).max(mm(1e-9))).clamp(SMALL / CODE, 1.0);
    let code = typeface::shortened(&code, Weight::Code, size, limit);
    page.text([right, y + mm(4.6)], &code, size, Weight::Code, Align::Right);

    let room = right - typeface::width(&code, Weight::Code, size) - mm(0.8) - from;
    let (shown, side) = fitting(&signs, room);
    let mut at = from;
    for sign in &signs[..shown] {
        sign.draw(page, at, middle, side);
        at += sign.width(side);
    }
    let rest = signs[shown..].iter().filter(|sign| !matches!(sign, Sign::Chart(_))).count();
    if rest > 0 {
        let base = middle + SMALL * 0.35;
        page.text([at + mm(0.2), base], &format!("+{rest}"), SMALL, Weight::Bold, Align::Left);
    }
    let mut put = |at: Point, text: &str, align: Align, limit: Length| {
        lists::put(page, at, text, SMALL, Weight::Regular, align, limit);
    };
    let metres = format!("{:.1} m", item.strand_metres);
    put([right, y + mm(10.4)], &metres, Align::Right, mm(12.0));
    let limit = right - inner - typeface::width(&metres, Weight::Regular, SMALL) - mm(1.5);
    put([inner, y + mm(10.4)], &item.name, Align::Left, limit);
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::progress::Silent;
    use crate::planning::Handling;
    use crate::planning::route::tests::chart;
    use crate::planning::shopping::{Drawer, pool};
    use crate::printing::sheet::tests::texts;

    #[test]
    fn every_thread_has_a_label_and_every_text_lies_within_its_own() {
        let cells: Vec<u8> = (0..60 * 60).map(|at| 1 + (at % 130) as u8).collect();
        let project =
            Project::new(chart(60, &cells, StitchKind::HalfCross), Vec::new(), &Handling::default(), &Silent)
                .unwrap();
        let projects = [project];
        let list = pool(&projects, &Drawer::new());
        for paper in [Paper::A4, Paper::Letter] {
            let sheet = bobbin_pages(&list, &projects, paper);
            assert!(sheet.pages.len() > 1);
            let mut codes = Vec::new();
            for page in &sheet.pages {
                for (_, shape) in &page.shapes {
                    let Shape::Text { x, y, text, size, weight, align, .. } = shape else { continue };
                    if text.starts_with('N') && *weight == Weight::Code {
                        codes.push(text.clone());
                        let from = *x - typeface::width(text, *weight, *size);
                        // Right of swatch and symbol of its own label.
                        let label = ((*x - MARGIN) / LABEL[0]).floor() * LABEL[0] + MARGIN;
                        assert_eq!(*align, Align::Right);
                        assert!(
                            from >= label + mm(1.2) + 2.0 * SQUARES[1] && *x < label + LABEL[0],
                            "{text}"
                        );
                    }
                    assert!(*y <= page.height - MARGIN + mm(1e-6));
                }
            }
            let wanted: Vec<String> = (1..=130).map(|index| format!("N{index}")).collect();
            codes.sort_by_key(|code| code[1..].parse::<u32>().unwrap());
            assert_eq!(codes, wanted);
        }
    }

    /// Three charts share all their threads, and lines of one thread run on two of them.
    #[test]
    fn labels_name_the_chart_of_a_symbol_show_lines_and_count_what_has_no_room() {
        let cells: Vec<u8> = (0..60 * 60).map(|at| 1 + (at % 20) as u8).collect();
        let project = |title: &str, lines: Vec<crate::chart::WorkedLine>| {
            let mut chart = chart(60, &cells, StitchKind::FullCross);
            chart.title = title.into();
            Project::new(chart, lines, &Handling::default(), &Silent).unwrap()
        };
        let line = |code: &str| {
            let mut line = super::super::tests::lines().remove(1);
            line.threads[0].code = code.into();
            line
        };
        let one = [project("Pool", vec![line("G1"), line("N3")])];
        let sheet = bobbin_pages(&pool(&one, &Drawer::new()), &one, Paper::A4);
        // A double line is two strokes; nothing else on the page is drawn solid.
        let strokes = |sheet: &Sheet| {
            let shapes = sheet.pages.iter().flat_map(|page| &page.shapes);
            let is_stroke =
                |shape: &Shape| matches!(shape, Shape::Line { stroke, .. } if stroke.dash.is_empty());
            shapes.filter(|(_, shape)| is_stroke(shape)).count()
        };
        assert_eq!(strokes(&sheet), 4);
        assert!(texts(&sheet).contains(&"G1"));
        assert!(!texts(&sheet).contains(&"1") && !texts(&sheet).join(" ").contains("charts:"));

        let several = [
            project("Pool", vec![line("G1"), line("N3")]),
            project("Harbour", vec![line("N3")]),
            project("Gulls", Vec::new()),
        ];
        let sheet = bobbin_pages(&pool(&several, &Drawer::new()), &several, Paper::A4);
        let all = texts(&sheet);
        let count = |text: &str| all.iter().filter(|one| **one == text).count();
        // All twenty threads are in all charts; of N3 not all five signs have room.
        assert_eq!((count("1"), count("2")), (21, 19));
        assert!(count("3") >= 19, "{}", count("3"));
        let symbols = sheet.pages.iter().flat_map(|page| &page.shapes);
        let symbols = symbols.filter(|(_, shape)| matches!(shape, Shape::Symbol { .. })).count();
        let rest: usize = all.iter().filter_map(|text| text.strip_prefix('+')?.parse::<usize>().ok()).sum();
        assert!(rest > 0);
        // A double line is two strokes.
        assert_eq!(symbols + strokes(&sheet) / 2 + rest, 3 * 20 + 3);
        assert!(all.join(" ").contains("charts: 1 Pool; 2 Harbour; 3 Gulls."));
    }
}
