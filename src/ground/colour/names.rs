//! Colours by name: the named colours of CSS Color Module Level 4 (section 6.1), which are those of SVG 1.1 and one more.
//!
//! Owns the table, the one colour that cloth is called by and CSS has no name for, and which name is near. Names are told with their words apart; capitals and spaces do not count.

use super::{Lab, Srgb8};

/// Colours further apart than this are not called by one name: CIEDE2000 of 5 is seen at a glance, side by side.
const NEAR: f64 = 5.0;

/// The names, in their order there, and the colours as `rrggbb`.
#[rustfmt::skip]
const NAMES: [(&str, u32); 148] = [
    ("alice blue", 0xf0f8ff), ("antique white", 0xfaebd7), ("aqua", 0x00ffff), ("aquamarine", 0x7fffd4),
    ("azure", 0xf0ffff), ("beige", 0xf5f5dc), ("bisque", 0xffe4c4), ("black", 0x000000),
    ("blanched almond", 0xffebcd), ("blue", 0x0000ff), ("blue violet", 0x8a2be2), ("brown", 0xa52a2a),
    ("burlywood", 0xdeb887), ("cadet blue", 0x5f9ea0), ("chartreuse", 0x7fff00), ("chocolate", 0xd2691e),
    ("coral", 0xff7f50), ("cornflower blue", 0x6495ed), ("cornsilk", 0xfff8dc), ("crimson", 0xdc143c),
    ("cyan", 0x00ffff), ("dark blue", 0x00008b), ("dark cyan", 0x008b8b), ("dark goldenrod", 0xb8860b),
    ("dark gray", 0xa9a9a9), ("dark green", 0x006400), ("dark grey", 0xa9a9a9), ("dark khaki", 0xbdb76b),
    ("dark magenta", 0x8b008b), ("dark olive green", 0x556b2f), ("dark orange", 0xff8c00),
    ("dark orchid", 0x9932cc), ("dark red", 0x8b0000), ("dark salmon", 0xe9967a),
    ("dark sea green", 0x8fbc8f), ("dark slate blue", 0x483d8b), ("dark slate gray", 0x2f4f4f),
    ("dark slate grey", 0x2f4f4f), ("dark turquoise", 0x00ced1), ("dark violet", 0x9400d3),
    ("deep pink", 0xff1493), ("deep sky blue", 0x00bfff), ("dim gray", 0x696969), ("dim grey", 0x696969),
    ("dodger blue", 0x1e90ff), ("firebrick", 0xb22222), ("floral white", 0xfffaf0),
    ("forest green", 0x228b22), ("fuchsia", 0xff00ff), ("gainsboro", 0xdcdcdc), ("ghost white", 0xf8f8ff),
    ("gold", 0xffd700), ("goldenrod", 0xdaa520), ("gray", 0x808080), ("green", 0x008000),
    ("green yellow", 0xadff2f), ("grey", 0x808080), ("honeydew", 0xf0fff0), ("hot pink", 0xff69b4),
    ("indian red", 0xcd5c5c), ("indigo", 0x4b0082), ("ivory", 0xfffff0), ("khaki", 0xf0e68c),
    ("lavender", 0xe6e6fa), ("lavender blush", 0xfff0f5), ("lawn green", 0x7cfc00),
    ("lemon chiffon", 0xfffacd), ("light blue", 0xadd8e6), ("light coral", 0xf08080),
    ("light cyan", 0xe0ffff), ("light goldenrod yellow", 0xfafad2), ("light gray", 0xd3d3d3),
    ("light green", 0x90ee90), ("light grey", 0xd3d3d3), ("light pink", 0xffb6c1),
    ("light salmon", 0xffa07a), ("light sea green", 0x20b2aa), ("light sky blue", 0x87cefa),
    ("light slate gray", 0x778899), ("light slate grey", 0x778899), ("light steel blue", 0xb0c4de),
    ("light yellow", 0xffffe0), ("lime", 0x00ff00), ("lime green", 0x32cd32), ("linen", 0xfaf0e6),
    ("magenta", 0xff00ff), ("maroon", 0x800000), ("medium aquamarine", 0x66cdaa),
    ("medium blue", 0x0000cd), ("medium orchid", 0xba55d3), ("medium purple", 0x9370db),
    ("medium sea green", 0x3cb371), ("medium slate blue", 0x7b68ee), ("medium spring green", 0x00fa9a),
    ("medium turquoise", 0x48d1cc), ("medium violet red", 0xc71585), ("midnight blue", 0x191970),
    ("mint cream", 0xf5fffa), ("misty rose", 0xffe4e1), ("moccasin", 0xffe4b5), ("navajo white", 0xffdead),
    ("navy", 0x000080), ("old lace", 0xfdf5e6), ("olive", 0x808000), ("olive drab", 0x6b8e23),
    ("orange", 0xffa500), ("orange red", 0xff4500), ("orchid", 0xda70d6), ("pale goldenrod", 0xeee8aa),
    ("pale green", 0x98fb98), ("pale turquoise", 0xafeeee), ("pale violet red", 0xdb7093),
    ("papaya whip", 0xffefd5), ("peach puff", 0xffdab9), ("peru", 0xcd853f), ("pink", 0xffc0cb),
    ("plum", 0xdda0dd), ("powder blue", 0xb0e0e6), ("purple", 0x800080), ("rebecca purple", 0x663399),
    ("red", 0xff0000), ("rosy brown", 0xbc8f8f), ("royal blue", 0x4169e1), ("saddle brown", 0x8b4513),
    ("salmon", 0xfa8072), ("sandy brown", 0xf4a460), ("sea green", 0x2e8b57), ("seashell", 0xfff5ee),
    ("sienna", 0xa0522d), ("silver", 0xc0c0c0), ("sky blue", 0x87ceeb), ("slate blue", 0x6a5acd),
    ("slate gray", 0x708090), ("slate grey", 0x708090), ("snow", 0xfffafa), ("spring green", 0x00ff7f),
    ("steel blue", 0x4682b4), ("tan", 0xd2b48c), ("teal", 0x008080), ("thistle", 0xd8bfd8),
    ("tomato", 0xff6347), ("turquoise", 0x40e0d0), ("violet", 0xee82ee), ("wheat", 0xf5deb3),
    ("white", 0xffffff), ("white smoke", 0xf5f5f5), ("yellow", 0xffff00), ("yellow green", 0x9acd32),
];

