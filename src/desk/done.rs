//! Stitches said to be done, or not.

use serde::Serialize;

use super::pieces::{file_changed, percent};
use super::work::{BARE, Plan};
use super::{Error, InBasket, Note, Report, Warning, Written};
use crate::basket::{Basket, Cells, DeviceId, Missing, PieceId, Tick, TickResult, Ticked, Way};
use crate::ground::progress::Progress;

/// Which stitches. Columns, rows and pages are those of the rulers, from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stitches {
    /// Those of a rectangle: column, row, width, height.
    Rectangle([u32; 4]),
    /// Those of a row.
    Row(u32),
    /// All in a thread, by its code; in a blend, by the codes joined with `+`.
    Thread(String),
    /// Those that a page of the last printing shows as its own.
    Page(u32),
    /// All of a mark, by its name: its line and its crosses.
    Line(String),
}

/// Stitches that are ticked.
#[derive(Debug, Clone)]
pub struct DoneRequest {
    /// The piece.
    pub piece: InBasket,
    /// Which.
    pub stitches: Stitches,
    /// Whether they are done.
    pub way: Way,
}

/// What ticking came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DoneReport {
    /// The piece.
    pub piece: PieceId,
    /// What it is called.
    pub name: String,
    /// So many stitches were meant.
    pub meant: u64,
    /// So many more are done than before.
    pub more: u64,
    /// So many fewer.
    pub fewer: u64,
    /// Crosses to work in all.
    pub stitches: u64,
    /// How many of them are done now.
    pub done: u64,
    /// The same in hundredths.
    pub percent: Option<f64>,
    /// Marks that were ticked with them, by name.
    pub marks: Vec<String>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What is worth knowing.
    #[serde(skip)]
    pub notes: Vec<Note>,
    /// What was written: nothing.
    pub files: Vec<Written>,
}

impl Report for DoneReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn notes(&self) -> &[Note] {
        &self.notes
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Ticks stitches. When it returns, that is on the disk.
///
/// # Errors
/// [`Error`]; then nothing is ticked.
pub fn done(request: &DoneRequest, _: &dyn Progress) -> Result<DoneReport, Error> {
    let mut basket = Basket::open(&request.piece.folder, Missing::Refuse)?;
    let id = basket.find(&request.piece.piece)?;
    let before = basket.piece(&id)?;
    let (plan, form) = {
        let seen = basket.work(&id)?;
        (Plan::from_bytes(&seen.figures).ok_or_else(damaged)?, seen.form)
    };
    let mut warnings: Vec<Warning> = file_changed(&before).into_iter().collect();
    let chosen = Chosen::of(&plan, &request.stitches, || {
        let printing = basket.last_printing(&id)?;
        let printing = printing.ok_or_else(|| Error::NotPrinted { piece: before.name.clone() })?;
        if before.chart.is_some_and(|stamp| stamp.fingerprint != printing.stamp.fingerprint) {
            warnings.push(Warning::PrintedBefore {
                piece: before.name.clone(),
                revision: printing.stamp.revision,
            });
        }
        Ok(printing.pages)
    })?;
    let tick = |what| Tick {
        device: DeviceId::commands(),
        counter: None,
        form: Some(form),
        when: request.piece.when,
        what,
        way: request.way,
    };
    let mut ticks = Vec::new();
    if !chosen.cells.is_empty() {
        ticks.push(tick(Ticked::Cells(chosen.cells.clone())));
    }
    ticks.extend(chosen.marks.iter().map(|&place| tick(Ticked::Mark(plan.marks[place].id))));
    super::backup::before_change(&mut basket, request.piece.when, &mut warnings);
    let TickResult { done: more, undone: fewer, .. } = basket.tick(&id, &ticks)?;
    let after = basket.piece(&id)?;
    let notes = (chosen.of_marks > 0)
        .then(|| Note::OfMarks { stitches: chosen.of_marks, marks: chosen.left_out.clone() });
    Ok(DoneReport {
        meant: chosen.meant,
        more,
        fewer,
        stitches: after.stitches.unwrap_or_default(),
        done: after.done,
        percent: percent(after.done, after.stitches),
        marks: chosen.marks.iter().map(|&place| plan.marks[place].name.clone()).collect(),
        piece: id,
        name: after.name,
        warnings,
        notes: notes.into_iter().collect(),
        files: Vec::new(),
    })
}

pub(super) fn damaged() -> Error {
    let what = "what is to be worked of a piece cannot be read".to_owned();
    crate::basket::BasketError::Damaged { what }.into()
}

/// What is ticked.
#[derive(Debug, Default)]
struct Chosen {
    /// Base cells.
    cells: Cells,
    /// Places of marks.
    marks: Vec<usize>,
    /// Stitches meant: crosses, and backstitches of a line.
    meant: u64,
    /// Crosses of marks of which more lie elsewhere, and those marks.
    of_marks: u64,
    left_out: Vec<String>,
}

impl Chosen {
    fn of(
        plan: &Plan,
        stitches: &Stitches,
        pages: impl FnOnce() -> Result<Vec<Option<[u32; 4]>>, Error>,
    ) -> Result<Self, Error> {
        let size = plan.size;
        let beyond = |what: String| Error::BeyondChart { what, size };
        let [left, top, right, bottom] = match stitches {
            Stitches::Line(name) => return Self::of_mark(plan, name),
            Stitches::Thread(code) => return Self::of_thread(plan, code),
            &Stitches::Row(row) if (1..=size.rows()).contains(&row) => [0, row - 1, size.columns(), row],
            Stitches::Row(row) => return Err(beyond(format!("row {row}"))),
            &Stitches::Rectangle([column, row, width, height]) => {
                let end = |from: u32, length: u32, most: u32| {
                    from.checked_add(length)
                        .map(|end| end - 1)
                        .filter(|&end| from > 0 && length > 0 && end <= most)
                };
                let ends = end(column, width, size.columns()).zip(end(row, height, size.rows()));
                let (right, bottom) =
                    ends.ok_or_else(|| beyond(format!("{column},{row},{width},{height}")))?;
                [column - 1, row - 1, right, bottom]
            }
            &Stitches::Page(page) => {
                let pages = pages()?;
                let count = pages.len() as u32;
                let shown =
                    pages.get((page as usize).wrapping_sub(1)).ok_or(Error::NoSuchPage { page, count })?;
                let [left, top, right, bottom] = shown.ok_or(Error::NoCellsOnPage { page })?;
                [left, top, right.min(size.columns()), bottom.min(size.rows())]
            }
        };
        let rows =
            (top..bottom).flat_map(|row| (left..right).map(move |column| row * size.columns() + column));
        Ok(Self::of_cells(plan, rows))
    }

