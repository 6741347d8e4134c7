//! The key of a printed chart: beside each symbol its code, name, strands and count.
//!
//! A table is found by its symbols, which stand one below the other in one size; its columns by what stands in them. Owns
//! tables and their rows. Leaves what disagrees with the chart to `chart`.

use std::collections::{BTreeMap, BTreeSet};

use super::squares::{Book, Element, PATTERN, apart, outline};
use super::words::{Word, fields, words};
use crate::reading::drawing::{Area, Drawn, Fill, Ink, Item, Shape, Sign};
use crate::thread::cloth::StitchKind;

/// What the key says of a symbol or a line.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Entry {
    /// The page, from 0.
    pub(super) page: usize,
    pub(super) code: Option<String>,
    pub(super) name: Option<String>,
    pub(super) strands: Option<u8>,
    pub(super) count: Option<u64>,
    /// The colour of its swatch.
    pub(super) colour: Option<Ink>,
    /// Its threads, where there are several.
    pub(super) blend: Vec<Part>,
    /// How it is worked, where the key says.
    pub(super) stitch: Option<StitchKind>,
}

/// A thread of a blend.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Part {
    pub(super) code: Option<String>,
    pub(super) name: Option<String>,
    pub(super) strands: Option<u8>,
}

impl Entry {
    /// Whether it is a row of the key and no mention of a symbol elsewhere.
    pub(super) fn is_row(&self) -> bool {
        self.name.is_some() || self.count.is_some()
    }

    /// How much it says.
    fn worth(&self) -> usize {
        usize::from(self.code.is_some()) * 4
            + usize::from(self.name.is_some()) * 2
            + usize::from(self.count.is_some())
            + usize::from(self.strands.is_some())
            + usize::from(self.colour.is_some())
    }
}

/// What a column of a table holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Code,
    Name,
    /// Code and name in one.
    Both,
    Strands,
    Count,
    Other,
}

/// A table of a key.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    pub(super) page: usize,
    /// From where to where its columns reach, and what they hold.
    columns: Vec<(f32, f32, Kind)>,
    /// Where its symbols stand, and its right end.
    left: f32,
    /// The height of its first symbols.
    side: f32,
    /// How far down its rows stand.
    rows: Vec<f32>,
}

impl Table {
    /// Where its symbols stand: from the left, from the top, and their sides.
    pub(super) fn places(&self) -> impl Iterator<Item = (f32, f32, f32)> {
        self.rows.iter().map(|&row| (self.left, row, self.side))
    }
}

/// A page with what is drawn on it beside the chart.
pub(super) struct Beside<'d> {
    pub(super) page: usize,
    pub(super) drawn: &'d Drawn,
    /// Where the chart is, if there is any.
    charts: Vec<Area>,
    /// Its shapes in the book; none where there are too many for signs.
    shapes: Option<&'d [u32]>,
    fields: Vec<Word>,
    words: Vec<Word>,
}

impl<'d> Beside<'d> {
    pub(super) fn of(page: usize, drawn: &'d Drawn, shapes: Option<&'d [u32]>, charts: Vec<Area>) -> Self {
        let words = words(drawn, |sign: &Sign| is_outside(&charts, sign.at));
        let fields = fields(&words);
        Self { page, drawn, charts, shapes, fields, words }
    }

    /// The words, for the rulers.
    pub(super) fn words(&self) -> &[Word] {
        &self.words
    }

    pub(super) fn is_outside(&self, at: [f32; 2]) -> bool {
        is_outside(&self.charts, at)
    }

    /// The size of the text that begins at most so far at the right of a place, and at most so many ems above or below.
    pub(super) fn text_at(&self, [x, y]: [f32; 2], reach: f32, off: f32) -> Option<f32> {
        let beside = self
            .fields
            .iter()
            .filter(|field| (-0.5..reach).contains(&(field.area[0] - x)) && field.off(y) < off * field.em);
        beside.min_by(|one, other| one.area[0].total_cmp(&other.area[0])).map(|field| field.em)
    }

