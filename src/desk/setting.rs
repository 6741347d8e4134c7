//! Settings as errors name them.

use std::fmt;

/// A setting of a mark, or some that go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkSetting {
    /// The threads.
    Thread,
    /// The label.
    Label,
    /// Pattern, course and longest stitch.
    Line,
    /// The text.
    Text,
    /// The face.
    Face,
    /// Title, date and initials.
    KeyLines,
    /// Where the key stands.
    KeyPlace,
    /// Stitch, strands and added thread.
    Working,
    /// A choice of cells.
    Cells,
}

impl fmt::Display for MarkSetting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Thread => "another thread",
            Self::Label => "a label",
            Self::Line => "a pattern, a course or a longest stitch",
            Self::Text => "a text",
            Self::Face => "a face",
            Self::KeyLines => "a title, a date or initials",
            Self::KeyPlace => "a place of a key",
            Self::Working => "a kind of stitch, strands or an added thread",
            Self::Cells => "a choice of squares",
        })
    }
}
