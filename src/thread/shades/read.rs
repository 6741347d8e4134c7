//! Reading a card: CSV as people's spreadsheets write it.

use std::collections::BTreeMap;
use std::fmt;

use rust_decimal::Decimal;

use super::{CardWarning, MAX_PRICE, MAX_SHADES, MAX_TEXT, MIN_SKEIN_MM, Shade};
use crate::ground::advice::Advice;
use crate::ground::colour::{Lab, Srgb8};
use crate::ground::plain::breaks_line;
use crate::ground::store::seal;
use crate::ground::table::{WideRow, hold_to_fields};
use crate::ground::units::Millimetres;
use crate::thread::code;
use crate::thread::skein::MOST_STRANDS;

/// The columns that a card may have; others are told of ([`CardWarning::UnknownColumns`]).
pub const COLUMNS: [&str; 11] =
    ["code", "name", "colour", "l", "a", "b", "price", "length_m", "strands", "owned", "kind"];

/// What is wrong with a shade card.
#[derive(Debug, thiserror::Error)]
pub enum ShadesError {
    /// The bytes are not UTF-8 text.
    #[error("letters of the shade card cannot be read (row {row}): it is not saved as UTF-8")]
    Encoding {
        /// The row of the first bad byte, the header being row 1.
        row: usize,
    },
    /// No shade in it.
    #[error("the shade card holds no shade")]
    Empty,
    /// Too many shades.
    #[error("the shade card holds more than {MAX_SHADES} shades")]
    TooMany,
    /// A column that must be there is not.
    #[error("the shade card has no column `{column}`; its columns are: {found}")]
    MissingColumn {
        /// The column.
        column: &'static str,
        /// The header as found.
        found: String,
    },
    /// A column is there twice.
    #[error("the shade card has the column `{column}` twice")]
    DoubleColumn {
        /// The column.
        column: &'static str,
    },
    /// A row that is not CSV.
    #[error("row {row} of the shade card cannot be read")]
    Row {
        /// The row, the header being row 1.
        row: u64,
        /// Why.
        source: csv::Error,
    },
    /// A row that goes on and on.
    #[error("row {row} of the shade card has more than {most} fields")]
    WideRow {
        /// The row, the header being row 1.
        row: u64,
        /// The most that are read.
        most: usize,
    },
    /// A field that makes no sense.
    #[error("row {row}, column `{column}` of the shade card: `{text}` is not {wanted}")]
    Field {
        /// The row, the header being row 1.
        row: u64,
        /// The column.
        column: &'static str,
        /// What stands there.
        text: String,
        /// What should.
        wanted: FieldForm,
    },
    /// A code that is on the card already, perhaps with other capitals and spaces: it would be taken for the same
    /// thread wherever codes are looked up.
    #[error(
        "row {row} of the shade card has the code `{code}`, as row {first} has{}",
        if code == other { String::new() } else { format!(" (`{other}`: capitals and spaces do not tell codes apart)") }
    )]
    DuplicateCode {
        /// The row, the header being row 1.
        row: u64,
        /// The row that had it first.
        first: u64,
        /// The code.
        code: String,
        /// As the first row has it.
        other: String,
    },
}

/// What a field of a card holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FieldForm {
    /// A text.
    Text,
    /// A text of a length.
    ShortText,
    /// A number that is not negative.
    Number,
    /// L of CIE Lab.
    Lightness,
    /// a or b of CIE Lab.
    Opponent,
    /// A colour.
    Colour,
    /// A length of thread.
    Metres,
    /// A number of strands.
    Strands,
}

impl fmt::Display for FieldForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Text => "a text",
            Self::ShortText => "a text of at most 200 characters on one line",
            Self::Number => "a number from 0 to 1,000,000, such as 1.15",
            Self::Lightness => "a lightness from 0 to 100",
            Self::Opponent => "a number from -128 to 128",
            Self::Colour => "a colour written as #rrggbb",
            Self::Metres => "a length in metres, 0.1 to 100",
            Self::Strands => "a number of strands, 1 to 24",
        })
    }
}

