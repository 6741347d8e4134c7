//! The files of one operation: what it reads, within limits and remembered, and what it writes, all together.
//!
//! Owns what may be written over: what brede wrote and nobody changed, of the same kind, and never what the operation
//! has read, but for the chart that it changes. Leaves how files are sealed and written whole to `ground::store`.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use super::work::Plan;
use super::{Error, FileKind, Heavy, InBasket, Replace, Source, Target, Wanted, Warning, What, Written};
use crate::basket::{Basket, KeptChart, Missing, PieceId, Unpicking};
use crate::chart::{CellMap, Chart, OpeningNote, Stamp};
use crate::ground::progress::Progress;
use crate::ground::store::{self, Hand, Hold, Over, seal};
use crate::making::photo::Limits;

/// The most bytes of a chart, a card or another text, 64 MiB: the largest chart there can be takes a quarter of
/// it, and a device that never ends must not eat the machine.
pub(super) const MOST_BYTES: u64 = 64 << 20;

/// What one operation reads and writes.
pub(super) struct Files<'p> {
    replace: Replace,
    pub(super) limits: Limits,
    hand: Hand,
    pub(super) progress: &'p dyn Progress,
    /// Pieces whose charts were read, with the revision that was seen.
    pieces: Vec<(InBasket, PieceId, u64)>,
    /// Where the cells of a chart that is changed went.
    pub(super) moved: CellMap,
    /// The files read so far, as the system knows them; of charts what they held.
    read: Vec<(PathBuf, Option<Vec<u8>>)>,
    /// Charts that are being changed.
    holds: Vec<Hold>,
    /// The charts that results belong to.
    pub(super) stamps: Vec<Stamp>,
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

impl<'p> Files<'p> {
    /// The files of an operation that begins.
    pub(super) fn new(replace: Replace, progress: &'p dyn Progress) -> Self {
        let (hand, warnings, moved) = (progress.hand(), Vec::new(), CellMap::STAY);
        let (read, holds, stamps, pieces) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Self {
            replace,
            limits: Limits::default(),
            hand,
            progress,
            pieces,
            moved,
            read,
            holds,
            stamps,
            warnings,
        }
    }

    /// The same, with limits of its own.
    pub(super) fn within(self, limits: Limits) -> Self {
        Self { limits, ..self }
    }

    /// Holds what is reckoned for something ([`memory`](super::memory)) to the limit, before it is begun.
    pub(super) fn may_take(&self, what: Heavy, needed: u64) -> Result<(), Error> {
        let limit = self.limits.max_memory;
        if needed <= limit { Ok(()) } else { Err(Error::Memory { what, needed, limit }) }
    }

    /// Holds a chart that is going to be changed, before it is read: another brede that wants to change it waits until
    /// this operation is over, and then builds on what is there.
    pub(super) fn hold(&mut self, source: &Source) -> Result<(), Error> {
        if let Source::Path(path) = source {
            self.holds.push(store::hold(path)?);
        }
        Ok(())
    }

    /// Remembers that results belong to a chart as it is now, too.
    pub(super) fn belong_to(&mut self, chart: &Chart) {
        self.stamps.push(chart.stamp());
    }

