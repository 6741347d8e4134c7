//! What the person should know of marks, in words.

use brede::desk::MarkWarning;

/// A line of warning.
pub(super) fn warning(warning: &MarkWarning) -> String {
    match warning {
        MarkWarning::Empty { mark } => format!("mark `{mark}` is about no cell and is not worked"),
        MarkWarning::NothingStitched { mark } => {
            format!("mark `{mark}`: its area is bare cloth, where there is nothing to be worked otherwise")
        }
        MarkWarning::Outside { mark, cell: [column, row], count } => format!(
            "mark `{mark}`: {count} stitches lie outside the design and are left out, the first at column {column}, \
             row {row}"
        ),
        MarkWarning::PickOutside { mark, cell: [column, row], size } => {
            format!(
                "mark `{mark}`: its pick reaches column {column}, row {row}, outside the design of {size}"
            )
        }
        MarkWarning::Overlap { mark, other, cell: [column, row] } => {
            format!("the letters of `{mark}` and `{other}` overlap at column {column}, row {row}")
        }
        MarkWarning::Crossing { mark, other, cell: [column, row] } => format!(
            "the outlines of `{mark}` and `{other}` cross: both motifs hold the cell at column {column}, row {row}"
        ),
        MarkWarning::LabelTooWide { label, columns, room } => format!(
            "the label `{label}` is {columns} cells wide and the design leaves room for {room}: the cloth grows at the \
             sides"
        ),
        MarkWarning::EmptyKey { mark } => {
            format!("the key `{mark}` has nothing to show: no mark before it has a label")
        }
    }
}
