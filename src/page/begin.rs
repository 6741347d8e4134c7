//! Begin: a photo is tried in threads, cloth and size until one chart is kept.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, Query, Request, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse as _, Response};
use brede::desk::{
    self, AtHand, Colours, KeepAs, Limits, MakeSettings, Moment, Paper, Replace, ShowCardReport,
    ShowCardRequest, Source, TrialRequest, USUAL_MARGIN,
};
use brede::ground::progress::Silent;
use serde::Deserialize;
use serde_json::{Map, Value};

use super::answer::{Trouble, framed};
use super::body::{Called, body, json};
use super::job;
use super::room::{Room, Trial, Tried};
use super::secret::Secret;

/// The most bytes of a photo: twice what the largest cameras in common use write.
const MOST_PHOTO: usize = 256 << 20;

/// The most bytes of a card: a thousand times the demonstration card.
const MOST_CARD: usize = 8 << 20;

pub(super) fn new_id() -> Result<String, Trouble> {
    Ok(Secret::draw()?.reveal().to_owned())
}

/// Takes a photo in and decodes it.
pub(super) async fn photo(
    State(room): State<Arc<Room>>,
    Query(called): Query<Called>,
    request: Request,
) -> Result<Json<Value>, Trouble> {
    let source = called.source(body(request, MOST_PHOTO).await?);
    let told = job::done(&room, move |room| {
        let photo = desk::open_photo(source, Limits::default(), &Silent)?;
        let [width, height] = photo.size();
        let id = new_id()?;
        let told = serde_json::json!({
            "photo": id,
            "name": photo.source().called(),
            "width": width,
            "height": height,
            "warnings": photo.warnings(),
        });
        room.photos.put(id, Tried { photo, stop: Arc::default() });
        Ok(told)
    });
    told.await.map(Json)
}

/// The card that was kept, where there is one.
pub(super) fn kept_card(room: &Room) -> Option<Source> {
    room.home().card().map(|(name, bytes)| Source::held(name, bytes))
}

fn read_card(card: Option<Source>) -> Result<ShowCardReport, Trouble> {
    let request = ShowCardRequest {
        card,
        pages: None,
        paper: Paper::default(),
        moment: Moment::default(),
        limits: Limits::default(),
        replace: Replace::Ours,
    };
    Ok(desk::show_card(&request, &Silent)?)
}

fn card_figures(card: Option<Source>) -> Result<Value, Trouble> {
    let is_own = card.is_some();
    let report = read_card(card)?;
    let told = serde_json::json!({
        "own": is_own,
        "name": report.card,
        "threads": report.shades.len(),
        "warnings": report.warnings,
    });
    Ok(told)
}

/// Which card is used.
pub(super) async fn card(State(room): State<Arc<Room>>) -> Result<Json<Value>, Trouble> {
    job::done(&room, |room| card_figures(kept_card(room)).or_else(|_| card_figures(None))).await.map(Json)
}

/// The threads of the card that is used, to be looked at and changed.
pub(super) async fn card_threads(State(room): State<Arc<Room>>) -> Result<Json<Value>, Trouble> {
    let told = job::done(&room, |room| {
        let report = read_card(kept_card(room)).or_else(|_| read_card(None))?;
        serde_json::to_value(report).map_err(|_| Trouble::Broken)
    });
    told.await.map(Json)
}

/// Takes a card in, and keeps it where it can be read.
pub(super) async fn take_card(
    State(room): State<Arc<Room>>,
    Query(called): Query<Called>,
    request: Request,
) -> Result<Json<Value>, Trouble> {
    let bytes = body(request, MOST_CARD).await?;
    let told = job::done(&room, move |room| {
        let source = called.source(bytes.clone());
        let name = source.file_name();
        let told = card_figures(Some(source))?;
        room.home().keep_card(&name, &bytes)?;
        Ok(told)
    });
    told.await.map(Json)
}