    /// Where signs of these shapes stand beside the chart that are no letters of words: shape, ink, middle and side.
    pub(super) fn signs_of(&self, shapes: &BTreeSet<u32>) -> Vec<(u32, Ink, [f32; 2], f32)> {
        let in_words: BTreeSet<usize> = self
            .words
            .iter()
            .filter(|word| word.items.len() > 1)
            .flat_map(|word| word.items.clone())
            .collect();
        let of = |(at, item): (usize, &Item)| match item {
            Item::Sign(sign) if self.is_outside(sign.at) && !in_words.contains(&at) => {
                let shape = self.shapes?.get(sign.shape as usize).copied()?;
                let side = sign.size[0].max(sign.size[1]);
                shapes.contains(&shape).then_some((shape, sign.ink, sign.at, side))
            }
            _ => None,
        };
        self.drawn.items.iter().enumerate().filter_map(of).take(MOST_OF_ONE).collect()
    }
}

/// Whether a place lies beside the chart, if one is there.
fn is_outside(charts: &[Area], at: [f32; 2]) -> bool {
    charts.iter().all(|&[x0, y0, x1, y1]| at[0] < x0 || at[0] > x1 || at[1] < y0 || at[1] > y1)
}

/// An outline beside the chart.
struct Thing {
    shape: u32,
    at: [f32; 2],
    side: f32,
    item: usize,
}

/// So many equal outlines beside a chart are looked at, and so many symbols that they may be: the fullest key has some
/// hundreds of rows.
const MOST_OF_ONE: usize = 1_500;
const MOST_SEEN: usize = 4_000;

fn things(beside: &Beside, book: &mut Book) -> Vec<Thing> {
    let shapes = |shape: u32| beside.shapes.and_then(|all| all.get(shape as usize)).copied();
    let mut things: Vec<Thing> = Vec::new();
    // Of things that are all over a page, none is a symbol of a key.
    let mut often: BTreeMap<u32, usize> = BTreeMap::new();
    for (item, drawn) in beside.drawn.items.iter().enumerate() {
        let thing = match drawn {
            Item::Sign(sign) => {
                shapes(sign.shape).map(|shape| (shape, sign.at, sign.size[0].max(sign.size[1])))
            }
            Item::Fill(Fill { area: [x0, y0, x1, y1], pattern: Some(pattern), .. }) => {
                let middle = [(x0 + x1) / 2.0, (y0 + y1) / 2.0];
                let side = PATTERN * (x1 - x0).min(y1 - y0);
                shapes(*pattern).map(|shape| (shape, middle, side))
            }
            Item::Fill(fill) => {
                let [x0, y0, x1, y1] = fill.area;
                of_path(&[[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]], None, book)
            }
            Item::Line(line) if line.points.len() < 64 => of_path(&line.points, Some(line.width), book),
            Item::Line(_) => None,
        };
        if let Some((shape, at, side)) = thing.filter(|thing| beside.is_outside(thing.1) && thing.2 < 90.0) {
            let count = often.entry(shape).or_default();
            *count += 1;
            if *count <= MOST_OF_ONE {
                things.push(Thing { shape, at, side, item });
            }
        }
    }
    things
}

fn of_path(points: &[[f32; 2]], width: Option<f32>, book: &mut Book) -> Option<(u32, [f32; 2], f32)> {
    let (shape, bounds) = Shape::of(&outline(points), width.map(f64::from))?;
    let middle = bounds.center();
    let side = bounds.width().max(bounds.height());
    Some((book.shape(&shape), [middle.x as f32, middle.y as f32], side as f32))
}

/// A symbol beside the chart: where its square's middle is, and how large that square would be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    symbol: u32,
    at: [f32; 2],
    side: f32,
    parts: usize,
    /// How far it is from the middle of its box, or of the text beside it, in sides.
    off: f32,
}

impl Seen {
    /// Something that is no symbol of a square.
    pub(super) fn sample(at: [f32; 2], side: f32) -> Self {
        Self { symbol: u32::MAX, at, side, parts: 1, off: 0.0 }
    }
}

