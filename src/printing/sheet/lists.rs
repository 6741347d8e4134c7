//! Lists on paper: the shopping list, cards that sort threads, and a shade card.
//!
//! Owns their design. Leaves what is bought to `kit` and what is on a card to `shades`.

use super::lines::{self, Kind};
use super::measures::MARGIN;
use super::{Align, Area, Bookmark, Ink, Page, Paper, Shape, Sheet, Stroke};
use crate::chart::Needle;
use crate::ground::colour::Srgb8;
use crate::ground::units::counted;
use crate::planning::shopping::{Item, Project, ShoppingList};
use crate::printing::length::{Length, Point, mm, text_points};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::{self, Weight};
use crate::thread::shades::ShadeCard;

const RULE: Srgb8 = Srgb8 { r: 0xb0, g: 0xb0, b: 0xb0 };

/// Text sizes: 18, 10 and 8.5 points, as on the pages of a chart.
const HEADING: Length = text_points(18.0);
const BODY: Length = text_points(10.0);
const SMALL: Length = text_points(8.5);

/// A column of a table: its heading, the share of the width it takes and which end its text stands at.
type Column = (&'static str, f64, Align);

/// A sheet of pages that show no chart.
pub(super) fn sheet(title: &str, pages: Vec<Page>) -> Sheet {
    let bookmarks = vec![Bookmark { title: title.to_owned(), page: 0, part: None, children: Vec::new() }];
    Sheet {
        title: title.to_owned(),
        pages,
        pictures: Vec::new(),
        bookmarks,
        warnings: Vec::new(),
        cell: Length::ZERO,
        chart_pages: 0,
        thread_uses: Vec::new(),
        alike: Vec::new(),
    }
}

/// A line of text, cut short where it is longer than `limit`.
pub(super) fn put(
    page: &mut Page,
    at: Point,
    text: &str,
    size: Length,
    weight: Weight,
    align: Align,
    limit: Length,
) {
    let (text, _) = typeface::showable(text);
    page.text(at, &typeface::shortened(&text, weight, size, limit), size, weight, align);
}

/// The title at the top of a page, and which part it is where there are several.
pub(super) fn heading(page: &mut Page, title: &str, size: Length, index: usize, count: usize) {
    let part = if count == 1 { String::new() } else { format!(", part {} of {count}", index + 1) };
    let limit = page.width - 2.0 * MARGIN;
    put(page, [MARGIN, MARGIN + size], &format!("{title}{part}"), size, Weight::Bold, Align::Left, limit);
}

fn swatch(page: &mut Page, area: Area, colour: Srgb8) {
    page.add(Shape::Fill { area, colour });
    page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
}

/// A text at the foot of a page, in so many lines at most.
pub(super) fn notes(page: &mut Page, text: &str, size: Length, lines: usize) {
    let limit = page.width - 2.0 * MARGIN;
    let lines = typeface::wrapped(text, Weight::Regular, size, limit, lines);
    let mut y = page.height - MARGIN - (lines.len() as f64 - 1.0) * size * 1.35;
    for line in lines {
        page.text([MARGIN, y], &line, size, Weight::Regular, Align::Left);
        y += size * 1.35;
    }
}

const SHOPPING: [Column; 8] = [
    ("Code", 0.13, Align::Left),
    ("Name", 0.31, Align::Left),
    ("Used", 0.09, Align::Right),
    ("Skeins", 0.09, Align::Right),
    ("Owned", 0.09, Align::Right),
    ("Buy", 0.08, Align::Right),
    ("Price", 0.10, Align::Right),
    ("Cost", 0.11, Align::Right),
];

fn shopping_cells(item: &Item) -> [String; 8] {
    let amount = |amount: Option<rust_decimal::Decimal>| amount.map_or_else(|| "?".into(), |a| a.to_string());
    let star = if item.nearly_used_up() { "*" } else { "" };
    [
        item.code.clone(),
        item.name.clone(),
        format!("{:.2}{star}", item.skeins_exact),
        item.skeins().to_string(),
        item.owned.normalize().to_string(),
        item.to_buy().to_string(),
        amount(item.price),
        if item.to_buy() == 0 { "–".to_owned() } else { amount(item.cost()) },
    ]
}

/// The shopping list on paper: a box to tick, a swatch and the figures of each thread, `currency` after sums.
#[must_use]
pub fn shopping_pages(list: &ShoppingList, projects: &[Project], currency: &str, paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let row = BODY * 1.95;
    let top = MARGIN + HEADING * 3.2;
    let foot = SMALL * 1.35 * 6.5;
    let per_page = (height - top - foot - MARGIN).holds(row, 0.0).max(1) as usize;
    let chunks: Vec<&[Item]> = list.items.chunks(per_page).collect();
    let titles: Vec<&str> = projects.iter().map(|project| project.chart.title.as_str()).collect();
    let title = format!("Threads for {}", titles.join(", "));
    let inner = width - 2.0 * MARGIN;
    let from = MARGIN + row * 2.1;
    let stops: Vec<Length> = SHOPPING
        .iter()
        .scan(from, |left, (_, share, align)| {
            let start = *left;
            *left += *share * (inner - row * 2.1);
            Some(if *align == Align::Right { *left } else { start })
        })
        .collect();
    let pages = chunks
        .iter()
        .enumerate()
        .map(|(index, items)| {
            let mut page = Page::new([width, height]);
            heading(&mut page, &title, HEADING, index, chunks.len());
            for ((name, _, align), &stop) in SHOPPING.iter().zip(&stops) {
                page.text([stop, top - SMALL * 0.6], name, SMALL, Weight::Regular, *align);
            }
            let rule = vec![[MARGIN, top], [MARGIN + inner, top]];
            page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, mm(0.3)) });
            for (place, item) in items.iter().enumerate() {
                let y = top + place as f64 * row;
                let tick = Area { x: MARGIN, y, width: row, height: row }.inset(row * 0.22);
                page.add(Shape::Frame { area: tick, stroke: Stroke::solid(Srgb8::BLACK, mm(0.25)) });
                let square = Area { x: MARGIN + row, y, width: row, height: row }.inset(row * 0.1);
                swatch(&mut page, square, item.colour);
                let cells = shopping_cells(item);
                for (at, ((cell, stop), (_, share, align))) in
                    cells.iter().zip(&stops).zip(&SHOPPING).enumerate()
                {
                    let weight = if matches!(at, 0 | 5) { Weight::Bold } else { Weight::Regular };
                    let limit = *share * (inner - row * 2.1) - BODY * 0.5;
                    put(&mut page, [*stop, y + row / 2.0 + BODY * 0.34], cell, BODY, weight, *align, limit);
                }
                let rule = vec![[MARGIN, y + row], [MARGIN + inner, y + row]];
                page.add(Shape::Line { points: rule, stroke: Stroke::solid(RULE, mm(0.1)) });
            }
            notes(&mut page, &shopping_note(list, currency), SMALL, 5);
            page
        })
        .collect();
    sheet(&title, pages)
}

