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

/// On one line, without the number by which the system knows a fault: its words say the same.
fn people(text: &str) -> String {
    let mut text = one_line(text);
    while let Some((start, end)) = numbered(&text) {
        text.replace_range(start..end, "");
    }
    text
}

/// Where ` (os error 2)` stands.
fn numbered(text: &str) -> Option<(usize, usize)> {
    const BEGINS: &str = " (os error ";
    let start = text.find(BEGINS)?;
    let digits = text[start + BEGINS.len()..].find(')')?;
    let end = start + BEGINS.len() + digits;
    text[start + BEGINS.len()..end].parse::<i32>().ok().map(|_| (start, end + 1))
}

/// Says what is worth knowing beside the result, and harms nothing.
pub(super) fn note(text: &str) {
    aside(&format!("note: {}", one_line(text)));
}

/// Tells an error: what, why, and what to do, each on a line of its own.
pub(super) fn error(error: &dyn StdError, hint: Option<&str>) {
    let mut said = people(&error.to_string());
    let mut text = format!("error: {said}");
    let mut cause = error.source();
    while let Some(inner) = cause {
        let why = people(&inner.to_string());
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_a_fault_is_left_out_and_its_words_stay() {
        let missing = io::Error::from_raw_os_error(2).to_string();
        assert!(missing.contains("(os error 2)"), "{missing}");
        let told = people(&format!("{missing}: pool.jpg"));
        assert_eq!(told, missing.replace(" (os error 2)", "") + ": pool.jpg");
        assert_eq!(people("a name with (os error in it"), "a name with (os error in it");
    }
}
