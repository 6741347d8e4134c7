//! What the person should know, in words.

use std::path::Path;

use brede::desk::{
    CARD_COLUMNS, CardWarning, Help, Note, Of, OpeningNote, POOR, PhotoWarning, Revision, SHIFT_LIMIT,
    SheetWarning, Shift, ShoppingWarning, Short, Stray, SwatchWarning, Warning,
};
use brede::ground::units::counted;

use super::marks;

/// A line of warning.
pub(in crate::cli) fn warning(warning: &Warning) -> String {
    match warning {
        Warning::Opened { chart, note } => opened(chart, note),
        Warning::StepsForgotten { steps } => format!(
            "the chart had become so large that its oldest {} cannot be undone any more",
            counted(*steps as u64, "change")
        ),
        Warning::Apart { chart, revision, files } => apart(chart, *revision, files),
        Warning::FileChanged { piece, file } => {
            format!(
                "{file}, which {piece} is a copy of, was changed since: brede keep takes in what is new in it"
            )
        }
        Warning::PrintedBefore { piece, revision } => format!(
            "the pages of {piece} show its revision {revision}, and its chart was changed since: look at what is ticked"
        ),
        Warning::NoBackup { why } => format!("today's backup of the workbasket could not be made: {why}"),
        Warning::DemonstrationCard => {
            "no shade card given: the demonstration card is used, whose colours are no maker's threads; \
             give your own with --shades"
                .to_owned()
        }
        Warning::Photo { warning } => photo(*warning).to_owned(),
        Warning::Shift { shift: found } => shift(found),
        Warning::MoreShifts { threads } => {
            format!("the cloth shifts {threads} more threads by over {SHIFT_LIMIT} ΔE")
        }
        Warning::Mark { warning } => marks::warning(warning),
        Warning::PaleKey { code, name, delta_e } => format!(
            "{code} {name} of the key is only {delta_e:.0} ΔE from the cloth: its letters will be hard to read"
        ),
        Warning::SpareThreads { spare, threads, few } => format!(
            "{spare} of {threads} threads work fewer than {few} stitches each, and each takes a skein: \
             --colours {} or so does without them",
            (threads - spare).max(2)
        ),
        Warning::Card { card: name, warning } => card(name, warning),
        Warning::Shopping { warning: ShoppingWarning::TwoColours { code, one, other } } => {
            format!("the thread {code} is {one} in one chart and {other} in another: are both of one card?")
        }
        Warning::Unpriced { threads } => format!(
            "the budget leaves out {} whose price is not known: give it in the column price of a card with --shades",
            counted(*threads as u64, "thread")
        ),
        Warning::OrderLeftOut { shown, left_out, pages, example } => format!(
            "the working order shows {shown} of {}, as the rest has no room on {}: name the threads you want with \
             --only, such as --only {example}, or allow more pages with --order-pages",
            counted((shown + left_out) as u64, "thread"),
            counted(*pages as u64, "page"),
        ),
        Warning::ShortOfThread { threads } => short(threads),
        Warning::Swatches { warning: SwatchWarning::LightFallsOff { share } } => format!(
            "light falls off by about {:.0} % across paper and threads, so that threads on the dark side come out too dark: \
             photograph them again in even daylight out of the sun, by a window with both sides as near to it, and with the \
             paper along the whole grid",
            share * 100.0
        ),
        Warning::PoorThreads { threads } => format!(
            "{} more than {POOR} ΔE from what it was: plainly another colour",
            counted(*threads as u64, "thread")
        ),
        Warning::OtherKinds { threads } => format!(
            "{} metallic for plain or the other way round, as the card has no other",
            counted(*threads as u64, "thread")
        ),
        Warning::UnevenPlace { code, delta_e } => {
            format!("{code}: its place is uneven (median {delta_e:.1} ΔE): is all of it thread?")
        }
        Warning::NoSpectrophotometer => {
            "a photo is no spectrophotometer: look at the check picture and trust the thread in daylight"
                .to_owned()
        }
        Warning::Sheet { warning } => sheet(warning),
        Warning::NotProofRead { why, advice } => {
            let advice = advice.as_ref().map(super::advice).unwrap_or_default();
            format!("the printed pages cannot be proof-read: {why}; {advice}")
        }
    }
}

