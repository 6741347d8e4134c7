//! A plan of a box with compartments, so that each thread has its place and is found there.
//!
//! Owns the order in which threads lie and how the plan looks. Leaves labels and cards to `bobbins` and `lists`.

use std::cmp::Ordering;
use std::str::FromStr;

use super::lists::{BODY, HEADING, SMALL, notes, put, swatch};
use super::measures::MARGIN;
use super::{Align, Area, Page, Paper, Shape, Stroke, key, lists};
use crate::chart::{Chart, Thread};
use crate::ground::colour::Srgb8;
use crate::planning::ThreadUse;
use crate::planning::shopping::{Item, Project, ShoppingList};
use crate::printing::length::{Length, mm};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface::{self, Weight};
use crate::thread::code;

/// The order in which threads lie in a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BoxOrder {
    /// By their codes.
    #[default]
    Code,
    /// Greys first, then round the circle of hues; of one hue the lightest first.
    Colour,
    /// What takes most thread first.
    Use,
}

/// Rows and columns of compartments that cannot be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not rows x columns of compartments up to {MOST} each, such as 10x5")]
pub struct BoxError {
    /// What was given.
    pub text: String,
}

/// More rows or columns of compartments no box for thread has (common practice, no source), and no page shows.
const MOST: usize = 40;

/// A box: rows and columns of compartments, a thread in each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Compartments {
    rows: usize,
    columns: usize,
}

impl FromStr for Compartments {
    type Err = BoxError;
    fn from_str(text: &str) -> Result<Self, BoxError> {
        let bad = || BoxError { text: text.to_owned() };
        let (rows, columns) = text.trim().split_once(['x', 'X', '×']).ok_or_else(bad)?;
        let count = |text: &str| text.trim().parse().ok().filter(|count| (1..=MOST).contains(count));
        Ok(Self { rows: count(rows).ok_or_else(bad)?, columns: count(columns).ok_or_else(bad)? })
    }
}

/// A list in the order in which its threads lie in a box.
#[must_use]
pub fn in_order(list: &ShoppingList, order: BoxOrder) -> ShoppingList {
    let mut list = list.clone();
    list.items.sort_by(|one, other| code::order(&one.code, &other.code));
    list.items.sort_by(|one, other| order.of([one, other].map(|item| (item.colour, item.strand_metres))));
    list
}

/// The needles of a chart in the order in which their first threads lie in a box: for the key. `uses` are of all its
/// threads.
#[must_use]
pub fn needles_in_order(chart: &Chart, uses: &[ThreadUse], order: BoxOrder) -> Vec<usize> {
    let mut needles = key::by_code(chart);
    let told = |at: &usize| {
        let first = chart.needles()[*at].threads.first();
        let metres = |thread: &Thread| {
            uses.iter()
                .find(|used| code::same(&used.code, &thread.code))
                .map_or(0.0, |used| used.strand_metres)
        };
        first.map_or((Srgb8::WHITE, 0.0), |thread| (thread.colour, metres(thread)))
    };
    needles.sort_by(|one, other| order.of([told(one), told(other)]));
    needles
}

impl BoxOrder {
    /// Which of two threads, by colour and metres, lies first; equal where their codes decide.
    fn of(self, [one, other]: [(Srgb8, f64); 2]) -> Ordering {
        match self {
            Self::Code => Ordering::Equal,
            Self::Colour => {
                let (one, other) = (by_colour(one.0), by_colour(other.0));
                one.0.cmp(&other.0).then(other.1.total_cmp(&one.1))
            }
            Self::Use => other.1.total_cmp(&one.1),
        }
    }
}

/// Under this chroma a thread is a grey to most eyes, in CIELAB.
const GREY: f64 = 9.0;

/// So many families of hue there are; those of red begin at 0.
const FAMILIES: f64 = 12.0;

/// The family of a colour, greys first, and its lightness.
fn by_colour(colour: Srgb8) -> (u32, f64) {
    let lab = colour.lab();
    if lab.a.hypot(lab.b) < GREY {
        return (0, lab.l);
    }
    let turn = libm::atan2(lab.b, lab.a).rem_euclid(std::f64::consts::TAU) / std::f64::consts::TAU;
    #[allow(clippy::cast_sign_loss, reason = "at least 0")]
    let family = (turn * FAMILIES).floor() as u32;
    (1 + family, lab.l)
}

/// A plan of the boxes that the threads of a list take, in its order, along the rows from the top left.
#[must_use]
pub fn plan_pages(list: &ShoppingList, projects: &[Project], plan: Compartments, paper: Paper) -> Vec<Page> {
    let Compartments { rows, columns } = plan;
    let [width, height] = paper.size();
    let boxes: Vec<&[Item]> = list.items.chunks(rows * columns).collect();
    let top = MARGIN + HEADING * 2.0;
    let foot = SMALL * 1.35 * 3.5;
    let wide = (width - 2.0 * MARGIN) / columns as f64;
    let high = ((height - top - foot - MARGIN) / rows as f64).min(wide.max(mm(18.0)));
    let draw = |(index, items): (usize, &&[Item])| {
        let mut page = Page::new([width, height]);
        let title = match boxes.len() {
            1 => "Where each thread lies".to_owned(),
            count => format!("Where each thread lies: box {} of {count}", index + 1),
        };
        lists::heading(&mut page, &title, HEADING, 0, 1);
        for place in 0..rows * columns {
            let area = Area {
                x: MARGIN + (place % columns) as f64 * wide,
                y: top + (place / columns) as f64 * high,
                width: wide,
                height: high,
            };
            page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.2)) });
            if let Some(item) = items.get(place) {
                compartment(&mut page, area, item, projects);
            }
        }
        let note = "Seen from above, the lid open. A compartment shows the thread's shade, its first symbol on the chart, \
                    its code and name. Keep boxes shut against light and dust, and away from small children.";
        notes(&mut page, note, SMALL, 3);
        page
    };
    boxes.iter().enumerate().map(draw).collect()
}

