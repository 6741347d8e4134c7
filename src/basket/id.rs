//! Ids of pieces and devices.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// Letters that are not taken for one another by eye, as on printed sheets (`chart::identity`), in small.
const LETTERS: &[u8; 16] = b"acefhjklmnprtvxy";

/// The letters of an id: 48 bits, so that two of a thousand pieces in a million baskets are called the same.
const LETTERS_OF_ID: usize = 12;

/// What a piece is called by commands and pages: 12 letters drawn at random, in fours, such as `hktm-rafc-yxle`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PieceId(String);

impl PieceId {
    /// The id of six bytes drawn at random.
    pub(super) fn of(bytes: [u8; 6]) -> Self {
        let mut text = String::new();
        for (at, byte) in bytes.into_iter().enumerate() {
            if at > 0 && at % 2 == 0 {
                text.push('-');
            }
            for half in [byte >> 4, byte & 15] {
                text.push(char::from(LETTERS[usize::from(half)]));
            }
        }
        Self(text)
    }

    /// Its text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for PieceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A text that is no id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is no id")]
pub struct IdError {
    /// What was given.
    pub text: String,
}

impl FromStr for PieceId {
    type Err = IdError;
    fn from_str(text: &str) -> Result<Self, IdError> {
        let text = text.trim().to_ascii_lowercase();
        let letters = text.bytes().filter(|byte| LETTERS.contains(byte)).count();
        let is_id = letters == LETTERS_OF_ID && text.len() == LETTERS_OF_ID + 2 && {
            text.bytes().enumerate().all(|(at, byte)| (byte == b'-') == (at % 5 == 4))
        };
        if is_id { Ok(Self(text)) } else { Err(IdError { text: text.chars().take(40).collect() }) }
    }
}

impl TryFrom<String> for PieceId {
    type Error = IdError;
    fn try_from(text: String) -> Result<Self, IdError> {
        text.parse()
    }
}

impl From<PieceId> for String {
    fn from(id: PieceId) -> Self {
        id.0
    }
}

/// What a device calls itself: 1 to 40 letters, figures and hyphens. Each window of a page is a device of its own.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct DeviceId(String);

impl DeviceId {
    /// The commands on this computer: they take turns, so that they are one device.
    #[must_use]
    pub fn commands() -> Self {
        Self("commands".to_owned())
    }

    /// Its text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for DeviceId {
    type Err = IdError;
    fn from_str(text: &str) -> Result<Self, IdError> {
        let is_id = (1..=40).contains(&text.len())
            && text.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-');
        if is_id { Ok(Self(text.to_owned())) } else { Err(IdError { text: text.chars().take(40).collect() }) }
    }
}

impl TryFrom<String> for DeviceId {
    type Error = IdError;
    fn try_from(text: String) -> Result<Self, IdError> {
        text.parse()
    }
}

impl From<DeviceId> for String {
    fn from(id: DeviceId) -> Self {
        id.0
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn an_id_is_read_as_it_is_written_and_nothing_else_is() {
        let id = PieceId::of([0, 1, 0x2f, 0x80, 0xff, 0x5a]);
        assert_eq!(id.as_str(), "aaac-eyma-yyjp");
        assert_eq!(id.as_str().to_uppercase().parse::<PieceId>().unwrap(), id);
        for bad in
            ["", "pool.chart.json", "aaac-eyma-yyj", "aaaceyma-yyjn-a", "aaac-eyma-yyjo", "aaac-eyma-yyj-"]
        {
            assert!(bad.parse::<PieceId>().is_err(), "{bad}");
        }
        assert!("window-7".parse::<DeviceId>().is_ok() && "a b".parse::<DeviceId>().is_err());
    }
}
