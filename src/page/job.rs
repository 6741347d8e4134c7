//! Long work: told of as it goes on (HTML Living Standard, "Server-sent events"), and stopped when nobody listens any
//! more.

use std::convert::Infallible;
use std::ops::ControlFlow;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

use axum::body::{Body, Bytes};
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use brede::ground::progress::{Progress, Stage};
use hyper::body::Frame;
use serde::Serialize;
use serde_json::{Value, json};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use super::answer::Trouble;
use super::room::{Room, Stop};

/// Tells the page how far work is.
#[derive(Debug)]
pub(super) struct Telling {
    tell: UnboundedSender<String>,
    stop: Stop,
    /// The last stage that was told, with hundredths: a step that nobody sees is not told.
    last: std::sync::Mutex<Option<(Stage, u64)>>,
}

impl Telling {
    /// Tells an event.
    pub(super) fn tell(&self, name: &str, data: &impl Serialize) {
        let data = serde_json::to_string(data).unwrap_or_default();
        // Where nobody listens, the work is stopped elsewhere.
        _ = self.tell.send(format!("event: {name}\ndata: {data}\n\n"));
    }
}

impl Progress for Telling {
    fn at(&self, stage: Stage, done: u64, total: u64) -> ControlFlow<()> {
        let hundredths = done.saturating_mul(100) / total.max(1);
        if let Ok(mut last) = self.last.lock()
            && *last != Some((stage, hundredths))
        {
            *last = Some((stage, hundredths));
            self.tell("stage", &json!({ "stage": stage, "hundredths": hundredths }));
        }
        self.ask()
    }

    fn ask(&self) -> ControlFlow<()> {
        if self.stop.is_asked() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
}

/// Events as the body of an answer; with it goes whoever listened, and the work stops.
struct Events {
    told: UnboundedReceiver<String>,
    stop: Stop,
}

impl Drop for Events {
    fn drop(&mut self) {
        self.stop.now();
    }
}

impl hyper::body::Body for Events {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        self.told.poll_recv(context).map(|told| told.map(|text| Ok(Frame::data(Bytes::from(text)))))
    }
}

/// Begins work and tells of it: stages, what the work itself tells, and at the end `done` with its result or `failed`
/// with the trouble.
pub(super) fn begin(
    room: &Arc<Room>,
    stop: Stop,
    work: impl FnOnce(&Room, &Telling) -> Result<Value, Trouble> + Send + 'static,
) -> Response {
    let (tell, told) = unbounded_channel();
    let telling = Telling { tell, stop: stop.clone(), last: std::sync::Mutex::default() };
    let working = Arc::clone(room);
    tokio::task::spawn_blocking(move || {
        // A fault in the work takes nothing else with it.
        let work = std::panic::AssertUnwindSafe(|| working.workers().install(|| work(&working, &telling)));
        match std::panic::catch_unwind(work).unwrap_or(Err(Trouble::Broken)) {
            Ok(result) => telling.tell("done", &result),
            Err(trouble) => telling.tell("failed", &trouble.told()),
        }
    });
    let kind = [(header::CONTENT_TYPE, "text/event-stream")];
    (kind, Body::new(Events { told, stop })).into_response()
}

/// Short work, away from the connections.
pub(super) async fn done<T: Send + 'static>(
    room: &Arc<Room>,
    work: impl FnOnce(&Room) -> Result<T, Trouble> + Send + 'static,
) -> Result<T, Trouble> {
    let working = Arc::clone(room);
    let work = move || working.workers().install(|| work(&working));
    tokio::task::spawn_blocking(work).await.unwrap_or(Err(Trouble::Broken))
}
