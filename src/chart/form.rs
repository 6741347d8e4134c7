//! JSON that a person can read and that stays short: what stands in the document's own lists takes a line each, and
//! what is within it no more.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::Formatter;

/// Lists and tables this deep are broken into lines: the document, and its lists.
const BROKEN: usize = 2;

#[derive(Default)]
struct Lines {
    depth: usize,
    /// Whether anything stands in what is open, by depth.
    filled: Vec<bool>,
}

impl Lines {
    fn open<W: ?Sized + Write>(&mut self, writer: &mut W, sign: &[u8]) -> io::Result<()> {
        self.depth += 1;
        self.filled.push(false);
        writer.write_all(sign)
    }

    fn close<W: ?Sized + Write>(&mut self, writer: &mut W, sign: &[u8]) -> io::Result<()> {
        let is_broken = self.depth <= BROKEN && self.filled.pop() == Some(true);
        if self.depth > BROKEN {
            self.filled.pop();
        }
        self.depth -= 1;
        if is_broken {
            self.new_line(writer)?;
        }
        writer.write_all(sign)
    }

    fn new_line<W: ?Sized + Write>(&self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b"\n")?;
        (0..self.depth).try_for_each(|_| writer.write_all(b"  "))
    }

    fn item<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        if let Some(filled) = self.filled.last_mut() {
            *filled = true;
        }
        let is_broken = self.depth <= BROKEN;
        match (first, is_broken) {
            (true, true) => self.new_line(writer),
            (true, false) => Ok(()),
            (false, true) => writer.write_all(b",").and_then(|()| self.new_line(writer)),
            (false, false) => writer.write_all(b", "),
        }
    }
}

impl Formatter for Lines {
    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"[")
    }
    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"]")
    }
    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.item(writer, first)
    }
    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"{")
    }
    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"}")
    }
    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.item(writer, first)
    }
    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }
}

/// A document as text.
///
/// # Errors
/// When it has keys that are no strings.
pub(super) fn text(document: &impl Serialize) -> serde_json::Result<String> {
    let mut bytes = Vec::new();
    document.serialize(&mut serde_json::Serializer::with_formatter(&mut bytes, Lines::default()))?;
    bytes.push(b'\n');
    Ok(String::from_utf8(bytes).expect("JSON is UTF-8"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn what_stands_in_a_list_takes_a_line() {
        let value = serde_json::json!({
            "empty": [], "list": [{"a": 1, "b": [1, {"c": []}]}, {}], "number": 1, "table": {"rows": ["0*4", "1"]}
        });
        let text = text(&value).unwrap();
        assert_eq!(
            text,
            "{\n  \"empty\": [],\n  \"list\": [\n    {\"a\": 1, \"b\": [1, {\"c\": []}]},\n    {}\n  ],\n  \
             \"number\": 1,\n  \"table\": {\n    \"rows\": [\"0*4\", \"1\"]\n  }\n}\n"
        );
        assert_eq!(serde_json::from_str::<serde_json::Value>(&text).unwrap(), value);
    }
}
