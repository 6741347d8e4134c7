//! What every answer says beside itself.

use axum::http::HeaderValue;
use axum::http::header::{self, HeaderMap, HeaderName};

/// Nothing but our own files runs, nothing is sent elsewhere, nobody shows the page within theirs (W3C, Content Security
/// Policy Level 3). Pictures that were fetched or dropped are `blob:`.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' blob:; \
    connect-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const HEADERS: [(HeaderName, &str); 5] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Adds it.
pub(super) fn lay(headers: &mut HeaderMap) {
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    // Only our own files are kept by the browser, and asked for again each time.
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
}
