//! Why the page cannot be opened.

use std::io;
use std::path::PathBuf;

use brede::ground::advice::Advice;

/// Why the page cannot be opened.
#[derive(Debug, thiserror::Error)]
pub(crate) enum PageError {
    /// The page's own files in the workbasket's folder.
    #[error("could not use {}", path.display())]
    Files {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A port that cannot be had.
    #[error("could not listen on port {port}")]
    Port {
        /// Which.
        port: u16,
        /// Why.
        source: io::Error,
    },
    /// No port at all.
    #[error("could not listen on this machine")]
    Listening(#[source] io::Error),
    /// Another brede has begun and does not say where.
    #[error("another brede is opening this workbasket, and does not answer")]
    Silent,
    /// The system gives no threads.
    #[error("could not begin a thread")]
    Threads(#[source] rayon::ThreadPoolBuildError),
    /// The system draws no lots.
    #[error("could not draw a key: {0}")]
    Secret(getrandom::Error),
}

impl PageError {
    /// What to do about it.
    pub(crate) fn advice(&self) -> Option<Advice> {
        match self {
            Self::Files { .. } => Some(Advice::OtherBasket),
            Self::Port { .. } => Some(Advice::OtherPort),
            Self::Silent => Some(Advice::WaitForOther),
            Self::Threads(_) => Some(Advice::FreeThreads),
            Self::Listening(_) | Self::Secret(_) => None,
        }
    }

    pub(super) fn listening(port: Option<u16>) -> impl FnOnce(io::Error) -> Self {
        move |source| match port {
            Some(port) => Self::Port { port, source },
            None => Self::Listening(source),
        }
    }
}
