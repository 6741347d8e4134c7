//! The faces to stitch in: a letter as crosses on cells or as strokes from hole to hole.
//!
//! Cells and holes are counted from the letter's left and from the top of the capitals; y points down.

mod own;

use std::collections::BTreeMap;
use std::sync::LazyLock;

use imageproc::geometry::approximate_polygon_dp;
use imageproc::point::Point;
use ttf_parser::{Face, OutlineBuilder};
use unicode_normalization::UnicodeNormalization as _;

use crate::chart::mark::LetterFace;

/// One letter, stitched.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Letter {
    /// Cells with a cross.
    pub(super) crosses: Vec<[i32; 2]>,
    /// Strokes of backstitch.
    pub(super) strokes: Vec<Vec<[i32; 2]>>,
    /// How far on the next letter begins.
    pub(super) advance: i32,
    /// Of a joined letter, what stands for its first stroke where the letter before leaves high; else empty.
    pub(super) from_high: Vec<[i32; 2]>,
    /// The height at which it leads on to the next letter.
    pub(super) leaves: Option<i32>,
}

impl LetterFace {
    /// All faces.
    pub const ALL: [Self; 7] =
        [Self::Five, Self::Seven, Self::Ten, Self::Tiny, Self::Line, Self::Joined, Self::Script];

    /// Its name, as a person writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Five => "five",
            Self::Seven => "seven",
            Self::Ten => "ten",
            Self::Tiny => "tiny",
            Self::Line => "line",
            Self::Joined => "joined",
            Self::Script => "script",
        }
    }

    /// The height of its capitals, where the face settles it; else as asked; where nothing
    /// is, 7, and 12 in script.
    #[must_use]
    pub fn capitals(self, asked: Option<u8>) -> i32 {
        match self {
            Self::Five => 5,
            Self::Seven => 7,
            Self::Ten => 10,
            Self::Tiny => 4,
            Self::Joined => 7,
            Self::Line => i32::from(asked.unwrap_or(7).clamp(5, 40)),
            // Joined letters need room for their loops.
            Self::Script => i32::from(asked.unwrap_or(12).clamp(5, 40)),
        }
    }

    /// From the top of one line's capitals to the next: room for what hangs down and for an accent.
    #[must_use]
    pub fn line_pitch(self, asked: Option<u8>) -> i32 {
        match self {
            Self::Five => 9,
            Self::Seven => 11,
            Self::Ten => 16,
            Self::Tiny => 8,
            Self::Joined => 13,
            Self::Line | Self::Script => {
                let capitals = self.capitals(asked);
                capitals + (capitals * 5).div_euclid(6).max(4)
            }
        }
    }

    /// Whether it has a character (composed).
    #[must_use]
    pub fn has(self, character: char) -> bool {
        match self {
            Self::Five | Self::Seven | Self::Ten => Pixels::of(self).glyph(character).is_some(),
            _ => strokes_of(self, character).is_some(),
        }
    }

    pub(super) fn letter(self, character: char, capitals: Option<u8>) -> Option<Letter> {
        match self {
            Self::Five | Self::Seven | Self::Ten => Pixels::of(self).letter(character),
            Self::Tiny | Self::Joined => strokes_of(self, character).map(Strokes::into_letter),
            Self::Line | Self::Script => {
                strokes_of(self, character).map(|glyph| glyph.snapped(self.capitals(capitals)))
            }
        }
    }
}

/// A face whose outlines follow a grid of square cells.
struct Pixels {
    face: Face<'static>,
    /// Font units a cell.
    cell: f64,
    /// Cells from the base line to the top of capitals.
    capitals: i32,
}

static PIXELS: LazyLock<[Pixels; 3]> = LazyLock::new(|| {
    let face = |font, cells: f64, capitals| {
        let face = Face::parse(font, 0).expect("the faces are checked by a test");
        let cell = f64::from(face.units_per_em()) / cells;
        Pixels { face, cell, capitals }
    };
    [
        face(include_bytes!("../../../fonts-open/tiny5/Tiny5-Regular.ttf"), 8.0, 5),
        face(include_bytes!("../../../fonts-open/brede-eight/BredeEight-Regular.ttf"), 8.0, 7),
        face(include_bytes!("../../../fonts-open/unifont/Unifont-Regular.otf"), 16.0, 10),
    ]
});

