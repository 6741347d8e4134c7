//! All of the workbasket in forms that other programs read: charts, pictures, the diary, the threads that are owned.

use std::collections::BTreeSet;
use std::path::PathBuf;

use serde::Serialize;

use super::diary::csv_of;
use super::files::{Files, Output};
use super::left::{LeftRequest, left};
use super::{Error, InBasket, Replace, Report, Target, Warning, What, Written};
use crate::basket::{Basket, InBox, Missing};
use crate::chart::Chart;
use crate::ground::day::When;
use crate::ground::progress::{Progress, ask};
use crate::planning::safe_field;
use crate::printing::{self, picture};
use crate::thread::code;
use crate::thread::shades::ShadeCard;

/// Where the workbasket goes in open forms.
#[derive(Debug, Clone)]
pub struct LeaveRequest {
    /// The folder of the workbasket.
    pub basket: PathBuf,
    /// The folder that all goes to.
    pub folder: Target,
    /// The moment.
    pub when: When,
    /// What may be written over.
    pub replace: Replace,
}

/// What went.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeaveReport {
    /// How many pieces.
    pub pieces: usize,
    /// What the person should know.
    pub warnings: Vec<Warning>,
    /// What was written.
    pub files: Vec<Written>,
}

impl Report for LeaveReport {
    fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
    fn files(&self) -> &[Written] {
        &self.files
    }
}

/// Writes all of the workbasket in open forms: of each piece its chart, its cells and what is done as PNG; photos as they
/// came; the diary as CSV; each shade card with what is owned, and the box of threads as CSV.
///
/// # Errors
/// [`Error`]; then nothing is written.
pub fn leave(request: &LeaveRequest, progress: &dyn Progress) -> Result<LeaveReport, Error> {
    let mut files = Files::new(request.replace, progress);
    let basket = Basket::open(&request.basket, Missing::Refuse)?;
    let pieces = basket.pieces()?;
    let mut outputs = Vec::new();
    let mut names = BTreeSet::new();
    let mut put = |what, name: String, bytes| {
        outputs.push(Output { what, target: request.folder.within(&name), name, bytes });
    };
    for piece in &pieces {
        ask(progress)?;
        let plain: String =
            piece.name.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).take(60).collect();
        let plain = plain.trim_matches('-').to_lowercase();
        let is_free = !plain.is_empty() && names.insert(plain.clone());
        let name = if is_free { plain } else { piece.id.to_string() };
        if piece.chart.is_none() {
            continue;
        }
        let document = basket.chart(&piece.id)?.document;
        let chart = Chart::from_json(&document)
            .map_err(|source| Error::Chart { name: piece.name.clone(), source })?;
        let cells = picture::png(picture::cells(&printing::worked(&chart)?.chart), progress)?;
        let asked =
            InBasket { folder: request.basket.clone(), piece: piece.id.to_string(), when: request.when };
        let done = LeftRequest { piece: asked, picture: Some(Target::Held), replace: Replace::Ours };
        let done = left(&done, progress)?.files.into_iter().find_map(|file| file.bytes).unwrap_or_default();
        put(What::Chart, format!("{name}.chart.json"), document);
        put(What::Cells, format!("{name}.cells.png"), cells);
        put(What::Done, format!("{name}.done.png"), done);
    }
    for (sha256, name) in basket.photos()? {
        let bytes = basket.photo(&sha256)?.unwrap_or_default();
        let ending =
            std::path::Path::new(&name).extension().unwrap_or_default().to_string_lossy().to_lowercase();
        put(What::Photo, format!("photo-{}.{ending}", &sha256[..12.min(sha256.len())]), bytes);
    }
    put(What::Diary, "diary.csv".to_owned(), csv_of(&basket.diary(None)?).into_bytes());
    let in_box = basket.in_box()?;
    for name in basket.cards()? {
        let Some(card) = basket.card(&name)?.and_then(|text| ShadeCard::read(&name, &text).ok()) else {
            continue;
        };
        put(What::Card, format!("{name}.csv"), with_owned(&card, &in_box).into_bytes());
    }
    put(What::Card, "box.csv".to_owned(), box_csv(&in_box).into_bytes());
    let written = files.write_into(&request.folder, outputs)?;
    Ok(LeaveReport { pieces: pieces.len(), warnings: std::mem::take(&mut files.warnings), files: written })
}

/// A card as CSV with what lies in the box as what is owned.
fn with_owned(card: &ShadeCard, in_box: &[InBox]) -> String {
    let rows = card.rows().join("\n");
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(rows.as_bytes());
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    let invariant = "writing to memory does not fail";
    let mut places = None;
    for record in reader.records().flatten() {
        let mut fields: Vec<String> = record.iter().map(str::to_owned).collect();
        match places {
            None => {
                let place = |name: &str| fields.iter().position(|field| field == name);
                places = place("code").zip(place("owned"));
            }
            Some((code_at, owned_at)) => {
                let owned = in_box.iter().find(|thread| code::same(&thread.code, &fields[code_at]));
                fields[owned_at] =
                    owned.map_or_else(|| "0".to_owned(), |thread| thread.owned.normalize().to_string());
            }
        }
        writer.write_record(&fields).expect(invariant);
    }
    String::from_utf8(writer.into_inner().expect(invariant)).expect("made of UTF-8")
}

fn box_csv(in_box: &[InBox]) -> String {
    let mut text = "code,owned,opened,left\n".to_owned();
    for thread in in_box {
        let code = safe_field(&thread.code).replace('"', "\"\"");
        text += &format!(
            "\"{code}\",{},{},{}\n",
            thread.owned.normalize(),
            thread.opened,
            thread.left.normalize()
        );
    }
    text
}
