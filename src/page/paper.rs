//! Charts that were printed elsewhere: their files are taken in and read, in a child; what is not known is asked; a piece
//! comes of it.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, Query, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use brede::desk::{self, InReading, OpenPages, PieceId, ReadingChange, ReadingReport, Said};
use brede::ground::progress::{Progress, Silent};
use serde::Deserialize;
use serde_json::{Value, json};

use super::answer::{Trouble, framed};
use super::begin::{kept_card, new_id};
use super::body::{Called, body, json as asked};
use super::room::{Room, Stop};
use super::{clock, job};

/// The most bytes of a file: as many as are read.
const MOST_FILE: usize = 64 << 20;

/// The most files of one chart.
const MOST_FILES: usize = 40;

/// Takes a file in: the first of a chart.
pub(super) async fn bring(
    State(room): State<Arc<Room>>,
    Query(called): Query<Called>,
    request: Request,
) -> Result<Json<Value>, Trouble> {
    let source = called.source(body(request, MOST_FILE).await?);
    let id = new_id()?;
    room.papers.put(id.clone(), vec![source]);
    Ok(Json(json!({ "paper": id })))
}

/// Takes another file of the same chart in.
pub(super) async fn more(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    Query(called): Query<Called>,
    request: Request,
) -> Result<StatusCode, Trouble> {
    let source = called.source(body(request, MOST_FILE).await?);
    let mut is_too_much = false;
    let is_there = room.papers.change(&id, |files| {
        is_too_much = files.len() >= MOST_FILES;
        if !is_too_much {
            files.push(source);
        }
    });
    match (is_there, is_too_much) {
        (false, _) => Err(Trouble::Missing),
        (true, true) => Err(Trouble::TooLarge),
        (true, false) => Ok(StatusCode::NO_CONTENT),
    }
}

/// Reads what was taken in, and tells of it. What can be read, or could once somebody says how large it is, is kept.
pub(super) async fn read(State(room): State<Arc<Room>>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let files = room.papers.find(&id).ok_or(Trouble::Missing)?;
    Ok(job::begin(&room, Stop::default(), move |room, telling| {
        let name = files.first().map(desk::Source::result_name).unwrap_or_default();
        let opened = match desk::open_pages(&files, [None; 2], &crate::apart::reader(), telling) {
            Ok(pages) => Some(pages),
            Err(error) if desk::wants_size(&error) => None,
            Err(error) => return Err(error.into()),
        };
        let name = name.replace(['-', '_'], " ");
        let reading = desk::begin_reading(room.folder(), &capital(&name), &files, clock::when(), telling)?;
        room.papers.take(&id);
        if let Some(pages) = opened {
            room.readings.put(reading.to_string(), pages.clone());
            of(room, reading.clone()).look(&pages, kept_card(room).as_ref(), telling)?;
        }
        Ok(json!({ "reading": reading }))
    }))
}

/// A name as the first word of a title.
fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn of(room: &Room, id: PieceId) -> InReading {
    InReading { folder: room.folder().to_owned(), id, when: clock::when() }
}

fn id_of(id: &str) -> Result<PieceId, Trouble> {
    id.parse().map_err(|_| Trouble::Missing)
}

/// Its pages, which are read where they are not there.
fn pages_of(room: &Room, reading: &InReading, progress: &dyn Progress) -> Result<OpenPages, Trouble> {
    let id = reading.id.to_string();
    if let Some(pages) = room.readings.find(&id) {
        return Ok(pages);
    }
    let pages = reading.open(&crate::apart::reader(), progress)?;
    room.readings.put(id, pages.clone());
    Ok(pages)
}

/// Reads the pages of a chart that is in the workbasket, and tells of it.
pub(super) async fn open(State(room): State<Arc<Room>>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let id = id_of(&id)?;
    Ok(job::begin(&room, Stop::default(), move |room, telling| {
        pages_of(room, &of(room, id), telling)?;
        Ok(json!({}))
    }))
}

fn told(report: &ReadingReport, headers: &HeaderMap) -> Result<Response, Trouble> {
    let figures = serde_json::to_value(report).map_err(|_| Trouble::Broken)?;
    Ok(framed(&figures, &report.look.cells, headers))
}

/// What the pages come to, and what is asked.
pub(super) async fn look(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Trouble> {
    let id = id_of(&id)?;
    let report = job::done(&room, move |room| {
        let reading = of(room, id);
        let pages = pages_of(room, &reading, &Silent)?;
        Ok(reading.look(&pages, kept_card(room).as_ref(), &Silent)?)
    });
    told(&report.await?, &headers)
}

/// What is said of a symbol; `said` is left out where what was said before is taken back.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Saying {
    number: usize,
    said: Option<Said>,
}

/// Keeps what is said of a symbol, and gives what the pages come to now.
pub(super) async fn answer(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Response, Trouble> {
    let id = id_of(&id)?;
    let headers = request.headers().clone();
    let Saying { number, said } = asked(request).await?;
    let report = job::done(&room, move |room| {
        let reading = of(room, id);
        let pages = pages_of(room, &reading, &Silent)?;
        reading.answer(&pages, number, said)?;
        Ok(reading.look(&pages, kept_card(room).as_ref(), &Silent)?)
    });
    told(&report.await?, &headers)
}

/// Changes something about it as a whole.
pub(super) async fn change(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<StatusCode, Trouble> {
    let id = id_of(&id)?;
    let change: ReadingChange = asked(request).await?;
    if matches!(&change, ReadingChange::Name(name) if name.trim().is_empty()) {
        return Err(Trouble::Unclear("a chart needs a name".to_owned()));
    }
    job::done(&room, move |room| {
        let reading = of(room, id);
        reading.change(&change)?;
        if matches!(change, ReadingChange::Size(_)) {
            room.readings.take(&reading.id.to_string());
        }
        Ok(StatusCode::NO_CONTENT)
    })
    .await
}

/// Makes a piece of it.
pub(super) async fn keep(State(room): State<Arc<Room>>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let id = id_of(&id)?;
    let kept = job::done(&room, move |room| {
        let reading = of(room, id);
        let pages = pages_of(room, &reading, &Silent)?;
        Ok(reading.keep(&pages, kept_card(room).as_ref(), &Silent)?)
    });
    Ok((StatusCode::CREATED, Json(kept.await?)).into_response())
}

/// A small picture of it.
pub(super) async fn picture(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
) -> Result<Response, Trouble> {
    let id = id_of(&id)?;
    let png = job::done(&room, move |room| Ok(of(room, id).picture()?)).await?.ok_or(Trouble::Missing)?;
    Ok(([(header::CONTENT_TYPE, "image/png")], png).into_response())
}
