//! The symbols and lines of a page, under its cells.
//!
//! Entries stand in the order of the key in slots of one width and run on like text, from left to right; one that needs more takes
//! several slots. Codes stand whole, and beside them the kind of stitch where it is not the full cross (two
//! needles may share a thread), or whose a line is. Names stand whole where that takes few rows, else they fill what
//! room is left.

use std::ops::Range;

use rayon::prelude::*;

use super::key;
use super::lines::{self, Kind};
use super::measures::{MARGIN, Measures, THIN_RULE};
use super::uses::needles_in;
use super::ways::Way;
use super::{Align, Area, Layout, Page, SheetOptions, Stroke};
use crate::chart::{Chart, WorkedLine};
use crate::printing::length::{Length, mm};
use crate::printing::typeface::{self, Weight};

/// Rows up to which names stand beside codes: few enough that the chart keeps its room.
const NAMED_ROWS: usize = 6;

/// Rows from which long codes are cut short, so that the chart keeps its room; the key has them whole.
const MOST_ROWS: usize = 12;

/// The longest part of a code that stands whole, in sizes of text; and where there would be too many rows.
const CODE: [f64; 2] = [8.0, 2.6];

/// Kinds of line on one page at most; the rest are counted. Six patterns there are.
const MOST_LINES: usize = 12;

/// The room that the name of a line takes at most, in sizes of text, and what it stands for.
const LINE_NAME: f64 = 14.0;
const LINE_LABEL: f64 = 20.0;

/// A comma or a colon, in sizes of text.
const COMMA: f64 = 0.3;

/// The marks that a line is said to stand for; more are counted.
const MOST_LABELS: usize = 2;

/// How many slots a strip with whole names is tried with.
const WHOLE_COLUMNS: std::ops::RangeInclusive<usize> = 2..=12;

/// Whether names stand beside codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Names {
    Whole,
    Cut,
    None,
}

/// What stands on a page: a needle, or a kind of line, by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    Needle(usize),
    Line(usize),
    /// So many more kinds of line.
    More(usize),
}

/// All that the strips of a chart may have to say.
pub(super) struct Signs<'a> {
    chart: &'a Chart,
    /// Lines of one thread and pattern, whatever mark they belong to.
    lines: Vec<Kind<'a>>,
    /// Where they run.
    ways: Vec<Vec<Way>>,
    /// The place of each needle in the key.
    ranks: Vec<usize>,
}

impl<'a> Signs<'a> {
    pub(super) fn of(chart: &'a Chart, lines: &'a [WorkedLine], options: &SheetOptions) -> Self {
        let lines = lines::kinds_by_look(lines);
        let ways = |kind: &Kind| kind.lines.iter().map(|line| Way::of(line)).collect();
        let mut ranks = vec![0; chart.needles().len()];
        for (rank, needle) in key::in_order(chart, options).into_iter().enumerate() {
            ranks[needle] = rank;
        }
        Self { chart, ways: lines.iter().map(ways).collect(), lines, ranks }
    }

    /// Needles in the order of the key.
    fn needles(&self, mut needles: Vec<usize>) -> impl Iterator<Item = Sign> {
        needles.sort_by_key(|&needle| self.ranks[needle]);
        needles.into_iter().map(Sign::Needle)
    }

    /// Everything, as if on one page.
    pub(super) fn all(&self) -> Vec<Sign> {
        let needles = self.needles((0..self.chart.needles().len()).collect());
        needles.chain(held((0..self.lines.len()).collect())).collect()
    }

    /// What stands in a part of the chart, in the order of the key.
    pub(super) fn within(&self, columns: &Range<u32>, rows: &Range<u32>) -> Vec<Sign> {
        let needles = self.needles(needles_in(self.chart, columns, rows));
        let lines =
            (0..self.lines.len()).filter(|&kind| self.ways[kind].iter().any(|way| way.is_on(columns, rows)));
        needles.chain(held(lines.collect())).collect()
    }

