//! What is done of a piece, and what is left: where was I?

use std::collections::BTreeMap;

use image::{ImageBuffer, LumaA};
use serde::Serialize;

use super::done::damaged;
use super::files::{Files, Output};
use super::pieces::{file_changed, percent};
use super::report::places2;
use super::work::{BARE, Plan};
use super::{Error, InBasket, Replace, Report, Target, Warning, What, Written};
use crate::basket::{Basket, DoneOf, Missing, Pace, PieceId, Worked};
use crate::ground::day::Day;
use crate::ground::progress::Progress;
use crate::ground::units::GridSize;
use crate::planning::shopping::{NEEDLEFUL_HOURS, PACE_SPREAD};
use crate::printing::picture;

/// Crosses that are worked in an hour, where the diary does not tell (common practice, no source).
pub const USUAL_PACE: f64 = 100.0;

/// A piece of which is asked what is left.
#[derive(Debug, Clone)]
pub struct LeftRequest {
    /// The piece.
    pub piece: InBasket,
    /// Where a picture goes, one pixel a cell: white where done, black where not, clear where bare.
    pub picture: Option<Target>,
    /// What may be written over.
    pub replace: Replace,
}

/// A thread of a piece. A stitch in a blend counts for each of its threads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftThread {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Crosses.
    pub stitches: u64,
    /// How many of them are done.
    pub done: u64,
    /// How many are left.
    pub left: u64,
    /// Backstitches that are left.
    pub backstitches_left: u64,
    /// Metres of single strand that what is left takes, waste included.
    #[serde(serialize_with = "places2")]
    pub metres_left: f64,
}

/// A mark of a piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftMark {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: String,
    /// Crosses.
    pub crosses: u64,
    /// Backstitches.
    pub backstitches: u64,
    /// Whether it is done.
    pub done: bool,
}

/// Stitches that were worked in another thread than the chart has now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WorkedOtherwise {
    /// The codes of what they were worked in.
    pub worked: String,
    /// Its names.
    pub worked_name: String,
    /// The codes of what the chart says now.
    pub now: String,
    /// How many.
    pub stitches: u64,
}

/// What was ticked last.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LastTick {
    /// The day.
    pub day: Day,
    /// Columns of the rulers, from 1: the first and the last.
    pub columns: [u32; 2],
    /// Rows of the rulers, from 1: the first and the last.
    pub rows: [u32; 2],
    /// The codes of the thread, where it was one.
    pub thread: Option<String>,
}

/// What is done of a piece, and what is left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftReport {
    /// The piece.
    pub piece: PieceId,
    /// What it is called.
    pub name: String,
    /// Columns and rows as worked.
    pub size: GridSize,
    /// Crosses to work in all.
    pub stitches: u64,
    /// How many of them are done.
    pub done: u64,
    /// How many are left.
    pub left: u64,
    /// What is done in hundredths.
    pub percent: Option<f64>,
    /// Backstitches in all.
    pub backstitches: u64,
    /// How many of them are done.
    pub backstitches_done: u64,
    /// Stitches that must be taken out again.
    pub unpick: u64,
    /// Threads in the order of the key.
    pub threads: Vec<LeftThread>,
    /// Marks, the lowest first.
    pub marks: Vec<LeftMark>,
    /// What was worked in other threads than the chart has now.
    pub otherwise: Vec<WorkedOtherwise>,
    /// Metres of single strand that what is left takes.
    #[serde(serialize_with = "places2")]
    pub metres_left: f64,
    /// Hours that it takes, at the least and at the most.
    #[serde(serialize_with = "places2")]
    pub hours_left: [f64; 2],
    /// Crosses an hour that these are reckoned with.
    #[serde(serialize_with = "places2")]
    pub stitches_an_hour: f64,
    /// Whether that is from the diary.
    pub pace_of_diary: bool,
    /// On how many days something was done.
    pub days: u64,
    /// When something was last done.
    pub last_day: Option<Day>,
    /// What was ticked last.
    pub last: Option<LastTick>,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for LeftReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Counts what is done of a piece and what is left.
