//! The chart that the pages come to, and what is in doubt about it.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::fractions::Fraction;
use super::key::{Entry, Part, sign_of};
use super::lines::{Diagonals, Look, Sewn, Sheet};
use super::squares::{Book, Spot, Square, Squares, apart};
use super::{Joined, Outlines, ReadError, ReadOptions, blend, counted};
use crate::chart::mark::{Backstitch, Mark};
use crate::chart::{Cell, Chart, LinePattern, LineStitch, MAX_NEEDLES, Needle, Thread};
use crate::ground::colour::Srgb8;
use crate::ground::units::GridSize;
use crate::reading::drawing::Ink;
use crate::thread::cloth::{Cloth, Diagonal, StitchKind};
use crate::thread::shades::ShadeCard;

/// What the person says of a symbol.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answer {
    /// Its number, from 1, as it was found.
    pub number: usize,
    /// The code of its thread.
    pub code: Option<String>,
    /// The name of its thread.
    pub name: Option<String>,
    /// The colour of its thread.
    pub colour: Option<Srgb8>,
    /// How many strands are in the needle.
    pub strands: Option<u8>,
    /// The number of the symbol that it is drawn unlike of, but is.
    pub same: Option<usize>,
    /// Whether nothing is stitched there.
    pub bare: bool,
}

/// A symbol that was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoundSymbol {
    /// Its number, from 1.
    pub number: usize,
    /// In how many squares it stands.
    pub stitches: u64,
    /// What the key calls it.
    pub code: Option<String>,
    /// The name in the key.
    pub name: Option<String>,
    /// How often the key says that it stands there.
    pub key_stitches: Option<u64>,
    /// Its outlines.
    #[serde(skip)]
    pub(in crate::reading) outlines: Outlines,
    /// The colour under it.
    #[serde(skip)]
    pub ground: Option<Srgb8>,
    /// The needle that it became, from 0; nothing where it is bare.
    pub needle: Option<usize>,
}

/// What is in doubt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "doubt", rename_all = "kebab-case")]
pub enum DoubtKind {
    /// The key does not have the symbol, or it could not be read.
    NotInKey,
    /// The key says another number of stitches.
    OtherCount {
        /// What the key says.
        key: u64,
    },
    /// The code is not on the card.
    NotOnCard,
    /// Nothing shows its colour: it is a grey for now.
    NoColour,
    /// Drawn so much like another that they may be one.
    Like {
        /// The other's number.
        number: usize,
    },
    /// The key has it twice, with different threads.
    TwiceInKey,
    /// It stands on squares of different colours.
    OtherColours,
    /// It is a small symbol in a corner: part of a stitch, with the thread of another symbol.
    PartStitch {
        /// The other's number.
        number: usize,
    },
    /// Two part stitches share the square: the first is kept.
    SecondPart {
        /// The number of the symbol that is left out.
        number: usize,
    },
}

/// A doubt about a symbol.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Doubt {
    /// The symbol's number.
    pub number: usize,
    /// What it is about.
    #[serde(flatten)]
    pub kind: DoubtKind,
}

/// Lines of one thread.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadLine {
    /// Their number, after those of the symbols: what the person says of their thread goes by it.
    pub number: usize,
    /// The name of their mark.
    pub mark: String,
    /// Their length in squares.
    pub length: f64,
    /// Whether the key names their thread.
    pub named: bool,
    /// Strokes that run from no hole to another, or by halves of squares, and were moved to holes or left out.
    pub loose: usize,
    /// How they are drawn, for their picture.
    #[serde(skip)]
    pub(in crate::reading) sample: Sample,
}

/// What lines or knots look like: an ink, and dashes in hundredths of a square, or the outline of a knot.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::reading) struct Sample {
    pub(in crate::reading) ink: Srgb8,
    pub(in crate::reading) dash: [i32; 4],
    pub(in crate::reading) knot: Option<Outlines>,
}

/// Which part of the chart a page shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct PagePlace {
    /// The page, from 1.
    pub page: usize,
    /// Its first column and row, from 0.
    pub at: [u32; 2],
    /// Its columns and rows.
    pub size: [u32; 2],
}

impl PagePlace {
    pub(super) fn of(page: usize, sheet: &Sheet) -> Self {
        let at = sheet.at.map(|at| u32::try_from(at).unwrap_or(0));
        Self { page: page + 1, at, size: sheet.squares.grid.count }
    }
}

