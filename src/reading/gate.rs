//! The border with files from outside: what is taken as printed pages at all, and how far reading it may go.
//!
//! lopdf and hayro read what good programs write, and more. A forged file can make them panic, run without end or
//! fill the memory: a stream that unpacks to any size, a dash a thousandth of a point long on a line a mile long,
//! a font whose letters are pages. So files and streams have a most size, pages a most number of pixels, and a page
//! may only hold the operators that brede's pages consist of: none that draws pictures, patterns or further content.
//! What still goes wrong stays here: both libraries work in threads of their own, where a panic ends the thread
//! alone and what takes beyond all measure is left behind. What would take the whole process with it is for
//! `apart`, where all this runs in a child.

use std::io;
use std::ops::Range;
use std::sync::Arc;
use std::sync::mpsc::{RecvTimeoutError, sync_channel};
use std::time::{Duration, Instant};

use hayro::hayro_interpret::{InterpreterCache, InterpreterSettings};
use hayro::hayro_syntax::object::Object;
use hayro::hayro_syntax::page::Page;
use hayro::hayro_syntax::{LoadPdfError, Pdf};
use image::GrayImage;
use lopdf::Document;

use super::drawing::{self, Drawn};
use super::places::Places;
use super::{ProofError, picture};
use crate::ground::progress::{Progress, Stopped, ask};
use crate::ground::units::GridSize;

/// The largest file, 64 MiB: the largest chart that can be printed takes half of it.
pub(super) const MOST_BYTES: usize = 64 << 20;

/// What a stream may unpack to, 16 MiB: the fullest page of cells on the largest paper takes 10 MiB.
const MOST_UNPACKED: usize = 16 << 20;

/// The most streams that a page's content may be parted into; brede writes one.
const MOST_PARTS: usize = 8;

/// Packed streams up to this length cannot unpack to more: deflate (RFC 1951) makes at most 1032 bytes of one.
const SURELY_SMALL: usize = MOST_UNPACKED / 1032;

/// The most pixels of a page: A3 at 600 dots an inch has 70 million. The renderer takes some 5 bytes for each.
const MOST_PIXELS: f64 = 100e6;

/// The most cells of a page: the largest paper has 640,000.
const MOST_CELLS: usize = 1_000_000;

/// The most memory in bytes that pages take which are read at once.
const AT_ONCE: f64 = 1e9;

/// What the renderer takes for a pixel, and the reader for a cell, in bytes.
const PIXEL: f64 = 6.0;
const CELL: f64 = 900.0;

/// The stack of such a thread: both libraries bound how deep they go, by more than the usual 2 MiB hold.
const STACK: usize = 16 << 20;

/// How long opening a file may take.
const PATIENCE: Duration = Duration::from_secs(20);

/// How often a wish to stop is looked for.
const OFTEN: Duration = Duration::from_millis(20);

/// How much longer a page may take for each million pixels; a good one takes some hundredths of it.
const PATIENCE_A_MILLION: Duration = Duration::from_secs(1);

/// The operators that pages of cells and of the key consist of (ISO 32000-1, annex A), and their plain siblings.
const OPERATORS: &[&[u8]] = &[
    b"q", b"Q", b"cm", b"w", b"J", b"j", b"M", b"d", b"m", b"l", b"c", b"v", b"y", b"h", b"re", b"S", b"s",
    b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"n", b"g", b"G", b"rg", b"RG", b"k", b"K", b"BT", b"ET",
    b"Tc", b"Tw", b"Tz", b"TL", b"Tf", b"Tr", b"Ts", b"Td", b"TD", b"Tm", b"T*", b"Tj", b"TJ", b"'", b"\"",
    b"MP", b"DP", b"BMC", b"BDC", b"EMC",
];

/// The largest number on a page: points of the largest paper, hundredfold.
const LARGEST: f64 = 1e6;

/// The most dashes of one path: the longest outline of a page has some hundreds, and each takes memory.
const MOST_DASHES: f64 = 300_000.0;

/// How work on a file from outside ended.
enum Fell {
    Over,
    Behind,
    Stopped(Stopped),
    NotBegun(io::Error),
}

impl Fell {
    /// What is said of it, where a panic means this.
    fn said(self, panicked: ProofError, patience: Duration) -> ProofError {
        match self {
            Self::Over => panicked,
            Self::Behind => ProofError::TooLong { seconds: patience.as_secs() },
            Self::Stopped(stopped) => stopped.into(),
            Self::NotBegun(error) => ProofError::Thread(error),
        }
    }
}

/// Does work in a thread of its own, and comes back whatever becomes of it.
fn contained<T: Send + 'static>(
    patience: Duration,
    progress: &dyn Progress,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Fell> {
    let begun = Instant::now();
    let (tell, told) = sync_channel(1);
    std::thread::Builder::new()
        .name("brede reads a page".to_owned())
        .stack_size(STACK)
        // Nobody listens any more where it took too long.
        .spawn(move || _ = tell.send(work()))
        .map_err(Fell::NotBegun)?;
    loop {
        match told.recv_timeout(OFTEN) {
            Ok(done) => return Ok(done),
            Err(RecvTimeoutError::Disconnected) => return Err(Fell::Over),
            Err(RecvTimeoutError::Timeout) if begun.elapsed() > patience => return Err(Fell::Behind),
            Err(RecvTimeoutError::Timeout) => ask(progress).map_err(Fell::Stopped)?,
        }
    }
}

