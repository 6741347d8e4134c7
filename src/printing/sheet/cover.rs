//! The cover: what the piece will be, before the first stitch.

use image::RgbImage;

use super::coverage::ink_of_picture;
use super::measures::MARGIN;
use super::{Align, Area, Layout, Page, Said, Shape, Show, Stroke, key, lines, thousands};
use crate::ground::colour::Srgb8;
use crate::ground::units::{Millimetres, counted};
use crate::planning;
use crate::printing::length::{Length, mm};
use crate::printing::typeface::{self, Weight};

/// What a stitcher should mind, in few words.
const CAUTIONS: [&str; 4] = [
    "A picture or a chart may be someone's copyright: local law and its maker's terms decide what you may do \
     with it.",
    "Buy all of a shade in one dye lot. Test threads and cloth for running dye before you wash the piece.",
    "Work in good light, and rest eyes and hands often: short breaks, many of them.",
    "Keep needles, scissors and small parts away from small children and pets; count needles in and out.",
];

/// What to trust of the colours of this print.
fn colours(show: Show) -> &'static str {
    match show {
        Show::Both => "Colours here are printed paler than the threads. Trust the symbol, not the tint.",
        Show::Symbols => "Printed colours are not those of the threads. Trust the symbol.",
        Show::Colours => {
            "This print has colours without symbols, for a look: printed colours are not those of the threads. \
             Stitch from a print with symbols."
        }
    }
}

/// The most of the page that its picture may ink: what is left of a quarter beside the text.
const PICTURE_INK: f64 = 0.21;

/// Both measures of a length, for those who think in either.
fn size(width: Millimetres, height: Millimetres) -> String {
    let (w, h) = (width, height);
    format!("{:.1} x {:.1} cm ({:.1} x {:.1} in)", w.cm(), h.cm(), w.inches(), h.inches())
}

/// The same rounded up: cloth that is cut so is large enough.
fn size_up(width: Millimetres, height: Millimetres) -> String {
    let (w, h) = (width, height);
    format!("{:.1} x {:.1} cm ({:.1} x {:.1} in)", w.cm_up(), h.cm_up(), w.inches_up(), h.inches_up())
}

fn facts(layout: &Layout) -> Vec<(&'static str, String)> {
    let chart = layout.chart;
    let (width, height) = chart.finished();
    let (cut_width, cut_height) = planning::cloth_to_cut(chart);
    let worked: u64 = layout.uses.iter().sum();
    let bare = chart.size().cells() as u64 - worked;
    let count = match chart.cloth.count.over() {
        1 => format!("{} stitches to the inch", chart.cloth.count),
        over => {
            let threads = chart.cloth.count.stitches_per_inch() * f64::from(over);
            format!("{threads} threads to the inch, each stitch over {over}")
        }
    };
    let chart_pages = layout.plan.pages();
    let mut facts = vec![
        ("Finished size", size(width, height)),
        ("Cloth", format!("{count}, {}", cloth_colour(chart.cloth.colour))),
        ("Cloth to cut", format!("{}, 5 cm over on each side", size_up(cut_width, cut_height))),
        ("Design", format!("{} stitches wide and high", chart.size())),
        (
            "Stitches",
            match bare {
                0 => thousands(worked),
                1 => format!("{}; one square stays bare cloth", thousands(worked)),
                bare => format!("{}; {} squares stay bare cloth", thousands(worked), thousands(bare)),
            },
        ),
        ("Threads", planning::ThreadCount::of(chart, layout.lines).to_string()),
        ("Skeins", format!("{} to have ready", thousands(layout.skeins))),
    ];
    if !layout.lines.is_empty() {
        let cells: f64 = layout.lines.iter().map(crate::chart::WorkedLine::length).sum();
        let metres = cells * chart.cloth.count.cell().mm() / 1000.0;
        // As many as the key lists: an outline round many motifs is one of them.
        let kinds = lines::kinds(layout.lines).len() as u64;
        facts.push((
            "Outlines",
            format!("{metres:.1} m of backstitch, {} of the key", counted(kinds, "line")),
        ));
    }
    facts
        .push(("Pages", format!("{}, of which {}", layout.pages, counted(chart_pages as u64, "chart page"))));
    facts
}

/// A colour of cloth, with the name that CSS has for one near it: a code alone says nothing to people.
fn cloth_colour(colour: Srgb8) -> String {
    match colour.near_name() {
        Some((name, true)) => format!("{name} ({colour})"),
        Some((name, false)) => format!("near {name} ({colour})"),
        None => format!("colour {colour}"),
    }
}

/// When and of what the chart was made, small under the facts.
fn origin(layout: &Layout) -> String {
    let made =
        layout.chart.made.as_ref().map(|made| format!("Made from {}.", typeface::showable(&made.photo).0));
    let date = Some(format!("{}.", layout.options.date)).filter(|_| !layout.options.date.is_empty());
    made.into_iter().chain(date).collect::<Vec<_>>().join(" ")
}

/// The least height of the picture, as a share of the page: on small paper the text is set smaller for it.
const LEAST_PICTURE: f64 = 0.2;