/// What the cloth that is neither white nor yellow is called (common practice, no source); the value is that of brede's own
/// cloth. CSS has old lace, linen and beige round it, which nobody calls cloth so.
const CREAM: (&str, u32) = ("cream", 0xf4ecd8);

fn of([_, r, g, b]: [u8; 4]) -> Srgb8 {
    Srgb8 { r, g, b }
}

impl Srgb8 {
    /// The colour that CSS calls so, whatever its capitals and spaces: `navy`, `Antique white`; and `cream`.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        let plain = |text: &str| text.replace([' ', '-'], "").to_lowercase();
        let wanted = plain(text);
        let found = NAMES.iter().chain([&CREAM]).find(|(name, _)| plain(name) == wanted);
        found.map(|(_, value)| of(value.to_be_bytes()))
    }

    /// The name of the colour that has one which is nearest (CIEDE2000), where one is near, and whether it is the very
    /// colour.
    #[must_use]
    pub fn near_name(self) -> Option<(&'static str, bool)> {
        let own: Lab = self.lab();
        let far = |value: u32| own.ciede2000(of(value.to_be_bytes()).lab());
        // Of two spellings the later: grey.
        let nearest = NAMES
            .iter()
            .chain([&CREAM])
            .map(|(name, value)| (name, far(*value)))
            .rev()
            .min_by(|a, b| a.1.total_cmp(&b.1));
        nearest.filter(|(_, apart)| *apart <= NEAR).map(|(name, apart)| (*name, apart < 1e-9))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CSS Color Module Level 4, 6.1: some of its rows, by their decimal values (from memory).
    #[test]
    fn names_are_those_of_css() {
        for (name, [r, g, b]) in [
            ("navy", [0, 0, 128]),
            ("Old Lace", [253, 245, 230]),
            ("rebeccapurple", [102, 51, 153]),
            ("dark-slate-grey", [47, 79, 79]),
        ] {
            assert_eq!(Srgb8::named(name), Some(Srgb8 { r, g, b }), "{name}");
        }
        assert_eq!(Srgb8::named("sand"), None);
        assert_eq!(NAMES.iter().filter(|(name, _)| Srgb8::named(name).is_none()).count(), 0);
    }

    #[test]
    fn a_colour_is_called_by_the_name_near_it_or_by_none() {
        let navy = Srgb8 { r: 0, g: 0, b: 128 };
        assert_eq!(navy.near_name(), Some(("navy", true)));
        assert_eq!(Srgb8 { r: 128, g: 128, b: 128 }.near_name(), Some(("grey", true)));
        assert_eq!(Srgb8 { r: 4, g: 2, b: 126 }.near_name(), Some(("navy", false)));
        assert_eq!(Srgb8 { r: 90, g: 120, b: 40 }.near_name(), None);
        let cream = Srgb8 { r: 0xf4, g: 0xec, b: 0xd8 };
        assert_eq!((Srgb8::named("Cream"), cream.near_name()), (Some(cream), Some(("cream", true))));
        // What CSS has a name for keeps it.
        assert_eq!(Srgb8 { r: 253, g: 245, b: 230 }.near_name(), Some(("old lace", true)));
    }
}
