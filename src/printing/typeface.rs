//! The text faces of the page: which face has which character, and how wide a text comes out.
//!
//! Owns choosing a face character by character, measuring and shortening. Leaves the symbols of the chart to
//! `symbols` and the lettering that is stitched to `marks`.

use std::borrow::Cow;
use std::sync::{LazyLock, OnceLock};

use unicode_normalization::UnicodeNormalization as _;

use super::length::Length;
use crate::ground::plain;

const TEXT_REGULAR: &[u8] =
    include_bytes!("../../fonts-open/atkinson-hyperlegible-next/AtkinsonHyperlegibleNext-Regular.ttf");
const TEXT_BOLD: &[u8] =
    include_bytes!("../../fonts-open/atkinson-hyperlegible-next/AtkinsonHyperlegibleNext-Bold.ttf");
const REACH_REGULAR: &[u8] = include_bytes!("../../fonts-open/dejavu-sans/DejaVuSans.ttf");
const REACH_BOLD: &[u8] = include_bytes!("../../fonts-open/dejavu-sans/DejaVuSans-Bold.ttf");

/// Where the text faces have figures of one width, from 0 on, and the zero that has a stroke (SOURCE.md beside them).
const FIGURES: u32 = 0xe730;
const STROKED_ZERO: char = '\u{e73a}';

/// How heavy the text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// For reading.
    Regular,
    /// For headings.
    Bold,
    /// Bold too, for codes: their zeros have a stroke, so that none is taken for a letter. Elsewhere a stroke would
    /// make rulers and counts look like symbols.
    Code,
}

/// One of the faces that come with brede.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// The legible face for all that it has.
    Text(Weight),
    /// The face of wide reach, for Greek, Cyrillic and what else the first lacks.
    Reach(Weight),
}

impl Face {
    /// All faces, in a fixed order.
    pub const ALL: [Self; 6] = [
        Self::Text(Weight::Regular),
        Self::Text(Weight::Bold),
        Self::Text(Weight::Code),
        Self::Reach(Weight::Regular),
        Self::Reach(Weight::Bold),
        Self::Reach(Weight::Code),
    ];

    /// The font file: TrueType.
    #[must_use]
    pub fn font(self) -> &'static [u8] {
        match self {
            Self::Text(Weight::Regular) => TEXT_REGULAR,
            Self::Text(Weight::Bold | Weight::Code) => TEXT_BOLD,
            Self::Reach(Weight::Regular) => REACH_REGULAR,
            Self::Reach(Weight::Bold | Weight::Code) => REACH_BOLD,
        }
    }

    fn known(self) -> &'static Known {
        &KNOWN[match self {
            Self::Text(weight) => weight as usize,
            Self::Reach(weight) => Weight::Code as usize + 1 + weight as usize,
        }]
    }

    fn parsed(self) -> &'static ttf_parser::Face<'static> {
        &self.known().face
    }

    /// The glyph of a character, where the face has one. Figures are all of one width, so that they stand in columns.
    #[must_use]
    pub fn glyph(self, character: char) -> Option<u16> {
        let known = self.known();
        let sought = |character| self.sought(character).unwrap_or_default();
        let usual = known.glyphs.get_or_init(|| ('\0'..USUAL).map(sought).collect());
        match usual.get(character as usize) {
            Some(&glyph) => (glyph != 0).then_some(glyph),
            None => self.sought(character),
        }
    }

    /// The glyph of a character as the tables of the font have it.
    fn sought(self, character: char) -> Option<u16> {
        let character = match (self, character) {
            (Self::Text(Weight::Code), '0') => STROKED_ZERO,
            (Self::Text(_), '0'..='9') => {
                char::from_u32(FIGURES + u32::from(character) - u32::from('0')).unwrap_or(character)
            }
            _ => character,
        };
        self.parsed().glyph_index(character).map(|glyph| glyph.0).filter(|&glyph| glyph != 0)
    }

    /// The advance of a glyph in thousandths of the text size.
    #[must_use]
    pub fn advance(self, glyph: u16) -> f64 {
        let face = self.parsed();
        let advance = face.glyph_hor_advance(ttf_parser::GlyphId(glyph)).unwrap_or_default();
        f64::from(advance) * 1000.0 / f64::from(face.units_per_em())
    }
}

/// The first character beyond Latin letters with accents of all kinds: nearly every text has only those before it.
const USUAL: char = '\u{250}';

