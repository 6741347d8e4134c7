//! The key: each symbol with its thread, and how much of it.

mod eyes;
mod measures;
mod rows;

use std::sync::LazyLock;

use super::lines::{self, Kind};
use super::measures::MARGIN;
use super::{Align, Area, Layout, Page, Said, SheetOptions, Show, Shows, thousands};
use crate::chart::{Chart, Needle, Thread, WorkedLine};
use crate::ground::units::counted;
use crate::planning::ThreadUse;
use crate::printing::length::{Length, Point, mm};
use crate::printing::symbols;
use crate::printing::symbols::AlikePair;
use crate::printing::typeface::{self, Weight};
use crate::thread::cloth::StitchKind;
use crate::thread::code;
use crate::thread::shades::ShadeCard;
use measures::{Measures, Text};
use rows::Spot;

/// Behind the skeins of a thread that are nearly used up, as in the shopping list.
const NEARLY_USED_UP: &str = "*";

/// Stands for the skeins of a thread that an earlier row has told.
pub(super) const TOLD_ABOVE: &str = "″";

/// What the rows of the key show: needles, then, each under a heading, lines, and pairs that some eyes take for one.
enum Row<'a> {
    Needle(usize),
    LinesHeading,
    Line(Kind<'a>),
    PairsHeading,
    Pairs(eyes::Row<'a>),
}

/// A row with its texts, and where it stands: the page of the key, the column on it, and from the top of that.
struct Placed<'a> {
    row: Row<'a>,
    code: Text,
    name: Text,
    page: usize,
    column: usize,
    down: Length,
    height: Length,
}

/// The rows of the key, and how they are set.
pub(super) struct Key<'a> {
    rows: Vec<Placed<'a>>,
    measures: Measures,
    /// Pairs for some eyes that had no room.
    left_out: usize,
}

impl<'a> Key<'a> {
    pub(super) fn new(
        chart: &Chart,
        lines: &'a [WorkedLine],
        pairs: &'a [AlikePair],
        options: &SheetOptions,
    ) -> Self {
        Self::on(chart, lines, pairs, options.paper.size(), options)
    }

    /// The key as one block on a page so wide, its heading under `top`.
    pub(super) fn on_one_page(
        chart: &Chart,
        lines: &'a [WorkedLine],
        pairs: &'a [AlikePair],
        options: &SheetOptions,
        [width, top]: [Length; 2],
    ) -> Self {
        let mut key = Self::on(chart, lines, pairs, [width, mm(f64::from(u16::MAX))], options);
        let all: Length = key.rows.iter().map(|placed| placed.height).sum();
        let columns = key.measures.columns;
        // Columns as even as they can be.
        let mut depth = all / columns as f64;
        loop {
            key.measures.depth = depth;
            let pages = flow(&mut key.rows, &key.measures);
            if pages <= 1 {
                break;
            }
            depth += key.measures.row / 2.0;
        }
        key.measures.top += top - MARGIN;
        key
    }