/// Goes back to the demonstration card.
pub(super) async fn forget_card(State(room): State<Arc<Room>>) -> Result<Json<Value>, Trouble> {
    let told = job::done(&room, |room| {
        room.home().forget_card();
        card_figures(None)
    });
    told.await.map(Json)
}

/// Settings as the command would take them. What is not said is as it is where a command is not told it; that what a kept
/// chart does not say means something else is a matter of charts of earlier bredes.
fn settings(asked: Map<String, Value>) -> Result<MakeSettings, Trouble> {
    let unclear = |error: serde_json::Error| Trouble::Unclear(error.to_string());
    let mut whole = serde_json::to_value(MakeSettings::default()).map_err(unclear)?;
    if let Some(fields) = whole.as_object_mut() {
        fields.extend(asked);
    }
    let settings: MakeSettings = serde_json::from_value(whole).map_err(unclear)?;
    // What the command reads from text is bounded there. Sizes are bounded by the desk.
    let threads = matches!(settings.colours, Colours::Auto | Colours::Exactly(2..=200));
    if threads && (1..=12).contains(&settings.strands) {
        return Ok(settings);
    }
    Err(Trouble::Unclear("2 to 200 threads and 1 to 12 strands can be asked for".to_owned()))
}

/// The cloth and the frame at hand, as the command takes them, and what the piece would be made by.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AtHandAsked {
    cloth: String,
    frame: Option<String>,
    settings: Map<String, Value>,
}

/// On which counts, and how large, a photo goes on the cloth and into the frame at hand.
pub(super) async fn offers(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Json<Value>, Trouble> {
    let asked: AtHandAsked = json(request).await?;
    let unclear = |error: &dyn std::fmt::Display| Trouble::Unclear(error.to_string());
    let at_hand = AtHand {
        cloth: asked.cloth.parse().map_err(|error| unclear(&error))?,
        frame: asked.frame.map(|frame| frame.parse()).transpose().map_err(|error| unclear(&error))?,
        margin: USUAL_MARGIN.parse().map_err(|error| unclear(&error))?,
        count: None,
    };
    let settings = settings(asked.settings)?;
    let tried = room.photos.find(&id).ok_or(Trouble::Missing)?;
    let offers = job::done(&room, move |_| Ok(tried.photo.offers(&at_hand, &settings)?)).await?;
    Ok(Json(serde_json::json!({ "offers": offers })))
}

/// Makes a chart of a photo, and tells of it. What was being made of the photo before is stopped.
pub(super) async fn try_out(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Response, Trouble> {
    let settings = settings(json(request).await?)?;
    let tried = room.photos.find(&id).ok_or(Trouble::Missing)?;
    let stop = tried.instead();
    Ok(job::begin(&room, stop, move |room, telling| {
        let photo = tried.photo.source().clone();
        let request = TrialRequest { photo: tried.photo, card: kept_card(room), settings };
        let report = Arc::new(desk::try_out(&request, telling)?);
        let id = new_id()?;
        room.trials.put(id.clone(), Trial { report, photo });
        Ok(serde_json::json!({ "trial": id }))
    }))
}

/// A chart that was tried, to be drawn.
pub(super) async fn trial(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Trouble> {
    let Trial { report, .. } = room.trials.find(&id).ok_or(Trouble::Missing)?;
    let figures = serde_json::to_value(&*report).map_err(|_| Trouble::Broken)?;
    Ok(framed(&figures, &report.look.cells, &headers))
}

/// Keeps a chart that was tried, with its photo. Keeping it twice keeps it once.
pub(super) async fn keep(State(room): State<Arc<Room>>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let Trial { report, photo } = room.trials.find(&id).ok_or(Trouble::Missing)?;
    let kept = job::done(&room, move |room| {
        let name = format!("{}.chart.json", photo.result_name());
        let chart = Source::held(name, report.document(&Silent)?);
        Ok(desk::keep(&room.keeping(chart, Some(photo), KeepAs::JustMade), &Silent)?)
    });
    Ok((StatusCode::CREATED, Json(kept.await?)).into_response())
}
