//! The saved form of a chart: JSON that a person can read, rows written as runs.
//!
//! A row is one string of runs parted by spaces: the needle's place in the list, or `.` for bare cloth, then
//! `*` and the length where it is not 1. `4*12 . 7` is twelve cells of needle 4, a bare one and one of
//! needle 7.

use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

use super::{
    Cell, Chart, ChartError, ChartId, Fingerprint, Identity, MAX_TITLE, Made, Needle, Parent, PlacedMark,
    PrintedSymbol, Revision, Step, Steps, form,
};
use crate::ground::advice::Advice;
use crate::ground::units::GridSize;
use crate::thread::cloth::Cloth;
use crate::thread::shades::{ShadeCard, ShadesError};

/// The newest version of the saved form that this brede reads.
pub const VERSION: u32 = 3;

/// The version of a chart of which no paper is known: version 3 has the symbols of the paper that a chart was read from, and
/// a chart without them is written so that earlier bredes read it too.
const WITHOUT_PAPER: u32 = 2;

/// What is wrong with a saved chart.
#[derive(Debug, thiserror::Error)]
pub enum DocumentError {
    /// Not JSON, or not of the form of a chart.
    #[error("this is not a brede chart, or it is damaged")]
    Form {
        /// Why.
        source: serde_json::Error,
    },
    /// Written by a later brede.
    #[error("this chart has version {found}; this brede reads up to version {VERSION}")]
    Newer {
        /// Its version.
        found: u32,
    },
    /// A row that cannot be read.
    #[error("row {row} of the chart is damaged at `{run}`")]
    Run {
        /// From 1.
        row: usize,
        /// The run at fault.
        run: String,
    },
    /// A row with too many or too few cells.
    #[error("row {row} of the chart has {found} squares, not {wanted}")]
    RowLength {
        /// From 1.
        row: usize,
        /// Its cells, counted until they are too many.
        found: usize,
        /// The columns of the chart.
        wanted: usize,
    },
    /// Too many or too few rows.
    #[error("the chart has {found} rows of squares, not {wanted}")]
    Rows {
        /// Its rows.
        found: usize,
        /// The rows it says it has.
        wanted: usize,
    },
    /// A card that cannot be read.
    #[error("the shade card in the chart is damaged")]
    Card(#[source] Box<ShadesError>),
    /// Symbols of a paper that no paper has.
    #[error("the printed symbols in the chart are damaged")]
    Printed,
    /// Parts that do not fit together.
    #[error(transparent)]
    Chart(#[from] ChartError),
}

impl DocumentError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Newer { .. } => Advice::NewerBrede,
            Self::Chart(error) => error.advice(),
            _ => Advice::EarlierCopy,
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    brede_chart: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    id: Option<ChartId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    parent: Option<Parent>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    revision: Option<Revision>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    fingerprint: Option<Fingerprint>,
    title: String,
    size: GridSize,
    cloth: Cloth,
    needles: Vec<Needle>,
    rows: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    made: Option<Made>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    marks: Vec<PlacedMark>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    card: Option<SavedCard>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    printed: Vec<PrintedSymbol>,
    /// The oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    steps: Vec<Step>,
    /// So many of the last steps are undone.
    #[serde(default, skip_serializing_if = "is_none")]
    undone: usize,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_none(number: &usize) -> bool {
    *number == 0
}

/// The card as it is saved: lines of CSV, which are short and can be read by a person.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SavedCard {
    name: String,
    rows: Vec<String>,
}

/// A chart that was opened, and what is to be said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Opened {
    /// The chart.
    pub chart: Chart,
    /// What the person should know.
    pub notes: Vec<OpeningNote>,
}

/// Something about a saved chart that the person should know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum OpeningNote {
    /// It was saved by an older brede and was given what it lacked.
    Older {
        /// The version of its form.
        version: u32,
    },
    /// Its content is not what was saved: it was changed by something else than brede, or damaged.
    Edited {
        /// The fingerprint that it was saved with.
        saved: Fingerprint,
        /// The fingerprint of what it holds.
        found: Fingerprint,
    },
}

/// Reads no more than the version, whatever else a later brede may add.
#[derive(Deserialize)]
struct Version {
    brede_chart: u32,
}

fn write_row(cells: &[Cell]) -> String {
    let mut text = String::new();
    for run in cells.chunk_by(|one, next| one == next) {
        if !text.is_empty() {
            text.push(' ');
        }
        match run.first().and_then(|cell| cell.needle()) {
            Some(needle) => _ = write!(text, "{needle}"),
            None => text.push('.'),
        }
        if run.len() > 1 {
            _ = write!(text, "*{}", run.len());
        }
    }
    text
}

