//! Cards that sort threads, a hole for each.

use super::super::key;
use super::super::lines::{self, Kind};
use super::super::measures::MARGIN;
use super::super::{Align, Area, Ink, Page, Paper, Shape, Sheet, Stroke, read_title};
use super::{BODY, HEADING, RULE, SMALL, heading, notes, put, swatch};
use crate::chart::{Needle, Thread};
use crate::ground::colour::Srgb8;
use crate::planning::shopping::{Project, ShoppingList};
use crate::printing::length::{Length, Point, mm};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::{self, Weight};
use crate::thread::code;

/// The diameter of a punched hole: 6 mm, as of an office punch (ISO 838).
const HOLE: Length = mm(6.0);

/// A row of a sorter card: room for the hole, and for a lark's head of thread beside the next.
const SORTER_ROW: Length = mm(14.0);

/// A hole of a sorter card: a needle's, or that of the thread of a line.
enum Hole<'a> {
    Needle(&'a Needle),
    Line(Kind<'a>),
}

impl Hole<'_> {
    fn threads(&self) -> &[Thread] {
        match self {
            Self::Needle(needle) => &needle.threads,
            Self::Line(kind) => kind.threads(),
        }
    }
}

/// Cards that sort threads: for each needle of a project a hole to punch and tie its thread into, with symbol,
/// colour, code, name and strands; then the same for each thread and pattern of backstitch. Cut along the dashed lines; heavy paper is best. They stand by code, or as `in_box` lists their threads.
#[must_use]
pub fn sorter_pages(project: &Project, in_box: Option<&ShoppingList>, paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let columns = 3;
    let strip = (width - 2.0 * MARGIN) / columns as f64;
    let top = MARGIN + HEADING * 2.0;
    let rows = (height - top - MARGIN - SMALL * 3.0).holds(SORTER_ROW, 0.0).max(1) as usize;
    let needles =
        key::by_code(&project.chart).into_iter().map(|at| Hole::Needle(&project.chart.needles()[at]));
    let mut holes: Vec<Hole> =
        needles.chain(lines::kinds_by_look(&project.lines).into_iter().map(Hole::Line)).collect();
    if let Some(list) = in_box {
        // Beside the first of its threads.
        let place = |hole: &Hole| {
            let first = hole.threads().first();
            list.items
                .iter()
                .position(|item| first.is_some_and(|thread| code::same(&thread.code, &item.code)))
        };
        holes.sort_by_key(place);
    }
    // Cards of one length fill the sheet.
    let sheets = holes.len().div_ceil(columns * rows).max(1);
    let rows = holes.len().div_ceil(sheets * columns).max(1);
    let chunks: Vec<&[Hole]> = holes.chunks(columns * rows).collect();
    let title = format!("Thread sorter for {}", read_title(&project.chart));
    let pages = chunks
        .iter()
        .enumerate()
        .map(|(index, places)| {
            let mut page = Page::new([width, height]);
            heading(&mut page, &title, HEADING, index, chunks.len());
            let used = places.len().min(rows) as f64 * SORTER_ROW;
            for cut in 0..=places.len().div_ceil(rows) {
                let x = MARGIN + cut as f64 * strip;
                dashed(&mut page, [[x, top], [x, top + used]]);
            }
            let right = MARGIN + places.len().div_ceil(rows) as f64 * strip;
            dashed(&mut page, [[MARGIN, top], [right, top]]);
            dashed(&mut page, [[MARGIN, top + used], [right, top + used]]);
            for (place, hole) in places.iter().enumerate() {
                let corner =
                    [MARGIN + (place / rows) as f64 * strip, top + (place % rows) as f64 * SORTER_ROW];
                sorter_row(&mut page, corner, strip, hole);
            }
            notes(
                &mut page,
                "Cut along the dashed lines, punch the circles, tie each thread into its hole. Scissors and \
                 needles away from small children.",
                SMALL,
                1,
            );
            page
        })
        .collect();
    Sheet::list(&title, pages)
}

fn dashed(page: &mut Page, points: [Point; 2]) {
    let stroke = Stroke { colour: Srgb8::BLACK, width: mm(0.15), dash: vec![mm(2.0), mm(1.5)] };
    page.add(Shape::Line { points: points.to_vec(), stroke });
}

fn sorter_row(page: &mut Page, [x, y]: Point, strip: Length, hole: &Hole) {
    let middle = y + SORTER_ROW / 2.0;
    let centre = [x + mm(3.0) + HOLE / 2.0, middle];
    let circle = (0..=36)
        .map(|step| {
            let angle = f64::from(step) * 10f64.to_radians();
            [centre[0] + HOLE / 2.0 * angle.cos(), centre[1] + HOLE / 2.0 * angle.sin()]
        })
        .collect();
    page.add(Shape::Line { points: circle, stroke: Stroke::solid(Srgb8::BLACK, mm(0.2)) });
    let side = mm(7.0);
    let square = |left: Length| Area { x: left, y: middle - side / 2.0, width: side, height: side };
    let sign = square(x + HOLE + mm(6.0));
    let (code, strands, name, beside, colour) = match hole {
        Hole::Needle(needle) => {
            page.symbol(sign, SymbolId::of(&needle.symbol), needle.stitch);
            page.add(Shape::Frame { area: sign, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
            (needle.code(), needle.strands_text(), needle.name(), needle.stitch.words(), needle.colour())
        }
        Hole::Line(kind) => {
            kind.sample(page, Ink::Colour, [sign.x, sign.right() - mm(0.6)], middle, mm(3.0));
            (kind.code(), kind.strands(), kind.names(), Some("backstitch".to_owned()), kind.colour())
        }
    };
    swatch(page, square(sign.right()), colour);
    let left = sign.right() + side + mm(2.0);
    let limit = x + strip - left - mm(1.5);
    // A long code is set smaller, and then parted, before it is cut.
    let (text, _) = typeface::showable(&code);
    let fits = limit / typeface::width(&text, Weight::Code, BODY).max(mm(1e-9));
    let size = BODY * fits.clamp(0.72, 1.0);
    let mut texts = match fits {
        fits if fits >= 0.72 => vec![(text, size, Weight::Code)],
        _ => typeface::wrapped(&text, Weight::Code, size, limit, 2)
            .into_iter()
            .map(|line| (line, size, Weight::Code))
            .collect(),
    };
    texts.push((name, SMALL, Weight::Regular));
    let worked = if strands == "1" { "1 strand".to_owned() } else { format!("{strands} strands") };
    let worked = beside.map_or_else(|| worked.clone(), |beside| format!("{worked}, {beside}"));
    texts.push((worked, SMALL, Weight::Regular));
    let pitch = SMALL * 1.2;
    let first = middle + SMALL * 0.35 - (texts.len() as f64 - 1.0) * pitch / 2.0;
    for (at, (text, size, weight)) in texts.iter().enumerate() {
        put(page, [left, first + at as f64 * pitch], text, *size, *weight, Align::Left, limit);
    }
    let rule = vec![[x + mm(1.0), y + SORTER_ROW], [x + strip - mm(1.0), y + SORTER_ROW]];
    page.add(Shape::Line { points: rule, stroke: Stroke::solid(RULE, mm(0.1)) });
}
