//! Files from outside, read in a process apart.
//!
//! lopdf and hayro read what good programs write, and more: a forged file may make them fill the memory, run without
//! end or fall. In a command that costs the command; in a process that stays it would cost the person's evening. So a
//! child of the same program reads such a file, with limits on its memory and its time, and hands over pictures of
//! pages. Owns the child, what is said between the two, and the limits. Which program it is, the library does not
//! guess: the face says so. Leaves to `gate` what is taken of a file at all.
//!
//! Parent and child speak in frames: the length of a head as a `u32`, the head as JSON, the length of a body as a
//! `u64`, the body; both lengths little-endian. One question, one answer.

mod limits;
mod servant;

use std::ffi::OsString;
use std::io::{self, Read, Write};
use std::ops::Range;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::sync_channel;
use std::time::Duration;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::drawing::Drawn;
use super::places::Places;
use super::{ProofError, gate};
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;

pub(super) use servant::Servant;

/// Where files from outside are read.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Reader {
    /// In this process, in threads of their own: what never ends is left behind, but what eats the memory takes all
    /// with it. For pages that were made here, and for callers who are a process apart themselves.
    #[default]
    Here,
    /// In a child.
    Child(Program),
}

/// The program that reads, which calls [`serve`] when it is begun like this.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Program {
    /// Its file.
    pub path: PathBuf,
    /// Its arguments.
    pub arguments: Vec<OsString>,
    /// What it may take.
    pub limits: Limits,
}

/// What a child may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of memory, those for the pixels of a page not counted. Held by Linux; elsewhere by the child itself,
    /// which looks every few milliseconds.
    pub memory: u64,
    /// How long an answer may take, what large pages take not counted.
    pub patience: Duration,
}

impl Default for Limits {
    /// 768 MiB, three times what the largest file takes that is read at all; and 30 s, a little more than the child
    /// gives itself, which is a hundred times what a good file takes.
    fn default() -> Self {
        Self { memory: 768 << 20, patience: Duration::from_secs(30) }
    }
}

impl Program {
    /// A program with the usual limits.
    #[must_use]
    pub fn new(path: PathBuf, arguments: Vec<OsString>) -> Self {
        Self { path, arguments, limits: Limits::default() }
    }
}

/// What the child is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Ask {
    /// To open the file in the body, which shows a chart of so many columns and rows.
    Open { size: GridSize, memory: u64 },
    /// For the picture of a page.
    Page { page: usize, dpi: f64, memory: u64 },
    /// To open the file in the body, which is from anywhere.
    OpenForeign { memory: u64 },
    /// For what is drawn on these pages of it.
    Draw { pages: Range<usize>, memory: u64 },
}

impl Ask {
    /// What the child may take for the answer.
    pub(super) fn memory(&self) -> u64 {
        match self {
            Self::Open { memory, .. }
            | Self::Page { memory, .. }
            | Self::OpenForeign { memory }
            | Self::Draw { memory, .. } => *memory,
        }
    }
}

/// What it answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Answer {
    /// What the pages are, and their sizes in points.
    Opened { places: Places, sizes: Vec<[f32; 2]> },
    /// The page, in grey, in the body.
    Page { width: u32, height: u32 },
    /// How many pages there are.
    Counted { pages: usize },
    /// What is drawn on pages, as JSON in the body.
    Drawn,
    /// Neither.
    Refused(Refusal),
}

/// Why not: those of [`ProofError`] that a child can find.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Refusal {
    NotPdf,
    Locked,
    TooLarge,
    Page { page: usize, mm: [f64; 2], dpi: f64 },
    Foreign { page: usize },
    NotOurs,
    Unmarked,
    Screen,
    OtherSize { found: [u32; 2], wanted: [u32; 2] },
    TooLong { seconds: u64 },
    Thread { why: String },
}

impl From<ProofError> for Refusal {
    fn from(error: ProofError) -> Self {
        match error {
            ProofError::Locked => Self::Locked,
            ProofError::TooLarge => Self::TooLarge,
            ProofError::Page { page, mm, dpi } => Self::Page { page, mm, dpi },
            ProofError::Foreign { page } => Self::Foreign { page },
            ProofError::NotOurs => Self::NotOurs,
            ProofError::Unmarked => Self::Unmarked,
            ProofError::Screen => Self::Screen,
            ProofError::OtherSize { found, wanted } => Self::OtherSize { found, wanted },
            ProofError::TooLong { seconds } => Self::TooLong { seconds },
            ProofError::Thread(why) => Self::Thread { why: why.to_string() },
            // What reading a file does not come to: the one who asks and what is done with the pictures find it.
            ProofError::NotPdf
            | ProofError::Memory { .. }
            | ProofError::Fell { .. }
            | ProofError::Answer
            | ProofError::Process(_)
            | ProofError::Key { .. }
            | ProofError::Grid { .. }
            | ProofError::OtherGrid { .. }
            | ProofError::Dpi { .. }
            | ProofError::Stopped(_) => Self::NotPdf,
        }
    }
}

