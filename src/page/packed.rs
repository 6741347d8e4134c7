//! Bodies packed for the way, where who asks can unpack them (RFC 9110, 12.5.3).

use std::io::Write as _;

use axum::body::Body;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::Response;
use flate2::Compression;
use flate2::write::GzEncoder;

/// What is shorter goes in one packet anyway.
const LEAST: usize = 1400;

/// Whether who asks can unpack.
pub(super) fn can_unpack(headers: &HeaderMap) -> bool {
    let said = headers.get(header::ACCEPT_ENCODING).and_then(|said| said.to_str().ok()).unwrap_or_default();
    said.split(',').any(|coding| coding.trim() == "gzip")
}

/// An answer with these bytes, packed where that is understood.
pub(super) fn answer(bytes: Vec<u8>, kind: &'static str, headers: &HeaderMap) -> Response {
    let mut answer = Response::new(Body::empty());
    let said = answer.headers_mut();
    said.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    said.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    let packed = (bytes.len() > LEAST && can_unpack(headers)).then(|| packed(&bytes)).flatten();
    if packed.is_some() {
        said.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    *answer.body_mut() = Body::from(packed.unwrap_or(bytes));
    answer
}

fn packed(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut packing = GzEncoder::new(Vec::new(), Compression::fast());
    packing.write_all(bytes).ok()?;
    packing.finish().ok()
}
