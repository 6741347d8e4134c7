//! Pieces as they come and go: begun, put down, taken up; pieces without a chart; shade cards and the box of threads.

use std::path::PathBuf;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive as _;
use serde::Serialize;

use super::files::Files;
use super::pieces::same_name;
use super::{Error, Replace, Report, Source, Wanted, Warning, Written};
use crate::basket::{Bag, Basket, InBox, Missing, PieceId, Turn};
use crate::ground::day::When;
use crate::ground::progress::Progress;
use crate::ground::units::{FabricCount, GridSize};
use crate::planning::owned::{OwnedError, read_owned};
use crate::planning::shopping::Drawer;
use crate::thread::shades::decimal;

/// A piece whose chart is elsewhere, such as a bought kit in its bag.
#[derive(Debug, Clone, Default)]
pub struct BagRequest {
    /// What it is called.
    pub name: String,
    /// Columns and rows.
    pub size: Option<GridSize>,
    /// The count of its cloth.
    pub count: Option<FabricCount>,
    /// Threads.
    pub threads: Option<u32>,
    /// Crosses to work.
    pub stitches: Option<u64>,
    /// A picture of it.
    pub picture: Option<Source>,
}

/// What is to become of pieces.
#[derive(Debug, Clone)]
pub enum PieceChange {
    /// One is added.
    Add(BagRequest),
    /// Something happens to one as a whole.
    Turn(String, Turn),
    /// One is called something else.
    Rename(String, String),
}

/// A change of a piece.
#[derive(Debug, Clone)]
pub struct PieceRequest {
    /// The folder of the workbasket.
    pub basket: PathBuf,
    /// What is to be done.
    pub change: PieceChange,
    /// The moment.
    pub when: When,
}

/// A piece that was changed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceReport {
    /// Its id.
    pub piece: PieceId,
    /// What it is called.
    pub name: String,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for PieceReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Changes a piece as a whole, or adds one without a chart.
///
/// # Errors
/// [`Error`]; then the workbasket is as it was.
pub fn change_piece(request: &PieceRequest, progress: &dyn Progress) -> Result<PieceReport, Error> {
    let mut files = Files::new(Replace::Ours, progress);
    let missing = if matches!(request.change, PieceChange::Add(_)) { Missing::Make } else { Missing::Refuse };
    let mut basket = Basket::open(&request.basket, missing)?;
    let id = match &request.change {
        PieceChange::Add(bag) => {
            let picture = bag
                .picture
                .as_ref()
                .map(|source| Ok::<_, Error>((source.file_name(), files.bytes(source, Wanted::Photo)?)));
            let bag = Bag {
                name: bag.name.clone(),
                size: bag.size,
                count: bag.count.map(|count| count.to_string()),
                threads: bag.threads,
                stitches: bag.stitches,
                picture: picture.transpose()?,
            };
            basket.keep_bag(&bag, request.when)?
        }
        PieceChange::Turn(piece, turn) => {
            let id = basket.find(piece)?;
            basket.turn(&id, *turn, request.when.day)?;
            id
        }
        PieceChange::Rename(piece, name) => {
            let id = basket.find(piece)?;
            basket.rename(&id, None, name)?;
            id
        }
    };
    if !matches!(request.change, PieceChange::Turn(..)) {
        files.warnings.extend(same_name(&basket, &id)?);
    }
    let name = basket.piece(&id)?.name;
    Ok(PieceReport { piece: id, name, warnings: files.warnings, files: Vec::new() })
}

/// A shade card and what is owned of its threads, to be kept.
#[derive(Debug, Clone)]
pub struct BoxRequest {
    /// The folder of the workbasket.
    pub basket: PathBuf,
    /// A card: it is kept, and what it says is owned lies in the box.
    pub card: Option<Source>,
    /// A table with the columns `code` and `owned`, and if need be `opened` and `left`.
    pub owned: Option<Source>,
}

/// The box of threads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoxReport {
    /// What lies in it.
    pub threads: Vec<InBox>,
    /// The names of shade cards.
    pub cards: Vec<String>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for BoxReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Keeps a shade card and what lies in the box of threads.
///
/// # Errors
/// [`Error`]; then the workbasket is as it was.
pub fn keep_box(request: &BoxRequest, progress: &dyn Progress) -> Result<BoxReport, Error> {
    let mut files = Files::new(Replace::Ours, progress);
    let mut threads = Vec::new();
    let mut card_text = None;
    if let Some(source) = &request.card {
        let bytes = files.bytes(source, Wanted::Card)?;
        let card = files.card(source)?;
        let of = |owned: Decimal, code: &str| InBox {
            code: code.to_owned(),
            owned,
            opened: 0,
            left: Decimal::ZERO,
        };
        threads.extend(card.shades().iter().filter_map(|shade| Some(of(shade.owned?, &shade.code))));
        card_text = Some((source.stem(), bytes));
    }
    if let Some(source) = &request.owned {
        let bytes = files.bytes(source, Wanted::Owned)?;
        let fail = |error| Error::Owned { name: source.to_string(), source: error };
        // Held to the same rules as where a kit is reckoned.
        read_owned(&bytes, &mut Drawer::new()).map_err(fail)?;
        threads.extend(rows(&bytes).map_err(fail)?);
    }
    let mut basket = Basket::open(&request.basket, Missing::Make)?;
    if let Some((name, text)) = card_text {
        basket.keep_card(&name, &text)?;
    }
    if !threads.is_empty() {
        basket.keep_in_box(&threads)?;
    }
    let (threads, cards) = (basket.in_box()?, basket.cards()?);
    Ok(BoxReport { threads, cards, warnings: files.warnings, files: Vec::new() })
}

/// The rows of a table of what is owned, with what is begun and what is left of that.
fn rows(bytes: &[u8]) -> Result<Vec<InBox>, OwnedError> {
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let first = text.split(|&byte| byte == b'\n').next().unwrap_or_default();
    let delimiter = [b';', b'\t'].into_iter().find(|mark| first.contains(mark)).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).flexible(true).from_reader(text);
    let heads = reader.headers().map_err(|source| OwnedError::Row { row: 1, source })?.clone();
    let place = |name: &str| heads.iter().position(|head| head.trim().eq_ignore_ascii_case(name));
    let (Some(code), Some(owned)) = (place("code"), place("owned")) else { return Err(OwnedError::Columns) };
    let mut rows = Vec::new();
    for (index, record) in reader.records().enumerate() {
        let row = index as u64 + 2;
        let record = record.map_err(|source| OwnedError::Row { row, source })?;
        let number =
            |at: Option<usize>| match at.and_then(|at| record.get(at)).map(str::trim).unwrap_or_default() {
                "" => Ok(None),
                text => match decimal(text).filter(|number| !number.is_sign_negative()) {
                    Some(number) => Ok(Some(number)),
                    None => Err(OwnedError::Number { row, text: text.to_owned() }),
                },
            };
        let code = record.get(code).unwrap_or_default().trim().to_owned();
        let Some(owned) = number(Some(owned))?.filter(|_| !code.is_empty()) else { continue };
        let opened = number(place("opened"))?.and_then(|number| number.round().to_u32()).unwrap_or_default();
        rows.push(InBox { code, owned, opened, left: number(place("left"))?.unwrap_or_default() });
    }
    Ok(rows)
}