    fn on(
        chart: &Chart,
        lines: &'a [WorkedLine],
        pairs: &'a [AlikePair],
        paper: [Length; 2],
        options: &SheetOptions,
    ) -> Self {
        let kinds = lines::kinds(lines);
        let of_needles = chart.needles().iter().map(|needle| needle.threads.as_slice());
        let codes: Vec<&[Thread]> = of_needles.chain(kinds.iter().map(Kind::threads)).collect();
        // Figures that are no shorter than any chart's: then the place of the rows hangs on no figure.
        let note = |left_out| note(chart, lines, options.show, [8_888_888, 88_888], left_out);
        let measures_of = |pairs: usize, left_out: usize| {
            let rows = codes.len() + usize::from(!lines.is_empty()) + pairs;
            Measures::of(rows, &codes, &note(left_out), paper, options.print)
        };
        let set = |measures: Measures, shown: Vec<eyes::Row<'a>>, left_out: usize| {
            let mut rows = texts(chart, lines, options, &measures);
            if !shown.is_empty() {
                rows.push(Row::PairsHeading.plain(&measures));
                rows.extend(shown.into_iter().map(|row| Row::Pairs(row).plain(&measures)));
            }
            let pages = flow(&mut rows, &measures);
            (pages, Self { rows, measures, left_out })
        };
        let (pages, without) = set(measures_of(0, pairs.len()), Vec::new(), pairs.len());
        if pairs.is_empty() {
            return without.evened();
        }
        // How many rows the pairs take depends on how wide they are, and that on the number of rows. They should
        // not cost a page: then fewer are shown, or none and a word at the foot.
        let with = |most: usize| {
            let first = eyes::rows(pairs, &without.measures, most).len() + 1;
            let measures = measures_of(first, 0);
            let shown = eyes::rows(pairs, &measures, most);
            set(measures, shown, 0)
        };
        let fitting = (1..=eyes::MOST_ROWS).rev().map(with).find(|(count, key)| {
            let mut last = key.rows.iter().filter(|placed| placed.page + 1 == *count);
            *count <= pages && last.any(|placed| !placed.row.is_of_pairs())
        });
        fitting.map_or(without, |(_, key)| key).evened()
    }

    /// The same on as many pages, with columns as even as they can be: no row stands alone on the last, no page is
    /// nearly blank.
    fn evened(mut self) -> Self {
        let pages = self.page_count();
        let full = self.measures.depth;
        let all: Length = self.rows.iter().map(|placed| placed.height).sum();
        if pages == 1 && self.measures.columns == 1 {
            return self;
        }
        self.measures.depth = all / (pages * self.measures.columns) as f64;
        while flow(&mut self.rows, &self.measures) > pages && self.measures.depth < full {
            self.measures.depth = (self.measures.depth + self.measures.row / 4.0).min(full);
        }
        self
    }

    /// How many pages the key takes.
    pub(super) fn page_count(&self) -> usize {
        self.rows.last().map_or(1, |last| last.page + 1)
    }

    /// Where the rows end.
    pub(super) fn bottom(&self) -> Length {
        self.rows
            .iter()
            .map(|placed| self.measures.top + placed.down + placed.height)
            .fold(Length::ZERO, Length::max)
    }

    /// The pages of the key.
    pub(super) fn pages(&self, layout: &Layout, uses: &[ThreadUse]) -> Vec<Page> {
        (0..self.page_count())
            .map(|index| {
                let mut page = Page::new(layout.options.paper.size());
                page.shows = Some(Shows::Key { order: layout.options.order.clone() });
                self.draw(&mut page, layout, uses, index);
                self.notes(&mut page, layout);
                page
            })
            .collect()
    }

    /// Draws the rows of one page; gives the places of the needles among them.
    pub(super) fn draw(
        &self,
        page: &mut Page,
        layout: &Layout,
        uses: &[ThreadUse],
        index: usize,
    ) -> Vec<(usize, Area)> {
        let Self { rows: all, measures, .. } = self;
        let count = self.page_count();
        let heading =
            if count == 1 { "Key".to_owned() } else { format!("Key, part {} of {count}", index + 1) };
        let y = measures.top - measures.body * 2.2 - measures.heading * 0.3;
        page.begin(Said::Heading(2));
        page.text([MARGIN, y], &heading, measures.heading, Weight::Bold, Align::Left);
        page.begin(Said::Texts);
        let skeins = skeins(all, layout.chart, uses);
        let mut places = Vec::new();
        for (placed, skeins) in all.iter().zip(&skeins).filter(|(placed, _)| placed.page == index) {
            let spot = Spot::of(measures, placed);
            if placed.down <= Length::ZERO && !placed.row.is_of_pairs() {
                let amount = match &placed.row {
                    Row::Needle(_) => "Stitches",
                    Row::Line(_) => "Length",
                    // It has its own.
                    _ => "",
                };
                rows::headings(page, measures, spot.x, spot.stops, amount);
            }
            match &placed.row {
                Row::Needle(needle) => {
                    rows::needle_row(page, layout, measures, &spot, skeins, *needle);
                    let Measures { width, .. } = *measures;
                    places.push((*needle, Area { x: spot.x, y: spot.y, width, height: placed.height }));
                }
                Row::LinesHeading => spot.lines_heading(page, measures),
                Row::Line(kind) => rows::line_row(page, layout, measures, &spot, skeins, kind),
                Row::PairsHeading => spot.pairs_heading(page, measures, layout.options.show),
                Row::Pairs(row) => row.draw(page, layout, measures, [spot.x, spot.y]),
            }
        }
        places
    }

    /// What the figures mean, at the foot.
    fn notes(&self, page: &mut Page, layout: &Layout) {
        let [size, pitch] = measures::NOTE;
        let (size, pitch) = (self.measures.body * size, self.measures.body * size * pitch);
        let figures = [layout.uses.iter().sum(), layout.skeins];
        let text = note(layout.chart, layout.lines, layout.options.show, figures, self.left_out);
        let inner = page.width - 2.0 * MARGIN;
        let lines = typeface::wrapped(&text, Weight::Regular, size, inner, measures::NOTE_LINES);
        let mut y = page.height - MARGIN - (lines.len() as f64 - 0.75) * pitch;
        page.begin(Said::Paragraph);
        for line in lines {
            page.text([MARGIN, y], &line, size, Weight::Regular, Align::Left);
            y += pitch;
        }
    }
}