/// A chart that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// The chart, without symbols of its own.
    pub chart: Chart,
    /// How its pages were joined.
    pub joined: Joined,
    /// All pages of the files, and those that show the chart.
    pub pages: usize,
    /// The pages that show the chart, from 1.
    pub chart_pages: Vec<usize>,
    /// Where they lie on it.
    pub places: Vec<PagePlace>,
    /// Every symbol by its number.
    pub symbols: Vec<FoundSymbol>,
    /// What is in doubt.
    pub doubts: Vec<Doubt>,
    /// The lines.
    pub lines: Vec<ReadLine>,
    /// Knots and beads by what they look like, as lines without length.
    pub knotted: Vec<ReadLine>,
    /// Knots and beads: kept as places.
    pub knots: usize,
    /// Columns and rows that lie before the first page, by the numbers on it.
    pub missing: [u32; 2],
    /// Squares that different pages show differently.
    pub disagreeing: usize,
}

/// What a square holds: a symbol, or a colour where there are no symbols.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Held {
    Symbol(u32),
    /// A symbol in a corner, with the diagonal beside it.
    Cut(u32),
    Colour(Ink),
}

impl Held {
    /// The sign that the key has for it.
    fn sign(&self) -> u32 {
        match self {
            Self::Symbol(symbol) | Self::Cut(symbol) => *symbol,
            Self::Colour(ink) => sign_of(*ink),
        }
    }
}

/// The squares of the chart.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    /// Column and row of the first square by the numbers on the pages.
    pub(super) first: [i32; 2],
    size: GridSize,
    cells: Vec<Option<Held>>,
    grounds: BTreeMap<u32, BTreeMap<Ink, u64>>,
    disagreeing: usize,
}

impl Laid {
    /// Its symbols, and how often each stands.
    pub(super) fn symbols(&self) -> Vec<(u32, u64)> {
        counted(self.cells.iter().flatten().map(Held::sign)).into_iter().collect()
    }

    /// Tells part stitches with the diagonal that does not meet their corner, which are three-quarter stitches.
    fn cut(&mut self, diagonals: &Diagonals, fractions: &BTreeMap<u32, Fraction>) {
        for &([column, row], falls) in diagonals {
            let Some(held) = self.cells.get_mut(row * self.size.width() + column) else { continue };
            if let Some(Held::Symbol(symbol)) = *held
                && let Some(&(_, corner)) = fractions.get(&symbol).and_then(|parts| parts.first())
                && (corner.diagonal() == Diagonal::Rising) == falls
            {
                *held = Some(Held::Cut(symbol));
            }
        }
    }
}

/// Lays the pages on one chart.
pub(super) fn lay(pages: &[&Squares], places: &[[i32; 2]]) -> Result<Laid, ReadError> {
    let edge = |axis: usize| {
        let low = places.iter().map(|place| place[axis]).min().unwrap_or(0);
        let ends = pages
            .iter()
            .zip(places)
            .map(|(page, place)| i64::from(place[axis]) + i64::from(page.grid.count[axis]));
        (low, u32::try_from(ends.max().unwrap_or(0) - i64::from(low)).unwrap_or(u32::MAX))
    };
    let ((left, columns), (top, rows)) = (edge(0), edge(1));
    let size = GridSize::new(columns, rows)?;
    let has_symbols = {
        let all: usize = pages.iter().map(|page| page.squares.len()).sum();
        let signed =
            pages.iter().flat_map(|page| &page.squares).filter(|square| square.symbol.is_some()).count();
        signed * 20 > all
    };
    let at = |page: usize, at: usize| {
        let columns = pages[page].grid.count[0] as usize;
        let (dx, dy) = ((places[page][0] - left) as usize, (places[page][1] - top) as usize);
        (at / columns + dy) * size.width() + at % columns + dx
    };
    let all = || {
        let squares = pages.iter().enumerate().flat_map(|(page, squares)| {
            squares.squares.iter().enumerate().map(move |(place, square)| (page, place, square))
        });
        squares.map(|(page, place, square)| (at(page, place), square))
    };
    let mut shown: Vec<u8> = vec![0; size.cells()];
    for (cell, _) in all() {
        shown[cell] = shown[cell].saturating_add(1);
    }
    let held = |square: &Square| match square.symbol {
        Some(symbol) => Some(Held::Symbol(symbol)),
        None if has_symbols => None,
        None => square.ground.filter(|&ink| apart(ink, [255; 3]) > 3).map(Held::Colour),
    };
    // What stands where one page alone shows it is no repeat: repeats may be paler.
    let own = counted(all().filter(|(cell, _)| shown[*cell] == 1).filter_map(|(_, square)| held(square)));
    let weight = |held: &Held| own.get(held).copied().unwrap_or(0);
    let mut cells: Vec<Option<Held>> = vec![None; size.cells()];
    let mut differ: Vec<bool> = vec![false; size.cells()];
    let mut grounds: BTreeMap<u32, BTreeMap<Ink, u64>> = BTreeMap::new();
    for (cell, square) in all() {
        if let Some(held) = held(square) {
            differ[cell] |= has_symbols && cells[cell].is_some_and(|known| known != held);
            if cells[cell].is_none_or(|known| weight(&held) > weight(&known)) {
                cells[cell] = Some(held);
            }
        }
        if let (1, Some((symbol, ground))) = (shown[cell], square.symbol.zip(square.ground)) {
            *grounds.entry(symbol).or_default().entry(ground).or_default() += 1;
        }
    }
    let disagreeing = differ.iter().filter(|&&differ| differ).count();
    Ok(Laid { first: [left, top], size, cells, grounds, disagreeing })
}

