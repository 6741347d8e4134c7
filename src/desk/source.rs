//! Where things come from and go to, and when.

use std::fmt;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;

use crate::ground::day::When;
use crate::ground::store::name_everywhere;

/// Where something comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A file.
    Path(PathBuf),
    /// Standard input, which can be read once.
    Input,
    /// A piece in the workbasket: its chart.
    Piece(InBasket),
    /// Bytes that are there already.
    Held {
        /// What they are called, as a file is.
        name: String,
        /// The bytes.
        bytes: Arc<[u8]>,
    },
}

/// A piece in a workbasket.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InBasket {
    /// The folder of the workbasket.
    pub folder: PathBuf,
    /// The piece, as the person writes it: its id, the beginning of it, or its name.
    pub piece: String,
    /// The moment: what is changed is changed then.
    pub when: When,
}

impl InBasket {
    /// Whether both say the same piece, at whatever moment.
    pub(super) fn is_same_as(&self, other: &Self) -> bool {
        (&self.folder, &self.piece) == (&other.folder, &other.piece)
    }
}

impl Source {
    /// Bytes that are there already.
    #[must_use]
    pub fn held(name: impl Into<String>, bytes: impl Into<Arc<[u8]>>) -> Self {
        Self::Held { name: name.into(), bytes: bytes.into() }
    }

    /// The path, where it is a file.
    #[must_use]
    pub fn path(&self) -> Option<&Path> {
        match self {
            Self::Path(path) => Some(path),
            Self::Input | Self::Held { .. } | Self::Piece(_) => None,
        }
    }

    /// The place that it comes from, as a place to go to.
    pub(super) fn as_target(&self) -> Target {
        match self {
            Self::Path(path) => Target::Path(path.clone()),
            Self::Piece(piece) => Target::Piece(piece.clone()),
            Self::Input | Self::Held { .. } => Target::Held,
        }
    }

    /// Its own name, without folders; nothing for standard input.
    #[must_use]
    pub fn file_name(&self) -> String {
        // What is no path has no drives and no other ways to part folders, wherever brede runs.
        let of = |name: &str| name.rsplit('/').find(|part| !part.is_empty()).unwrap_or_default().to_owned();
        match self {
            Self::Path(path) => {
                path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
            }
            Self::Input => String::new(),
            Self::Held { name, .. } => of(name),
            Self::Piece(piece) => of(&piece.piece),
        }
    }

    /// What the files of results that are made of it are called: as [`called`](Self::called), with what a system keeps
    /// back exchanged ([`name_everywhere`]).
    #[must_use]
    pub fn result_name(&self) -> String {
        file_name_of(&self.called())
    }

    /// What is made of it is called by its own name without the ending. A name of dots and blanks alone would be this
    /// folder or the one above, and one that begins with a dot would be hidden: `chart` and what follows the dots stand
    /// for them. `chart` too for what has nothing but an ending, and for standard input.
    #[must_use]
    pub fn called(&self) -> String {
        let file_name = self.file_name();
        let is_ending = |name: &str| {
            let rest = name.trim().strip_prefix('.').unwrap_or_default();
            !rest.contains('.') && ENDINGS.iter().any(|ending| rest.eq_ignore_ascii_case(ending))
        };
        let stem = self.stem();
        let name = without_edges(&stem);
        if name.is_empty() || is_ending(&file_name) { CHART.to_owned() } else { name.to_owned() }
    }

    /// The name of the set of files that a chart belongs to: its own without `.chart.json`.
    pub(super) fn set(&self) -> String {
        let stem = self.stem();
        stem.strip_suffix(".chart").unwrap_or(&stem).to_owned()
    }

    /// Its own name without the ending; nothing for standard input.
    #[must_use]
    pub fn stem(&self) -> String {
        let name = self.file_name();
        match name.rsplit_once('.') {
            Some((stem, _)) if !stem.is_empty() => stem.to_owned(),
            _ => name,
        }
    }
}

/// What stands for a name that is none.
const CHART: &str = "chart";

/// What the files of something are called that a person calls so: on every system the same. See [`Source::called`].
#[must_use]
pub fn file_name_of(name: &str) -> String {
    let name = name_everywhere(without_edges(name));
    if name.is_empty() { CHART.to_owned() } else { name }
}

fn without_edges(name: &str) -> &str {
    name.trim_matches(|character: char| character == '.' || character.is_whitespace())
}

/// What the names of pictures and tables end in.
const ENDINGS: [&str; 10] = ["jpg", "jpeg", "png", "webp", "tif", "tiff", "gif", "bmp", "csv", "heic"];

impl From<PathBuf> for Source {
    fn from(path: PathBuf) -> Self {
        Self::Path(path)
    }
}

/// As it was given.
impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Path(path) => path.display().fmt(f),
            Self::Input => f.write_str("standard input"),
            Self::Held { name, .. } => f.write_str(name),
            Self::Piece(piece) => f.write_str(&piece.piece),
        }
    }
}

/// Where a result goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Target {
    /// A file, or the folder for several.
    Path(PathBuf),
    /// It stays in the report.
    Held,
    /// The chart of a piece in the workbasket.
    Piece(InBasket),
}

impl Target {
    /// Whether something can stand beside it: not beside a device or a pipe.
    pub(super) fn is_place(&self) -> bool {
        match self {
            Self::Path(path) => !path.exists() || path.is_file(),
            Self::Held => true,
            Self::Piece(_) => false,
        }
    }