/// That more of threads is asked for than is owned.
fn short(threads: &[Short]) -> String {
    let told = |thread: &Short| {
        format!("{} {} ({:.2} of {} owned)", thread.code, thread.name, thread.skeins, thread.owned)
    };
    let first: Vec<String> = threads.iter().take(6).map(told).collect();
    let more = match threads.len() - first.len() {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!("more skeins are asked for than are owned of {}{more}", first.join(", "))
}

/// What its owner should know of a card.
fn card(name: &str, warning: &CardWarning) -> String {
    let CardWarning::UnknownColumns { columns } = warning;
    let (noun, is) = if columns.len() == 1 { ("column", "is") } else { ("columns", "are") };
    let named: Vec<String> = columns.iter().map(|column| format!("`{column}`")).collect();
    format!(
        "the {noun} {} of {name} {is} not known and left out; a card may have {}",
        named.join(", "),
        CARD_COLUMNS.join(", "),
    )
}

/// A line worth knowing.
pub(in crate::cli) fn note(note: &Note) -> String {
    match note {
        Note::BareSaves { stitches, strand_metres, skeins } => format!(
            "bare cloth saves {stitches} stitches, {strand_metres:.0} m of single strand and {}",
            counted(*skeins, "skein")
        ),
        Note::NearCloth { within } => {
            let steps: Vec<String> =
                within.iter().map(|(limit, cells)| format!("{limit} ΔE {cells}")).collect();
            format!("cells as near to the cloth as this, to choose --bare by: {}", steps.join(", "))
        }
        Note::OfMarks { stitches, marks } => format!(
            "{stitches} crosses there belong to marks of which more lies elsewhere; tick such a mark with --line: {}",
            marks.join(", ")
        ),
        Note::TakenForDrawing => {
            "taken for a flat drawing, without blur; if it is a photo, say --picture photo".to_owned()
        }
        Note::Enough { threads, delta_e } => format!(
            "{threads} threads: one more would bring the chart nearer to the picture by less than {delta_e} ΔE"
        ),
    }
}

/// That files beside a chart do not belong to it as it is.
fn apart(chart: &str, revision: Revision, files: &[Stray]) -> String {
    let of = |of: Of| match of {
        Of::AnotherChart => "another chart, or one made in another way".to_owned(),
        Of::AnotherCopy => "a copy that was changed elsewhere".to_owned(),
        Of::Revision(revision) => format!("its revision {revision}"),
    };
    let told: Vec<String> = files
        .chunk_by(|one, next| one.of == next.of)
        .filter_map(|alike| {
            let names: Vec<&str> = alike.iter().map(|stray| stray.name.as_str()).collect();
            Some(format!("{} of {}", names.join(", "), of(alike.first()?.of)))
        })
        .collect();
    format!(
        "{chart} is at revision {revision} and these beside it are not: {}; brede print --pictures writes all of \
         them again",
        told.join("; ")
    )
}

/// What is to be said of a chart that was opened.
fn opened(chart: &str, note: &OpeningNote) -> String {
    match note {
        OpeningNote::Older { .. } => {
            format!("{chart} was saved by an older brede and has been given what it lacked")
        }
        OpeningNote::Edited { .. } => format!(
            "{chart} is not as brede saved it: something else changed it, or it is damaged; look at it before you use it"
        ),
    }
}

fn photo(warning: PhotoWarning) -> &'static str {
    match warning {
        PhotoWarning::Profile => "the picture's colour profile cannot be used; its colours are taken as sRGB",
        PhotoWarning::Inks => {
            "the picture is in printing inks (CMYK); its colours are a plain conversion and may be duller"
        }
        PhotoWarning::Spoilt => {
            "a few pixels of the picture are missing or spoilt; look for grey or odd cells near its lower edge"
        }
    }
}

/// That the cloth shifts a thread, and what would help.
fn shift(shift: &Shift) -> String {
    let Shift { code, name, delta_e, covered, helps, .. } = shift;
    let mut text = format!(
        "{code} {name}: the cloth shows through ({:.0} % covered) and shifts it by {delta_e:.1} ΔE",
        covered * 100.0
    );
    for (place, (help, left)) in helps.iter().enumerate() {
        text += if place == 0 { "; better: " } else { ", or " };
        text += &match help {
            Help::Strands(strands) => format!("{} ({left:.1})", counted(u64::from(*strands), "strand")),
            Help::FullCrosses => format!("full crosses ({left:.1})"),
            Help::Count(count) => format!("{count} count ({left:.1})"),
            Help::OtherColour => "cloth nearer to it in colour".to_owned(),
        };
    }
    text
}

/// That a chart, or what is not brede's own, was written over and is kept.
pub(in crate::cli) fn kept(path: &Path) -> String {
    format!("there was another chart of this name, which is kept as {}", path.display())
}

fn sheet(warning: &SheetWarning) -> String {
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
