//! A chart made again from what it keeps of its own request.

use super::files::Files;
use super::make::{
    Begun, Expected, Given, Kept, KeptCover, MakeReport, MakeSettings, SetRequest, SizeWish, made,
};
use super::take::{Taking, taken};
use super::{Error, InBasket, Replace, Source};
use crate::basket::{Basket, BasketError, Missing};
use crate::chart::Made;
use crate::ground::progress::Progress;
use crate::making::reduce::Colours;

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
                bare_masks: &[],
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

/// What another piece begins by.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeOf {
    /// The picture.
    pub photo: Source,
    /// What the chart was made by, as long as it says something about other cards and sizes too: neither codes of threads
    /// nor masks of its squares. Its columns and its threads are counted where they were not asked for.
    pub settings: MakeSettings,
}

/// What a piece was made of and by. Nothing where its chart was made of no picture, or by a brede that did not say how, or
/// where the workbasket does not hold the picture.
///
/// # Errors
/// [`Error`] where the piece cannot be read.
pub fn made_of(piece: &InBasket, progress: &dyn Progress) -> Result<Option<MadeOf>, Error> {
    let chart = Files::new(Replace::Ours, progress).chart(&Source::Piece(piece.clone()))?;
    let Some(Made { photo_sha256: sha256, request: Some(kept), .. }) = &chart.made else { return Ok(None) };
    let Ok(Kept::Made(settings)) = serde_json::from_value(kept.clone()) else { return Ok(None) };
    let basket = Basket::open(&piece.folder, Missing::Refuse)?;
    let photo = match basket.photo(sha256) {
        Ok(Some(photo)) => photo,
        Ok(None) | Err(BasketError::Photo { .. }) => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    let name = basket.photos()?.into_iter().find(|(known, _)| known == sha256).map(|(_, name)| name);
    let columns = settings.size.columns.unwrap_or(chart.size().columns());
    let threads = u16::try_from(chart.needles().len()).unwrap_or(u16::MAX);
    let colours = match settings.colours {
        Colours::Auto => Colours::Exactly(threads.clamp(2, 200)),
        asked @ Colours::Exactly(_) => asked,
    };
    let settings = MakeSettings {
        title: Some(basket.piece(&basket.find(&piece.piece)?)?.name),
        size: SizeWish { columns: Some(columns), ..SizeWish::default() },
        colours,
        half_cross: Vec::new(),
        fixed: Vec::new(),
        forbidden: Vec::new(),
        symbols: Vec::new(),
        mask: None,
        bare_mask: None,
        cover: None,
        ..*settings
    };
    Ok(Some(MadeOf { photo: Source::held(name.unwrap_or_default(), photo), settings }))
}
