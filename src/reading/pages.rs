//! The pages of a file, wherever it is read.

use std::ops::Range;
use std::sync::{Arc, Mutex, PoisonError};

use image::GrayImage;

use super::apart::{Answer, Ask, Limits, Program, Servant};
use super::drawing::Drawn;
use super::gate::{self, Opened, million_pixels};
use super::places::Places;
use super::{ProofError, Reader};
use crate::ground::progress::Progress;
use crate::ground::units::GridSize;

/// What rendering takes for a pixel, in bytes, beside what a child may take for the file.
const PIXEL: f64 = 8.0;

/// A file that was opened.
pub(super) struct Pages {
    pub(super) places: Places,
    /// The width and height of each page in points.
    pub(super) sizes: Vec<[f32; 2]>,
    read: Read,
}

enum Read {
    Here(Opened),
    Apart(Apart),
}

/// A file that children read: as many as there are threads that ask at once.
struct Apart {
    program: Program,
    file: Arc<Vec<u8>>,
    size: GridSize,
    idle: Mutex<Vec<Servant>>,
}

impl Pages {
    /// Opens a file that shows a chart of this size.
    pub(super) fn open(
        reader: &Reader,
        pdf: &[u8],
        size: GridSize,
        progress: &dyn Progress,
    ) -> Result<Self, ProofError> {
        if pdf.len() > gate::MOST_BYTES {
            return Err(ProofError::TooLarge);
        }
        let file = Arc::new(pdf.to_vec());
        let program = match reader {
            Reader::Here => {
                let opened = gate::open(file, size, progress)?;
                let (places, sizes) = (opened.places.clone(), opened.sizes.clone());
                return Ok(Self { places, sizes, read: Read::Here(opened) });
            }
            Reader::Child(program) => program.clone(),
        };
        let apart = Apart { program, file, size, idle: Mutex::default() };
        let (servant, places, sizes) = apart.open(progress)?;
        apart.keep(servant);
        Ok(Self { places, sizes, read: Read::Apart(apart) })
    }

    /// A page in grey, 255 white.
    pub(super) fn rendered(
        &self,
        page: usize,
        dpi: f64,
        progress: &dyn Progress,
    ) -> Result<GrayImage, ProofError> {
        let apart = match &self.read {
            Read::Here(opened) => return gate::rendered(opened, page, dpi, progress),
            Read::Apart(apart) => apart,
        };
        let pixels = million_pixels(&self.sizes, page, dpi)? * 1e6;
        let limits = apart.program.limits;
        // A child gives up first, with a better reason, unless it was told to be quick.
        let usual = gate::patience(&self.sizes, page, dpi)?.saturating_sub(gate::patience_without_pixels());
        let patience = limits.patience + usual;
        let memory = limits.memory + (pixels * PIXEL).clamp(0.0, 1e10) as u64;
        let mut servant = match apart.idle() {
            Some(servant) => servant,
            None => apart.open(progress)?.0,
        };
        let ask = Ask::Page { page, dpi, memory };
        let (answer, body) = servant.ask(ask, &Arc::default(), patience, progress)?;
        let Answer::Page { width, height } = answer else { return Err(ProofError::Answer) };
        let page = GrayImage::from_raw(width, height, body).ok_or(ProofError::Answer)?;
        apart.keep(servant);
        Ok(page)
    }
}

impl Apart {
    /// A child that has opened the file.
    fn open(&self, progress: &dyn Progress) -> Result<(Servant, Places, Vec<[f32; 2]>), ProofError> {
        let limits = self.program.limits;
        let ask = Ask::Open { size: self.size, memory: limits.memory };
        let mut servant = Servant::begin(&self.program)?;
        match servant.ask(ask, &self.file, limits.patience, progress)? {
            (Answer::Opened { places, sizes }, _) => Ok((servant, places, sizes)),
            _ => Err(ProofError::Answer),
        }
    }

    fn idle(&self) -> Option<Servant> {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner).pop()
    }

    fn keep(&self, servant: Servant) {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner).push(servant);
    }
}

/// A file from anywhere, wherever it is read.
pub(super) struct Foreign {
    /// How many pages it has.
    pub(super) count: usize,
    read: ForeignRead,
}

enum ForeignRead {
    Here(gate::Foreign),
    Apart { servant: Mutex<Servant>, limits: Limits },
}

/// What a child may take that reads a file from anywhere: a chart of 420,000 squares takes half of it, and what is no
/// chart should not take a small machine.
const FOREIGN_MEMORY: u64 = 384 << 20;

impl Foreign {
    /// Opens a file.
    pub(super) fn open(reader: &Reader, pdf: &[u8], progress: &dyn Progress) -> Result<Self, ProofError> {
        if pdf.len() > gate::MOST_BYTES {
            return Err(ProofError::TooLarge);
        }
        let file = Arc::new(pdf.to_vec());
        let Reader::Child(program) = reader else {
            let opened = gate::open_foreign(file, progress)?;
            return Ok(Self { count: opened.count(), read: ForeignRead::Here(opened) });
        };
        let limits = Limits { memory: program.limits.memory.min(FOREIGN_MEMORY), ..program.limits };
        let mut servant = Servant::begin(program)?;
        let ask = Ask::OpenForeign { memory: limits.memory };
        let (answer, _) = servant.ask(ask, &file, limits.patience, progress)?;
        let Answer::Counted { pages: count } = answer else { return Err(ProofError::Answer) };
        Ok(Self { count, read: ForeignRead::Apart { servant: Mutex::new(servant), limits } })
    }

    /// What is drawn on some of its pages.
    pub(super) fn drawn(
        &self,
        pages: Range<usize>,
        progress: &dyn Progress,
    ) -> Result<Vec<Drawn>, ProofError> {
        let (servant, limits) = match &self.read {
            ForeignRead::Here(file) => return gate::drawn(file, pages, progress),
            ForeignRead::Apart { servant, limits } => (servant, limits),
        };
        let ask = Ask::Draw { pages, memory: limits.memory };
        let mut servant = servant.lock().unwrap_or_else(PoisonError::into_inner);
        let (answer, body) = servant.ask(ask, &Arc::default(), limits.patience, progress)?;
        match answer {
            Answer::Drawn => serde_json::from_slice(&body).map_err(|_| ProofError::Answer),
            _ => Err(ProofError::Answer),
        }
    }
}
