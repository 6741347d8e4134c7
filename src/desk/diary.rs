//! The diary: sittings and notes written down, taken from a table, listed and given as a table.

use std::path::PathBuf;

use serde::Serialize;

use super::files::{Files, Output};
use super::{Error, Replace, Report, Source, Target, Wanted, Warning, What, Written};
use crate::basket::{Basket, DiaryDay, Missing, PieceId, Sitting};
use crate::ground::day::{Day, DayOrder, When};
use crate::ground::progress::Progress;
use crate::planning::safe_field;
use crate::thread::shades::decimal;

/// How long a sitting was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lasted {
    /// So many minutes.
    Minutes(u32),
    /// From one time of day to another, in minutes after midnight; past midnight where the second is the earlier.
    Between(u32, u32),
}

/// A sitting or a note that is to be written down.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NewSitting {
    /// The day; else today.
    pub day: Option<Day>,
    /// How long it was.
    pub lasted: Option<Lasted>,
    /// Stitches that were counted and are not ticked.
    pub stitches: Option<u64>,
    /// What is to be remembered.
    pub note: Option<String>,
}

/// What the columns of a table are called that hold days already written down; those of brede's own where nothing is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DiaryColumns {
    /// The day.
    pub day: String,
    /// The name or the id of the piece.
    pub piece: Option<String>,
    /// Minutes.
    pub minutes: Option<String>,
    /// Hours, with a decimal point or comma, or as `1:30`.
    pub hours: Option<String>,
    /// Stitches.
    pub stitches: Option<String>,
    /// What was written.
    pub note: Option<String>,
    /// Which of day and month is first.
    pub order: DayOrder,
}

/// The columns of brede's own table.
const OWN: [&str; 7] = ["day", "piece", "name", "began", "minutes", "stitches", "note"];

/// In brede's own table, the column that says of a row that its stitches were ticked: they are in the basket as such.
const HOW: &str = "how";
const TICKED: &str = "ticked";

/// What is to become of the diary.
#[derive(Debug, Clone)]
pub struct DiaryRequest {
    /// The folder of the workbasket.
    pub basket: PathBuf,
    /// The piece, as a person writes it; all where nothing is said.
    pub piece: Option<String>,
    /// The moment.
    pub when: When,
    /// What is written down.
    pub write: Option<NewSitting>,
    /// A table of days that are taken in.
    pub take: Option<(Source, Option<DiaryColumns>)>,
    /// Where the diary goes as a table.
    pub csv: Option<Target>,
    /// What may be written over.
    pub replace: Replace,
}

/// A diary.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DiaryReport {
    /// Its days, the oldest first.
    pub days: Vec<DiaryDay>,
    /// How many days something was done.
    pub day_count: u64,
    /// Minutes in all, as far as they were written down.
    pub minutes: u64,
    /// Stitches in all, ticked and counted.
    pub stitches: i64,
    /// Sittings and notes that are new.
    pub new: u64,
    /// Rows of a table that were there already.
    pub known: u64,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for DiaryReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Writes into the diary, takes days in, and gives it.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn diary(request: &DiaryRequest, progress: &dyn Progress) -> Result<DiaryReport, Error> {
    let mut files = Files::new(request.replace, progress);
    let mut basket = Basket::open(&request.basket, Missing::Refuse)?;
    let piece = request.piece.as_ref().map(|piece| basket.find(piece)).transpose()?;
    if let Some(target) = &request.csv {
        files.may_write(What::Diary, target)?;
    }
    let mut sittings = Vec::new();
    if let Some(new) = &request.write {
        sittings.push((piece.clone(), sitting_of(new, request.when.day)?));
    }
    if let Some((source, columns)) = &request.take {
        let bytes = files.bytes(source, Wanted::Table)?;
        let table = Table { source, basket: &basket, piece: piece.as_ref() };
        sittings.extend(table.read(&bytes, columns.as_ref())?);
    }
    super::backup::before_change(&mut basket, request.when, &mut files.warnings);
    let new = if sittings.is_empty() { 0 } else { basket.write_sittings(&sittings)? as u64 };
    let known = sittings.len() as u64 - new;
    let days = basket.diary(piece.as_ref())?;
    let mut outputs = Vec::new();
    if let Some(target) = &request.csv {
        let (target, bytes) = (target.clone(), csv_of(&days).into_bytes());
        outputs.push(Output { what: What::Diary, target, name: "diary.csv".to_owned(), bytes });
    }
    let written = files.write(outputs)?;
    let sittings = || days.iter().flat_map(|day| &day.sittings);
    let mut dates: Vec<Day> = days.iter().map(|day| day.day).collect();
    dates.dedup();
    Ok(DiaryReport {
        day_count: dates.len() as u64,
        minutes: sittings().filter_map(|sitting| sitting.minutes).map(u64::from).sum(),
        stitches: days.iter().map(|day| day.ticked).sum::<i64>()
            + sittings().filter_map(|sitting| sitting.stitches).map(u64::cast_signed).sum::<i64>(),
        days,
        new,
        known,
        warnings: files.warnings,
        files: written,
    })
}