/// Knots and beads in squares of the chart, each once.
pub(super) fn knots(sheets: &[Sheet]) -> Vec<Spot> {
    let mut all: Vec<Spot> = Vec::new();
    // By square, so that each is compared with its neighbours alone.
    let mut near: BTreeMap<(u32, [i64; 2]), Vec<usize>> = BTreeMap::new();
    for sheet in sheets {
        for spot in &sheet.squares.spots {
            let at = [0, 1].map(|axis| spot.at[axis] + f64::from(sheet.at[axis]));
            let square = at.map(|at| at.floor() as i64);
            let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| [dx, dy]));
            let is_known = around.map(|[dx, dy]| [square[0] + dx, square[1] + dy]).any(|square| {
                near.get(&(spot.shape, square)).is_some_and(|known| {
                    known.iter().any(|&known| (0..2).all(|axis| (all[known].at[axis] - at[axis]).abs() < 0.2))
                })
            });
            if !is_known {
                near.entry((spot.shape, square)).or_default().push(all.len());
                all.push(Spot { at, ..*spot });
            }
        }
    }
    all
}

/// All that was found on the pages.
#[derive(Debug, Clone)]
pub(super) struct Gathered {
    pub(super) laid: Laid,
    pub(super) entries: BTreeMap<u32, Vec<Entry>>,
    pub(super) fractions: BTreeMap<u32, Fraction>,
    pub(super) diagonals: Diagonals,
    pub(super) sewn: Vec<Sewn>,
    pub(super) looks: Vec<(Look, Entry)>,
    pub(super) knots: Vec<Spot>,
    pub(super) dots: Vec<(u32, Ink, Entry)>,
    pub(super) joined: Joined,
    pub(super) pages: usize,
    pub(super) charts: Vec<usize>,
    pub(super) places: Vec<PagePlace>,
}

fn colour([r, g, b]: Ink) -> Srgb8 {
    Srgb8 { r, g, b }
}

/// A kind of square, by its number less one.
struct Numbered {
    held: Held,
    stitches: u64,
    entry: Option<Entry>,
    ground: Option<Ink>,
}