/// What stands for a colour among symbols, where a chart has none.
pub(super) fn sign_of([r, g, b]: Ink) -> u32 {
    u32::from_be_bytes([0x80, r, g, b])
}

/// Whether it stands for a colour.
pub(super) fn is_colour(sign: u32) -> bool {
    colour_of(sign).is_some()
}

/// The colour that a sign stands for.
fn colour_of(sign: u32) -> Option<Ink> {
    let [mark, r, g, b] = sign.to_be_bytes();
    (mark == 0x80).then_some([r, g, b])
}

/// Every place at which one of the symbols stands.
fn seen(beside: &Beside, symbols: &[u32], book: &mut Book) -> Vec<Seen> {
    let things = things(beside, book);
    let mut by_shape: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (at, thing) in things.iter().enumerate() {
        by_shape.entry(thing.shape).or_default().push(at);
    }
    // A letter of a longer word is no symbol.
    let in_words: BTreeSet<usize> =
        beside.words.iter().filter(|word| word.items.len() > 1).flat_map(|word| word.items.clone()).collect();
    let boxes = boxes(beside);
    let mut found: Vec<Seen> = Vec::new();
    for &symbol in symbols {
        if let Some(ink) = colour_of(symbol) {
            found.extend(swatches(beside, symbol, ink));
            continue;
        }
        let elements: &[Element] = &book.symbols[symbol as usize];
        // The largest part says how large all is.
        let Some(first) = elements.iter().max_by(|one, other| one.size.total_cmp(&other.size)) else {
            continue;
        };
        for &at in by_shape.get(&first.shape).map(Vec::as_slice).unwrap_or_default() {
            let thing = &things[at];
            if in_words.contains(&thing.item) || found.len() > MOST_SEEN {
                continue;
            }
            let side = thing.side / first.size;
            let middle = [0, 1].map(|axis| thing.at[axis] - first.at[axis] * side);
            let is_there = |element: &Element| {
                let place = [0, 1].map(|axis| middle[axis] + element.at[axis] * side);
                by_shape.get(&element.shape).is_some_and(|all| {
                    all.iter().any(|&other| {
                        let other = &things[other];
                        (other.side / side - element.size).abs() < 0.1 * element.size + 0.02
                            && (0..2).all(|axis| (other.at[axis] - place[axis]).abs() < 0.1 * side)
                    })
                })
            };
            if elements.iter().all(is_there) {
                let off = off_middle(&boxes, beside, middle, side);
                found.push(Seen { symbol, at: middle, side, parts: elements.len(), off });
            }
        }
    }
    found
}

/// The middles and sides of rectangles beside the chart, filled or drawn.
fn boxes(beside: &Beside) -> Vec<([f32; 2], [f32; 2])> {
    let of = |[x0, y0, x1, y1]: Area| ([(x0 + x1) / 2.0, (y0 + y1) / 2.0], [x1 - x0, y1 - y0]);
    let boxed = |item: &Item| match item {
        Item::Fill(fill) => Some(of(fill.area)),
        Item::Line(line) if line.points.len() == 5 => {
            let span = |axis: usize| {
                let along = line.points.iter().map(|point| point[axis]);
                [along.clone().fold(f32::MAX, f32::min), along.fold(f32::MIN, f32::max)]
            };
            let [x, y] = [span(0), span(1)];
            Some(of([x[0], y[0], x[1], y[1]]))
        }
        _ => None,
    };
    let found = beside.drawn.items.iter().filter_map(boxed);
    found.filter(|(_, side)| (4.0..60.0).contains(&side[0]) && (4.0..60.0).contains(&side[1])).collect()
}

/// How far a place is from the middle of the box round it, else of the text at its right, in sides.
fn off_middle(boxes: &[([f32; 2], [f32; 2])], beside: &Beside, at: [f32; 2], side: f32) -> f32 {
    let of_box = boxes
        .iter()
        .filter(|(_, sides)| sides.iter().all(|&box_side| (0.8..1.9).contains(&(box_side / side))))
        .map(|(middle, _)| (middle[0] - at[0]).abs().max((middle[1] - at[1]).abs()) / side)
        .filter(|&off| off < 0.6)
        .min_by(f32::total_cmp);
    of_box.unwrap_or_else(|| {
        let near =
            beside.fields.iter().filter(|field| field.area[0] > at[0] && field.off(at[1]) < 0.7 * side);
        let far = near.map(|field| field.off(at[1]) / side);
        far.min_by(f32::total_cmp).unwrap_or(1.0)
    })
}

