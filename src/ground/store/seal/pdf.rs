//! Seals of PDF files.

use super::{DIGITS, LONGEST, Place, are_digits, fill, stamp_of};

const OPEN: &[u8] = b"<brede:stamp>";
const CLOSE: &[u8] = b"</brede:stamp>";

/// The metadata that say what a PDF belongs to (XMP, ISO 16684-1, 7): the content of a stream that must not be packed.
/// `None` for what is no stamp.
#[must_use]
pub fn metadata(stamp: &str) -> Option<String> {
    let stamp = stamp_of(stamp.as_bytes())?;
    Some(format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\
         <rdf:Description rdf:about=\"\" xmlns:brede=\"urn:brede:chart#\">\
         <brede:stamp>{stamp}</brede:stamp></rdf:Description></rdf:RDF>\n\
         <?xpacket end=\"r\"?>"
    ))
}

/// Seals a PDF whose trailer has an `/ID` of two halves of sixteen bytes, written in hexadecimal: the second half is
/// filled in. Bytes without one stay as they are.
pub fn seal(bytes: &mut [u8]) {
    if let Some(place) = find(bytes) {
        fill(bytes, &place);
    }
}

/// In the last `/ID` of the file: an earlier one is of a version that was added to.
pub(super) fn find(bytes: &[u8]) -> Option<Place> {
    let last = |wanted: &[u8]| bytes.windows(wanted.len()).rposition(|window| window == wanted);
    let pair = last(b"/ID[<")? + 5;
    let second = pair + DIGITS + 2;
    let half = |at: usize| bytes.get(at..at + DIGITS).is_some_and(are_digits);
    let between = bytes.get(pair + DIGITS..second)?;
    let after = bytes.get(second + DIGITS..second + DIGITS + 2)?;
    if !half(pair) || !half(second) || between != b"><" || after != b">]" {
        return None;
    }
    let stamp = || {
        let start = last(OPEN)? + OPEN.len();
        let rest = bytes.get(start..bytes.len().min(start + LONGEST + CLOSE.len()))?;
        let length = rest.windows(CLOSE.len()).position(|window| window == CLOSE)?;
        stamp_of(rest.get(..length)?).map(str::to_owned)
    };
    Some(Place { digits: second..second + DIGITS, check: None, stamp: stamp() })
}
