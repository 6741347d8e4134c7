//! The mark by which brede knows a file of its own again, and sees whether anybody changed it since.
//!
//! A seal is the SHA-256 of the file, cut to 16 bytes and written as 32 hexadecimal digits, those digits
//! themselves taken as noughts: so it has a place of fixed length and is filled in once the file is put together.
//! It guards against mistakes, not against forgery. Beside it stands the stamp: what the file belongs to, as one
//! line of text.
//!
//! | file | seal | stamp |
//! |---|---|---|
//! | PDF | second half of the pair `/ID` (ISO 32000-1, 14.4) | a metadata stream that is not packed (14.3.2) |
//! | PNG | a `tEXt` chunk after the header (ISO/IEC 15948, 11.3.4.3) | the same chunk |
//! | CSV | heading of the last column | that column, in each row |
//! | TOML | a comment in the last line | the same comment |
//!
//! A chart has a fingerprint of its own in place of a seal, which is the chart's matter.

mod pdf;
mod png;
mod text;

use std::ops::Range;

use sha2::{Digest as _, Sha256};

pub use pdf::{metadata as pdf_metadata, seal as pdf};
pub use png::seal as png;
pub use text::{is_heading, table, toml};

/// Hexadecimal digits of a seal.
const DIGITS: usize = 32;

/// What stands before the digits.
const NAME: &str = "brede";

/// What a file says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sealed {
    /// Whether the file is as brede wrote it.
    pub state: State,
    /// What it belongs to, as was said when it was sealed.
    pub stamp: Option<String>,
}

/// The bytes of a result with their seal and what they belong to: a PNG picture, settings in TOML (which brede begins
/// with a comment) or a table. A PDF was sealed when it was put together, and a chart has its own fingerprint.
#[must_use]
pub fn sealed(bytes: Vec<u8>, stamp: Option<&str>) -> Vec<u8> {
    match (bytes.as_slice(), std::str::from_utf8(&bytes)) {
        ([b'%', b'P', b'D', b'F', ..] | [b'{', ..] | [], _) => bytes,
        (picture, _) if picture.starts_with(png::SIGNATURE) => png(picture, stamp),
        (_, Ok(text)) if text.starts_with('#') => toml(text, stamp).into_bytes(),
        (_, Ok(text)) => table(text, stamp).into_bytes(),
        (_, Err(_)) => bytes,
    }
}

/// What became of a file that brede once wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Nobody changed it.
    Unchanged,
    /// Somebody did.
    Changed,
}

/// What the bytes of a file say of themselves, or `None` where they bear no seal.
#[must_use]
pub fn read(bytes: &[u8]) -> Option<Sealed> {
    let place = if bytes.starts_with(b"%PDF") {
        pdf::find(bytes)
    } else if bytes.starts_with(png::SIGNATURE) {
        png::find(bytes)
    } else {
        text::find(bytes)
    }?;
    let is_whole = bytes.get(place.digits.clone())? == digits(bytes, &place);
    let sum_is_right =
        place.check.as_ref().is_none_or(|sum| bytes.get(sum.clone()) == Some(&png::sum(bytes, sum)));
    let state = if is_whole && sum_is_right { State::Unchanged } else { State::Changed };
    Some(Sealed { state, stamp: place.stamp })
}

/// Whether these are bytes that brede wrote and nobody changed.
#[must_use]
pub fn is_unchanged(bytes: &[u8]) -> bool {
    read(bytes).is_some_and(|sealed| sealed.state == State::Unchanged)
}

/// Where a file keeps its seal.
struct Place {
    digits: Range<usize>,
    /// The check sum that PNG has over the digits: it cannot be sealed with the rest.
    check: Option<Range<usize>>,
    stamp: Option<String>,
}

/// The seal of the bytes, whatever stands in its place.
fn digits(bytes: &[u8], place: &Place) -> [u8; DIGITS] {
    let mut hash = Sha256::new();
    let mut from = 0;
    for hole in std::iter::once(&place.digits).chain(&place.check) {
        hash.update(bytes.get(from..hole.start).unwrap_or_default());
        hash.update([b'0'; DIGITS].get(..hole.len()).unwrap_or_default());
        from = hole.end;
    }
    hash.update(bytes.get(from..).unwrap_or_default());
    let mut text = [0; DIGITS];
    for (pair, byte) in text.chunks_exact_mut(2).zip(hash.finalize()) {
        for (digit, value) in pair.iter_mut().zip([byte >> 4, byte & 15]) {
            *digit = b"0123456789abcdef"[usize::from(value)];
        }
    }
    text
}

/// Fills in the seal.
fn fill(bytes: &mut [u8], place: &Place) {
    let digits = digits(bytes, place);
    if let Some(old) = bytes.get_mut(place.digits.clone()) {
        old.copy_from_slice(&digits);
    }
}

fn are_digits(bytes: &[u8]) -> bool {
    bytes.len() == DIGITS && bytes.iter().all(u8::is_ascii_hexdigit)
}

/// The longest stamp: some hundred charts that one list was made of.
const LONGEST: usize = 4096;

/// The text as a stamp: one line of ASCII without what CSV, XML and TOML take for their own.
fn stamp_of(text: &[u8]) -> Option<&str> {
    let plain = |&byte: &u8| byte.is_ascii_alphanumeric() || b" ./:-_+".contains(&byte);
    let fits = !text.is_empty() && text.len() <= LONGEST && text.iter().all(plain);
    std::str::from_utf8(text).ok().filter(|_| fits)
}

#[cfg(test)]
mod tests;
