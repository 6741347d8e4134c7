//! Values of options that several commands read alike.

use clap::builder::{PossibleValuesParser, TypedValueParser};
use serde::de::DeserializeOwned;

/// One of a few values, by the name that it has wherever it is kept.
pub(super) fn one_of<T>(names: &'static [&'static str]) -> impl TypedValueParser<Value = T>
where
    T: DeserializeOwned + Clone + Send + Sync + 'static,
{
    PossibleValuesParser::new(names)
        .try_map(|name| serde_json::from_value::<T>(serde_json::Value::String(name)))
}
