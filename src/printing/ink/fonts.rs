//! The fonts of a PDF, cut down to the characters that its pages show.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use lopdf::{Dictionary, Document, Object, Stream, StringFormat, dictionary};
use printpdf::{FontId, FontMetrics, FontType, ParsedFont, PdfFont, PdfFontMetricsStub};
use rayon::prelude::*;
use subsetter::GlyphRemapper;

use super::InkError;
use super::names::{face_id, symbols_id};
use crate::printing::sheet::{Page, Shape, Sheet};
use crate::printing::symbols::{self, SymbolId};
use crate::printing::typeface::{self, Face, Weight};

/// Characters before this are told by a table: nearly all texts have no others.
const USUAL: usize = 0x250;

/// The characters of every weight, and the symbols, that the sheet shows.
pub(super) struct Used {
    /// Those of each weight up to [`USUAL`].
    usual: Vec<(Weight, [bool; USUAL])>,
    others: BTreeSet<(Weight, char)>,
    /// By the numbers of their glyphs.
    symbols: Vec<bool>,
}

impl Used {
    pub(super) fn in_sheet(sheet: &Sheet) -> Self {
        sheet.pages.par_iter().fold(Self::none, Self::with).reduce(Self::none, Self::and)
    }

    fn none() -> Self {
        let weights = [Weight::Regular, Weight::Bold, Weight::Code];
        let usual = weights.map(|weight| (weight, [false; USUAL])).to_vec();
        // The unknown one stands behind all others.
        let symbols = vec![false; usize::from(SymbolId::unknown().glyph()) + 1];
        Self { usual, others: BTreeSet::new(), symbols }
    }

    fn with(mut self, page: &Page) -> Self {
        for (_, shape) in &page.shapes {
            match shape {
                Shape::Text { text, weight, .. } => self.text(text, *weight),
                Shape::Symbol { symbol, .. } => self.symbols[usize::from(symbol.glyph())] = true,
                Shape::Symbols { runs, .. } => {
                    for symbol in runs.iter().flat_map(|run| &run.symbols) {
                        self.symbols[usize::from(symbol.glyph())] = true;
                    }
                }
                _ => {}
            }
        }
        self
    }

    fn text(&mut self, text: &str, weight: Weight) {
        let Some((_, usual)) = self.usual.iter_mut().find(|(other, _)| *other == weight) else { return };
        for character in text.chars() {
            match usual.get_mut(character as usize) {
                Some(is_used) => *is_used = true,
                None => _ = self.others.insert((weight, character)),
            }
        }
    }

    fn and(mut self, other: Self) -> Self {
        let usual =
            self.usual.iter_mut().zip(&other.usual).flat_map(|(one, other)| one.1.iter_mut().zip(&other.1));
        for (one, other) in usual.chain(self.symbols.iter_mut().zip(&other.symbols)) {
            *one |= other;
        }
        self.others.extend(other.others);
        self
    }

    /// The characters of every face.
    fn faces(&self) -> BTreeMap<Face, BTreeSet<char>> {
        let usual = self.usual.iter().flat_map(|(weight, used)| {
            let used = ('\0'..).zip(used).filter(|(_, is_used)| **is_used);
            used.map(|(character, _)| (*weight, character))
        });
        let mut faces: BTreeMap<Face, BTreeSet<char>> = BTreeMap::new();
        for (weight, character) in usual.chain(self.others.iter().copied()) {
            if let Some(face) = typeface::face_of(character, weight) {
                faces.entry(face).or_default().insert(character);
            }
        }
        faces
    }
}

/// The fonts of a file by the names of their resources.
pub(super) type Fonts = BTreeMap<FontId, (PdfFont, Codes)>;

/// How the characters of a font are written in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Codes {
    /// The name of its resource.
    pub(super) name: Arc<str>,
    /// The glyph of each character in the font as embedded.
    glyphs: BTreeMap<char, u16>,
    /// The same for those from the first on, as many as lie near it: text and symbols are asked for letter by letter.
    near: Vec<Option<u16>>,
    first: u32,
    /// One byte each where 255 glyphs do, else two: a chart page is symbols more than anything.
    single: bool,
}

impl Codes {
    /// The code of a character.
    pub(super) fn of(&self, character: char) -> Option<u16> {
        let place = u32::from(character).checked_sub(self.first)? as usize;
        match self.near.get(place) {
            Some(code) => *code,
            None => self.glyphs.get(&character).copied(),
        }
    }

    /// Whether codes are one byte; else two.
    pub(super) fn is_single(&self) -> bool {
        self.single
    }

    /// All its characters.
    pub(super) fn characters(&self) -> String {
        self.glyphs.keys().collect()
    }
}

/// Every font that the sheet needs, and how its characters are written, by resource name.
pub(super) fn embed(used: &Used) -> Result<Fonts, InkError> {
    let mut fonts = BTreeMap::new();
    for (face, characters) in used.faces() {
        let glyphs = characters.iter().filter_map(|&character| Some((character, face.glyph(character)?)));
        fonts.insert(face_id(face), subset(face_id(face), face.font(), glyphs.collect())?);
    }
    let symbols = SymbolId::all().chain([SymbolId::unknown()]);
    let symbols = symbols.filter(|symbol| used.symbols[usize::from(symbol.glyph())]);
    let glyphs: Vec<(char, u16)> = symbols.map(|symbol| (symbol.character(), symbol.glyph())).collect();
    if !glyphs.is_empty() {
        fonts.insert(symbols_id(), subset(symbols_id(), symbols::FONT, glyphs)?);
    }
    Ok(fonts)
}

