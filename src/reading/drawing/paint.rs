//! What a paint is seen as on white paper.

use hayro::hayro_interpret::Paint;

use super::Ink;

/// The ink of a paint of which so much is seen, from 0 to 1; nothing where it is nearly clear.
pub(super) fn ink(paint: &Paint<'_>, seen: f32) -> Option<Ink> {
    match paint {
        Paint::Color(colour) => {
            let [r, g, b, a] = colour.to_rgba().to_rgba8();
            #[allow(clippy::cast_sign_loss, reason = "clamped")]
            let a = (f32::from(a) * seen).round().clamp(0.0, 255.0) as u8;
            // What is nearly clear is not seen; what is half clear lies on white paper.
            let over = |value: u8| {
                let (value, a) = (u32::from(value), u32::from(a));
                u8::try_from((value * a + 255 * (255 - a) + 127) / 255).unwrap_or(u8::MAX)
            };
            (a > 12).then(|| [over(r), over(g), over(b)])
        }
        // The colour of a pattern is many.
        Paint::Pattern(_) => Some([128; 3]),
    }
}
