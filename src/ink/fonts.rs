//! The fonts of a PDF, cut down to the characters that its pages show.

use std::collections::{BTreeMap, BTreeSet};

use printpdf::{FontId, FontMetrics, FontType, ParsedFont, PdfFont, PdfFontMetricsStub};
use subsetter::GlyphRemapper;

use super::InkError;
use crate::sheet::{Shape, Sheet};
use crate::symbols::{self, SymbolId};
use crate::typeface::{self, Face, Weight};

/// The characters of every face, and the symbols, that the sheet shows.
pub(super) struct Used {
    faces: BTreeMap<Face, BTreeSet<char>>,
    symbols: BTreeSet<SymbolId>,
}

impl Used {
    pub(super) fn in_sheet(sheet: &Sheet) -> Self {
        let mut used = Self { faces: BTreeMap::new(), symbols: BTreeSet::new() };
        for (_, shape) in sheet.pages.iter().flat_map(|page| &page.shapes) {
            match shape {
                Shape::Text { text, weight, .. } => used.text(text, *weight),
                Shape::Symbol { symbol, .. } => _ = used.symbols.insert(*symbol),
                Shape::Symbols { runs, .. } => {
                    for run in runs {
                        used.symbols.extend(&run.symbols);
                    }
                }
                _ => {}
            }
        }
        used
    }

    fn text(&mut self, text: &str, weight: Weight) {
        for run in typeface::runs(text, weight) {
            self.faces.entry(run.face).or_default().extend(run.text.chars());
        }
    }
}

/// The name of a face's resource in the file.
pub(super) fn face_id(face: Face) -> FontId {
    let name = match face {
        Face::Text(Weight::Regular) => "Text",
        Face::Text(Weight::Bold) => "TextBold",
        Face::Reach(Weight::Regular) => "Reach",
        Face::Reach(Weight::Bold) => "ReachBold",
    };
    FontId(name.to_owned())
}

/// The name of the symbol font's resource in the file.
pub(super) fn symbols_id() -> FontId {
    FontId("Symbols".to_owned())
}

/// The character that stands for a symbol in text: the font maps symbols to the private use area.
pub(super) fn symbol_character(symbol: SymbolId) -> char {
    char::from_u32(0xE000 + u32::from(symbol.glyph()) - 1).unwrap_or('\u{E000}')
}

/// Every font that the sheet needs, by resource name.
pub(super) fn embed(used: &Used) -> Result<BTreeMap<FontId, PdfFont>, InkError> {
    let mut fonts = BTreeMap::new();
    for (&face, characters) in &used.faces {
        let glyphs = characters.iter().filter_map(|&character| Some((character, face.glyph(character)?)));
        fonts.insert(face_id(face), subset(face.font(), glyphs.collect())?);
    }
    if !used.symbols.is_empty() {
        let glyphs = used.symbols.iter().map(|&symbol| (symbol_character(symbol), symbol.glyph()));
        fonts.insert(symbols_id(), subset(symbols::FONT, glyphs.collect())?);
    }
    Ok(fonts)
}

/// A font with these glyphs alone, renumbered.
fn subset(font: &[u8], glyphs: Vec<(char, u16)>) -> Result<PdfFont, InkError> {
    let face = ttf_parser::Face::parse(font, 0).map_err(|error| InkError::Font(error.to_string()))?;
    let mut remapper = GlyphRemapper::new();
    let mut codepoint_to_glyph = BTreeMap::new();
    let mut glyph_widths = BTreeMap::new();
    for (character, glyph) in glyphs {
        let new = remapper.remap(glyph);
        codepoint_to_glyph.insert(u32::from(character), new);
        glyph_widths.insert(new, face.glyph_hor_advance(ttf_parser::GlyphId(glyph)).unwrap_or_default());
    }
    let bytes = subsetter::subset(font, 0, &remapper).map_err(|error| InkError::Font(error.to_string()))?;
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
    Ok(PdfFont::new(ParsedFont {
        font_name: Some(tagged_name(&face, &codepoint_to_glyph)),
        original_bytes: bytes,
        font_index: 0,
        codepoint_to_glyph,
        glyph_widths,
        units_per_em: face.units_per_em(),
        font_metrics: FontMetrics { ascent: face.ascender(), descent: face.descender() },
        font_type: FontType::TrueType,
        pdf_font_metrics: metrics,
    }))
}

/// The font's name with six letters before it that tell this subset from others (ISO 32000-1, 9.6.4).
fn tagged_name(face: &ttf_parser::Face<'_>, glyphs: &BTreeMap<u32, u16>) -> String {
    use sha2::{Digest as _, Sha256};
    let mut hash = Sha256::new();
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
