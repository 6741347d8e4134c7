//! What the person should know, in words.

use std::path::Path;

use brede::desk::{
    CARD_COLUMNS, CardWarning, Help, Named, Note, Of, Offer, OpeningNote, POOR, Revision, SHIFT_LIMIT,
    SheetWarning, Shift, ShoppingWarning, Short, Spot, Stray, SwatchWarning, Warning,
};
use brede::ground::plain::table;
use brede::ground::units::{Millimetres, counted};

use super::{marks, sentence};

/// What is said by its name alone.
const PLAIN: &str = include_str!("warning.txt");

/// A line of warning.
#[allow(clippy::too_many_lines, reason = "an arm a warning, each a sentence")]
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
        Warning::SameName { piece, name, free } => format!(
            "another piece is called {name} too: brede pieces {piece} --rename gives this one a name of its own, such as {free}"
        ),
        Warning::PrintedBefore { piece, revision } => format!(
            "the pages of {piece} show its revision {revision}, and its chart was changed since: look at what is ticked"
        ),
        Warning::NoBackup { why } => format!("today's backup of the workbasket could not be made: {why}"),
        Warning::DemonstrationCard | Warning::ShowsPage | Warning::NoSpectrophotometer => {
            sentence(PLAIN, warning, "kind")
        }
        Warning::NotMeasured { card } => format!(
            "the colours of {card} are as a screen shows them, not measured (columns L, a and b): hold threads together \
             in daylight before you trust a match"
        ),
        Warning::Photo { warning } => sentence(PLAIN, warning, "kind"),
        Warning::ShowsSquares { pitch, size: [columns, rows] } => format!(
            "the picture shows a chart of {columns} x {rows} squares of {pitch:.1} pixels: --exact takes each \
             with its colour"
        ),
        Warning::Shift { shift: found } => shift(found),
        Warning::MoreShifts { threads } => {
            format!("the cloth shifts {} by over {SHIFT_LIMIT} ΔE", counted(*threads as u64, "more thread"))
        }
        Warning::Mark { warning } => marks::warning(warning),
        Warning::PaleKey { code, name, delta_e } => format!(
            "{code} {name} of the key is only {delta_e:.0} ΔE from the cloth: its letters will be hard to read"
        ),
        Warning::NothingBareAt { spot, within, delta_e } => nothing_bare(spot, *within, *delta_e),
        Warning::BareHarms { delta_e, lost_edge_percent } => format!(
            "the piece suffers from what is left bare: it is {near} there, {delta_e:.1} ΔE from the picture, and \
             {lost_edge_percent:.0} % of the subject's edge runs into cloth of its own colour; a lower --bare leaves less",
            near = super::near(*delta_e),
        ),
        Warning::SpareThreads { spare, threads, few } => format!(
            "{spare} of {threads} threads {} fewer than {few} stitches, at a skein each: --colours {} or so does without",
            if *spare == 1 { "works" } else { "work" },
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
        Warning::OrderCutShort { code, left_out, pages } => {
            let rest =
                |&left_out: &usize| format!(", and nothing of {}", counted(left_out as u64, "more thread"));
            let rest = Some(left_out).filter(|&&left_out| left_out > 0).map_or_else(String::new, rest);
            let pages = counted(*pages as u64, "page");
            format!(
                "the working order of {code} alone has no room on {pages}: only its beginning is shown{rest}; allow more \
                 pages with --order-pages, or name smaller threads with --only"
            )
        }
        Warning::OwnedColumns { table, columns } => format!(
            "{} left out: --owned takes codes and skeins alone; prices and lengths come with a card, by --shades",
            columns_told(columns, table),
        ),
        Warning::HalfCrossNotChosen { codes } => format!(
            "nothing is worked in half crosses with {}: the picture did not call for that; give --use {} too",
            codes.join(", "),
            codes.join(","),
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
        Warning::Sheet { warning } => sheet(warning),
        Warning::Confused { cell, pairs, enough } => confused(cell.mm(), pairs, enough.map(Millimetres::mm)),
        Warning::Reading { count, .. } => {
            sentence(include_str!("reading.txt"), warning, "about").replace('#', &count.to_string())
        }
        Warning::NotProofRead { why, advice } => {
            let advice = advice.as_ref().map(super::advice).unwrap_or_default();
            format!("the printed pages cannot be checked: {why}; {advice}")
        }
    }
}

/// That nothing is left bare where it was pointed at.
fn nothing_bare(spot: &Spot, within: f64, delta_e: Option<f64>) -> String {
    match delta_e {
        Some(delta_e) => format!(
            "nothing is left bare at {spot}: the picture is {delta_e:.1} ΔE from the cloth there, and --bare says {within}"
        ),
        None => format!(
            "nothing is left bare at {spot}: the picture is clear there, and the cloth is bare anyway"
        ),
    }
}

