//! How figures of reports are written: to so many places.

use serde::{Serialize, Serializer};

use crate::ground::units::Millimetres;

/// A figure as it is written: in memory it keeps all its places.
pub(super) trait Rounded {
    type Written: Serialize;
    /// To so many parts of one.
    fn rounded(&self, parts: f64) -> Self::Written;
}

impl Rounded for f64 {
    type Written = f64;
    fn rounded(&self, parts: f64) -> f64 {
        (self * parts).round() / parts
    }
}

impl Rounded for Millimetres {
    type Written = f64;
    fn rounded(&self, parts: f64) -> f64 {
        self.mm().rounded(parts)
    }
}

impl<T: Rounded> Rounded for Option<T> {
    type Written = Option<T::Written>;
    fn rounded(&self, parts: f64) -> Self::Written {
        self.as_ref().map(|value| value.rounded(parts))
    }
}

impl<T: Rounded> Rounded for Vec<T> {
    type Written = Vec<T::Written>;
    fn rounded(&self, parts: f64) -> Self::Written {
        self.iter().map(|value| value.rounded(parts)).collect()
    }
}

impl<const N: usize> Rounded for [f64; N]
where
    [f64; N]: Serialize,
{
    type Written = [f64; N];
    fn rounded(&self, parts: f64) -> Self::Written {
        self.map(|value| value.rounded(parts))
    }
}

impl Rounded for [Millimetres; 2] {
    type Written = [f64; 2];
    fn rounded(&self, parts: f64) -> Self::Written {
        self.map(|value| value.rounded(parts))
    }
}

impl<K: Ord + Clone + Serialize, T: Rounded> Rounded for std::collections::BTreeMap<K, T> {
    type Written = std::collections::BTreeMap<K, T::Written>;
    fn rounded(&self, parts: f64) -> Self::Written {
        self.iter().map(|(key, value)| (key.clone(), value.rounded(parts))).collect()
    }
}

/// To three places.
pub(super) fn places3<T: Rounded, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
    value.rounded(1e3).serialize(serializer)
}

/// To two places.
pub(super) fn places2<T: Rounded, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
    value.rounded(1e2).serialize(serializer)
}

/// As it is shown: money, so that no digit is lost, colours and counts.
pub(super) fn displayed<T: ToString, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
    value.to_string().serialize(serializer)
}

/// The same, where it is known.
#[allow(clippy::ref_option, reason = "serde gives a reference to the field")]
pub(super) fn displayed_or_null<T: ToString, S: Serializer>(
    value: &Option<T>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    value.as_ref().map(ToString::to_string).serialize(serializer)
}

/// To four places: margins of the proof.
pub(super) fn places4<T: Rounded, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
    value.rounded(1e4).serialize(serializer)
}