fn compartment(page: &mut Page, area: Area, item: &Item, projects: &[Project]) {
    let inner = area.inset(mm(0.8).min(area.width * 0.08));
    let side = (inner.height * 0.42).min(inner.width * 0.46).min(mm(9.0));
    let square = |left: Length| Area { x: left, y: inner.y, width: side, height: side };
    swatch(page, square(inner.x), item.colour);
    let has = |threads: &[Thread]| threads.iter().any(|thread| code::same(&thread.code, &item.code));
    let mut needles = projects.iter().flat_map(|project| project.chart.needles());
    if let Some(needle) = needles.find(|needle| has(&needle.threads)) {
        let area = square(inner.x + side + mm(0.4));
        page.symbol(area, SymbolId::of(&needle.symbol), needle.stitch);
        page.add(Shape::Frame { area, stroke: Stroke::solid(Srgb8::BLACK, mm(0.15)) });
    }
    let (text, _) = typeface::showable(&item.code);
    let free = inner.height - side;
    let fits = inner.width / typeface::width(&text, Weight::Code, BODY).max(mm(1e-9));
    let size = (BODY * fits.clamp(0.5, 1.0)).min(free * 0.8);
    let base = inner.y + side + mm(0.4) + size * 0.8;
    put(page, [inner.x, base], &text, size, Weight::Code, Align::Left, inner.width);
    let under = base + SMALL * 1.15;
    if under <= inner.bottom() && inner.width >= mm(12.0) {
        put(page, [inner.x, under], &item.name, SMALL, Weight::Regular, Align::Left, inner.width);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::tests::{shared, texts_of};
    use super::*;
    use crate::ground::progress::Silent;
    use crate::planning::Handling;
    use crate::planning::shopping::{Drawer, pool};

    fn list() -> (Project, ShoppingList) {
        let project = Project::new(shared(45), Vec::new(), &Handling::default(), &Silent).unwrap();
        let list = pool(std::slice::from_ref(&project), &Drawer::new());
        (project, list)
    }

    #[test]
    fn a_box_is_given_as_rows_and_columns() {
        assert_eq!("10x5".parse(), Ok(Compartments { rows: 10, columns: 5 }));
        assert_eq!(" 4 X 12".parse(), Ok(Compartments { rows: 4, columns: 12 }));
        for bad in ["10", "0x5", "10x41", "x", "10x5x2", "-1x5"] {
            assert!(bad.parse::<Compartments>().is_err(), "{bad}");
        }
    }

    /// Every thread stands in one compartment, in the order asked for, along the rows.
    #[test]
    fn threads_lie_by_code_by_colour_or_by_use() {
        let (project, list) = list();
        let plan: Compartments = "6x5".parse().unwrap();
        let shown = |order| {
            let list = in_order(&list, order);
            let pages = plan_pages(&list, std::slice::from_ref(&project), plan, Paper::A4);
            assert_eq!(pages.len(), list.items.len().div_ceil(30));
            let is_code = |text: &&str| text.len() == 4 && text.starts_with('C');
            let shown: Vec<String> =
                pages.iter().flat_map(|page| texts_of(page)).filter(is_code).map(str::to_owned).collect();
            assert_eq!(shown, list.items.iter().map(|item| item.code.clone()).collect::<Vec<_>>());
            list.items
        };
        let by_code = shown(BoxOrder::Code);
        assert!(by_code.windows(2).all(|pair| pair[0].code < pair[1].code));
        let by_use = shown(BoxOrder::Use);
        assert!(by_use.windows(2).all(|pair| pair[0].strand_metres >= pair[1].strand_metres));
        let by_hue: Vec<_> = shown(BoxOrder::Colour).iter().map(|item| by_colour(item.colour)).collect();
        assert!(
            by_hue
                .windows(2)
                .all(|pair| pair[0].0 < pair[1].0 || pair[0].0 == pair[1].0 && pair[0].1 >= pair[1].1)
        );
        assert_eq!(by_colour(Srgb8 { r: 120, g: 120, b: 122 }).0, 0);
        // The key stands as the box does.
        let chart = &project.chart;
        for order in [BoxOrder::Code, BoxOrder::Colour, BoxOrder::Use] {
            let needles = needles_in_order(chart, &project.uses, order);
            let lie: Vec<String> = in_order(&list, order).items.into_iter().map(|item| item.code).collect();
            let place = |at: usize| lie.iter().position(|code| *code == chart.needles()[at].threads[0].code);
            assert_eq!(needles.len(), chart.needles().len());
            assert!(needles.windows(2).all(|pair| place(pair[0]) <= place(pair[1])), "{order:?}");
        }
    }
}
