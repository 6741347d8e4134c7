//! Ways through the file: links from page to page, and the table of contents, nested, which `printpdf` lacks.

use lopdf::{Document, Object, ObjectId, dictionary};

use super::numbers::exact;
use crate::ground::plain::lettered;
use crate::printing::length::Length;
use crate::printing::sheet::{Area, Bookmark, Sheet};

/// The links of every page.
pub(super) fn link_pages(file: &mut Document, sheet: &Sheet, pages: &[ObjectId]) {
    for (page, &id) in sheet.pages.iter().zip(pages) {
        let point = |length: Length| Object::Real(exact(length));
        let links: Vec<Object> = page
            .links
            .iter()
            .filter_map(|link| {
                let target = *pages.get(link.page)?;
                let area = link.area;
                let (low, high) = (page.height - area.y - area.height, page.height - area.y);
                let rect = [area.x, low, area.x + area.width, high].map(point).to_vec();
                let told = format!("Go to page {}", link.page + 1);
                let link = dictionary! {
                    "Type" => "Annot",
                    "Contents" => lopdf::text_string(&told),
                    "Subtype" => "Link",
                    "Rect" => rect,
                    "Border" => vec![0.into(), 0.into(), 0.into()],
                    "F" => 4,
                    "Dest" => destination(sheet, link.page, target, link.part),
                };
                // By itself, so that the structure can name it.
                Some(file.add_object(link).into())
            })
            .collect();
        if let Ok(dictionary) = file.get_dictionary_mut(id) {
            dictionary.remove(b"Annots");
            if !links.is_empty() {
                dictionary.set("Annots", links);
            }
        }
    }
}

/// A whole page, or the part of it that is to fill the window (ISO 32000-1, table 151).
fn destination(sheet: &Sheet, page: usize, id: ObjectId, part: Option<Area>) -> Vec<Object> {
    let point = |length: Length| Object::Real(exact(length));
    match (part, sheet.pages.get(page)) {
        (Some(area), Some(page)) => {
            let (low, high) = (page.height - area.y - area.height, page.height - area.y);
            let [left, low, right, high] = [area.x, low, area.x + area.width, high].map(point);
            vec![id.into(), "FitR".into(), left, low, right, high]
        }
        _ => vec![id.into(), "Fit".into()],
    }
}

/// The table of contents, nested as it is given; answers its root.
pub(super) fn bookmarks(file: &mut Document, sheet: &Sheet, pages: &[ObjectId]) -> ObjectId {
    let root = file.new_object_id();
    let (first, last, shown) = siblings(file, sheet, &sheet.bookmarks, pages, root);
    let mut dictionary = dictionary! { "Type" => "Outlines", "Count" => shown };
    if let (Some(first), Some(last)) = (first, last) {
        dictionary.set("First", first);
        dictionary.set("Last", last);
    }
    file.set_object(root, dictionary);
    root
}

/// Writes entries of one level; answers the first, the last and how many lines they take when shown.
fn siblings(
    file: &mut Document,
    sheet: &Sheet,
    bookmarks: &[Bookmark],
    pages: &[ObjectId],
    parent: ObjectId,
) -> (Option<ObjectId>, Option<ObjectId>, i64) {
    let ids: Vec<ObjectId> = bookmarks.iter().map(|_| file.new_object_id()).collect();
    for (index, bookmark) in bookmarks.iter().enumerate() {
        let mut entry = dictionary! {
            "Title" => lopdf::text_string(&lettered(&bookmark.title)),
            "Parent" => parent,
        };
        if let Some(&page) = pages.get(bookmark.page) {
            entry.set("Dest", destination(sheet, bookmark.page, page, bookmark.part));
        }
        if let Some(&before) = index.checked_sub(1).and_then(|before| ids.get(before)) {
            entry.set("Prev", before);
        }
        if let Some(&after) = ids.get(index + 1) {
            entry.set("Next", after);
        }
        let (first, last, shown) = siblings(file, sheet, &bookmark.children, pages, ids[index]);
        if let (Some(first), Some(last)) = (first, last) {
            entry.set("First", first);
            entry.set("Last", last);
            // Closed at first: a negative count (ISO 32000-1, table 153).
            entry.set("Count", -shown);
        }
        file.set_object(ids[index], entry);
    }
    (ids.first().copied(), ids.last().copied(), ids.len() as i64)
}