impl From<Refusal> for ProofError {
    fn from(refusal: Refusal) -> Self {
        match refusal {
            Refusal::NotPdf => Self::NotPdf,
            Refusal::Locked => Self::Locked,
            Refusal::TooLarge => Self::TooLarge,
            Refusal::Page { page, mm, dpi } => Self::Page { page, mm, dpi },
            Refusal::Foreign { page } => Self::Foreign { page },
            Refusal::NotOurs => Self::NotOurs,
            Refusal::Unmarked => Self::Unmarked,
            Refusal::Screen => Self::Screen,
            Refusal::OtherSize { found, wanted } => Self::OtherSize { found, wanted },
            Refusal::TooLong { seconds } => Self::TooLong { seconds },
            Refusal::Thread { why } => Self::Thread(io::Error::other(why)),
        }
    }
}

/// The longest head: what the pages of the largest file are takes a tenth of it.
const MOST_HEAD: u32 = 16 << 20;

/// Writes a frame.
fn send(out: &mut impl Write, head: &impl Serialize, body: &[u8]) -> io::Result<()> {
    let head = serde_json::to_vec(head)?;
    let length = u32::try_from(head.len()).map_err(io::Error::other)?;
    out.write_all(&length.to_le_bytes())?;
    out.write_all(&head)?;
    out.write_all(&(body.len() as u64).to_le_bytes())?;
    out.write_all(body)?;
    out.flush()
}

/// Reads a frame whose body has so many bytes at most.
fn receive<T: DeserializeOwned>(input: &mut impl Read, most: u64) -> io::Result<(T, Vec<u8>)> {
    let mut part = |length: u64, most: u64| {
        if length > most {
            return Err(io::Error::new(io::ErrorKind::InvalidData, "a frame of any length"));
        }
        let mut bytes = Vec::new();
        input.take(length).read_to_end(&mut bytes)?;
        if (bytes.len() as u64) < length { Err(io::ErrorKind::UnexpectedEof.into()) } else { Ok(bytes) }
    };
    let number = |bytes: Vec<u8>| bytes.iter().rev().fold(0_u64, |sum, &byte| sum << 8 | u64::from(byte));
    let length = number(part(4, 4)?);
    let head = part(length, MOST_HEAD.into())?;
    let length = number(part(8, 8)?);
    let body = part(length, most)?;
    Ok((serde_json::from_slice(&head)?, body))
}

/// The most bytes that tell what is drawn on pages: 120,000 things of a full page take 13 million.
pub(super) const MOST_DRAWN: usize = 64 << 20;

/// What is drawn on pages, as JSON; where that is more than is told, that there is too much.
fn told(drawn: Vec<Drawn>) -> Result<Vec<u8>, ProofError> {
    let mut out = Bounded::default();
    if serde_json::to_writer(&mut out, &drawn).is_ok() {
        return Ok(out.0);
    }
    let full = |page: Drawn| Drawn { size: page.size, full: true, ..Drawn::default() };
    let full: Vec<Drawn> = drawn.into_iter().map(full).collect();
    serde_json::to_vec(&full).map_err(|_| ProofError::NotPdf)
}

/// Bytes, up to [`MOST_DRAWN`].
#[derive(Default)]
struct Bounded(Vec<u8>);

impl Write for Bounded {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.0.len() + bytes.len() > MOST_DRAWN {
            return Err(io::ErrorKind::StorageFull.into());
        }
        self.0.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Answers questions about files until no more come: what the child does. `gone` is called when the one who asks has
/// gone, while an answer may still be worked on: it should end the process.
///
/// # Errors
/// When an answer cannot be written.
pub fn serve(
    mut input: impl Read + Send + 'static,
    mut output: impl Write,
    gone: impl FnOnce() + Send + 'static,
) -> io::Result<()> {
    let (hand, handed) = sync_channel::<(Ask, Vec<u8>)>(1);
    std::thread::Builder::new().name("brede listens".to_owned()).spawn(move || {
        while let Ok(asked) = receive(&mut input, gate::MOST_BYTES as u64) {
            if hand.send(asked).is_err() {
                return;
            }
        }
        gone();
    })?;
    let (mut opened, mut foreign) = (None, None);
    for (ask, body) in handed {
        limits::set(ask.memory());
        let done = match ask {
            Ask::Open { size, .. } => gate::open(Arc::new(body), size, &Silent).map(|file| {
                let answer = Answer::Opened { places: file.places.clone(), sizes: file.sizes.clone() };
                opened = Some(file);
                (answer, Vec::new())
            }),
            Ask::Page { page, dpi, .. } => {
                let file = opened.as_ref().ok_or(ProofError::NotPdf);
                file.and_then(|file| gate::rendered(file, page, dpi, &Silent)).map(|page| {
                    (Answer::Page { width: page.width(), height: page.height() }, page.into_raw())
                })
            }
            Ask::OpenForeign { .. } => gate::open_foreign(Arc::new(body), &Silent).map(|file| {
                let answer = Answer::Counted { pages: file.count() };
                foreign = Some(file);
                (answer, Vec::new())
            }),
            Ask::Draw { pages, .. } => {
                let file = foreign.as_ref().ok_or(ProofError::NotPdf);
                let drawn = file.and_then(|file| gate::drawn(file, pages, &Silent));
                drawn.and_then(|drawn| Ok((Answer::Drawn, told(drawn)?)))
            }
        };
        let (answer, body) = done.unwrap_or_else(|error| (Answer::Refused(error.into()), Vec::new()));
        send(&mut output, &answer, &body)?;
    }
    Ok(())
}
