//! What operations tell, as values: each face has its own words for them.

use std::path::{Path, PathBuf};

use serde::{Serialize, Serializer};

use super::{Note, Warning};
use crate::ground::units::Millimetres;

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
    /// The worst page as it was read.
    ProofPicture,
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
    /// What was written, where it stayed in the report.
    #[serde(skip)]
    pub bytes: Option<Vec<u8>>,
}

/// JSON is UTF-8 and names need not be: what does not fit is marked.
#[allow(clippy::ref_option, reason = "serde gives a reference to the field")]
fn lossy<S: Serializer>(path: &Option<PathBuf>, serializer: S) -> Result<S::Ok, S::Error> {
    path.as_deref().map(Path::to_string_lossy).serialize(serializer)
}

/// A figure as it is written: in memory it keeps all its places.
pub(super) trait Rounded {
    type Written: Serialize;
    /// To so many parts of one.
    fn rounded(&self, parts: f64) -> Self::Written;
}

impl Rounded for f64 {
    type Written = f64;
    fn rounded(&self, parts: f64) -> f64 {
        (self * parts).round() / parts
    }
}

impl Rounded for Millimetres {
    type Written = f64;
    fn rounded(&self, parts: f64) -> f64 {
        self.mm().rounded(parts)
    }
}

impl<T: Rounded> Rounded for Option<T> {
    type Written = Option<T::Written>;
    fn rounded(&self, parts: f64) -> Self::Written {
        self.as_ref().map(|value| value.rounded(parts))
    }
}

impl<T: Rounded> Rounded for Vec<T> {
    type Written = Vec<T::Written>;
    fn rounded(&self, parts: f64) -> Self::Written {
        self.iter().map(|value| value.rounded(parts)).collect()
    }
}

impl Rounded for [f64; 2] {
    type Written = [f64; 2];
    fn rounded(&self, parts: f64) -> Self::Written {
        self.map(|value| value.rounded(parts))
    }
}

impl Rounded for [Millimetres; 2] {
    type Written = [f64; 2];
    fn rounded(&self, parts: f64) -> Self::Written {
        self.map(|value| value.rounded(parts))
    }
}

impl<K: Ord + Clone + Serialize, T: Rounded> Rounded for std::collections::BTreeMap<K, T> {
    type Written = std::collections::BTreeMap<K, T::Written>;
    fn rounded(&self, parts: f64) -> Self::Written {
        self.iter().map(|(key, value)| (key.clone(), value.rounded(parts))).collect()
    }
}

/// To three places.
pub(super) fn places3<T: Rounded, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
    value.rounded(1e3).serialize(serializer)
}

/// To four places: margins of the proof.
pub(super) fn places4<T: Rounded, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
    value.rounded(1e4).serialize(serializer)
}
