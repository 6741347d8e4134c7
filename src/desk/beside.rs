//! What a page beside the stitcher asks of the workbasket: what is done cell by cell, ticks as devices make them, small
//! pictures, and what others changed.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::done::damaged;
use super::left::Counted;
use super::pieces::PieceFigures;
use super::work::Plan;
use super::{Error, InBasket};
use crate::basket::{Basket, BasketError, Cells, DeviceId, Missing, Tick, TickResult, Ticked, Way};
use crate::chart::MarkId;
use crate::ground::day::{Day, When};
use crate::ground::units::GridSize;

/// A tick as a device sends it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SentTick {
    /// What the device calls itself: 1 to 40 letters, figures and hyphens, drawn at random; each window is a device.
    pub device: DeviceId,
    /// More than any counter that the device has used and any that it was told. Device and counter are what the tick is
    /// known by: sent again, it changes nothing.
    pub counter: u64,
    /// The form that was seen ([`DoneCells::form`]).
    pub form: i64,
    /// When it was made: seconds after the beginning of 1970, and the day where the person is.
    pub seconds: i64,
    /// The day.
    pub day: Day,
    /// Base cells, row by row from the top left: runs of the first and one past the last. Bare ones are left out.
    #[serde(default)]
    pub cells: Vec<[u32; 2]>,
    /// A mark instead, by its id.
    #[serde(default)]
    pub mark: Option<MarkId>,
    /// Whether they are done.
    pub way: Way,
}

impl From<&SentTick> for Tick {
    fn from(sent: &SentTick) -> Self {
        let cells = || Ticked::Cells(Cells::of_runs(sent.cells.iter().copied()));
        Self {
            device: sent.device.clone(),
            counter: Some(sent.counter),
            form: Some(sent.form),
            when: When { seconds: sent.seconds, day: sent.day },
            what: sent.mark.map_or_else(cells, Ticked::Mark),
            way: sent.way,
        }
    }
}

/// Keeps ticks that devices sent, all or none: when it returns they are on the disk. The counter of the result is what the
/// device goes on from.
///
/// # Errors
/// [`Error`].
pub fn ticks(piece: &InBasket, sent: &[SentTick]) -> Result<TickResult, Error> {
    let mut basket = Basket::open(&piece.folder, Missing::Refuse)?;
    let id = basket.find(&piece.piece)?;
    let mut told = Vec::new();
    super::backup::before_change(&mut basket, piece.when, &mut told);
    let ticks: Vec<Tick> = sent.iter().map(Tick::from).collect();
    Ok(basket.tick(&id, &ticks)?)
}

/// What is done of a piece, cell by cell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DoneCells {
    /// The revision of the piece: who changes its chart says which they saw.
    pub revision: u64,
    /// The form of the base cells: a tick says which was seen.
    pub form: i64,
    /// The counter that a device goes on from.
    pub counter: u64,
    /// Columns and rows as worked.
    pub size: GridSize,
    /// The column and row of these, from 0, on which the base begins, whose cells ticks name.
    pub base_at: [u32; 2],
    /// Columns and rows of the base.
    pub base: GridSize,
    /// Runs of worked cells that are done: the first and one past the last.
    pub done: Vec<[u32; 2]>,
    /// Runs of base cells where something must be taken out.
    pub unpick: Vec<[u32; 2]>,
    /// The ids of marks that are done.
    pub marks: Vec<String>,
}

/// Tells what is done of a piece, cell by cell.
///
/// # Errors
/// [`Error`].
pub fn done_cells(piece: &InBasket) -> Result<DoneCells, Error> {
    let basket = Basket::open(&piece.folder, Missing::Refuse)?;
    let id = basket.find(&piece.piece)?;
    let (counter, revision) = (basket.counter()?, basket.piece(&id)?.revision);
    let of = basket.done_of(&id)?;
    let plan = Plan::from_bytes(&of.figures).ok_or_else(damaged)?;
    let done = Counted::of(&plan, &of).cells;
    let done: Cells = done.into_iter().enumerate().filter(|(_, done)| *done).map(|(cell, _)| cell).collect();
    Ok(DoneCells {
        revision,
        form: of.form,
        counter,
        size: plan.size,
        base_at: plan.base_at,
        base: plan.base,
        done: done.runs().to_vec(),
        unpick: of.unpick.runs().to_vec(),
        marks: of.marks,
    })
}