///
/// # Errors
/// [`Error`].
pub fn left(request: &LeftRequest, progress: &dyn Progress) -> Result<LeftReport, Error> {
    let mut files = Files::new(request.replace, progress);
    let basket = Basket::open(&request.piece.folder, Missing::Refuse)?;
    let id = basket.find(&request.piece.piece)?;
    let piece = basket.piece(&id)?;
    files.warnings.extend(file_changed(&piece));
    if let Some(target) = &request.picture {
        files.may_write(What::Done, target)?;
    }
    let of = basket.done_of(&id)?;
    let plan = Plan::from_bytes(&of.figures).ok_or_else(damaged)?;
    if of.size != plan.base {
        return Err(damaged());
    }
    let counted = Counted::of(&plan, &of);
    let pace = basket.pace(&id)?;
    let (threads, metres_left) = threads(&plan, &counted);
    let (hours_left, stitches_an_hour) = hours(&plan, &counted, pace);
    let mut outputs = Vec::new();
    if let Some(target) = &request.picture {
        let bytes = picture::png(counted.picture(&plan), progress)?;
        let name = format!("{}.done.png", piece.name);
        outputs.push(Output { what: What::Done, target: target.clone(), name, bytes });
    }
    files.stamps.extend(piece.chart);
    let written = files.write(outputs)?;
    let marks = plan.marks.iter().zip(&counted.marks).map(|(mark, &done)| LeftMark {
        name: mark.name.clone(),
        kind: mark.kind.clone(),
        crosses: mark.crosses,
        backstitches: mark.backstitches,
        done,
    });
    let lines = |only_done: bool| {
        let marks = plan.marks.iter().zip(&counted.marks).filter(|(_, done)| **done || !only_done);
        marks.map(|(mark, _)| mark.backstitches).sum()
    };
    let stitches = counted.all.iter().sum();
    let done = counted.done.iter().sum();
    Ok(LeftReport {
        size: plan.size,
        stitches,
        done,
        left: stitches - done,
        percent: percent(done, Some(stitches)),
        backstitches: lines(false),
        backstitches_done: lines(true),
        unpick: of.unpick.count(),
        threads,
        marks: marks.collect(),
        otherwise: counted.otherwise(&plan, &of),
        metres_left,
        hours_left,
        stitches_an_hour,
        pace_of_diary: pace.is_some(),
        days: basket.days_of(&id)?,
        last_day: piece.last_day,
        last: last(&plan, &of),
        piece: id,
        name: piece.name,
        warnings: files.warnings,
        files: written,
    })
}

/// Stitches by the needles of the plan.
struct Counted {
    all: Vec<u64>,
    done: Vec<u64>,
    /// Whether each mark is done.
    marks: Vec<bool>,
    /// Of each worked cell whether it is done.
    cells: Vec<bool>,
    /// How often a needle of the plan was worked in another, by the place of that.
    otherwise: BTreeMap<(u16, u8), u64>,
}

impl Counted {
    fn of(plan: &Plan, of: &DoneOf) -> Self {
        let marks: Vec<bool> =
            plan.marks.iter().map(|mark| of.marks.contains(&mark.id.to_string())).collect();
        let mut counted = Self {
            all: vec![0; plan.needles.len()],
            done: vec![0; plan.needles.len()],
            cells: vec![false; plan.cells.len()],
            marks,
            otherwise: BTreeMap::new(),
        };
        // Whether what was worked is what the needle has.
        let mut is_same = BTreeMap::new();
        let mut owners = plan.owners.iter().peekable();
        for row in 0..plan.size.height() {
            let base_row = row.checked_sub(plan.base_at[1] as usize).filter(|&row| row < plan.base.height());
            for column in 0..plan.size.width() {
                let at = row * plan.size.width() + column;
                let owner = owners.next_if(|&(&cell, _)| cell as usize == at).map(|(_, &place)| place);
                let needle = plan.cells[at];
                if needle == BARE {
                    continue;
                }
                counted.all[usize::from(needle)] += 1;
                let base_column =
                    column.checked_sub(plan.base_at[0] as usize).filter(|&x| x < plan.base.width());
                let worked = match (owner, base_row.zip(base_column)) {
                    (Some(mark), _) => {
                        counted.cells[at] = counted.marks[usize::from(mark)];
                        None
                    }
                    (None, Some((row, column))) => of.cells[row * plan.base.width() + column],
                    (None, None) => None,
                };
                if let Some(worked) = worked {
                    counted.cells[at] = true;
                    let same = is_same.entry((worked, needle)).or_insert_with(|| {
                        is_worked_in(plan, usize::from(needle), &of.needles[usize::from(worked)])
                    });
                    if !*same {
                        *counted.otherwise.entry((worked, needle)).or_default() += 1;
                    }
                }
                counted.done[usize::from(needle)] += u64::from(counted.cells[at]);
            }
        }
        counted
    }

    /// White where done, black where not, clear where bare.
    fn picture(&self, plan: &Plan) -> ImageBuffer<LumaA<u8>, Vec<u8>> {
        let width = plan.size.width();
        ImageBuffer::from_fn(plan.size.columns(), plan.size.rows(), |x, y| {
            let at = y as usize * width + x as usize;
            match (plan.cells[at], self.cells[at]) {
                (BARE, _) => LumaA([0, 0]),
                (_, true) => LumaA([255, 255]),
                (_, false) => LumaA([0, 255]),
            }
        })
    }

    fn otherwise(&self, plan: &Plan, of: &DoneOf) -> Vec<WorkedOtherwise> {
        let code = |needle: u8| {
            let threads = &plan.needles[usize::from(needle)].threads;
            threads.iter().map(|thread| thread.code.as_str()).collect::<Vec<_>>().join(" + ")
        };
        let told = |(&(worked, now), &stitches): (&(u16, u8), &u64)| {
            let worked = &of.needles[usize::from(worked)];
            WorkedOtherwise { worked: worked.code(), worked_name: worked.name(), now: code(now), stitches }
        };
        self.otherwise.iter().map(told).collect()
    }
}

