//! An operation done and told of.

use brede::desk::{self, Report, SheetWarning, Warning, What};

use super::bar::Bar;
use super::tell::{self, TellArgs};
use super::{Failure, words};

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
    // What cannot spoil the piece is said last, once all else was.
    let is_note = |warning: &&Warning| {
        matches!(
            warning,
            Warning::NotMeasured { .. } | Warning::Sheet { warning: SheetWarning::Alike { .. } }
        )
    };
    let (notes, warnings): (Vec<&Warning>, Vec<&Warning>) = report.warnings().iter().partition(is_note);
    let [notes, mut warnings] =
        [notes, warnings].map(|all| all.into_iter().map(words::warning).collect::<Vec<_>>());
    // What brede wrote and makes anew is kept without a word; charts and what is not its own are told.
    let kept = report.files().iter().filter(|file| file.what == What::Chart || file.was_foreign);
    warnings.extend(kept.filter_map(|file| file.kept.as_deref()).map(words::kept));
    if !how.quiet {
        warnings.iter().for_each(|text| tell::warning(text));
    }
    if how.json {
        let mut value = serde_json::to_value(&report).expect("a report has only string keys");
        let names = report.files().iter().filter_map(|file| file.path.as_deref());
        value["files"] = names.map(|path| path.to_string_lossy().into_owned()).collect();
        value["warnings"] = [warnings, notes].concat().into();
        worded(&report, &mut value);
        if !report.notes().is_empty() {
            value["notes"] = report.notes().iter().map(words::note).collect();
        }
        tell::data(&format!("{value}\n"))?;
    } else if !how.quiet {
        tell::result(&words(&report))?;
        notes.iter().for_each(|text| tell::note(text));
    }
    Ok(report)
}
