//! The workbasket and the pieces in it.

use std::sync::Arc;

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use brede::desk::{
    self, InBasket, KeepAs, KeepRequest, LookRequest, PieceChange, PieceFigures, PieceId, PieceRequest,
    PiecesRequest, Source, Turn,
};
use brede::ground::advice::Advice;
use brede::ground::progress::Silent;
use serde::Deserialize;
use serde_json::{Value, json};

use super::answer::{Trouble, framed};
use super::body::{Called, body, json as asked};
use super::room::Room;
use super::{clock, job};

/// The most bytes of a chart: as many as one that is saved may have.
const MOST_CHART: usize = 64 << 20;

/// A piece by its id, and by nothing else.
pub(super) fn piece_of(room: &Room, id: &str) -> Result<InBasket, Trouble> {
    let piece: PieceId = id.parse().map_err(|_| Trouble::Missing)?;
    Ok(InBasket { folder: room.folder().to_owned(), piece: piece.to_string(), when: clock::when() })
}

/// All pieces; none where nothing was kept yet.
pub(super) fn all(room: &Room) -> Result<Vec<PieceFigures>, Trouble> {
    match desk::pieces(&PiecesRequest { basket: room.folder().to_owned() }, &Silent) {
        Ok(report) => Ok(report.pieces),
        Err(error) if error.advice() == Some(Advice::KeepFirst) => Ok(Vec::new()),
        Err(error) => Err(error.into()),
    }
}

/// All pieces.
pub(super) async fn list(State(room): State<Arc<Room>>) -> Result<Json<Value>, Trouble> {
    job::done(&room, |room| {
        Ok(Json(json!({ "pieces": all(room)?, "readings": desk::readings(room.folder())? })))
    })
    .await
}

/// A number that rises with all that is kept: who asks again sees whether there is something new.
pub(super) async fn here(State(room): State<Arc<Room>>) -> Result<Json<Value>, Trouble> {
    job::done(&room, |room| Ok(Json(json!({ "changes": desk::changes(room.folder())? })))).await
}

/// Takes a chart in.
pub(super) async fn take_in(
    State(room): State<Arc<Room>>,
    Query(called): Query<Called>,
    request: Request,
) -> Result<Response, Trouble> {
    let chart = called.source(body(request, MOST_CHART).await?);
    let kept =
        job::done(&room, move |room| Ok(desk::keep(&room.keeping(chart, None, KeepAs::Same), &Silent)?));
    Ok((StatusCode::CREATED, Json(kept.await?)).into_response())
}

/// The small picture of a piece.
pub(super) async fn picture(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
) -> Result<Response, Trouble> {
    let piece = piece_of(&room, &id)?;
    let png = job::done(&room, move |_| Ok(desk::piece_picture(&piece)?)).await?;
    Ok(([(header::CONTENT_TYPE, "image/png")], png).into_response())
}

/// What a piece was made by, where another can be begun of its picture; else nothing.
pub(super) async fn begun(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
) -> Result<Json<Value>, Trouble> {
    let piece = piece_of(&room, &id)?;
    let found = job::done(&room, move |_| Ok(desk::made_of(&piece, &Silent)?)).await?;
    Ok(Json(found.map_or(
        Value::Null,
        |found| json!({ "photo": found.photo.file_name(), "settings": found.settings }),
    )))
}

/// The picture that a piece was made of.
pub(super) async fn photo(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
) -> Result<Response, Trouble> {
    let piece = piece_of(&room, &id)?;
    match job::done(&room, move |_| Ok(desk::made_of(&piece, &Silent)?)).await?.map(|found| found.photo) {
        Some(Source::Held { bytes, .. }) => {
            Ok(([(header::CONTENT_TYPE, "application/octet-stream")], Bytes::from_owner(bytes))
                .into_response())
        }
        _ => Err(Trouble::Missing),
    }
}

/// The chart of a piece, to be drawn.
pub(super) async fn chart(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Trouble> {
    let piece = piece_of(&room, &id)?;
    let told = job::done(&room, move |_| {
        let (name, reading) = (desk::piece_name(&piece)?, desk::reading_of_piece(&piece)?);
        let look = desk::look(&LookRequest { chart: Source::Piece(piece) }, &Silent)?;
        Ok((name, reading, look))
    });
    let (name, reading, look) = told.await?;
    let figures = serde_json::to_value(&look).map_err(|_| Trouble::Broken)?;
    let figures = json!({ "name": name, "reading": reading, "look": figures });
    Ok(framed(&figures, &look.cells, &headers))
}

/// What is to become of a piece.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) enum Change {
    /// It is called something else.
    Name(String),
    /// It goes into its bag.
    PutAway,
    /// It comes out again.
    BringBack,
}

fn nameless() -> Trouble {
    Trouble::Unclear("a piece needs a name".to_owned())
}

/// Changes a piece as a whole.
pub(super) async fn change(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Response, Trouble> {
    let piece = piece_of(&room, &id)?.piece;
    let change = match asked(request).await? {
        Change::Name(name) if name.trim().is_empty() => return Err(nameless()),
        Change::Name(name) => PieceChange::Rename(piece, name),
        Change::PutAway => PieceChange::Turn(piece, Turn::PutDown),
        Change::BringBack => PieceChange::Turn(piece, Turn::TakenUp),
    };
    let told = job::done(&room, move |room| {
        let request = PieceRequest { basket: room.folder().to_owned(), change, when: clock::when() };
        Ok(desk::change_piece(&request, &Silent)?)
    });
    Ok(Json(told.await?).into_response())
}

/// A piece once more, under a name of its own: its chart, with nothing done.
pub(super) async fn copy(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Response, Trouble> {
    let chart = Source::Piece(piece_of(&room, &id)?);
    let Change::Name(name) = asked(request).await? else { return Err(nameless()) };
    let told = job::done(&room, move |room| {
        let request = room.keeping(chart, None, KeepAs::Another);
        let change = PieceChange::Rename(desk::keep(&request, &Silent)?.piece.to_string(), name);
        let KeepRequest { basket, when, .. } = request;
        Ok(desk::change_piece(&PieceRequest { basket, change, when }, &Silent)?)
    });
    Ok((StatusCode::CREATED, Json(told.await?)).into_response())
}
