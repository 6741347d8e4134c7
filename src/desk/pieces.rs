//! Pieces on the go: a chart kept in the workbasket, and the list of all.

use std::path::{Path, PathBuf};

use serde::Serialize;
use sha2::{Digest as _, Sha256};

use super::files::Files;
use super::work::Plan;
use super::{Error, Replace, Report, Source, Wanted, Warning, Written};
use crate::basket::{Basket, Carried, KeptChart, KeptFile, Missing, Piece, PieceId};
use crate::chart::{CellMap, Chart};
use crate::ground::day::When;
use crate::ground::progress::Progress;
use crate::ground::store::whole_name;
use crate::ground::units::GridSize;

/// Whether a chart that is in the workbasket already is kept once more.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum KeepAs {
    /// Its piece takes what is new in it.
    #[default]
    Same,
    /// The same, of a chart that was made just now: a piece that is called as it is, and whose chart is the same but for its
    /// title, is its piece too. So is one that was renamed after it was made.
    JustMade,
    /// It becomes another piece.
    Another,
    /// This piece takes it, whatever chart it was made from.
    Into(PieceId),
}

/// A chart that is to be kept.
#[derive(Debug, Clone)]
pub struct KeepRequest {
    /// The chart.
    pub chart: Source,
    /// The photo that it was made of.
    pub photo: Option<Source>,
    /// The folder of the workbasket.
    pub basket: PathBuf,
    /// Whether it is kept once more.
    pub keep_as: KeepAs,
    /// The moment.
    pub when: When,
    /// Whether stitches may have to be taken out again, and changes made in the workbasket go.
    pub replace: Replace,
}

/// What keeping came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Came {
    /// There is a piece more.
    New,
    /// A piece has got another chart.
    Changed,
    /// It was there already as it is.
    Already,
}

/// A chart that is kept.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeepReport {
    /// The id of its piece.
    pub piece: PieceId,
    /// What it is called.
    pub name: String,
    /// What keeping came to.
    pub came: Came,
    /// Columns and rows.
    pub size: GridSize,
    /// Crosses to work.
    pub stitches: u64,
    /// What became of stitches that were done.
    pub carried: Carried,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for KeepReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Keeps a chart in the workbasket: a copy of it, with its steps.
///
/// # Errors
/// [`Error`]; then the workbasket is as it was.
pub fn keep(request: &KeepRequest, progress: &dyn Progress) -> Result<KeepReport, Error> {
    let mut files = Files::new(request.replace, progress);
    let bytes = files.bytes(&request.chart, Wanted::Chart)?;
    let chart = files.opened(&request.chart, &bytes)?;
    let photo = request
        .photo
        .as_ref()
        .map(|photo| photo_of(&mut files, &chart, &request.chart, photo))
        .transpose()?;
    let file = file_of(&request.chart, &bytes);
    let mut basket = Basket::open(&request.basket, Missing::Make)?;
    let there = match &request.keep_as {
        KeepAs::Same | KeepAs::JustMade => basket.pieces_of_chart(chart.stamp().id)?.into_iter().next(),
        KeepAs::Another => None,
        KeepAs::Into(id) => Some(basket.piece(id)?),
    };
    let namesake = match (&there, &request.keep_as) {
        (None, KeepAs::JustMade) => namesake(&basket, &chart)?,
        _ => None,
    };
    let is_namesake = namesake.is_some();
    let there = there.or(namesake);
    super::backup::before_change(&mut basket, request.when, &mut files.warnings);
    let stamp = chart.stamp();
    let (came, kept) = match &there {
        Some(piece) if is_namesake || piece.chart == Some(stamp) => (Came::Already, None),
        Some(piece) => {
            if matches!(request.keep_as, KeepAs::Same | KeepAs::JustMade) {
                refuse_apart(piece, &chart, request)?;
            }
            let (_, work) = Plan::of(&chart, progress)?;
            let new = KeptChart { chart: &chart, document: &bytes, work: &work };
            let seen = Some(piece.revision);
            let unpicking = request.replace.into();
            (
                Came::Changed,
                Some(basket.change_chart(&piece.id, seen, (new, CellMap::STAY), unpicking, request.when)?),
            )
        }
        None => {
            let (_, work) = Plan::of(&chart, progress)?;
            let new = KeptChart { chart: &chart, document: &bytes, work: &work };
            (Came::New, Some(basket.keep(new, file.as_ref(), request.when)?))
        }
    };
    let id = match (&kept, there) {
        (Some(kept), _) => kept.id.clone(),
        (None, Some(piece)) => piece.id,
        (None, None) => unreachable!("a piece is new or is there"),
    };
    if let Some(file) = &file {
        basket.is_copy_of(&id, file)?;
    }
    if let Some((name, bytes)) = &photo {
        basket.keep_photo(name, bytes)?;
    }
    if came == Came::New {
        files.warnings.extend(same_name(&basket, &id)?);
    }
    let piece = basket.piece(&id)?;
    Ok(KeepReport {
        piece: id,
        name: piece.name,
        came,
        size: piece.size.unwrap_or(chart.size()),
        stitches: piece.stitches.unwrap_or_default(),
        carried: kept.map(|kept| kept.carried).unwrap_or_default(),
        warnings: files.warnings,
        files: Vec::new(),
    })
}

