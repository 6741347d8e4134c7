//! What the person should know of marks, in words.

use brede::desk::{MarkPair, MarkWarning};
use brede::ground::units::counted;

/// A line of warning.
pub(super) fn warning(warning: &MarkWarning) -> String {
    match warning {
        MarkWarning::Empty { mark } => format!("mark `{mark}` is about no square and is not worked"),
        MarkWarning::NothingStitched { mark } => {
            format!("mark `{mark}`: its area is bare cloth, where there is nothing to be worked otherwise")
        }
        MarkWarning::Outside { mark, cell: [column, row], count: 1 } => format!(
            "mark `{mark}`: a stitch at column {column}, row {row} lies outside the design and is left out"
        ),
        MarkWarning::Outside { mark, cell: [column, row], count } => format!(
            "mark `{mark}`: {count} stitches lie outside the design and are left out, the first at column {column}, \
             row {row}"
        ),
        MarkWarning::PickOutside { mark, cell: [column, row], size } => {
            format!(
                "mark `{mark}`: its pick reaches column {column}, row {row}, outside the design of {size}"
            )
        }
        MarkWarning::Overlap { pairs, more } => format!("letters overlap: {}", pairs_told(pairs, *more)),
        MarkWarning::Crossing { pairs, more } => {
            format!("outlines cross, as their motifs hold the same squares: {}", pairs_told(pairs, *more))
        }
        MarkWarning::LabelTooWide { label, columns, room } => format!(
            "the label `{label}` is {columns} squares wide and the design leaves room for {room}: the cloth grows at the \
             sides"
        ),
        MarkWarning::EmptyKey { mark } => {
            format!("the key `{mark}` has nothing to show: no mark before it has a label")
        }
    }
}

/// `a` and `b` at column 3, row 4; `a` and `c` at column 7, row 2; and 31 more pairs.
fn pairs_told(pairs: &[MarkPair], more: usize) -> String {
    let told = |MarkPair { marks: [one, other], cell: [column, row] }: &MarkPair| {
        format!("`{one}` and `{other}` at column {column}, row {row}")
    };
    let more = (more > 0).then(|| format!("and {}", counted(more as u64, "more pair")));
    pairs.iter().map(told).chain(more).collect::<Vec<_>>().join("; ")
}
