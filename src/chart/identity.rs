//! Which chart this is, which of its revisions, and whether it is still what it was.
//!
//! Owns ids, revisions, fingerprints and the stamp that all files of a set carry. What is hashed stands at
//! [`Chart::fingerprint`] and [`Chart::identity`].

use std::collections::BTreeSet;
use std::fmt;
use std::num::NonZeroU32;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use super::{Chart, MarkId};

/// A text that is not 16 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not 16 hexadecimal digits")]
pub struct DigitsError {
    /// What was given.
    pub text: String,
}

/// The first 64 bits of a SHA-256 (FIPS 180-4): of four thousand million charts two share an id once in two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Digits([u8; 8]);

impl Digits {
    fn of(hash: Sha256) -> Self {
        let whole: [u8; 32] = hash.finalize().into();
        let mut first = [0; 8];
        first.copy_from_slice(&whole[..8]);
        Self(first)
    }

    /// The first letters of a form that is read off paper: a letter for each half byte.
    fn letters(self, count: usize) -> String {
        let halves = self.0.into_iter().flat_map(|byte| [byte >> 4, byte & 15]);
        halves.take(count).map(|half| char::from(LETTERS[usize::from(half)])).collect()
    }
}

/// Letters that are not taken for one another, nor for a figure, in small print or by hand: no B (8), D, O, Q (0),
/// G (6), I (1), S (5), U (V), W, Z (2).
const LETTERS: &[u8; 16] = b"ACEFHJKLMNPRTVXY";

impl fmt::Display for Digits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl FromStr for Digits {
    type Err = DigitsError;
    fn from_str(text: &str) -> Result<Self, DigitsError> {
        let fail = || DigitsError { text: text.chars().take(40).collect() };
        if text.len() != 16 || !text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f')) {
            return Err(fail());
        }
        u64::from_str_radix(text, 16).map(|number| Self(number.to_be_bytes())).map_err(|_| fail())
    }
}

/// The id of a chart: 16 hexadecimal digits, the same for the same picture, card and request.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct ChartId(Digits);

/// A fingerprint of a chart's content: 16 hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Fingerprint(Digits);

macro_rules! as_digits {
    ($name:ident) => {
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = DigitsError;
            fn from_str(text: &str) -> Result<Self, DigitsError> {
                text.parse().map(Self)
            }
        }

        impl TryFrom<String> for $name {
            type Error = DigitsError;
            fn try_from(text: String) -> Result<Self, DigitsError> {
                text.parse()
            }
        }

        impl From<$name> for String {
            fn from(digits: $name) -> Self {
                digits.to_string()
            }
        }
    };
}

as_digits!(ChartId);
as_digits!(Fingerprint);

/// How often a chart was changed since it began, the beginning being 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Revision(NonZeroU32);

impl Revision {
    /// A chart that has not been changed.
    pub const FIRST: Self = Self(NonZeroU32::MIN);

    /// The one after it.
    #[must_use]
    pub fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }

    /// Its number.
    #[must_use]
    pub fn number(self) -> u32 {
        self.0.get()
    }
}

impl fmt::Display for Revision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The chart that another was copied from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parent {
    /// Its id.
    pub id: ChartId,
    /// The revision that was copied.
    pub revision: Revision,
}

/// Which chart this is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Identity {
    /// Its id.
    pub id: ChartId,
    /// What it was copied from, if it was.
    pub parent: Option<Parent>,
    /// How often it was changed.
    pub revision: Revision,
}

/// What ties a file to a chart as it was: all files of a set carry it.
///
/// Copies of one chart can be changed apart and reach equal numbers, so the content's fingerprint goes with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stamp {
    /// The chart.
    pub id: ChartId,
    /// Its revision.
    pub revision: Revision,
    /// Its content.
    pub fingerprint: Fingerprint,
}

impl Stamp {
    /// A short form for the eye, such as `HKTM-7-RA`: four letters for the chart, the revision's number, two letters
    /// for the content. None of the letters can be mistaken for another, nor for a figure.
    #[must_use]
    pub fn short(&self) -> String {
        format!("{}-{}-{}", self.id.0.letters(4), self.revision, self.fingerprint.0.letters(2))
    }
}

/// Written out in full, `id/revision/fingerprint`, for metadata and tables; `parse` reads it again.
impl fmt::Display for Stamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}/{}", self.id, self.revision, self.fingerprint)
    }
}

/// A text that is no stamp.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not the stamp of a chart")]
pub struct StampError {
    /// What was given.
    pub text: String,
}

impl FromStr for Stamp {
    type Err = StampError;
    fn from_str(text: &str) -> Result<Self, StampError> {
        let read = || {
            let mut parts = text.split('/');
            let stamp = Self {
                id: parts.next()?.parse().ok()?,
                revision: Revision(parts.next()?.parse().ok()?),
                fingerprint: parts.next()?.parse().ok()?,
            };
            parts.next().is_none().then_some(stamp)
        };
        read().ok_or_else(|| StampError { text: text.chars().take(60).collect() })
    }
}

/// Adds a part to a hash with its length before it, so that parts cannot run into one another.
fn part(hash: &mut Sha256, bytes: &[u8]) {
    hash.update((bytes.len() as u64).to_be_bytes());
    hash.update(bytes);
}

/// A part that is kept as JSON.
fn json(hash: &mut Sha256, value: &impl Serialize) {
    let text = serde_json::to_vec(value).expect("parts of a chart have only string keys");
    part(hash, &text);
}