/// The piece that is called as a chart is, whatever its case, and has the same chart under the title that it was made with.
fn namesake(basket: &Basket, chart: &Chart) -> Result<Option<Piece>, Error> {
    let name = chart.title.to_lowercase();
    for piece in basket.pieces()?.into_iter().filter(|piece| piece.chart.is_some()) {
        if piece.name.to_lowercase() != name {
            continue;
        }
        // What cannot be opened is another chart.
        let opened = basket.chart(&piece.id).ok().and_then(|seen| Chart::open(&seen.document).ok());
        let is_same = opened.is_some_and(|mut opened| {
            opened.chart.title.clone_from(&chart.title);
            opened.chart.fingerprint() == chart.fingerprint()
        });
        if is_same {
            return Ok(Some(piece));
        }
    }
    Ok(None)
}

/// Says that another piece has the name of this one, whatever its case, and a name that none has: the same with a number.
pub(super) fn same_name(basket: &Basket, id: &PieceId) -> Result<Option<Warning>, Error> {
    let name = basket.piece(id)?.name;
    let others: Vec<String> =
        basket.pieces()?.into_iter().filter(|piece| piece.id != *id).map(plain).collect();
    let is_taken = |name: &str| others.contains(&name.to_lowercase());
    if !is_taken(&name) {
        return Ok(None);
    }
    // The next number of a name that has one already.
    let is_number = |(stem, number): &(&str, &str)| number.parse::<u32>().is_ok() && is_taken(stem);
    let numbered = name.rsplit_once(' ').filter(is_number);
    let stem: String = numbered.map_or(name.as_str(), |(stem, _)| stem).chars().take(MOST_STEM).collect();
    let free = (2..).map(|number: u32| format!("{stem} {number}")).find(|name| !is_taken(name));
    Ok(free.map(|free| Warning::SameName { piece: id.clone(), name, free }))
}

/// Characters of a name that leave room for a number.
const MOST_STEM: usize = crate::chart::MAX_TITLE - 11;

/// A name as names are compared.
fn plain(piece: Piece) -> String {
    piece.name.to_lowercase()
}

/// Refuses a chart that was changed apart from the piece that is there: what was done to that would be lost.
fn refuse_apart(piece: &Piece, chart: &Chart, request: &KeepRequest) -> Result<(), Error> {
    let Some(there) = piece.chart else { return Ok(()) };
    let led = chart.steps().done().chain(chart.steps().undone());
    let leads_here =
        led.into_iter().any(|step| step.before == there.fingerprint || step.after == there.fingerprint);
    if leads_here || request.replace == Replace::Anything {
        return Ok(());
    }
    Err(Error::PieceApart { piece: piece.name.clone(), chart: request.chart.to_string() })
}