    /// Says that results belong to this chart alone, such as the one that the chart that was read became.
    pub(super) fn belong_only_to(&mut self, chart: &Chart) {
        self.stamps = vec![chart.stamp()];
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
            Source::Piece(piece) => {
                let basket = Basket::open(&piece.folder, Missing::Refuse)?;
                let id = basket.find(&piece.piece)?;
                let seen = basket.chart(&id)?;
                self.pieces.push((piece.clone(), id, seen.revision));
                seen.document
            }
        };
        if let (Wanted::Chart, Source::Path(path)) = (wanted, source) {
            self.holds_text(path, &bytes);
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
    fn holds_text(&mut self, path: &Path, bytes: &[u8]) {
        if let Ok(path) = std::fs::canonicalize(path) {
            self.read.push((path, Some(bytes.to_vec())));
        }
    }

    /// A chart as it is saved. One that is larger than what can be read again forgets its older steps, and that is told.
    pub(super) fn chart_bytes(&mut self, chart: &mut Chart) -> Result<Vec<u8>, Error> {
        let mut forgotten = 0;
        loop {
            let bytes = chart.to_json().into_bytes();
            let found = bytes.len() as u64;
            if found <= MOST_BYTES {
                if forgotten > 0 {
                    self.warnings.push(Warning::StepsForgotten { steps: forgotten });
                }
                return Ok(bytes);
            }
            match chart.forget_older_steps() {
                0 => return Err(Error::ChartTooLarge { found, limit: MOST_BYTES }),
                steps => forgotten += steps,
            }
        }
    }

    /// Refuses results that could not be written, before the work for them is done.
    pub(super) fn may_write(&self, what: What, target: &Target) -> Result<(), Error> {
        let Target::Path(path) = target else { return Ok(()) };
        refuse_other_kind(self.replace, path, FileKind::of_what(what))?;
        Ok(store::may_write(path, self.over(path, what)?, &is_ours)?)
    }

    /// Writes everything or nothing.
    pub(super) fn write(&self, outputs: Vec<Output>) -> Result<Vec<Written>, Error> {
        self.write_into(&Target::Held, outputs)
    }

    /// Writes everything or nothing, into a folder that is made if it is not there.
    pub(super) fn write_into(
        &self,
        folder: &Target,
        mut outputs: Vec<Output>,
    ) -> Result<Vec<Written>, Error> {
        let stamp = text_of(&self.stamps);
        for output in &mut outputs {
            output.bytes = seal::sealed(std::mem::take(&mut output.bytes), stamp.as_deref());
        }
        let folder = match folder {
            Target::Path(folder) => Some(folder.as_path()),
            Target::Held | Target::Piece(_) => None,
        };
        let (mut targets, mut foreign) = (Vec::new(), Vec::new());
        for output in &outputs {
            let Target::Path(path) = &output.target else { continue };
            refuse_other_kind(self.replace, path, FileKind::of(&output.bytes))?;
            let over = self.over(path, output.what)?;
            foreign.push(over == Over::Anything && store::may_write(path, Over::Ours, &is_ours).is_err());
            targets.push(store::Target { path, bytes: &output.bytes, over });
        }
        for output in &outputs {
            if let Target::Piece(piece) = &output.target {
                self.change_piece(piece, &output.bytes)?;
            }
        }
        let mut kept = store::write_all(&self.hand, folder, &targets, &is_ours)?.into_iter();
        let mut foreign = foreign.into_iter();
        let mut written = |output: Output| match output.target {
            Target::Path(path) => Written {
                what: output.what,
                name: path.file_name().unwrap_or_default().to_string_lossy().into_owned(),
                // What a chart was that is changed is no other chart: its steps lead back to it.
                kept: kept.next().flatten().filter(|_| !self.is_changed(&path)),
                was_foreign: foreign.next() == Some(true),
                path: Some(path),
                bytes: None,
            },
            Target::Piece(piece) => Written {
                what: output.what,
                name: piece.piece,
                path: None,
                kept: None,
                was_foreign: false,
                bytes: None,
            },
            Target::Held => Written {
                what: output.what,
                name: output.name,
                path: None,
                kept: None,
                was_foreign: false,
                bytes: Some(output.bytes),
            },
        };
        Ok(outputs.into_iter().map(&mut written).collect())
    }

    /// Puts a chart in the place of a piece's, which must be what was read.
    fn change_piece(&self, piece: &InBasket, document: &[u8]) -> Result<(), Error> {
        let chart = Chart::from_json(document)
            .map_err(|source| Error::Chart { name: piece.piece.clone(), source })?;
        let (_, work) = Plan::of(&chart, self.progress)?;
        let mut basket = Basket::open(&piece.folder, Missing::Refuse)?;
        let read = self.pieces.iter().rev().find(|(read, ..)| read.is_same_as(piece));
        let (id, seen) = match read {
            Some((_, id, seen)) => (id.clone(), Some(*seen)),
            None => (basket.find(&piece.piece)?, None),
        };
        let kept = KeptChart { chart: &chart, document, work: &work };
        basket.change_chart(&id, seen, (kept, self.moved), self.replace.into(), piece.when)?;
        Ok(())
    }

    /// Whether a chart was read from this path.
    fn is_changed(&self, path: &Path) -> bool {
        let real = std::fs::canonicalize(path).ok();
        self.read.iter().any(|(read, bytes)| bytes.is_some() && Some(read) == real.as_ref())
    }

    /// What may be there. What was read in this operation is never written over, but for a chart that is changed: it
    /// must then be what it was.
    fn over(&self, path: &Path, what: What) -> Result<Over<'_>, Error> {
        let otherwise = match self.replace {
            Replace::Ours => Over::Ours,
            Replace::Anything => Over::Anything,
        };
        let Ok(real) = std::fs::canonicalize(path) else { return Ok(otherwise) };
        // A device or a pipe takes anything.
        if !real.is_file() {
            return Ok(otherwise);
        }
        let read: Vec<_> = self.read.iter().rev().filter(|(read, _)| *read == real).collect();
        let held = read.iter().find_map(|(_, bytes)| bytes.as_ref());
        match (what, held) {
            (What::Chart, Some(bytes)) => Ok(Over::Read(bytes)),
            _ if read.is_empty() => Ok(otherwise),
            _ => Err(Error::OverRead { path: path.to_owned() }),
        }
    }
}

