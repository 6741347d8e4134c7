//! What a proof found of outlines, told.

use std::fmt::Write as _;

use brede::chart::LinePattern;
use brede::printing::sheet::thousands;
use brede::reading::proof::{LinePair, Lines, MisreadLine};
use serde_json::{Value, json};

use super::round;

/// So many wrong outlines are told.
const TOLD: usize = 8;

fn named(pattern: Option<LinePattern>) -> &'static str {
    pattern.map_or("no line", LinePattern::name)
}

/// For people; nothing where the chart has no lines.
pub(super) fn told(lines: &Lines) -> String {
    let mut text = String::new();
    if lines.judged == 0 && lines.short == 0 {
        return text;
    }
    let [right, judged] = [lines.right, lines.judged].map(thousands);
    _ = write!(text, "outlines: {right} of {judged} told apart by their patterns");
    if lines.short > 0 {
        _ = write!(text, ", {} too short to judge", thousands(lines.short));
    }
    text.push('\n');
    if let Some(LinePair { read, second, margin }) = lines.nearest.first() {
        _ = writeln!(text, "  {margin:.2}  {} to {}", named(*read), named(*second));
    }
    for line in lines.misread.iter().take(TOLD) {
        let MisreadLine { page, column, row, mark, chart, read, .. } = line;
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

/// For programs.
pub(super) fn summary(lines: &Lines) -> Value {
    let name = |pattern: Option<LinePattern>| pattern.map(LinePattern::name);
    let misread = |line: &MisreadLine| {
        json!({
            "page": line.page,
            "column": line.column,
            "row": line.row,
            "mark": line.mark,
            "chart": line.chart.name(),
            "read": name(line.read),
            "margin": round(line.margin),
        })
    };
    let nearest = |pair: &LinePair| json!({"read": name(pair.read), "second": name(pair.second), "margin": round(pair.margin)});
    json!({
        "judged": lines.judged,
        "right": lines.right,
        "too_short": lines.short,
        "margin": lines.margin().map(round),
        "nearest": lines.nearest.iter().map(nearest).collect::<Vec<_>>(),
        "misread": lines.misread.iter().map(misread).collect::<Vec<_>>(),
    })
}
