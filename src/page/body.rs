//! What comes with a request, within limits.

use std::time::Duration;

use axum::body::to_bytes;
use axum::extract::Request;
use axum::http::{HeaderMap, header};
use brede::desk::Source;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::answer::Trouble;

/// The most bytes of a request that says what is to be done.
const MOST_JSON: usize = 64 << 10;

/// How long a body may take to come.
const BODY: Duration = Duration::from_secs(120);

/// The body of a request, within a limit.
pub(super) async fn body(request: Request, most: usize) -> Result<Vec<u8>, Trouble> {
    let said =
        request.headers().get(header::CONTENT_LENGTH).and_then(|length| length.to_str().ok()?.parse().ok());
    if said.is_some_and(|length: u64| length > most as u64) {
        return Err(Trouble::TooLarge);
    }
    let read = tokio::time::timeout(BODY, to_bytes(request.into_body(), most)).await;
    match read {
        Ok(Ok(bytes)) => Ok(bytes.into()),
        // What comes in pieces does not say beforehand how much it is.
        Ok(Err(_)) if said.is_none() => Err(Trouble::TooLarge),
        _ => Err(Trouble::Unclear("the request broke off".to_owned())),
    }
}

/// A body that says what is to be done.
pub(super) async fn json<T: DeserializeOwned>(request: Request) -> Result<T, Trouble> {
    if !is_json(request.headers()) {
        return Err(Trouble::Unclear("the request is no JSON".to_owned()));
    }
    let bytes = body(request, MOST_JSON).await?;
    serde_json::from_slice(&bytes).map_err(|error| Trouble::Unclear(error.to_string()))
}

/// A form of another page can send text, and no JSON (Fetch Living Standard, "CORS-safelisted request-header").
fn is_json(headers: &HeaderMap) -> bool {
    headers.get(header::CONTENT_TYPE).is_some_and(|kind| kind.as_bytes() == b"application/json")
}

/// What a file was called.
#[derive(Deserialize)]
pub(super) struct Called {
    name: String,
}

impl Called {
    /// Its own name, without folders, and not without end.
    pub(super) fn source(self, bytes: Vec<u8>) -> Source {
        let own = self.name.rsplit(['/', '\\']).next().unwrap_or_default();
        let name: String = own.chars().filter(|character| !character.is_control()).take(200).collect();
        Source::held(name, bytes)
    }
}
