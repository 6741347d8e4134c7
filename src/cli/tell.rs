//! What is said, and where: results on standard output, all else on standard error.

use std::error::Error as StdError;
use std::io::{self, Write as _};

use brede::desk::{self, Report, What};
use brede::ground::advice::Advice;
use brede::ground::plain::{harmless, one_line};
use clap::Args;

use super::bar::Bar;
use super::{Failure, words};

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

/// Does an operation, with a bar while it lasts, and tells what it came to: warnings, then its figures as JSON or in
/// words.
pub(super) fn told<R: Report>(
    how: TellArgs,
    operation: impl FnOnce(&Bar) -> Result<R, desk::Error>,
    words: impl FnOnce(&R) -> String,
) -> Result<R, Failure> {
    told_with(how, operation, |_, _| {}, words)
}

/// The text of what stayed in a report: asked for on standard output.
pub(super) fn held(report: &impl Report) -> String {
    let texts = report.files().iter().filter_map(|file| file.bytes.as_deref());
    texts.map(String::from_utf8_lossy).collect()
}

/// The same, with figures as JSON that are put into words first.
pub(super) fn told_with<R: Report>(
    how: TellArgs,
    operation: impl FnOnce(&Bar) -> Result<R, desk::Error>,
    worded: impl FnOnce(&R, &mut serde_json::Value),
    words: impl FnOnce(&R) -> String,
) -> Result<R, Failure> {
    let bar = Bar::new(how);
    let report = operation(&bar)?;
    bar.finish();
    let mut warnings: Vec<String> = report.warnings().iter().map(words::warning).collect();
    let charts = report.files().iter().filter(|file| file.what == What::Chart);
    warnings.extend(charts.filter_map(|file| file.kept.as_deref()).map(words::kept));
    if !how.quiet {
        warnings.iter().for_each(|text| warning(text));
    }
    if how.json {
        let mut value = serde_json::to_value(&report).expect("a report has only string keys");
        let names = report.files().iter().filter_map(|file| file.path.as_deref());
        value["files"] = names.map(|path| path.to_string_lossy().into_owned()).collect();
        value["warnings"] = warnings.into();
        worded(&report, &mut value);
        if !report.notes().is_empty() {
            value["notes"] = report.notes().iter().map(words::note).collect();
        }
        data(&format!("{value}\n"))?;
    } else if !how.quiet {
        result(&words(&report))?;
    }
    Ok(report)
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
