//! Marks as they are kept: what a person lays over a chart, in a form that can be changed.
//!
//! Plain data, part of the chart document; `marks` puts them to work. `T` is how a thread is given: the
//! threads themselves in a chart, a text such as `P12` or `1 of P12 + 1 of M03` in a file of marks.
//! Columns and rows are counted from 1 as on the rulers of the page.

mod backstitch;
mod stitches;

use std::str::FromStr;

use serde::{Deserialize, Serialize};

pub use backstitch::Backstitch;
pub use stitches::Stitches;

use super::{LinePattern, LineStitch, Thread};

/// A mark over the base of a chart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Mark<T = Vec<Thread>> {
    /// A backstitched line round a motif.
    Outline(Outline<T>),
    /// A ring of full crosses round a motif.
    Halo(Halo<T>),
    /// Letters.
    Lettering(Lettering<T>),
    /// The stitched key of the marks, with a title, a date and initials.
    Key(Key<T>),
    /// How an area is worked: the kind of stitch, strands, an added thread.
    Stitches(Stitches<T>),
    /// Lines from hole to hole, as they were drawn.
    Backstitch(Backstitch<T>),
}

/// Which cells a mark is about.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Motif {
    /// Picks, added or taken away in their order.
    pub pick: Vec<Pick>,
    /// Gaps of up to so many cells are bridged; an odd number does what the even one above does.
    #[serde(default, skip_serializing_if = "is_default")]
    pub bridge: u8,
    /// What becomes of holes.
    #[serde(default, skip_serializing_if = "is_default")]
    pub holes: Holes,
    /// Grown by so many cells, or shrunk where negative; after bridging and filling.
    #[serde(default, skip_serializing_if = "is_default")]
    pub grow: i16,
}

/// What becomes of cells within a motif that are not of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Holes {
    /// They join it.
    #[default]
    Filled,
    /// They are outlined too.
    Kept,
}

/// Which neighbours of a cell carry a region on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Touching {
    /// Those that share a side.
    #[default]
    Sides,
    /// Those that share a side or a corner.
    Corners,
}

/// One pick of cells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "RawPick", into = "RawPick")]
pub struct Pick {
    /// Added or taken away.
    pub change: Change,
    /// Which cells.
    pub cells: PickedCells,
}

/// What a pick does to the cells picked before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Change {
    /// Adds to them.
    #[default]
    Add,
    /// Takes away from them.
    TakeAway,
}

/// How cells are picked.
#[derive(Debug, Clone, PartialEq)]
pub enum PickedCells {
    /// The connected region round a cell whose colours are like that cell's.
    At {
        /// Column and row.
        cell: [i32; 2],
        /// The widest difference (CIEDE2000) that still counts as like; 0 is the same needle alone.
        within: f64,
        /// What connects.
        touching: Touching,
    },
    /// All cells of needles, each by the code or the name of its thread.
    Needles(Vec<String>),
    /// A rectangle by two opposite corners, both within.
    Rectangle([i32; 4]),
    /// An ellipse in the rectangle of two opposite corners.
    Ellipse([i32; 4]),
    /// A polygon through the middles of cells; cells whose middle is within or on it.
    Polygon(Vec<[i32; 2]>),
    /// The rows of a mask, each as lengths of runs: out, in, out, ...
    Mask(Vec<String>),
    /// A mask in a picture file of the chart's size, not read yet: white or opaque is within.
    MaskFile(String),
    /// Every cell that is not bare.
    Stitched,
}

/// A pick as it is written: one way of picking a table.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawPick {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    at: Option<[i32; 2]>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    within: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    touching: Option<Touching>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    needles: Option<Vec<String>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    rectangle: Option<[i32; 4]>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    ellipse: Option<[i32; 4]>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    polygon: Option<Vec<[i32; 2]>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mask: Option<Vec<String>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mask_file: Option<String>,
    #[serde(default, skip_serializing_if = "is_default")]
    stitched: bool,
    #[serde(default, skip_serializing_if = "is_default")]
    take_away: bool,
}

