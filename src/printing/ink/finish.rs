//! What `printpdf` leaves out: the order of layers, the facts about the
//! document, and a file that is the same for the same sheet.

use std::io;

use lopdf::{Dictionary, Document, Object, ObjectId, dictionary};
use rayon::prelude::*;

use super::fonts::{self, Fonts};
use super::links::{bookmarks, link_pages};
use super::tags::{self, PageTree};
use super::tints::Squares;
use super::{PdfOptions, file, shown};
use crate::ground::plain::lettered;
use crate::ground::store::seal;
use crate::printing::sheet::{Layer, Sheet};

/// Puts the packed contents on the pages of the frame, ends the document and writes it out.
pub(super) fn finish(
    mut file: Document,
    contents: Vec<(Vec<u8>, PageTree)>,
    fonts: &Fonts,
    squares: &Squares,
    sheet: &Sheet,
    options: &PdfOptions,
) -> io::Result<Vec<u8>> {
    file.version = "1.7".to_owned();
    let pages: Vec<ObjectId> = file.get_pages().into_values().collect();
    let fail = |error: lopdf::Error| io::Error::other(error);
    let (contents, trees): (Vec<_>, Vec<_>) = contents.into_iter().unzip();
    fill_pages(&mut file, &pages, contents).map_err(fail)?;
    share_resources(&mut file, &pages).map_err(fail)?;
    if let Some(all) = pages.first().and_then(|&page| fonts_of(&file, page)) {
        for (name, (_, codes)) in fonts.iter().filter(|(_, (_, codes))| codes.is_single()) {
            let font = file.get_dictionary(all).and_then(|all| all.get(name.0.as_bytes())?.as_reference());
            fonts::write_single(&mut file, font.map_err(fail)?, codes).map_err(fail)?;
        }
        squares.write(&mut file, all).map_err(fail)?;
    }
    link_pages(&mut file, sheet, &pages);
    let (structure, elements) = tags::write(&mut file, trees, &pages)?;
    let outlines = bookmarks(&mut file, sheet, &pages);
    let layers = layer_order(&mut file);
    let catalog = file.catalog_mut().map_err(fail)?;
    catalog.set("Outlines", outlines);
    catalog.set("PageMode", Object::Name(b"UseOutlines".to_vec()));
    catalog.set("PageLayout", Object::Name(b"SinglePage".to_vec()));
    catalog.set("Lang", Object::string_literal("en-GB"));
    catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
    catalog.set("OCProperties", layers);
    catalog.set("MarkInfo", dictionary! { "Marked" => true });
    catalog.set("StructTreeRoot", structure);
    shown::write(&mut file, sheet, &pages, &date(options));
    facts(&mut file, sheet, options);
    compress(&mut file);
    belong(&mut file, sheet, options).map_err(fail)?;
    // What is no stream goes into packed streams: pages and their resources are a kilobyte each.
    let mut bytes = file::write(file, elements)?;
    // The second half changes whenever anything does: it is the seal by which brede knows its own pages again.
    seal::pdf(&mut bytes);
    Ok(bytes)
}

/// Pages that use the same share one list of it.
fn share_resources(file: &mut Document, pages: &[ObjectId]) -> lopdf::Result<()> {
    let mut lists: Vec<(Dictionary, ObjectId)> = Vec::new();
    for &page in pages {
        let id = file.get_dictionary(page)?.get(b"Resources")?.as_reference()?;
        let list = file.get_dictionary(id)?.clone();
        match lists.iter().find(|(other, _)| *other == list).map(|(_, first)| *first) {
            Some(first) => {
                file.get_dictionary_mut(page)?.set("Resources", first);
                file.objects.remove(&id);
            }
            None => lists.push((list, id)),
        }
    }
    Ok(())
}

/// What each page shows.
fn fill_pages(file: &mut Document, pages: &[ObjectId], contents: Vec<Vec<u8>>) -> lopdf::Result<()> {
    for (&page, packed) in pages.iter().zip(contents) {
        let stream = file.get_dictionary(page)?.get(b"Contents")?.as_reference()?;
        let facts = dictionary! { "Filter" => "FlateDecode" };
        file.set_object(stream, lopdf::Stream::new(facts, packed).with_compression(false));
    }
    Ok(())
}

