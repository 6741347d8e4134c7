//! Who may ask.
//!
//! A server on 127.0.0.1 is not private: any page of the web can send to it, a name can be made to point at it, and other
//! servers on this machine are sent its cookies, since cookies ignore ports. So the address must be asked for by its very
//! number, a change must come from a page of ours, and beside the cookie stands a secret that only our windows know.

use axum::http::header::{HeaderMap, HeaderName};
use axum::http::{Method, StatusCode};

/// The header that holds the secret of a window.
pub(super) const WINDOW: HeaderName = HeaderName::from_static("x-brede-window");

/// Fetch Metadata Request Headers (W3C), 2.3.
const SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

/// Where the page is served.
#[derive(Debug, Clone)]
pub(super) struct Rules {
    host: String,
    origin: String,
    cookie: String,
}

/// What part of the server is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// The address itself.
    Front,
    /// The page's own files, which say nothing of anybody's pieces.
    Shell,
    /// The door: a key is spent there.
    Door,
    /// A printing under a name that only who asked for it was told.
    Sheets,
    /// All else.
    Inside,
}

/// What a request shows, once it may be answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Shown {
    /// The cookie.
    pub(super) cookie: Option<String>,
    /// The secret of the window.
    pub(super) window: Option<String>,
}

impl Rules {
    pub(super) fn new(port: u16) -> Self {
        let host = format!("127.0.0.1:{port}");
        // Cookies ignore ports: two workbaskets have two names.
        Self { origin: format!("http://{host}"), cookie: format!("brede-{port}"), host }
    }

    /// The cookie's name.
    pub(super) fn cookie(&self) -> &str {
        &self.cookie
    }

    /// Judges where a request comes from; who sends it is judged by what it shows.
    pub(super) fn judge(
        &self,
        method: &Method,
        part: Part,
        headers: &HeaderMap,
    ) -> Result<Shown, StatusCode> {
        if once(headers, &axum::http::header::HOST) != Some(self.host.as_str()) {
            return Err(StatusCode::MISDIRECTED_REQUEST);
        }
        let site = once(headers, &SITE);
        if method == Method::GET || method == Method::HEAD {
            // The address itself may be led to from anywhere, such as the file that the browser is started on.
            if part != Part::Front && !matches!(site, None | Some("same-origin" | "none")) {
                return Err(StatusCode::FORBIDDEN);
            }
        } else if once(headers, &axum::http::header::ORIGIN) != Some(self.origin.as_str())
            || site != Some("same-origin")
        {
            return Err(StatusCode::FORBIDDEN);
        }
        Ok(Shown { cookie: self.cookie_of(headers), window: once(headers, &WINDOW).map(str::to_owned) })
    }

    /// The value of our cookie, where it is there once (RFC 6265, 4.2).
    fn cookie_of(&self, headers: &HeaderMap) -> Option<String> {
        let lines =
            headers.get_all(axum::http::header::COOKIE).into_iter().filter_map(|line| line.to_str().ok());
        let mut found = lines
            .flat_map(|line| line.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .filter(|(name, _)| *name == self.cookie)
            .map(|(_, value)| value.to_owned());
        let first = found.next()?;
        found.next().is_none().then_some(first)
    }
}

/// The value of a header that is there once.
fn once<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).into_iter();
    let value = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(value)
}
