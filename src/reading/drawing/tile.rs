//! The outline of a pattern that squares are filled with: what one of its tiles draws.

use hayro::hayro_interpret::font::GlyphRun;
use hayro::hayro_interpret::pattern::TilingPattern;
use hayro::hayro_interpret::{
    BlendMode, ClipPath, Device, DrawMode, DrawProps, Image, ImageDrawProps, SoftMask,
};
use hayro::kurbo::{Affine, BezPath};

use super::Ink;
use super::paint::ink;

/// So much of a tile tells it from others.
const MOST_PIECES: usize = 400;

#[derive(Default)]
struct Tile {
    path: BezPath,
    ink: Option<Ink>,
}

/// What a tile draws, and in which ink; nothing where it draws no path.
pub(super) fn drawn(pattern: &TilingPattern<'_>) -> Option<(BezPath, Ink)> {
    let [a, b, c, d, ..] = pattern.matrix.as_coeffs();
    let mut tile = Tile::default();
    pattern.interpret(&mut tile, Affine::new([a, b, c, d, 0.0, 0.0]), false)?;
    Some(tile.path).filter(|path| !path.is_empty()).zip(tile.ink)
}

impl<'a> Device<'a> for Tile {
    fn draw_path(&mut self, path: &BezPath, props: DrawProps<'a>, _: &DrawMode) {
        let Some(ink) = ink(&props.paint, 1.0) else { return };
        if self.path.elements().len() + path.elements().len() <= MOST_PIECES {
            self.path.extend(props.transform * path.clone());
            self.ink.get_or_insert(ink);
        }
    }
    fn push_clip_path(&mut self, _: &ClipPath) {}
    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'a>>, _: BlendMode) {}
    fn draw_glyph_run(&mut self, _: &GlyphRun<'_, 'a>, _: DrawProps<'a>, _: &DrawMode) {}
    fn draw_image(&mut self, _: Image<'a, '_>, _: ImageDrawProps<'a>) {}
    fn pop_clip(&mut self) {}
    fn pop_transparency_group(&mut self) {}
}
