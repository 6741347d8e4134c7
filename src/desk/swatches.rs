//! A shade card from a photo of threads laid in a grid.

use serde::Serialize;

use super::files::{Files, Output};
use super::{Error, Replace, Report, Source, Target, Wanted, Warning, What, Written};
use crate::ground::progress::Progress;
use crate::making::photo::Limits;
use crate::planning::table;
use crate::printing::picture;
use crate::thread::shades::ShadeCard;
use crate::thread::shades::swatches::{Layout, Part, Swatches, swatches};

/// A photo of threads beside white paper.
#[derive(Debug, Clone)]
pub struct CardFromPhotoRequest {
    /// The photo.
    pub photo: Source,
    /// Places across.
    pub columns: u32,
    /// Places down.
    pub rows: u32,
    /// Where the white paper lies.
    pub paper: Part,
    /// Where the grid of threads lies; else the whole photo.
    pub grid: Option<Part>,
    /// Codes and names, a line a thread; else numbered by rows.
    pub codes: Option<Source>,
    /// Where the card goes.
    pub output: Target,
    /// Where the balanced photo goes, with the places that were looked at.
    pub check: Option<Target>,
    /// How large a photo may be.
    pub limits: Limits,
    /// What may be written over.
    pub replace: Replace,
}

/// A card made from a photo.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CardFromPhotoReport {
    /// How many threads it has.
    pub threads: usize,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for CardFromPhotoReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// A place more uneven than this, in median ΔE00, is told: the sheen of thread alone stays below (common
/// practice, no source).
const UNEVEN: f64 = 6.0;

/// Makes a card from a photo.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn card_from_photo(
    request: &CardFromPhotoRequest,
    progress: &dyn Progress,
) -> Result<CardFromPhotoReport, Error> {
    let mut files = Files::new(request.replace, progress).within(request.limits);
    let photo = files.photo(&request.photo, progress)?;
    let pixels = photo.pixels();
    let whole = Part { x: 0, y: 0, width: pixels.width(), height: pixels.height() };
    let layout = Layout {
        paper: request.paper,
        grid: request.grid.unwrap_or(whole),
        columns: request.columns,
        rows: request.rows,
    };
    let found = swatches(pixels, &layout)
        .map_err(|source| Error::Swatches { name: request.photo.to_string(), source })?;
    let names = names(request.codes.as_ref(), found.colours.len(), &mut files)?;
    let csv = card_csv(&names, &found);
    // The card must be one that can be read again: a code twice is told here, not later.
    ShadeCard::read("the photo", csv.as_bytes()).map_err(Error::PhotographedCard)?;
    files.warnings.extend(found.warnings.iter().map(|&warning| Warning::Swatches { warning }));
    for ((code, _), &uneven) in names.iter().zip(&found.unevenness) {
        if uneven > UNEVEN {
            files.warnings.push(Warning::UnevenPlace { code: code.clone(), delta_e: uneven });
        }
    }
    files.warnings.push(Warning::NoSpectrophotometer);
    let stem = request.photo.stem();
    let mut outputs = Vec::new();
    if let Some(target) = &request.check {
        outputs.push(Output {
            what: What::Check,
            target: target.clone(),
            name: format!("{stem}.check.png"),
            bytes: picture::png(found.check.clone(), progress)?,
        });
    }
    outputs.push(Output {
        what: What::Card,
        target: request.output.clone(),
        name: format!("{stem}.csv"),
        bytes: csv.into_bytes(),
    });
    let written = files.write(outputs)?;
    Ok(CardFromPhotoReport { threads: names.len(), warnings: files.warnings, files: written })
}

/// Code and name of each place; an empty line leaves its place out.
fn names(codes: Option<&Source>, places: usize, files: &mut Files) -> Result<Vec<(String, String)>, Error> {
    let Some(source) = codes else {
        return Ok((1..=places).map(|place| (format!("P{place}"), format!("place {place}"))).collect());
    };
    let text = files.text(source, Wanted::Codes)?;
    let names: Vec<(String, String)> = text
        .trim_end()
        .lines()
        .map(|line| {
            // A line a place: an empty one is a place without a thread, which a reader of CSV would pass over.
            let mut reader =
                csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(line.as_bytes());
            let row = reader.records().next().and_then(Result::ok).unwrap_or_default();
            let code = row.get(0).unwrap_or_default().trim();
            (code.to_owned(), row.get(1).unwrap_or(code).trim().to_owned())
        })
        .collect();
    if names.is_empty() || names.len() > places {
        return Err(Error::CodesOfPlaces { name: source.to_string(), found: names.len(), places });
    }
    Ok(names)
}

fn card_csv(names: &[(String, String)], found: &Swatches) -> String {
    let named = names.iter().zip(&found.colours).filter(|((code, _), _)| !code.is_empty());
    table(
        ["code", "name", "colour"],
        named.map(|((code, name), colour)| [code.clone(), name.clone(), colour.to_string()]),
    )
}