    /// The code with parts no longer than `cut`, and what must stand beside it.
    fn told(&self, sign: Sign, small: Length, cut: f64) -> (String, String) {
        let code = |threads: &[crate::chart::Thread]| {
            let part = |thread: &crate::chart::Thread| {
                let (code, _) = typeface::showable(&thread.code);
                typeface::shortened(&code, Weight::Code, small, cut * small)
            };
            threads.iter().map(part).collect::<Vec<_>>().join(" + ")
        };
        match sign {
            Sign::Needle(needle) => {
                let needle = &self.chart.needles()[needle];
                (code(&needle.threads), needle.stitch.words().unwrap_or_default().to_owned())
            }
            Sign::Line(kind) => {
                let mut labels: Vec<&str> =
                    self.lines[kind].lines.iter().map(|line| line.label.as_str()).collect();
                labels.sort_unstable();
                labels.dedup();
                labels.retain(|label| !label.is_empty());
                let more = labels.len().saturating_sub(MOST_LABELS);
                labels.truncate(MOST_LABELS);
                let more = if more > 0 { format!(" + {more}") } else { String::new() };
                let (label, _) = typeface::showable(&format!("{}{more}", labels.join(", ")));
                (code(self.lines[kind].threads()), label)
            }
            Sign::More(more) => (String::new(), format!("+ {more} more, see the key")),
        }
    }

    fn name(&self, sign: Sign) -> String {
        let name = match sign {
            Sign::Needle(needle) => self.chart.needles()[needle].name(),
            Sign::Line(kind) => self.lines[kind].names(),
            Sign::More(_) => String::new(),
        };
        typeface::showable(&name).0
    }
}

/// Kinds of line, as many as are shown.
fn held(mut kinds: Vec<usize>) -> Vec<Sign> {
    let more = kinds.len().saturating_sub(MOST_LINES);
    kinds.truncate(MOST_LINES);
    let shown = kinds.into_iter().map(Sign::Line);
    shown.chain((more > 0).then_some(Sign::More(more))).collect()
}

/// How the strips of a chart are set: so many slots of one width, with names or without.
pub(super) struct Strip<'a> {
    signs: &'a Signs<'a>,
    columns: usize,
    slot: Length,
    names: Names,
    cut: f64,
    small: Length,
    row: Length,
    /// The slots of every needle, and of every kind of line.
    needle_slots: Vec<usize>,
    line_slots: Vec<usize>,
}

impl<'a> Strip<'a> {
    /// The strip with most to say that keeps to few rows on each of the pages.
    pub(super) fn new(signs: &'a Signs<'a>, pages: &[Vec<Sign>], room: Length, measures: &Measures) -> Self {
        let set = |columns, names, cut| Self::set(signs, room, measures, columns, names, cut);
        // Of those with fewest rows, the one with the widest slots.
        let mut whole = Self::whole(signs, room, measures);
        let rows: Vec<usize> = whole.par_iter().map(|strip| strip.most_rows(pages)).collect();
        let fewest = (0..whole.len()).min_by_key(|&strip| rows[strip]);
        if let Some(strip) = fewest.filter(|&strip| rows[strip] <= NAMED_ROWS) {
            return whole.swap_remove(strip);
        }
        let columns = |names, cut| Self::usual_columns(signs, room, measures, names, cut);
        let named = set(columns(Names::Cut, CODE[0]), Names::Cut, CODE[0]);
        if named.most_rows(pages) <= NAMED_ROWS {
            return named;
        }
        let bare = set(columns(Names::None, CODE[0]), Names::None, CODE[0]);
        if bare.most_rows(pages) <= MOST_ROWS {
            return bare;
        }
        set(columns(Names::None, CODE[1]), Names::None, CODE[1])
    }

    /// The same for one page: where all that it has to say stands whole in so many rows, it does.
    pub(super) fn for_page<'s>(&'s self, whole: &'s [Self], page: &[Sign], most_rows: usize) -> &'s Self {
        let is_whole = self.names == Names::Whole;
        let rows = whole.iter().filter(|_| !is_whole).map(|strip| (strip.rows(page), strip));
        match rows.min_by_key(|(rows, _)| *rows) {
            Some((rows, strip)) if rows <= most_rows => strip,
            _ => self,
        }
    }