/// Who says that whatever is there may be written over agrees to take stitches out again.
impl From<Replace> for Unpicking {
    fn from(replace: Replace) -> Self {
        match replace {
            Replace::Ours => Self::Refused,
            Replace::Anything => Self::Agreed,
        }
    }
}

/// What files that belong to charts carry.
pub(super) fn text_of(stamps: &[Stamp]) -> Option<String> {
    let stamps: Vec<String> = stamps.iter().map(ToString::to_string).collect();
    (!stamps.is_empty()).then(|| stamps.join(" "))
}

/// Whether bytes are of a file that brede wrote and nobody changed. A chart of before there were fingerprints counts as
/// such.
pub(super) fn is_ours(bytes: &[u8]) -> bool {
    let is_edited = |note: &OpeningNote| matches!(note, OpeningNote::Edited { .. });
    let is_chart = || Chart::open(bytes).is_ok_and(|opened| !opened.notes.iter().any(is_edited));
    seal::is_unchanged(bytes) || bytes.starts_with(b"{") && is_chart()
}

/// Refuses to put a table where a picture is, and the like: a slip, even where brede wrote both.
fn refuse_other_kind(replace: Replace, path: &Path, new: FileKind) -> Result<(), Error> {
    let mut start = Vec::new();
    let is_file = path.is_file() && replace == Replace::Ours;
    // What cannot be read cannot be judged; writing will tell.
    if !is_file || File::open(path).and_then(|file| file.take(START).read_to_end(&mut start)).is_err() {
        return Ok(());
    }
    let found = FileKind::of(&start);
    if start.is_empty() || found == new {
        return Ok(());
    }
    Err(Error::OtherKind { path: path.to_owned(), found, new })
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
    /// What a result will be.
    fn of_what(what: What) -> Self {
        match what {
            What::Chart => Self::Chart,
            What::Pages
            | What::SymbolNames
            | What::ShoppingPages
            | What::SorterCards
            | What::BobbinLabels
            | What::WorkingOrder
            | What::CardPages => Self::Pdf,
            What::Cells
            | What::Done
            | What::Stitched
            | What::Compared
            | What::Cloths
            | What::Sketch
            | What::Check
            | What::Subject
            | What::ProofPicture
            | What::Found => Self::Png,
            What::Photo => Self::OtherPicture,
            What::Threads
            | What::Diary
            | What::Measures
            | What::ShoppingList
            | What::Pairs
            | What::Card
            | What::Doubts => Self::Text,
        }
    }

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
    use crate::ground::progress::Silent;

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
        let output = |text: &str| {
            let (target, name) = (Target::Path(path.clone()), String::new());
            vec![Output { what: What::Threads, target, name, bytes: text.into() }]
        };
        let begun = |replace| Files::new(replace, &Silent);
        begun(Replace::Ours).write(output("code\nS1\n")).unwrap();
        let there = std::fs::read(&path).unwrap();
        for replace in [Replace::Ours, Replace::Anything] {
            let mut reader = begun(replace);
            reader.bytes(&Source::Path(path.clone()), Wanted::Pages).unwrap();
            assert!(matches!(reader.write(output("code\nS2\n")).unwrap_err(), Error::OverRead { .. }));
            assert_eq!(std::fs::read(&path).unwrap(), there);
        }
        let written = begun(Replace::Ours).write(output("code\nS2\n")).unwrap();
        assert_eq!(std::fs::read(written[0].kept.as_ref().unwrap()).unwrap(), there);
    }

    #[test]
    fn what_a_person_wrote_or_changed_is_written_over_only_where_that_is_asked_for() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("card.csv");
        std::fs::write(&path, "code,name,colour\nS1,Sea,#205080\n").unwrap();
        let output = || {
            let (target, name) = (Target::Path(path.clone()), String::new());
            vec![Output { what: What::Threads, target, name, bytes: b"code\nS1\n".into() }]
        };
        let ours = Files::new(Replace::Ours, &Silent);
        let refused = |error: Error| {
            assert!(matches!(error, Error::Store(store::StoreError::NotOurs { .. })), "{error:?}");
            assert_eq!(error.advice(), Some(crate::ground::advice::Advice::AllowReplacing));
        };
        refused(ours.may_write(What::Threads, &Target::Path(path.clone())).unwrap_err());
        refused(ours.write(output()).unwrap_err());
        let written = Files::new(Replace::Anything, &Silent).write(output()).unwrap();
        assert!(written[0].was_foreign && written[0].kept.is_some());
        let again = Files::new(Replace::Anything, &Silent).write(output()).unwrap();
        assert!(!again[0].was_foreign);
        assert!(ours.may_write(What::Threads, &Target::Path(path.clone())).is_ok());
        let mut noted = std::fs::read(&path).unwrap();
        noted.extend(b"buy two more of S1\n");
        std::fs::write(&path, &noted).unwrap();
        refused(ours.write(output()).unwrap_err());
        assert_eq!(std::fs::read(&path).unwrap(), noted);
    }

    #[test]
    fn a_chart_counts_as_ours_unless_something_else_changed_it() {
        let size = crate::ground::units::GridSize::new(4, 4).unwrap();
        let cells = vec![crate::chart::Cell::BARE; 16];
        let chart =
            Chart::new("Pool".into(), size, crate::thread::cloth::Cloth::default(), Vec::new(), cells);
        let text = chart.unwrap().to_json();
        assert!(is_ours(text.as_bytes()));
        assert!(!is_ours(text.replace("Pool", "Pond").as_bytes()));
        // As brede 0.1 wrote them, without id and fingerprint.
        let mut old: serde_json::Map<String, serde_json::Value> = serde_json::from_str(&text).unwrap();
        for key in ["id", "revision", "fingerprint", "steps"] {
            old.remove(key);
        }
        old.insert("brede_chart".into(), 1.into());
        assert!(is_ours(serde_json::to_string(&old).unwrap().as_bytes()));
        assert!(!is_ours(b"{\"dear\": \"Ines\"}"));
    }

    #[test]
    fn what_is_held_stays_in_the_report() {
        let output = Output {
            what: What::Threads,
            target: Target::Held,
            name: "pool.threads.csv".into(),
            bytes: b"code\nS1\n".to_vec(),
        };
        let written = Files::new(Replace::Ours, &Silent).write(vec![output]).unwrap();
        assert!(seal::is_unchanged(written[0].bytes.as_ref().unwrap()));
        assert_eq!((written[0].name.as_str(), &written[0].path), ("pool.threads.csv", &None));
    }
}
