//! A chart made again from what it keeps of its own request.

use super::make::{Begun, Expected, Given, Kept, KeptCover, MakeReport, SetRequest, made};
use super::take::{Taking, taken};
use super::{Error, Source};
use crate::chart::Made;
use crate::ground::progress::Progress;

/// Which chart is to be made again, and of what.
#[derive(Debug, Clone)]
pub struct AgainRequest {
    /// The picture that it was made of.
    pub photo: Source,
    /// The chart.
    pub chart: Source,
    /// Where the new one goes.
    pub set: SetRequest,
}

/// Makes a chart again by its own card and settings: equal cells, threads and symbols, without its marks.
///
/// # Errors
/// [`Error`] where the chart does not say how it was made, or the picture is another; then nothing is written.
pub fn make_again(request: &AgainRequest, progress: &dyn Progress) -> Result<MakeReport, Error> {
    let mut files = request.set.begin(&request.photo, progress)?;
    let chart = files.chart(&request.chart)?;
    let name = request.chart.to_string();
    let (Some(Made { photo_sha256, request: Some(kept), .. }), Some(card)) = (chart.made, chart.card) else {
        return Err(Error::NoRequest { name });
    };
    let kept = match serde_json::from_value(kept) {
        Ok(kept) => kept,
        Err(source) => return Err(Error::DamagedRequest { name, source }),
    };
    let expected = Expected { sha256: photo_sha256, chart: name };
    let (photo, set) = (&request.photo, &request.set);
    match kept {
        Kept::Made(settings) => {
            checked(settings.cover.as_ref())?;
            let given = Given {
                photo,
                card,
                masks: &[],
                cover: None,
                settings: &settings,
                expected: Some(&expected),
            };
            let begun = Begun::read(&mut files, given, progress)?;
            made(files, begun, photo, set, progress)
        }
        Kept::Taken(settings) => {
            checked(settings.cover.as_ref())?;
            let taking = Taking { card, settings: *settings, expected: Some(expected) };
            taken(files, taking, photo, set, progress)
        }
    }
}

/// Measures in a chart are no more to be trusted than those of a file.
fn checked(cover: Option<&KeptCover>) -> Result<(), Error> {
    let Some(KeptCover { name, measures }) = cover else { return Ok(()) };
    measures.checked().map(drop).map_err(|source| Error::Cover { name: name.clone(), source })
}
