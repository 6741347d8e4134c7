//! The page's own files, in the binary.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use sha2::{Digest as _, Sha256};

use super::packed;
use super::secret::hex;

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const FONT: &str = "font/ttf";
const SVG: &str = "image/svg+xml";

macro_rules! ours {
    ($name:literal, $kind:expr) => {
        ($name, $kind, include_bytes!(concat!("assets/", $name)).as_slice())
    };
}

/// Names, kinds and bytes.
const FILES: [(&str, &str, &[u8]); 30] = [
    ours!("index.html", HTML),
    ours!("page.css", CSS),
    ours!("icon.svg", SVG),
    ours!("main.js", SCRIPT),
    ours!("words.js", SCRIPT),
    ours!("make.js", SCRIPT),
    ours!("ask.js", SCRIPT),
    ours!("units.js", SCRIPT),
    ours!("basket.js", SCRIPT),
    ours!("begin.js", SCRIPT),
    ours!("card.js", SCRIPT),
    ours!("choices.js", SCRIPT),
    ours!("frame.js", SCRIPT),
    ours!("hand.js", SCRIPT),
    ours!("beside.js", SCRIPT),
    ours!("chart.js", SCRIPT),
    ours!("tiles.js", SCRIPT),
    ours!("drawer.js", SCRIPT),
    ours!("shelf.js", SCRIPT),
    ours!("view.js", SCRIPT),
    ours!("piece.js", SCRIPT),
    ours!("print.js", SCRIPT),
    ours!("read.js", SCRIPT),
    ours!("onpaper.js", SCRIPT),
    ours!("threads.js", SCRIPT),
    ("symbols.ttf", FONT, brede::desk::SYMBOL_FONT),
    (
        "regular.ttf",
        FONT,
        include_bytes!("../../fonts-open/atkinson-hyperlegible-next/AtkinsonHyperlegibleNext-Regular.ttf"),
    ),
    (
        "bold.ttf",
        FONT,
        include_bytes!("../../fonts-open/atkinson-hyperlegible-next/AtkinsonHyperlegibleNext-Bold.ttf"),
    ),
    ("zero.ttf", FONT, include_bytes!("../../fonts-open/atkinson-hyperlegible-next/PlainZero-Regular.ttf")),
    ("zero-bold.ttf", FONT, include_bytes!("../../fonts-open/atkinson-hyperlegible-next/PlainZero-Bold.ttf")),
];

/// What each file is known by while it stays as it is.
static TAGS: LazyLock<Vec<String>> = LazyLock::new(|| {
    let tag = |bytes: &[u8]| format!("\"{}\"", hex(&Sha256::digest(bytes)[..12]));
    FILES.iter().map(|(.., bytes)| tag(bytes)).collect()
});

/// The page itself.
pub(super) async fn index(headers: HeaderMap) -> Response {
    file("index.html", &headers)
}

/// One of its files.
pub(super) async fn asset(Path(name): Path<String>, headers: HeaderMap) -> Response {
    file(&name, &headers)
}

fn file(name: &str, headers: &HeaderMap) -> Response {
    let Some(at) = FILES.iter().position(|(known, ..)| *known == name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let (_, kind, bytes) = FILES[at];
    let tag = TAGS[at].as_str();
    let kept = [(header::ETAG, tag), (header::CACHE_CONTROL, "no-cache")];
    if headers.get(header::IF_NONE_MATCH).is_some_and(|seen| seen.as_bytes() == tag.as_bytes()) {
        return (StatusCode::NOT_MODIFIED, kept).into_response();
    }
    (kept, packed::answer(bytes.to_vec(), kind, headers)).into_response()
}
