//! Tints of pages on which few neighbours are alike: rows of characters of a font of coloured squares.
//!
//! Usual pages have runs of one tint, and a path of rectangles for each tint is short. Where nearly every cell has
//! another tint than its neighbours, such a path takes over three bytes a cell. A font whose characters are squares
//! of a cell, each in its own colour (ISO 32000-1, 9.6.5, glyphs that begin with `d0`), takes one, as symbols do.

use std::collections::BTreeSet;

use lopdf::{Dictionary, Document, Object, ObjectId, Stream, dictionary};

use super::names::TINTS;
use super::numbers::parts;
use crate::ground::colour::Srgb8;
use crate::printing::sheet::{Block, Shape, Sheet, TintedCells};

/// Its full name, with the tag of a font that is cut down (ISO 32000-1, 9.6.4).
const BASE_NAME: &str = "TINTED+BredeTints";

/// By how much a square reaches under the next to its right and below it, in cells, so that no seam shows between two
/// that meet: less than half of a thin rule.
const UNDER: f32 = 0.016;

/// The colours that have characters, by their codes.
#[derive(Debug, Default)]
pub(super) struct Squares {
    colours: Vec<Srgb8>,
}

/// Whether rectangles would be the longer way: under two cells each.
fn is_busy(tints: &[TintedCells]) -> bool {
    let rects: usize = tints.iter().map(|tint| tint.rects.len()).sum();
    let cells: u64 = tints
        .iter()
        .flat_map(|tint| &tint.rects)
        .map(|&[_, _, columns, rows]| u64::from(columns * rows))
        .sum();
    // The font itself takes some bytes too.
    cells > 500 && rects as u64 * 2 > cells
}

impl Squares {
    /// The colours of all busy blocks; none where there are too many for one font.
    pub(super) fn of(sheet: &Sheet) -> Self {
        let shapes = sheet.pages.iter().flat_map(|page| &page.shapes);
        let busy = shapes.filter_map(|(_, shape)| match shape {
            Shape::Tints { tints, .. } if is_busy(tints) => Some(tints),
            _ => None,
        });
        let colours: BTreeSet<Srgb8> = busy.flatten().map(|tint| tint.colour).collect();
        let fits = u8::try_from(colours.len()).is_ok();
        Self { colours: if fits { colours.into_iter().collect() } else { Vec::new() } }
    }

    /// Runs of codes of a block, each with its column and row from the top left; nothing where rectangles are shorter.
    pub(super) fn runs(&self, block: &Block, tints: &[TintedCells]) -> Option<Vec<([u32; 2], Vec<u8>)>> {
        if self.colours.is_empty() || !is_busy(tints) {
            return None;
        }
        let columns = block.columns as usize;
        let mut cells: Vec<Option<u8>> = vec![None; columns * block.rows as usize];
        for TintedCells { colour, rects } in tints {
            let code = u8::try_from(self.colours.binary_search(colour).ok()?).ok()?;
            for &[left, top, wide, high] in rects {
                for row in top..top + high {
                    let start = row as usize * columns + left as usize;
                    cells.get_mut(start..start + wide as usize)?.fill(Some(code));
                }
            }
        }
        let mut runs = Vec::new();
        for (row, cells) in cells.chunks(columns).enumerate() {
            for run in cells.chunk_by(|one, other| one.is_some() == other.is_some()).scan(0, |column, run| {
                let start = *column;
                *column += run.len();
                Some((start, run))
            }) {
                let codes: Vec<u8> = run.1.iter().copied().flatten().collect();
                if !codes.is_empty() {
                    runs.push(([run.0 as u32, row as u32], codes));
                }
            }
        }
        Some(runs)
    }

    /// Adds the font to those of the file.
    pub(super) fn write(&self, file: &mut Document, fonts: ObjectId) -> lopdf::Result<()> {
        if self.colours.is_empty() {
            return Ok(());
        }
        let name = |code: usize| format!("square{code}").into_bytes();
        let mut squares = Dictionary::new();
        for (code, &colour) in self.colours.iter().enumerate() {
            let [r, g, b] = parts(colour);
            let side = 1.0 + UNDER;
            let square = format!("1 0 d0\n{r} {g} {b} rg\n0 {} {side} {side} re\nf", -UNDER);
            let square = file.add_object(Stream::new(Dictionary::new(), square.into_bytes()));
            squares.set(name(code), square);
        }
        let last = self.colours.len() - 1;
        let mut differences = vec![Object::Integer(0)];
        differences.extend((0..=last).map(|code| Object::Name(name(code))));
        let real = |values: &[f32]| values.iter().map(|&value| Object::Real(value)).collect::<Vec<_>>();
        // To those who copy text, a tint is a space.
        let to_unicode = format!(
            "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo\n\
             << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n/CMapName /BredeTints def\n/CMapType 2 def\n\
             1 begincodespacerange\n<00> <FF>\nendcodespacerange\n{}\
             endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n",
            (0..=last)
                .map(|code| format!("1 beginbfchar\n<{code:02X}> <0020>\nendbfchar\n"))
                .collect::<String>()
        );
        let to_unicode = file.add_object(Stream::new(Dictionary::new(), to_unicode.into_bytes()));
        let font = file.add_object(dictionary! {
            "Type" => "Font",
            "Subtype" => "Type3",
            "Name" => TINTS,
            // No reader needs it; tools that list fonts tell by it that only squares which are used are in the file.
            "BaseFont" => BASE_NAME,
            "FontBBox" => real(&[0.0, -UNDER, 1.0 + UNDER, 1.0]),
            "FontMatrix" => real(&[1.0, 0.0, 0.0, 1.0, 0.0, 0.0]),
            "CharProcs" => squares,
            "Encoding" => dictionary! { "Type" => "Encoding", "Differences" => differences },
            "FirstChar" => 0,
            "LastChar" => last as i64,
            "Widths" => vec![Object::Integer(1); last + 1],
            "Resources" => Dictionary::new(),
            "ToUnicode" => to_unicode,
        });
        file.get_dictionary_mut(fonts)?.set(TINTS, font);
        Ok(())
    }
}