/// A file that was opened.
pub(super) struct Opened {
    file: Arc<Pdf>,
    /// What its pages are.
    pub(super) places: Places,
    /// The width and height of each in points.
    pub(super) sizes: Vec<[f32; 2]>,
}

/// A file from anywhere that was opened.
pub(super) struct Foreign(Arc<Pdf>);

impl Foreign {
    /// How many pages it has.
    pub(super) fn count(&self) -> usize {
        self.0.pages().len()
    }
}

/// Opens a file from anywhere.
pub(super) fn open_foreign(pdf: Arc<Vec<u8>>, progress: &dyn Progress) -> Result<Foreign, ProofError> {
    if pdf.len() > MOST_BYTES {
        return Err(ProofError::TooLarge);
    }
    let work = move || match Pdf::new(pdf) {
        Ok(file) => Ok(Foreign(Arc::new(file))),
        Err(LoadPdfError::Decryption(_)) => Err(ProofError::Locked),
        Err(LoadPdfError::Invalid) => Err(ProofError::NotPdf),
    };
    contained(PATIENCE, progress, work).unwrap_or_else(|fell| Err(fell.said(ProofError::NotPdf, PATIENCE)))
}

/// So many things are handed over at once; a page alone may have more.
const MOST_HANDED: usize = 300_000;

/// What is drawn on some pages of it: on the first of these, and on as many more as are handed over at once.
pub(super) fn drawn(
    file: &Foreign,
    pages: Range<usize>,
    progress: &dyn Progress,
) -> Result<Vec<Drawn>, ProofError> {
    let file = Arc::clone(&file.0);
    let work = move || {
        let (cache, settings) = (InterpreterCache::new(), InterpreterSettings::default());
        let pages = file.pages().get(pages).unwrap_or_default();
        let mut handed = 0;
        let mut found = Vec::new();
        for page in pages {
            found.push(drawing::drawn(page, &cache, &settings));
            handed += found.last().map_or(0, |page: &Drawn| page.items.len());
            if handed > MOST_HANDED {
                break;
            }
        }
        found
    };
    contained(PATIENCE, progress, work).map_err(|fell| fell.said(ProofError::NotPdf, PATIENCE))
}

/// Opens a file that shows a chart of this size, with both readers.
pub(super) fn open(pdf: Arc<Vec<u8>>, size: GridSize, progress: &dyn Progress) -> Result<Opened, ProofError> {
    if pdf.len() > MOST_BYTES {
        return Err(ProofError::TooLarge);
    }
    let work = move || {
        let options = lopdf::LoadOptions::with_max_decompressed_size(MOST_UNPACKED);
        let document = match Document::load_mem_with_options(&pdf, options) {
            Ok(document) => document,
            Err(lopdf::Error::InvalidPassword | lopdf::Error::Decryption(_)) => {
                return Err(ProofError::Locked);
            }
            Err(_) => return Err(ProofError::NotPdf),
        };
        if document.is_encrypted() || document.was_encrypted() {
            return Err(ProofError::Locked);
        }
        unpacked(&document)?;
        let places = Places::read(&document, size)?;
        drop(document);
        let file = Pdf::new(pdf).map_err(|_| ProofError::NotPdf)?;
        let sizes = file.pages().iter().map(|page| page.render_dimensions().into()).collect();
        Ok(Opened { file: Arc::new(file), places, sizes })
    };
    contained(PATIENCE, progress, work).unwrap_or_else(|fell| Err(fell.said(ProofError::NotPdf, PATIENCE)))
}

/// Holds what streams unpack to to its limit. Pictures are left out: no page that is read shows one.
fn unpacked(document: &Document) -> Result<(), ProofError> {
    for object in document.objects.values() {
        let contents = object.as_dict().and_then(|page| page.get_deref(b"Contents", document));
        if contents.and_then(lopdf::Object::as_array).is_ok_and(|parts| parts.len() > MOST_PARTS) {
            return Err(ProofError::TooLarge);
        }
        let Ok(stream) = object.as_stream() else { continue };
        let is_picture =
            stream.dict.get(b"Subtype").and_then(lopdf::Object::as_name).is_ok_and(|kind| kind == b"Image");
        if is_picture
            || stream.content.len() <= SURELY_SMALL && stream.filters().is_ok_and(|all| all.len() < 2)
        {
            continue;
        }
        let unpacked = stream.decompressed_content_with_limit(MOST_UNPACKED);
        if matches!(
            unpacked,
            Err(lopdf::Error::Decompress(lopdf::DecompressError::MemoryLimitExceeded { .. }))
        ) {
            return Err(ProofError::TooLarge);
        }
    }
    Ok(())
}