/// Whether the threads are those of the needle, whatever an area asks for beside them.
fn is_worked_in(plan: &Plan, needle: usize, worked: &Worked) -> bool {
    let now = &plan.needles[needle].threads;
    worked.threads.iter().all(|thread| now.iter().any(|other| other.code == thread.code))
}

/// What is left of each thread, and of all of them in metres.
fn threads(plan: &Plan, counted: &Counted) -> (Vec<LeftThread>, f64) {
    let mut list: Vec<LeftThread> = Vec::new();
    let mut places = BTreeMap::new();
    let mut of = |code: &str, name: &str, list: &mut Vec<LeftThread>| {
        *places.entry(code.to_owned()).or_insert_with(|| {
            let (code, name) = (code.to_owned(), name.to_owned());
            list.push(LeftThread {
                code,
                name,
                stitches: 0,
                done: 0,
                left: 0,
                backstitches_left: 0,
                metres_left: 0.0,
            });
            list.len() - 1
        })
    };
    for ((needle, &all), &done) in plan.needles.iter().zip(&counted.all).zip(&counted.done) {
        let share = if all == 0 { 0.0 } else { (all - done) as f64 / all as f64 };
        for thread in &needle.threads {
            let place = of(&thread.code, &thread.name, &mut list);
            let entry = &mut list[place];
            entry.stitches += all;
            entry.done += done;
            entry.left += all - done;
            entry.metres_left += needle.metres * f64::from(thread.strands) * share;
        }
    }
    for line in &plan.lines {
        let marks = plan
            .marks
            .iter()
            .zip(&counted.marks)
            .filter(|(mark, done)| !**done && mark.codes.contains(&line.code));
        let left: u64 = marks.map(|(mark, _)| mark.backstitches).sum();
        let left = left.min(line.backstitches);
        let place = of(&line.code, &line.name, &mut list);
        list[place].backstitches_left += left;
        list[place].metres_left += line.metres * left as f64 / line.backstitches.max(1) as f64;
    }
    let metres = list.iter().map(|thread| thread.metres_left).sum();
    list.retain(|thread| thread.stitches > 0 || thread.backstitches_left > 0);
    (list, metres)
}

/// Hours that are left, and crosses an hour that they are reckoned with.
fn hours(plan: &Plan, counted: &Counted, pace: Option<Pace>) -> ([f64; 2], f64) {
    let weighed = |numbers: &[u64]| -> f64 {
        plan.needles.iter().zip(numbers).map(|(needle, &stitches)| needle.crosses * stitches as f64).sum()
    };
    let (all, done) = (weighed(&counted.all), weighed(&counted.done));
    let lines: u64 = plan
        .marks
        .iter()
        .zip(&counted.marks)
        .filter(|(_, done)| !**done)
        .map(|(mark, _)| mark.backstitches)
        .sum();
    // As `planning::shopping::forecast` weighs them.
    let crosses = all - done + 0.5 * lines as f64;
    let needlefuls = if all > 0.0 { plan.needlefuls as f64 * (all - done) / all } else { 0.0 };
    match pace {
        // Threading is in it.
        Some(pace) => {
            let an_hour = pace.stitches as f64 * 60.0 / pace.minutes as f64;
            ([1.0 + PACE_SPREAD, 1.0 - PACE_SPREAD].map(|spread| crosses / (an_hour * spread)), an_hour)
        }
        None => {
            let [quick, slow] = NEEDLEFUL_HOURS;
            let hours = [
                crosses / (USUAL_PACE * (1.0 + PACE_SPREAD)) + needlefuls * quick,
                crosses / (USUAL_PACE * (1.0 - PACE_SPREAD)) + needlefuls * slow,
            ];
            (hours, USUAL_PACE)
        }
    }
}

/// Where the last tick was, on the rulers.
fn last(plan: &Plan, of: &DoneOf) -> Option<LastTick> {
    let (cells, day) = of.last.as_ref()?;
    let width = plan.base.width();
    let [left, top] = plan.base_at;
    let (mut columns, mut rows) = ([u32::MAX, 0], [u32::MAX, 0]);
    let mut codes: Vec<u16> = Vec::new();
    for cell in cells.iter() {
        let (column, row) = ((cell % width) as u32 + left + 1, (cell / width) as u32 + top + 1);
        columns = [columns[0].min(column), columns[1].max(column)];
        rows = [rows[0].min(row), rows[1].max(row)];
        if let Some(worked) = of.cells.get(cell).copied().flatten().filter(|worked| !codes.contains(worked)) {
            codes.push(worked);
        }
    }
    let thread = match codes.as_slice() {
        [one] => Some(of.needles[usize::from(*one)].code()),
        _ => None,
    };
    (columns[0] <= columns[1]).then_some(LastTick { day: *day, columns, rows, thread })
}
