//! Which page of a printed chart is what: read from the table of contents that the file carries.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use lopdf::{Dictionary, Document, Object, ObjectId};
use serde::{Deserialize, Serialize};

use super::ProofError;
use crate::ground::units::GridSize;
use crate::printing::sheet;

/// A chart page: columns and rows that are its own, counted from 0.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct ChartPage {
    /// The page of the file, from 0.
    pub(super) page: usize,
    pub(super) columns: Range<u32>,
    pub(super) rows: Range<u32>,
}

impl ChartPage {
    /// Its own cells.
    pub(super) fn cells(&self) -> usize {
        self.columns.len() * self.rows.len()
    }

    /// Whether a cell of the chart, on this page, is another page's.
    pub(super) fn is_repeated(&self, column: u32, row: u32) -> bool {
        !(self.columns.contains(&column) && self.rows.contains(&row))
    }
}

/// The pages of the file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Places {
    /// Those of the key, in order, from 0.
    pub(super) key: Range<usize>,
    pub(super) chart: Vec<ChartPage>,
}

/// The most pages of a key: twice what 255 needles take on the smallest paper in large print.
const MOST_KEY_PAGES: usize = 100;

/// The most entries of a table of contents: a page each, and a heading for each row of them.
const MOST_ENTRIES: usize = 2 * sheet::MAX_PAGES + 100;

/// The entries of the table of contents in their order, with the page that each leads to, from 0. Entries that form
/// a ring are gone through once; lopdf's own way would follow them for ever.
fn contents(file: &Document) -> Vec<(String, usize)> {
    let pages: BTreeMap<ObjectId, usize> =
        file.page_iter().enumerate().map(|(place, page)| (page, place)).collect();
    let reference = |entry: &Dictionary, key: &[u8]| entry.get(key).and_then(Object::as_reference).ok();
    let catalog = file.catalog().ok();
    let outlines = catalog.and_then(|catalog| catalog.get_deref(b"Outlines", file).ok()?.as_dict().ok());
    let mut waiting: Vec<ObjectId> =
        outlines.and_then(|root| reference(root, b"First")).into_iter().collect();
    let (mut seen, mut entries) = (BTreeSet::new(), Vec::new());
    while let Some(id) = waiting.pop() {
        let Ok(entry) = file.get_dictionary(id) else { continue };
        if !seen.insert(id) || seen.len() > MOST_ENTRIES {
            continue;
        }
        // What stands below comes before what follows.
        waiting.extend(reference(entry, b"Next"));
        waiting.extend(reference(entry, b"First"));
        let title = entry.get_deref(b"Title", file).and_then(lopdf::decode_text_string);
        let target = entry.get_deref(b"Dest", file).and_then(Object::as_array);
        let page = target.ok().and_then(|target| target.first()?.as_reference().ok());
        if let (Ok(title), Some(&page)) = (title, page.and_then(|page| pages.get(&page))) {
            entries.push((title, page));
        }
    }
    entries
}

/// `columns 1 to 50` becomes `0..50`.
fn range(text: &str) -> Option<Range<u32>> {
    let (first, last) = text.split_once(" to ")?;
    let first: u32 = first.trim().parse().ok()?;
    let last: u32 = last.trim().parse().ok()?;
    (first >= 1 && last >= first).then(|| first - 1..last)
}

impl Places {
    /// From the bookmarks, as `sheet` names them, of a file that holds a chart of `size`.
    pub(super) fn read(file: &Document, size: GridSize) -> Result<Self, ProofError> {
        let (mut rows, mut key, mut key_end) = (None, None, None);
        let mut chart = Vec::new();
        for (title, page) in contents(file) {
            let title = title.as_str();
            if title == "Key" {
                key = Some(page);
            } else if let Some(text) = title.strip_prefix("Rows ") {
                rows = range(text);
                key_end = key_end.or(Some(page));
            } else if title == "Page map" {
                key_end = Some(page);
            } else if let Some((_, text)) = title.split_once(": columns ") {
                let columns = range(text).ok_or(ProofError::NotOurs)?;
                let rows = rows.clone().ok_or(ProofError::NotOurs)?;
                chart.push(ChartPage { page, columns, rows });
            }
        }
        let (Some(key), Some(end)) = (key, key_end) else { return Err(ProofError::NotOurs) };
        if end.saturating_sub(key) > MOST_KEY_PAGES {
            return Err(ProofError::NotOurs);
        }
        let found = [
            chart.iter().map(|page| page.columns.end).max().unwrap_or(0),
            chart.iter().map(|page| page.rows.end).max().unwrap_or(0),
        ];
        let cells = chart.iter().fold(0_u64, |sum, page: &ChartPage| {
            sum.saturating_add((page.columns.len() as u64).saturating_mul(page.rows.len() as u64))
        });
        if found != [size.columns(), size.rows()] || cells != size.cells() as u64 {
            let wanted = [size.columns(), size.rows()];
            return Err(ProofError::OtherSize { found, wanted });
        }
        Ok(Self { key: key..end, chart })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_counts_from_0_and_leaves_nonsense() {
        assert_eq!(range("1 to 50"), Some(0..50));
        assert_eq!(range("51 to 51"), Some(50..51));
        assert_eq!(range("5 to 4"), None);
        assert_eq!(range("0 to 4"), None);
        assert_eq!(range("one to four"), None);
    }
}
