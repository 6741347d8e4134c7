//! Values of options that several commands read alike.

use brede::ground::colour::{ColourError, Srgb8};
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

/// The colour of a cloth, as `#rrggbb` or by its name in CSS.
pub(super) fn cloth_colour(text: &str) -> Result<Srgb8, String> {
    Srgb8::named(text).map_or_else(|| text.parse(), Ok).map_err(|error: ColourError| {
        format!("{error}, nor a colour that CSS has a name for, such as navy or linen")
    })
}

/// A number within bounds, with a point or a comma; `%` may stand behind it.
pub(super) fn number(
    within: std::ops::RangeInclusive<f64>,
) -> impl Fn(&str) -> Result<f64, String> + Clone + Send + Sync + 'static {
    move |text| {
        let number = text.trim().trim_end_matches('%').trim_end().replace(',', ".");
        let number: f64 = number.parse().map_err(|_| "not a number".to_owned())?;
        let (least, most) = (within.start(), within.end());
        if within.contains(&number) { Ok(number) } else { Err(format!("outside {least} to {most}")) }
    }
}