/// The needles by the codes of their threads, as a person looks them up; what shares a thread in the order of the chart.
pub(super) fn by_code(chart: &Chart) -> Vec<usize> {
    let codes = |at: usize| chart.needles()[at].threads.iter().map(|thread| thread.code.as_str());
    let order = |one: &usize, other: &usize| {
        let mut pairs = codes(*one).zip(codes(*other)).map(|(one, other)| code::order(one, other));
        let parts = || codes(*one).count().cmp(&codes(*other).count());
        pairs.find(|order| order.is_ne()).unwrap_or_else(parts)
    };
    let mut needles: Vec<usize> = (0..chart.needles().len()).collect();
    needles.sort_by(order);
    needles
}

/// The needles as they are to stand in the key.
pub(super) fn in_order(chart: &Chart, options: &SheetOptions) -> Vec<usize> {
    let mut all = options.order.clone();
    all.sort_unstable();
    let is_whole = all.iter().copied().eq(0..chart.needles().len());
    if is_whole { options.order.clone() } else { by_code(chart) }
}

/// Needles and lines with their texts, still without a place.
fn texts<'a>(
    chart: &Chart,
    lines: &'a [WorkedLine],
    options: &SheetOptions,
    measures: &Measures,
) -> Vec<Placed<'a>> {
    let needle = |(at, needle): (usize, &Needle)| {
        Row::Needle(at).placed(
            measures.code_lines(&needle.threads),
            measures.name_lines(&name_parts(needle)),
            measures,
        )
    };
    let needles = in_order(chart, options).into_iter().map(|at| (at, &chart.needles()[at]));
    let mut rows: Vec<Placed> = needles.map(needle).collect();
    if !lines.is_empty() {
        rows.push(Row::LinesHeading.plain(measures));
        rows.extend(lines::kinds(lines).into_iter().map(|kind| {
            let code = measures.code_lines(kind.threads());
            let name = measures.name_lines(&[format!("{}:", kind.label()), kind.names()]);
            Row::Line(kind).placed(code, name, measures)
        }));
    }
    rows
}

