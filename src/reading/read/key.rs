//! The key of a printed chart: beside each symbol its code, name, strands and count.
//!
//! A table is found by its symbols, which stand one below the other in one size; its columns by what stands in them. Owns
//! tables and their rows. Leaves what disagrees with the chart to `chart`.

use std::collections::{BTreeMap, BTreeSet};

use super::squares::{Book, Element, apart, outline};
use super::words::{Word, fields, words};
use crate::reading::drawing::{Area, Drawn, Fill, Ink, Item, Shape, Sign};

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
}

impl Entry {
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
    page: usize,
    /// From where to where its columns reach, and what they hold.
    columns: Vec<(f32, f32, Kind)>,
    /// Where its symbols stand, and its right end.
    left: f32,
    right: f32,
    /// The height of its first symbols.
    side: f32,
    /// How far down its rows stand.
    rows: Vec<f32>,
}

impl Table {
    /// Whether one of its symbols stands at this height.
    fn has_row(&self, y: f32) -> bool {
        self.rows.iter().any(|row| (row - y).abs() < 0.6 * self.side)
    }
}

/// A page with what is drawn on it beside the chart.
pub(super) struct Beside<'d> {
    pub(super) page: usize,
    pub(super) drawn: &'d Drawn,
    /// Where the chart is, if there is any.
    pub(super) chart: Option<Area>,
    fields: Vec<Word>,
    words: Vec<Word>,
}

impl<'d> Beside<'d> {
    pub(super) fn of(page: usize, drawn: &'d Drawn, chart: Option<Area>) -> Self {
        let words = words(drawn, |sign: &Sign| is_outside(chart, sign.at));
        let fields = fields(&words);
        Self { page, drawn, chart, fields, words }
    }

    /// The words, for the rulers.
    pub(super) fn words(&self) -> &[Word] {
        &self.words
    }

    fn is_outside(&self, at: [f32; 2]) -> bool {
        is_outside(self.chart, at)
    }
}

/// Whether a place lies beside the chart, if one is there.
fn is_outside(chart: Option<Area>, at: [f32; 2]) -> bool {
    chart.is_none_or(|[x0, y0, x1, y1]| at[0] < x0 || at[0] > x1 || at[1] < y0 || at[1] > y1)
}

/// An outline beside the chart.
struct Thing {
    shape: u32,
    at: [f32; 2],
    side: f32,
    item: usize,
}