/// Patches of a colour beside the chart.
fn swatches(beside: &Beside, symbol: u32, ink: Ink) -> Vec<Seen> {
    let is_patch = |fill: &&Fill| {
        let [x0, y0, x1, y1] = fill.area;
        apart(fill.ink, ink) < 3 && (3.0..90.0).contains(&(x1 - x0)) && (3.0..90.0).contains(&(y1 - y0))
    };
    let patches = beside.drawn.fills().filter(is_patch).map(|fill| {
        let [x0, y0, x1, y1] = fill.area;
        Seen {
            symbol,
            at: [(x0 + x1) / 2.0, (y0 + y1) / 2.0],
            side: (x1 - x0).min(y1 - y0),
            parts: 1,
            off: 0.0,
        }
    });
    patches.filter(|seen| beside.is_outside(seen.at)).collect()
}

/// The tables on a page: symbols in columns of one size.
fn columns_of(mut seen: Vec<Seen>, all: usize) -> Vec<Vec<Seen>> {
    let mut tables = Vec::new();
    loop {
        let mut best: Option<(usize, Vec<usize>)> = None;
        let mut tried = BTreeSet::new();
        for seed in &seen {
            // One of the same place and size has the same beside it.
            if !tried.insert([seed.at[0], seed.side].map(f32::to_bits)) {
                continue;
            }
            let near: Vec<usize> = (0..seen.len())
                .filter(|&at| {
                    let other = &seen[at];
                    (other.at[0] - seed.at[0]).abs() < 0.22 * seed.side
                        && (other.side / seed.side - 1.0).abs() < 0.06
                })
                .collect();
            let kinds: BTreeSet<u32> = near.iter().map(|&at| seen[at].symbol).collect();
            if best.as_ref().is_none_or(|(most, _)| kinds.len() > *most) {
                best = Some((kinds.len(), near));
            }
        }
        let Some((_, near)) = best.filter(|(kinds, _)| *kinds >= 2.min(all)) else { return tables };
        let mut rows: Vec<Seen> = near.iter().map(|&at| seen[at]).collect();
        // Where one symbol is a part of another, the whole stands there; of those that differ in their places alone, the
        // one that fits its box.
        rows.sort_by(|one, other| one.at[1].total_cmp(&other.at[1]));
        let mut best: Vec<Seen> = Vec::new();
        let mut last = f32::MIN;
        for row in rows {
            let is_same = row.at[1] - last < 0.42 * row.side;
            last = row.at[1];
            match best.last_mut().filter(|_| is_same) {
                Some(known) => {
                    let better = row.parts.cmp(&known.parts).then(known.off.total_cmp(&row.off));
                    if better.is_gt() {
                        *known = row;
                    }
                }
                None => best.push(row),
            }
        }
        let rows = best;
        let (left, side) = (rows[0].at[0], rows[0].side);
        seen.retain(|other| (other.at[0] - left).abs() > 0.45 * side);
        tables.push(rows);
    }
}

