//! The workbasket and the pieces in it.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, Query, Request, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use brede::desk::{
    self, InBasket, KeepAs, KeepRequest, LookRequest, PieceId, PiecesRequest, Replace, Source,
};
use brede::ground::advice::Advice;
use brede::ground::progress::Silent;
use serde_json::{Value, json};

use super::answer::{Trouble, drawn};
use super::body::{Called, body};
use super::room::Room;
use super::{clock, job};

/// The most bytes of a chart: as many as one that is saved may have.
const MOST_CHART: usize = 64 << 20;

/// A piece by its id, and by nothing else.
pub(super) fn piece_of(room: &Room, id: &str) -> Result<InBasket, Trouble> {
    let piece: PieceId = id.parse().map_err(|_| Trouble::Missing)?;
    Ok(InBasket { folder: room.folder().to_owned(), piece: piece.to_string(), when: clock::when() })
}

/// All pieces.
pub(super) async fn list(State(room): State<Arc<Room>>) -> Result<Json<Value>, Trouble> {
    let told = job::done(&room, |room| {
        match desk::pieces(&PiecesRequest { basket: room.folder().to_owned() }, &Silent) {
            Ok(report) => serde_json::to_value(report).map_err(|_| Trouble::Broken),
            // Nothing was kept yet.
            Err(error) if error.advice() == Some(Advice::KeepFirst) => {
                Ok(json!({ "pieces": [], "warnings": [] }))
            }
            Err(error) => Err(error.into()),
        }
    });
    told.await.map(Json)
}

/// Takes a chart in.
pub(super) async fn take_in(
    State(room): State<Arc<Room>>,
    Query(called): Query<Called>,
    request: Request,
) -> Result<Response, Trouble> {
    let chart = called.source(body(request, MOST_CHART).await?);
    let kept = job::done(&room, move |room| {
        let request = KeepRequest {
            chart,
            photo: None,
            basket: room.folder().to_owned(),
            keep_as: KeepAs::Same,
            when: clock::when(),
            replace: Replace::Ours,
        };
        Ok(desk::keep(&request, &Silent)?)
    });
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

/// The chart of a piece, to be drawn.
pub(super) async fn chart(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
) -> Result<Response, Trouble> {
    let chart = Source::Piece(piece_of(&room, &id)?);
    let look = job::done(&room, move |_| Ok(desk::look(&LookRequest { chart }, &Silent)?)).await?;
    let figures = serde_json::to_value(&look).map_err(|_| Trouble::Broken)?;
    Ok(drawn(&json!({ "look": figures }), &look))
}