impl Pixels {
    fn of(face: LetterFace) -> &'static Self {
        match face {
            LetterFace::Seven => &PIXELS[1],
            LetterFace::Ten => &PIXELS[2],
            _ => &PIXELS[0],
        }
    }

    fn glyph(&self, character: char) -> Option<ttf_parser::GlyphId> {
        // A combining mark alone has no place of its own.
        if ('\u{300}'..='\u{36f}').contains(&character) {
            return None;
        }
        self.face.glyph_index(character).filter(|glyph| glyph.0 != 0)
    }

    /// The cells whose middle lies within the outline.
    fn letter(&self, character: char) -> Option<Letter> {
        let glyph = self.glyph(character)?;
        let advance = f64::from(self.face.glyph_hor_advance(glyph)?) / self.cell;
        let mut edges = Edges::default();
        let mut crosses = Vec::new();
        if let Some(extent) = self.face.outline_glyph(glyph, &mut edges) {
            let cells = |units: i16, round: fn(f64) -> f64| round(f64::from(units) / self.cell) as i32;
            for row in -cells(extent.y_max, f64::ceil) - 1..=-cells(extent.y_min, f64::floor) {
                for column in cells(extent.x_min, f64::floor) - 1..=cells(extent.x_max, f64::ceil) {
                    let x = (f64::from(column) + 0.5) * self.cell;
                    let y = -(f64::from(row) + 0.5) * self.cell;
                    if edges.winding([x, y]) != 0 {
                        crosses.push([column, row + self.capitals]);
                    }
                }
            }
        }
        Some(Letter { crosses, advance: advance.round() as i32, ..Letter::default() })
    }
}

/// The edges of an outline; a curve counts as its chord, as there are none in these faces.
#[derive(Default)]
struct Edges {
    edges: Vec<[[f64; 2]; 2]>,
    start: [f64; 2],
    here: [f64; 2],
}

impl Edges {
    /// How often the outline winds round a point (the non-zero rule of TrueType and CFF fills by it).
    fn winding(&self, [x, y]: [f64; 2]) -> i32 {
        let mut winding = 0;
        for [[x1, y1], [x2, y2]] in &self.edges {
            let cross = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1);
            if *y1 <= y && *y2 > y && cross > 0.0 {
                winding += 1;
            } else if *y1 > y && *y2 <= y && cross < 0.0 {
                winding -= 1;
            }
        }
        winding
    }
}

impl OutlineBuilder for Edges {
    fn move_to(&mut self, x: f32, y: f32) {
        self.here = [f64::from(x), f64::from(y)];
        self.start = self.here;
    }
    fn line_to(&mut self, x: f32, y: f32) {
        let to = [f64::from(x), f64::from(y)];
        self.edges.push([self.here, to]);
        self.here = to;
    }
    fn quad_to(&mut self, _: f32, _: f32, x: f32, y: f32) {
        self.line_to(x, y);
    }
    fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, x: f32, y: f32) {
        self.line_to(x, y);
    }
    fn close(&mut self) {
        self.edges.push([self.here, self.start]);
        self.here = self.start;
    }
}

/// A single-stroke letter, y pointing down: in Hershey's units, capitals from -12 to 9, or in holes, capitals from 0.
#[derive(Debug, Clone, Default)]
struct Strokes {
    left: i32,
    right: i32,
    strokes: Vec<Vec<[i32; 2]>>,
    from_high: Vec<[i32; 2]>,
    leaves: Option<i32>,
}

/// The top of Hershey's capitals, their height, and the top of small letters without an ascender.
const TOP: i32 = -12;
const HEIGHT: i32 = 21;
const SMALL_TOP: i32 = -5;

type Glyphs = BTreeMap<char, Strokes>;

const TINY: &str = include_str!("../../../fonts-open/brede-letters/tiny.txt");
const JOINED: &str = include_str!("../../../fonts-open/brede-letters/joined.txt");
const UPRIGHT: &str = include_str!("../../../fonts-open/brede-letters/upright.txt");