fn shopping_note(list: &ShoppingList, currency: &str) -> String {
    let beyond = list.beyond_one_each();
    let set = if beyond.is_empty() {
        "One skein of each is enough, as in a boxed set.".to_owned()
    } else {
        format!("One skein of each is not enough for {}.", beyond.join(", "))
    };
    let cost = match (list.is_priced(), list.unpriced().is_empty()) {
        (false, _) => String::new(),
        (true, true) => format!(", {} {currency} in all", list.total()),
        (true, false) => format!(", {} {currency} in all without the threads marked ?", list.total()),
    };
    let is_reel = |item: &&Item| !item.skein.is_of_six();
    let reels: Vec<String> =
        list.items.iter().filter(is_reel).map(|item| format!("{} {}", item.code, item.skein)).collect();
    let reels =
        if reels.is_empty() { String::new() } else { format!(" Taken as a skein: {}.", reels.join(", ")) };
    format!(
        "{} to buy{cost}. {set} Used: skeins by a working order, with starts, ends and a tenth for waste; plain rows take \
         most of that.{reels} * Nearly used up: have one more of the same dye lot at hand. Buy all of a shade in one dye \
         lot. Keep needles, scissors and bobbins away from small children.",
        counted(list.items.iter().map(Item::to_buy).sum::<u64>(), "skein"),
    )
}

/// The diameter of a punched hole: 6 mm, as of an office punch (ISO 838).
const HOLE: Length = mm(6.0);

/// A row of a sorter card: room for the hole, and for a lark's head of thread beside the next.
const SORTER_ROW: Length = mm(14.0);