/// A face, with what is asked of it for every letter of every page.
struct Known {
    face: ttf_parser::Face<'static>,
    /// The glyphs of the characters up to [`USUAL`], 0 for none.
    glyphs: OnceLock<Vec<u16>>,
    /// What each of those inks, as it was reckoned first.
    inks: Vec<OnceLock<f64>>,
}

static KNOWN: LazyLock<Vec<Known>> = LazyLock::new(|| {
    let inks = || ('\0'..USUAL).map(|_| OnceLock::new()).collect();
    let parse = |face: &Face| {
        let face = ttf_parser::Face::parse(face.font(), 0)?;
        Ok::<_, ttf_parser::FaceParsingError>(Known { face, glyphs: OnceLock::new(), inks: inks() })
    };
    Face::ALL.iter().map(parse).collect::<Result<_, _>>().expect("the faces are checked by a test")
});

/// A stretch of text in one face.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run<'a> {
    /// The face that has all its characters.
    pub face: Face,
    /// The text.
    pub text: Cow<'a, str>,
}

/// What stands for a character that no face has: an empty box, as in most type.
const MISSING: char = '\u{25a1}';

/// Text as it will be shown: composed (Unicode NFC), on one line, with a box for each character that no face
/// has; and those characters.
#[must_use]
pub fn showable(text: &str) -> (String, Vec<char>) {
    let mut missing = Vec::new();
    let shown = text
        .nfc()
        .filter(|&character| !plain::turns_writing(character))
        .map(|character| {
            if character.is_control() || character.is_whitespace() {
                ' '
            } else if face_of(character, Weight::Regular).is_some() {
                character
            } else {
                if !missing.contains(&character) {
                    missing.push(character);
                }
                MISSING
            }
        })
        .collect();
    (shown, missing)
}

/// The face in which a character is set.
pub(crate) fn face_of(character: char, weight: Weight) -> Option<Face> {
    [Face::Text(weight), Face::Reach(weight)].into_iter().find(|face| face.glyph(character).is_some())
}

/// The text parted into runs of one face each. Characters that no face has are left to [`showable`] and
/// dropped here.
#[must_use]
pub fn runs(text: &str, weight: Weight) -> Vec<Run<'_>> {
    let mut faces = text.chars().map(|character| face_of(character, weight));
    if let Some(Some(face)) = faces.next()
        && faces.all(|other| other == Some(face))
    {
        return vec![Run { face, text: text.into() }];
    }
    let mut runs: Vec<Run> = Vec::new();
    for character in text.chars() {
        let Some(face) = face_of(character, weight) else { continue };
        match runs.last_mut() {
            Some(run) if run.face == face => run.text.to_mut().push(character),
            _ => runs.push(Run { face, text: Cow::Owned(character.into()) }),
        }
    }
    runs
}

/// The width of a text whose em is `size` tall.
#[must_use]
pub fn width(text: &str, weight: Weight, size: Length) -> Length {
    text.chars().map(|character| advance(character, weight)).sum::<f64>() * size / 1000.0
}

/// The width of a character in thousandths of the em.
fn advance(character: char, weight: Weight) -> f64 {
    [Face::Text(weight), Face::Reach(weight)]
        .into_iter()
        .find_map(|face| face.glyph(character).map(|glyph| face.advance(glyph)))
        .unwrap_or_default()
}

/// The area that a character inks, in squares of its em.
#[must_use]
pub fn ink(character: char, weight: Weight) -> f64 {
    let Some(face) = face_of(character, weight) else { return 0.0 };
    match face.known().inks.get(character as usize) {
        Some(ink) => *ink.get_or_init(|| ink_in(face, character)),
        None => ink_in(face, character),
    }
}

fn ink_in(face: Face, character: char) -> f64 {
    let (face, glyph) = (face.parsed(), face.glyph(character).unwrap_or_default());
    let mut area = GlyphArea::default();
    _ = face.outline_glyph(ttf_parser::GlyphId(glyph), &mut area);
    let em = f64::from(face.units_per_em());
    area.twice.abs() / 2.0 / (em * em)
}

/// The edges of the outlines of a text's letters, and its length: in ems, y pointing down from the base line. A curve is so
/// many chords that none is off it by a hundredth of a letter.
#[must_use]
pub(crate) fn edges(text: &str, weight: Weight) -> (Vec<[[f64; 2]; 2]>, f64) {
    let (mut all, mut pen) = (Vec::new(), 0.0);
    for character in text.chars() {
        let Some(face) = face_of(character, weight) else { continue };
        let (parsed, glyph) = (face.parsed(), face.glyph(character).unwrap_or_default());
        let mut edges = Edges { em: f64::from(parsed.units_per_em()), pen, ..Edges::default() };
        _ = parsed.outline_glyph(ttf_parser::GlyphId(glyph), &mut edges);
        all.append(&mut edges.edges);
        pen += face.advance(glyph) / 1000.0;
    }
    (all, pen)
}