/// The bytes of the photo, which must be the one that the chart was made of.
fn photo_of(
    files: &mut Files,
    chart: &Chart,
    source: &Source,
    photo: &Source,
) -> Result<(String, Vec<u8>), Error> {
    let bytes = files.bytes(photo, Wanted::Photo)?;
    let made = chart.made.as_ref().map(|made| made.photo_sha256.as_str());
    if made.is_some_and(|made| made != sha256(&bytes)) {
        return Err(Error::OtherPhoto { photo: photo.to_string(), name: source.to_string() });
    }
    Ok((photo.file_name(), bytes))
}

/// The SHA-256 of bytes, in hexadecimal.
fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The file of a chart, with its length, the moment it was written and its SHA-256: the first two tell in a moment that
/// it is the same.
fn file_of(source: &Source, bytes: &[u8]) -> Option<KeptFile> {
    let path = whole_name(source.path()?).ok()?;
    let stamp = format!("{} {}", seen_of(&path)?, sha256(bytes));
    Some(KeptFile { path, stamp })
}

fn seen_of(path: &Path) -> Option<String> {
    let found = std::fs::metadata(path).ok().filter(std::fs::Metadata::is_file)?;
    let since = found.modified().ok()?.duration_since(std::time::UNIX_EPOCH).ok()?;
    Some(format!("{} {}", found.len(), since.as_nanos()))
}

/// Says that the file that a piece is a copy of was changed since.
pub(super) fn file_changed(piece: &Piece) -> Option<Warning> {
    let KeptFile { path, stamp } = piece.file.as_ref()?;
    let (seen, sha) = stamp.rsplit_once(' ')?;
    // One that is gone is no matter: the piece has its own.
    if seen_of(path)? == seen || sha256(&std::fs::read(path).ok()?) == sha {
        return None;
    }
    Some(Warning::FileChanged { piece: piece.name.clone(), file: path.display().to_string() })
}

/// What the pieces of a workbasket are asked for.
#[derive(Debug, Clone)]
pub struct PiecesRequest {
    /// The folder of the workbasket.
    pub basket: PathBuf,
}

/// A piece in the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceFigures {
    /// The piece.
    #[serde(flatten)]
    pub piece: Piece,
    /// Hundredths of its stitches that are done; nothing where it is not known how many there are.
    pub percent: Option<f64>,
}

impl PieceFigures {
    pub(super) fn of(piece: Piece) -> Self {
        Self { percent: percent(piece.done, piece.stitches), piece }
    }
}

/// All pieces.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PiecesReport {
    /// The one that something was done to last first.
    pub pieces: Vec<PieceFigures>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for PiecesReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Lists the pieces.
///
/// # Errors
/// [`Error`] where there is no workbasket, or it cannot be read.
pub fn pieces(request: &PiecesRequest, _: &dyn Progress) -> Result<PiecesReport, Error> {
    let basket = Basket::open(&request.basket, Missing::Refuse)?;
    let pieces = basket.pieces()?;
    let warnings = pieces.iter().filter_map(file_changed).collect();
    Ok(PiecesReport {
        pieces: pieces.into_iter().map(PieceFigures::of).collect(),
        warnings,
        files: Vec::new(),
    })
}

/// Hundredths, to one place, of which 100 are only all and 0 only none.
pub(super) fn percent(done: u64, of: Option<u64>) -> Option<f64> {
    let of = of.filter(|&of| of > 0)?;
    let share = (done as f64 / of as f64 * 1000.0).round() / 10.0;
    Some(match done {
        0 => 0.0,
        done if done >= of => 100.0,
        _ => share.clamp(0.1, 99.9),
    })
}