/// The fonts of a page, which are those of all pages.
fn fonts_of(file: &Document, page: ObjectId) -> Option<ObjectId> {
    let resources = file.get_dictionary(page).ok()?.get(b"Resources").ok()?;
    let (_, resources) = file.dereference(resources).ok()?;
    resources.as_dict().ok()?.get(b"Font").ok()?.as_reference().ok()
}

/// The layers in drawing order, all on, each by itself. What they say of another program that drew them is left out.
fn layer_order(file: &mut Document) -> Dictionary {
    let mut layers: Vec<(usize, ObjectId)> = file
        .objects
        .iter()
        .filter_map(|(&id, object)| {
            let dictionary = object.as_dict().ok()?;
            let name = dictionary.get(b"Name").ok()?.as_str().ok()?;
            let is_layer = dictionary.get(b"Type").ok()?.as_name().ok()? == b"OCG";
            let place = Layer::ALL.iter().position(|layer| layer.name().as_bytes() == name)?;
            is_layer.then_some((place, id))
        })
        .collect();
    layers.sort_unstable();
    for &(_, id) in &layers {
        if let Ok(layer) = file.get_dictionary_mut(id) {
            layer.remove(b"Usage");
        }
    }
    let list: Vec<Object> = layers.into_iter().map(|(_, id)| id.into()).collect();
    dictionary! {
        "OCGs" => list.clone(),
        "D" => dictionary! {
            "Name" => Object::string_literal("Layers"),
            "BaseState" => "ON",
            "Order" => list,
        },
    }
}

/// Title, author, maker and dates (ISO 32000-1, 14.3.3).
fn facts(file: &mut Document, sheet: &Sheet, options: &PdfOptions) {
    let date = date(options);
    let mut facts = dictionary! {
        "Title" => lopdf::text_string(&lettered(&sheet.title)),
        "Subject" => lopdf::text_string("Counted cross-stitch chart"),
        "Creator" => lopdf::text_string(concat!("brede ", env!("CARGO_PKG_VERSION"))),
        "Producer" => lopdf::text_string(concat!("brede ", env!("CARGO_PKG_VERSION"), " with printpdf")),
        "CreationDate" => date.clone(),
        "ModDate" => date,
    };
    if !options.author.is_empty() {
        facts.set("Author", lopdf::text_string(&lettered(&options.author)));
    }
    match file.trailer.get(b"Info").and_then(Object::as_reference) {
        Ok(info) => file.set_object(info, facts),
        Err(_) => {
            let info = file.add_object(facts);
            file.trailer.set("Info", info);
        }
    }
}

fn date(options: &PdfOptions) -> Object {
    Object::string_literal(pdf_date(options.created))
}

/// What the pages are called and belong to, in metadata that are not packed, so that it can be found without reading the whole file
/// (ISO 32000-1, 14.3.2).
fn belong(file: &mut Document, sheet: &Sheet, options: &PdfOptions) -> lopdf::Result<()> {
    let metadata = seal::pdf_metadata(&lettered(&sheet.title), options.stamp.as_deref());
    let facts = dictionary! { "Type" => "Metadata", "Subtype" => "XML" };
    let stream = lopdf::Stream::new(facts, metadata.into_bytes()).with_compression(false);
    let id = file.add_object(stream);
    file.catalog_mut()?.set("Metadata", id);
    Ok(())
}

/// `D:YYYYMMDDhhmmssZ` (ISO 32000-1, 7.9.4), of seconds since 1970.
fn pdf_date(seconds: i64) -> String {
    let time = jiff::Timestamp::from_second(seconds).unwrap_or_default();
    time.strftime("D:%Y%m%d%H%M%SZ").to_string()
}

/// Deflates every stream that is not packed yet, side by side.
fn compress(file: &mut Document) {
    let mut streams: Vec<&mut lopdf::Stream> = file
        .objects
        .values_mut()
        .filter_map(|object| match object {
            Object::Stream(stream) if stream.dict.get(b"Filter").is_err() => Some(stream),
            _ => None,
        })
        .collect();
    streams.par_iter_mut().for_each(|stream| {
        if let Ok(packed) = file::packed(&stream.content)
            && packed.len() < stream.content.len()
        {
            stream.set_content(packed);
            stream.dict.set("Filter", "FlateDecode");
        }
    });
}
