//! Whether thread covers, in words, and the command that mends it.

use brede::desk::{ChartVerdict, Help, NeedleVerdict, Verdict};
use brede::ground::units::counted;

/// A verdict in a few words.
fn few(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::CoversWell => "covers well",
        Verdict::ShowsALittle => "a little cloth shows and does no harm",
        Verdict::BetterNot => "better not",
    }
}

/// The verdict on the whole, in a sentence without an end.
pub(in crate::cli) fn whole(found: &ChartVerdict) -> String {
    let strands: Vec<u8> = found.needles.iter().map(|needle| needle.strands).collect();
    let [least, most] = [strands.iter().min(), strands.iter().max()].map(|n| n.copied().unwrap_or_default());
    let strands = match (least, most) {
        (1, 1) => "one strand".to_owned(),
        (least, most) if least == most => counted(most.into(), "strand"),
        (least, most) => format!("{least} to {most} strands"),
    };
    let more = match found.verdict {
        Verdict::CoversWell => String::new(),
        Verdict::ShowsALittle => format!(" (in {:.0} % of the stitches)", 100.0 - found.well_percent),
        Verdict::BetterNot => {
            format!(": the cloth makes another colour of {:.0} % of the stitches", found.not_percent)
        }
    };
    format!("{strands}: {}{more}", few(found.verdict))
}

/// The command that was given, so changed that it mends; nothing where it cannot.
pub(in crate::cli) fn command(found: &ChartVerdict) -> Option<String> {
    let (option, value) = match found.mend? {
        Help::Strands(strands) => ("--strands", Some(strands.to_string())),
        Help::Count(count) => ("--count", Some(count.to_string())),
        Help::FullCrosses => ("--half-cross", None),
        Help::OtherColour => return None,
    };
    let mut words = vec!["brede".to_owned()];
    let mut given = std::env::args().skip(1);
    while let Some(word) = given.next() {
        if word == option {
            given.next();
        } else if !word.starts_with(&format!("{option}=")) {
            words.push(quoted(word));
        }
    }
    words.extend(value.into_iter().flat_map(|value| [option.to_owned(), value]));
    (!words.iter().any(|word| word == "--as" || word.starts_with("--as="))).then(|| words.join(" "))
}

/// A word as a shell takes it.
fn quoted(word: String) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || "-_./,=:%+@".contains(c);
    if !word.is_empty() && word.chars().all(is_plain) {
        word
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

/// Thread by thread, those that do not cover well; nothing where all do.
pub(in crate::cli) fn needles(found: &ChartVerdict) -> String {
    let told = |needle: &NeedleVerdict| {
        let NeedleVerdict { shift, stitch, strands, stitches, verdict } = needle;
        let (stitch, few) = (stitch.words().unwrap_or_else(|| "full cross".to_owned()), few(*verdict));
        let strands = counted(u64::from(*strands), "strand");
        format!("{few}: {stitches} x {stitch} in {strands}; {}\n", super::warning::shift(shift))
    };
    found.needles.iter().filter(|needle| needle.verdict != Verdict::CoversWell).map(told).collect()
}
