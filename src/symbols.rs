//! The symbols of the page. For now the letters of the text face; brede's own font takes their place.

/// One symbol.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SymbolId(u16);

/// The font that holds the symbols: TrueType.
pub const FONT: &[u8] =
    include_bytes!("../fonts-open/atkinson-hyperlegible-next/AtkinsonHyperlegibleNext-Bold.ttf");

/// The names of the glyphs from 36 on.
static NAMES: std::sync::LazyLock<Vec<String>> =
    std::sync::LazyLock::new(|| (36..240).map(|glyph| format!("glyph-{glyph}")).collect());

impl SymbolId {
    /// Its glyph in [`FONT`].
    #[must_use]
    pub fn glyph(self) -> u16 {
        self.0
    }

    /// The symbol of this name; the first where there is none.
    #[must_use]
    pub fn of(name: &str) -> Self {
        Self(NAMES.iter().position(|known| known == name).map_or(36, |place| place as u16 + 36))
    }

    /// All symbols.
    pub fn all() -> impl Iterator<Item = Self> {
        (36..240).map(Self)
    }

    /// Its name.
    #[must_use]
    pub fn id(self) -> &'static str {
        NAMES.get(usize::from(self.0) - 36).map_or("", String::as_str)
    }
}
/// x
#[derive(Debug)]
pub struct NeedleUse {
    /// x
    pub luminance: f64,
    /// x
    pub stitches: u64,
    /// x
    pub fixed: Option<SymbolId>,
}
/// x
#[derive(Debug)]
pub struct Adjacency;
impl Adjacency {
    /// x
    #[must_use]
    pub fn of(_: &crate::chart::Chart) -> Self {
        Self
    }
}
/// x
#[must_use]
pub fn assign(u: &[NeedleUse], _: &Adjacency) -> Vec<SymbolId> {
    SymbolId::all().take(u.len()).collect()
}
