//! Backups of the workbasket: made once a day, listed, brought back; and all of it as one file.

use std::path::PathBuf;

use serde::Serialize;

use super::{Error, Report, Warning, Written};
use crate::basket::{Backup, Basket, Missing};
use crate::ground::day::When;
use crate::ground::progress::Progress;

/// What is to be done about backups.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BackupAct {
    /// They are listed.
    List,
    /// That of today is made, where there is none.
    Now,
    /// One is brought back, by its name.
    BringBack(String),
    /// The whole workbasket goes into one file, photos and all.
    Give(PathBuf),
    /// It comes from such a file.
    Take(PathBuf),
}

/// What is to be done about backups of a workbasket.
#[derive(Debug, Clone)]
pub struct BackupRequest {
    /// The folder of the workbasket.
    pub basket: PathBuf,
    /// What.
    pub act: BackupAct,
    /// The moment.
    pub when: When,
}

/// Backups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BackupReport {
    /// Those that there are, the newest first.
    pub backups: Vec<Backup>,
    /// The backup that holds what was in the workbasket before another took its place.
    pub before: Option<String>,
    /// How many pieces there are now.
    pub pieces: usize,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for BackupReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Lists backups, makes one, brings one back, gives or takes the whole.
///
/// # Errors
/// [`Error`]; then all is as it was.
pub fn backup(request: &BackupRequest, _: &dyn Progress) -> Result<BackupReport, Error> {
    let missing = if matches!(request.act, BackupAct::Take(_)) { Missing::Make } else { Missing::Refuse };
    let mut basket = Basket::open(&request.basket, missing)?;
    let before = match &request.act {
        BackupAct::List => None,
        BackupAct::Now => {
            basket.back_up_for_today(request.when)?;
            None
        }
        BackupAct::BringBack(name) => Some(basket.bring_back(name, request.when)?),
        BackupAct::Give(path) => {
            basket.give(path)?;
            None
        }
        BackupAct::Take(path) => Some(basket.take(path, request.when)?),
    };
    let (warnings, files, pieces) = (Vec::new(), Vec::new(), basket.pieces()?.len());
    Ok(BackupReport { backups: basket.backups()?, before, pieces, warnings, files })
}

/// Makes the backup of today before the first change of the day. Where that fails, it is told, and the change is made.
pub(super) fn before_change(basket: &mut Basket, when: When, warnings: &mut Vec<Warning>) {
    if let Err(error) = basket.back_up_for_today(when) {
        warnings.push(Warning::NoBackup { why: error.to_string() });
    }
}