    /// Strips with whole names, in more and more slots a row.
    pub(super) fn whole(signs: &'a Signs<'a>, room: Length, measures: &Measures) -> Vec<Self> {
        WHOLE_COLUMNS
            .into_par_iter()
            .map(|columns| Self::set(signs, room, measures, columns, Names::Whole, CODE[0]))
            .collect()
    }

    /// As many slots as hold the widest code of one thread, and some of its name.
    fn usual_columns(signs: &Signs, room: Length, measures: &Measures, names: Names, cut: f64) -> usize {
        let Measures { small, strip_row: row, .. } = *measures;
        let singles = signs.chart.needles().iter().flat_map(|needle| &needle.threads);
        let code = singles
            .map(|thread| typeface::width(&typeface::showable(&thread.code).0, Weight::Code, small))
            .fold(small, Length::max)
            .min(cut.min(4.5) * small);
        let name = if names == Names::None { Length::ZERO } else { 13.0 * small / 2.2 };
        room.holds(row + code + mm(2.0) + name, 0.0).max(1) as usize
    }

    fn set(
        signs: &'a Signs<'a>,
        room: Length,
        measures: &Measures,
        columns: usize,
        names: Names,
        cut: f64,
    ) -> Self {
        let Measures { small, strip_row: row, .. } = *measures;
        let slot = room / columns as f64;
        let (needle_slots, line_slots) = (Vec::new(), Vec::new());
        let mut strip = Self { signs, columns, slot, names, cut, small, row, needle_slots, line_slots };
        strip.needle_slots =
            (0..signs.chart.needles().len()).map(|at| strip.slots_of(Sign::Needle(at))).collect();
        strip.line_slots = (0..signs.lines.len()).map(|at| strip.slots_of(Sign::Line(at))).collect();
        strip
    }

    /// How much of an entry its picture takes.
    fn picture(&self, sign: Sign) -> Length {
        match sign {
            Sign::Needle(_) => self.row + mm(0.3),
            // Long enough for a pattern to be known by.
            Sign::Line(_) => self.row * 2.2 + mm(1.5),
            Sign::More(_) => Length::ZERO,
        }
    }

    fn slots_of(&self, sign: Sign) -> usize {
        let (code, beside) = self.signs.told(sign, self.small, self.cut);
        let mut wide = self.picture(sign) + typeface::width(&code, Weight::Code, self.small) + mm(1.0);
        let text =
            |text: &str| mm(1.2) + typeface::width(text, Weight::Regular, self.small) + COMMA * self.small;
        let name = || text(&self.signs.name(sign));
        if !beside.is_empty() {
            wide += text(&beside).min(mm(1.2) + LINE_LABEL * self.small);
        }
        wide += match (sign, self.names) {
            (Sign::Line(_), _) => name().min(mm(1.2) + LINE_NAME * self.small),
            (Sign::Needle(_), Names::Whole) => name(),
            // A half cross keeps some of the name of its thread.
            (Sign::Needle(_), Names::Cut) if !beside.is_empty() => name().min(mm(1.2) + 8.0 * self.small),
            _ => Length::ZERO,
        };
        #[allow(clippy::cast_sign_loss, reason = "both are positive")]
        let slots = ((wide / self.slot - 1e-6).ceil() as usize).max(1);
        slots.min(self.columns)
    }

    fn slots(&self, sign: Sign) -> usize {
        match sign {
            Sign::Needle(at) => self.needle_slots[at],
            Sign::Line(at) => self.line_slots[at],
            Sign::More(_) => self.slots_of(sign),
        }
    }

    /// Row and slot of each entry, and the number of slots it has.
    fn places(&self, signs: &[Sign]) -> impl Iterator<Item = [usize; 3]> {
        let (mut row, mut at) = (0, 0);
        let place = move |&sign: &Sign| {
            let slots = self.slots(sign);
            if at + slots > self.columns {
                (row, at) = (row + 1, 0);
            }
            let place = [row, at, slots];
            at += slots;
            place
        };
        signs.iter().map(place)
    }

