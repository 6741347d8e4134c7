//! What is said, and where: results on standard output, all else on standard error.

use std::error::Error as StdError;
use std::io::{self, Write as _};

use brede::desk::{Report, What};
use brede::ground::advice::Advice;
use clap::Args;

use super::{Failure, words};

/// Whether the person wants to see how far a job is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Chatter {
    Usual,
    Quiet,
}

/// How a command tells what came of it.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct TellArgs {
    /// Tell what came of it as JSON, for other programs
    #[arg(long)]
    pub(super) json: bool,
    /// Say nothing but errors
    #[arg(short, long)]
    pub(super) quiet: bool,
}

impl TellArgs {
    /// Whether a bar is shown.
    pub(super) fn chatter(self) -> Chatter {
        if self.quiet { Chatter::Quiet } else { Chatter::Usual }
    }
}

/// Tells what an operation came to: warnings, then its figures as JSON or `words`.
pub(super) fn report<R: Report>(
    report: &R,
    how: TellArgs,
    words: impl FnOnce() -> String,
) -> Result<(), Failure> {
    report_with(report, how, |_| {}, words)
}

/// The text of what stayed in a report: asked for on standard output.
pub(super) fn held(report: &impl Report) -> String {
    let texts = report.files().iter().filter_map(|file| file.bytes.as_deref());
    texts.map(String::from_utf8_lossy).collect()
}

/// The same as [`report`], with figures as JSON that are put into words first.
pub(super) fn report_with<R: Report>(
    report: &R,
    how: TellArgs,
    worded: impl FnOnce(&mut serde_json::Value),
    words: impl FnOnce() -> String,
) -> Result<(), Failure> {
    let mut warnings: Vec<String> = report.warnings().iter().map(words::warning).collect();
    let charts = report.files().iter().filter(|file| file.what == What::Chart);
    warnings.extend(charts.filter_map(|file| file.kept.as_deref()).map(words::kept));
    if !how.quiet {
        warnings.iter().for_each(|text| warning(text));
    }
    if how.json {
        let mut value = serde_json::to_value(report).expect("a report has only string keys");
        let names = report.files().iter().filter_map(|file| file.path.as_deref());
        value["files"] = names.map(|path| path.to_string_lossy().into_owned()).collect();
        value["warnings"] = warnings.into();
        worded(&mut value);
        if !report.notes().is_empty() {
            value["notes"] = report.notes().iter().map(words::note).collect();
        }
        data(&format!("{value}\n"))?;
    } else if !how.quiet {
        result(&words())?;
    }
    Ok(())
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

/// The longest line that is told of an error, in characters: more than any message of brede's own.
const LONGEST: usize = 500;

/// A text from a file, a name or a library on one line. Lines that draw the place of a fault under it go; what
/// would move the cursor or turn the writing round is written out, so that no name can pass for a message.
pub(super) fn one_line(text: &str) -> String {
    let is_drawing = |line: &str| {
        line.trim_start().trim_start_matches(|c: char| c.is_ascii_digit()).trim_start().starts_with('|')
    };
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    let drawn = lines.iter().any(|line| is_drawing(line));
    let mut line = String::new();
    if drawn {
        let lines: Vec<&str> = lines.into_iter().filter(|line| !is_drawing(line)).collect();
        line.push_str(&lines.join("; "));
    } else {
        line.push_str(text.trim_end());
    }
    let line = harmless(&line, |_| false);
    let length = line.chars().count();
    if length <= LONGEST {
        return line;
    }
    // What is wrong stands at the end as often as at the beginning.
    let (head, tail) = (LONGEST / 2, length - LONGEST / 2);
    line.chars().take(head).chain(" ... ".chars()).chain(line.chars().skip(tail)).collect()
}

/// A text with what would move the cursor or turn the writing round written out.
fn harmless(text: &str, kept: impl Fn(char) -> bool) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        if (character.is_control() || turns_writing(character)) && !kept(character) {
            shown.extend(character.escape_default());
        } else {
            shown.push(character);
        }
    }
    shown
}

/// The controls of direction (Unicode Standard Annex 9, section 2).
fn turns_writing(character: char) -> bool {
    matches!(character, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_pass_for_a_message() {
        assert_eq!(one_line("a\nerror: b\u{1b}[2J\u{202e}"), "a\\nerror: b\\u{1b}[2J\\u{202e}");
        assert_eq!(one_line("naïve \u{1f419} name"), "naïve \u{1f419} name");
        assert_eq!(one_line(&"x".repeat(600)).len(), 505);
    }

    #[test]
    fn a_drawn_fault_becomes_a_line() {
        let text = "TOML parse error at line 1, column 2\n  |\n1 | [[\n  |  ^\ninvalid key\n";
        assert_eq!(one_line(text), "TOML parse error at line 1, column 2; invalid key");
        let no_drawing = "I/O error\n\n";
        assert_eq!(one_line(no_drawing), "I/O error");
    }
}
