//! The page: brede in the browser. HTTP becomes requests of the desk, reports become JSON.
//!
//! Owns the server, who may ask it, and the page's own files. It computes nothing of a chart and keeps nothing of a
//! piece: the desk does. It prints nothing: who opens it is told the address.

mod answer;
mod assets;
mod begin;
mod body;
mod browser;
mod clock;
mod cover;
mod error;
mod guard;
mod home;
mod job;
mod packed;
mod pages;
mod paper;
mod piece;
mod room;
mod sample;
mod secret;
mod serve;
mod starter;

use std::net::{Ipv4Addr, TcpListener};
use std::path::PathBuf;
use std::sync::Arc;

pub(crate) use error::PageError;
pub(crate) use starter::starter;

use home::{Home, Taken};
use room::Room;

/// How the page is to be opened.
#[derive(Debug, Clone)]
pub(crate) struct Opening {
    /// The folder of the workbasket.
    pub(crate) folder: PathBuf,
    /// The port; else the one of last time where it is free, else one that the system gives.
    pub(crate) port: Option<u16>,
    /// Whether the browser is started.
    pub(crate) browser: Browser,
    /// How many threads work.
    pub(crate) threads: Option<usize>,
}

/// Whether the browser is started.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Browser {
    /// It is, where there is a screen.
    Started,
    /// The person starts it.
    Left,
}

/// Opens the page: serves it until the process ends, or, where another brede does already, leads there. `tell` is given
/// its address, with a key in it that opens it once.
///
/// # Errors
/// [`PageError`] where it cannot be served.
pub(crate) fn open(opening: &Opening, tell: &mut dyn FnMut(&str)) -> Result<(), PageError> {
    let home = Home::open(&opening.folder)?;
    let lock = match home.take()? {
        Taken::Ours(lock) => lock,
        Taken::Runs(port) => return greet(&home, port, opening.browser, tell),
    };
    let listener = listen(&home, opening.port)?;
    let port = listener.local_addr().map_err(PageError::listening(opening.port))?.port();
    let workers = brede::desk::workers(opening.threads).map_err(PageError::Threads)?;
    let room = Arc::new(Room::new(home, &opening.folder, port, workers));
    serve::run(listener, &room, || {
        room.home().runs_at(port)?;
        greet(room.home(), port, opening.browser, tell)
    })?;
    drop(lock);
    Ok(())
}

/// Tells the address with a new key.
fn greet(home: &Home, port: u16, browser: Browser, tell: &mut dyn FnMut(&str)) -> Result<(), PageError> {
    let address = format!("http://{}:{port}/#{}", Ipv4Addr::LOCALHOST, home.new_key()?);
    tell(&address);
    if browser == Browser::Started && browser::is_there() {
        // A browser that does not start is no failure: the address was told.
        _ = browser::start(&home.starter(&address)?);
    }
    Ok(())
}

/// Listens on this machine alone.
fn listen(home: &Home, wanted: Option<u16>) -> Result<TcpListener, PageError> {
    let bind = |port: u16| TcpListener::bind((Ipv4Addr::LOCALHOST, port));
    // A new port is a new place to the browser, and what the page keeps there is gone: the old one first.
    let found = match (wanted, home.last_port()) {
        (Some(port), _) => bind(port),
        (None, Some(last)) => bind(last).or_else(|_| bind(0)),
        (None, None) => bind(0),
    };
    found.map_err(PageError::listening(wanted))
}
