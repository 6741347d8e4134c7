//! Connections, and which part answers which address.

use std::collections::BTreeMap;
use std::net::TcpListener;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::{Method, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse as _, Response};
use axum::routing::{delete, get, post};
use axum::{Json, Router};
use hyper::server::conn::http1;
use hyper::service::{Service as _, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use serde::Deserialize;
use tokio::net::TcpStream;
use tokio::sync::Semaphore;
use tokio::task::AbortHandle;

use super::guard::{Part, Shown};
use super::room::{Room, held};
use super::secret::Secret;
use super::{PageError, assets, begin, body, cover, pages, paper, piece, sample};

/// How many connections are held at once: ten windows of six, and as many again.
const MOST_CONNECTIONS: usize = 120;

/// How long the head of a request may take, and a connection may be idle: who is slower gives up the place.
const HEAD: Duration = Duration::from_secs(10);

/// The most headers and the most bytes of a head: browsers send twenty headers in two kilobytes.
const MOST_HEADERS: usize = 64;
const MOST_HEAD: usize = 16 << 10;

/// How long the last answer may take to go out.
const LAST: Duration = Duration::from_millis(200);

/// Serves until the page is closed or the process ends. `ready` is called once the first request can be heard.
pub(super) fn run(
    listener: TcpListener,
    room: &Arc<Room>,
    ready: impl FnOnce() -> Result<(), PageError>,
) -> Result<(), PageError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(32)
        .thread_name("brede listens")
        .enable_io()
        .enable_time()
        .build()
        .map_err(PageError::Listening)?;
    runtime.block_on(async {
        listener.set_nonblocking(true).map_err(PageError::Listening)?;
        let listener = tokio::net::TcpListener::from_std(listener).map_err(PageError::Listening)?;
        ready()?;
        tokio::select! {
            () = accept(listener, router(room)) => {}
            () = room.closing.notified() => {}
        }
        // What was asked last is answered.
        tokio::time::sleep(LAST).await;
        Ok(())
    })?;
    // Work that nobody hears of any more is not waited for.
    runtime.shutdown_background();
    Ok(())
}

/// Ends the page: what is kept is kept.
async fn close(State(room): State<Arc<Room>>) -> StatusCode {
    room.closing.notify_one();
    StatusCode::NO_CONTENT
}

/// Connections on which nothing was asked yet, the oldest first.
type Unheard = Arc<Mutex<BTreeMap<u64, AbortHandle>>>;

/// Where all places are taken, the one goes that has asked nothing for longest: ten thousand that say nothing keep nobody
/// out who asks something.
async fn accept(listener: tokio::net::TcpListener, router: Router) {
    let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let unheard = Unheard::default();
    for number in 0.. {
        let Ok((stream, _)) = listener.accept().await else {
            // The system has no more handles just now.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        if places.available_permits() == 0 {
            let oldest = held(&unheard).pop_first();
            if let Some((_, oldest)) = oldest {
                oldest.abort();
            }
        }
        let Ok(place) = Arc::clone(&places).acquire_owned().await else { return };
        let serving = serve(stream, router.clone(), Heard { unheard: Arc::clone(&unheard), number });
        // Held until it is in the list, so that it cannot be heard before it is there.
        let mut list = held(&unheard);
        let task = tokio::spawn(async move {
            let _place = place;
            serving.await;
        });
        list.insert(number, task.abort_handle());
    }
}

/// Takes a connection out of the list: something was asked on it, or it has ended.
struct Heard {
    unheard: Unheard,
    number: u64,
}

impl Heard {
    fn now(&self) {
        held(&self.unheard).remove(&self.number);
    }
}

impl Drop for Heard {
    fn drop(&mut self) {
        self.now();
    }
}

async fn serve(stream: TcpStream, router: Router, heard: Heard) {
    let router = TowerToHyperService::new(router);
    let service = service_fn(|request| {
        heard.now();
        router.call(request)
    });
    let mut serving = http1::Builder::new();
    serving
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD)
        .max_headers(MOST_HEADERS)
        .max_buf_size(MOST_HEAD);
    // A connection that breaks is the browser's matter: it asks again.
    _ = serving.serve_connection(TokioIo::new(stream), service).await;
}