/// A small picture of a piece as PNG: the finished piece, or the picture that was kept of one without a chart.
///
/// # Errors
/// [`Error`].
pub fn piece_picture(piece: &InBasket) -> Result<Vec<u8>, Error> {
    let basket = Basket::open(&piece.folder, Missing::Refuse)?;
    let id = basket.find(&piece.piece)?;
    match basket.piece(&id)?.picture {
        Some(sha256) => Ok(basket.photo(&sha256)?.unwrap_or_default()),
        None => Ok(basket.picture(&id)?),
    }
}

/// A page of the last printing that shows part of the chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct PrintedPage {
    /// Its number in the printing, from 1.
    pub number: usize,
    /// Its own columns: the first, from 0, and one past the last.
    pub columns: [u32; 2],
    /// Its own rows, likewise.
    pub rows: [u32; 2],
}

/// What a piece is called.
///
/// # Errors
/// [`Error`].
pub fn piece_name(piece: &InBasket) -> Result<String, Error> {
    let basket = Basket::open(&piece.folder, Missing::Refuse)?;
    Ok(basket.piece(&basket.find(&piece.piece)?)?.name)
}

/// The pages of the last printing of a piece; none where nothing was printed, or another chart was.
///
/// # Errors
/// [`Error`].
pub fn printed_pages(piece: &InBasket) -> Result<Vec<PrintedPage>, Error> {
    let basket = Basket::open(&piece.folder, Missing::Refuse)?;
    let id = basket.find(&piece.piece)?;
    let chart = basket.piece(&id)?.chart;
    let Some(printing) = basket.last_printing(&id)?.filter(|printing| Some(printing.stamp) == chart) else {
        return Ok(Vec::new());
    };
    let pages = printing.pages.into_iter().enumerate();
    let shown = pages.filter_map(|(place, cells)| {
        let [left, top, right, bottom] = cells?;
        Some(PrintedPage { number: place + 1, columns: [left, right], rows: [top, bottom] })
    });
    Ok(shown.collect())
}

/// A number that rises with all that is kept in a workbasket; 0 where there is none yet. Who saw it sees by it that there is
/// something new.
///
/// # Errors
/// [`Error`].
pub fn changes(folder: &Path) -> Result<u64, Error> {
    match Basket::open(folder, Missing::Refuse) {
        Ok(basket) => Ok(basket.changes()?),
        Err(BasketError::None { .. }) => Ok(0),
        Err(error) => Err(error.into()),
    }
}

/// Watches a workbasket for what other processes change: commands beside an open page.
#[derive(Debug)]
pub struct Watch {
    basket: Basket,
    folder: PathBuf,
    version: i64,
    changes: u64,
}

impl Watch {
    /// Begins to watch.
    ///
    /// # Errors
    /// [`Error`].
    pub fn begin(folder: &Path) -> Result<Self, Error> {
        let basket = Basket::open(folder, Missing::Make)?;
        let (version, changes) = (basket.version_of_others()?, basket.changes()?);
        Ok(Self { basket, folder: folder.to_owned(), version, changes })
    }

    /// The folder that is watched.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The pieces that were changed or ticked since this was last asked, the newest last. Where nothing was, asking costs
    /// some microseconds: ask several times a second.
    ///
    /// # Errors
    /// [`Error`].
    pub fn changed(&mut self) -> Result<Vec<PieceFigures>, Error> {
        let version = self.basket.version_of_others()?;
        if version == self.version {
            return Ok(Vec::new());
        }
        let pieces = self.basket.changed_since(self.changes)?;
        (self.version, self.changes) = (version, self.basket.changes()?);
        Ok(pieces.into_iter().map(PieceFigures::of).collect())
    }
}