/// Makes the chart.
pub(super) fn finish(gathered: Gathered, book: &Book, options: &ReadOptions) -> Result<Read, ReadError> {
    let Gathered {
        mut laid,
        entries,
        fractions,
        diagonals,
        sewn,
        looks,
        knots,
        dots,
        joined,
        pages,
        charts,
        places,
    } = gathered;
    let mut doubts: Vec<Doubt> = Vec::new();
    laid.cut(&diagonals, &fractions);
    let numbered = numbered(&laid, &entries, &fractions);
    if numbered.len() > MAX_NEEDLES {
        return Err(ReadError::TooMany { found: numbered.len() });
    }
    let kinds: BTreeSet<(u32, Ink)> = knots.iter().map(|knot| (knot.shape, knot.ink)).collect();
    let most = numbered.len() + sewn.len() + kinds.len();
    for answer in &options.answers {
        // A symbol can be the same as a symbol alone.
        let of_symbol = answer.number <= numbered.len();
        let same = answer.same.filter(|same| !of_symbol || !(1..=numbered.len()).contains(same));
        if let Some(number) = same.or_else(|| (!(1..=most).contains(&answer.number)).then_some(answer.number))
        {
            return Err(ReadError::NoSuchSymbol { number, found: numbered.len() });
        }
    }
    let answer = |number: usize| options.answers.iter().rev().find(|answer| answer.number == number);
    let place: BTreeMap<Held, usize> = numbered.iter().enumerate().map(|(at, one)| (one.held, at)).collect();
    let mut needles: Vec<Needle> = Vec::new();
    let mut needle_of: Vec<Option<usize>> = vec![None; numbered.len()];
    for (at, one) in numbered.iter().enumerate() {
        let said = answer(at + 1);
        if said.is_some_and(|said| said.bare || said.same.is_some_and(|same| same != at + 1)) {
            continue;
        }
        let (threads, stitch, mut found) = needle(one, at, said, options.card.as_ref(), numbered.len());
        let stitch = part_stitch(one, &fractions).unwrap_or(stitch);
        let number_of = |symbol: u32| place.get(&Held::Symbol(symbol)).map_or(0, |at| at + 1);
        if let Some(parts) = one.part_of(&fractions).filter(|_| said.is_none()) {
            found.retain(|kind| *kind != DoubtKind::NotInKey);
            let of = |&(symbol, _): &(u32, _)| number_of(symbol);
            found.extend(parts.first().map(of).map(|number| DoubtKind::PartStitch { number }));
            found.extend(parts.get(1).map(of).map(|number| DoubtKind::SecondPart { number }));
        }
        found.extend(of_symbol(one, &entries, &laid));
        if let Held::Symbol(symbol) = one.held {
            let like = (0..at).find(
                |&other| matches!(numbered[other].held, Held::Symbol(other) if are_like(book, symbol, other)),
            );
            found.extend(like.filter(|_| said.is_none()).map(|other| DoubtKind::Like { number: other + 1 }));
        }
        doubts.extend(found.into_iter().map(|kind| Doubt { number: at + 1, kind }));
        needle_of[at] = Some(needles.len());
        needles.push(Needle { symbol: String::new(), threads, stitch });
    }
    let same = |at: usize| answer(at + 1).and_then(|said| said.same).filter(|&same| same != at + 1);
    for at in 0..numbered.len() {
        // The same as one that is the same as a third, at most so often as there are symbols: answers may run in a circle.
        let mut to = at;
        for _ in 0..numbered.len() {
            let Some(next) = same(to) else { break };
            to = next - 1;
        }
        needle_of[at] = needle_of[to];
    }
    let cells = laid
        .cells
        .iter()
        .map(|held| held.and_then(|held| needle_of[place[&held]]).map_or(Cell::BARE, Cell::worked))
        .collect();
    let mut chart = Chart::new(options.title.clone(), laid.size, Cloth::default(), needles, cells)?;
    let mut sewing = Sewing { card: options.card.as_ref(), answer: &answer, names: BTreeSet::new() };
    let (mut marks, lines) = sewing.marks(&sewn, &looks, numbered.len());
    let (knot_marks, knotted) = sewing.knotted(&knots, &dots, numbered.len() + lines.len(), book);
    marks.extend(knot_marks);
    chart.marks = marks.into_iter().map(Into::into).collect();
    chart.card.clone_from(&options.card);
    let symbols = numbered
        .iter()
        .enumerate()
        .map(|(at, one)| FoundSymbol {
            number: at + 1,
            stitches: one.stitches,
            code: one.entry.as_ref().and_then(|entry| entry.code.clone()),
            name: one.entry.as_ref().and_then(|entry| entry.name.clone()),
            key_stitches: one.entry.as_ref().and_then(|entry| entry.count),
            outlines: match one.held {
                Held::Symbol(symbol) | Held::Cut(symbol) => super::outlines(book, symbol),
                Held::Colour(_) => Vec::new(),
            },
            ground: one.ground.map(colour),
            needle: needle_of[at],
        })
        .collect();
    Ok(Read {
        chart,
        joined,
        pages,
        chart_pages: charts
            .into_iter()
            .map(|page| page + 1)
            .collect::<BTreeSet<usize>>()
            .into_iter()
            .collect(),
        places,
        symbols,
        doubts,
        lines,
        knotted,
        knots: knots.len(),
        missing: laid.first.map(|first| u32::try_from(first).unwrap_or(0)),
        disagreeing: laid.disagreeing,
    })
}