/// A hole of a sorter card: a needle's, or that of the thread of a line.
enum Hole<'a> {
    Needle(&'a Needle),
    Line(Kind<'a>),
}

/// Cards that sort threads: for each needle of a project a hole to punch and tie its thread into, with symbol,
/// colour, code, name and strands; then the same for each thread and pattern of backstitch. Cut along the dashed lines; heavy paper is best.
#[must_use]
pub fn sorter_pages(project: &Project, paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let columns = 3;
    let strip = (width - 2.0 * MARGIN) / columns as f64;
    let top = MARGIN + HEADING * 2.0;
    let rows = (height - top - MARGIN - SMALL * 3.0).holds(SORTER_ROW, 0.0).max(1) as usize;
    let needles = project.chart.needles().iter().map(Hole::Needle);
    let holes: Vec<Hole> =
        needles.chain(lines::kinds_by_look(&project.lines).into_iter().map(Hole::Line)).collect();
    let chunks: Vec<&[Hole]> = holes.chunks(columns * rows).collect();
    let title = format!("Thread sorter for {}", project.chart.title);
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
    sheet(&title, pages)
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
    let (text, _) = typeface::showable(&format!("{code}  ({strands})"));
    let fits = limit / typeface::width(&text, Weight::Bold, BODY).max(mm(1e-9));
    let size = BODY * fits.clamp(0.72, 1.0);
    let mut texts = match fits {
        fits if fits >= 0.72 => vec![(text, size, Weight::Bold)],
        _ => typeface::wrapped(&text, Weight::Bold, size, limit, 2)
            .into_iter()
            .map(|line| (line, size, Weight::Bold))
            .collect(),
    };
    texts.push((name, SMALL, Weight::Regular));
    texts.extend(beside.map(|beside| (beside, SMALL, Weight::Regular)));
    let pitch = SMALL * 1.2;
    let first = middle + SMALL * 0.35 - (texts.len() as f64 - 1.0) * pitch / 2.0;
    for (at, (text, size, weight)) in texts.iter().enumerate() {
        put(page, [left, first + at as f64 * pitch], text, *size, *weight, Align::Left, limit);
    }
    let rule = vec![[x + mm(1.0), y + SORTER_ROW], [x + strip - mm(1.0), y + SORTER_ROW]];
    page.add(Shape::Line { points: rule, stroke: Stroke::solid(RULE, mm(0.1)) });
}

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
                put(&mut page, [left, y + mm(4.2)], &shade.code, BODY, Weight::Bold, Align::Left, limit);
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
    sheet(card.name(), pages)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::chart::{Cell, Chart, Thread};
    use crate::ground::units::GridSize;
    use crate::planning::Handling;
    use crate::planning::shopping::{Drawer, pool};
    use crate::printing::sheet::tests::texts;
    use crate::thread::cloth::{Cloth, StitchKind};

    fn project(needles: usize) -> Project {
        let needle = |index: usize| Needle {
            symbol: SymbolId::all().nth(index % 20).unwrap().id().into(),
            threads: vec![Thread {
                code: format!("N{index}"),
                name: format!("A shade with the long name of number {index}"),
                colour: "#306090".parse().unwrap(),
                strands: 2,
                price: Some("1.15".parse().unwrap()),
                skein_mm: None,
                skein_strands: None,
                kind: None,
            }],
            stitch: StitchKind::FullCross,
        };
        let size = GridSize::new(20, 20).unwrap();
        let cells = (0..400).map(|at| Cell::worked(at % needles)).collect();
        let needles = (0..needles).map(needle).collect();
        let chart = Chart::new("Pool".into(), size, Cloth::default(), needles, cells).unwrap();
        Project::new(chart, Vec::new(), &Handling::default())
    }

    #[test]
    fn the_sorter_has_holes_for_lines_and_for_every_way_a_thread_is_worked() {
        let chart = super::super::tests::shared(12);
        let mut lines = super::super::tests::lines();
        let second = lines[0].threads[0].clone();
        lines[1].threads.push(Thread { code: "H2".into(), name: "Harbour".into(), ..second });
        let wanted: Vec<String> =
            chart.needles().iter().map(|n| format!("{}  ({})", n.code(), n.strands_text())).collect();
        let project = Project::new(chart, lines, &Handling::default());
        let sheet = sorter_pages(&project, Paper::A4);
        let texts = texts(&sheet);
        for code in wanted.iter().map(String::as_str).chain(["G1  (1)", "G1 + H2  (1 + 1)", "half cross /"]) {
            assert!(texts.contains(&code), "{code}: {texts:?}");
        }
        assert_eq!(texts.iter().filter(|text| **text == "backstitch").count(), 2);
        let shapes = sheet.pages.iter().flat_map(|page| &page.shapes);
        let circles =
            shapes.filter(|(_, shape)| matches!(shape, Shape::Line { points, .. } if points.len() == 37));
        assert_eq!(circles.count(), 14);
        within_the_page(&sheet);
    }

    /// No text begins or ends outside the page, and none stands below the last line of the notes.
    fn within_the_page(sheet: &Sheet) {
        for page in &sheet.pages {
            for (_, shape) in &page.shapes {
                if let Shape::Text { x, y, text, size, weight, align, .. } = shape {
                    let long = typeface::width(text, *weight, *size);
                    let left = align.left(*x, long);
                    assert!(
                        left >= MARGIN - mm(1e-6) && left + long <= page.width - MARGIN + mm(1e-6),
                        "{text}"
                    );
                    assert!(*y <= page.height - MARGIN + mm(1e-6), "{text}");
                }
            }
        }
    }

    #[test]
    fn every_thread_stands_on_the_shopping_list_the_sorter_and_the_card() {
        for paper in [Paper::A4, Paper::Letter] {
            let project = project(100);
            let list = pool(std::slice::from_ref(&project), &Drawer::new());
            let shopping = shopping_pages(&list, std::slice::from_ref(&project), "EUR", paper);
            let sorter = sorter_pages(&project, paper);
            let card = card_pages(&ShadeCard::demonstration(), paper);
            assert!(shopping.pages.len() > 1 && sorter.pages.len() > 1 && card.pages.len() > 1);
            for index in 0..100 {
                assert!(texts(&shopping).contains(&format!("N{index}").as_str()), "N{index}");
                assert!(texts(&sorter).contains(&format!("N{index}  (2)").as_str()), "N{index}");
            }
            for shade in ShadeCard::demonstration().shades() {
                assert!(texts(&card).contains(&shade.code.as_str()), "{}", shade.code);
            }
            for sheet in [shopping, sorter, card] {
                within_the_page(&sheet);
            }
        }
    }
}
