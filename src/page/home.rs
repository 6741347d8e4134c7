//! What the page keeps for itself, in a folder of the workbasket that nobody else may look into: where it runs, keys
//! that were not yet spent, windows that were let in, and the shade card that was last used.
//!
//! Each is a file that is made or taken away as a whole, so that two that open the page at once, or a power cut, leave
//! nothing half.

use std::fs::{self, File, TryLockError};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use brede::ground::store::persist;

use super::PageError;
use super::secret::Secret;

/// The page's folder.
#[derive(Debug, Clone)]
pub(super) struct Home(PathBuf);

/// Held as long as the page is served; the system lets it go with the process, however that ends.
#[derive(Debug)]
pub(super) struct Lock(#[allow(dead_code, reason = "held")] File);

/// Who serves the page.
#[derive(Debug)]
pub(super) enum Taken {
    /// This process.
    Ours(Lock),
    /// Another, on this port.
    Runs(u16),
}

/// How long one that has begun is waited for until it says where it is, and between looks.
const PATIENCE: (u32, Duration) = (100, Duration::from_millis(50));

/// The most windows that are remembered: the oldest go.
const MOST_WINDOWS: usize = 100;

impl Home {
    /// The page's folder in that of the workbasket, made where it is missing.
    pub(super) fn open(basket: &Path) -> Result<Self, PageError> {
        let home = Self(basket.join("page"));
        for folder in [&home.0, &home.keys(), &home.windows()] {
            let mut builder = fs::DirBuilder::new();
            builder.recursive(true);
            #[cfg(unix)]
            std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
            builder.create(folder).map_err(files(folder))?;
        }
        Ok(home)
    }

    fn keys(&self) -> PathBuf {
        self.0.join("keys")
    }

    fn windows(&self) -> PathBuf {
        self.0.join("windows")
    }

    fn running(&self) -> PathBuf {
        self.0.join("running")
    }

    /// Becomes the one who serves, or finds who does.
    pub(super) fn take(&self) -> Result<Taken, PageError> {
        let path = self.0.join("lock");
        let file =
            File::options().create(true).truncate(false).write(true).open(&path).map_err(files(&path))?;
        for _ in 0..PATIENCE.0 {
            match file.try_lock() {
                Ok(()) => {
                    // What one left behind that was killed.
                    _ = fs::remove_file(self.running());
                    self.forget_keys()?;
                    return Ok(Taken::Ours(Lock(file)));
                }
                Err(TryLockError::WouldBlock) => {}
                Err(TryLockError::Error(source)) => return Err(PageError::Files { path, source }),
            }
            if let Some(port) = port(&self.running()) {
                return Ok(Taken::Runs(port));
            }
            sleep(PATIENCE.1);
        }
        Err(PageError::Silent)
    }

    fn forget_keys(&self) -> Result<(), PageError> {
        let keys = self.keys();
        for entry in fs::read_dir(&keys).map_err(files(&keys))?.flatten() {
            _ = fs::remove_file(entry.path());
        }
        Ok(())
    }

    /// The port of last time.
    pub(super) fn last_port(&self) -> Option<u16> {
        port(&self.0.join("port"))
    }

    /// Says where the page is served.
    pub(super) fn runs_at(&self, port: u16) -> Result<(), PageError> {
        self.write(&self.0.join("port"), port.to_string().as_bytes())?;
        self.write(&self.running(), port.to_string().as_bytes())
    }

    /// A key that opens the page once.
    pub(super) fn new_key(&self) -> Result<String, PageError> {
        let key = Secret::draw()?;
        self.write(&self.keys().join(key.hash()), b"")?;
        Ok(key.reveal().to_owned())
    }

    /// Spends a key; of two that spend it at once, one does.
    pub(super) fn spend(&self, key: &Secret) -> bool {
        fs::remove_file(self.keys().join(key.hash())).is_ok()
    }

    /// Lets a browser in: a secret for its cookie, and one for its windows.
    pub(super) fn let_in(&self) -> Result<[Secret; 2], PageError> {
        self.forget_windows();
        let [cookie, window] = [Secret::draw()?, Secret::draw()?];
        self.write(&self.windows().join(cookie.hash()), window.hash().as_bytes())?;
        Ok([cookie, window])
    }

    /// Whether this cookie was given.
    pub(super) fn knows(&self, cookie: &Secret) -> bool {
        self.windows().join(cookie.hash()).is_file()
    }

    /// Whether this cookie and this secret of a window were given together.
    pub(super) fn knows_window(&self, cookie: &Secret, window: &Secret) -> bool {
        let kept = fs::read(self.windows().join(cookie.hash()));
        kept.is_ok_and(|kept| kept == window.hash().as_bytes())
    }

    fn forget_windows(&self) {
        let Ok(entries) = fs::read_dir(self.windows()) else { return };
        let mut known: Vec<_> = entries
            .flatten()
            .filter_map(|entry| Some((entry.metadata().ok()?.modified().ok()?, entry.path())))
            .collect();
        known.sort();
        let old = known.len().saturating_sub(MOST_WINDOWS - 1);
        for (_, path) in known.into_iter().take(old) {
            _ = fs::remove_file(path);
        }
    }

    /// A page that leads to an address with a key, for the browser to be started on: what a process is begun with, all on
    /// this machine can read.
    pub(super) fn starter(&self, address: &str) -> Result<PathBuf, PageError> {
        let path = self.0.join("open.html");
        let page = format!(
            "<!doctype html><meta charset=utf-8><title>brede</title>\
             <meta http-equiv=refresh content=\"0;url={address}\"><a href=\"{address}\">Open brede</a>\n"
        );
        self.write(&path, page.as_bytes())?;
        Ok(path)
    }

    /// Keeps the shade card that is used from now on.
    pub(super) fn keep_card(&self, name: &str, bytes: &[u8]) -> Result<(), PageError> {
        let mut whole = format!("{}\n", name.replace(['\n', '\r'], " ")).into_bytes();
        whole.extend_from_slice(bytes);
        self.write(&self.0.join("card"), &whole)
    }

    /// Goes back to the demonstration card.
    pub(super) fn forget_card(&self) {
        _ = fs::remove_file(self.0.join("card"));
    }

    /// The name and the bytes of the shade card that was kept.
    pub(super) fn card(&self) -> Option<(String, Vec<u8>)> {
        let whole = fs::read(self.0.join("card")).ok()?;
        let end = whole.iter().position(|&byte| byte == b'\n')?;
        Some((String::from_utf8_lossy(&whole[..end]).into_owned(), whole[end + 1..].to_vec()))
    }

    /// Writes a file of the person's alone beside its place and puts it there.
    fn write(&self, path: &Path, bytes: &[u8]) -> Result<(), PageError> {
        // A temporary file is its owner's alone.
        let written = tempfile::NamedTempFile::new_in(&self.0).and_then(|mut file| {
            file.write_all(bytes)?;
            file.as_file().sync_all()?;
            persist(file, path)
        });
        written.map_err(files(path))
    }
}

fn port(path: &Path) -> Option<u16> {
    fs::read_to_string(path).ok()?.trim().parse().ok().filter(|&port| port > 0)
}

fn files(path: &Path) -> impl FnOnce(io::Error) -> PageError + '_ {
    |source| PageError::Files { path: path.to_owned(), source }
}
