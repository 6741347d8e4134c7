//! A page as it will come out of the printer, for a screen: what paper, ink and squares come to before pages are made.

use serde::Serialize;

use super::files::Files;
use super::memory;
use super::print::{PageFigures, PageSettings};
use super::{Error, Heavy, Moment, Replace, Report, Source, Warning, Written};
use crate::ground::progress::{Progress, Stage, tell};
use crate::making::photo::Limits;
use crate::printing::picture;
use crate::reading::shown;

/// The page that is to be shown.
#[derive(Debug, Clone)]
pub struct PageShownRequest {
    /// The chart.
    pub chart: Source,
    /// How its pages are to be.
    pub page: PageSettings,
    /// Which page, from 1; else the first that shows cells.
    pub number: Option<usize>,
    /// Dots an inch.
    pub dpi: f64,
    /// What the pages are dated with.
    pub moment: Moment,
    /// How much may be taken of memory.
    pub limits: Limits,
}

/// A page as it will be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PageShownReport {
    /// All pages.
    #[serde(flatten)]
    pub pages: PageFigures,
    /// Which of them is shown, from 1.
    pub number: usize,
    /// It, as PNG.
    #[serde(skip)]
    pub picture: Vec<u8>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for PageShownReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Shows a page as it will be printed.
///
/// # Errors
/// [`Error`].
pub fn page_shown(request: &PageShownRequest, progress: &dyn Progress) -> Result<PageShownReport, Error> {
    let mut files = Files::new(Replace::Ours, progress).within(request.limits);
    let mut chart = files.chart(&request.chart)?;
    request.page.give_symbols(&mut chart)?;
    let composed = files.worked(&chart)?;
    files.may_take(Heavy::Pages(chart.size()), memory::pages(&composed, request.page.paper))?;
    let (laid, bytes) = request.page.pages(&composed, &files.stamps, request.moment, progress)?;
    let all = laid.sheet.pages.len();
    let first = all - laid.chart_pages.min(all) + 1;
    let number = request.number.unwrap_or(first).clamp(1, all.max(1));
    tell(progress, Stage::Inking, 0, 1)?;
    let page =
        shown::page(bytes, number - 1, request.dpi).expect("a printing has pages, and ours can be read");
    let mut warnings = std::mem::take(&mut files.warnings);
    warnings.extend(laid.warnings.iter().cloned().map(Warning::from));
    Ok(PageShownReport {
        pages: PageFigures::of(&laid),
        number,
        picture: picture::png(page, progress)?,
        warnings,
        files: Vec::new(),
    })
}