/// What is told of each symbol, and the tables that tell it; `starts` are the places where samples of lines begin on each
/// page.
pub(super) fn read(
    pages: &[Beside],
    starts: &[Vec<[f32; 2]>],
    symbols: &[(u32, u64)],
    book: &mut Book,
) -> (BTreeMap<u32, Vec<Entry>>, Vec<Table>) {
    let all: Vec<u32> = symbols.iter().map(|symbol| symbol.0).collect();
    let counts: BTreeMap<u32, u64> = symbols.iter().copied().collect();
    let mut entries: BTreeMap<u32, Vec<Entry>> = BTreeMap::new();
    let mut tables = Vec::new();
    for (beside, starts) in pages.iter().zip(starts) {
        let seen = seen(beside, &all, book);
        let columns = columns_of(seen, all.len());
        // A row ends where the next begins, of a symbol or of a line.
        let symbols = columns.iter().flatten().map(|seen| (seen.at[0], seen.at[1], seen.side));
        let lines = starts.iter().map(|&[x, y]| (x, y, 0.0));
        let lefts: Vec<(f32, f32, f32)> = symbols.chain(lines).collect();
        for rows in columns {
            let (table, read) = table(beside, &rows, &lefts, &counts, &[]);
            for (row, entry) in rows.iter().zip(read) {
                entries.entry(row.symbol).or_default().push(entry);
            }
            tables.push(table);
        }
    }
    // A symbol in a list of its page says less than the key; what the key says twice is said twice.
    for all in entries.values_mut() {
        let best = all.iter().map(Entry::worth).max().unwrap_or(0);
        let has_row = all.iter().any(Entry::is_row);
        all.retain(|entry| entry.worth() >= best.min(4) && (entry.is_row() || !has_row));
        let mut kept: Vec<Entry> = Vec::new();
        for entry in all.drain(..) {
            let is_same =
                |other: &&mut Entry| other.code == entry.code || other.code.is_none() || entry.code.is_none();
            match kept.iter_mut().find(is_same) {
                Some(known) if entry.worth() > known.worth() => *known = entry,
                Some(_) => {}
                None => kept.push(entry),
            }
        }
        *all = kept;
    }
    (entries, tables)
}

/// Reads a table by its symbols; columns that say nothing of themselves are as those of known tables above them.
pub(super) fn table(
    beside: &Beside,
    rows: &[Seen],
    all: &[(f32, f32, f32)],
    counts: &BTreeMap<u32, u64>,
    known: &[&Table],
) -> (Table, Vec<Entry>) {
    let pitch = |at: usize| {
        let near =
            [at.checked_sub(1), Some(at + 1)].into_iter().flatten().filter_map(|other| rows.get(other));
        near.map(|other| (other.at[1] - rows[at].at[1]).abs()).min_by(f32::total_cmp)
    };
    let texts: Vec<Vec<Word>> = (0..rows.len())
        .map(|at| {
            row_fields(beside, rows[at].at, rows[at].side, all, pitch(at).unwrap_or(1.5 * rows[at].side))
        })
        .collect();
    let (left, side) = (rows[0].at[0], rows[0].side);
    let spans = spans(&texts);
    let head = rows.iter().map(|row| row.at[1]).fold(f32::MAX, f32::min);
    // The line above the table, and a second one close above that.
    let ends = spans.last().map_or(left, |span| span.1);
    let over = beside.fields.iter().filter(|field| {
        field.middle()[1] < head - 0.3 * side
            && field.middle()[1] > head - 4.5 * side
            && field.area[2] > left - side
            && field.area[0] < ends
    });
    let above: Vec<&Word> = over.collect();
    let lowest = above.iter().map(|field| field.base).fold(f32::MIN, f32::max);
    let above: Vec<&Word> = above.into_iter().filter(|field| field.base > lowest - 1.4 * field.em).collect();
    let columns: Vec<Column> = spans
        .iter()
        .map(|&(from, to)| {
            let over = above.iter().filter(|field| {
                field.area[0] < to.max(from + 3.0 * field.em) && field.area[2] > from - 1.0 * field.em
            });
            let header: Vec<&str> = over.map(|field| field.text.as_str()).collect();
            let values: Vec<Option<&str>> = texts
                .iter()
                .map(|texts| texts.iter().find(|word| word.area[0] < to && word.area[2] > from))
                .map(|word| word.map(|word| word.text.as_str()))
                .collect();
            Column::of(header.join(" ").to_lowercase(), values, rows, counts)
        })
        .collect();
    let mut kinds = kinds(&columns);
    for (kind, &(from, to)) in kinds.iter_mut().zip(&spans).filter(|(kind, _)| **kind == Kind::Other) {
        let same = known.iter().flat_map(|table| &table.columns);
        let mut same = same.filter(|&&(low, high, _)| to.min(high) - from.max(low) > 0.0);
        if let Some((.., Kind::Strands)) = same.next() {
            *kind = Kind::Strands;
        }
    }
    let table = Table {
        page: beside.page,
        columns: spans.iter().zip(&kinds).map(|(&(from, to), &kind)| (from, to, kind)).collect(),
        left,
        side,
        rows: rows.iter().map(|row| row.at[1]).collect(),
    };
    let entries = rows
        .iter()
        .zip(&texts)
        .map(|(row, texts)| {
            let mut entry = table.entry(texts);
            entry.colour = swatch(beside, row.at, row.side, texts);
            entry
        })
        .collect();
    (table, entries)
}

