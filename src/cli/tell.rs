//! What is said, and where: results on standard output, all else on standard error.

use std::error::Error as StdError;
use std::io::{self, Write as _};

use brede::ground::advice::Advice;
use brede::ground::plain::{harmless, one_line};
use clap::Args;

use super::Failure;

/// How a command tells what came of it.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct TellArgs {
    /// Tell what came of it as JSON, for other programs
    #[arg(long, global = true, display_order = 904)]
    pub(super) json: bool,
    /// Say nothing but errors
    #[arg(short, long, global = true, display_order = 904)]
    pub(super) quiet: bool,
}

/// A result that could not be given.
#[derive(Debug, thiserror::Error)]
#[error("could not write to standard output")]
pub(super) struct Unheard(#[from] io::Error);

impl From<Unheard> for Failure {
    fn from(error: Unheard) -> Self {
        Self::advised(error, &Advice::FilesAreWritten)
    }
}

/// Writes a result for a person.
pub(super) fn result(text: &str) -> Result<(), Unheard> {
    data(&harmless(text, |character| matches!(character, '\n' | '\t')))
}

/// Writes a result for another program, byte for byte. A reader that has gone away (a closed pipe) has had
/// enough: that is no failure.
pub(super) fn data(text: &str) -> Result<(), Unheard> {
    match io::stdout().lock().write_all(text.as_bytes()).and_then(|()| io::stdout().flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => Ok(other?),
    }
}

/// Says something beside the result. What cannot be said is lost: there is nobody to tell.
pub(super) fn aside(text: &str) {
    _ = writeln!(io::stderr().lock(), "{text}");
}

/// Warns.
pub(super) fn warning(text: &str) {
    aside(&format!("warning: {}", one_line(text)));
}

/// Tells an error: what, why, and what to do, each on a line of its own.
pub(super) fn error(error: &dyn StdError, hint: Option<&str>) {
    let mut said = one_line(&error.to_string());
    let mut text = format!("error: {said}");
    let mut cause = error.source();
    while let Some(inner) = cause {
        let why = one_line(&inner.to_string());
        // Some libraries tell their cause themselves.
        if !said.contains(&why) {
            text.push_str(&format!("\n  because: {why}"));
            said = why;
        }
        cause = inner.source();
    }
    if let Some(hint) = hint {
        text.push_str(&format!("\nhint: {}", one_line(hint)));
    }
    aside(&text);
}