/// A choice of cells that is none.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PickError {
    /// A nearness beyond what colours can differ.
    #[error("within = {within} is outside 0 to 100")]
    Within {
        /// What was given, in ΔE00.
        within: f64,
    },
    /// What goes with a cell alone.
    #[error("`within` and `touching` go with `at`")]
    WithoutCell,
    /// No way of choosing, or several.
    #[error("a pick takes one of at, needles, rectangle, ellipse, polygon, mask_file or stitched")]
    Ways,
}

impl TryFrom<RawPick> for Pick {
    type Error = PickError;
    fn try_from(raw: RawPick) -> Result<Self, PickError> {
        let mut ways = Vec::new();
        if let Some(cell) = raw.at {
            let within = raw.within.unwrap_or_default();
            if !(0.0..=100.0).contains(&within) {
                return Err(PickError::Within { within });
            }
            ways.push(PickedCells::At { cell, within, touching: raw.touching.unwrap_or_default() });
        } else if raw.within.is_some() || raw.touching.is_some() {
            return Err(PickError::WithoutCell);
        }
        ways.extend(raw.needles.map(PickedCells::Needles));
        ways.extend(raw.rectangle.map(PickedCells::Rectangle));
        ways.extend(raw.ellipse.map(PickedCells::Ellipse));
        ways.extend(raw.polygon.map(PickedCells::Polygon));
        ways.extend(raw.mask.map(PickedCells::Mask));
        ways.extend(raw.mask_file.map(PickedCells::MaskFile));
        if raw.stitched {
            ways.push(PickedCells::Stitched);
        }
        let change = if raw.take_away { Change::TakeAway } else { Change::Add };
        match (ways.pop(), ways.is_empty()) {
            (Some(cells), true) => Ok(Self { change, cells }),
            _ => Err(PickError::Ways),
        }
    }
}

impl From<Pick> for RawPick {
    fn from(pick: Pick) -> Self {
        let mut raw = Self { take_away: pick.change == Change::TakeAway, ..Self::default() };
        match pick.cells {
            PickedCells::At { cell, within, touching } => {
                raw.at = Some(cell);
                raw.within = (within > 0.0).then_some(within);
                raw.touching = (touching != Touching::default()).then_some(touching);
            }
            PickedCells::Needles(codes) => raw.needles = Some(codes),
            PickedCells::Rectangle(corners) => raw.rectangle = Some(corners),
            PickedCells::Ellipse(corners) => raw.ellipse = Some(corners),
            PickedCells::Polygon(points) => raw.polygon = Some(points),
            PickedCells::Mask(rows) => raw.mask = Some(rows),
            PickedCells::MaskFile(path) => raw.mask_file = Some(path),
            PickedCells::Stitched => raw.stitched = true,
        }
        raw
    }
}

/// The kinds of marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MarkKind {
    /// [`Outline`].
    Outline,
    /// [`Halo`].
    Halo,
    /// [`Lettering`].
    Lettering,
    /// [`Key`].
    Key,
    /// [`Stitches`].
    Stitches,
    /// [`Backstitch`].
    Backstitch,
}

impl MarkKind {
    /// As a person writes it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Outline => "outline",
            Self::Halo => "halo",
            Self::Lettering => "lettering",
            Self::Key => "key",
            Self::Stitches => "stitches",
            Self::Backstitch => "backstitch",
        }
    }
}

impl std::fmt::Display for MarkKind {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(self.name())
    }
}

/// How the line of an outline runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Course {
    /// Stair-steps become diagonals from hole to hole.
    #[default]
    Eased,
    /// Along every side of every cell.
    Exact,
}

/// The longest stitch of an eased outline where none is asked for, in cells: longer floats snag (common
/// practice, no source).
pub const LONGEST_STITCH: f64 = 3.0;

const fn longest_stitch() -> f64 {
    LONGEST_STITCH
}

fn is_longest_stitch(value: &f64) -> bool {
    *value == LONGEST_STITCH
}

fn is_default<V: Default + PartialEq>(value: &V) -> bool {
    *value == V::default()
}