/// The minutes of a day.
const DAY: u32 = 24 * 60;

fn sitting_of(new: &NewSitting, today: Day) -> Result<Sitting, Error> {
    let (began, minutes) = match new.lasted {
        None => (None, None),
        Some(Lasted::Minutes(minutes)) => (None, Some(minutes)),
        Some(Lasted::Between(from, to)) if from < DAY && to <= DAY => {
            (Some(from), Some(if to >= from { to - from } else { to + DAY - from }))
        }
        Some(Lasted::Between(from, to)) => return Err(Error::NoTimeOfDay { minutes: from.max(to) }),
    };
    if let Some(minutes) = minutes.filter(|&minutes| minutes > DAY) {
        return Err(Error::LongSitting { minutes });
    }
    let note = new.note.clone().unwrap_or_default();
    Ok(Sitting { day: new.day.unwrap_or(today), began, minutes, stitches: new.stitches, note })
}

/// A table of days that is read.
struct Table<'a> {
    source: &'a Source,
    basket: &'a Basket,
    /// The piece of rows that name none.
    piece: Option<&'a PieceId>,
}

impl Table<'_> {
    fn fault(&self, row: u64, what: String) -> Error {
        Error::DiaryTable { name: self.source.to_string(), row, what }
    }

    fn read(
        &self,
        bytes: &[u8],
        columns: Option<&DiaryColumns>,
    ) -> Result<Vec<(Option<PieceId>, Sitting)>, Error> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let head = bytes.split(|&byte| byte == b'\n').next().unwrap_or_default();
        let count = |separator: u8| head.iter().filter(|&&byte| byte == separator).count();
        let separator = [b',', b';', b'\t'].into_iter().max_by_key(|&byte| count(byte)).unwrap_or(b',');
        let mut reader = csv::ReaderBuilder::new().delimiter(separator).flexible(true).from_reader(bytes);
        let heads = reader.headers().map_err(|error| self.fault(1, error.to_string()))?.clone();
        let place = |name: &str| heads.iter().position(|head| head.trim().eq_ignore_ascii_case(name.trim()));
        let must =
            |name: &str| place(name).ok_or_else(|| self.fault(1, format!("there is no column `{name}`")));
        let asked = |name: &Option<String>| name.as_ref().map(|name| must(name)).transpose();
        let own = |name: &str| if columns.is_none() { place(name) } else { None };
        let order = columns.map(|columns| columns.order).unwrap_or_default();
        let (day, piece, minutes, hours, stitches, note) = match columns {
            Some(c) => (
                must(&c.day)?,
                asked(&c.piece)?,
                asked(&c.minutes)?,
                asked(&c.hours)?,
                asked(&c.stitches)?,
                asked(&c.note)?,
            ),
            None => (must(OWN[0])?, own("piece"), own("minutes"), None, own("stitches"), own("note")),
        };
        let (began, how) = (own("began"), own(HOW));
        let mut rows = Vec::new();
        for (number, record) in reader.records().enumerate() {
            // The first row names the columns.
            let row = number as u64 + 2;
            let record = record.map_err(|error| self.fault(row, error.to_string()))?;
            let field = |at: Option<usize>| {
                at.and_then(|at| record.get(at)).map(unsafe_field).filter(|text| !text.is_empty())
            };
            let Some(text) = field(Some(day)) else { continue };
            if field(how) == Some(TICKED) {
                continue;
            }
            let day = Day::read(text, order).map_err(|error| self.fault(row, error.to_string()))?;
            let whole = |at: Option<usize>, name: &str| {
                let number = |text: &str| {
                    use rust_decimal::prelude::ToPrimitive as _;
                    let number = decimal(text).and_then(|number| number.round().to_u64());
                    number.ok_or_else(|| self.fault(row, format!("`{text}` is no number of {name}")))
                };
                field(at).map(number).transpose()
            };
            let mut long = whole(minutes, "minutes")?;
            if let Some(text) = field(hours) {
                let read = minutes_of_hours(text)
                    .ok_or_else(|| self.fault(row, format!("`{text}` is no number of hours")))?;
                long = Some(long.unwrap_or_default() + read);
            }
            let minutes = long.map(|minutes| u32::try_from(minutes).unwrap_or(u32::MAX));
            if let Some(minutes) = minutes.filter(|&minutes| minutes > DAY) {
                return Err(self.fault(row, format!("{minutes} minutes are more than a day has")));
            }
            let began = field(began).and_then(|text| time_of_day(text));
            let piece = match field(piece) {
                Some(name) => Some(self.basket.find(name)?),
                None => self.piece.cloned(),
            };
            let note = field(note).unwrap_or_default().to_owned();
            rows.push((piece, Sitting { day, began, minutes, stitches: whole(stitches, "stitches")?, note }));
        }
        Ok(rows)
    }
}

