//! Answers that are no results, and charts as the page draws them.

use axum::Json;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use brede::desk;
use brede::ground::advice::Advice;
use serde_json::{Value, json};

use super::{PageError, packed};

/// Why a request has no result.
#[derive(Debug)]
pub(super) enum Trouble {
    /// There is nothing of this name.
    Missing,
    /// It is larger than what is taken.
    TooLarge,
    /// It cannot be read as what it should be.
    Unclear(String),
    /// The desk says why.
    Desk(desk::Error),
    /// The page's own files.
    Page(PageError),
    /// Brede itself has a fault: the work ended without a word.
    Broken,
}

impl From<desk::Error> for Trouble {
    fn from(error: desk::Error) -> Self {
        Self::Desk(error)
    }
}

impl From<PageError> for Trouble {
    fn from(error: PageError) -> Self {
        Self::Page(error)
    }
}

impl Trouble {
    fn status(&self) -> StatusCode {
        match self {
            Self::Missing => StatusCode::NOT_FOUND,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::Unclear(_) => StatusCode::BAD_REQUEST,
            Self::Desk(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Page(_) | Self::Broken => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// What it is, why, and what to do: the page has words for the kind and for the advice, the rest is for the curious.
    pub(super) fn told(&self) -> Value {
        let (kind, said, advice): (_, Vec<String>, Option<Advice>) = match self {
            Self::Missing => ("missing", Vec::new(), None),
            Self::TooLarge => ("too-large", Vec::new(), None),
            Self::Unclear(why) => ("unclear", vec![why.clone()], None),
            Self::Desk(desk::Error::Stopped) => ("stopped", Vec::new(), None),
            // Why no chart was read is what she wants to know; of which file, she knows.
            Self::Desk(error @ desk::Error::NoChartRead { .. }) => {
                ("refused", causes(error).into_iter().rev().collect(), error.advice())
            }
            Self::Desk(error) => ("refused", causes(error), error.advice()),
            Self::Page(error) => ("files", causes(error), error.advice()),
            Self::Broken => ("broken", Vec::new(), None),
        };
        json!({ "trouble": kind, "said": said, "advice": advice })
    }
}

/// What an error says, and what its causes say, each once.
fn causes(error: &(dyn std::error::Error + 'static)) -> Vec<String> {
    let mut said = vec![error.to_string()];
    let mut cause = error.source();
    while let Some(inner) = cause {
        let why = inner.to_string();
        if !said.iter().any(|before| before.contains(&why)) {
            said.push(why);
        }
        cause = inner.source();
    }
    said
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        (self.status(), Json(self.told())).into_response()
    }
}

/// Figures and bytes in one body: four bytes that say how long the figures are (little-endian), the figures as JSON, and
/// the bytes.
pub(super) fn framed(figures: &Value, rest: &[u8], headers: &HeaderMap) -> Response {
    let figures = figures.to_string();
    let length = u32::try_from(figures.len()).unwrap_or(u32::MAX);
    let mut bytes = Vec::with_capacity(4 + figures.len() + rest.len());
    bytes.extend_from_slice(&length.to_le_bytes());
    bytes.extend_from_slice(figures.as_bytes());
    bytes.extend_from_slice(rest);
    packed::answer(bytes, "application/octet-stream", headers)
}
