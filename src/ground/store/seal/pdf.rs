//! Seals of PDF files.

use super::{DIGITS, LONGEST, Place, are_digits, fill, stamp_of};

const OPEN: &[u8] = b"<brede:stamp>";
const CLOSE: &[u8] = b"</brede:stamp>";

/// The metadata that say what a PDF is called and what it belongs to (XMP, ISO 16684-1, 7 and 8.3): the content of a
/// stream that must not be packed. What is no stamp is left out.
#[must_use]
pub fn metadata(title: &str, stamp: Option<&str>) -> String {
    let stamp = stamp.and_then(|stamp| stamp_of(stamp.as_bytes()));
    let stamp = stamp.map(|stamp| format!("<brede:stamp>{stamp}</brede:stamp>")).unwrap_or_default();
    let mut told = String::new();
    for character in title.chars() {
        match character {
            '&' => told.push_str("&amp;"),
            '<' => told.push_str("&lt;"),
            '>' => told.push_str("&gt;"),
            // XML 1.0, 2.2: no other control, and neither of the two that are no characters.
            '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => told.push(' '),
            other => told.push(other),
        }
    }
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
         xmlns:brede=\"urn:brede:chart#\">\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{told}</rdf:li></rdf:Alt></dc:title>\
         {stamp}</rdf:Description></rdf:RDF>\n\
         <?xpacket end=\"r\"?>"
    )
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