/// A backstitched line round a motif.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Outline<T> {
    /// What it is called, once in a chart.
    pub name: String,
    /// What the key says of it; its name where nothing else is given, nothing where empty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What it goes round.
    pub motif: Motif,
    /// The threads in the needle.
    pub thread: T,
    /// How it runs.
    #[serde(default, skip_serializing_if = "is_default")]
    pub course: Course,
    /// The longest stitch in cells, 1 to 6.
    #[serde(default = "longest_stitch", skip_serializing_if = "is_longest_stitch")]
    pub longest: f64,
    /// How it is drawn; chosen so that neighbours differ where nothing is asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pattern: Option<LinePattern>,
    /// How it is sewn.
    #[serde(default, skip_serializing_if = "is_default")]
    pub stitch: LineStitch,
}

/// A ring of full crosses round a motif.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Halo<T> {
    /// What it is called, once in a chart.
    pub name: String,
    /// What the key says of it; its name where nothing else is given, nothing where empty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What it goes round.
    pub motif: Motif,
    /// The threads in the needle.
    pub thread: T,
    /// How wide it is, in cells.
    #[serde(default = "one")]
    pub wide: u8,
    /// How many cells lie between it and the motif.
    #[serde(default, skip_serializing_if = "is_default")]
    pub away: u8,
}

const fn one() -> u8 {
    1
}

/// A face to stitch in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LetterFace {
    /// Crosses; capitals 5 cells tall.
    #[default]
    Five,
    /// Crosses; bold capitals 7 cells tall.
    Seven,
    /// Crosses; capitals 10 cells tall.
    Ten,
    /// Backstitch; capitals 4 cells tall, for a name or a date on the back of a piece.
    Tiny,
    /// Backstitch; upright.
    Line,
    /// Backstitch; capitals 7 cells tall, small letters that run into each other.
    Joined,
    /// Backstitch; sloping handwriting.
    Script,
}

/// Quarter turns, clockwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(try_from = "u16", into = "u16")]
pub enum Turn {
    /// Upright.
    #[default]
    None,
    /// Reads downwards.
    Quarter,
    /// Upside down.
    Half,
    /// Reads upwards.
    ThreeQuarters,
}

/// A turn that letters cannot take.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a turn of {degrees} degrees is none of 0, 90, 180 and 270")]
pub struct TurnError {
    /// What was given.
    pub degrees: String,
}

impl FromStr for Turn {
    type Err = TurnError;
    fn from_str(text: &str) -> Result<Self, TurnError> {
        let degrees: u16 = text.trim().parse().map_err(|_| TurnError { degrees: text.to_owned() })?;
        Self::try_from(degrees)
    }
}

impl TryFrom<u16> for Turn {
    type Error = TurnError;
    fn try_from(degrees: u16) -> Result<Self, TurnError> {
        match degrees {
            0 => Ok(Self::None),
            90 => Ok(Self::Quarter),
            180 => Ok(Self::Half),
            270 => Ok(Self::ThreeQuarters),
            degrees => Err(TurnError { degrees: degrees.to_string() }),
        }
    }
}

impl From<Turn> for u16 {
    fn from(turn: Turn) -> Self {
        match turn {
            Turn::None => 0,
            Turn::Quarter => 90,
            Turn::Half => 180,
            Turn::ThreeQuarters => 270,
        }
    }
}

/// How lines of letters stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LetterAlign {
    /// Flush at the left.
    #[default]
    Left,
    /// Centred.
    Centre,
    /// Flush at the right.
    Right,
}

/// Letters.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lettering<T> {
    /// What it is called, once in a chart.
    pub name: String,
    /// What it says; a new line where the text has one.
    pub text: String,
    /// Column and row of the top left cell; top centre or top right where it is so aligned.
    pub at: [i32; 2],
    /// The threads in the needle.
    pub thread: T,
    /// What it looks like.
    #[serde(default, skip_serializing_if = "is_default")]
    pub style: LetterStyle,
}