/// The kinds of squares that the key has, by their codes, then those that it lacks, the commonest first.
fn numbered(
    laid: &Laid,
    entries: &BTreeMap<u32, Vec<Entry>>,
    fractions: &BTreeMap<u32, Fraction>,
) -> Vec<Numbered> {
    let mut numbered: Vec<Numbered> = counted(laid.cells.iter().flatten().copied())
        .into_iter()
        .map(|(held, stitches)| {
            let of = |sign: u32| entries.get(&sign).and_then(|all| all.first()).cloned();
            // Part of a stitch has the thread of the whole one; how often the key counts it is not known.
            let part = fractions.get(&held.sign()).and_then(|parts| parts.first());
            let of_part = |&(base, _): &(u32, _)| of(base).map(|entry| Entry { count: None, ..entry });
            let entry = of(held.sign()).or_else(|| part.and_then(of_part));
            let ground = match held {
                Held::Symbol(symbol) | Held::Cut(symbol) => {
                    let grounds = laid.grounds.get(&symbol);
                    grounds.and_then(|all| all.iter().max_by_key(|(_, count)| **count)).map(|(ink, _)| *ink)
                }
                Held::Colour(ink) => Some(ink),
            };
            Numbered { held, stitches, entry, ground }
        })
        .collect();
    let code = |one: &Numbered| one.entry.as_ref().and_then(|entry| entry.code.clone());
    numbered.sort_by(|one, other| {
        let lacks = |one: &Numbered| one.entry.is_none();
        let text = |one: &Numbered| code(one).unwrap_or_default();
        lacks(one)
            .cmp(&lacks(other))
            .then_with(|| text(one).len().cmp(&text(other).len()))
            .then_with(|| text(one).cmp(&text(other)))
            .then_with(|| other.stitches.cmp(&one.stitches))
            .then_with(|| one.held.cmp(&other.held))
    });
    numbered
}

impl Numbered {
    /// The parts of a stitch that it shows.
    fn part_of<'f>(&self, fractions: &'f BTreeMap<u32, Fraction>) -> Option<&'f Fraction> {
        fractions.get(&self.held.sign())
    }
}

/// The kind of a part stitch.
fn part_stitch(one: &Numbered, fractions: &BTreeMap<u32, Fraction>) -> Option<StitchKind> {
    let &(_, corner) = one.part_of(fractions)?.first()?;
    Some(match one.held {
        Held::Cut(_) => StitchKind::ThreeQuarter(corner),
        Held::Symbol(_) | Held::Colour(_) => StitchKind::Quarter(corner),
    })
}

/// The threads of a kind of square, how it is worked, and what is in doubt about it.
fn needle(
    one: &Numbered,
    at: usize,
    said: Option<&Answer>,
    card: Option<&ShadeCard>,
    of: usize,
) -> (Vec<Thread>, StitchKind, Vec<DoubtKind>) {
    let stitch = one.entry.as_ref().and_then(|entry| entry.stitch).unwrap_or_default();
    let said_codes = said.and_then(|said| said.code.as_deref()).and_then(blend::codes);
    let parts = match (said_codes, &one.entry) {
        (Some(codes), _) => {
            codes.into_iter().map(|code| Part { code: Some(code), ..Part::default() }).collect()
        }
        (None, Some(entry)) if said.is_none_or(|said| said.code.is_none()) => entry.blend.clone(),
        _ => Vec::new(),
    };
    if parts.len() < 2 {
        let (thread, doubts) = thread(one, at, said, card, of);
        return (vec![thread], stitch, doubts);
    }
    let strands = said.and_then(|said| said.strands).or(one.entry.as_ref().and_then(|entry| entry.strands));
    // Strands that are told in one number are shared.
    let each = strands.map_or(1, |strands| (strands / parts.len() as u8).max(1));
    let mut doubts: Vec<DoubtKind> = Vec::new();
    let mut threads = Vec::new();
    for part in parts {
        let entry = Entry {
            code: part.code,
            name: part.name,
            strands: Some(part.strands.unwrap_or(each)),
            colour: one.entry.as_ref().and_then(|entry| entry.colour),
            ..Entry::default()
        };
        let one = Numbered { entry: Some(entry), ..*one };
        let (thread, found) = thread(&one, at, None, card, of);
        doubts.extend(found.into_iter().filter(|found| !doubts.contains(found)).collect::<Vec<_>>());
        threads.push(thread);
    }
    (threads, stitch, doubts)
}