/// The upright, the sloping, the tiny and the joined letters.
static STROKES: LazyLock<[Glyphs; 4]> = LazyLock::new(|| {
    let roman = include_str!("../../../fonts-open/hershey/rowmans.jhf");
    let script = include_str!("../../../fonts-open/hershey/scripts.jhf");
    let greek = include_str!("../../../fonts-open/hershey/greeks.jhf");
    let mut upright: Glyphs = (' '..='~').zip(records(roman)).collect();
    let greek = records(greek);
    // The Greek letters stand in alphabetical order in the places of A to X and a to x.
    for (letter, place) in "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩ".chars().zip(33..) {
        upright.extend(greek.get(place).cloned().map(|glyph| (letter, glyph)));
    }
    for (letter, place) in "αβγδεζηθικλμνξοπρστυφχψω".chars().zip(65..) {
        upright.extend(greek.get(place).cloned().map(|glyph| (letter, glyph)));
    }
    own::add(&mut upright, UPRIGHT, [4, 4]);
    let [mut tiny, mut joined] =
        [2, 3].map(|space| Glyphs::from([(' ', Strokes { right: space, ..Strokes::default() })]));
    own::add(&mut tiny, TINY, [0, 1]);
    own::add(&mut joined, JOINED, [0, 1]);
    [upright, (' '..='~').zip(records(script)).collect(), tiny, joined]
});

/// The records of a file in James Hurt's format.
fn records(text: &str) -> Vec<Strokes> {
    text.lines().filter_map(record).collect()
}

fn record(line: &str) -> Option<Strokes> {
    let pairs = line.as_bytes().get(8..)?.chunks_exact(2);
    let from_r = |byte: u8| i32::from(byte) - i32::from(b'R');
    let mut glyph = Strokes::default();
    for (place, pair) in pairs.enumerate() {
        match (place, pair) {
            (0, pair) => (glyph.left, glyph.right) = (from_r(pair[0]), from_r(pair[1])),
            (_, b" R") => glyph.strokes.push(Vec::new()),
            (_, pair) => {
                if glyph.strokes.is_empty() {
                    glyph.strokes.push(Vec::new());
                }
                glyph.strokes.last_mut()?.push([from_r(pair[0]), from_r(pair[1])]);
            }
        }
    }
    Some(glyph)
}

/// The strokes of a character: a plain one, or a letter with accents of our own over or under it.
fn strokes_of(face: LetterFace, character: char) -> Option<Strokes> {
    let [upright, sloping, tiny, joined] = &*STROKES;
    // Its letters, a seventh of a capital or a hole, and the top of its small letters.
    let (glyphs, unit, small_top) = match face {
        LetterFace::Tiny => (tiny, 1, 2),
        LetterFace::Joined => (joined, 1, 4),
        LetterFace::Script => (sloping, 3, SMALL_TOP),
        _ => (upright, 3, SMALL_TOP),
    };
    let plain = match character {
        '\u{a0}' => ' ',
        '\u{2010}'..='\u{2015}' | '\u{2212}' => '-',
        '\u{2018}' | '\u{2019}' => '\'',
        '\u{201c}' | '\u{201d}' => '"',
        other => other,
    };
    if let Some(glyph) = glyphs.get(&plain) {
        return Some(glyph.clone());
    }
    let mut parts = character.nfd();
    let base = parts.next()?;
    let mut glyph = glyphs.get(&base)?.clone();
    let accents: Vec<char> = parts.collect();
    if accents.is_empty() {
        return None;
    }
    let over = accents.iter().any(|&accent| !matches!(accent, '\u{327}' | '\u{328}'));
    if over && matches!(base, 'i' | 'j' | 'і' | 'ј') {
        // The accent takes the place of the dot.
        glyph.strokes.retain(|stroke| stroke.iter().any(|&[_, y]| y > small_top));
    }
    for accent in accents {
        glyph.accent(accent, unit)?;
    }
    Some(glyph)
}

impl Strokes {
    fn extent(&self) -> [i32; 4] {
        let points = self.strokes.iter().flatten();
        points.fold([i32::MAX, i32::MAX, i32::MIN, i32::MIN], |[left, top, right, bottom], &[x, y]| {
            [left.min(x), top.min(y), right.max(x), bottom.max(y)]
        })
    }

