//! The structure of pages for those who have them read out: headings, paragraphs, pictures and tables in reading order
//! (ISO 32000-1, 14.7 and 14.8), as ISO 14289-1 asks for them.
//!
//! Owns the tree. Leaves the marks in the operators to `pen`, and what each part is to `sheet`.

use std::io::{self, Write as _};

use lopdf::{Document, Object, ObjectId, dictionary};
use rayon::prelude::*;

use super::file::{self, Bundle};
use crate::printing::sheet::{Page, Said, Shape};

/// A part of a page that is marked in its operators.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    /// Its place among the page's parts.
    part: usize,
    /// The text that is a paragraph by itself.
    text: Option<usize>,
    /// The symbol of a cell, beside its texts.
    is_symbol: bool,
}

impl Place {
    /// Where a shape belongs, by its place among those of the page; nothing where it is for the eye alone.
    pub(super) fn of(page: &Page, at: usize) -> Option<Self> {
        let part = page.said.partition_point(|(from, _)| *from <= at).checked_sub(1)?;
        let (_, shape) = page.shapes.get(at)?;
        let is_text = matches!(shape, Shape::Text { .. });
        let place = Self { part, text: None, is_symbol: false };
        match &page.said[part].1 {
            Said::Nothing => None,
            Said::Figure(_) => Some(place),
            Said::Texts if is_text => Some(Self { text: Some(at), ..place }),
            Said::Heading(_) | Said::Paragraph | Said::Cell { .. } if is_text => Some(place),
            Said::Cell { symbol: Some(_), .. } => {
                let is_symbol =
                    matches!(shape, Shape::Symbol { .. } | Shape::Corners { .. } | Shape::Line { .. });
                is_symbol.then_some(Self { is_symbol: true, ..place })
            }
            _ => None,
        }
    }

    /// The name of its mark and of its element.
    pub(super) fn tag(self, page: &Page) -> &'static str {
        match &page.said[self.part].1 {
            Said::Heading(1) => "H1",
            Said::Heading(_) => "H2",
            Said::Figure(_) => "Figure",
            Said::Cell { .. } if self.is_symbol => "Figure",
            Said::Cell { is_head: true, .. } => "TH",
            Said::Cell { .. } => "TD",
            Said::Texts | Said::Paragraph | Said::Nothing => "P",
        }
    }
}

/// What an element holds.
enum Kid {
    /// An element, by its place among those of the page.
    Element(usize),
    /// What is marked with this number.
    Mark(usize),
    Link(ObjectId),
}

/// An element of the structure.
struct Element {
    tag: &'static str,
    /// By its place among those of the page.
    parent: usize,
    kids: Vec<Kid>,
    /// Whether it says on which page it stands: what has marks does.
    is_on_page: bool,
    /// What is said of a picture.
    alt: Option<String>,
    /// What a head of a table is the head of.
    scope: Option<&'static str>,
}

/// The structure of a page, before its elements have numbers in the file.
pub(super) struct PageTree {
    /// The first is the section that all others are in.
    elements: Vec<Element>,
    /// The element of each mark.
    marks: Vec<usize>,
}