fn things(beside: &Beside, book: &mut Book) -> Vec<Thing> {
    let shapes: Vec<u32> = beside.drawn.shapes.iter().map(|shape| book.shape(shape)).collect();
    let mut things = Vec::new();
    for (item, drawn) in beside.drawn.items.iter().enumerate() {
        let thing = match drawn {
            Item::Sign(sign) => Some((shapes[sign.shape as usize], sign.at, sign.size[0].max(sign.size[1]))),
            Item::Fill(fill) => {
                let [x0, y0, x1, y1] = fill.area;
                of_path(&[[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]], None, book)
            }
            Item::Line(line) if line.points.len() < 64 => of_path(&line.points, Some(line.width), book),
            Item::Line(_) => None,
        };
        if let Some((shape, at, side)) = thing.filter(|thing| beside.is_outside(thing.1) && thing.2 < 90.0) {
            things.push(Thing { shape, at, side, item });
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
struct Seen {
    symbol: u32,
    at: [f32; 2],
    side: f32,
    parts: usize,
    /// How far it is from the middle of its box, or of the text beside it, in sides.
    off: f32,
}

/// What stands for a colour among symbols, where a chart has none.
pub(super) fn sign_of([r, g, b]: Ink) -> u32 {
    u32::from_be_bytes([0x80, r, g, b])
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
            if in_words.contains(&thing.item) {
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

/// What is told of each symbol, and the tables that tell it.
pub(super) fn read(
    pages: &[Beside],
    symbols: &[(u32, u64)],
    book: &mut Book,
) -> (BTreeMap<u32, Vec<Entry>>, Vec<Table>) {
    let all: Vec<u32> = symbols.iter().map(|symbol| symbol.0).collect();
    let counts: BTreeMap<u32, u64> = symbols.iter().copied().collect();
    let mut entries: BTreeMap<u32, Vec<Entry>> = BTreeMap::new();
    let mut tables = Vec::new();
    for beside in pages {
        let seen = seen(beside, &all, book);
        let columns = columns_of(seen, all.len());
        let lefts: Vec<(f32, f32, f32)> =
            columns.iter().flatten().map(|seen| (seen.at[0], seen.at[1], seen.side)).collect();
        for rows in columns {
            let (table, read) = table(beside, &rows, &lefts, &counts);
            for (row, entry) in rows.iter().zip(read) {
                entries.entry(row.symbol).or_default().push(entry);
            }
            tables.push(table);
        }
    }
    // A symbol in a list of its page says less than the key; what the key says twice is said twice.
    for all in entries.values_mut() {
        let best = all.iter().map(Entry::worth).max().unwrap_or(0);
        all.retain(|entry| entry.worth() >= best.min(4));
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

/// Reads a table by its symbols.
fn table(
    beside: &Beside,
    rows: &[Seen],
    all: &[(f32, f32, f32)],
    counts: &BTreeMap<u32, u64>,
) -> (Table, Vec<Entry>) {
    let texts: Vec<Vec<&Word>> = rows.iter().map(|row| row_fields(beside, row.at, row.side, all)).collect();
    let (left, side) = (rows[0].at[0], rows[0].side);
    let right = texts.iter().flatten().map(|word| word.area[2]).fold(left, f32::max);
    let spans = spans(&texts);
    let head = rows.iter().map(|row| row.at[1]).fold(f32::MAX, f32::min);
    let columns: Vec<Column> = spans
        .iter()
        .map(|&(from, to)| {
            let header = beside.fields.iter().filter(|field| {
                field.middle()[1] < head - 0.3 * side
                    && field.middle()[1] > head - 4.5 * side
                    && field.area[0] < to.max(from + 3.0 * field.em)
                    && field.area[2] > from - 1.0 * field.em
            });
            let header: Vec<&str> = header.map(|field| field.text.as_str()).collect();
            let values: Vec<Option<&str>> = texts
                .iter()
                .map(|texts| texts.iter().find(|word| word.area[0] < to && word.area[2] > from))
                .map(|word| word.map(|word| word.text.as_str()))
                .collect();
            Column::of(header.join(" ").to_lowercase(), values, rows, counts)
        })
        .collect();
    let kinds = kinds(&columns);
    let table = Table {
        page: beside.page,
        columns: spans.iter().zip(&kinds).map(|(&(from, to), &kind)| (from, to, kind)).collect(),
        left,
        right,
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
fn row_fields<'b>(beside: &'b Beside, at: [f32; 2], side: f32, all: &[(f32, f32, f32)]) -> Vec<&'b Word> {
    let next = all
        .iter()
        .filter(|(x, y, _)| *x > at[0] + side && (*y - at[1]).abs() < 0.6 * side)
        .map(|(x, _, other)| x - other * 0.5)
        .fold(f32::MAX, f32::min);
    let mut fields: Vec<&Word> = beside
        .fields
        .iter()
        .filter(|field| {
            field.area[0] > at[0] + 0.35 * side
                && field.area[2] < next + 0.2 * side
                && field.off(at[1]) < (0.62 * field.em).max(0.3 * side)
        })
        .collect();
    // Of several lines of text, the nearest.
    if let Some(nearest) = fields.iter().map(|field| field.off(at[1])).min_by(f32::total_cmp) {
        fields.retain(|field| field.off(at[1]) < nearest + 0.35 * field.em);
    }
    fields.sort_by(|one, other| one.area[0].total_cmp(&other.area[0]));
    fields
}

/// From where to where columns reach: fields of rows that lie above one another.
fn spans(texts: &[Vec<&Word>]) -> Vec<(f32, f32)> {
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
    /// Fields that say how often their symbol was found.
    counted: usize,
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
                column.counted += usize::from(counts.get(&row.symbol) == Some(&number));
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
    let counted = (0..columns.len()).max_by_key(|&at| (columns[at].counted, usize::MAX - at));
    if let Some(at) =
        counted.filter(|&at| columns[at].counted * 3 >= columns[at].filled.max(1) && columns[at].counted > 0)
    {
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
    fn entry(&self, fields: &[&Word]) -> Entry {
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
                    let (code, name) = text.split_once(' ').unwrap_or((&text, ""));
                    entry.code = Some(code.to_owned());
                    entry.name = Some(name.trim().to_owned()).filter(|name| !name.is_empty());
                }
                Some(Kind::Strands) => {
                    entry.strands = number(&text).and_then(|number| u8::try_from(number).ok());
                }
                Some(Kind::Count) => entry.count = number(&text),
                Some(Kind::Other) | None => {}
            }
        }
        entry
    }
}

/// The colour beside a symbol, else the colour under it.
fn swatch(beside: &Beside, at: [f32; 2], side: f32, texts: &[&Word]) -> Option<Ink> {
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

/// A line of the key: what it looks like, and what stands beside it.
pub(super) struct LineEntry {
    /// The item of the page.
    pub(super) item: usize,
    pub(super) entry: Entry,
}

/// Level strokes beside the chart with text at their right.
pub(super) fn line_entries(beside: &Beside, tables: &[Table]) -> Vec<LineEntry> {
    let mut found = Vec::new();
    for (item, drawn) in beside.drawn.items.iter().enumerate() {
        let Item::Line(line) = drawn else { continue };
        let (Some(first), Some(last)) = (line.points.first(), line.points.last()) else { continue };
        let long = (last[0] - first[0]).abs();
        if line.points.len() != 2 || (last[1] - first[1]).abs() > 0.3 || !(6.0..120.0).contains(&long) {
            continue;
        }
        let right = first[0].max(last[0]);
        if !beside.is_outside(*first) {
            continue;
        }
        let own = tables.iter().filter(|table| table.page == beside.page);
        let table = own
            .clone()
            .find(|table| table.left <= right && right < table.right)
            .or_else(|| own.clone().next());
        let end = own
            .filter(|table| table.has_row(first[1]))
            .map(|table| table.left - table.side)
            .filter(|&left| left > right)
            .fold(f32::MAX, f32::min);
        let mut fields: Vec<&Word> = beside
            .fields
            .iter()
            .filter(|field| {
                field.area[0] > right - 0.5 && field.area[2] < end && field.off(first[1]) < 0.5 * field.em
            })
            .collect();
        let Some(nearest) = fields.iter().map(|field| field.area[0] - right).min_by(f32::total_cmp) else {
            continue;
        };
        if nearest > 40.0 {
            continue;
        }
        fields.sort_by(|one, other| one.area[0].total_cmp(&other.area[0]));
        let mut entry = table.map_or_else(Entry::default, |table| table.entry(&fields));
        entry.page = beside.page;
        if entry.code.is_none() && entry.name.is_none() {
            entry.code = fields.first().map(|word| word.text.clone());
            entry.name = fields.get(1).map(|word| word.text.clone());
        }
        found.push(LineEntry { item, entry });
    }
    found
}