/// What letters look like.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LetterStyle {
    /// The face.
    #[serde(default, skip_serializing_if = "is_default")]
    pub face: LetterFace,
    /// The height of capitals in cells, for `line` and `script`, 5 to 40; where nothing is
    /// asked, 7, and 12 in script.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capitals: Option<u8>,
    /// The turn of the whole.
    #[serde(default, skip_serializing_if = "is_default")]
    pub turn: Turn,
    /// How its lines stand to each other.
    #[serde(default, skip_serializing_if = "is_default")]
    pub align: LetterAlign,
    /// Cells more between letters, or fewer.
    #[serde(default, skip_serializing_if = "is_default")]
    pub letter_gap: i8,
    /// Cells more between lines, or fewer.
    #[serde(default, skip_serializing_if = "is_default")]
    pub line_gap: i8,
    /// Lines are broken at spaces to stay within so many cells.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap: Option<u16>,
}

/// Where the key stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// Below the design, on cloth added there.
    #[default]
    Below,
    /// Above the design, on cloth added there.
    Above,
    /// To the right of the design, on cloth added there.
    Beside,
    /// With its top left on this column and row, over the design where it lies there.
    At([i32; 2]),
}

/// What stands beside each label of the key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sample {
    /// A small patch in the motif's main thread with its outline.
    #[default]
    Patch,
    /// The motif made small with its outline.
    Motif,
}

/// The stitched key of the marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Key<T> {
    /// What it is called, once in a chart.
    pub name: String,
    /// The threads of its letters.
    pub thread: T,
    /// Where it stands.
    #[serde(default, skip_serializing_if = "is_default")]
    pub place: Place,
    /// A line over it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// The date, in its last line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// Initials, in its last line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub initials: Option<String>,
    /// The face of labels, date and initials.
    #[serde(default, skip_serializing_if = "is_default")]
    pub face: LetterFace,
    /// The face of the title, where it is another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title_face: Option<LetterFace>,
    /// What stands beside each label.
    #[serde(default, skip_serializing_if = "is_default")]
    pub sample: Sample,
    /// How many columns; as many as fit where nothing is asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub columns: Option<u8>,
    /// Cells between the design and the key.
    #[serde(default = "key_gap")]
    pub gap: u8,
    /// The threads of a line round it, where there is to be one.
    #[serde(default = "Option::default", skip_serializing_if = "Option::is_none")]
    pub frame: Option<T>,
}

const fn key_gap() -> u8 {
    4
}