/// The fields at the right of a symbol, up to the next symbol in its row.
/// Those of a column that goes on in the next line are one, with the break between.
fn row_fields(beside: &Beside, at: [f32; 2], side: f32, all: &[(f32, f32, f32)], pitch: f32) -> Vec<Word> {
    let next = all
        .iter()
        .filter(|(x, y, _)| *x > at[0] + side && (*y - at[1]).abs() < 0.6 * side)
        .map(|(x, _, other)| x - other * 0.5)
        .fold(f32::MAX, f32::min);
    let near = |field: &Word| (0.62 * field.em).max(0.3 * side);
    let band: Vec<&Word> = beside
        .fields
        .iter()
        .filter(|field| {
            field.area[0] > at[0] + 0.35 * side
                && field.area[2] < next + 0.2 * side
                && field.off(at[1]) < near(field).max(0.49 * pitch)
        })
        .collect();
    // Of several lines of text, the nearest, and what goes on above and below it in the same type.
    let nearest = band.iter().filter(|field| field.off(at[1]) < near(field)).map(|field| field.off(at[1]));
    let Some(nearest) = nearest.min_by(f32::total_cmp) else { return Vec::new() };
    let is_nearest =
        |field: &Word| field.off(at[1]) < near(field) && field.off(at[1]) < nearest + 0.35 * field.em;
    let mut fields: Vec<Word> =
        band.iter().filter(|field| is_nearest(field)).map(|&field| field.clone()).collect();
    let mut others: Vec<&Word> = band.into_iter().filter(|field| !is_nearest(field)).collect();
    others.sort_by(|one, other| one.off(at[1]).total_cmp(&other.off(at[1])));
    for other in others {
        let goes_on = |field: &&Word| {
            let overlap = field.area[2].min(other.area[2]) - field.area[0].max(other.area[0]);
            let away = (field.base - other.base).abs();
            overlap > 0.0
                && (0.5..1.4).contains(&(away / other.em))
                && (field.em / other.em - 1.0).abs() < 0.05
        };
        let overlaps = |field: &Word| field.area[2] > other.area[0] && field.area[0] < other.area[2];
        // Two lines of smaller type may stand over and under the middle of a row.
        let is_pair = other.off(at[1]) < other.em && !fields.iter().any(overlaps);
        if is_pair || fields.iter().any(|field| goes_on(&field)) {
            fields.push(other.clone());
        }
    }
    fields.sort_by(|one, other| one.base.total_cmp(&other.base).then(one.area[0].total_cmp(&other.area[0])));
    let mut columns: Vec<Word> = Vec::new();
    for field in fields {
        let same = columns.iter_mut().find(|column| {
            let overlap = column.area[2].min(field.area[2]) - column.area[0].max(field.area[0]);
            overlap > 0.0 && (field.base - column.base).abs() > 0.5 * field.em
        });
        match same {
            Some(column) => column.go_on(field),
            None => columns.push(field),
        }
    }
    columns.sort_by(|one, other| one.area[0].total_cmp(&other.area[0]));
    columns
}

/// From where to where columns reach: fields of rows that lie above one another.
fn spans(texts: &[Vec<Word>]) -> Vec<(f32, f32)> {
    let mut all: Vec<(f32, f32)> = texts.iter().flatten().map(|word| (word.area[0], word.area[2])).collect();
    all.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut spans: Vec<(f32, f32)> = Vec::new();
    for (from, to) in all {
        match spans.last_mut() {
            Some((_, end)) if from < *end + 0.5 => *end = end.max(to),
            _ => spans.push((from, to)),
        }
    }
    spans
}