/// The name of a needle, and how it is worked where that is not the full cross.
fn name_parts(needle: &Needle) -> Vec<String> {
    let name = match needle.threads.as_slice() {
        [thread] => thread.name.clone(),
        // How many strands of each stands beside it.
        threads => threads.iter().map(|thread| thread.name.as_str()).collect::<Vec<_>>().join(" + "),
    };
    match needle.stitch.words() {
        None => vec![name],
        Some(stitch) => vec![format!("{name},"), stitch],
    }
}

/// Gives rows their places, down the columns of page after page; how many pages they take. A heading is never
/// the last of its column.
fn flow(rows: &mut [Placed], measures: &Measures) -> usize {
    let (mut column, mut down) = (0, Length::ZERO);
    let heights: Vec<Length> = rows.iter().map(|placed| placed.height).collect();
    for (at, placed) in rows.iter_mut().enumerate() {
        let with_next = match placed.row {
            Row::LinesHeading | Row::PairsHeading => heights.get(at + 1).copied().unwrap_or_default(),
            _ => Length::ZERO,
        };
        if down > Length::ZERO && down + placed.height + with_next > measures.depth + mm(1e-6) {
            (column, down) = (column + 1, Length::ZERO);
        }
        placed.page = column / measures.columns;
        placed.column = column % measures.columns;
        placed.down = down;
        down += placed.height;
    }
    column / measures.columns + 1
}

/// What each row says of skeins: those of a thread at its first row alone, so that the column adds up.
fn skeins(rows: &[Placed], chart: &Chart, uses: &[ThreadUse]) -> Vec<String> {
    let mut told = std::collections::BTreeSet::new();
    rows.iter()
        .map(|placed| {
            let threads = match &placed.row {
                Row::Needle(at) => chart.needles()[*at].threads.as_slice(),
                Row::Line(kind) => kind.threads(),
                _ => return String::new(),
            };
            let say = |thread: &Thread| {
                if !told.insert(thread.code.clone()) {
                    return TOLD_ABOVE.to_owned();
                }
                let of = uses.iter().find(|thread_use| thread_use.code == thread.code);
                let star = if of.is_some_and(ThreadUse::nearly_used_up) { NEARLY_USED_UP } else { "" };
                format!("{}{star}", of.map_or(0, ThreadUse::skeins))
            };
            threads.iter().map(say).collect::<Vec<_>>().join(" + ")
        })
        .collect()
}

/// Threads of which a skein is another than people expect, and what it is: `M01 20 m of 1 strand`.
fn reels(chart: &Chart, lines: &[WorkedLine]) -> Vec<String> {
    let of_needles = chart.needles().iter().flat_map(|needle| &needle.threads);
    let of_lines = lines.iter().flat_map(|line| &line.threads);
    let mut told = std::collections::BTreeSet::new();
    of_needles
        .chain(of_lines)
        .filter(|thread| !thread.skein().is_of_six() && told.insert(thread.code.as_str()))
        .map(|thread| format!("{} {}", thread.code, thread.skein()))
        .collect()
}

/// Whether a thread stands in more than one row.
pub(super) fn shares_threads(chart: &Chart, lines: &[WorkedLine]) -> bool {
    let of_needles = chart.needles().iter().map(|needle| needle.threads.as_slice());
    let kinds = lines::kinds(lines);
    let mut seen = std::collections::BTreeSet::new();
    let mut threads = of_needles.chain(kinds.iter().map(Kind::threads)).flatten();
    threads.any(|thread| !seen.insert(thread.code.as_str()))
}

/// What who goes to a shop should know first.
pub(super) const DEMONSTRATION: &str =
    "The threads are those of brede's demonstration card, which is invented: no shop has them.";

/// Whether a chart has threads that are in no shop.
pub(super) fn is_demonstration(chart: &Chart) -> bool {
    // It is the same for every page and every try.
    static CARD: LazyLock<ShadeCard> = LazyLock::new(ShadeCard::demonstration);
    let is_on_it = |thread: &Thread| {
        let mut shades = CARD.shades().iter();
        shades.any(|shade| shade.code == thread.code && shade.name == thread.name)
    };
    chart.needles().iter().flat_map(|needle| &needle.threads).any(is_on_it)
}

