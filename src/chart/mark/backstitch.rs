//! The mark that holds lines as they were drawn, such as those of a chart that was printed elsewhere.

use serde::{Deserialize, Serialize};

use crate::chart::{LinePattern, LineStitch};

/// Backstitch from hole to hole.
///
/// Holes are the corners of squares: hole `[x, y]` has x columns at its left and y rows above it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Backstitch<T> {
    /// What it is called, once in a chart.
    pub name: String,
    /// What the key says of it; its name where nothing else is given, nothing where empty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The threads in the needle.
    pub thread: T,
    /// How it is drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pattern: Option<LinePattern>,
    /// How it is sewn.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub stitch: LineStitch,
    /// The lines, each as the holes that it runs through.
    pub lines: Vec<Vec<[i32; 2]>>,
    /// Where knots or beads sit, in squares from the top left of the chart.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub knots: Vec<[f64; 2]>,
}
