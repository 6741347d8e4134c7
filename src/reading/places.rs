//! Which page of a printed chart is what: read from the data that its pages carry.

use std::ops::Range;

use lopdf::{Document, Object};
use serde::{Deserialize, Serialize};

use super::ProofError;
use crate::ground::units::GridSize;
use crate::printing::ink;
use crate::printing::sheet::{self, Shows};

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
    /// How its needles stand, as [`Shows::Key`] says.
    pub(super) order: Vec<usize>,
    pub(super) chart: Vec<ChartPage>,
}

/// The most pages of a key: twice what 255 needles take on the smallest paper in large print.
const MOST_KEY_PAGES: usize = 100;

/// The most pages that are looked at: those of the largest chart, with cover, key and page map.
const MOST_PAGES: usize = sheet::MAX_PAGES + MOST_KEY_PAGES + 2;

/// Whether a file says that brede wrote it (ISO 32000-1, 14.3.3).
fn is_of_brede(file: &Document) -> bool {
    let facts = file.trailer.get_deref(b"Info", file).and_then(Object::as_dict);
    let creator =
        facts.and_then(|facts| facts.get_deref(b"Creator", file)).and_then(lopdf::decode_text_string);
    creator.is_ok_and(|creator| creator.starts_with("brede "))
}

impl Places {
    /// From what the pages of a file that holds a chart of `size` say of themselves.
    pub(super) fn read(file: &Document, size: GridSize) -> Result<Self, ProofError> {
        let mut key: Option<Range<usize>> = None;
        let (mut chart, mut order) = (Vec::new(), Vec::new());
        for (page, shows) in ink::shown(file, MOST_PAGES).into_iter().enumerate() {
            match shows {
                Some(Shows::Key { order: told }) => {
                    key = Some(key.map_or(page, |key| key.start)..page + 1);
                    order = told;
                }
                Some(Shows::Cells { columns, rows }) => chart.push(ChartPage { page, columns, rows }),
                Some(Shows::All) => return Err(ProofError::Screen),
                None => {}
            }
        }
        let Some(key) = key.filter(|_| !chart.is_empty()) else {
            return Err(if is_of_brede(file) { ProofError::Unmarked } else { ProofError::NotOurs });
        };
        if key.len() > MOST_KEY_PAGES {
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
        Ok(Self { key, order, chart })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use lopdf::dictionary;

    /// A file of one page, said to be made with this.
    fn file(creator: &str) -> Document {
        let mut file = Document::with_version("1.7");
        let pages = file.new_object_id();
        let page = file.add_object(dictionary! { "Type" => "Page", "Parent" => pages });
        let kids: Vec<Object> = vec![page.into()];
        file.set_object(pages, dictionary! { "Type" => "Pages", "Kids" => kids, "Count" => 1 });
        let catalog = file.add_object(dictionary! { "Type" => "Catalog", "Pages" => pages });
        file.trailer.set("Root", catalog);
        let facts = file.add_object(dictionary! { "Creator" => lopdf::text_string(creator) });
        file.trailer.set("Info", facts);
        file
    }

    #[test]
    fn pages_of_before_are_told_from_those_of_others() {
        let size = GridSize::new(20, 20).unwrap();
        assert!(matches!(Places::read(&file("brede 0.1.0"), size), Err(ProofError::Unmarked)));
        assert!(matches!(Places::read(&file("Another"), size), Err(ProofError::NotOurs)));
    }
}