/// The thread of a kind of square, and what is in doubt about it.
fn thread(
    one: &Numbered,
    at: usize,
    said: Option<&Answer>,
    card: Option<&ShadeCard>,
    of: usize,
) -> (Thread, Vec<DoubtKind>) {
    let mut doubts = Vec::new();
    let entry = one.entry.clone().unwrap_or_default();
    let code = said.and_then(|said| said.code.clone()).or(entry.code);
    let name = said.and_then(|said| said.name.clone()).or(entry.name);
    let strands =
        said.and_then(|said| said.strands).or(entry.strands).filter(|strands| (1..=12).contains(strands));
    let strands = strands.unwrap_or(2);
    let is_named = code.is_some() || name.is_some();
    let shown = said.and_then(|said| said.colour).or(entry.colour.map(colour));
    let shade = code.as_deref().zip(card).and_then(|(code, card)| card.find(code));
    if let Some(shade) = shade {
        return (Thread::of(shade, strands), doubts);
    }
    if !is_named {
        doubts.push(DoubtKind::NotInKey);
    } else if card.is_some() {
        doubts.push(DoubtKind::NotOnCard);
    }
    let under = one.ground.filter(|&ink| apart(ink, [255; 3]) > 3).map(colour);
    let colour = shown.or(under).unwrap_or_else(|| {
        doubts.push(DoubtKind::NoColour);
        grey(at, of)
    });
    let code = code.or_else(|| name.clone()).unwrap_or_else(|| format!("?{}", at + 1));
    let name = name.unwrap_or_else(|| code.clone());
    (named(code, name, colour, strands), doubts)
}

/// A thread of which no card says more.
fn named(code: String, name: String, colour: Srgb8, strands: u8) -> Thread {
    Thread { code, name, colour, strands, price: None, skein_mm: None, skein_strands: None, kind: None }
}

/// Greys from dark to light, for threads whose colour nothing shows.
fn grey(at: usize, of: usize) -> Srgb8 {
    let level = 64 + (at * 150 / of.max(2)).min(150);
    let level = u8::try_from(level).unwrap_or(128);
    Srgb8 { r: level, g: level, b: level }
}

/// What disagrees about a symbol.
fn of_symbol(one: &Numbered, entries: &BTreeMap<u32, Vec<Entry>>, laid: &Laid) -> Vec<DoubtKind> {
    let mut doubts = Vec::new();
    if let Some(key) = one.entry.as_ref().and_then(|entry| entry.count).filter(|&key| key != one.stitches) {
        doubts.push(DoubtKind::OtherCount { key });
    }
    let symbol = one.held.sign();
    if entries.get(&symbol).is_some_and(|all| all.len() > 1) {
        doubts.push(DoubtKind::TwiceInKey);
    }
    let often = |grounds: &BTreeMap<Ink, u64>| {
        let all: Vec<Ink> =
            grounds.iter().filter(|(_, count)| **count * 20 > one.stitches).map(|(ink, _)| *ink).collect();
        all.iter().any(|&ink| apart(ink, all[0]) > 40)
    };
    if laid.grounds.get(&symbol).is_some_and(often) {
        doubts.push(DoubtKind::OtherColours);
    }
    doubts
}

/// Whether two symbols are so much alike that a writer's rounding may have parted them: the same outlines, nearly in one
/// place and of one size.
fn are_like(book: &Book, one: u32, other: u32) -> bool {
    let (one, other) = (&book.symbols[one as usize], &book.symbols[other as usize]);
    one.len() == other.len()
        && one.iter().zip(other).all(|(one, other)| {
            let shapes = [one, other].map(|element| &book.shapes[element.shape as usize]);
            let same = one.shape == other.shape
                || shapes[0].pieces == shapes[1].pieces && {
                    let far = shapes[0].points.iter().zip(&shapes[1].points).map(|(a, b)| {
                        (0..2).map(|axis| (i32::from(a[axis]) - i32::from(b[axis])).abs()).max().unwrap_or(0)
                    });
                    far.max().unwrap_or(0) < 500
                };
            same && (one.size / other.size - 1.0).abs() < 0.22
                && (0..2).all(|axis| (one.at[axis] - other.at[axis]).abs() < 0.16)
        })
}

