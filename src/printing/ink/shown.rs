//! What each page shows of a chart, as data in the file.
//!
//! A page bears it as a page-piece dictionary (ISO 32000-1, 14.5) under the name of brede: programs leave those of
//! others as they are, and no reader shows them. Bookmarks say the same to people, in their language.

use std::ops::Range;

use lopdf::{Dictionary, Document, Object, dictionary};

use crate::printing::sheet::{Sheet, Shows};

/// The name that the data stand under.
const NAME: &[u8] = b"Brede";

/// Writes what the pages show. `date` is when the file was made, as a PDF says it.
pub(super) fn write(file: &mut Document, sheet: &Sheet, pages: &[lopdf::ObjectId], date: &Object) {
    for (page, &id) in sheet.pages.iter().zip(pages) {
        let Some(shows) = &page.shows else { continue };
        let pieces = dictionary! {
            "Brede" => dictionary! { "LastModified" => date.clone(), "Private" => data(shows) },
        };
        if let Ok(page) = file.get_dictionary_mut(id) {
            page.set("PieceInfo", pieces);
            // A page with such data says when it was changed last (ISO 32000-1, table 30).
            page.set("LastModified", date.clone());
        }
    }
}

fn data(shows: &Shows) -> Dictionary {
    // First and last, counted from 1 as on the rulers.
    let span = |range: &Range<u32>| -> Vec<Object> {
        vec![i64::from(range.start + 1).into(), i64::from(range.end).into()]
    };
    match shows {
        Shows::Key { order } if order.is_empty() => dictionary! { "Shows" => "Key" },
        Shows::Key { order } => {
            let order: Vec<Object> = order.iter().map(|&needle| (needle as i64).into()).collect();
            dictionary! { "Shows" => "Key", "Order" => order }
        }
        Shows::All => dictionary! { "Shows" => "All" },
        Shows::Cells { columns, rows } => {
            dictionary! { "Shows" => "Cells", "Columns" => span(columns), "Rows" => span(rows) }
        }
    }
}

/// What the first pages of a file show, `most` at the most; nothing of a page that does not say it, or not as brede
/// says it.
pub(crate) fn shown(file: &Document, most: usize) -> Vec<Option<Shows>> {
    file.page_iter().take(most).map(|page| read(file, file.get_dictionary(page).ok()?)).collect()
}

fn read(file: &Document, page: &Dictionary) -> Option<Shows> {
    let part = |of: &Dictionary, key: &[u8]| of.get_deref(key, file).ok()?.as_dict().ok().cloned();
    let data = part(&part(&part(page, b"PieceInfo")?, NAME)?, b"Private")?;
    let span = |key: &[u8]| -> Option<Range<u32>> {
        let [first, last] = data.get_deref(key, file).ok()?.as_array().ok()?.as_slice() else { return None };
        let [first, last] = [first, last].map(|number| u32::try_from(number.as_i64().ok()?).ok());
        let (first, last) = (first?, last?);
        (first >= 1 && last >= first).then(|| first - 1..last)
    };
    match data.get_deref(b"Shows", file).ok()?.as_name().ok()? {
        b"Key" => {
            let order =
                data.get_deref(b"Order", file).and_then(Object::as_array).map_or(&[][..], Vec::as_slice);
            let order = order.iter().map(|number| usize::try_from(number.as_i64().ok()?).ok());
            // One that is damaged is none: then the boxes are looked for by code.
            Some(Shows::Key { order: order.collect::<Option<_>>().unwrap_or_default() })
        }
        b"All" => Some(Shows::All),
        b"Cells" => Some(Shows::Cells { columns: span(b"Columns")?, rows: span(b"Rows")? }),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// A page with these data.
    fn page(data: Dictionary) -> Dictionary {
        dictionary! { "PieceInfo" => dictionary! { "Brede" => dictionary! { "Private" => data } } }
    }

    #[test]
    fn what_is_written_is_read() {
        let key = |order: &[usize]| Shows::Key { order: order.to_vec() };
        for shows in [key(&[]), key(&[2, 0, 1]), Shows::All, Shows::Cells { columns: 0..50, rows: 70..71 }] {
            assert_eq!(read(&Document::new(), &page(data(&shows))), Some(shows));
        }
    }

    #[test]
    fn nonsense_is_nothing() {
        let cells = |columns: Vec<Object>| {
            dictionary! { "Shows" => "Cells", "Columns" => columns, "Rows" => vec![1.into(), 9.into()] }
        };
        for columns in [
            vec![0.into(), 4.into()],
            vec![5.into(), 4.into()],
            vec![1.into()],
            vec![1.into(), 2.into(), 3.into()],
            vec![1.into(), i64::MAX.into()],
            vec![(-1).into(), 4.into()],
            vec!["one".into(), 4.into()],
        ] {
            assert_eq!(read(&Document::new(), &page(cells(columns))), None);
        }
        assert_eq!(read(&Document::new(), &page(dictionary! { "Shows" => "Beauty" })), None);
        assert_eq!(read(&Document::new(), &dictionary! { "PieceInfo" => 7 }), None);
        assert_eq!(read(&Document::new(), &Dictionary::new()), None);
    }
}
