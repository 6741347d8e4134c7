//! A finished chart taken cell by cell, from a picture or a table of codes.

use image::DynamicImage;

use super::files::Files;
use super::make::{
    Expected, Kept, Made, MakeReport, Matched, SetRequest, TakeSettings, finish, keep, one_line_title,
};
use super::{Error, Note, Source, Wanted};
use crate::ground::progress::Progress;
use crate::making::exact::{self, Exact, ExactOptions};
use crate::making::frame::Kind;
use crate::making::make::Making;
use crate::making::photo;
use crate::making::reduce::Figures;
use crate::making::squares::Squares;
use crate::thread::shades::ShadeCard;

/// What a chart is to be taken from, and how.
#[derive(Debug, Clone)]
pub struct TakeRequest {
    /// A picture with one pixel a cell, or a table (CSV) with one code a cell.
    pub picture: Source,
    /// The shade card; else the demonstration card.
    pub card: Option<Source>,
    /// Measures of how thread covers.
    pub cover: Option<Source>,
    /// What the chart keeps of the request.
    pub settings: TakeSettings,
    /// Where it goes.
    pub set: SetRequest,
}

/// Takes a chart that is one already.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn take(request: &TakeRequest, progress: &dyn Progress) -> Result<MakeReport, Error> {
    let mut files = request.set.begin(&request.picture, progress)?;
    let card = files.card_or_demonstration(request.card.as_ref())?;
    let mut settings = request.settings.clone();
    if let Some(cover) = &request.cover {
        settings.cover = Some(files.cover(cover)?);
    }
    let taking = Taking { card, settings, expected: None };
    taken(files, taking, &request.picture, &request.set, progress)
}

/// A chart that is to be taken, with what is read for it.
pub(super) struct Taking {
    pub(super) card: ShadeCard,
    pub(super) settings: TakeSettings,
    /// The picture that it must be.
    pub(super) expected: Option<Expected>,
}

/// Takes a chart with a card and settings that are there.
pub(super) fn taken(
    mut files: Files,
    taking: Taking,
    picture: &Source,
    set: &SetRequest,
    progress: &dyn Progress,
) -> Result<MakeReport, Error> {
    let Taking { card, mut settings, expected } = taking;
    let title = one_line_title(&mut settings.title, picture);
    let options = ExactOptions { title, cloth: settings.cloth, strands: settings.strands };
    let (Exact { mut chart, squares, matches }, name, sha256) = if is_table(picture) {
        let bytes = files.bytes(picture, Wanted::Table)?;
        (exact::from_codes(&bytes, &card, &options)?, picture.file_name(), photo::fingerprint(&bytes))
    } else {
        let photo = files.photo(picture, progress)?;
        let (name, sha256) = (photo.name().to_owned(), photo.sha256().to_owned());
        let pixels = DynamicImage::from(photo.into_pixels());
        (exact::from_picture(&pixels, &card, &options)?, name, sha256)
    };
    expected.map_or(Ok(()), |expected| expected.hold(picture, &sha256))?;
    let stitches: u64 = matches.iter().map(|found| found.cells).sum();
    let mean = matches.iter().map(|found| found.delta_e * found.cells as f64).sum::<f64>() / stitches as f64;
    let figures = Figures {
        mean_delta_e: mean,
        singles_share: chart.singles() as f64 / stitches as f64,
        stitches,
        ..Figures::default()
    };
    chart.made = Some(crate::chart::Made {
        photo: name,
        photo_sha256: sha256,
        brede: env!("CARGO_PKG_VERSION").to_owned(),
        card: card.name().to_owned(),
        // Nothing is drawn at random.
        seed: 1,
        settings: settings.named(),
        mean_delta_e: (mean * 1000.0).round() / 1000.0,
        request: None,
    });
    chart.card = Some(card);
    keep(&mut chart, &Kept::Taken(Box::new(settings.clone())));
    let making = Making { chart, figures, kind: Kind::Drawing };
    let matches = Some(matches.into_iter().map(Matched::from).collect());
    let note = |squares: Squares| Note::SquaresTaken { pitch: squares.pitch(), size: squares.size() };
    let notes = squares.map(note).into_iter().collect();
    let made = Made { making, notes, matches, cover: settings.cover(), symbols: &settings.symbols };
    finish(files, made, picture, set, progress)
}

/// By the ending of its name.
fn is_table(source: &Source) -> bool {
    let name = source.file_name();
    let ending = std::path::Path::new(&name).extension();
    ending.is_some_and(|ending| ["csv", "tsv", "txt"].iter().any(|known| ending.eq_ignore_ascii_case(known)))
}
