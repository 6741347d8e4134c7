//! Keys and tokens: drawn at random, kept only as what they hash to.

use std::fmt;

use sha2::{Digest as _, Sha256};

use super::PageError;

/// 128 bits: at a million guesses a second, older than the universe before it is found.
const BYTES: usize = 16;

/// Something that only those know who were told.
#[derive(Clone, PartialEq, Eq)]
pub(super) struct Secret(String);

impl Secret {
    /// A new one.
    pub(super) fn draw() -> Result<Self, PageError> {
        let mut bytes = [0; BYTES];
        getrandom::fill(&mut bytes).map_err(PageError::Secret)?;
        Ok(Self(hex(&bytes)))
    }

    /// One that was told, where it can be one.
    pub(super) fn told(text: &str) -> Option<Self> {
        let is_one =
            text.len() == 2 * BYTES && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
        is_one.then(|| Self(text.to_owned()))
    }

    /// What it hashes to. Equal hashes are equal secrets, and comparing them tells nothing of the secret by the time that
    /// it takes.
    pub(super) fn hash(&self) -> String {
        hex(&Sha256::digest(self.0.as_bytes()))
    }

    /// The secret itself, for the one who may know.
    pub(super) fn reveal(&self) -> &str {
        &self.0
    }
}

/// Never in a log.
impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret")
    }
}

/// Two letters a byte.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
