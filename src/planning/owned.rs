//! What lies in the drawer, from a table.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use super::shopping::Drawer;
use crate::ground::advice::Advice;
use crate::ground::store::seal;
use crate::ground::table::{WideRow, hold_to_fields};
use crate::thread::code;
use crate::thread::shades::decimal;

/// A table of what is owned that cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum OwnedError {
    /// A row that is no row of a table.
    #[error("row {row} cannot be read")]
    Row {
        /// From 1, the headings counted.
        row: u64,
        /// Why.
        source: csv::Error,
    },
    /// A row that goes on and on.
    #[error("row {} has more than {} fields", .0.row, .0.most)]
    Wide(WideRow),
    /// Columns are missing.
    #[error("it has no columns code and owned")]
    Columns,
    /// An amount that is none.
    #[error("row {row}: `{text}` is no number of skeins")]
    Number {
        /// From 1, the headings counted.
        row: u64,
        /// What stands there.
        text: String,
    },
    /// A thread that stands there twice.
    #[error("row {row}: the code `{code}` stands there twice")]
    Twice {
        /// From 1, the headings counted.
        row: u64,
        /// The code.
        code: String,
    },
}

impl OwnedError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        Advice::GiveOwned
    }
}

/// More skeins than anybody owns of a thread.
const MOST: u32 = 1_000_000;

/// The most fields of a row.
const MOST_FIELDS: usize = 1000;

/// So many columns that are not used are named.
const MOST_NAMED: usize = 20;

/// Lays what a table with the columns `code` and `owned` says over what the drawer says; commas, semicolons or tabs. Gives
/// the names of columns that are not used, but for `name`, which is there for people.
///
/// # Errors
/// [`OwnedError`]; what was read by then is in the drawer.
pub fn read_owned(bytes: &[u8], drawer: &mut Drawer) -> Result<Vec<String>, OwnedError> {
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let first = text.split(|&byte| byte == b'\n').next().unwrap_or_default();
    let delimiter = [b';', b'\t'].into_iter().find(|mark| first.contains(mark)).unwrap_or(b',');
    hold_to_fields(text, delimiter, MOST_FIELDS).map_err(OwnedError::Wide)?;
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).flexible(true).from_reader(text);
    let row_of = |source: csv::Error| {
        let row = source.position().map_or(0, csv::Position::line);
        OwnedError::Row { row, source }
    };
    let headers = reader.headers().map_err(row_of)?.clone();
    let place = |name: &str| headers.iter().position(|header| header.trim().eq_ignore_ascii_case(name));
    let (Some(code_at), Some(owned_at)) = (place("code"), place("owned")) else {
        return Err(OwnedError::Columns);
    };
    let is_used =
        |name: &str| ["", "code", "owned", "name"].iter().any(|used| used.eq_ignore_ascii_case(name));
    let unused = headers.iter().map(str::trim).filter(|name| !is_used(name) && !seal::is_heading(name));
    let unused = unused.map(|name| name.chars().filter(|letter| !letter.is_control()).take(40).collect());
    let unused = unused.take(MOST_NAMED).collect();
    let mut seen = BTreeSet::new();
    for (index, record) in reader.records().enumerate() {
        let record = record.map_err(row_of)?;
        let row = index as u64 + 2;
        let field = |at: usize| record.get(at).unwrap_or_default().trim();
        let (code, text) = (field(code_at).to_owned(), field(owned_at).to_owned());
        // An empty field says nothing.
        if code.is_empty() || text.is_empty() {
            continue;
        }
        let Some(owned) =
            decimal(&text).filter(|&owned| owned >= Decimal::ZERO && owned <= Decimal::from(MOST))
        else {
            return Err(OwnedError::Number { row, text });
        };
        if !seen.insert(code::key(&code)) {
            return Err(OwnedError::Twice { row, code });
        }
        drawer.entry(&code).owned = Some(owned);
    }
    Ok(unused)
}