/// That symbols are taken for one another in squares of this size.
fn confused(cell: f64, pairs: &[[Option<Named>; 2]], enough: Option<f64>) -> String {
    let one = |named: &Option<Named>| {
        let named = named.as_ref().map(|Named { code, symbol }| format!("{code} ({symbol})"));
        named.unwrap_or_else(|| "a bare square".to_owned())
    };
    let told: Vec<String> = pairs.iter().take(3).map(|[a, b]| format!("{} and {}", one(a), one(b))).collect();
    let more = if pairs.len() > 3 { format!("; {} pairs in all", pairs.len()) } else { String::new() };
    let help = enough
        .map_or("larger squares, fewer threads or other symbols (--symbol) help".to_owned(), |mm| {
            format!("squares of {mm} mm are large enough (--cell {mm}mm)")
        });
    let told = told.join(", ");
    format!("in squares of {cell} mm a tired printer makes one of {told}{more}; {help}")
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
    let columns = columns_told(columns, name);
    format!("{columns} not known and left out; a card may have {}", CARD_COLUMNS.join(", "))
}

/// The columns that are named, of a file: what is said of them follows.
fn columns_told(columns: &[String], of: &str) -> String {
    let named: Vec<String> = columns.iter().map(|column| format!("`{column}`")).collect();
    let (s, are) = if columns.len() == 1 { ("", "is") } else { ("s", "are") };
    format!("the column{s} {} of {of} {are}", named.join(", "))
}

/// What fits the cloth at hand.
fn offered(offers: &[Offer]) -> String {
    let row = |offer: &Offer| {
        let [width, height] = offer.finished;
        vec![
            offer.count.to_string(),
            format!("{} x {}", offer.columns, offer.rows),
            format!("{:.1} x {:.1}", width.cm(), height.cm()),
            offer.ease.word().to_owned(),
            offer.strands.map_or_else(|| "-".to_owned(), |strands| strands.to_string()),
            if offer.chosen { "taken".to_owned() } else { format!("or --count {}", offer.count) },
        ]
    };
    let table =
        table("count|>squares|>finished cm|eyes|>strands|", &offers.iter().map(row).collect::<Vec<_>>());
    format!("on your cloth:\n{}", table.trim_end())
}

/// How to see the subject and how to do without.
const SEE: &str = "--show-detail PNG shows it, --detail none counts all alike";

/// A line worth knowing.
pub(in crate::cli) fn note(note: &Note) -> String {
    match note {
        Note::Offers { offers } => offered(offers),
        Note::BareSaves { stitches, strand_metres, skeins, regions, evenings: [least, most] } => format!(
            "left unstitched: {}; that saves {}, {strand_metres:.0} m of single strand, {} and {least:.0} to {most:.0} evenings \
             of two hours (at 100 to 150 stitches an hour); --show-detail PNG shows where",
            counted(*regions as u64, "region"),
            counted(*stitches, "stitch"),
            counted(*skeins, "skein")
        ),
        Note::NearCloth { within } => {
            let steps: Vec<String> =
                within.iter().map(|(limit, cells)| format!("{limit} ΔE {cells}")).collect();
            format!("squares as near to the cloth as this, to choose --bare by: {}", steps.join(", "))
        }
        Note::Faces { faces, percent } => format!(
            "taken for the subject: {} ({percent:.0} % of the squares, with hair; eyes count most); {SEE}",
            counted(*faces as u64, "face")
        ),
        Note::StandsOut { percent } => {
            format!("taken for the subject: what is sharp and stands out ({percent:.0} % of the squares); {SEE}")
        }
        Note::NoSubject => {
            "no face found, and nothing stands out: all parts count alike; --detail X,Y,W,H names one that counts more"
                .to_owned()
        }
        Note::OfMarks { stitches, marks } => format!(
            "{stitches} crosses there belong to marks of which more lies elsewhere; tick such a mark with --line: {}",
            marks.join(", ")
        ),
        Note::TakenForDrawing => {
            "taken for a flat drawing, without blur; if it is a photo, say --picture photo".to_owned()
        }
        Note::SquaresTaken { pitch, size: [columns, rows] } => format!(
            "the picture has squares of {pitch:.1} pixels: each was taken for one of {columns} x {rows}; where that \
             is wrong, save it with one pixel a square"
        ),
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

/// That the cloth shifts a thread, and what would help.
pub(super) fn shift(shift: &Shift) -> String {
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
            let side = f64::from(*tenths_mm) / 10.0;
            format!("squares of {side:.1} mm are under 2 mm: hard to read without a lens")
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

#[cfg(test)]
mod tests {
    use super::*;
    use brede::desk::PhotoWarning::{Inks, Profile, Spoilt};

    #[test]
    fn what_is_said_by_its_name_is_said() {
        let photos = [Profile, Inks, Spoilt].map(|warning| Warning::Photo { warning });
        let plain = [Warning::DemonstrationCard, Warning::ShowsPage, Warning::NoSpectrophotometer];
        assert!(photos.iter().chain(&plain).all(|plain| warning(plain).len() > 20));
        assert_eq!(PLAIN.lines().count(), 6);
    }
}
