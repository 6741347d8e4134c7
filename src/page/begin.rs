//! Begin: a photo is tried in threads, cloth and size until one chart is kept.

use std::sync::Arc;
use std::time::Duration;

use axum::Json;
use axum::body::to_bytes;
use axum::extract::{Path, Query, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use brede::desk::{
    self, KeepAs, KeepRequest, Limits, MakeSettings, Moment, Paper, Replace, ShowCardRequest, Source,
    TrialRequest,
};
use brede::ground::progress::Silent;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::answer::{Trouble, drawn};
use super::room::{Room, Trial, Tried};
use super::secret::Secret;
use super::serve::MOST_JSON;
use super::{clock, job};

/// The most bytes of a photo: twice what the largest cameras in common use write.
const MOST_PHOTO: usize = 256 << 20;

/// The most bytes of a card: a thousand times the demonstration card.
const MOST_CARD: usize = 8 << 20;

/// How long a body may take to come.
const BODY: Duration = Duration::from_secs(120);

/// The body of a request, within a limit.
pub(super) async fn body(request: Request, most: usize) -> Result<Vec<u8>, Trouble> {
    let said =
        request.headers().get(header::CONTENT_LENGTH).and_then(|length| length.to_str().ok()?.parse().ok());
    if said.is_some_and(|length: u64| length > most as u64) {
        return Err(Trouble::TooLarge);
    }
    let read = tokio::time::timeout(BODY, to_bytes(request.into_body(), most)).await;
    match read {
        Ok(Ok(bytes)) => Ok(bytes.into()),
        // What comes in pieces does not say beforehand how much it is.
        Ok(Err(_)) if said.is_none() => Err(Trouble::TooLarge),
        _ => Err(Trouble::Unclear("the request broke off".to_owned())),
    }
}

/// A body that says what is to be done.
pub(super) async fn json<T: DeserializeOwned>(request: Request) -> Result<T, Trouble> {
    if !is_json(request.headers()) {
        return Err(Trouble::Unclear("the request is no JSON".to_owned()));
    }
    let bytes = body(request, MOST_JSON).await?;
    serde_json::from_slice(&bytes).map_err(|error| Trouble::Unclear(error.to_string()))
}

/// A form of another page can send text, and no JSON (Fetch Living Standard, "CORS-safelisted request-header").
fn is_json(headers: &HeaderMap) -> bool {
    headers.get(header::CONTENT_TYPE).is_some_and(|kind| kind.as_bytes() == b"application/json")
}

/// What a file was called.
#[derive(Deserialize)]
pub(super) struct Called {
    name: String,
}

impl Called {
    /// Its own name, without folders, and not without end.
    pub(super) fn source(self, bytes: Vec<u8>) -> Source {
        let own = self.name.rsplit(['/', '\\']).next().unwrap_or_default();
        let name: String = own.chars().filter(|character| !character.is_control()).take(200).collect();
        Source::held(name, bytes)
    }
}

fn new_id() -> Result<String, Trouble> {
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
        let told = json!({
            "photo": id,
            "name": photo.source().result_name(),
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
fn kept_card(room: &Room) -> Option<Source> {
    room.home().card().map(|(name, bytes)| Source::held(name, bytes))
}

fn card_figures(card: Option<Source>) -> Result<Value, Trouble> {
    let is_own = card.is_some();
    let request = ShowCardRequest {
        card,
        pages: None,
        paper: Paper::default(),
        moment: Moment::default(),
        replace: Replace::Ours,
    };
    let report = desk::show_card(&request, &Silent)?;
    let told = json!({
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

/// Makes a chart of a photo, and tells of it. What was being made of the photo before is stopped.
pub(super) async fn try_out(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Response, Trouble> {
    // Whoever asks for more cells or threads than there can be is told so by the desk.
    let settings: MakeSettings = json(request).await?;
    let tried = room.photos.find(&id).ok_or(Trouble::Missing)?;
    let stop = tried.instead();
    Ok(job::begin(&room, stop, move |room, telling| {
        let photo = tried.photo.source().clone();
        let request = TrialRequest { photo: tried.photo, card: kept_card(room), settings };
        let report = Arc::new(desk::try_out(&request, telling)?);
        let id = new_id()?;
        room.trials.put(id.clone(), Trial { report, photo });
        Ok(json!({ "trial": id }))
    }))
}

/// A chart that was tried, to be drawn.
pub(super) async fn trial(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
) -> Result<Response, Trouble> {
    let Trial { report, .. } = room.trials.find(&id).ok_or(Trouble::Missing)?;
    let figures = serde_json::to_value(&*report).map_err(|_| Trouble::Broken)?;
    Ok(drawn(&figures, &report.look))
}

/// Keeps a chart that was tried, with its photo. Keeping it twice keeps it once.
pub(super) async fn keep(State(room): State<Arc<Room>>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let Trial { report, photo } = room.trials.find(&id).ok_or(Trouble::Missing)?;
    let kept = job::done(&room, move |room| {
        let name = format!("{}.chart.json", photo.result_name());
        let request = KeepRequest {
            chart: Source::held(name, report.document.clone()),
            photo: Some(photo),
            basket: room.folder().to_owned(),
            keep_as: KeepAs::Same,
            when: clock::when(),
            replace: Replace::Ours,
        };
        Ok(desk::keep(&request, &Silent)?)
    });
    Ok((StatusCode::CREATED, Json(kept.await?)).into_response())
}
