//! One long page to read on a screen: picture, key and the whole chart without a break.
//!
//! The page is as wide as the screen. Where cells come out small, the parts of the picture, the threads of the
//! key and the table of contents each lead to a screenful of the chart with cells as large as on paper; the rulers
//! lead back to the key.

use std::ops::Range;

use super::key::{self, Key};
use super::measures::{MARGIN, Measures};
use super::pagination::{self, with_repeats};
use super::uses::uses_in;
use super::{
    Align, Area, Block, Bookmark, Layout, Link, Page, Print, Said, Screen, Shape, SheetError, Shows, Stroke,
    grid,
};
use crate::ground::colour::Srgb8;
use crate::planning::ThreadUse;
use crate::printing::length::{Length, mm};
use crate::printing::typeface::{self, Weight};

/// What is left free at the sides of the chart: a screen has no margin to print in, but a frame to hold.
const SIDE: Length = mm(3.0);

/// As large as cells grow on the page: larger, less of the piece is seen at once.
const WIDEST_CELL: Length = mm(5.0);

/// The least cell that a page is made with: smaller, the numbers in the file no longer hold its place.
const LEAST_CELL: Length = mm(0.03);

/// The longest page that readers must take: 14,400 points (ISO 32000-1, annex C).
const LONGEST: Length = mm(14_400.0 / 72.0 * 25.4 - 1.0);

/// A part of the chart that fills the screen, and where it stands.
struct Screenful {
    columns: Range<u32>,
    rows: Range<u32>,
    area: Area,
}

/// The page and its table of contents. Its picture is the sheet's first.
pub(super) fn pages(
    layout: &mut Layout,
    uses: &[ThreadUse],
    screen: Screen,
) -> Result<(Vec<Page>, Vec<Bookmark>), SheetError> {
    let print = layout.options.print;
    let [width, height] = screen.size();
    let mut page = Page::new([width, height]);
    page.shows = Some(Shows::All);
    let (picture, under) = head(&mut page, layout);
    let key = Key::on_one_page(layout.chart, layout.lines, layout.alike, layout.options, [width, under]);
    let (block, mut measures) = block(layout, width, key.bottom() + print.text(10.0) * 2.0)?;
    layout.cell = block.cell;
    measures.pen = (block.cell / mm(3.0)).min(1.0);
    let bottom = block.y + block.height() + measures.ruler + SIDE;
    page.height = bottom.max(height);
    let screenfuls = screenfuls(layout, &block, [width, height]);
    let key_area =
        Area { x: Length::ZERO, y: under, width, height: height.min(key.bottom() - under).max(width * 0.5) };

    picture_links(&mut page, layout, picture, &screenfuls);
    let most_used = most_used(layout, &screenfuls);
    for (needle, area) in key.draw(&mut page, layout, uses, 0) {
        let part = most_used[needle].map(|at| screenfuls[at].area);
        if part.is_some() {
            page.links.push(Link { area, page: 0, part });
        }
    }
    grid::whole(&mut page, layout, block, &measures);
    let right = block.x + block.width();
    let foot = block.y + block.height();
    let ruler = measures.ruler;
    for area in [
        Area { x: block.x, y: block.y - ruler, width: right - block.x, height: ruler },
        Area { x: block.x, y: foot, width: right - block.x, height: ruler },
        Area { x: block.x - ruler, y: block.y, width: ruler, height: foot - block.y },
        Area { x: right, y: block.y, width: ruler, height: foot - block.y },
    ] {
        page.links.push(Link { area, page: 0, part: Some(key_area) });
    }
    page.begin(Said::Texts);
    let bookmarks = bookmarks(&screenfuls, picture, key_area, &block);
    Ok((vec![page], bookmarks))
}

/// Title, facts and the place of the picture; and where the key begins.
fn head(page: &mut Page, layout: &Layout) -> (Area, Length) {
    let print = layout.options.print;
    let (title, body) = (print.text(18.0), print.text(10.0));
    let inner = page.width - 2.0 * MARGIN;
    let mut y = MARGIN;
    page.begin(Said::Heading(1));
    for line in typeface::wrapped(&layout.title, Weight::Bold, title, inner, 3) {
        y += title * 1.1;
        page.text([MARGIN, y], &line, title, Weight::Bold, Align::Left);
    }
    let (wide, high) = layout.chart.finished();
    let told = if key::shares_threads(layout.chart, layout.lines) {
        format!(
            " The skeins of a thread stand at its first row; {} says that they are told above.",
            key::TOLD_ABOVE
        )
    } else {
        String::new()
    };
    let invented =
        if key::is_demonstration(layout.chart) { format!(" {}", key::DEMONSTRATION) } else { String::new() };
    let facts = format!(
        "{} stitches, {:.1} x {:.1} cm.{invented} Press a thread, or a part of the picture, to see its stitches; press a \
         ruler to come back to the key.{told} Rest your eyes often. Buy each shade in one dye lot and test for running dye; \
         needles and scissors away from small children. A picture or a chart may be someone's copyright.",
        layout.chart.size(),
        wide.cm(),
        high.cm()
    );
    y += body * 0.6;
    page.begin(Said::Paragraph);
    for line in typeface::wrapped(&facts, Weight::Regular, body, inner, 8) {
        y += body * 1.35;
        page.text([MARGIN, y], &line, body, Weight::Regular, Align::Left);
    }
    y += body;
    let size = layout.chart.size();
    let (columns, rows) = (f64::from(size.columns()), f64::from(size.rows()));
    let scale = (inner / columns).min(page.height * 0.5 / rows);
    let picture =
        Area { x: MARGIN + (inner - columns * scale) / 2.0, y, width: columns * scale, height: rows * scale };
    page.begin(Said::Figure("The finished piece, about as it will look.".to_owned()));
    page.add(Shape::Picture { area: picture, picture: 0 });
    page.begin(Said::Texts);
    (picture, picture.bottom() + body)
}