/// The chords of a glyph's outline.
#[derive(Default)]
struct Edges {
    em: f64,
    pen: f64,
    edges: Vec<[[f64; 2]; 2]>,
    start: [f64; 2],
    at: [f64; 2],
}

impl Edges {
    /// The chords of a curve.
    const CHORDS: u32 = 8;

    fn place(&self, x: f32, y: f32) -> [f64; 2] {
        [self.pen + f64::from(x) / self.em, -f64::from(y) / self.em]
    }

    fn to(&mut self, to: [f64; 2]) {
        self.edges.push([self.at, to]);
        self.at = to;
    }

    fn curve(&mut self, place: impl Fn(f64) -> [f64; 2]) {
        for step in 1..=Self::CHORDS {
            self.to(place(f64::from(step) / f64::from(Self::CHORDS)));
        }
    }
}

impl ttf_parser::OutlineBuilder for Edges {
    fn move_to(&mut self, x: f32, y: f32) {
        self.at = self.place(x, y);
        self.start = self.at;
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.to(self.place(x, y));
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (from, by, to) = (self.at, self.place(x1, y1), self.place(x, y));
        self.curve(|t| {
            let s = 1.0 - t;
            [0, 1].map(|axis| s * s * from[axis] + 2.0 * s * t * by[axis] + t * t * to[axis])
        });
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (from, one, two, to) = (self.at, self.place(x1, y1), self.place(x2, y2), self.place(x, y));
        self.curve(|t| {
            let s = 1.0 - t;
            let of = |axis: usize| {
                s * s * (s * from[axis] + 3.0 * t * one[axis]) + t * t * (3.0 * s * two[axis] + t * to[axis])
            };
            [of(0), of(1)]
        });
    }
    fn close(&mut self) {
        self.to(self.start);
    }
}

/// Twice the area within an outline (the shoelace formula), holes taken off; quadratic curves by the formula of
/// Archimedes: two thirds of their triangle beyond the chord.
#[derive(Default)]
struct GlyphArea {
    twice: f64,
    start: [f64; 2],
    at: [f64; 2],
}

impl GlyphArea {
    fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
        a[0] * b[1] - b[0] * a[1]
    }

    fn line(&mut self, to: [f64; 2]) {
        self.twice += Self::cross(self.at, to);
        self.at = to;
    }
}

impl ttf_parser::OutlineBuilder for GlyphArea {
    fn move_to(&mut self, x: f32, y: f32) {
        self.start = [f64::from(x), f64::from(y)];
        self.at = self.start;
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.line([f64::from(x), f64::from(y)]);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (from, bend, to) = (self.at, [f64::from(x1), f64::from(y1)], [f64::from(x), f64::from(y)]);
        let triangle = Self::cross(from, bend) + Self::cross(bend, to) + Self::cross(to, from);
        self.twice += triangle * 2.0 / 3.0;
        self.line(to);
    }

    fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, x: f32, y: f32) {
        // TrueType has none.
        self.line([f64::from(x), f64::from(y)]);
    }

    fn close(&mut self) {
        self.line(self.start);
    }
}

/// The text, cut with an ellipsis where it is wider than `limit`.
#[must_use]
pub fn shortened(text: &str, weight: Weight, size: Length, limit: Length) -> String {
    if width(text, weight, size) <= limit {
        return text.to_owned();
    }
    // From the left and once, so that a text of any length costs no more than it is long. Spaces before the
    // ellipsis are dropped, and take no room.
    let ellipsis = advance('…', weight);
    let (mut kept, mut run) = (None, 0.0);
    for (at, character) in text.char_indices() {
        run += advance(character, weight);
        if character.is_whitespace() {
            continue;
        }
        if (run + ellipsis) * size / 1000.0 > limit {
            break;
        }
        kept = Some(at + character.len_utf8());
    }
    match kept {
        Some(end) => format!("{}…", &text[..end]),
        None if ellipsis * size / 1000.0 <= limit => "…".to_owned(),
        None => String::new(),
    }
}