impl<T> Mark<T> {
    /// What it is called.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Outline(mark) => &mark.name,
            Self::Halo(mark) => &mark.name,
            Self::Lettering(mark) => &mark.name,
            Self::Key(mark) => &mark.name,
            Self::Stitches(mark) => &mark.name,
            Self::Backstitch(mark) => &mark.name,
        }
    }

    /// Calls it something else.
    pub fn rename(&mut self, name: String) {
        match self {
            Self::Outline(mark) => mark.name = name,
            Self::Halo(mark) => mark.name = name,
            Self::Lettering(mark) => mark.name = name,
            Self::Key(mark) => mark.name = name,
            Self::Stitches(mark) => mark.name = name,
            Self::Backstitch(mark) => mark.name = name,
        }
    }

    /// Its kind.
    #[must_use]
    pub fn kind(&self) -> MarkKind {
        match self {
            Self::Outline(_) => MarkKind::Outline,
            Self::Halo(_) => MarkKind::Halo,
            Self::Lettering(_) => MarkKind::Lettering,
            Self::Key(_) => MarkKind::Key,
            Self::Stitches(_) => MarkKind::Stitches,
            Self::Backstitch(_) => MarkKind::Backstitch,
        }
    }

    /// The cells that it is about, where it is about any.
    #[must_use]
    pub fn motif(&self) -> Option<&Motif> {
        match self {
            Self::Outline(mark) => Some(&mark.motif),
            Self::Halo(mark) => Some(&mark.motif),
            Self::Stitches(mark) => Some(&mark.motif),
            _ => None,
        }
    }

    /// The same, to be changed.
    pub fn motif_mut(&mut self) -> Option<&mut Motif> {
        match self {
            Self::Outline(mark) => Some(&mut mark.motif),
            Self::Halo(mark) => Some(&mut mark.motif),
            Self::Stitches(mark) => Some(&mut mark.motif),
            _ => None,
        }
    }

    /// What the key says of it: its label, else its name; nothing where the label is empty or it has none.
    #[must_use]
    pub fn label(&self) -> Option<&str> {
        let (label, name) = match self {
            Self::Outline(mark) => (&mark.label, &mark.name),
            Self::Halo(mark) => (&mark.label, &mark.name),
            Self::Backstitch(mark) => (&mark.label, &mark.name),
            _ => return None,
        };
        Some(label.as_deref().unwrap_or(name)).filter(|label| !label.trim().is_empty())
    }

    /// The same mark with its threads given otherwise.
    ///
    /// # Errors
    /// The first that `find` returns.
    pub fn with_threads<U, E>(self, mut find: impl FnMut(T, Needed) -> Result<U, E>) -> Result<Mark<U>, E> {
        Ok(match self {
            Self::Outline(Outline { name, label, motif, thread, course, longest, pattern, stitch }) => {
                let thread = find(thread, Needed::Line)?;
                Mark::Outline(Outline { name, label, motif, thread, course, longest, pattern, stitch })
            }
            Self::Halo(Halo { name, label, motif, thread, wide, away }) => {
                let thread = find(thread, Needed::Crosses)?;
                Mark::Halo(Halo { name, label, motif, thread, wide, away })
            }
            Self::Lettering(Lettering { name, text, at, thread, style }) => {
                let thread = find(thread, Needed::letters(style.face))?;
                Mark::Lettering(Lettering { name, text, at, thread, style })
            }
            Self::Stitches(Stitches { name, motif, stitch, strands, add }) => {
                let add = add.map(|add| find(add, Needed::Strand)).transpose()?;
                Mark::Stitches(Stitches { name, motif, stitch, strands, add })
            }
            Self::Backstitch(Backstitch { name, label, thread, pattern, stitch, lines, knots }) => {
                let thread = find(thread, Needed::Line)?;
                Mark::Backstitch(Backstitch { name, label, thread, pattern, stitch, lines, knots })
            }
            Self::Key(key) => Mark::Key(Key {
                name: key.name,
                thread: find(key.thread, Needed::letters(key.face))?,
                frame: key.frame.map(|frame| find(frame, Needed::Line)).transpose()?,
                place: key.place,
                title: key.title,
                date: key.date,
                initials: key.initials,
                face: key.face,
                title_face: key.title_face,
                sample: key.sample,
                columns: key.columns,
                gap: key.gap,
            }),
        })
    }
}

impl Mark {
    /// Shows each of its threads.
    pub fn each_thread<'a>(&'a self, mut show: impl FnMut(&'a Thread)) {
        let (one, other): (&[Thread], &[Thread]) = match self {
            Self::Outline(mark) => (&mark.thread, &[]),
            Self::Halo(mark) => (&mark.thread, &[]),
            Self::Lettering(mark) => (&mark.thread, &[]),
            Self::Key(mark) => (&mark.thread, mark.frame.as_deref().unwrap_or_default()),
            Self::Stitches(mark) => (mark.add.as_deref().unwrap_or_default(), &[]),
            Self::Backstitch(mark) => (&mark.thread, &[]),
        };
        one.iter().chain(other).for_each(&mut show);
    }
}

/// What a thread is needed for: strands are usual by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needed {
    /// Backstitch: one strand (common practice, no source).
    Line,
    /// Crosses: as many strands as the chart's.
    Crosses,
    /// To be added to others: one strand.
    Strand,
}

impl Needed {
    /// What letters of a face are worked in.
    #[must_use]
    pub fn letters(face: LetterFace) -> Self {
        match face {
            LetterFace::Tiny | LetterFace::Line | LetterFace::Joined | LetterFace::Script => Self::Line,
            LetterFace::Five | LetterFace::Seven | LetterFace::Ten => Self::Crosses,
        }
    }
}
