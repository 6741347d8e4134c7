//! What a proof found of outlines, told.

use std::fmt::Write as _;

use brede::desk::{LineNear, LinePattern, LineWrong, OutlineFigures, thousands};

/// So many wrong outlines are told.
const TOLD: usize = 8;

fn named(pattern: Option<LinePattern>) -> &'static str {
    pattern.map_or("no line", LinePattern::name)
}

/// For people; nothing where the chart has no lines.
pub(super) fn told(lines: &OutlineFigures) -> String {
    let mut text = String::new();
    if lines.judged == 0 && lines.too_short == 0 {
        return text;
    }
    let [right, judged] = [lines.right, lines.judged].map(thousands);
    _ = write!(text, "outlines: {right} of {judged} told apart by their patterns");
    if lines.too_short > 0 {
        _ = write!(text, ", {} too short to judge", thousands(lines.too_short));
    }
    text.push('\n');
    if let Some(LineNear { read, second, margin }) = lines.nearest.first() {
        _ = writeln!(text, "  {margin:.2}  {} to {}", named(*read), named(*second));
    }
    for line in lines.misread.iter().take(TOLD) {
        let LineWrong { page, column, row, mark, chart, read, .. } = line;
        _ = writeln!(
            text,
            "page {page}, the outline `{mark}` at column {column}, row {row}: the page shows {}, the chart has {}",
            named(*read),
            chart.name()
        );
    }
    if let Some(more) = lines.misread.len().checked_sub(TOLD).filter(|&more| more > 0) {
        _ = writeln!(text, "and {more} more outlines");
    }
    text
}
