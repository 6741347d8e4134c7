//! Words for what the library says in values: what to do, and what to know.

mod advice;
mod marks;
pub(super) mod verdict;
mod warning;

pub(super) use advice::advice;
use brede::desk::POOR;

pub(super) use warning::{kept, note, warning};

/// How near two colours are, before their ΔE00: not to be told apart at a glance (about 2.3 is just seen: Mahy, Van
/// Eycken & Oosterlinck 1994, for CIELAB, from memory), fairly near, or plainly another colour.
pub(super) fn near(delta_e: f64) -> &'static str {
    match delta_e {
        ..2.0 => "close",
        ..=POOR => "fair",
        _ => "plain",
    }
}

/// The sentence of a value by the name that it has in JSON: a line of `all` each.
fn sentence(all: &'static str, value: &impl serde::Serialize, key: &str) -> String {
    let value = serde_json::to_value(value).unwrap_or_default();
    let name = value[key].as_str().unwrap_or_default();
    let of = |line: &'static str| line.split_once(": ").filter(|(known, _)| *known == name);
    all.lines().find_map(of).map_or_else(String::new, |(_, sentence)| sentence.to_owned())
}