/// What stands at the foot of the key, of so many stitches and skeins in all.
fn note(
    chart: &Chart,
    lines: &[WorkedLine],
    show: Show,
    [worked, skeins]: [u64; 2],
    left_out: usize,
) -> String {
    let mut note = format!("Stitches in all: {}. Skeins in all: {}", thousands(worked), thousands(skeins));
    if shares_threads(chart, lines) {
        note.push_str(&format!(
            "; those of a thread stand once, at its first row, and {TOLD_ABOVE} says that they are told above"
        ));
    }
    note.push_str(
        ". A skein is what the shade card says, else 8 m of six strands. Thread is reckoned by a working order \
         with 4 cm for each start and end, and a tenth is added; plain rows take more. * Nearly used up: one \
         more of the same dye lot is wise. ",
    );
    let reels = reels(chart, lines);
    if !reels.is_empty() {
        note.push_str(&format!("Taken as a skein: {}. ", reels.join(", ")));
    }
    if show == Show::Colours {
        note.push_str(
            "This print has colours without symbols: keep it beside one with symbols. Squares left white are \
             bare cloth or a white thread.",
        );
        return note;
    }
    if is_demonstration(chart) {
        note.push_str(&format!("{DEMONSTRATION} "));
    }
    note.push_str("Squares without a symbol stay bare cloth.");
    if chart.needles().iter().any(|needle| needle.stitch != StitchKind::FullCross) {
        note.push_str(
            " A stitch that is no full cross has black the corners of its square in which its legs begin and end.",
        );
    }
    if left_out > 0 {
        note.push_str(&format!(
            " {} of threads alike to colour-blind eyes: go by symbol and code; brede can list them.",
            counted(left_out as u64, "pair")
        ));
    }
    note
}

/// Where the box of each needle's symbol stands: the page of the key, from 0, and the place on it.
pub(crate) fn symbol_areas(
    chart: &Chart,
    lines: &[WorkedLine],
    options: &SheetOptions,
) -> Vec<(usize, Area)> {
    let pairs = symbols::alike(chart);
    let Key { measures, rows, .. } = Key::new(chart, lines, &pairs, options);
    let mut needles: Vec<(usize, &Placed)> = rows
        .iter()
        .filter_map(|placed| match placed.row {
            Row::Needle(at) => Some((at, placed)),
            _ => None,
        })
        .collect();
    needles.sort_by_key(|(at, _)| *at);
    needles
        .into_iter()
        .map(|(_, placed)| (placed.page, symbol_area(placed.corner(&measures), measures.row)))
        .collect()
}

/// The height of a row that shows one needle on this paper.
pub(super) fn row_height(options: &SheetOptions) -> Length {
    Measures::of(1, &[], "", options.paper.size(), options.print).row
}

/// How wide the frame of a symbol's box is drawn.
pub(super) const BOX_FRAME: Length = mm(0.15);

/// The box of a symbol in a row of this height.
pub(super) fn symbol_area([x, y]: Point, row: Length) -> Area {
    Area { x, y, width: row, height: row }.inset(row * 0.07)
}

impl<'a> Row<'a> {
    fn is_of_pairs(&self) -> bool {
        matches!(self, Self::PairsHeading | Self::Pairs(_))
    }

    fn plain(self, measures: &Measures) -> Placed<'a> {
        self.placed(Text::default(), Text::default(), measures)
    }

    fn placed(self, code: Text, name: Text, measures: &Measures) -> Placed<'a> {
        let height = measures.height(code.lines.len().max(name.lines.len()));
        Placed { row: self, code, name, page: 0, column: 0, down: Length::ZERO, height }
    }
}

impl Placed<'_> {
    fn corner(&self, measures: &Measures) -> Point {
        [measures.left(self.column), measures.top + self.down]
    }
}

#[cfg(test)]
mod tests;
