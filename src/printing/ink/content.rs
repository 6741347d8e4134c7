//! What a page says to a reader of PDFs: operators as bytes (ISO 32000-1, annex A).
//!
//! Colours and strokes are said once, until they change; across layers nothing is taken for said, as a layer can
//! be switched off.

use std::io::Write as _;
use std::sync::Arc;

use super::fonts::Codes;
use super::names::{TINTS, layer_id, picture_id};
use super::numbers::{number, parts, points};
use crate::ground::colour::Srgb8;
use crate::printing::sheet::{Layer, Stroke};

/// What has been said and still holds.
#[derive(Debug, Clone, Default)]
struct Said {
    fill: Option<Srgb8>,
    stroke: Option<Stroke>,
    font: Option<(Arc<str>, f32)>,
}

/// The operators of a page, in the order in which they are carried out.
#[derive(Debug, Default)]
pub(super) struct Content {
    bytes: Vec<u8>,
    said: Said,
    saved: Vec<Said>,
    /// Where the last line of text began.
    line: [f32; 2],
}

impl Content {
    /// The operators, ready to be packed.
    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }

    fn put(&mut self, text: std::fmt::Arguments<'_>) {
        // A vector takes all that is written to it.
        _ = self.bytes.write_fmt(text);
    }

    /// An operator after its numbers.
    fn operator(&mut self, numbers: &[f32], name: &str) {
        for &value in numbers {
            number(&mut self.bytes, value);
            self.bytes.push(b' ');
        }
        self.bytes.extend_from_slice(name.as_bytes());
        self.bytes.push(b'\n');
    }

    pub(super) fn begin_layer(&mut self, layer: Layer) {
        self.said = Said::default();
        self.put(format_args!("/OC /{} BDC\n", layer_id(layer).0));
    }

    pub(super) fn end_layer(&mut self) {
        self.said = Said::default();
        self.operator(&[], "EMC");
    }

    /// What follows is a part of the page's structure, by its number on the page (ISO 32000-1, 14.6 and 14.7.4.2).
    pub(super) fn begin_marked(&mut self, tag: &str, number: usize) {
        self.put(format_args!("/{tag} <</MCID {number}>> BDC\n"));
    }

    /// What follows is for the eye alone (14.8.2.2).
    pub(super) fn begin_artifact(&mut self) {
        self.operator(&[], "/Artifact BMC");
    }

    pub(super) fn end_marked(&mut self) {
        self.operator(&[], "EMC");
    }

    pub(super) fn save(&mut self) {
        self.saved.push(self.said.clone());
        self.operator(&[], "q");
    }

    pub(super) fn restore(&mut self) {
        self.said = self.saved.pop().unwrap_or_default();
        self.operator(&[], "Q");
    }

    pub(super) fn transform(&mut self, matrix: [f32; 6]) {
        self.operator(&matrix, "cm");
    }

    /// Greys are said as such: a printer then makes them of black ink alone, and they are shorter.
    fn colour(&mut self, colour: Srgb8, [grey, rgb]: [&str; 2]) {
        match parts(colour) {
            [r, g, b] if r == g && g == b => self.operator(&[r], grey),
            parts => self.operator(&parts, rgb),
        }
    }

    pub(super) fn fill_colour(&mut self, colour: Srgb8) {
        if self.said.fill != Some(colour) {
            self.colour(colour, ["g", "rg"]);
            self.said.fill = Some(colour);
        }
    }

    pub(super) fn stroke(&mut self, stroke: &Stroke) {
        let before = self.said.stroke.replace(stroke.clone());
        let is_new =
            |part: fn(&Stroke, &Stroke) -> bool| before.as_ref().is_none_or(|before| part(before, stroke));
        if is_new(|one, other| one.colour != other.colour) {
            self.colour(stroke.colour, ["G", "RG"]);
        }
        if is_new(|one, other| points(one.width) != points(other.width)) {
            self.operator(&[points(stroke.width)], "w");
        }
        if is_new(|one, other| one.dash != other.dash) {
            let lengths: Vec<String> = stroke.dash.iter().map(|&length| points(length).to_string()).collect();
            self.put(format_args!("[{}] 0 d\n", lengths.join(" ")));
        }
    }

    /// Text is drawn as its outline, so wide and with round joins, until the state is restored (ISO 32000-1, 9.3.6).
    pub(super) fn outlined(&mut self, colour: Srgb8, width: f32) {
        self.colour(colour, ["G", "RG"]);
        self.put(format_args!("{width} w 1 j 1 Tr\n"));
        self.said.stroke = None;
    }

    /// Whole cells of a path, columns and rows counted from the lower left: x, y, width, height.
    pub(super) fn cells(&mut self, [x, y, width, height]: [u32; 4]) {
        self.put(format_args!("{x} {y} {width} {height} re\n"));
    }

    pub(super) fn rectangle(&mut self, place: [f32; 4]) {
        self.operator(&place, "re");
    }

    /// A line from point to point.
    pub(super) fn path(&mut self, points: impl IntoIterator<Item = [f32; 2]>) {
        for (place, point) in points.into_iter().enumerate() {
            self.operator(&point, if place == 0 { "m" } else { "l" });
        }
    }

    /// A line from point to point, drawn. Solid ones of one stroke, one after another, are drawn as one path.
    pub(super) fn line(&mut self, points: impl IntoIterator<Item = [f32; 2]>, stroke: &Stroke) {
        self.stroke(stroke);
        if stroke.dash.is_empty() && self.bytes.ends_with(b" l\nS\n") {
            self.bytes.truncate(self.bytes.len() - 2);
        }
        self.path(points);
        self.draw();
    }

    /// The path is closed; another may follow.
    pub(super) fn close(&mut self) {
        self.operator(&[], "h");
    }

    /// Everything inside the path takes the colour of fills.
    pub(super) fn fill(&mut self) {
        self.operator(&[], "f");
    }

    /// The path is drawn.
    pub(super) fn draw(&mut self) {
        self.operator(&[], "S");
    }

    pub(super) fn begin_text(&mut self) {
        self.line = [0.0; 2];
        self.operator(&[], "BT");
    }

    pub(super) fn end_text(&mut self) {
        self.operator(&[], "ET");
    }

    pub(super) fn font(&mut self, codes: &Codes, size: f32) {
        let is_said =
            self.said.font.as_ref().is_some_and(|(name, said)| *name == codes.name && *said == size);
        if !is_said {
            self.put(format_args!("/{} {size} Tf\n", codes.name));
            self.said.font = Some((Arc::clone(&codes.name), size));
        }
    }

    /// Where text goes on. Among whole cells, by the way from the line before: it is the same for row after row.
    pub(super) fn text_at(&mut self, at: [f32; 2]) {
        let [x, y] = at;
        let [before_x, before_y] = self.line;
        let is_whole = [x, y, before_x, before_y].iter().all(|value| value.fract() == 0.0);
        if is_whole || self.line == [0.0; 2] {
            self.operator(&[x - before_x, y - before_y], "Td");
        } else {
            self.operator(&[1.0, 0.0, 0.0, 1.0, x, y], "Tm");
        }
        self.line = at;
    }

    /// The font of coloured squares, a cell large.
    pub(super) fn squares(&mut self) {
        self.put(format_args!("/{} 1 Tf\n", TINTS));
        self.said.font = None;
    }

    /// Characters by their codes.
    pub(super) fn show_codes(&mut self, codes: &[u8]) {
        self.bytes.push(b'(');
        codes.iter().for_each(|&code| self.literal(code));
        self.bytes.extend_from_slice(b") Tj\n");
    }

    /// Characters in the font that was set; those that it lacks are left out.
    pub(super) fn show(&mut self, codes: &Codes, text: impl IntoIterator<Item = char>) {
        self.bytes.push(b'(');
        for code in text.into_iter().filter_map(|character| codes.of(character)) {
            let [high, low] = code.to_be_bytes();
            if !codes.is_single() {
                self.literal(high);
            }
            self.literal(low);
        }
        self.bytes.extend_from_slice(b") Tj\n");
    }

    /// A byte of a string (ISO 32000-1, 7.3.4.2).
    fn literal(&mut self, byte: u8) {
        match byte {
            b'(' | b')' | b'\\' => self.bytes.extend_from_slice(&[b'\\', byte]),
            b'\r' => self.bytes.extend_from_slice(b"\\r"),
            _ => self.bytes.push(byte),
        }
    }

    pub(super) fn picture(&mut self, picture: usize, [x, y, width, height]: [f32; 4]) {
        self.save();
        self.transform([width, 0.0, 0.0, height, x, y]);
        self.put(format_args!("/{} Do\n", picture_id(picture).0));
        self.restore();
    }
}
