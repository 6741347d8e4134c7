//! What the person should know, in words.

use std::path::Path;

use brede::desk::{OpeningNote, SheetWarning, Warning};
use brede::ground::units::counted;

/// A line of warning.
pub(in crate::cli) fn warning(warning: &Warning) -> String {
    match warning {
        Warning::Opened { chart, note } => opened(chart, note),
        Warning::Sheet { warning } => sheet(warning),
    }
}

/// What is to be said of a chart that was opened.
pub(in crate::cli) fn opened(chart: &str, note: &OpeningNote) -> String {
    match note {
        OpeningNote::Older { .. } => {
            format!("{chart} was saved by an older brede and has been given what it lacked")
        }
        OpeningNote::Edited { .. } => format!(
            "{chart} is not as brede saved it: something else changed it, or it is damaged; look at it before you use it"
        ),
    }
}

/// That a chart was written over and is kept.
pub(in crate::cli) fn kept(path: &Path) -> String {
    format!("there was another chart of this name, which is kept as {}", path.display())
}

pub(in crate::cli) fn sheet(warning: &SheetWarning) -> String {
    match warning {
        SheetWarning::Missing { characters } => {
            let shown: Vec<String> = characters
                .iter()
                .take(12)
                .map(|character| format!("`{character}` (U+{:04X})", u32::from(*character)))
                .collect();
            format!("{} cannot be printed in the faces of brede and is shown as a box", shown.join(", "))
        }
        SheetWarning::SmallCells { tenths_mm } => {
            format!("cells of {tenths_mm} tenths of a millimetre are under 2 mm: hard to read without a lens")
        }
        SheetWarning::MuchInk { percent } => {
            format!("a page takes {percent} % of its area in ink; --show symbols takes the least")
        }
        SheetWarning::Alike { pairs, first: [one, two] } => format!(
            "{} of threads alike to colour-blind eyes, such as {one} and {two}: symbols and codes tell them apart; \
             the key shows the nearest, --json lists all",
            counted(*pairs as u64, "pair")
        ),
    }
}