impl PageTree {
    /// `places` are the marks of the page.
    pub(super) fn of(page: &Page, places: &[Place]) -> Self {
        let mut tree = Self { elements: Vec::new(), marks: Vec::with_capacity(places.len()) };
        tree.child("Sect", 0).is_on_page = false;
        // Elements that may have another mark: a text has one alone.
        let mut made: Vec<(Place, usize)> = Vec::new();
        // The table, the row and the cell that are open, with the number of the row and the part of the cell.
        let mut table: Option<usize> = None;
        let mut row: Option<(usize, usize)> = None;
        let mut cell: Option<(usize, usize)> = None;
        let mut has_heads = false;
        for (mark, &place) in places.iter().enumerate() {
            let known = made.iter().rev().find(|(other, _)| *other == place).map(|(_, element)| *element);
            let element = known.unwrap_or_else(|| {
                let said = &page.said[place.part].1;
                let Said::Cell { row: number, is_head, symbol } = said else {
                    (table, row, cell) = (None, None, None);
                    let alt = if let Said::Figure(words) = said { Some(words.clone()) } else { None };
                    tree.child(place.tag(page), 0).alt = alt;
                    return tree.last();
                };
                // A table that goes on under a heading has no heads of its own: each row is named by its first cell.
                has_heads = *is_head || (has_heads && table.is_some());
                let table = *table.get_or_insert_with(|| {
                    tree.child("Table", 0).is_on_page = false;
                    tree.last()
                });
                let is_first = row.is_none_or(|(open, _)| open != *number);
                let row_id = match row {
                    Some((open, id)) if open == *number => id,
                    _ => {
                        tree.child("TR", table).is_on_page = false;
                        row = Some((*number, tree.last()));
                        tree.last()
                    }
                };
                let cell_id = match cell {
                    Some((part, id)) if part == place.part => id,
                    _ => {
                        let is_own_head = *is_head || (is_first && !has_heads);
                        let tag = if is_own_head { "TH" } else { "TD" };
                        let scope = is_own_head.then(|| {
                            // Heads side by side are those of columns; one before other cells is that of its row.
                            let next = page.said.get(place.part + 1).map(|(_, said)| said);
                            let before = place.part.checked_sub(1).map(|part| &page.said[part].1);
                            let is_head = |said: Option<&Said>| {
                                matches!(said, Some(Said::Cell { row: other, is_head: true, .. }) if other == number)
                            };
                            if is_head(next) || is_head(before) { "Column" } else { "Row" }
                        });
                        tree.child(tag, row_id).scope = scope;
                        cell = Some((place.part, tree.last()));
                        tree.last()
                    }
                };
                if !place.is_symbol {
                    return cell_id;
                }
                tree.child("Figure", cell_id).alt = Some(symbol.clone().unwrap_or_default());
                tree.last()
            });
            if known.is_none() && place.text.is_none() {
                made.push((place, element));
            }
            tree.elements[element].kids.push(Kid::Mark(mark));
            tree.marks.push(element);
        }
        tree
    }

    /// Another element, which stands on the page unless more is said.
    fn child(&mut self, tag: &'static str, parent: usize) -> &mut Element {
        let place = self.elements.len();
        if let Some(parent) = self.elements.get_mut(parent) {
            parent.kids.push(Kid::Element(place));
        }
        let (kids, alt, scope) = (Vec::new(), None, None);
        self.elements.push(Element { tag, parent, kids, is_on_page: true, alt, scope });
        &mut self.elements[place]
    }

    /// The place of the last element.
    fn last(&self) -> usize {
        self.elements.len() - 1
    }

    /// Writes the elements, numbered from `first` on.
    fn write(&self, document: u32, first: u32, page: ObjectId, bundle: &mut Bundle) -> io::Result<()> {
        let number = |place: usize| first + place as u32;
        for (place, element) in self.elements.iter().enumerate() {
            let bytes = bundle.begin(number(place));
            let parent = if place == 0 { document } else { number(element.parent) };
            write!(bytes, "<</Type/StructElem/S/{}/P {parent} 0 R/K[", element.tag)?;
            for (before, kid) in element.kids.iter().enumerate() {
                let blank = if before == 0 { "" } else { " " };
                match kid {
                    Kid::Element(place) => write!(bytes, "{blank}{} 0 R", number(*place))?,
                    Kid::Mark(mark) => write!(bytes, "{blank}{mark}")?,
                    Kid::Link((link, _)) => {
                        write!(bytes, "{blank}<</Type/OBJR/Obj {link} 0 R/Pg {} 0 R>>", page.0)?;
                    }
                }
            }
            bytes.push(b']');
            if element.is_on_page {
                write!(bytes, "/Pg {} 0 R", page.0)?;
            }
            if let Some(alt) = &element.alt {
                bytes.extend_from_slice(b"/Alt");
                file::put(bytes, &lopdf::text_string(alt))?;
            }
            if let Some(scope) = element.scope {
                write!(bytes, "/A<</O/Table/Scope/{scope}>>")?;
            }
            bytes.extend_from_slice(b">>");
        }
        Ok(())
    }
}

