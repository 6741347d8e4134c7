//! The symbols as a TrueType font: 1,000 units an em, every advance 1,000, U+E000 and up.

use kurbo::{BezPath, Shape};
use write_fonts::tables::cmap::Cmap;
use write_fonts::tables::glyf::{GlyfLocaBuilder, SimpleGlyph};
use write_fonts::tables::head::{Flags, Head, MacStyle};
use write_fonts::tables::hhea::Hhea;
use write_fonts::tables::hmtx::{Hmtx, LongMetric};
use write_fonts::tables::loca::LocaFormat;
use write_fonts::tables::maxp::Maxp;
use write_fonts::tables::name::{Name, NameRecord};
use write_fonts::tables::os2::Os2;
use write_fonts::tables::post::Post;
use write_fonts::types::{FWord, Fixed, GlyphId, LongDateTime, NameId, UfWord};
use write_fonts::{FontBuilder, OffsetMarker};

use super::Symbol;
use super::pen::{Drawing, rectangle};

/// One em and every advance, in units: the cell.
const EM: u16 = 1000;

/// Seconds from 1904 to 2026: the font is the same on every day it is drawn.
const DRAWN: i64 = 3_850_070_400;

/// Names by their number in the OpenType specification's `name` table.
const NAMES: [(u16, &str); 8] = [
    (0, "Copyright 2026 the brede authors"),
    (1, "Brede Symbols"),
    (2, "Regular"),
    (3, "1.000;BredeSymbols"),
    (4, "Brede Symbols"),
    (5, "Version 1.000"),
    (6, "BredeSymbols"),
    (13, "This Font Software is licensed under the SIL Open Font License, Version 1.1."),
];

/// The font of these symbols, glyph 0 being an empty frame.
pub(super) fn font(symbols: &[Symbol]) -> Vec<u8> {
    let frame = rectangle(150.0, 150.0, 850.0, 850.0);
    let inside = rectangle(200.0, 200.0, 800.0, 800.0);
    let missing = Drawing::new().fill(&frame).hole(&inside).outline();
    let outlines: Vec<&BezPath> =
        std::iter::once(&missing).chain(symbols.iter().map(|symbol| &symbol.outline)).collect();
    // Ink runs counter-clockwise while drawn; TrueType winds it the other way.
    let glyphs: Vec<SimpleGlyph> =
        outlines.iter().map(|outline| glyph(&outline.reverse_subpaths())).collect();
    let mut builder = GlyfLocaBuilder::new();
    for glyph in &glyphs {
        builder.add_glyph(glyph).expect("a glyph of whole units within the em is sound");
    }
    let (glyf, loca, format) = builder.build();
    let bounds = outlines.iter().map(|outline| outline.bounding_box()).reduce(|all, one| all.union(one));
    let bounds = bounds.unwrap_or_default();
    let names = std::iter::once(".notdef").chain(symbols.iter().map(|symbol| symbol.name.as_str()));
    let character = |index: usize| char::from_u32(0xE000 + index as u32).unwrap_or(char::MAX);
    let mappings = (0..symbols.len()).map(|index| (character(index), GlyphId::new(index as u32 + 1)));
    let metrics = glyphs.iter().map(|glyph| LongMetric { advance: EM, side_bearing: glyph.bbox.x_min });
    let least = glyphs.iter().map(|glyph| glyph.bbox.x_min).min().unwrap_or_default();
    let hhea = Hhea {
        ascender: FWord::new(EM as i16),
        descender: FWord::new(0),
        advance_width_max: UfWord::new(EM),
        min_left_side_bearing: FWord::new(least),
        min_right_side_bearing: FWord::new(EM as i16 - bounds.x1 as i16),
        x_max_extent: FWord::new(bounds.x1 as i16),
        caret_slope_rise: 1,
        number_of_h_metrics: glyphs.len() as u16,
        ..Hhea::default()
    };
    let mut all = FontBuilder::new();
    let added = all
        .add_table(&head(bounds, format))
        .and_then(|all| all.add_table(&hhea))
        .and_then(|all| all.add_table(&maxp(&glyphs)))
        .and_then(|all| all.add_table(&Hmtx::new(metrics.collect(), Vec::new())))
        .and_then(|all| all.add_table(&os2(symbols.len())))
        .and_then(|all| all.add_table(&Cmap::from_mappings(mappings).expect("one glyph a character")))
        .and_then(|all| all.add_table(&loca))
        .and_then(|all| all.add_table(&glyf))
        .and_then(|all| all.add_table(&name()))
        .and_then(|all| all.add_table(&Post::new_v2(names)));
    added.expect("every table was filled within its limits");
    all.build()
}

fn glyph(outline: &BezPath) -> SimpleGlyph {
    let mut glyph = SimpleGlyph::from_bezpath(outline).expect("an outline of lines and quadratics");
    glyph.overlaps = true;
    glyph
}

fn head(bounds: kurbo::Rect, format: LocaFormat) -> Head {
    let drawn = LongDateTime::new(DRAWN);
    Head::new(
        Fixed::from_f64(1.0),
        0,
        Flags::empty(),
        EM,
        drawn,
        drawn,
        bounds.x0 as i16,
        bounds.y0 as i16,
        bounds.x1.ceil() as i16,
        bounds.y1.ceil() as i16,
        MacStyle::empty(),
        6,
        format as i16,
    )
}

fn maxp(glyphs: &[SimpleGlyph]) -> Maxp {
    let points = |glyph: &SimpleGlyph| glyph.contours.iter().map(|contour| contour.len()).sum::<usize>();
    Maxp {
        num_glyphs: glyphs.len() as u16,
        max_points: glyphs.iter().map(|glyph| points(glyph) as u16).max(),
        max_contours: glyphs.iter().map(|glyph| glyph.contours.len() as u16).max(),
        max_composite_points: Some(0),
        max_composite_contours: Some(0),
        max_zones: Some(1),
        max_twilight_points: Some(0),
        max_storage: Some(0),
        max_function_defs: Some(0),
        max_instruction_defs: Some(0),
        max_stack_elements: Some(0),
        max_size_of_instructions: Some(0),
        max_component_elements: Some(0),
        max_component_depth: Some(0),
    }
}

fn os2(symbols: usize) -> Os2 {
    Os2 {
        x_avg_char_width: EM as i16,
        us_weight_class: 400,
        us_width_class: 5,
        ach_vend_id: write_fonts::types::Tag::new(b"    "),
        us_first_char_index: 0xE000,
        us_last_char_index: 0xE000 + symbols as u16 - 1,
        s_typo_ascender: EM as i16,
        s_typo_descender: 0,
        us_win_ascent: EM,
        us_win_descent: 0,
        // Bit 60: characters of the private use area (OpenType 1.9.1, OS/2, ulUnicodeRange).
        ul_unicode_range_2: 1 << 28,
        ..Os2::default()
    }
}

fn name() -> Name {
    // Windows, Unicode, English: what every reader of fonts looks for.
    let record = |(number, text): &(u16, &str)| {
        NameRecord::new(3, 1, 0x409, NameId::new(*number), OffsetMarker::new((*text).to_owned()))
    };
    Name::new(NAMES.iter().map(record).collect())
}
