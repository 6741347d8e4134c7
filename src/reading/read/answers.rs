//! What a person says of symbols in a table: the numbers of the picture of symbols, and what each is.

use std::collections::BTreeMap;

use super::Answer;
use crate::ground::table::{WideRow, hold_to_fields};

/// The columns that are read; others, such as those of doubts, are passed over.
pub const COLUMNS: [&str; 7] = ["number", "code", "name", "colour", "strands", "same", "bare"];

/// The most fields of a row, and the most characters of one.
const MOST_FIELDS: usize = 200;
const MOST_TEXT: usize = 200;

/// What is wrong with a table of answers.
#[derive(Debug, thiserror::Error)]
pub enum AnswersError {
    /// No text.
    #[error("it is not UTF-8 text")]
    Encoding,
    /// A row that goes on and on.
    #[error(transparent)]
    Wide(#[from] WideRow),
    /// A row that is not CSV.
    #[error("row {row} cannot be read")]
    Row {
        /// From 1.
        row: u64,
        /// Why.
        source: csv::Error,
    },
    /// No column of numbers.
    #[error("it has no column `number`")]
    NoNumbers,
    /// A field that cannot be read.
    #[error("row {row}: `{text}` in the column `{column}` is not {wanted}")]
    Field {
        /// From 1.
        row: u64,
        /// The column.
        column: &'static str,
        /// What stands there.
        text: String,
        /// What should.
        wanted: &'static str,
    },
}

/// Reads a table.
///
/// # Errors
/// [`AnswersError`] names the row and the column.
pub fn answers(bytes: &[u8]) -> Result<Vec<Answer>, AnswersError> {
    let text = std::str::from_utf8(bytes).map_err(|_| AnswersError::Encoding)?;
    let text = text.trim_start_matches('\u{feff}');
    let first = text.lines().next().unwrap_or_default();
    let separator = [b';', b'\t', b',']
        .into_iter()
        .max_by_key(|&mark| (first.bytes().filter(|&byte| byte == mark).count(), mark == b','));
    let separator = separator.unwrap_or(b',');
    hold_to_fields(text.as_bytes(), separator, MOST_FIELDS)?;
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = reader.headers().map_err(|source| AnswersError::Row { row: 1, source })?.clone();
    let mut places: BTreeMap<&'static str, usize> = BTreeMap::new();
    for (place, name) in header.iter().enumerate() {
        let name = name.to_lowercase();
        if let Some(known) =
            COLUMNS.iter().find(|&&known| known == name || known == "colour" && name == "color")
        {
            places.insert(known, place);
        }
    }
    if !places.contains_key("number") {
        return Err(AnswersError::NoNumbers);
    }
    let mut answers = Vec::new();
    for (at, record) in reader.records().enumerate() {
        let row = at as u64 + 2;
        let record = record.map_err(|source| AnswersError::Row { row, source })?;
        let text = |column: &str| {
            let field = places.get(column).and_then(|&place| record.get(place)).unwrap_or_default();
            Some(field).filter(|field| !field.is_empty())
        };
        let bad = |column: &'static str, wanted: &'static str| AnswersError::Field {
            row,
            column,
            text: text(column).unwrap_or_default().chars().take(40).collect(),
            wanted,
        };
        let number = |column: &'static str| {
            let number = text(column).map(|text| text.parse::<usize>().ok().filter(|&number| number > 0));
            number.map(|number| number.ok_or_else(|| bad(column, "a number from 1"))).transpose()
        };
        if record.iter().all(str::is_empty) {
            continue;
        }
        let short = |column: &'static str| {
            let is_short =
                |text: &str| text.chars().count() <= MOST_TEXT && !text.chars().any(char::is_control);
            text(column)
                .map(
                    |text| {
                        if is_short(text) { Ok(text.to_owned()) } else { Err(bad(column, "a short text")) }
                    },
                )
                .transpose()
        };
        let strands = number("strands")?.map(|strands| {
            u8::try_from(strands)
                .ok()
                .filter(|strands| *strands <= 12)
                .ok_or_else(|| bad("strands", "1 to 12"))
        });
        let bare = match text("bare").map(str::to_lowercase).as_deref() {
            None | Some("no" | "0" | "false") => false,
            Some("yes" | "1" | "true" | "x") => true,
            Some(_) => return Err(bad("bare", "yes or no")),
        };
        answers.push(Answer {
            number: number("number")?.ok_or_else(|| bad("number", "a number from 1"))?,
            code: short("code")?,
            name: short("name")?,
            colour: text("colour")
                .map(|text| text.parse().map_err(|_| bad("colour", "a colour as #rrggbb")))
                .transpose()?,
            strands: strands.transpose()?,
            same: number("same")?,
            bare,
        });
    }
    Ok(answers)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn answers_are_read_as_spreadsheets_write_them() {
        let read = answers(
            "\u{feff}number;code;bare;same;doubt\r\n3;P12;;;not in the key\r\n\r\n4;;yes;;\r\n5;;;3;"
                .as_bytes(),
        )
        .unwrap();
        assert_eq!(read.len(), 3);
        assert_eq!((read[0].number, read[0].code.as_deref()), (3, Some("P12")));
        assert!(read[1].bare && read[1].code.is_none());
        assert_eq!(read[2].same, Some(3));
    }

    #[test]
    fn what_cannot_be_read_is_told_with_row_and_column() {
        let told = |text: &str| answers(text.as_bytes()).unwrap_err().to_string();
        assert!(told("code\nP12").contains("`number`"));
        assert_eq!(
            told("number,colour\n1,blue"),
            "row 2: `blue` in the column `colour` is not a colour as #rrggbb"
        );
        assert!(told("number\n0").contains("row 2"));
        assert!(told("number,strands\n1,13").contains("1 to 12"));
    }
}