/// Puts the tree into the file; answers its root, and the objects that are not among those of the file yet.
pub(super) fn write(
    file: &mut Document,
    mut trees: Vec<PageTree>,
    pages: &[ObjectId],
) -> io::Result<(ObjectId, Vec<Bundle>)> {
    // The links of a page are elements of their own behind the rest; behind the pages, each has a number of its own among
    // the parents.
    let mut links: Vec<(usize, usize)> = Vec::new();
    for (at, (tree, &page)) in trees.iter_mut().zip(pages).enumerate() {
        let Ok(page) = file.get_dictionary_mut(page) else { continue };
        page.set("StructParents", at as i64);
        // From field to field as the structure has them.
        page.set("Tabs", "S");
        let known = page.get(b"Annots").and_then(Object::as_array).cloned().unwrap_or_default();
        for link in known.iter().filter_map(|link| link.as_reference().ok()) {
            tree.child("Link", 0).kids.push(Kid::Link(link));
            if let Ok(link) = file.get_dictionary_mut(link) {
                link.set("StructParent", (pages.len() + links.len()) as i64);
            }
            links.push((at, tree.last()));
        }
    }
    let (root, document) = (file.new_object_id(), file.new_object_id());
    let parents = file.new_object_id();
    let firsts: Vec<u32> = trees
        .iter()
        .map(|tree| {
            let first = file.max_id + 1;
            file.max_id += tree.elements.len() as u32;
            first
        })
        .collect();
    let numbered: Vec<(&PageTree, u32, ObjectId)> =
        trees.iter().zip(&firsts).zip(pages).map(|((tree, &first), &page)| (tree, first, page)).collect();
    // Whole pages, as many as come to one stream of objects.
    let most = trees.iter().map(|tree| tree.elements.len()).max().unwrap_or(1).max(1);
    let bundle = |pages: &[(&PageTree, u32, ObjectId)]| {
        let mut bundle = Bundle::default();
        for (tree, first, page) in pages {
            tree.write(document.0, *first, *page, &mut bundle)?;
        }
        Ok(bundle)
    };
    let mut bundles: Vec<Bundle> =
        numbered.par_chunks(Bundle::room(most)).map(bundle).collect::<io::Result<_>>()?;
    let mut bundle = Bundle::default();
    let bytes = bundle.begin(parents.0);
    bytes.extend_from_slice(b"<</Nums[");
    for (at, (tree, first, _)) in numbered.iter().enumerate() {
        write!(bytes, "{at}[")?;
        for (before, &element) in tree.marks.iter().enumerate() {
            let blank = if before == 0 { "" } else { " " };
            write!(bytes, "{blank}{} 0 R", first + element as u32)?;
        }
        bytes.push(b']');
    }
    for (at, &(page, element)) in links.iter().enumerate() {
        write!(bytes, " {} {} 0 R", pages.len() + at, firsts[page] + element as u32)?;
    }
    bytes.extend_from_slice(b"]>>");
    bundles.push(bundle);
    let sections: Vec<Object> = firsts.iter().map(|&first| (first, 0).into()).collect();
    let whole: Vec<Object> = vec![document.into()];
    file.set_object(
        document,
        dictionary! { "Type" => "StructElem", "S" => "Document", "P" => root, "K" => sections },
    );
    file.set_object(
        root,
        dictionary! {
            "Type" => "StructTreeRoot",
            "K" => whole,
            "ParentTree" => parents,
            "ParentTreeNextKey" => (pages.len() + links.len()) as i64,
        },
    );
    Ok((root, bundles))
}