fn read_row(row: usize, text: &str, wanted: usize, cells: &mut Vec<Cell>) -> Result<(), DocumentError> {
    let start = cells.len();
    for run in text.split_ascii_whitespace() {
        let bad = || DocumentError::Run { row, run: run.chars().take(40).collect() };
        let (needle, length) = run.split_once('*').unwrap_or((run, "1"));
        let cell = if needle == "." {
            Cell::BARE
        } else {
            let needle: u8 = needle.parse().map_err(|_| bad())?;
            if needle == u8::MAX {
                return Err(bad());
            }
            Cell::worked(usize::from(needle))
        };
        let length: usize = length.parse().map_err(|_| bad())?;
        let found = (cells.len() - start).saturating_add(length);
        // Checked before the cells are laid down: a huge run must not eat the machine.
        if found > wanted {
            return Err(DocumentError::RowLength { row, found, wanted });
        }
        cells.extend(std::iter::repeat_n(cell, length));
    }
    let found = cells.len() - start;
    if found == wanted { Ok(()) } else { Err(DocumentError::RowLength { row, found, wanted }) }
}

impl Chart {
    /// The chart as it is saved: UTF-8 JSON.
    #[must_use]
    pub fn to_json(&self) -> String {
        let Identity { id, parent, revision } = self.identity();
        let saved = |card: &ShadeCard| SavedCard { name: card.name().to_owned(), rows: card.rows() };
        let document = Document {
            brede_chart: if self.printed.is_empty() { WITHOUT_PAPER } else { VERSION },
            id: Some(id),
            parent,
            revision: Some(revision),
            fingerprint: Some(self.fingerprint()),
            title: self.title.clone(),
            size: self.size,
            cloth: self.cloth,
            needles: self.needles.clone(),
            rows: (0..self.size.height()).map(|row| write_row(self.row(row))).collect(),
            made: self.made.clone(),
            marks: self.marks.clone(),
            card: self.card.as_ref().map(saved),
            printed: self.printed.clone(),
            steps: self.steps.list.clone(),
            undone: self.steps.undone,
        };
        form::text(&document).expect("a chart has only string keys")
    }

    /// A chart from its saved form, without what is to be said of it.
    ///
    /// # Errors
    /// [`DocumentError`] when it is newer than this brede, damaged or no chart at all.
    pub fn from_json(bytes: &[u8]) -> Result<Self, DocumentError> {
        Ok(Self::open(bytes)?.chart)
    }

    /// A chart from its saved form. An older one is given what it lacks.
    ///
    /// # Errors
    /// [`DocumentError`] when it is newer than this brede, damaged or no chart at all.
    pub fn open(bytes: &[u8]) -> Result<Opened, DocumentError> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let form = |source| DocumentError::Form { source };
        let version: Version = serde_json::from_slice(bytes).map_err(form)?;
        if version.brede_chart > VERSION {
            return Err(DocumentError::Newer { found: version.brede_chart });
        }
        let document: Document = serde_json::from_slice(bytes).map_err(form)?;
        let size = document.size;
        if document.rows.len() != size.height() {
            return Err(DocumentError::Rows { found: document.rows.len(), wanted: size.height() });
        }
        let mut cells = Vec::with_capacity(size.cells());
        for (index, text) in document.rows.iter().enumerate() {
            read_row(index + 1, text, size.width(), &mut cells)?;
        }
        let mut chart = Self::new(document.title, size, document.cloth, document.needles, cells)?;
        chart.made = document.made;
        chart.marks = document.marks;
        if let Some(SavedCard { name, rows }) = document.card {
            let name: String = name.chars().take(MAX_TITLE).collect();
            let card = ShadeCard::from_rows(&name, &rows);
            chart.card = Some(card.map_err(|error| DocumentError::Card(Box::new(error)))?);
        }
        if !PrintedSymbol::are_kept(&document.printed) {
            return Err(DocumentError::Printed);
        }
        chart.printed = document.printed;
        let mut notes = Vec::new();
        if version.brede_chart < WITHOUT_PAPER {
            notes.push(OpeningNote::Older { version: version.brede_chart });
        }
        let found = chart.fingerprint();
        if let Some(saved) = document.fingerprint.filter(|&saved| saved != found) {
            notes.push(OpeningNote::Edited { saved, found });
        }
        let reckoned = chart.identity();
        chart.identity = Some(Identity {
            id: document.id.unwrap_or(reckoned.id),
            parent: document.parent,
            revision: document.revision.unwrap_or(Revision::FIRST),
        });
        chart.steps = Steps { undone: document.undone.min(document.steps.len()), list: document.steps };
        // A mark about what is not there is told when it is worked.
        _ = chart.settle();
        Ok(Opened { chart, notes })
    }
}