impl Chart {
    /// The fingerprint of its content: title, size, cloth, needles, cells and marks.
    ///
    /// The first 64 bits of a SHA-256 over the title, `columns x rows`, cloth and needles as compact JSON, the cells (a
    /// byte each, 255 where bare) and the marks as compact JSON, each after its length as 8 bytes, the highest first.
    #[must_use]
    pub fn fingerprint(&self) -> Fingerprint {
        let mut hash = Sha256::new();
        self.content(&mut hash);
        Fingerprint(Digits::of(hash))
    }

    fn content(&self, hash: &mut Sha256) {
        part(hash, self.title.as_bytes());
        part(hash, self.size.to_string().as_bytes());
        json(hash, &self.cloth);
        json(hash, &self.needles);
        let cells: Vec<u8> = self.cells.iter().map(|cell| cell.0).collect();
        part(hash, &cells);
        json(hash, &self.marks);
    }

    /// Which chart this is: what it was given, else what it would be given now.
    ///
    /// The id of a chart of a picture is a SHA-256 over the picture's fingerprint, the rows of the card, title, seed,
    /// settings and request; that of any other chart is one over its content.
    #[must_use]
    pub fn identity(&self) -> Identity {
        self.identity.unwrap_or_else(|| {
            let mut hash = Sha256::new();
            if let (Some(made), Some(card)) = (&self.made, &self.card) {
                part(&mut hash, made.photo_sha256.as_bytes());
                part(&mut hash, card.rows().join("\n").as_bytes());
                part(&mut hash, self.title.as_bytes());
                json(&mut hash, &(made.seed, &made.settings, &made.request));
            } else {
                self.content(&mut hash);
            }
            Identity { id: ChartId(Digits::of(hash)), parent: None, revision: Revision::FIRST }
        })
    }

    /// The stamp of the chart as it is now.
    #[must_use]
    pub fn stamp(&self) -> Stamp {
        let Identity { id, revision, .. } = self.identity();
        Stamp { id, revision, fingerprint: self.fingerprint() }
    }

    /// Settles which chart this is, so that later changes do not make another of it.
    pub fn identify(&mut self) {
        self.identity = Some(self.identity());
    }

    /// Gives an id to marks that have none: the first 32 bits of a SHA-256 over the chart's id, its revision and the
    /// mark's name, so that none is ever given twice, whatever was taken off meanwhile.
    pub(super) fn give_mark_ids(&mut self) {
        let Identity { id, revision, .. } = self.identity();
        let mut given: BTreeSet<MarkId> = self.marks.iter().filter_map(|mark| mark.id).collect();
        for at in 0..self.marks.len() {
            let mut salt = 0u32;
            while self.marks[at].id.is_none() {
                let mut hash = Sha256::new();
                part(&mut hash, id.to_string().as_bytes());
                json(&mut hash, &(revision, self.marks[at].name(), salt));
                let [a, b, c, d, ..] = Digits::of(hash).0;
                let new = MarkId(u32::from_be_bytes([a, b, c, d]));
                if given.insert(new) {
                    self.marks[at].id = Some(new);
                }
                salt += 1;
            }
        }
    }

    /// Makes a chart of its own of it, which goes into a file of this name: it gets a new id, names the chart that it was
    /// read from and begins at revision 1.
    pub fn copy_as(&mut self, name: &str, from: &Stamp) {
        let (Stamp { id, revision, .. }, fingerprint) = (*from, self.fingerprint());
        let mut hash = Sha256::new();
        part(&mut hash, id.to_string().as_bytes());
        json(&mut hash, &(revision, fingerprint, name));
        let parent = Some(Parent { id, revision });
        self.identity = Some(Identity { id: ChartId(Digits::of(hash)), parent, revision: Revision::FIRST });
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::chart::tests::sample;

    #[test]
    fn the_short_form_has_no_letter_like_another() {
        let stamp: Stamp = "0123456789abcdef/7/fedcba9876543210".parse().unwrap();
        assert_eq!(stamp.short(), "ACEF-7-YX");
        assert_eq!(stamp.to_string().parse::<Stamp>().unwrap(), stamp);
        for bad in ["", "0123456789abcdef/0/fedcba9876543210", "0123456789ABCDEF/7/fedcba9876543210", "1/2/3"]
        {
            assert!(bad.parse::<Stamp>().is_err(), "{bad}");
        }
    }

    #[test]
    fn content_decides_the_fingerprint_and_nothing_else_does() {
        let chart = sample();
        let mut other = chart.clone();
        other.identify();
        assert_eq!(other.stamp(), chart.stamp());
        other.title.push('!');
        assert_ne!(other.fingerprint(), chart.fingerprint());
        assert_eq!(other.stamp().id, chart.stamp().id);
    }

    #[test]
    fn a_copy_is_another_chart_and_names_the_one_it_comes_from() {
        let chart = sample();
        let [mut one, mut two, mut again] = [chart.clone(), chart.clone(), chart.clone()];
        one.copy_as("one", &chart.stamp());
        two.copy_as("two", &chart.stamp());
        again.copy_as("one", &chart.stamp());
        let ids = [chart.stamp().id, one.stamp().id, two.stamp().id];
        assert!(ids[0] != ids[1] && ids[0] != ids[2] && ids[1] != ids[2]);
        assert_eq!(again.stamp(), one.stamp());
        assert_eq!(one.identity().parent, Some(Parent { id: ids[0], revision: Revision::FIRST }));
        assert_eq!(one.fingerprint(), chart.fingerprint());
    }
}