fn router(room: &Arc<Room>) -> Router {
    Router::new()
        .route("/", get(assets::index))
        .route("/assets/{name}", get(assets::asset))
        .route("/enter", post(enter))
        .route("/sheets/{id}/{name}", get(pages::sheets))
        .route("/api/here", get(piece::here))
        .route("/api/close", post(close))
        .route("/api/sample", post(sample::begin))
        .route("/api/pieces", get(piece::list).post(piece::take_in))
        .route("/api/pieces/{id}/picture", get(piece::picture))
        .route("/api/pieces/{id}/chart", get(piece::chart))
        .route("/api/pieces/{id}/begun", get(piece::begun))
        .route("/api/pieces/{id}/photo", get(piece::photo))
        .route("/api/pieces/{id}/change", post(piece::change))
        .route("/api/pieces/{id}/copy", post(piece::copy))
        .route("/api/pieces/{id}/pages", get(pages::printed).post(pages::print))
        .route("/api/pieces/{id}/page", post(pages::shown))
        .route("/api/photos", post(begin::photo))
        .route("/api/photos/{id}/try", post(begin::try_out))
        .route("/api/photos/{id}/offers", post(begin::offers))
        .route("/api/trials/{id}", get(begin::trial))
        .route("/api/trials/{id}/keep", post(begin::keep))
        .route("/api/card", get(begin::card).post(begin::take_card))
        .route("/api/card", delete(begin::forget_card))
        .route("/api/card/threads", get(begin::card_threads))
        .route("/api/papers", post(paper::bring))
        .route("/api/papers/{id}", post(paper::more))
        .route("/api/papers/{id}/read", post(paper::read))
        .route("/api/readings/{id}", get(paper::look))
        .route("/api/readings/{id}/open", post(paper::open))
        .route("/api/readings/{id}/answer", post(paper::answer))
        .route("/api/readings/{id}/change", post(paper::change))
        .route("/api/readings/{id}/keep", post(paper::keep))
        .route("/api/readings/{id}/picture", get(paper::picture))
        .fallback(|| async { StatusCode::NOT_FOUND })
        // Each that takes a body says how much itself.
        .layer(DefaultBodyLimit::disable())
        .layer(from_fn_with_state(Arc::clone(room), hold))
        .with_state(Arc::clone(room))
}

/// Lets those through who may ask.
async fn hold(State(room): State<Arc<Room>>, request: Request, next: Next) -> Response {
    let mut answer = match judged(&room, &request) {
        Ok(()) => next.run(request).await,
        Err(status) => status.into_response(),
    };
    cover::lay(answer.headers_mut());
    answer
}

fn judged(room: &Room, request: &Request) -> Result<(), StatusCode> {
    if ![Method::GET, Method::HEAD, Method::POST, Method::DELETE].contains(request.method()) {
        return Err(StatusCode::METHOD_NOT_ALLOWED);
    }
    // Browsers send paths, and never whole addresses (RFC 9112, 3.2.1).
    if request.uri().authority().is_some() {
        return Err(StatusCode::MISDIRECTED_REQUEST);
    }
    let path = request.uri().path();
    let part = match path {
        "/" => Part::Front,
        "/enter" => Part::Door,
        path if path.starts_with("/assets/") => Part::Shell,
        path if path.starts_with("/sheets/") => Part::Sheets,
        _ => Part::Inside,
    };
    let shown = room.rules().judge(request.method(), part, request.headers())?;
    let known = match part {
        Part::Front | Part::Shell | Part::Door => true,
        Part::Sheets => cookie(&shown).is_some_and(|cookie| room.home().knows(&cookie)),
        Part::Inside => cookie(&shown)
            .zip(shown.window.as_deref().and_then(Secret::told))
            .is_some_and(|(cookie, window)| room.home().knows_window(&cookie, &window)),
    };
    if known { Ok(()) } else { Err(StatusCode::UNAUTHORIZED) }
}

fn cookie(shown: &Shown) -> Option<Secret> {
    shown.cookie.as_deref().and_then(Secret::told)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entering {
    key: String,
}

/// Spends a key: the browser gets a cookie, the window a secret.
async fn enter(State(room): State<Arc<Room>>, request: Request) -> Response {
    let Ok(asked) = body::json::<Entering>(request).await else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    if !Secret::told(&asked.key).is_some_and(|key| room.home().spend(&key)) {
        return StatusCode::UNAUTHORIZED.into_response();
    }
    let Ok([cookie, window]) = room.home().let_in() else {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    };
    // A year: as long as a piece may rest. `Secure` is not for plain http.
    let kept = format!(
        "{}={}; Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000",
        room.rules().cookie(),
        cookie.reveal()
    );
    ([(header::SET_COOKIE, kept)], Json(serde_json::json!({ "window": window.reveal() }))).into_response()
}