    pub(super) fn rows(&self, signs: &[Sign]) -> usize {
        self.places(signs).last().map_or(0, |[row, ..]| row + 1)
    }

    /// The rows of the fullest of these pages.
    pub(super) fn most_rows(&self, pages: &[Vec<Sign>]) -> usize {
        pages.iter().map(|signs| self.rows(signs)).max().unwrap_or(0)
    }

    /// The symbols and lines on this page, from `top` on.
    pub(super) fn draw(&self, page: &mut Page, layout: &Layout, signs: &[Sign], top: Length) {
        let places: Vec<[usize; 3]> = self.places(signs).collect();
        let rows = places.last().map_or(0, |[row, ..]| row + 1);
        // A single row of few is set wider, with more of each name.
        let used = places.last().map_or(1, |[_, at, slots]| at + slots).max(1);
        let room = page.width - 2.0 * MARGIN;
        let slot = if rows == 1 { (room / used as f64).min(self.slot * 1.6) } else { self.slot };
        for (&sign, [row, at, slots]) in signs.iter().zip(places) {
            let area = Area {
                x: MARGIN + at as f64 * slot,
                y: top + row as f64 * self.row,
                width: slots as f64 * slot,
                height: self.row,
            };
            self.entry(page, layout, sign, area);
        }
    }

    fn entry(&self, page: &mut Page, layout: &Layout, sign: Sign, area: Area) {
        let (small, row) = (self.small, self.row);
        match sign {
            Sign::Needle(needle) => {
                let square =
                    Area { x: area.x, y: area.y + mm(0.2), width: row - mm(0.5), height: row - mm(0.5) };
                layout.show_needle(page, square, needle, Stroke::solid(THIN_RULE, mm(0.1)));
            }
            Sign::Line(kind) => {
                let ends = [area.x, area.x + self.picture(sign) - mm(1.5)];
                let cell = layout.cell.min(row * 0.8);
                self.signs.lines[kind].sample(page, layout.options.ink, ends, area.y + row / 2.0, cell);
            }
            Sign::More(_) => {}
        }
        let base = area.y + row / 2.0 + small * 0.32;
        let mut left = area.x + self.picture(sign);
        let right = area.right() - mm(1.0);
        let any = page.width;
        let (code, mut beside) = self.signs.told(sign, small, self.cut);
        let is_line = matches!(sign, Sign::Line(_));
        let mut name =
            if is_line || self.names != Names::None { self.signs.name(sign) } else { String::new() };
        let mut is_name_first = false;
        if !beside.is_empty() && !name.is_empty() {
            let wide = |text: &str, weight| typeface::width(text, weight, small) + mm(1.2);
            let whole = wide(&code, Weight::Code)
                + [&name, &beside].map(|text| wide(text, Weight::Regular)).into_iter().sum::<Length>();
            is_name_first = !is_line && left + whole - mm(1.2) + COMMA * small <= right + mm(1e-6);
            match (is_line, is_name_first) {
                (true, _) => beside.push(':'),
                (_, true) => name.push(','),
                // The kind of stitch must stand; what there is room for of the name comes behind it.
                _ => {}
            }
        }
        let mut put = |whole: &str, weight: Weight, least: Length, most: Length| {
            let text = typeface::shortened(whole, weight, small, (right - left + mm(1e-6)).min(most));
            if !text.is_empty() && (text == whole || right - left >= least) {
                page.text([left, base], &text, small, weight, Align::Left);
                left += typeface::width(&text, weight, small) + mm(1.2);
            }
        };
        put(&code, Weight::Code, Length::ZERO, any);
        if is_name_first {
            put(&name, Weight::Regular, Length::ZERO, any);
        }
        let label = if is_line { (LINE_LABEL + COMMA) * small } else { any };
        put(&beside, Weight::Regular, Length::ZERO, label);
        if !is_name_first {
            // A few letters of a name say nothing.
            put(&name, Weight::Regular, 4.5 * small, any);
        }
    }
}