    /// Lays an accent over or under the letter; in units of a hole, or of a seventh of a capital, so that it stands on
    /// holes at the usual height. `None` for one that we do not draw.
    fn accent(&mut self, accent: char, unit: i32) -> Option<()> {
        let [left, top, right, bottom] = self.extent();
        if left > right {
            return None;
        }
        let middle = (left + right + i32::from(unit == 1)).div_euclid(2);
        let strokes: &[&[[i32; 2]]] = match accent {
            '\u{300}' => &[&[[-1, -2], [0, 0]]],
            '\u{301}' => &[&[[1, -2], [0, 0]]],
            '\u{302}' => &[&[[-1, 0], [0, -1], [1, 0]]],
            '\u{303}' => &[&[[-2, 0], [-1, -1], [0, 0], [1, -1]]],
            '\u{304}' => &[&[[-1, 0], [1, 0]]],
            '\u{306}' => &[&[[-1, -1], [0, 0], [1, -1]]],
            '\u{307}' => &[&[[0, -1], [0, 0]]],
            '\u{308}' => &[&[[-1, -1], [-1, 0]], &[[1, -1], [1, 0]]],
            '\u{30a}' => &[&[[0, -2], [-1, -1], [0, 0], [1, -1], [0, -2]]],
            '\u{30b}' => &[&[[0, -2], [-1, 0]], &[[2, -2], [1, 0]]],
            '\u{30c}' => &[&[[-1, -1], [0, 0], [1, -1]]],
            '\u{327}' => &[&[[0, 0], [0, 1], [-1, 2]]],
            '\u{328}' => &[&[[1, 0], [0, 1], [1, 2]]],
            _ => return None,
        };
        let base = match accent {
            '\u{327}' | '\u{328}' => bottom,
            _ => top - unit,
        };
        for stroke in strokes {
            self.strokes.push(stroke.iter().map(|&[x, y]| [middle + x * unit, base + y * unit]).collect());
        }
        Some(())
    }

    /// The letter as it was drawn, from hole to hole.
    fn into_letter(self) -> Letter {
        let Self { right, strokes, from_high, leaves, .. } = self;
        Letter { strokes, advance: right, from_high, leaves, ..Letter::default() }
    }

    /// The letter at so many cells to the capital, every bend moved to the nearest hole.
    fn snapped(&self, capitals: i32) -> Letter {
        let scale = f64::from(capitals) / f64::from(HEIGHT);
        let snap = |value: i32| (f64::from(value) * scale).round() as i32;
        let mut letter = Letter { advance: snap(self.right - self.left).max(1), ..Letter::default() };
        for stroke in &self.strokes {
            let mut points: Vec<[i32; 2]> = plainer(stroke, PLAINER / scale)
                .into_iter()
                .map(|[x, y]| [snap(x - self.left), snap(y - TOP)])
                .collect();
            points.dedup();
            if points.len() > 1 {
                letter.strokes.push(points);
            } else if let [[x, y]] = points[..] {
                // A full stop snapped to nothing is still a stitch.
                letter.strokes.push(vec![[x, y - 1], [x, y]]);
            }
        }
        letter
    }
}

/// How far a stroke may be straightened before its bends are moved to holes, in cells: with less, small bends
/// become jogs of one cell; with more, curves become corners.
const PLAINER: f64 = 0.36;

/// A stroke without the bends that its size cannot show (Douglas & Peucker 1973). A closed one is taken in two
/// parts, from its start to the point furthest from it and back.
fn plainer(stroke: &[[i32; 2]], reach: f64) -> Vec<[i32; 2]> {
    let (Some(first), Some(last)) = (stroke.first(), stroke.last()) else { return Vec::new() };
    let away = |point: &[i32; 2]| (point[0] - first[0]).pow(2) + (point[1] - first[1]).pow(2);
    let parted = match (0..stroke.len()).max_by_key(|&at| away(&stroke[at])) {
        Some(at) if first == last && at > 0 => vec![&stroke[..=at], &stroke[at..]],
        _ => vec![stroke],
    };
    let mut points: Vec<[i32; 2]> = Vec::new();
    for part in parted {
        let part: Vec<Point<i32>> = part.iter().map(|&[x, y]| Point::new(x, y)).collect();
        let kept = if part.len() > 2 { approximate_polygon_dp(&part, reach, false) } else { part };
        points.extend(kept.into_iter().map(|point| [point.x, point.y]));
    }
    points.dedup();
    points
}
