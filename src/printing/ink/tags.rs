//! The structure of pages for those who have them read out: headings, paragraphs, pictures and tables in reading order
//! (ISO 32000-1, 14.7 and 14.8), as ISO 14289-1 asks for them.
//!
//! Owns the tree. Leaves the marks in the operators to `pen`, and what each part is to `sheet`.

use lopdf::{Dictionary, Document, Object, ObjectId, dictionary};

use crate::printing::sheet::{Page, Said, Shape, Sheet};

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

/// The tree as it grows.
struct Tree<'a> {
    file: &'a mut Document,
    /// What belongs to each number of the tree of parents: the marks of a page, or a link.
    parents: Vec<Object>,
}

impl Tree<'_> {
    fn element(&mut self, tag: &str, parent: ObjectId, more: Dictionary) -> ObjectId {
        let mut element =
            dictionary! { "Type" => "StructElem", "S" => tag, "P" => parent, "K" => Vec::new() };
        element.extend(&more);
        self.file.add_object(element)
    }

    fn give(&mut self, parent: ObjectId, child: Object) {
        let kids =
            self.file.get_dictionary_mut(parent).and_then(|parent| parent.get_mut(b"K")?.as_array_mut());
        if let Ok(kids) = kids {
            kids.push(child);
        }
    }

    fn child(&mut self, tag: &str, parent: ObjectId, more: Dictionary) -> ObjectId {
        let child = self.element(tag, parent, more);
        self.give(parent, child.into());
        child
    }

    /// The elements of a page under its section.
    fn page(&mut self, section: ObjectId, id: ObjectId, page: &Page, places: &[Place]) {
        let mut marks: Vec<Object> = Vec::with_capacity(places.len());
        let mut made: Vec<(Place, ObjectId)> = Vec::new();
        // The table, the row and the cell that are open, with the number of the row and the part of the cell.
        let mut table: Option<ObjectId> = None;
        let mut row: Option<(usize, ObjectId)> = None;
        let mut cell: Option<(usize, ObjectId)> = None;
        let mut has_heads = false;
        let on_page = || dictionary! { "Pg" => id };
        for (mark, &place) in places.iter().enumerate() {
            let known = made.iter().rev().find(|(other, _)| *other == place).map(|(_, element)| *element);
            let element = known.unwrap_or_else(|| {
                let said = &page.said[place.part].1;
                let Said::Cell { row: number, is_head, symbol } = said else {
                    (table, row, cell) = (None, None, None);
                    let mut more = on_page();
                    if let Said::Figure(words) = said {
                        more.set("Alt", lopdf::text_string(words));
                    }
                    return self.child(place.tag(page), section, more);
                };
                // A table that goes on under a heading has no heads of its own: each row is named by its first cell.
                has_heads = *is_head || (has_heads && table.is_some());
                let table = *table.get_or_insert_with(|| self.child("Table", section, Dictionary::new()));
                let is_first = row.is_none_or(|(open, _)| open != *number);
                let row_id = match row {
                    Some((open, id)) if open == *number => id,
                    _ => {
                        let id = self.child("TR", table, Dictionary::new());
                        row = Some((*number, id));
                        id
                    }
                };
                let cell_id = match cell {
                    Some((part, id)) if part == place.part => id,
                    _ => {
                        let mut more = on_page();
                        let is_own_head = *is_head || (is_first && !has_heads);
                        if is_own_head {
                            // Heads side by side are those of columns; one before other cells is that of its row.
                            let next = page.said.get(place.part + 1).map(|(_, said)| said);
                            let before = place.part.checked_sub(1).map(|part| &page.said[part].1);
                            let is_head = |said: Option<&Said>| {
                                matches!(said, Some(Said::Cell { row: other, is_head: true, .. }) if other == number)
                            };
                            let scope = if is_head(next) || is_head(before) { "Column" } else { "Row" };
                            more.set("A", dictionary! { "O" => "Table", "Scope" => scope });
                        }
                        let tag = if is_own_head { "TH" } else { "TD" };
                        let id = self.child(tag, row_id, more);
                        cell = Some((place.part, id));
                        id
                    }
                };
                if !place.is_symbol {
                    return cell_id;
                }
                let mut more = on_page();
                more.set("Alt", lopdf::text_string(symbol.as_deref().unwrap_or_default()));
                self.child("Figure", cell_id, more)
            });
            if known.is_none() {
                made.push((place, element));
            }
            self.give(element, (mark as i64).into());
            marks.push(element.into());
        }
        self.parents.push(marks.into());
    }

    /// The links of a page, each an element of its own behind the rest.
    fn links(&mut self, section: ObjectId, id: ObjectId) {
        let links = self.file.get_dictionary(id).and_then(|page| page.get(b"Annots")?.as_array()).cloned();
        for link in links.unwrap_or_default() {
            let Ok(link) = link.as_reference() else { continue };
            let element = self.child("Link", section, dictionary! { "Pg" => id });
            self.give(element, dictionary! { "Type" => "OBJR", "Obj" => link, "Pg" => id }.into());
            if let Ok(link) = self.file.get_dictionary_mut(link) {
                link.set("StructParent", self.parents.len() as i64);
            }
            self.parents.push(element.into());
        }
    }
}

/// Writes the tree; answers its root. `places` are the marks of each page.
pub(super) fn write(
    file: &mut Document,
    sheet: &Sheet,
    pages: &[ObjectId],
    places: &[Vec<Place>],
) -> ObjectId {
    let root = file.new_object_id();
    let mut tree = Tree { file, parents: Vec::new() };
    let document = tree.element("Document", root, Dictionary::new());
    let mut sections = Vec::new();
    for ((page, &id), places) in sheet.pages.iter().zip(pages).zip(places) {
        let section = tree.child("Sect", document, Dictionary::new());
        tree.page(section, id, page, places);
        sections.push((section, id));
    }
    for (number, &(section, id)) in sections.iter().enumerate() {
        if let Ok(page) = tree.file.get_dictionary_mut(id) {
            page.set("StructParents", number as i64);
            // From field to field as the structure has them.
            page.set("Tabs", "S");
        }
        tree.links(section, id);
    }
    let next = tree.parents.len() as i64;
    let numbers: Vec<Object> = tree
        .parents
        .into_iter()
        .enumerate()
        .flat_map(|(number, of)| [Object::from(number as i64), of])
        .collect();
    let parents = file.add_object(dictionary! { "Nums" => numbers });
    let kids: Vec<Object> = vec![document.into()];
    let whole = dictionary! {
        "Type" => "StructTreeRoot",
        "K" => kids,
        "ParentTree" => parents,
        "ParentTreeNextKey" => next,
    };
    file.set_object(root, whole);
    root
}