/// The text in at most `lines` lines no wider than `limit`, broken at spaces; what does not fit is cut with
/// an ellipsis.
#[must_use]
pub fn wrapped(text: &str, weight: Weight, size: Length, limit: Length, lines: usize) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut words = text.split_whitespace().peekable();
    while words.peek().is_some() && out.len() < lines {
        let mut line = String::new();
        let last = out.len() + 1 == lines;
        while let Some(word) = words.peek() {
            let longer = if line.is_empty() { (*word).to_owned() } else { format!("{line} {word}") };
            if !line.is_empty() && !last && width(&longer, weight, size) > limit {
                break;
            }
            line = longer;
            words.next();
        }
        out.push(shortened(&line, weight, size, limit));
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::length::mm;
    use super::*;

    #[test]
    fn greek_and_cyrillic_titles_are_shown_whole() {
        let title = "Rockpool – Λιμνούλα – Лужа, Łódź, Žižkov, Ħaż-Żebbuġ";
        let (shown, missing) = showable(title);
        assert_eq!(shown, title);
        assert!(missing.is_empty());
        let joined: String = runs(&shown, Weight::Bold).into_iter().map(|run| run.text).collect();
        assert_eq!(joined, title);
    }

    #[test]
    fn a_character_that_no_face_has_becomes_a_box_and_is_told() {
        let (shown, missing) = showable("Pool 潮 pool 潮");
        assert_eq!(shown, "Pool □ pool □");
        assert_eq!(missing, ['潮']);
        assert!(face_of(MISSING, Weight::Regular).is_some() && face_of(MISSING, Weight::Bold).is_some());
    }

    /// The text faces have a stroke through their zero: only codes keep it. All figures are as wide as one another.
    #[test]
    fn zeros_have_a_stroke_in_codes_alone_and_figures_are_of_one_width() {
        for weight in [Weight::Regular, Weight::Bold, Weight::Code] {
            let face = Face::Text(weight);
            let own = face.parsed().glyph_index('0').unwrap().0;
            let bounds = |glyph| face.parsed().glyph_bounding_box(ttf_parser::GlyphId(glyph)).unwrap();
            let zero = face.glyph('0').unwrap();
            assert_ne!(zero, own);
            assert_eq!(bounds(zero).height(), bounds(own).height());
            let figures: Vec<Length> =
                ('0'..='9').map(|one| width(&one.to_string(), weight, mm(1.0))).collect();
            assert!(figures.iter().all(|one| *one == figures[0]), "{figures:?}");
            // A stroke is ink.
            let [stroked, plain] = [Weight::Code, Weight::Bold].map(|weight| ink('0', weight));
            assert!(stroked > 1.1 * plain, "{stroked} {plain}");
        }
        assert_eq!(Face::Text(Weight::Bold).glyph('7'), Face::Text(Weight::Code).glyph('7'));
    }

    #[test]
    fn decomposed_accents_are_composed() {
        assert_eq!(showable("Ine\u{301}s").0, "Inés");
    }

    #[test]
    fn long_text_is_cut_to_its_limit_and_says_so() {
        for limit in [3.0, 10.0, 40.0].map(mm) {
            let cut = shortened("A very long name of a shade of sea water", Weight::Regular, mm(3.0), limit);
            assert!(width(&cut, Weight::Regular, mm(3.0)) <= limit && cut.ends_with('…'), "{cut}");
        }
        assert_eq!(shortened("Kelp", Weight::Regular, mm(3.0), mm(100.0)), "Kelp");
    }

    #[test]
    fn the_ink_of_a_bar_and_of_letters_is_their_area() {
        // A bar is a rectangle: its area is that of its box.
        let face = Face::Text(Weight::Regular).parsed();
        let bounds = face.glyph_bounding_box(face.glyph_index('|').unwrap()).unwrap();
        let em = f64::from(face.units_per_em());
        let wanted = f64::from(bounds.width()) * f64::from(bounds.height()) / (em * em);
        let inked = ink('|', Weight::Regular);
        assert!((inked - wanted).abs() < 1e-9, "{inked}");
        // fontTools 4.68, AreaPen: O, with curves, of the same file.
        assert!((ink('O', Weight::Regular) - 0.161_390_9).abs() < 1e-4);
        // A ring is less than its disc, a bold letter more than a plain one.
        assert!(ink('O', Weight::Bold) > 1.2 * ink('O', Weight::Regular));
        assert!(ink('O', Weight::Regular) < 0.3);
    }

    #[test]
    fn wrapping_keeps_every_word_that_fits() {
        let lines = wrapped("one two three four", Weight::Regular, mm(3.0), mm(14.0), 9);
        assert_eq!(lines.join(" "), "one two three four");
        assert!(
            lines.len() > 1 && lines.iter().all(|line| width(line, Weight::Regular, mm(3.0)) <= mm(14.0))
        );
    }
}
