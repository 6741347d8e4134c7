//! The files of one operation: what it reads, within limits and remembered, and what it writes, all together.
//!
//! Owns what may be written over: not what the operation has read, nor a file of another kind. Leaves how files are
//! written whole to `ground::store`.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use super::{Error, FileKind, Replace, Source, Target, Wanted, Warning, What, Written};
use crate::ground::store::{self, Before};

/// The most bytes of a chart, a card or another text, 64 MiB: the largest chart there can be takes a quarter of
/// it, and a device that never ends must not eat the machine.
pub(super) const MOST_BYTES: u64 = 64 << 20;

/// What one operation reads and writes.
#[derive(Debug)]
pub(super) struct Files {
    replace: Replace,
    /// The files read so far, as the system knows them; of charts what they held.
    read: Vec<(PathBuf, Option<Vec<u8>>)>,
    /// What is to be said of what was read.
    pub(super) warnings: Vec<Warning>,
}

/// Something to be written.
#[derive(Debug)]
pub(super) struct Output {
    pub(super) what: What,
    pub(super) target: Target,
    /// What it is called where it stays in the report.
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

impl Files {
    /// The files of an operation that begins.
    pub(super) fn new(replace: Replace) -> Self {
        Self { replace, read: Vec::new(), warnings: Vec::new() }
    }

    /// The bytes of something that is not a picture.
    pub(super) fn bytes(&mut self, source: &Source, wanted: Wanted) -> Result<Vec<u8>, Error> {
        let fail = |error: io::Error| Error::Read { name: source.to_string(), wanted, source: error };
        let bytes = match source {
            Source::Path(path) => {
                self.was_read(path);
                limited(path).map_err(fail)?
            }
            Source::Input => within_limit(io::stdin().lock()).map_err(fail)?,
            Source::Held { bytes, .. } => within_limit(&**bytes).map_err(fail)?,
        };
        if let (Wanted::Chart, Source::Path(path)) = (wanted, source) {
            self.holds(path, &bytes);
        }
        Ok(bytes)
    }

    /// The text of something.
    pub(super) fn text(&mut self, source: &Source, wanted: Wanted) -> Result<String, Error> {
        String::from_utf8(self.bytes(source, wanted)?).map_err(|_| {
            let why = io::Error::new(io::ErrorKind::InvalidData, "it is not UTF-8 text");
            Error::Read { name: source.to_string(), wanted, source: why }
        })
    }

    /// Remembers that a file is read.
    pub(super) fn was_read(&mut self, path: &Path) {
        if let Ok(path) = std::fs::canonicalize(path) {
            self.read.push((path, None));
        }
    }

    /// Remembers what a chart held: it may be written over only as long as it still does.
    fn holds(&mut self, path: &Path, bytes: &[u8]) {
        if let Ok(path) = std::fs::canonicalize(path) {
            self.read.push((path, Some(bytes.to_vec())));
        }
    }

    /// Writes everything or nothing into a folder, which is made if it is not there.
    pub(super) fn write_into(&self, folder: &Target, outputs: Vec<Output>) -> Result<Vec<Written>, Error> {
        if let Target::Path(folder) = folder {
            store::make_folder(folder)?;
        }
        self.write(outputs)
    }

    /// Writes everything or nothing.
    pub(super) fn write(&self, outputs: Vec<Output>) -> Result<Vec<Written>, Error> {
        let mut targets = Vec::new();
        for output in &outputs {
            let Target::Path(path) = &output.target else { continue };
            self.may_write(path, &output.bytes)?;
            targets.push(store::Target {
                path,
                bytes: &output.bytes,
                before: self.before(path, output.what),
            });
        }
        let kept = store::write_all(&targets)?;
        let kept_of = |path: &Path| {
            let earlier = store::earlier(&std::fs::canonicalize(path).ok()?);
            kept.iter().find(|kept| std::fs::canonicalize(kept).is_ok_and(|kept| kept == earlier)).cloned()
        };
        let written = |output: Output| match output.target {
            Target::Path(path) => Written {
                what: output.what,
                name: path.file_name().unwrap_or_default().to_string_lossy().into_owned(),
                kept: kept_of(&path),
                path: Some(path),
                bytes: None,
            },
            Target::Held => Written {
                what: output.what,
                name: output.name,
                path: None,
                kept: None,
                bytes: Some(output.bytes),
            },
        };
        Ok(outputs.into_iter().map(written).collect())
    }