    /// Something of this name in it, where it is a folder.
    pub(super) fn within(&self, name: &str) -> Self {
        match self {
            Self::Path(folder) => Self::Path(folder.join(name)),
            Self::Held | Self::Piece(_) => Self::Held,
        }
    }

    /// Its own name, where it is a file.
    pub(super) fn file_name(&self) -> Option<String> {
        match self {
            Self::Path(path) => path.file_name().map(|name| name.to_string_lossy().into_owned()),
            Self::Held | Self::Piece(_) => None,
        }
    }

    /// Whether both are one file, or both stay in the report.
    pub(super) fn is_same_as(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Path(one), Self::Path(other)) => {
                let real = |path: &Path| std::fs::canonicalize(path);
                one == other || matches!((real(one), real(other)), (Ok(one), Ok(other)) if one == other)
            }
            (Self::Held, Self::Held) => true,
            (Self::Piece(one), Self::Piece(other)) => one.is_same_as(other),
            _ => false,
        }
    }

    /// Something that stands beside it, with another ending.
    pub(super) fn beside(&self, ending: &str) -> Self {
        match self {
            // Not `with_extension`, which makes the folder above of `..png`.
            Self::Path(path) => {
                let mut name = path.file_stem().unwrap_or_default().to_owned();
                name.push(".");
                name.push(ending);
                Self::Path(path.with_file_name(name))
            }
            Self::Held | Self::Piece(_) => Self::Held,
        }
    }
}

impl From<PathBuf> for Target {
    fn from(path: PathBuf) -> Self {
        Self::Path(path)
    }
}

/// What may be written over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Replace {
    /// What brede wrote.
    #[default]
    Ours,
    /// Whatever is there.
    Anything,
}

/// The moment that pages are dated with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Moment(jiff::Timestamp);

/// A text that is no date.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is no number of seconds since 1970 that is a date")]
pub struct MomentError {
    /// What was given.
    pub text: String,
}

/// Seconds after the beginning of 1970.
impl FromStr for Moment {
    type Err = MomentError;
    fn from_str(text: &str) -> Result<Self, MomentError> {
        let seconds = text.trim().parse().ok();
        seconds.and_then(Self::from_seconds).ok_or_else(|| MomentError { text: text.to_owned() })
    }
}

impl Moment {
    /// So many seconds after the beginning of 1970 (UTC); `None` where no calendar reaches.
    #[must_use]
    pub fn from_seconds(seconds: i64) -> Option<Self> {
        jiff::Timestamp::from_second(seconds).ok().map(Self)
    }

    /// Seconds after the beginning of 1970.
    #[must_use]
    pub fn seconds(self) -> i64 {
        self.0.as_second()
    }

    /// The day as it is printed, such as `7 March 2026` (UTC).
    #[must_use]
    pub fn day(self) -> String {
        self.0.strftime("%-d %B %Y").to_string()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_source_is_called_as_its_file_is() {
        for source in [Source::Path("tide/rock pool.jpg".into()), Source::held("tide/rock pool.jpg", [])] {
            assert_eq!(source.file_name(), "rock pool.jpg");
            assert_eq!(source.stem(), "rock pool");
            assert_eq!(source.to_string(), "tide/rock pool.jpg");
        }
        assert_eq!(Source::Input.to_string(), "standard input");
        assert_eq!(Source::Input.stem(), "");
        for (file, set) in [("tide/rock pool.chart.json", "rock pool"), ("rock pool.json", "rock pool")] {
            assert_eq!(Source::Path(file.into()).set(), set);
        }
    }

    #[test]
    fn results_are_called_by_a_name_that_leads_nowhere_else() {
        for (file, wanted) in [
            ("tide/rock pool.jpg", "rock pool"),
            ("...png", "chart"),
            ("..png", "chart"),
            (".PNG", "chart"),
            ("...", "chart"),
            (" .png", "chart"),
            (".pool.png", "pool"),
            ("..pool. .png", "pool"),
            ("a.b.c", "a.b"),
            ("png.png", "png"),
        ] {
            assert_eq!(Source::Path(file.into()).result_name(), wanted, "{file}");
            assert_eq!(Source::held(file, []).result_name(), wanted, "{file}");
        }
        assert_eq!(Source::Input.result_name(), "chart");
        // What is held and what a person calls it: the same wherever brede runs.
        for (name, called, files) in [
            ("a:b.png", "a:b", "a-b"),
            (r"c:\tide.png", r"c:\tide", "c--tide"),
            ("Con.jpg", "Con", "Con-"),
            ("why?.jpg", "why?", "why-"),
        ] {
            let source = Source::held(name, []);
            assert_eq!((source.called().as_str(), source.result_name().as_str()), (called, files), "{name}");
            assert_eq!(file_name_of(called), files, "{name}");
        }
        assert_eq!(file_name_of("../tide"), "-tide");
        assert_eq!(file_name_of(" .. "), "chart");
    }

    #[test]
    fn a_moment_has_a_day() {
        // POSIX.1-2017, 4.16: seconds since the Epoch; the day by hand, 365 days after 1 January 1970.
        assert_eq!(Moment::from_seconds(365 * 86_400 + 86_399).unwrap().day(), "1 January 1971");
        assert!(Moment::from_seconds(i64::MAX).is_none());
    }
}
