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
const FILES: [(&str, &str, &[u8]); 31] = [
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
    ours!("parts.js", SCRIPT),
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

/// A file as it is sent.
struct Sent {
    bytes: Vec<u8>,
    /// What it is known by while it stays as it is.
    tag: String,
}

/// Files as they are sent: reasons are for who works on them, and stay here.
static SENT: LazyLock<Vec<Sent>> = LazyLock::new(|| {
    let sent = |&(_, kind, bytes): &(&str, &str, &[u8])| {
        let text = [CSS, SCRIPT].contains(&kind).then(|| std::str::from_utf8(bytes).ok()).flatten();
        let bytes = text.map_or_else(|| bytes.to_vec(), |text| without_comments(text).into_bytes());
        let tag = format!("\"{}\"", hex(&Sha256::digest(&bytes)[..12]));
        Sent { bytes, tag }
    };
    FILES.iter().map(sent).collect()
});

/// A script or a style without those lines that are comment alone.
fn without_comments(text: &str) -> String {
    let mut is_within = false;
    let mut kept = String::with_capacity(text.len());
    for line in text.lines() {
        let begins = line.trim_start();
        let was_within = is_within;
        if was_within || begins.starts_with("/*") {
            is_within = !line.contains("*/");
        }
        let rest = line.split_once("*/").map_or("", |(_, rest)| rest.trim());
        if was_within && !is_within && !rest.is_empty() {
            kept.push_str(rest);
            kept.push('\n');
        }
        let is_comment = was_within
            || begins.starts_with("//")
            || (begins.starts_with("/*") && (is_within || rest.is_empty()));
        if !is_comment {
            kept.push_str(line);
            kept.push('\n');
        }
    }
    kept
}

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
    let (kind, Sent { bytes, tag }) = (FILES[at].1, &SENT[at]);
    let tag = tag.as_str();
    let kept = [(header::ETAG, tag), (header::CACHE_CONTROL, "no-cache")];
    if headers.get(header::IF_NONE_MATCH).is_some_and(|seen| seen.as_bytes() == tag.as_bytes()) {
        return (StatusCode::NOT_MODIFIED, kept).into_response();
    }
    (kept, packed::answer(bytes.clone(), kind, headers)).into_response()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn lines_that_are_comment_alone_stay_here_and_all_else_is_sent() {
        let text = "// why\n/** @type {string} */\nlet a = \"// no\";\n  /**\n   * more\n   */\n/** @type {any} */ (a).b();\n\
                    /* one\n two */ let c; // here\n.x { content: \"/*\"; }\n";
        let sent =
            "let a = \"// no\";\n/** @type {any} */ (a).b();\nlet c; // here\n.x { content: \"/*\"; }\n";
        assert_eq!(without_comments(text), sent);
    }

    #[test]
    fn no_text_of_a_script_looks_like_a_comment() {
        for (name, kind, bytes) in FILES {
            if kind != SCRIPT {
                continue;
            }
            // A text over several lines could have one that begins like a comment.
            for line in std::str::from_utf8(bytes).unwrap().lines() {
                assert_eq!(line.matches('`').count() % 2, 0, "{name}: {line}");
            }
        }
    }
}
