//! Printing: pages as PDF, and what came of reading them back.

use std::sync::Arc;

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::{Path, Request, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse as _, Response};
use brede::desk::{
    self, Ink, Limits, PageSettings, PageShownRequest, Paper, Pictures, Print, PrintRequest, ProofRequest,
    Reader, Replace, Source, Spoil, Target, file_name_of,
};
use brede::ground::progress::Silent;
use brede::ground::units::Millimetres;
use serde::Deserialize;
use serde_json::json;

use super::answer::{self, Trouble};
use super::job;
use super::room::{Printing, Room, Stop};
use super::secret::Secret;
use super::{body, clock, piece};

/// How pages are asked for, in the words of the command.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Asked {
    paper: String,
    grey: bool,
    /// The side of a square in millimetres; else as the paper allows.
    cell: Option<f64>,
    large: bool,
}

impl Asked {
    fn settings(&self) -> Result<PageSettings, Trouble> {
        let unclear = |error: &dyn std::fmt::Display| Trouble::Unclear(error.to_string());
        Ok(PageSettings {
            paper: self.paper.parse::<Paper>().map_err(|error| unclear(&error))?,
            ink: if self.grey { Ink::Grey } else { Ink::Colour },
            cell: self.cell.map(Millimetres::new).transpose().map_err(|error| unclear(&error))?,
            print: if self.large { Print::Large } else { Print::Usual },
            ..PageSettings::default()
        })
    }
}

/// How finely pages are read back: as `brede proof` does where it is asked for nothing else.
const DPI: f64 = 150.0;

/// Prints a piece and tells of it: `pages` once they are there, `done` once they were read back.
pub(super) async fn print(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Response, Trouble> {
    let page = body::json::<Asked>(request).await?.settings()?;
    let chart = Source::Piece(piece::piece_of(&room, &id)?);
    Ok(job::begin(&room, Stop::default(), move |room, telling| {
        let request = PrintRequest {
            chart: chart.clone(),
            page,
            output: Target::Held,
            pictures: Pictures::None,
            keep: None,
            symbol_names: None,
            moment: clock::moment(),
            limits: Limits::default(),
            replace: Replace::Ours,
        };
        let mut report = desk::print(&request, telling)?;
        let bytes = report.files.iter_mut().find_map(|file| file.bytes.take()).ok_or(Trouble::Broken)?;
        let pages: Arc<[u8]> = bytes.into();
        let sheets = Secret::draw()?.reveal().to_owned();
        let name = file_name(&report.pages.title);
        let told =
            json!({ "sheets": format!("/sheets/{sheets}/{name}"), "bytes": pages.len(), "figures": report });
        room.printings.put(sheets, Printing { name: name.clone(), pages: Arc::clone(&pages) });
        telling.tell("pages", &told);
        let request = ProofRequest {
            pages: Source::held(name, pages),
            chart,
            dpi: DPI,
            spoil: Spoil::default(),
            most: None,
            picture: None,
            limits: Limits::default(),
            replace: Replace::Ours,
            // They were written a moment ago by this very process.
            reader: Reader::Here,
        };
        let proof = desk::proof(&request, telling)?;
        Ok(json!({
            "squares": proof.cells,
            "wrong": proof.misread.len(),
            "wrong_outlines": proof.outlines.misread.len(),
            "pages": proof.pages,
        }))
    }))
}

/// Which page is to be shown, of pages that are asked for as for printing.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AskedPage {
    pages: Asked,
    /// Which page, from 1; else the first that shows cells.
    number: Option<usize>,
}

/// Dots an inch of a page on a screen: as many as a tablet shows of a page in half its width.
const SHOWN_DPI: f64 = 110.0;

/// A page as it will be printed, and what all of them come to.
pub(super) async fn shown(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
    request: Request,
) -> Result<Response, Trouble> {
    let headers = request.headers().clone();
    let AskedPage { pages, number } = body::json(request).await?;
    let page = pages.settings()?;
    let chart = Source::Piece(piece::piece_of(&room, &id)?);
    let report = job::done(&room, move |_| {
        let (moment, limits) = (clock::moment(), Limits::default());
        Ok(desk::page_shown(
            &PageShownRequest { chart, page, number, dpi: SHOWN_DPI, moment, limits },
            &Silent,
        )?)
    });
    let report = report.await?;
    let figures = serde_json::to_value(&report).map_err(|_| Trouble::Broken)?;
    Ok(answer::framed(&figures, &report.picture, &headers))
}

/// Which page of the last printing shows what.
pub(super) async fn printed(
    State(room): State<Arc<Room>>,
    Path(id): Path<String>,
) -> Result<Json<serde_json::Value>, Trouble> {
    let piece = piece::piece_of(&room, &id)?;
    let pages = job::done(&room, move |_| Ok(desk::printed_pages(&piece)?)).await?;
    Ok(Json(json!({ "pages": pages })))
}

/// A name for a file that every system takes.
fn file_name(title: &str) -> String {
    let plain = |character: char| {
        if character.is_ascii_alphanumeric() { character.to_ascii_lowercase() } else { '-' }
    };
    let name: String = title.chars().map(plain).take(60).collect();
    let words: Vec<&str> = name.split('-').filter(|word| !word.is_empty()).collect();
    format!("{}.pdf", file_name_of(&words.join("-")))
}

/// The pages of a printing.
pub(super) async fn sheets(
    State(room): State<Arc<Room>>,
    Path((id, _)): Path<(String, String)>,
) -> Result<Response, Trouble> {
    let Printing { name, pages } = room.printings.find(&id).ok_or(Trouble::Missing)?;
    let mut answer = Body::from(Bytes::from_owner(pages)).into_response();
    let headers = answer.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("application/pdf"));
    let shown = HeaderValue::from_str(&format!("inline; filename=\"{name}\""));
    headers.insert(header::CONTENT_DISPOSITION, shown.map_err(|_| Trouble::Broken)?);
    Ok(answer)
}