/// A field as it was before `safe_field`.
fn unsafe_field(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix('\'').filter(|rest| safe_field(rest) != *rest).unwrap_or(text)
}

/// `1.5`, `1,5` or `1:30`.
fn minutes_of_hours(text: &str) -> Option<u64> {
    if let Some(minutes) = time_of_day(text) {
        return Some(minutes.into());
    }
    use rust_decimal::prelude::ToPrimitive as _;
    (decimal(text)? * rust_decimal::Decimal::from(60)).round().to_u64()
}

/// Minutes after midnight of `19:30`; `24:00` is the end of the day.
#[must_use]
pub fn time_of_day(text: &str) -> Option<u32> {
    let (hours, minutes) = text.trim().split_once([':', '.'])?;
    let number = |text: &str| text.parse::<u32>().ok().filter(|_| text.len() <= 2);
    let (hours, minutes) = (number(hours)?, number(minutes).filter(|_| minutes.len() == 2)?);
    Some(hours * 60 + minutes).filter(|&time| minutes < 60 && time <= DAY)
}

/// The diary as CSV, a row a sitting and one for what was ticked on a day: `day,piece,name,began,minutes,stitches,how,note`.
/// The sums of `minutes` and `stitches` are those of the diary.
pub(super) fn csv_of(days: &[DiaryDay]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let invariant = "writing to memory does not fail";
    writer
        .write_record(["day", "piece", "name", "began", "minutes", "stitches", HOW, "note"])
        .expect(invariant);
    for day in days {
        let (date, name) = (day.day.to_string(), safe_field(day.name.as_deref().unwrap_or_default()));
        let piece = day.piece.as_ref().map(ToString::to_string).unwrap_or_default();
        let mut row = |began: String, minutes: String, stitches: String, how: &str, note: String| {
            writer
                .write_record([&date, &piece, &name, &began, &minutes, &stitches, how, &note])
                .expect(invariant);
        };
        let turns: Vec<String> = day.turns.iter().map(ToString::to_string).collect();
        if day.ticked != 0 || !turns.is_empty() {
            row(String::new(), String::new(), day.ticked.to_string(), TICKED, turns.join("; "));
        }
        for sitting in &day.sittings {
            let number = |number: Option<u64>| number.map_or_else(String::new, |number| number.to_string());
            let began = sitting.began.map_or_else(String::new, |at| format!("{:02}:{:02}", at / 60, at % 60));
            let minutes = number(sitting.minutes.map(u64::from));
            row(began, minutes, number(sitting.stitches), "written", safe_field(&sitting.note));
        }
    }
    String::from_utf8(writer.into_inner().expect(invariant)).expect("made of UTF-8")
}