/// A column of a table.
struct Column {
    header: String,
    filled: usize,
    numbers: usize,
    /// Fields that say how often their symbol was found, and those that say so nearly: a page may be missing.
    counted: usize,
    nearly: usize,
    /// Numbers of strands.
    small: usize,
    different: usize,
    letters: usize,
    digits: usize,
    length: f64,
    spaced: usize,
}

impl Column {
    fn of(header: String, values: Vec<Option<&str>>, rows: &[Seen], counts: &BTreeMap<u32, u64>) -> Self {
        let mut column = Self {
            header,
            filled: 0,
            numbers: 0,
            counted: 0,
            nearly: 0,
            small: 0,
            different: 0,
            letters: 0,
            digits: 0,
            length: 0.0,
            spaced: 0,
        };
        let mut kinds = BTreeSet::new();
        for (value, row) in values.iter().zip(rows) {
            let Some(value) = value else { continue };
            column.filled += 1;
            kinds.insert(*value);
            column.length += value.chars().count() as f64;
            column.letters += usize::from(value.chars().filter(|c| c.is_alphabetic()).count() > 2);
            column.digits += usize::from(value.chars().any(|c| c.is_ascii_digit()));
            let begins = value.split(' ').next().unwrap_or_default();
            column.spaced += usize::from(
                value.contains(' ') && begins.chars().any(|c| c.is_ascii_digit()) && begins.len() < 10,
            );
            if let Some(number) = number(value) {
                column.numbers += 1;
                let found = counts.get(&row.symbol).copied();
                column.counted += usize::from(found == Some(number));
                column.nearly +=
                    usize::from(found.is_some_and(|found| number.abs_diff(found) <= (found / 8).max(2)));
                column.small += usize::from((1..=12).contains(&number));
            }
        }
        column.different = kinds.len();
        column.length /= column.filled.max(1) as f64;
        column
    }

    fn says(&self, words: &[&str]) -> bool {
        words.iter().any(|word| self.header.contains(word))
    }
}

/// A whole number, with or without marks between thousands; a word may stand behind it.
fn number(text: &str) -> Option<u64> {
    let text = text.trim_end_matches(char::is_alphabetic).trim_end();
    let plain: String =
        text.chars().filter(|c| !matches!(c, ',' | '.' | '\'' | ' ' | '\u{a0}' | '\u{202f}')).collect();
    let is_number = !plain.is_empty() && plain.len() < 10 && plain.bytes().all(|byte| byte.is_ascii_digit());
    if is_number { plain.parse().ok() } else { None }
}

/// What the columns of a table hold.
fn kinds(columns: &[Column]) -> Vec<Kind> {
    let mut kinds = vec![Kind::Other; columns.len()];
    let free = |kinds: &[Kind], at: usize| kinds[at] == Kind::Other;
    let mostly = |part: usize, whole: usize| part * 10 >= whole * 7 && whole > 0;
    // Counts are those that agree with what was found, else those that a heading names.
    let counted =
        (0..columns.len()).max_by_key(|&at| (columns[at].counted + columns[at].nearly, usize::MAX - at));
    let is_count = |column: &Column| {
        column.counted * 3 >= column.filled.max(1) && column.counted > 0
            || column.filled > 3 && mostly(column.nearly, column.filled)
    };
    if let Some(at) = counted.filter(|&at| is_count(&columns[at])) {
        kinds[at] = Kind::Count;
    } else if let Some(at) = (0..columns.len()).find(|&at| {
        columns[at].says(&["stitch", "count", "crosses"]) && mostly(columns[at].numbers, columns[at].filled)
    }) {
        kinds[at] = Kind::Count;
    }
    let strands = (0..columns.len()).find(|&at| {
        free(&kinds, at) && mostly(columns[at].small, columns[at].filled) && columns[at].says(&["strand"])
    });
    let strands = strands.or_else(|| {
        (0..columns.len()).find(|&at| {
            free(&kinds, at)
                && columns[at].small == columns[at].filled
                && columns[at].filled > 1
                && columns[at].different <= 3
                && columns[at].different * 3 <= columns[at].filled
        })
    });
    if let Some(at) = strands {
        kinds[at] = Kind::Strands;
    }
    // The name has the most letters.
    let name = (0..columns.len())
        .filter(|&at| free(&kinds, at) && columns[at].letters * 2 > columns[at].filled)
        .max_by(|&one, &other| columns[one].length.total_cmp(&columns[other].length));
    let code = (0..columns.len()).find(|&at| {
        free(&kinds, at)
            && Some(at) != name
            && mostly(columns[at].different, columns[at].filled)
            && !columns[at].says(&["skein", "length", "metre", "per cent", "%"])
    });
    match (name, code) {
        (Some(name), None) if mostly(columns[name].spaced, columns[name].filled) => kinds[name] = Kind::Both,
        (Some(name), code) => {
            kinds[name] = Kind::Name;
            if let Some(code) = code {
                kinds[code] = Kind::Code;
            }
        }
        (None, Some(code)) => kinds[code] = Kind::Code,
        (None, None) => {}
    }
    kinds
}