impl ShadesError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Encoding { .. } => Advice::SaveAsUtf8,
            Self::Empty | Self::MissingColumn { .. } | Self::DoubleColumn { .. } => Advice::NameColumns,
            Self::WideRow { .. } => Advice::NameColumns,
            Self::TooMany => Advice::FewerShades,
            Self::Row { .. } => Advice::QuoteField,
            Self::Field { column: "colour", .. } => Advice::WriteColour,
            Self::Field { .. } => Advice::MendField,
            Self::DuplicateCode { .. } => Advice::OwnCodes,
        }
    }
}

/// The most fields of a row: a dozen are of use, and spreadsheets leave empty ones behind.
const MOST_FIELDS: usize = 1000;

/// So many columns that are not known are named.
const MOST_NAMED: usize = 20;

/// Where the known columns stand, and what others there are.
struct Header {
    places: BTreeMap<&'static str, usize>,
    has_lab: bool,
    unknown: Vec<String>,
}

impl Header {
    fn new(record: &csv::StringRecord) -> Result<Self, ShadesError> {
        let mut places = BTreeMap::new();
        let mut unknown = Vec::new();
        for (place, field) in record.iter().enumerate() {
            let text = field.trim().to_ascii_lowercase();
            let text = if text == "color" { "colour" } else { &text };
            match COLUMNS.iter().find(|&&column| column == text) {
                Some(&column) if places.insert(column, place).is_some() => {
                    return Err(ShadesError::DoubleColumn { column });
                }
                // Spreadsheets leave empty columns behind.
                None if !text.is_empty() && !seal::is_heading(text) && unknown.len() < MOST_NAMED => {
                    unknown
                        .push(field.trim().chars().filter(|letter| !letter.is_control()).take(40).collect());
                }
                _ => {}
            }
        }
        let has_lab = ["l", "a", "b"].iter().all(|column| places.contains_key(column));
        let found = || {
            let shown = record.iter().take(12).map(|text| text.chars().take(24).collect::<String>());
            shown.collect::<Vec<_>>().join(", ")
        };
        for column in ["code", "name", "colour"] {
            if !(places.contains_key(column) || column == "colour" && has_lab) {
                return Err(ShadesError::MissingColumn { column, found: found() });
            }
        }
        Ok(Self { places, has_lab, unknown })
    }
}

/// One row with its header, for reading fields by name.
struct Row<'a> {
    header: &'a Header,
    record: &'a csv::StringRecord,
    row: u64,
}