    fn of_mark(plan: &Plan, name: &str) -> Result<Self, Error> {
        let same = |mark: &super::work::PlanMark| mark.name == name;
        let place = plan.marks.iter().position(same).ok_or_else(|| Error::NoSuchMark {
            name: name.to_owned(),
            names: plan.marks.iter().map(|mark| mark.name.clone()).collect(),
        })?;
        let mark = &plan.marks[place];
        Ok(Self { marks: vec![place], meant: mark.crosses + mark.backstitches, ..Self::default() })
    }

    fn of_thread(plan: &Plan, code: &str) -> Result<Self, Error> {
        let plain = |code: &str| crate::thread::code::key(code);
        let asked: Vec<String> = code.split('+').map(plain).collect();
        let codes =
            |at: usize| plan.needles[at].threads.iter().map(|thread| plain(&thread.code)).collect::<Vec<_>>();
        let all = 0..plan.needles.len();
        let mut needles: Vec<usize> = all.clone().filter(|&at| codes(at) == asked).collect();
        if needles.is_empty() && asked.len() == 1 {
            needles = all.filter(|&at| codes(at).contains(&asked[0])).collect();
        }
        if needles.is_empty() {
            return Err(Error::NoSuchThreadInChart { code: code.to_owned() });
        }
        let is = |&(_, &cell): &(usize, &u8)| cell != BARE && needles.contains(&usize::from(cell));
        Ok(Self::of_cells(plan, plan.cells.iter().enumerate().filter(is).map(|(cell, _)| cell as u32)))
    }

    /// Worked cells: those of the base, and marks all of whose crosses are among them.
    fn of_cells(plan: &Plan, cells: impl Iterator<Item = u32>) -> Self {
        let mut chosen = Self::default();
        let mut base = Vec::new();
        let mut crosses = vec![0u64; plan.marks.len()];
        for cell in cells.filter(|&cell| plan.cells[cell as usize] != BARE) {
            chosen.meant += 1;
            match plan.owners.get(&cell) {
                Some(&place) => crosses[usize::from(place)] += 1,
                None => base.extend(plan.base_cell(cell as usize)),
            }
        }
        for (place, (mark, crosses)) in plan.marks.iter().zip(crosses).enumerate() {
            if crosses == 0 {
            } else if crosses == mark.crosses {
                chosen.marks.push(place);
            } else {
                chosen.of_marks += crosses;
                chosen.left_out.push(mark.name.clone());
            }
        }
        chosen.cells = base.into_iter().collect();
        chosen
    }
}
