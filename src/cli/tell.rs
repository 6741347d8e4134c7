//! What is said, and where: results on standard output, all else on standard error.

use std::error::Error as StdError;
use std::io::{self, Write as _};

/// Writes a result. A reader that has gone away (a closed pipe) has had enough: that is no failure.
pub(super) fn result(text: &str) -> io::Result<()> {
    match io::stdout().lock().write_all(text.as_bytes()).and_then(|()| io::stdout().flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// Says something beside the result. What cannot be said is lost: there is nobody to tell.
pub(super) fn aside(text: &str) {
    _ = writeln!(io::stderr().lock(), "{text}");
}

/// Warns.
pub(super) fn warning(text: &str) {
    aside(&format!("warning: {text}"));
}

/// Tells an error: what, why, and what to do.
pub(super) fn error(error: &dyn StdError, hint: Option<&str>) {
    let mut text = format!("error: {error}");
    let mut cause = error.source();
    while let Some(inner) = cause {
        text.push_str(&format!("\n  because: {inner}"));
        cause = inner.source();
    }
    if let Some(hint) = hint {
        text.push_str(&format!("\nhint: {hint}"));
    }
    aside(&text);
}
