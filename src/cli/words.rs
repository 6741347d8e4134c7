//! Words for what the library says in values: what to do, and what to know.

mod advice;
mod marks;
pub(super) mod verdict;
mod warning;

pub(super) use advice::advice;
pub(super) use warning::{kept, note, warning};

/// The sentence of a value by the name that it has in JSON: a line of `all` each.
fn sentence(all: &'static str, value: &impl serde::Serialize, key: &str) -> String {
    let value = serde_json::to_value(value).unwrap_or_default();
    let name = value[key].as_str().unwrap_or_default();
    let of = |line: &'static str| line.split_once(": ").filter(|(known, _)| *known == name);
    all.lines().find_map(of).map_or_else(String::new, |(_, sentence)| sentence.to_owned())
}