/// From line to line, in sizes of text: of facts, and within one.
const FACT: f64 = 1.5;
const WITHIN: f64 = 1.2;

/// The texts of the cover at one size, and the room that they leave for the picture.
struct Texts {
    title: Length,
    body: Length,
    small: Length,
    heading: Vec<String>,
    facts: Vec<(&'static str, Vec<String>)>,
    /// From the name of a fact to what it is.
    label: Length,
    origin: Vec<String>,
    cautions: Vec<String>,
    /// Where the cautions begin.
    foot: Length,
    room: Area,
}

impl Texts {
    fn of(layout: &Layout, facts: &[(&'static str, String)], scale: f64) -> Self {
        let [width, height] = layout.options.paper.size();
        let [title, body, small] = [26.0, 11.0, 8.5].map(|points| layout.options.print.text(points) * scale);
        let (inner, top) = (width - 2.0 * MARGIN, MARGIN);
        let heading = typeface::wrapped(&layout.title, Weight::Bold, title, inner, 2);
        let label = body * 8.6;
        let facts: Vec<(&str, Vec<String>)> = facts
            .iter()
            .map(|(name, value)| (*name, typeface::wrapped(value, Weight::Regular, body, inner - label, 2)))
            .collect();
        let lines = |line: &str| typeface::wrapped(line, Weight::Regular, small, inner, 3);
        let invented = key::is_demonstration(layout.chart).then_some(key::DEMONSTRATION);
        let all = invented.into_iter().chain(CAUTIONS).chain([colours(layout.options.show)]);
        let cautions: Vec<String> = all.flat_map(lines).collect();
        let origin = lines(&origin(layout));
        let foot = height - MARGIN - cautions.len() as f64 * small * 1.35;
        let y = top + heading.len() as f64 * title * 1.1 + title * 0.6;
        let tall: Length = facts.iter().map(|(_, lines)| fact_height(lines.len(), body)).sum();
        let tall = tall + origin.len() as f64 * small * 1.35;
        let room = Area { x: MARGIN, y, width: inner, height: foot - tall - body * 3.5 - y };
        Self { title, body, small, heading, facts, label, origin, cautions, foot, room }
    }
}

fn fact_height(lines: usize, body: Length) -> Length {
    body * (FACT + WITHIN * (lines.max(1) - 1) as f64)
}

/// The cover. Its picture is the sheet's first.
pub(super) fn page(layout: &Layout, preview: &RgbImage) -> Page {
    let mut page = Page::new(layout.options.paper.size());
    let facts = facts(layout);
    let sizes = (0..16).map(|step| Texts::of(layout, &facts, 0.9_f64.powi(step)));
    let fits = |texts: &Texts| texts.room.height >= page.height * LEAST_PICTURE;
    let texts = sizes.into_iter().find(fits).unwrap_or_else(|| Texts::of(layout, &facts, 0.2));
    let Texts { title, body, small, heading, facts, label, origin, cautions, foot, room } = texts;
    let (left, inner) = (room.x, room.width);
    let mut y = MARGIN;
    page.begin(Said::Heading(1));
    for line in heading {
        y += title * 1.1;
        page.text([left, y], &line, title, Weight::Bold, Align::Left);
    }
    y = room.y;

    let (width, height) = (f64::from(preview.width()), f64::from(preview.height()));
    // A dark picture is shown smaller, to spare ink.
    let spared = PICTURE_INK * page.width.to_mm() * page.height.to_mm()
        / (ink_of_picture(preview) * width * height).max(1e-9);
    let scale = (room.width / width).min(room.height / height).min(mm(spared.sqrt()));
    // Title, picture and facts stand on one axis.
    let picture = Area { x: left, y, width: width * scale, height: height * scale };
    page.begin(Said::Figure("The finished piece, about as it will look.".to_owned()));
    page.add(Shape::Picture { area: picture, picture: 0 });
    page.add(Shape::Frame { area: picture, stroke: Stroke::solid(Srgb8::BLACK, mm(0.25)) });

    y = picture.bottom() + body * 2.2;
    for (row, (name, lines)) in facts.into_iter().enumerate() {
        page.begin(Said::Cell { row, is_head: true, symbol: None });
        page.text([left, y], name, body, Weight::Bold, Align::Left);
        page.begin_cell(row);
        for (at, line) in lines.iter().enumerate() {
            let down = y + at as f64 * body * WITHIN;
            page.text([left + label, down], line, body, Weight::Regular, Align::Left);
        }
        y += fact_height(lines.len(), body);
    }
    page.begin(Said::Paragraph);
    for line in origin {
        page.text([left, y], &line, small, Weight::Regular, Align::Left);
        y += small * 1.35;
    }
    y = foot;
    let rule = vec![[left, y - small * 1.3], [left + inner, y - small * 1.3]];
    page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, mm(0.2)) });
    page.begin(Said::Paragraph);
    for line in cautions {
        page.text([left, y], &line, small, Weight::Regular, Align::Left);
        y += small * 1.35;
    }
    page
}
