//! What the server holds while it runs: photos that are tried, charts that came of them, printings. All of it can be made
//! again from what the person has; what is to last is in the workbasket.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use brede::desk::{KeepAs, KeepRequest, OpenPages, OpenPhoto, Replace, Source, TrialReport};
use rayon::ThreadPool;
use tokio::sync::Notify;

use super::clock;
use super::guard::Rules;
use super::home::Home;

/// Things by ids of their own, the oldest forgotten.
#[derive(Debug)]
pub(super) struct Shelf<T> {
    things: Mutex<VecDeque<(String, T)>>,
    most: usize,
}

impl<T: Clone> Shelf<T> {
    fn of(most: usize) -> Self {
        Self { things: Mutex::default(), most }
    }

    /// Puts something there.
    pub(super) fn put(&self, id: String, thing: T) {
        let mut things = held(&self.things);
        things.push_back((id, thing));
        while things.len() > self.most {
            things.pop_front();
        }
    }

    /// Takes something away.
    pub(super) fn take(&self, id: &str) -> Option<T> {
        let mut things = held(&self.things);
        let place = things.iter().position(|(known, _)| known == id)?;
        things.remove(place).map(|(_, thing)| thing)
    }

    /// Changes what is there under an id; says whether it is there.
    pub(super) fn change(&self, id: &str, change: impl FnOnce(&mut T)) -> bool {
        let mut things = held(&self.things);
        let found = things.iter_mut().find(|(known, _)| known == id);
        found.map(|(_, thing)| change(thing)).is_some()
    }

    /// What is there under an id; it is forgotten after the others.
    pub(super) fn find(&self, id: &str) -> Option<T> {
        let mut things = held(&self.things);
        let place = things.iter().position(|(known, _)| known == id)?;
        let found = things.remove(place)?;
        let thing = found.1.clone();
        things.push_back(found);
        Some(thing)
    }
}

/// Where another thread panicked while it had something, the thing is as it was.
pub(super) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A wish to stop, which all may have that know of the work.
#[derive(Debug, Clone, Default)]
pub(super) struct Stop(Arc<AtomicBool>);

impl Stop {
    pub(super) fn now(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    pub(super) fn is_asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// A photo that is tried.
#[derive(Debug, Clone)]
pub(super) struct Tried {
    pub(super) photo: OpenPhoto,
    /// Stops what is being tried of it.
    pub(super) stop: Arc<Mutex<Stop>>,
}

impl Tried {
    /// Stops what was begun before, and gives a new wish.
    pub(super) fn instead(&self) -> Stop {
        let mut stop = held(&self.stop);
        stop.now();
        *stop = Stop::default();
        stop.clone()
    }
}

/// A chart that came of a photo.
#[derive(Debug, Clone)]
pub(super) struct Trial {
    pub(super) report: Arc<TrialReport>,
    pub(super) photo: Source,
}

/// A printing.
#[derive(Debug, Clone)]
pub(super) struct Printing {
    pub(super) name: String,
    pub(super) pages: Arc<[u8]>,
}

/// What the server holds.
#[derive(Debug)]
pub(super) struct Room {
    home: Home,
    folder: PathBuf,
    rules: Rules,
    workers: ThreadPool,
    /// A photo of 200 million pixels takes 800 MB.
    pub(super) photos: Shelf<Tried>,
    /// Ten windows with two choices each.
    pub(super) trials: Shelf<Trial>,
    /// Some megabytes each.
    pub(super) printings: Shelf<Printing>,
    /// Files of charts that were printed elsewhere, before they are read: 64 MB each at most.
    pub(super) papers: Shelf<Vec<Source>>,
    /// Their pages once they were read, by the id of the reading: some megabytes each.
    pub(super) readings: Shelf<OpenPages>,
    /// Held by the one who makes the first piece.
    pub(super) sample: Mutex<()>,
    /// Told once the page is to be closed.
    pub(super) closing: Notify,
}

impl Room {
    pub(super) fn new(home: Home, folder: &Path, port: u16, workers: ThreadPool) -> Self {
        Self {
            home,
            folder: folder.to_owned(),
            rules: Rules::new(port),
            workers,
            photos: Shelf::of(10),
            trials: Shelf::of(20),
            printings: Shelf::of(20),
            papers: Shelf::of(4),
            readings: Shelf::of(10),
            sample: Mutex::default(),
            closing: Notify::new(),
        }
    }

    pub(super) fn home(&self) -> &Home {
        &self.home
    }

    /// The folder of the workbasket.
    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// What keeps a chart in it, now.
    pub(super) fn keeping(&self, chart: Source, photo: Option<Source>, keep_as: KeepAs) -> KeepRequest {
        let (basket, when) = (self.folder.clone(), clock::when());
        KeepRequest { chart, photo, basket, keep_as, when, replace: Replace::Ours }
    }

    pub(super) fn rules(&self) -> &Rules {
        &self.rules
    }

    pub(super) fn workers(&self) -> &ThreadPool {
        &self.workers
    }
}
