//! A needle's symbol chosen by the person.

use super::{Squares, SymbolId, assign::complete};
use crate::chart::Chart;
use crate::ground::advice::Advice;
use crate::thread::code;

/// A wish that cannot be met.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FixError {
    /// No needle of the base has this code.
    #[error("no thread of the chart has the code `{code}`")]
    NoSuchNeedle {
        /// The code.
        code: String,
    },
    /// No symbol has this name.
    #[error("there is no symbol `{name}`{}", if near.is_empty() { String::new() } else { format!("; near it are {}", near.join(", ")) })]
    NoSuchSymbol {
        /// The name.
        name: String,
        /// Names that share a word with it.
        near: Vec<String>,
    },
    /// Two needles are to have one symbol.
    #[error("`{name}` is asked for by two threads, `{one}` and `{two}`")]
    Twice {
        /// The symbol.
        name: String,
        /// The code of the first.
        one: String,
        /// The code of the second.
        two: String,
    },
}

impl FixError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        Advice::SymbolNames
    }
}

/// Gives needles, by their codes, the symbols of these names. A needle that had such a symbol gets the best of
/// those left; all others keep theirs.
///
/// # Errors
/// [`FixError`]; the chart is then as it was.
pub fn fix(chart: &mut Chart, wishes: &[(String, String)]) -> Result<(), FixError> {
    fix_for(chart, wishes, Squares::default())
}

/// The same for squares of this size.
///
/// # Errors
/// [`FixError`]; the chart is then as it was.
pub fn fix_for(chart: &mut Chart, wishes: &[(String, String)], squares: Squares) -> Result<(), FixError> {
    let mut names: Vec<String> = chart.needles().iter().map(|needle| needle.symbol.clone()).collect();
    let mut fixed: Vec<usize> = Vec::new();
    for (code, name) in wishes {
        let needle = chart.needles().iter().position(|needle| code::same(&needle.code(), code));
        let needle = needle.ok_or_else(|| FixError::NoSuchNeedle { code: code.clone() })?;
        if SymbolId::named(name).is_none() {
            return Err(FixError::NoSuchSymbol { name: name.clone(), near: near(name) });
        }
        if let Some(&other) = fixed.iter().find(|&&other| other != needle && names[other] == *name) {
            let one = chart.needles()[other].code();
            return Err(FixError::Twice { name: name.clone(), one, two: code.clone() });
        }
        if let Some(holder) = names.iter().position(|held| held == name) {
            names[holder].clear();
        }
        names[needle].clone_from(name);
        fixed.push(needle);
    }
    chart.set_symbols(names);
    let symbols = complete(chart, squares);
    chart.set_symbols(symbols.into_iter().map(|symbol| symbol.id().to_owned()));
    Ok(())
}

/// Up to six names with a word of this one.
fn near(name: &str) -> Vec<String> {
    let name = name.to_lowercase();
    let words: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).filter(|word| word.len() > 1).collect();
    let shares = |symbol: &SymbolId| symbol.id().split('-').any(|word| words.contains(&word));
    SymbolId::all().filter(shares).take(6).map(|symbol| symbol.id().to_owned()).collect()
}