/// A font with these glyphs alone, renumbered.
fn subset(name: FontId, font: &[u8], glyphs: Vec<(char, u16)>) -> Result<(PdfFont, Codes), InkError> {
    let face = ttf_parser::Face::parse(font, 0).map_err(|error| InkError::Font(error.into()))?;
    let mut remapper = GlyphRemapper::new();
    let mut codes = Codes {
        name: name.0.as_str().into(),
        glyphs: BTreeMap::new(),
        near: Vec::new(),
        first: 0,
        single: false,
    };
    let mut codepoint_to_glyph = BTreeMap::new();
    let mut glyph_widths = BTreeMap::new();
    for (character, glyph) in glyphs {
        let new = remapper.remap(glyph);
        codes.glyphs.insert(character, new);
        codepoint_to_glyph.insert(u32::from(character), new);
        glyph_widths.insert(new, face.glyph_hor_advance(ttf_parser::GlyphId(glyph)).unwrap_or_default());
    }
    let bytes = subsetter::subset(font, 0, &remapper).map_err(|error| InkError::Font(error.into()))?;
    let bounds = face.global_bounding_box();
    let metrics = PdfFontMetricsStub {
        units_per_em: face.units_per_em(),
        x_min: bounds.x_min,
        y_min: bounds.y_min,
        x_max: bounds.x_max,
        y_max: bounds.y_max,
        caret_slope_rise: 1,
        caret_slope_run: 0,
        us_weight_class: face.weight().to_number(),
    };
    let font = PdfFont::new(ParsedFont {
        font_name: Some(tagged_name(&face, &name, &codepoint_to_glyph)),
        original_bytes: bytes,
        font_index: 0,
        codepoint_to_glyph,
        glyph_widths,
        units_per_em: face.units_per_em(),
        font_metrics: FontMetrics { ascent: face.ascender(), descent: face.descender() },
        font_type: FontType::TrueType,
        pdf_font_metrics: metrics,
    });
    codes.first = codes.glyphs.keys().next().map_or(0, |&first| u32::from(first));
    let near = (codes.first..codes.first + USUAL as u32).map(char::from_u32);
    codes.near = near.map(|character| codes.glyphs.get(&character?).copied()).collect();
    codes.single = codes.glyphs.values().all(|&glyph| glyph <= u16::from(u8::MAX));
    Ok((font, codes))
}

/// Tells the file that a font's codes are one byte: by a character map of its own to glyphs (ISO 32000-1, 9.7.5.3)
/// and another to Unicode (9.10.3).
pub(super) fn write_single(file: &mut Document, font: lopdf::ObjectId, codes: &Codes) -> lopdf::Result<()> {
    let head = |name: &str, ordering: &str| {
        format!(
            "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo\n\
             << /Registry (Adobe) /Ordering ({ordering}) /Supplement 0 >> def\n/CMapName /{name} def\n\
             /CMapType {kind} def\n1 begincodespacerange\n<00> <FF>\nendcodespacerange\n",
            kind = if ordering == "UCS" { 2 } else { 1 }
        )
    };
    let end = "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n";
    let to_glyphs =
        format!("{}1 begincidrange\n<00> <FF> 0\nendcidrange\n{end}", head("BredeSingle", "Identity"));
    let mut to_unicode = head("BredeToUnicode", "UCS");
    // Two characters may share a glyph; one of them is what it means.
    let by_code: BTreeMap<u16, char> =
        codes.glyphs.iter().rev().map(|(&character, &code)| (code, character)).collect();
    let pairs: Vec<(u16, char)> = by_code.into_iter().collect();
    // At most a hundred to a block, as the format has it.
    for pairs in pairs.chunks(100) {
        to_unicode += &format!("{} beginbfchar\n", pairs.len());
        for (code, character) in pairs {
            let units: String =
                character.encode_utf16(&mut [0; 2]).iter().map(|unit| format!("{unit:04X}")).collect();
            to_unicode += &format!("<{code:02X}> <{units}>\n");
        }
        to_unicode += "endbfchar\n";
    }
    to_unicode += end;
    let text = |text: &str| Object::String(text.as_bytes().to_vec(), StringFormat::Literal);
    let facts: Dictionary = dictionary! {
        "Type" => "CMap",
        "CMapName" => "BredeSingle",
        "CIDSystemInfo" => dictionary! {
            "Registry" => text("Adobe"),
            "Ordering" => text("Identity"),
            "Supplement" => 0,
        },
        "WMode" => 0,
    };
    let to_glyphs = file.add_object(Stream::new(facts, to_glyphs.into_bytes()));
    let to_unicode = file.add_object(Stream::new(Dictionary::new(), to_unicode.into_bytes()));
    let font = file.get_dictionary_mut(font)?;
    font.set("Encoding", to_glyphs);
    font.set("ToUnicode", to_unicode);
    Ok(())
}

/// The font's name with six letters before it that tell this subset from others (ISO 32000-1, 9.6.4).
fn tagged_name(face: &ttf_parser::Face<'_>, resource: &FontId, glyphs: &BTreeMap<u32, u16>) -> String {
    use sha2::{Digest as _, Sha256};
    let mut hash = Sha256::new();
    hash.update(&resource.0);
    for codepoint in glyphs.keys() {
        hash.update(codepoint.to_be_bytes());
    }
    let tag: String = hash.finalize().iter().take(6).map(|&byte| char::from(b'A' + byte % 26)).collect();
    let names = face.names();
    let name = (0..names.len())
        .filter_map(|index| names.get(index))
        .find(|name| name.name_id == ttf_parser::name_id::POST_SCRIPT_NAME && name.is_unicode())
        .and_then(|name| name.to_string())
        .unwrap_or_else(|| "Unnamed".to_owned());
    let name: String = name.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    format!("{tag}+{name}")
}
