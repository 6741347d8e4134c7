//! The bytes of a file: its objects, streams of packed objects, and where each lies (ISO 32000-1, 7.3 and 7.5).
//!
//! `lopdf` writes files too, from objects that it holds one by one. The structure of a chart of some hundred pages is tens of
//! thousands of them, each a few dozen bytes: they are written as they are made, page beside page, and packed side by side.

use std::io::{self, Write as _};

use lopdf::{Dictionary, Document, Object, StringFormat, dictionary};
use rayon::prelude::*;
use sha2::{Digest as _, Sha256};

/// Objects that are packed together: fewer pack worse, and a reader unpacks all of them for one.
const TOGETHER: usize = 400;

/// Objects that go into one packed stream (7.5.7).
#[derive(Debug, Default)]
pub(super) struct Bundle {
    /// The number of each, and where it begins.
    places: Vec<(u32, usize)>,
    bytes: Vec<u8>,
}

impl Bundle {
    /// How many times so many objects have room: once at the least.
    pub(super) fn room(objects: usize) -> usize {
        (TOGETHER / objects).max(1)
    }

    fn is_full(&self) -> bool {
        self.places.len() >= TOGETHER
    }

    /// Begins an object; its bytes are written to what is given, and end without a blank.
    pub(super) fn begin(&mut self, number: u32) -> &mut Vec<u8> {
        if !self.bytes.is_empty() {
            self.bytes.push(b'\n');
        }
        self.places.push((number, self.bytes.len()));
        &mut self.bytes
    }

    /// What the stream holds, packed, and where the first object begins in it.
    fn packed(&self) -> io::Result<(Vec<u8>, usize)> {
        let mut all = Vec::with_capacity(self.bytes.len() + 12 * self.places.len());
        for (number, place) in &self.places {
            write!(all, "{number} {place} ")?;
        }
        let first = all.len();
        all.extend_from_slice(&self.bytes);
        Ok((packed(&all)?, first))
    }
}

/// Where an object lies.
#[derive(Debug, Clone, Copy)]
enum Place {
    /// There is none of this number.
    Nowhere,
    /// From this byte on.
    At(usize),
    /// In a stream, at this place.
    Within(u32, usize),
}

impl Place {
    /// Its entry in the table, of one, four and two bytes (7.5.8.3).
    fn entry(self) -> io::Result<[u8; 7]> {
        let (kind, where_to, which) = match self {
            Self::Nowhere => (0, 0, u16::MAX),
            Self::At(byte) => (1, u32::try_from(byte).map_err(io::Error::other)?, 0),
            Self::Within(stream, place) => (2, stream, u16::try_from(place).map_err(io::Error::other)?),
        };
        let ([a, b, c, d], [e, f]) = (where_to.to_be_bytes(), which.to_be_bytes());
        Ok([kind, a, b, c, d, e, f])
    }
}

/// The file, with objects beside its own. The first half of its name is the sum of all that stands before the table, the second
/// the same, for its seal to be written over it (14.4).
pub(super) fn write(file: Document, mut bundles: Vec<Bundle>) -> io::Result<Vec<u8>> {
    let mut places = vec![Place::Nowhere; file.max_id as usize + 1];
    let mut bytes = format!("%PDF-{}\n%", file.version).into_bytes();
    bytes.extend_from_slice(&file.binary_mark);
    bytes.push(b'\n');
    let mut bundle = Bundle::default();
    for ((number, _), object) in file.objects {
        match object {
            Object::Stream(stream) => {
                places[number as usize] = Place::At(bytes.len());
                put_stream(&mut bytes, number as usize, &stream.dict, &stream.content)?;
            }
            other => {
                if bundle.is_full() {
                    bundles.push(std::mem::take(&mut bundle));
                }
                put(bundle.begin(number), &other)?;
            }
        }
    }
    bundles.push(bundle);
    let contents: Vec<(Vec<u8>, usize)> = bundles.par_iter().map(Bundle::packed).collect::<Result<_, _>>()?;
    for (bundle, (content, first)) in bundles.iter().zip(contents) {
        let number = places.len();
        for (index, (object, _)) in bundle.places.iter().enumerate() {
            places[*object as usize] = Place::Within(number as u32, index);
        }
        places.push(Place::At(bytes.len()));
        let facts = dictionary! {
            "Type" => "ObjStm",
            "N" => bundle.places.len() as i64,
            "First" => first as i64,
            "Filter" => "FlateDecode",
            "Length" => content.len() as i64,
        };
        put_stream(&mut bytes, number, &facts, &content)?;
    }
    let start = bytes.len();
    let name: Vec<u8> = Sha256::digest(&bytes).iter().take(16).copied().collect();
    let name = Object::String(name, StringFormat::Hexadecimal);
    let number = places.len();
    places.push(Place::At(start));
    let table: Vec<[u8; 7]> = places.iter().map(|place| place.entry()).collect::<Result<_, _>>()?;
    let table = packed(table.as_flattened())?;
    let mut facts = file.trailer;
    facts.set("Type", "XRef");
    facts.set("Size", places.len() as i64);
    facts.set("W", vec![1.into(), 4.into(), 2.into()]);
    facts.set("Filter", "FlateDecode");
    facts.set("Length", table.len() as i64);
    facts.set("ID", vec![name.clone(), name]);
    put_stream(&mut bytes, number, &facts, &table)?;
    write!(bytes, "startxref\n{start}\n%%EOF")?;
    Ok(bytes)
}

