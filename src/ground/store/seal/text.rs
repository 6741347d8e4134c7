//! Seals of texts: tables, and settings.

use super::{DIGITS, NAME, Place, are_digits, fill, stamp_of};

/// A table of comma-separated values (RFC 4180) with one more column, whose heading is the seal and which has the
/// stamp in each row. A text that is no such table stays as it is.
///
/// Fields keep their quotes only where they need them.
#[must_use]
pub fn table(text: &str, stamp: Option<&str>) -> String {
    let stamp = stamp.and_then(|stamp| stamp_of(stamp.as_bytes())).unwrap_or_default();
    let noughts = format!("{NAME} {}", "0".repeat(DIGITS));
    let widened = || {
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
        let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
        for (row, record) in reader.records().enumerate() {
            let mut record = record?;
            record.push_field(if row == 0 { &noughts } else { stamp });
            writer.write_record(&record)?;
        }
        writer.into_inner().map_err(|error| csv::Error::from(std::io::Error::other(error.to_string())))
    };
    let Ok::<_, csv::Error>(mut bytes) = widened() else { return text.to_owned() };
    if let Some(place) = find(&bytes) {
        fill(&mut bytes, &place);
    }
    String::from_utf8(bytes).unwrap_or_else(|_| text.to_owned())
}

/// Whether this is the heading of the column that a seal adds: readers of tables read past it.
#[must_use]
pub fn is_heading(text: &str) -> bool {
    let digits = text.trim().strip_prefix(NAME).and_then(|rest| rest.strip_prefix(' '));
    digits.is_some_and(|digits| are_digits(digits.as_bytes()))
}

/// A TOML text (toml.io) with a comment as its last line that holds the seal and the stamp.
#[must_use]
pub fn toml(text: &str, stamp: Option<&str>) -> String {
    let stamp = stamp.and_then(|stamp| stamp_of(stamp.as_bytes()));
    let stamp = stamp.map(|stamp| format!(" {stamp}")).unwrap_or_default();
    let mut bytes = format!("{}\n{COMMENT}{}{stamp}\n", text.trim_end(), "0".repeat(DIGITS)).into_bytes();
    if let Some(place) = find(&bytes) {
        fill(&mut bytes, &place);
    }
    String::from_utf8(bytes).unwrap_or_else(|_| text.to_owned())
}

/// How the comment begins.
const COMMENT: &str = "# brede ";

/// At the end of the first line, where it is a heading; else in the last line, where it is a comment.
pub(super) fn find(bytes: &[u8]) -> Option<Place> {
    in_heading(bytes).or_else(|| in_comment(bytes))
}

fn in_heading(bytes: &[u8]) -> Option<Place> {
    let end = bytes.iter().position(|&byte| byte == b'\n')?;
    let (heading, found) = bytes.get(..end)?.split_at_checked(end.checked_sub(DIGITS)?)?;
    let before = heading.strip_suffix(format!(",{NAME} ").as_bytes())?;
    if before.is_empty() || !are_digits(found) {
        return None;
    }
    // All rows have the same stamp: the first tells.
    let row = bytes.get(end + 1..)?.split(|&byte| byte == b'\n').next()?;
    let stamp = row.iter().rposition(|&byte| byte == b',').and_then(|comma| stamp_of(row.get(comma + 1..)?));
    Some(Place { digits: end - DIGITS..end, check: None, stamp: stamp.map(str::to_owned) })
}

fn in_comment(bytes: &[u8]) -> Option<Place> {
    let text = bytes.strip_suffix(b"\n")?;
    let start = text.iter().rposition(|&byte| byte == b'\n').map_or(0, |end| end + 1);
    let comment = text.get(start..)?.strip_prefix(COMMENT.as_bytes())?;
    let (found, stamp) = comment.split_at_checked(DIGITS)?;
    let digits = start + COMMENT.len()..start + COMMENT.len() + DIGITS;
    let stamp = stamp.strip_prefix(b" ").and_then(stamp_of).map(str::to_owned);
    are_digits(found).then_some(Place { digits, check: None, stamp })
}