    /// What becomes of the file that is there. Over a chart that was read, another's change since then must not be
    /// lost; another chart is merely kept.
    fn before(&self, path: &Path, what: What) -> Before<'_> {
        if what != What::Chart {
            return Before::Dropped;
        }
        let real = std::fs::canonicalize(path).ok();
        let held = self.read.iter().rev().find_map(|(read, bytes)| match bytes {
            Some(bytes) if Some(read) == real.as_ref() => Some(bytes),
            _ => None,
        });
        held.map_or(Before::Kept, |bytes| Before::Read(bytes))
    }

    /// Whether these bytes may be written there. A chart may take a chart's place, as the old one is kept; a device
    /// or pipe takes anything.
    fn may_write(&self, path: &Path, bytes: &[u8]) -> Result<(), Error> {
        if self.replace == Replace::Anything {
            return Ok(());
        }
        let Ok(real) = std::fs::canonicalize(path) else { return Ok(()) };
        if !real.is_file() {
            return Ok(());
        }
        let mut start = Vec::new();
        // What cannot be read cannot be judged; writing will tell.
        let looked = File::open(&real).and_then(|file| file.take(START).read_to_end(&mut start));
        if looked.is_err() || start.is_empty() {
            return Ok(());
        }
        let (found, new) = (FileKind::of(&start), FileKind::of(bytes));
        if found != new {
            return Err(Error::OtherKind { path: path.to_owned(), found, new });
        }
        if new != FileKind::Chart && self.read.iter().any(|(read, _)| *read == real) {
            return Err(Error::OverRead { path: path.to_owned() });
        }
        Ok(())
    }
}

fn limited(path: &Path) -> io::Result<Vec<u8>> {
    let file = File::open(path)?;
    if file.metadata()?.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    within_limit(file)
}

fn within_limit(from: impl io::Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MOST_BYTES {
        let text = format!("it is larger than {} megabytes", MOST_BYTES >> 20);
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, text));
    }
    Ok(bytes)
}

/// How much of a file tells its kind.
const START: u64 = 64;

impl FileKind {
    /// By how it begins: PDF (ISO 32000-1, 7.5.2), PNG (ISO 15948, 5.2), JPEG (ITU-T T.81, B.1.1.3), and the
    /// signatures of GIF, RIFF (WebP), TIFF and BMP.
    fn of(bytes: &[u8]) -> Self {
        let begins = |start: &[u8]| bytes.starts_with(start);
        if begins(b"%PDF") {
            Self::Pdf
        } else if begins(b"\x89PNG") {
            Self::Png
        } else if begins(b"\xff\xd8") {
            Self::Jpeg
        } else if begins(b"GIF8") || begins(b"RIFF") || begins(b"II*\0") || begins(b"MM\0*") || begins(b"BM")
        {
            Self::OtherPicture
        } else if begins(b"{") {
            Self::Chart
        } else {
            Self::Text
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn kinds_are_told_by_how_they_begin() {
        for (bytes, kind) in [
            (b"%PDF-1.7".as_slice(), FileKind::Pdf),
            (b"\x89PNG\r\n\x1a\n", FileKind::Png),
            (b"\xff\xd8\xff\xe0", FileKind::Jpeg),
            (b"GIF89a", FileKind::OtherPicture),
            (b"{\"brede_chart\":1", FileKind::Chart),
            (b"code,name,colour\n", FileKind::Text),
            (b"", FileKind::Text),
        ] {
            assert_eq!(FileKind::of(bytes), kind, "{bytes:?}");
        }
    }

    #[test]
    fn what_one_operation_reads_binds_no_other() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("card.csv");
        std::fs::write(&path, "code,name,colour\n").unwrap();
        let output = || {
            let (target, name) = (Target::Path(path.clone()), String::new());
            vec![Output { what: What::Threads, target, name, bytes: b"code,name\n".to_vec() }]
        };
        let mut reader = Files::new(Replace::Ours);
        reader.bytes(&Source::Path(path.clone()), Wanted::Pages).unwrap();
        assert!(matches!(reader.write(output()).unwrap_err(), Error::OverRead { .. }));
        assert_eq!(std::fs::read(&path).unwrap(), b"code,name,colour\n");
        assert!(Files::new(Replace::Ours).write(output()).is_ok());
    }

    #[test]
    fn what_is_held_stays_in_the_report() {
        let output = Output {
            what: What::Threads,
            target: Target::Held,
            name: "pool.threads.csv".into(),
            bytes: b"x".to_vec(),
        };
        let written = Files::new(Replace::Ours).write(vec![output]).unwrap();
        assert_eq!(written[0].bytes.as_deref(), Some(&b"x"[..]));
        assert_eq!((written[0].name.as_str(), &written[0].path), ("pool.threads.csv", &None));
    }
}