/// Where the chart stands, as wide as the screen has room.
fn block(layout: &Layout, width: Length, top: Length) -> Result<(Block, Measures), SheetError> {
    let measures = Measures::of(layout.options.print);
    let size = layout.chart.size();
    let y = top + measures.ruler;
    let across = (width - 2.0 * (SIDE + measures.ruler)) / f64::from(size.columns());
    let down = (LONGEST - y - measures.ruler - SIDE) / f64::from(size.rows());
    let cell = across.min(down).min(WIDEST_CELL);
    if cell < LEAST_CELL {
        return Err(SheetError::NoRoom { cell: LEAST_CELL, needles: layout.chart.needles().len() });
    }
    let x = (width - f64::from(size.columns()) * cell) / 2.0;
    Ok((Block { x, y, cell, columns: size.columns(), rows: size.rows() }, measures))
}

/// The chart in parts that fill the screen with cells as large as on paper; neighbours share two rows.
fn screenfuls(layout: &Layout, block: &Block, screen: [Length; 2]) -> Vec<Screenful> {
    let reading = match layout.options.print {
        Print::Usual => mm(3.0),
        Print::Large => mm(4.5),
    };
    let size = layout.chart.size();
    let [across, down] = screen.map(|side| side.holds(reading, 0.0).max(14));
    let cut = |total: u32, room: u32| pagination::cut(total, room).unwrap_or_else(|| vec![0..total; 1]);
    let columns = cut(size.columns(), across);
    let mut all = Vec::new();
    for rows in cut(size.rows(), down) {
        for columns in &columns {
            let (x, y) = (with_repeats(columns, size.columns()), with_repeats(&rows, size.rows()));
            let area =
                block.part([x.start, y.start].map(f64::from), [x.len(), y.len()].map(|cells| cells as f64));
            all.push(Screenful { columns: columns.clone(), rows: rows.clone(), area });
        }
    }
    all
}

/// For every needle the screenful with most of its stitches, the first of equals.
fn most_used(layout: &Layout, screenfuls: &[Screenful]) -> Vec<Option<usize>> {
    let mut most = vec![(0, None); layout.chart.needles().len()];
    for (at, part) in screenfuls.iter().enumerate() {
        let uses = uses_in(layout.chart, &part.columns, &part.rows);
        for (most, uses) in most.iter_mut().zip(uses) {
            if uses > most.0 {
                *most = (uses, Some(at));
            }
        }
    }
    most.into_iter().map(|(_, at)| at).collect()
}

/// The picture cut as the screenfuls are, each part leading to its own.
fn picture_links(page: &mut Page, layout: &Layout, picture: Area, screenfuls: &[Screenful]) {
    let size = layout.chart.size();
    let scale = picture.width / f64::from(size.columns());
    for part in screenfuls {
        let area = Area {
            x: picture.x + f64::from(part.columns.start) * scale,
            y: picture.y + f64::from(part.rows.start) * scale,
            width: part.columns.len() as f64 * scale,
            height: part.rows.len() as f64 * scale,
        };
        // Black on white is seen on any picture.
        page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::WHITE, mm(0.45)) });
        page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.2)) });
        page.links.push(Link { area, page: 0, part: Some(part.area) });
    }
}

fn bookmarks(screenfuls: &[Screenful], picture: Area, key: Area, block: &Block) -> Vec<Bookmark> {
    let entry = |title: String, part: Area, children| Bookmark { title, page: 0, part: Some(part), children };
    let mut bands: Vec<Bookmark> = Vec::new();
    for part in screenfuls {
        let title = format!("Columns {} to {}", part.columns.start + 1, part.columns.end);
        let leaf = entry(title, part.area, Vec::new());
        let rows = format!("Rows {} to {}", part.rows.start + 1, part.rows.end);
        match bands.last_mut() {
            Some(band) if band.title == rows => band.children.push(leaf),
            _ => bands.push(entry(rows, part.area, vec![leaf])),
        }
    }
    let width = block.width();
    let chart = Area { x: block.x, y: block.y, width, height: block.height().min(width) };
    vec![
        entry("Picture".to_owned(), picture, Vec::new()),
        entry("Key".to_owned(), key, Vec::new()),
        entry("Chart".to_owned(), chart, bands),
    ]
}
