//! Whether the files that were made with a chart still belong to it.
//!
//! Owns what a set of files is called. They can come apart: a process is killed between two renames, a chart is changed
//! and not printed again, a file is copied from elsewhere.

use std::path::Path;

use super::{Of, Source, Stray, Warning};
use crate::chart::{Chart, Stamp};
use crate::ground::store::{self, seal};

/// What the names of the files of a set end in, after the chart's own name.
pub(super) const ENDINGS: [&str; 4] = ["pdf", "cells.png", "stitched.png", "threads.csv"];

/// What a chart's name ends in.
pub(super) const CHART: &str = "chart.json";

/// What a file with these stamps belongs to that belongs not to this chart as it is; nothing where it does, or where it
/// says nothing.
pub(super) fn stray(bytes: &[u8], chart: Stamp) -> Option<Of> {
    let stamps: Vec<Stamp> =
        seal::read(bytes)?.stamp?.split(' ').filter_map(|text| text.parse().ok()).collect();
    // What is equal in content shows what the chart is, whatever led there.
    if stamps.iter().any(|stamp| (stamp.id, stamp.fingerprint) == (chart.id, chart.fingerprint)) {
        return None;
    }
    stamps.first()?;
    Some(match stamps.iter().find(|stamp| stamp.id == chart.id) {
        None => Of::AnotherChart,
        Some(stamp) if stamp.revision == chart.revision => Of::AnotherCopy,
        Some(stamp) => Of::Revision(stamp.revision),
    })
}

/// What stands beside a chart under its name and does not belong to it as it is.
pub(super) fn apart(path: &Path, stamp: Stamp) -> Option<Warning> {
    told(path, stamp, strays(path, stamp))
}

/// The same, before the chart is changed: that pages show an earlier revision is to be expected then, and only what
/// should not be is told.
pub(super) fn apart_before_change(path: &Path, stamp: Stamp) -> Option<Warning> {
    let mut files = strays(path, stamp);
    files.retain(|stray| !matches!(stray.of, Of::Revision(revision) if revision < stamp.revision));
    told(path, stamp, files)
}

/// The same, where pages were given that belong to the chart wherever they stand.
pub(super) fn apart_with(chart: &Source, stamp: Stamp, pages: &Source, bytes: &[u8]) -> Option<Warning> {
    let mut files = chart.path().map(|path| strays(path, stamp)).unwrap_or_default();
    let name = pages.file_name();
    files.retain(|stray| stray.name != name);
    if let Some(of) = stray(bytes, stamp) {
        files.insert(0, Stray { name, of });
    }
    told(Path::new(&chart.file_name()), stamp, files)
}

/// What stands beside a chart that is about to be replaced, and does not belong to it.
pub(super) fn apart_before(path: &Path) -> Option<Warning> {
    let chart = store::whole(path).ok()?.and_then(|bytes| Chart::from_json(&bytes).ok())?;
    apart(path, chart.stamp())
}

fn strays(path: &Path, stamp: Stamp) -> Vec<Stray> {
    let name = path.file_name().and_then(|name| name.to_str());
    let Some(stem) = name.and_then(|name| name.strip_suffix(CHART)) else { return Vec::new() };
    let found = ENDINGS.iter().filter_map(|ending| {
        let name = format!("{stem}{ending}");
        let bytes = store::whole(&path.with_file_name(&name)).ok()??;
        Some(Stray { name, of: stray(&bytes, stamp)? })
    });
    found.collect()
}

fn told(path: &Path, stamp: Stamp, files: Vec<Stray>) -> Option<Warning> {
    let chart = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    (!files.is_empty()).then_some(Warning::Apart { chart, revision: stamp.revision, files })
}
