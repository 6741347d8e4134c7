//! Tables as comma-separated text from elsewhere: how wide their rows may be.
//!
//! A reader of CSV keeps where each field of a row ends, so that a row of commas alone takes thirty times its own memory.
//! It is looked through once before, with nothing kept.

use csv_core::{ReadFieldResult, ReaderBuilder};

/// A row with too many fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("it has more than {most} fields")]
pub struct WideRow {
    /// The line on which the row begins or goes on, from 1.
    pub row: u64,
    /// The most fields that are read.
    pub most: usize,
}

/// Holds the rows of a table to so many fields.
///
/// # Errors
/// [`WideRow`] where the first row is that has more.
pub fn hold_to_fields(mut bytes: &[u8], separator: u8, most: usize) -> Result<(), WideRow> {
    let mut reader = ReaderBuilder::new().delimiter(separator).build();
    let mut field = [0; 4096];
    let mut fields = 0;
    loop {
        let (result, read, _) = reader.read_field(bytes, &mut field);
        bytes = bytes.get(read..).unwrap_or_default();
        match result {
            ReadFieldResult::InputEmpty | ReadFieldResult::OutputFull => {}
            ReadFieldResult::Field { record_end: true } => fields = 0,
            ReadFieldResult::Field { record_end: false } => fields += 1,
            ReadFieldResult::End => return Ok(()),
        }
        if fields >= most {
            return Err(WideRow { row: reader.line(), most });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_counted_as_the_reader_parts_them() {
        let held = |text: &str, most| hold_to_fields(text.as_bytes(), b',', most).map_err(|wide| wide.row);
        assert_eq!(held("a,b,c\n1,2,3\n", 3), Ok(()));
        assert_eq!(held("a,b,c\n1,2,3,4\n", 3), Err(2));
        // Separators and breaks within quotes part nothing, and a row goes on over them.
        assert_eq!(held("\"a,b,c\nd,e\",2,3", 3), Ok(()));
        assert_eq!(held(",,\"\n\",,", 4), Err(2));
        assert_eq!(held("", 1), Ok(()));
        let long = format!("{},b\n", "x".repeat(10_000));
        assert_eq!(held(&long, 2), Ok(()));
        assert_eq!(hold_to_fields(b"a;b;c", b';', 2).map_err(|wide| wide.row), Err(1));
    }
}
