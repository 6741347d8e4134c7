//! What operations tell, as values: each face has its own words for them.

use std::fmt;
use std::path::{Path, PathBuf};

use serde::{Serialize, Serializer};

use super::{Note, Warning};

/// What an operation gives back.
pub trait Report: Serialize {
    /// What the person should know.
    fn warnings(&self) -> &[Warning];
    /// What is worth knowing.
    fn notes(&self) -> &[Note] {
        &[]
    }
    /// What was written.
    fn files(&self) -> &[Written];
}

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// A chart.
    Chart,
    /// Printed pages of a chart.
    Pages,
    /// A photo or a picture, as it came.
    Photo,
    /// The diary as a table.
    Diary,
    /// What is done of a piece, one pixel a cell.
    Done,
    /// One pixel a cell.
    Cells,
    /// How the finished piece looks.
    Stitched,
    /// The thread list.
    Threads,
    /// All symbols with their names.
    SymbolNames,
    /// The piece in several numbers of threads, side by side.
    Compared,
    /// The piece on several cloths, all to one scale.
    Cloths,
    /// Measures of how thread covers.
    Measures,
    /// What to buy, as a table.
    ShoppingList,
    /// What to buy, as pages.
    ShoppingPages,
    /// Cards that sort threads.
    SorterCards,
    /// Labels for bobbins.
    BobbinLabels,
    /// Working orders.
    WorkingOrder,
    /// A card as a sheet of swatches.
    CardPages,
    /// Threads and the nearest of another card.
    Pairs,
    /// A shade card.
    Card,
    /// A picture of a chart with its marks, or with chosen cells.
    Sketch,
    /// A photo with the places that were looked at.
    Check,
    /// A photo with what was taken for its subject.
    Subject,
    /// The worst page as it was read.
    ProofPicture,
    /// The symbols that were found on printed pages, with their numbers.
    Found,
    /// What is in doubt of a chart that was read.
    Doubts,
}

/// As an error names it.
impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Chart => "a chart",
            Self::Pages => "printed pages",
            Self::Photo => "a photo",
            Self::Diary => "a diary",
            Self::Done => "a picture of what is done",
            Self::Cells => "a picture of squares",
            Self::Stitched => "a picture of the finished piece",
            Self::Threads => "a thread list",
            Self::SymbolNames => "a sheet of symbols",
            Self::Compared => "pictures side by side",
            Self::Cloths => "a picture on several cloths",
            Self::Measures => "a file of measures",
            Self::ShoppingList => "a shopping list",
            Self::ShoppingPages => "a shopping list to print",
            Self::SorterCards => "a sorter card",
            Self::BobbinLabels => "a sheet of bobbin labels",
            Self::WorkingOrder => "a working order",
            Self::CardPages => "a sheet of swatches",
            Self::Pairs => "a table of nearest threads",
            Self::Card => "a shade card",
            Self::Sketch => "a picture of marks",
            Self::Check => "a picture to check by",
            Self::Subject => "a picture of the subject",
            Self::ProofPicture => "the picture of a page",
            Self::Found => "a picture of symbols",
            Self::Doubts => "a table of doubts",
        })
    }
}

/// Something that was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Written {
    /// What it is.
    pub what: What,
    /// What it is called, without folders.
    pub name: String,
    /// Where it is; `None` where it stayed in the report.
    #[serde(serialize_with = "lossy")]
    pub path: Option<PathBuf>,
    /// Where that is kept which stood in its place.
    #[serde(serialize_with = "lossy")]
    pub kept: Option<PathBuf>,
    /// Whether that was not brede's own, or was changed since brede wrote it.
    #[serde(skip)]
    pub was_foreign: bool,
    /// What was written, where it stayed in the report.
    #[serde(skip)]
    pub bytes: Option<Vec<u8>>,
}

/// JSON is UTF-8 and names need not be: what does not fit is marked.
#[allow(clippy::ref_option, reason = "serde gives a reference to the field")]
fn lossy<S: Serializer>(path: &Option<PathBuf>, serializer: S) -> Result<S::Ok, S::Error> {
    path.as_deref().map(Path::to_string_lossy).serialize(serializer)
}