/// Millions of pixels of a page, held to their limit.
pub(super) fn million_pixels(sizes: &[[f32; 2]], page: usize, dpi: f64) -> Result<f64, ProofError> {
    let size = sizes.get(page).ok_or(ProofError::NotPdf)?;
    let [width, height] = size.map(|points| f64::from(points) / 72.0);
    let pixels = width * height * dpi * dpi;
    // The renderer counts sides in 16 bits.
    let is_fine = pixels <= MOST_PIXELS && width.max(height) * dpi <= f64::from(u16::MAX) && pixels >= 1.0;
    if is_fine {
        return Ok(pixels / 1e6);
    }
    Err(ProofError::Page { page: page + 1, mm: [width, height].map(|inches| inches * 25.4), dpi })
}

/// How many pages fit into the memory: so many rendered at once, and of so many the cells kept.
pub(super) struct Room {
    pub(super) rendered: usize,
    pub(super) kept: usize,
}

/// The room for these pages, each with its number of cells.
pub(super) fn room(sizes: &[[f32; 2]], pages: &[(usize, usize)], dpi: f64) -> Result<Room, ProofError> {
    let (mut largest, mut fullest) = (1e6, 1e6);
    for &(page, cells) in pages {
        if cells > MOST_CELLS {
            return Err(ProofError::NotOurs);
        }
        fullest = f64::max(fullest, cells as f64 * CELL);
        largest = f64::max(largest, million_pixels(sizes, page, dpi)? * 1e6 * PIXEL);
    }
    #[allow(clippy::cast_sign_loss, reason = "at least one")]
    let [rendered, kept] = [largest + fullest, fullest].map(|each| (AT_ONCE / each).max(1.0) as usize);
    Ok(Room { rendered, kept })
}

/// How long it may take to render a page of no size.
pub(super) fn patience_without_pixels() -> Duration {
    PATIENCE
}

/// How long rendering a page may take.
pub(super) fn patience(sizes: &[[f32; 2]], page: usize, dpi: f64) -> Result<Duration, ProofError> {
    Ok(PATIENCE + PATIENCE_A_MILLION.mul_f64(million_pixels(sizes, page, dpi)?))
}

/// A page in grey, 255 white.
pub(super) fn rendered(
    opened: &Opened,
    page: usize,
    dpi: f64,
    progress: &dyn Progress,
) -> Result<GrayImage, ProofError> {
    let patience = patience(&opened.sizes, page, dpi)?;
    let shared = Arc::clone(&opened.file);
    let work = move || {
        let plain = shared.pages().get(page).is_some_and(is_plain);
        if plain {
            picture::rendered(&shared, page, dpi).ok_or(ProofError::NotPdf)
        } else {
            Err(ProofError::Foreign { page: page + 1 })
        }
    };
    contained(patience, progress, work).unwrap_or_else(|fell| Err(fell.said(ProofError::NotPdf, patience)))
}

/// Whether a page holds nothing but what brede's pages consist of, in measures that can be drawn.
fn is_plain(page: &Page<'_>) -> bool {
    let mut dashing = Dashing::default();
    let mut operations = page.operations();
    while let Some(operation) = operations.next() {
        let operator: &[u8] = operation.operator;
        let mut numbers = [0.0; 6];
        for (at, operand) in operation.operands().enumerate() {
            match operand {
                Object::Number(number) => {
                    if let Some(place) = numbers.get_mut(at) {
                        *place = number.as_f64();
                    }
                    if number.as_f64().abs() > LARGEST {
                        return false;
                    }
                }
                Object::Array(parts) if operator == b"d" => {
                    dashing.round = parts.iter::<f64>().map(f64::abs).sum();
                }
                _ => {}
            }
        }
        if !OPERATORS.contains(&operator) || !dashing.may(operator, &numbers) {
            return false;
        }
    }
    true
}

/// The dashes of a path, counted before they are drawn.
#[derive(Default)]
struct Dashing {
    /// The length of one round of dashes and gaps; 0 for lines without.
    round: f64,
    /// The path so far, measured along its control points.
    length: f64,
    at: [f64; 2],
}

impl Dashing {
    /// Follows an operator; whether the dashes that it draws are not too many.
    fn may(&mut self, operator: &[u8], numbers: &[f64; 6]) -> bool {
        let points = match operator {
            b"m" | b"l" => 1,
            b"v" | b"y" => 2,
            b"c" => 3,
            _ => 0,
        };
        for point in numbers.chunks_exact(2).take(points) {
            if operator != b"m" {
                self.length += (point[0] - self.at[0]).abs() + (point[1] - self.at[1]).abs();
            }
            self.at = [point[0], point[1]];
        }
        match operator {
            b"re" => self.length += 2.0 * (numbers[2].abs() + numbers[3].abs()),
            b"S" | b"s" | b"B" | b"B*" | b"b" | b"b*" => {
                // Twice, as closing a path may make it as long again.
                let is_few = self.round == 0.0 || 2.0 * self.length / self.round <= MOST_DASHES;
                self.length = 0.0;
                return is_few;
            }
            b"f" | b"F" | b"f*" | b"n" => self.length = 0.0,
            _ => {}
        }
        true
    }
}
