//! A piece to look at where nothing was kept yet: the rock pool of an invented family, made as any other.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use brede::desk::mark::{MarkChange, MarkRequest, mark};
use brede::desk::{self, KeepAs, Limits, MakeSettings, Replace, Source, Target, TrialRequest};
use serde_json::json;

use super::answer::Trouble;
use super::room::{Room, Stop};
use super::{job, piece};

/// Its photo, its card and its marks; what README makes of them by commands.
const PHOTO: &[u8] = include_bytes!("../../samples-own/rock-pool.jpg");
const CARD: &[u8] = include_bytes!("../../samples-own/tin-of-threads.csv");
const MARKS: &[u8] = include_bytes!("../../samples-own/rock-pool.marks.toml");

/// Makes it, and tells of it. Where something was kept, or another window is at it, nothing is made.
pub(super) async fn begin(State(room): State<Arc<Room>>) -> Response {
    job::begin(&room, Stop::default(), |room, telling| {
        // Not waited for: a worker that waits could wait for itself.
        let Ok(_one) = room.sample.try_lock() else { return Ok(json!({ "piece": null })) };
        if !piece::all(room)?.is_empty() {
            return Ok(json!({ "piece": null }));
        }
        let limits = Limits::default();
        let (source, card) = (Source::held("rock-pool.jpg", PHOTO), Source::held("tin-of-threads.csv", CARD));
        let photo = desk::open_photo(source.clone(), limits, telling)?;
        let settings = MakeSettings { title: Some("Rock pool".to_owned()), ..MakeSettings::default() };
        let made = desk::try_out(&TrialRequest { photo, card: Some(card.clone()), settings }, telling)?;
        let request = MarkRequest {
            chart: Source::held("rock-pool.chart.json", made.document(telling)?),
            card: Some(card),
            changes: vec![MarkChange::Take { marks: Source::held("rock-pool.marks.toml", MARKS) }],
            masks: Vec::new(),
            sketch: None,
            output: Some(Target::Held),
            limits,
            replace: Replace::Ours,
        };
        let marked = mark(&request, telling)?;
        let document = marked.files.into_iter().find_map(|file| file.bytes).ok_or(Trouble::Broken)?;
        let chart = Source::held("rock-pool.chart.json", document);
        let request = room.keeping(chart, Some(source), KeepAs::Same);
        Ok(json!({ "piece": desk::keep(&request, telling)?.piece }))
    })
}