fn put_stream(bytes: &mut Vec<u8>, number: usize, facts: &Dictionary, content: &[u8]) -> io::Result<()> {
    writeln!(bytes, "{number} 0 obj")?;
    put_dictionary(bytes, facts)?;
    bytes.extend_from_slice(b"stream\n");
    bytes.extend_from_slice(content);
    bytes.extend_from_slice(b"\nendstream\nendobj\n");
    Ok(())
}

fn put_dictionary(bytes: &mut Vec<u8>, dictionary: &Dictionary) -> io::Result<()> {
    bytes.extend_from_slice(b"<<");
    for (key, value) in dictionary {
        put_name(bytes, key)?;
        part(bytes, value);
        put(bytes, value)?;
    }
    bytes.extend_from_slice(b">>");
    Ok(())
}

/// A blank before what would run into what stands before it.
fn part(bytes: &mut Vec<u8>, object: &Object) {
    use Object::{Boolean, Integer, Null, Real, Reference};
    if matches!(object, Null | Boolean(_) | Integer(_) | Real(_) | Reference(_)) {
        bytes.push(b' ');
    }
}

/// Any object but a stream, which has a number of its own.
pub(super) fn put(bytes: &mut Vec<u8>, object: &Object) -> io::Result<()> {
    match object {
        Object::Null => bytes.extend_from_slice(b"null"),
        Object::Boolean(value) => write!(bytes, "{value}")?,
        Object::Integer(value) => write!(bytes, "{value}")?,
        Object::Real(value) => write!(bytes, "{value}")?,
        Object::Name(name) => put_name(bytes, name)?,
        Object::String(text, StringFormat::Hexadecimal) => {
            bytes.push(b'<');
            text.iter().try_for_each(|byte| write!(bytes, "{byte:02X}"))?;
            bytes.push(b'>');
        }
        Object::String(text, StringFormat::Literal) => {
            bytes.push(b'(');
            for &byte in text {
                match byte {
                    b'(' | b')' | b'\\' => bytes.extend_from_slice(&[b'\\', byte]),
                    b'\r' => bytes.extend_from_slice(b"\\r"),
                    _ => bytes.push(byte),
                }
            }
            bytes.push(b')');
        }
        Object::Array(array) => {
            bytes.push(b'[');
            for (place, object) in array.iter().enumerate() {
                if place > 0 {
                    part(bytes, object);
                }
                put(bytes, object)?;
            }
            bytes.push(b']');
        }
        Object::Dictionary(dictionary) => put_dictionary(bytes, dictionary)?,
        Object::Reference((number, generation)) => write!(bytes, "{number} {generation} R")?,
        Object::Stream(_) => return Err(io::Error::other("a stream within another object")),
    }
    Ok(())
}

/// Bytes that are no letters, and those that end a name, by their codes (7.3.5).
fn put_name(bytes: &mut Vec<u8>, name: &[u8]) -> io::Result<()> {
    bytes.push(b'/');
    for &byte in name {
        if byte.is_ascii_graphic() && !b"()<>[]{}/%#".contains(&byte) {
            bytes.push(byte);
        } else {
            write!(bytes, "#{byte:02X}")?;
        }
    }
    Ok(())
}

/// Bytes deflated. Level 6: 8 leaves 1 % less and takes twice as long.
pub(super) fn packed(bytes: &[u8]) -> io::Result<Vec<u8>> {
    let mut encoder = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::new(6));
    encoder.write_all(bytes)?;
    encoder.finish()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use lopdf::Stream;

    use super::*;

    /// Against lopdf's own reader: every kind of object, more of them than one stream has, numbers that nothing has.
    #[test]
    fn what_is_written_is_read() {
        let odd = Object::String(b"a (b)) \\ \r\n \xff".to_vec(), StringFormat::Literal);
        let objects = dictionary! {
            "Plain" => vec![Object::Null, true.into(), 7.into(), (-3).into(), 0.25.into(), (9, 0).into()],
            "Odd name #/" => Object::Name(b"x y#(".to_vec()),
            "Text" => odd,
            "Bytes" => Object::String(vec![0, 255, 16], StringFormat::Hexadecimal),
            "Nested" => dictionary! { "Empty" => Vec::new(), "Deep" => vec![dictionary! { "A" => 1 }.into(), 2.into()] },
        };
        let mut file = Document::with_version("1.7");
        let root = file.add_object(dictionary! { "Type" => "Catalog" });
        file.trailer.set("Root", root);
        let gone = file.add_object(1);
        let stream = file.add_object(Stream::new(dictionary! { "Own" => true }, b"some bytes".to_vec()));
        let ids: Vec<_> = (0..900)
            .map(|number| {
                let mut object = objects.clone();
                object.set("Number", number);
                (number, file.add_object(object))
            })
            .collect();
        file.objects.remove(&gone);
        let mut bundle = Bundle::default();
        let first = file.max_id + 1;
        for number in first..first + 2 {
            bundle.begin(number).extend_from_slice(b"[1 2]");
        }
        file.max_id += 2;
        let bytes = write(file, vec![bundle]).unwrap();
        let read = Document::load_mem(&bytes).unwrap();
        assert!(read.get_object(gone).is_err());
        assert_eq!(read.get_object(stream).unwrap().as_stream().unwrap().content, b"some bytes");
        for (number, id) in ids {
            let mut wanted = objects.clone();
            wanted.set("Number", number);
            assert_eq!(*read.get_object(id).unwrap(), Object::Dictionary(wanted));
        }
        let beside = vec![Object::Integer(1), Object::Integer(2)];
        assert_eq!(*read.get_object((first + 1, 0)).unwrap().as_array().unwrap(), beside);
        assert_eq!(read.catalog().unwrap().get(b"Type").unwrap().as_name().unwrap(), b"Catalog");
    }
}