impl Table {
    /// What a row says, its fields by their columns.
    fn entry(&self, fields: &[Word]) -> Entry {
        let mut entry = Entry { page: self.page, ..Entry::default() };
        for word in fields {
            let overlap = |from: f32, to: f32| to.min(word.area[2]) - from.max(word.area[0]);
            let column = self
                .columns
                .iter()
                .max_by(|one, other| overlap(one.0, one.1).total_cmp(&overlap(other.0, other.1)))
                .filter(|column| overlap(column.0, column.1) > -2.0 * word.em);
            let text = word.text.trim().to_owned();
            match column.map(|column| column.2) {
                Some(Kind::Code) => entry.code = Some(text),
                Some(Kind::Name) => entry.name = Some(text),
                Some(Kind::Both) => {
                    let (code, name) = text.split_once([' ', '\n']).unwrap_or((&text, ""));
                    entry.code = Some(code.to_owned());
                    entry.name = Some(name.trim().to_owned()).filter(|name| !name.is_empty());
                }
                Some(Kind::Strands) => entry.say_strands(&text),
                Some(Kind::Count) => entry.count = number(&text),
                Some(Kind::Other) | None => {}
            }
        }
        entry.mixed();
        entry
    }
}

/// The colour beside a symbol, else the colour under it.
fn swatch(beside: &Beside, at: [f32; 2], side: f32, texts: &[Word]) -> Option<Ink> {
    let first = texts.first().map_or(at[0] + 6.0 * side, |word| word.area[0] + 0.5 * side);
    let last = texts.last().map_or(first, |word| word.area[2] + 2.5 * side);
    let level = |fill: &&Fill| {
        let [x0, y0, x1, y1] = fill.area;
        y0 < at[1] + 0.1 * side
            && y1 > at[1] - 0.1 * side
            && (0.3..3.0).contains(&((y1 - y0) / side))
            && (0.4..12.0).contains(&((x1 - x0) / side))
    };
    let fills: Vec<&Fill> = beside.drawn.fills().filter(level).collect();
    let holds = |fill: &Fill| fill.area[0] < at[0] && fill.area[2] > at[0];
    // Between symbol and text, else before the symbol, else behind the text; else under the symbol.
    let within = |from: f32, to: f32| {
        let near = fills.iter().filter(move |fill| !holds(fill) && fill.area[0] > from && fill.area[2] < to);
        near.min_by(|one, other| {
            let far = |fill: &Fill| ((fill.area[0] + fill.area[2]) / 2.0 - at[0]).abs();
            far(one).total_cmp(&far(other))
        })
    };
    let found = within(at[0], first)
        .or_else(|| within(at[0] - 3.5 * side, at[0]))
        .or_else(|| within(at[0], last))
        .or_else(|| fills.iter().rev().find(|fill| holds(fill) && fill.area[2] - fill.area[0] > 0.8 * side));
    found.map(|fill| fill.ink)
}