impl Row<'_> {
    fn text(&self, column: &'static str) -> &str {
        self.header.places.get(column).and_then(|&place| self.record.get(place)).map_or("", str::trim)
    }

    fn bad(&self, column: &'static str, wanted: FieldForm) -> ShadesError {
        let text = self.text(column).chars().take(40).collect();
        ShadesError::Field { row: self.row, column, text, wanted }
    }

    fn required(&self, column: &'static str) -> Result<String, ShadesError> {
        let text = self.text(column);
        if text.is_empty() {
            return Err(self.bad(column, FieldForm::Text));
        }
        if text.chars().count() > MAX_TEXT || text.chars().any(breaks_line) {
            return Err(self.bad(column, FieldForm::ShortText));
        }
        Ok(text.to_owned())
    }

    /// A decimal that is not negative; a comma may stand for the point.
    fn decimal(&self, column: &'static str) -> Result<Option<Decimal>, ShadesError> {
        let text = self.text(column);
        if text.is_empty() {
            return Ok(None);
        }
        let wanted = FieldForm::Number;
        let value = super::decimal(text).ok_or_else(|| self.bad(column, wanted))?;
        if value.is_sign_negative() || value > MAX_PRICE {
            return Err(self.bad(column, wanted));
        }
        Ok(Some(value))
    }

    fn lab(&self) -> Result<Lab, ShadesError> {
        let part = |column: &'static str, range: std::ops::RangeInclusive<f64>, wanted| {
            let value: f64 =
                self.text(column).replace(',', ".").parse().map_err(|_| self.bad(column, wanted))?;
            if range.contains(&value) { Ok(value) } else { Err(self.bad(column, wanted)) }
        };
        Ok(Lab {
            l: part("l", 0.0..=100.0, FieldForm::Lightness)?,
            a: part("a", -128.0..=128.0, FieldForm::Opponent)?,
            b: part("b", -128.0..=128.0, FieldForm::Opponent)?,
        })
    }

    fn shade(&self) -> Result<Shade, ShadesError> {
        let text = self.text("colour");
        let colour: Option<Srgb8> = if text.is_empty() {
            None
        } else {
            Some(text.parse().map_err(|_| self.bad("colour", FieldForm::Colour))?)
        };
        let lab = if self.header.has_lab && !self.text("l").is_empty() { Some(self.lab()?) } else { None };
        let (colour, lab) = match (colour, lab) {
            (Some(colour), Some(lab)) => (colour, lab),
            (Some(colour), None) => (colour, colour.lab()),
            (None, Some(lab)) => (lab.srgb8(), lab),
            (None, None) => return Err(self.bad("colour", FieldForm::Colour)),
        };
        let length = match self.decimal("length_m")? {
            None => None,
            Some(metres) => {
                let metres: f64 = metres.to_string().parse().unwrap_or(f64::NAN);
                let length =
                    Millimetres::new(metres * 1000.0).ok().filter(|length| length.mm() >= MIN_SKEIN_MM);
                Some(length.ok_or_else(|| self.bad("length_m", FieldForm::Metres))?)
            }
        };
        let strands = match self.text("strands") {
            "" => None,
            text => {
                let strands = text.parse().ok().filter(|strands| (1..=MOST_STRANDS).contains(strands));
                Some(strands.ok_or_else(|| self.bad("strands", FieldForm::Strands))?)
            }
        };
        let kind = self.text("kind");
        Ok(Shade {
            code: self.required("code")?,
            name: self.required("name")?,
            colour,
            lab,
            price: self.decimal("price")?,
            length,
            strands,
            owned: self.decimal("owned")?,
            kind: if kind.is_empty() { None } else { Some(self.required("kind")?) },
        })
    }
}

/// The separator that the header uses most, of comma, semicolon and tab.
fn separator(text: &str) -> u8 {
    let header = text.lines().next().unwrap_or_default();
    let count = |separator: char| header.matches(separator).count();
    if count('\t') > count(',').max(count(';')) {
        b'\t'
    } else if count(';') > count(',') {
        b';'
    } else {
        b','
    }
}

/// All shades of a card, and what its owner should know.
pub(super) fn read(bytes: &[u8]) -> Result<(Vec<Shade>, Vec<CardWarning>), ShadesError> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
        ShadesError::Encoding { row: before.iter().filter(|&&byte| byte == b'\n').count() + 1 }
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let separator = separator(text);
    hold_to_fields(text.as_bytes(), separator, MOST_FIELDS)
        .map_err(|WideRow { row, most }| ShadesError::WideRow { row, most })?;
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut header = None;
    let mut shades: Vec<Shade> = Vec::new();
    let mut rows: BTreeMap<String, (u64, usize)> = BTreeMap::new();
    loop {
        let more = reader.read_record(&mut record).map_err(|source| ShadesError::Row {
            row: source.position().map_or(0, csv::Position::line),
            source,
        })?;
        if !more {
            break;
        }
        if record.iter().all(|field| field.trim().is_empty()) {
            continue;
        }
        let Some(header) = &header else {
            header = Some(Header::new(&record)?);
            continue;
        };
        let row = record.position().map_or(0, csv::Position::line);
        let shade = Row { header, record: &record, row }.shade()?;
        if let Some((first, place)) = rows.insert(code::key(&shade.code), (row, shades.len())) {
            let other = shades[place].code.clone();
            return Err(ShadesError::DuplicateCode { row, first, code: shade.code, other });
        }
        shades.push(shade);
        if shades.len() > MAX_SHADES {
            return Err(ShadesError::TooMany);
        }
    }
    if shades.is_empty() {
        return Err(ShadesError::Empty);
    }
    let unknown = header.map(|header| header.unknown).unwrap_or_default();
    let warnings =
        if unknown.is_empty() { Vec::new() } else { vec![CardWarning::UnknownColumns { columns: unknown }] };
    Ok((shades, warnings))
}
