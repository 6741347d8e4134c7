//! Seals of PNG pictures.

use std::ops::Range;

use super::{DIGITS, NAME, Place, are_digits, fill, stamp_of};

/// ISO/IEC 15948, 5.2.
pub(super) const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";

/// Where the first chunk ends, the header, whose data take 13 bytes (11.2.2): length, type, data, check sum.
const HEADER: usize = SIGNATURE.len() + 4 + 4 + 13 + 4;

/// What a chunk of ours begins with: its type, the keyword and a nought after it (11.3.4.3).
fn opening() -> Vec<u8> {
    [b"tEXt", NAME.as_bytes(), b"\0"].concat()
}

/// A PNG with its seal and its stamp, if it has one. Bytes that are no PNG stay as they are.
#[must_use]
pub fn seal(bytes: &[u8], stamp: Option<&str>) -> Vec<u8> {
    let (true, Some((head, rest))) = (bytes.starts_with(SIGNATURE), bytes.split_at_checked(HEADER)) else {
        return bytes.to_vec();
    };
    let mut chunk = opening();
    chunk.extend([b'0'; DIGITS]);
    if let Some(stamp) = stamp.and_then(|stamp| stamp_of(stamp.as_bytes())) {
        chunk.push(b' ');
        chunk.extend(stamp.bytes());
    }
    // The length of a chunk is that of its data, without its type.
    let length = u32::try_from(chunk.len() - 4).unwrap_or_default();
    let mut sealed = [head, &length.to_be_bytes(), &chunk, &[0; 4], rest].concat();
    let Some(place) = find(&sealed) else { return bytes.to_vec() };
    fill(&mut sealed, &place);
    if let Some(place) = place.check {
        let sum = sum(&sealed, &place);
        if let Some(old) = sealed.get_mut(place) {
            old.copy_from_slice(&sum);
        }
    }
    sealed
}

/// The check sum of the chunk that ends there (5.5: over type and data).
pub(super) fn sum(bytes: &[u8], place: &Range<usize>) -> [u8; 4] {
    let mut check = flate2::Crc::new();
    check.update(bytes.get(HEADER + 4..place.start).unwrap_or_default());
    check.sum().to_be_bytes()
}

/// In the chunk after the header.
pub(super) fn find(bytes: &[u8]) -> Option<Place> {
    let length = u32::from_be_bytes(bytes.get(HEADER..HEADER + 4)?.try_into().ok()?);
    let start = HEADER + 4;
    let end = start + 4 + usize::try_from(length).ok()?;
    let chunk = bytes.get(start..end)?;
    let data = chunk.strip_prefix(opening().as_slice())?;
    let (found, stamp) = data.split_at_checked(DIGITS)?;
    let digits = end - data.len()..end - data.len() + DIGITS;
    let stamp = stamp.strip_prefix(b" ").and_then(stamp_of).map(str::to_owned);
    are_digits(found).then_some(Place { digits, check: Some(end..end + 4), stamp })
}
