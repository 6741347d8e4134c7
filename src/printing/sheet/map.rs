//! The page map: the whole design small, cut as the pages cut it.

use image::{Rgb, RgbImage};

use super::measures::MARGIN;
use super::{Align, Area, Layout, Link, Page, Said, Shape, Stroke};
use crate::chart::Chart;
use crate::ground::colour::Srgb8;
use crate::printing::length::{Length, mm};
use crate::printing::typeface::{self, Weight};

/// The chart at one pixel a cell in thread colours on its cloth, paled so that numbers can be read on it.
pub(super) fn picture(chart: &Chart) -> RgbImage {
    let pale = |colour: Srgb8| {
        let paper = Srgb8::WHITE.linear();
        let colour = colour.linear().mix(paper, 0.45).srgb8();
        Rgb([colour.r, colour.g, colour.b])
    };
    let needles: Vec<_> = chart.needles().iter().map(|needle| pale(needle.colour())).collect();
    let cloth = pale(chart.cloth.colour);
    let width = chart.size().width();
    RgbImage::from_fn(chart.size().columns(), chart.size().rows(), |x, y| {
        let cell = chart.cells()[y as usize * width + x as usize];
        cell.needle().map_or(cloth, |needle| needles[needle])
    })
}

/// The page of the map. Its picture is the sheet's second.
pub(super) fn page(layout: &Layout) -> Page {
    let mut page = Page::new(layout.options.paper.size());
    let print = layout.options.print;
    let (heading, body) = (print.text(18.0), print.text(10.5));
    let mut y = MARGIN + heading;
    page.begin(Said::Heading(2));
    page.text([MARGIN, y], "Page map", heading, Weight::Bold, Align::Left);
    y += body * 1.9;
    let hint = "Each number is the page that shows that part. Lay the pages out like this.";
    page.begin(Said::Paragraph);
    for line in typeface::wrapped(hint, Weight::Regular, body, page.width - 2.0 * MARGIN, 3) {
        page.text([MARGIN, y], &line, body, Weight::Regular, Align::Left);
        y += body * 1.35;
    }
    let room =
        Area { x: MARGIN, y, width: page.width - 2.0 * MARGIN, height: page.height - y - MARGIN - body };
    let size = layout.chart.size();
    let (columns, rows) = (f64::from(size.columns()), f64::from(size.rows()));
    let scale = (room.width / columns).min(room.height / rows);
    let picture = Area {
        x: room.x + (room.width - columns * scale) / 2.0,
        y: room.y,
        width: columns * scale,
        height: rows * scale,
    };
    let first = layout.first_chart_page + 1;
    let [across, down] = [layout.plan.columns.len(), layout.plan.rows.len()];
    page.begin(Said::Figure(format!(
        "The design in pages {first} to {}: {across} side by side, {down} one under another.",
        layout.pages
    )));
    page.add(Shape::Picture { area: picture, picture: 1 });
    for (down, part_rows) in layout.plan.rows.iter().enumerate() {
        for (across, part_columns) in layout.plan.columns.iter().enumerate() {
            let area = Area {
                x: picture.x + f64::from(part_columns.start) * scale,
                y: picture.y + f64::from(part_rows.start) * scale,
                width: part_columns.len() as f64 * scale,
                height: part_rows.len() as f64 * scale,
            };
            let target = layout.page_of(across, down);
            number(&mut page, area, &(target + 1).to_string(), heading);
            page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.4)) });
            page.links.push(Link { area, page: target, part: None });
        }
    }
    page
}

/// A page number in the middle of its part, on a white ground.
fn number(page: &mut Page, area: Area, text: &str, heading: Length) {
    let size = heading.min(area.height * 0.7).min(area.width * 0.8 / text.len() as f64 / 0.6);
    let width = typeface::width(text, Weight::Bold, size) + size * 0.5;
    let (x, y) = (area.x + area.width / 2.0, area.y + area.height / 2.0);
    let ground = Area { x: x - width / 2.0, y: y - size * 0.62, width, height: size * 1.24 };
    page.add(Shape::Fill { area: ground, colour: Srgb8::WHITE });
    page.text([x, y + size * 0.35], text, size, Weight::Bold, Align::Centre);
}
