//! Which page of a printed chart is what: read from the table of contents that the file carries.

use std::ops::Range;

use super::ProofError;
use crate::units::GridSize;

/// A chart page: columns and rows that are its own, counted from 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ChartPage {
    /// The page of the file, from 0.
    pub(super) page: usize,
    pub(super) columns: Range<u32>,
    pub(super) rows: Range<u32>,
}

impl ChartPage {
    /// Whether a cell of the chart, on this page, is another page's.
    pub(super) fn is_repeated(&self, column: u32, row: u32) -> bool {
        !(self.columns.contains(&column) && self.rows.contains(&row))
    }
}

/// The pages of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Places {
    /// Those of the key, in order, from 0.
    pub(super) key: Range<usize>,
    pub(super) chart: Vec<ChartPage>,
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
    pub(super) fn read(pdf: &[u8], size: GridSize) -> Result<Self, ProofError> {
        let file = lopdf::Document::load_mem(pdf).map_err(|_| ProofError::NotPdf)?;
        let toc = file.get_toc().map_err(|_| ProofError::NotOurs)?;
        let (mut rows, mut key, mut key_end) = (None, None, None);
        let mut chart = Vec::new();
        for entry in &toc.toc {
            let page = entry.page.checked_sub(1).ok_or(ProofError::NotOurs)?;
            let title = entry.title.as_str();
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
        let found = [
            chart.iter().map(|page| page.columns.end).max().unwrap_or(0),
            chart.iter().map(|page| page.rows.end).max().unwrap_or(0),
        ];
        let cells: u64 = chart.iter().map(|page| page.columns.len() as u64 * page.rows.len() as u64).sum();
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