/// Puts lines and knots on the chart.
struct Sewing<'s> {
    card: Option<&'s ShadeCard>,
    answer: &'s dyn Fn(usize) -> Option<&'s Answer>,
    names: BTreeSet<String>,
}

/// What a mark is called, its thread, and whether anybody names that.
struct Sewed {
    mark: String,
    thread: Thread,
    is_named: bool,
}

impl Sewing<'_> {
    /// What the key or the person says of lines or knots with a number.
    fn sewed(&mut self, number: usize, entry: Option<Entry>, or: &str, ink: Ink) -> Sewed {
        let said = (self.answer)(number).cloned().unwrap_or_default();
        let entry = entry.unwrap_or_default();
        let code = said.code.or(entry.code);
        let label = said.name.or(entry.name);
        let is_named = code.is_some() || label.is_some();
        // A label may stand before the name of the thread.
        let (label, name) = match label.as_deref().and_then(|text| text.split_once(": ")) {
            Some((label, name)) => (Some(label.to_owned()), Some(name.to_owned())),
            None => (label.clone(), label),
        };
        let code = code.or_else(|| name.clone()).unwrap_or_else(|| or.to_owned());
        let strands =
            said.strands.or(entry.strands).filter(|strands| (1..=12).contains(strands)).unwrap_or(1);
        let shade = self.card.and_then(|card| card.find(&code));
        let own = || {
            let colour = said.colour.or(entry.colour.map(colour)).unwrap_or_else(|| colour(ink));
            named(code.clone(), name.clone().unwrap_or_else(|| code.clone()), colour, strands)
        };
        let thread = shade.map_or_else(own, |shade| Thread::of(shade, strands));
        let label = label.unwrap_or_else(|| code.clone());
        let mut mark = label.clone();
        let mut again = 2;
        while !self.names.insert(mark.clone()) {
            mark = format!("{label} {again}");
            again += 1;
        }
        Sewed { mark, thread, is_named }
    }

    /// The marks of lines, whose numbers follow on those of so many symbols, and what is told of them.
    fn marks(&mut self, sewn: &[Sewn], looks: &[(Look, Entry)], before: usize) -> (Vec<Mark>, Vec<ReadLine>) {
        let mut taken: BTreeSet<LinePattern> = BTreeSet::new();
        let (mut marks, mut lines) = (Vec::new(), Vec::new());
        let chosen = samples_of(sewn, looks);
        for (at, (sewn, entry)) in sewn.iter().zip(chosen).enumerate() {
            let number = before + at + 1;
            let Sewed { mark, thread, is_named } =
                self.sewed(number, entry, &format!("L{}", at + 1), sewn.look.ink);
            let is_half = |piece: &&[[i32; 2]; 2]| piece.iter().flatten().any(|at| at % 2 != 0);
            let half = sewn.pieces.iter().filter(is_half).count();
            let length = sewn
                .pieces
                .iter()
                .map(|[a, b]| libm::hypot(f64::from(b[0] - a[0]), f64::from(b[1] - a[1])) / 2.0);
            lines.push(ReadLine {
                number,
                mark: mark.clone(),
                length: length.sum(),
                named: is_named,
                loose: sewn.loose + half,
                sample: Sample { ink: colour(sewn.look.ink), dash: sewn.look.dash, knot: None },
            });
            marks.push(Mark::Backstitch(Backstitch {
                name: mark,
                label: None,
                thread: vec![thread],
                pattern: Some(pattern(sewn, &mut taken)),
                stitch: LineStitch::Backstitch,
                lines: chained(&sewn.pieces),
                knots: Vec::new(),
            }));
        }
        (marks, lines)
    }

    /// Knots and beads, by what they look like.
    fn knotted(
        &mut self,
        knots: &[Spot],
        dots: &[(u32, Ink, Entry)],
        before: usize,
        book: &Book,
    ) -> (Vec<Mark>, Vec<ReadLine>) {
        let mut kinds: BTreeMap<(u32, Ink), Vec<[f64; 2]>> = BTreeMap::new();
        for spot in knots {
            let places = spot.at.map(|at| (at * 8.0).round() / 8.0);
            kinds.entry((spot.shape, spot.ink)).or_default().push(places);
        }
        let (mut marks, mut told) = (Vec::new(), Vec::new());
        for ((shape, ink), places) in kinds {
            let like = dots.iter().filter(|dot| dot.0 == shape);
            let entry = like.min_by_key(|dot| apart(dot.1, ink)).map(|dot| dot.2.clone());
            let number = before + marks.len() + 1;
            let Sewed { mark, thread, is_named } =
                self.sewed(number, entry, &format!("K{}", marks.len() + 1), ink);
            let outline = book.shapes.get(shape as usize).map(|shape| (shape.clone(), [0.0; 2], 0.4));
            told.push(ReadLine {
                number,
                mark: mark.clone(),
                length: 0.0,
                named: is_named,
                loose: 0,
                sample: Sample { ink: colour(ink), dash: [0; 4], knot: Some(outline.into_iter().collect()) },
            });
            marks.push(Mark::Backstitch(Backstitch {
                name: mark,
                label: None,
                thread: vec![thread],
                pattern: None,
                stitch: LineStitch::Backstitch,
                lines: Vec::new(),
                knots: places,
            }));
        }
        (marks, told)
    }
}

/// What the key says of each kind of lines: the likeliest sample each, the surest first; no sample twice.
fn samples_of(sewn: &[Sewn], looks: &[(Look, Entry)]) -> Vec<Option<Entry>> {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (line, sewn) in sewn.iter().enumerate() {
        let all = looks.iter().enumerate().map(|(look, known)| (sewn.look.unlike(&known.0), line, look));
        pairs.extend(all.filter(|pair| pair.0 < 70.0));
    }
    pairs.sort_by(|one, other| one.0.total_cmp(&other.0).then((one.1, one.2).cmp(&(other.1, other.2))));
    let mut chosen: Vec<Option<usize>> = vec![None; sewn.len()];
    for (_, line, look) in pairs {
        let is_taken = chosen.iter().flatten().any(|&taken| {
            looks[taken].1.code == looks[look].1.code && looks[taken].1.name == looks[look].1.name
        });
        if chosen[line].is_none() && !is_taken {
            chosen[line] = Some(look);
        }
    }
    chosen.into_iter().map(|look| look.map(|look| looks[look].1.clone())).collect()
}

/// How lines are drawn: as they were, or as no other line is.
fn pattern(sewn: &Sewn, taken: &mut BTreeSet<LinePattern>) -> LinePattern {
    let [dash, gap, third, _] = sewn.look.dash;
    let drawn = match (dash, third) {
        (0, _) if sewn.is_double => LinePattern::Double,
        (0, _) => LinePattern::Solid,
        (_, 1..) => LinePattern::DashDot,
        (1..=24, _) if dash <= gap => LinePattern::Dots,
        (_, _) if dash >= 75 => LinePattern::LongDash,
        _ => LinePattern::ShortDash,
    };
    let chosen = if taken.contains(&drawn) {
        LinePattern::ALL.into_iter().find(|pattern| !taken.contains(pattern)).unwrap_or(drawn)
    } else {
        drawn
    };
    taken.insert(chosen);
    chosen
}

/// Pieces that follow one another, put together; long pieces are parted at the holes that they pass.
fn chained(pieces: &[[[i32; 2]; 2]]) -> Vec<Vec<[i32; 2]>> {
    let mut lines: Vec<Vec<[i32; 2]>> = Vec::new();
    for &[from, to] in pieces {
        // Ends between holes go to the hole before: the worked line runs from hole to hole.
        let [from, to] = [from, to].map(|end| end.map(|at| at.div_euclid(2)));
        if from == to {
            continue;
        }
        let steps = gcd(from[0].abs_diff(to[0]), from[1].abs_diff(to[1])).max(1) as i32;
        let step = [(to[0] - from[0]) / steps, (to[1] - from[1]) / steps];
        let holes = (1..=steps).map(|at| [from[0] + step[0] * at, from[1] + step[1] * at]);
        match lines.last_mut() {
            Some(line) if line.last() == Some(&from) => line.extend(holes),
            _ => lines.push(std::iter::once(from).chain(holes).collect()),
        }
    }
    lines
}

fn gcd(one: u32, other: u32) -> u32 {
    if other == 0 { one } else { gcd(other, one % other) }
}
