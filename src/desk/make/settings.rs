//! What a chart is made by: the part of a request that the chart itself keeps, so that it can be made again.
//!
//! It has no paths. What came from other files (masks, measures of cover) is kept as it was read.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::ground::colour::Srgb8;
use crate::ground::units::{FabricCount, Millimetres};
use crate::making::frame::{Crop, CropError, FrameOptions, Kind, Protected, Sampling, Size, Spot, Tone};
use crate::making::make::{MakeOptions, Owned, USUAL_MIXES, usually_seen_from};
use crate::making::reduce::{self, BareCloth, Colours, Confetti};
use crate::making::subject::Seek;
use crate::thread::cloth::{Cloth, CoverModel};

/// How large a chart is to be: in stitches or as finished, each side by itself.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SizeWish {
    /// Stitches across.
    pub columns: Option<u32>,
    /// Stitches down.
    pub rows: Option<u32>,
    /// Finished width, where no columns are given.
    pub width: Option<Millimetres>,
    /// Finished height, where no rows are given.
    pub height: Option<Millimetres>,
}

impl SizeWish {
    fn on(&self, count: FabricCount) -> Size {
        let columns = self.columns.or_else(|| self.width.map(|width| count.stitches_in(width)));
        let rows = self.rows.or_else(|| self.height.map(|height| count.stitches_in(height)));
        match (columns, rows) {
            (None, None) => Size::Usual,
            (Some(columns), None) => Size::Columns(columns),
            (None, Some(rows)) => Size::Rows(rows),
            (Some(columns), Some(rows)) => Size::Both { columns, rows },
        }
    }
}

/// Where detail is protected, as a person writes it: what the picture is about, a part of the picture, or the name of a
/// mask.
#[derive(Debug, Clone, PartialEq)]
pub enum Detail {
    /// What the picture is about, where it is found.
    Auto,
    /// Nowhere.
    None,
    /// A part.
    Part(Crop),
    /// A picture that is white there and black elsewhere.
    Mask(PathBuf),
}

impl FromStr for Detail {
    type Err = CropError;

    /// `auto`, `none`; four measures are a part; other text is the name of a file, if it is not meant as measures.
    fn from_str(text: &str) -> Result<Self, CropError> {
        match text.parse() {
            _ if text == "auto" => Ok(Self::Auto),
            _ if text == "none" => Ok(Self::None),
            Ok(crop) => Ok(Self::Part(crop)),
            Err(error) if Path::new(text).extension().is_none() || text.matches(',').count() == 3 => {
                Err(error)
            }
            Err(_) => Ok(Self::Mask(text.into())),
        }
    }
}

impl Detail {
    /// The part.
    #[must_use]
    pub fn part(&self) -> Option<Crop> {
        match self {
            Self::Part(crop) => Some(*crop),
            Self::Auto | Self::None | Self::Mask(_) => None,
        }
    }

    /// The mask.
    #[must_use]
    pub fn mask(&self) -> Option<&PathBuf> {
        match self {
            Self::Mask(path) => Some(path),
            Self::Auto | Self::None | Self::Part(_) => None,
        }
    }

    /// Whether the subject is sought: where that is asked for, and where nothing is said.
    #[must_use]
    pub fn seek(all: &[Self]) -> Seek {
        if all.is_empty() || all.contains(&Self::Auto) { Seek::Subject } else { Seek::Nothing }
    }
}

/// Where cloth is left bare besides, as a person writes it: a place in the picture, or the name of a mask.
#[derive(Debug, Clone, PartialEq)]
pub enum BareAt {
    /// The region round a place.
    Spot(Spot),
    /// A picture that is white there and black elsewhere.
    Mask(PathBuf),
}

impl FromStr for BareAt {
    type Err = CropError;

    /// Two measures are a place; other text is the name of a file, if it is not meant as measures.
    fn from_str(text: &str) -> Result<Self, CropError> {
        match text.parse() {
            Ok(spot) => Ok(Self::Spot(spot)),
            Err(error) if Path::new(text).extension().is_none() => Err(error),
            Err(_) => Ok(Self::Mask(text.into())),
        }
    }
}

impl BareAt {
    /// The place.
    #[must_use]
    pub fn spot(&self) -> Option<Spot> {
        match self {
            Self::Spot(spot) => Some(*spot),
            Self::Mask(_) => None,
        }
    }

    /// The mask.
    #[must_use]
    pub fn mask(&self) -> Option<&PathBuf> {
        match self {
            Self::Spot(_) => None,
            Self::Mask(path) => Some(path),
        }
    }
}

/// How cells that are left bare are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BareBy {
    /// Large joined regions at the picture's edge, outside the subject, and what was named.
    #[default]
    Area,
    /// Each cell by itself, as charts were made at first.
    Cell,
}

/// Measures of how thread covers, from a file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptCover {
    /// What the file was called.
    pub name: String,
    /// What it said.
    pub measures: CoverModel,
}

/// Masks of protected parts, from pictures, as the chart's cells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptMask {
    /// What the pictures were called.
    pub names: Vec<String>,
    /// Lengths of runs, row by row from the top left, with spaces between: cells that are not protected, then some
    /// that are, in turn.
    pub runs: String,
}

impl KeptMask {
    pub(super) fn of(names: Vec<String>, cells: &[bool]) -> Self {
        let mut runs: Vec<String> = Vec::new();
        if cells.first() == Some(&true) {
            runs.push("0".to_owned());
        }
        runs.extend(cells.chunk_by(|one, next| one == next).map(|run| run.len().to_string()));
        Self { names, runs: runs.join(" ") }
    }

    /// The marks of one that may be there.
    pub(super) fn cells_of(mask: Option<&Self>) -> Vec<bool> {
        mask.map(|mask| mask.cells(MOST_CELLS)).unwrap_or_default()
    }

    /// A mark for each of so many cells; what cannot be read, and what is missing at the end, is not protected.
    fn cells(&self, most: usize) -> Vec<bool> {
        let mut cells = Vec::new();
        for (place, run) in self.runs.split_ascii_whitespace().enumerate() {
            let length: usize = run.parse().unwrap_or_default();
            let length = length.min(most - cells.len());
            cells.extend(std::iter::repeat_n(place % 2 == 1, length));
        }
        cells
    }
}

/// What a chart of a picture is made by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MakeSettings {
    /// What the piece is called; else the picture's name.
    pub title: Option<String>,
    /// How large it is.
    pub size: SizeWish,
    /// The part of the picture that is used; else all of it.
    pub crop: Option<Crop>,
    /// What the picture is.
    pub kind: Kind,
    /// How a photo is made smaller.
    pub sampling: Sampling,
    /// How the picture is changed first.
    pub tone: Tone,
    /// What it is worked on.
    pub cloth: Cloth,
    /// Strands in the needle.
    pub strands: u8,
    /// How far the eye is away that the chart is made for.
    pub seen_from: Millimetres,
    /// How many threads.
    pub colours: Colours,
    /// What becomes of single stitches.
    pub confetti: Confetti,
    /// Codes of threads that are worked in half crosses.
    pub half_cross: Vec<String>,
    /// By how much, in ΔE00, a mix of two threads in one needle must be off each thread alone; `None` for no blends.
    pub blends: Option<f64>,
    /// How many blends at the most come on top of the threads.
    pub mixes: u16,
    /// Whether threads that are owned go before others that are hardly better.
    pub owned: Owned,
    /// Cells are bare where the cloth comes this near to the picture, in ΔE00.
    pub bare: Option<f64>,
    /// How such cells are found.
    #[serde(default = "by_cell", skip_serializing_if = "is_by_cell")]
    pub bare_by: BareBy,
    /// Places in the picture round which cloth is left bare besides.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub bare_at: Vec<Spot>,
    /// The same from pictures, as a chart keeps it; a request gives them as sources.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bare_mask: Option<KeptMask>,
    /// Threads are mixed stitch by stitch as long as at most so many stitches of a hundred stand alone.
    pub dither: Option<f64>,
    /// Whether what the picture is about is sought and counts more. Charts of before this could be asked for did not.
    #[serde(default = "not_sought", skip_serializing_if = "is_not_sought")]
    pub seek: Seek,
    /// Parts of the picture where nothing is smoothed and colour counts more.
    pub detail: Vec<Crop>,
    /// The same from pictures, as a chart keeps it; a request gives them as sources.
    pub mask: Option<KeptMask>,
    /// How thread covers, as a chart keeps it; a request gives it as a source.
    pub cover: Option<KeptCover>,
    /// Codes of threads that must be used.
    pub fixed: Vec<String>,
    /// Codes of threads that must not be used.
    pub forbidden: Vec<String>,
    /// Another whole number may give a slightly other chart.
    pub seed: u64,
    /// Symbols that threads are to have: codes and names.
    pub symbols: Vec<(String, String)>,
}

fn by_cell() -> BareBy {
    BareBy::Cell
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde gives a reference to the field")]
fn is_by_cell(by: &BareBy) -> bool {
    *by == BareBy::Cell
}

fn not_sought() -> Seek {
    Seek::Nothing
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde gives a reference to the field")]
fn is_not_sought(seek: &Seek) -> bool {
    *seek == Seek::Nothing
}

impl Default for MakeSettings {
    fn default() -> Self {
        let reduce::Options { colours, confetti, seed, .. } = reduce::Options::default();
        Self {
            title: None,
            size: SizeWish::default(),
            crop: None,
            kind: Kind::default(),
            sampling: Sampling::default(),
            tone: Tone::default(),
            cloth: Cloth::default(),
            strands: 2,
            seen_from: usually_seen_from(),
            colours,
            confetti,
            half_cross: Vec::new(),
            blends: None,
            mixes: USUAL_MIXES,
            owned: Owned::default(),
            bare: None,
            bare_by: BareBy::default(),
            bare_at: Vec::new(),
            bare_mask: None,
            dither: None,
            seek: Seek::default(),
            detail: Vec::new(),
            mask: None,
            cover: None,
            fixed: Vec::new(),
            forbidden: Vec::new(),
            seed,
            symbols: Vec::new(),
        }
    }
}

/// A text that is no distance of an eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("give a length from 30cm to 20m, such as 4m")]
pub struct SeenFromError;

/// How far the eye is away that a chart is made for, as a person writes it: at arm's length, or across a hall.
///
/// # Errors
/// [`SeenFromError`] where it is no length, or nearer or further.
pub fn seen_from(text: &str) -> Result<Millimetres, SeenFromError> {
    let length: Millimetres = text.parse().map_err(|_| SeenFromError)?;
    if (300.0..=20_000.0).contains(&length.mm()) { Ok(length) } else { Err(SeenFromError) }
}

/// The most cells of a chart: no mask says more.
const MOST_CELLS: usize = {
    let side = *crate::ground::units::SIDE_LIMITS.end() as usize;
    side * side
};

impl MakeSettings {
    /// The measures of cover.
    pub(in crate::desk) fn cover(&self) -> CoverModel {
        self.cover.as_ref().map(|cover| cover.measures).unwrap_or_default()
    }

    /// Cloth that serves as a colour.
    pub(in crate::desk) fn bare_cloth(&self) -> Option<BareCloth> {
        self.bare.map(|within| BareCloth { look: self.cloth.colour.lab(), within })
    }

    /// As the stages want it, with masks that were read.
    pub(in crate::desk) fn options(&self, title: String, masks: Vec<image::RgbaImage>) -> MakeOptions {
        let parts = self.detail.iter().map(|&crop| Protected::Part(crop));
        let kept = self.mask.iter().map(|mask| Protected::Cells(mask.cells(MOST_CELLS)));
        MakeOptions {
            title,
            frame: FrameOptions {
                size: self.size.on(self.cloth.count),
                crop: self.crop,
                detail: parts.chain(masks.into_iter().map(Protected::Mask)).chain(kept).collect(),
                tone: self.tone,
                kind: self.kind,
                sampling: self.sampling,
            },
            cloth: self.cloth,
            strands: self.strands,
            seen_from: self.seen_from,
            cover: self.cover(),
            half_cross: self.half_cross.clone(),
            blends: self.blends,
            mixes: self.mixes,
            reduce: reduce::Options {
                colours: self.colours,
                bare: self.bare_cloth(),
                confetti: self.confetti,
                seed: self.seed,
                dither: self.dither.map(|per_cent| per_cent / 100.0),
                ..reduce::Options::default()
            },
            owned: self.owned,
            fixed: self.fixed.clone(),
            forbidden: self.forbidden.clone(),
            settings: self.named(),
        }
    }

    /// Each setting by its name, for a person who reads the chart's file.
    pub(in crate::desk) fn named(&self) -> BTreeMap<String, String> {
        let mut named = Named::default();
        named.set("sampling", Some(name_of(&self.sampling)));
        named.set("picture", Some(name_of(&self.kind)));
        named.set("columns", self.size.columns.map(|n| n.to_string()));
        named.set("rows", self.size.rows.map(|n| n.to_string()));
        named.set("width", self.size.width.map(|length| format!("{}mm", length.mm())));
        named.set("height", self.size.height.map(|length| format!("{}mm", length.mm())));
        named.cloth(&self.cloth);
        named.set("crop", self.crop.map(|crop| crop.to_string()));
        let colours = match self.colours {
            Colours::Exactly(count) => count.to_string(),
            Colours::Auto => "auto".to_owned(),
        };
        named.set("colours", Some(colours));
        named.set("prefer-owned", (self.owned == Owned::Preferred).then(|| "yes".to_owned()));
        named.set("dither", self.dither.map(|per_cent| per_cent.to_string()));
        named.set("bare", self.bare.map(|within| within.to_string()));
        let places = self.bare_at.iter().map(ToString::to_string);
        let places = places.chain(self.bare_mask.iter().flat_map(|mask| mask.names.iter().cloned()));
        let places: Vec<String> = places.collect();
        named.set("bare-at", (!places.is_empty()).then(|| places.join(" ")));
        let auto = (self.seek == Seek::Subject).then(|| "auto".to_owned());
        let parts = auto.into_iter().chain(self.detail.iter().map(ToString::to_string));
        let masks = self.mask.iter().flat_map(|mask| mask.names.iter().cloned());
        let detail: Vec<String> = parts.chain(masks).collect();
        named.set("detail", (!detail.is_empty()).then(|| detail.join(" ")));
        named.set("tone", (self.tone != Tone::default()).then(|| self.tone.to_string()));
        named.set("strands", Some(self.strands.to_string()));
        named.set("seen-from", Some(format!("{}mm", self.seen_from.mm())));
        named.list("half-cross", &self.half_cross);
        named.set("blends", self.blends.map(|gain| gain.to_string()));
        named.set("mixes", self.blends.map(|_| self.mixes.to_string()));
        named.set("cover", self.cover.as_ref().map(|cover| cover.name.clone()));
        named.set("confetti", Some(name_of(&self.confetti)));
        named.list("use", &self.fixed);
        named.list("avoid", &self.forbidden);
        named.0
    }
}

/// What a finished chart is taken by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct TakeSettings {
    /// What the piece is called; else the picture's name.
    pub title: Option<String>,
    /// What it is worked on.
    pub cloth: Cloth,
    /// Strands in the needle.
    pub strands: u8,
    /// How thread covers, as a chart keeps it; a request gives it as a source.
    pub cover: Option<KeptCover>,
    /// Symbols that threads are to have: codes and names.
    pub symbols: Vec<(String, String)>,
}

impl Default for TakeSettings {
    fn default() -> Self {
        Self { title: None, cloth: Cloth::default(), strands: 2, cover: None, symbols: Vec::new() }
    }
}

impl TakeSettings {
    /// The measures of cover.
    pub(in crate::desk) fn cover(&self) -> CoverModel {
        self.cover.as_ref().map(|cover| cover.measures).unwrap_or_default()
    }

    /// Each setting by its name, for a person who reads the chart's file.
    pub(in crate::desk) fn named(&self) -> BTreeMap<String, String> {
        let mut named = Named::default();
        named.cloth(&self.cloth);
        named.set("strands", Some(self.strands.to_string()));
        named.set("cover", self.cover.as_ref().map(|cover| cover.name.clone()));
        named.set("exact", Some("yes".to_owned()));
        named.0
    }
}

/// What a chart keeps of how it came to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "how", rename_all = "kebab-case")]
pub enum Kept {
    /// From a picture.
    Made(Box<MakeSettings>),
    /// Cell by cell.
    Taken(Box<TakeSettings>),
}

/// Settings by their names.
#[derive(Default)]
struct Named(BTreeMap<String, String>);

impl Named {
    fn set(&mut self, name: &str, value: Option<String>) {
        if let Some(value) = value {
            self.0.insert(name.to_owned(), value);
        }
    }

    fn list(&mut self, name: &str, codes: &[String]) {
        self.set(name, (!codes.is_empty()).then(|| codes.join(",")));
    }

    fn cloth(&mut self, Cloth { count, colour }: &Cloth) {
        self.set("count", Some(count.to_string()));
        self.set("cloth", Some(Srgb8::to_string(colour)));
    }
}

/// The name of one of a few values, as it is kept.
fn name_of(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(name)) => name,
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn detail_is_a_part_or_the_name_of_a_mask() {
        let part = "10%,0,50%,80".parse::<Detail>().unwrap();
        assert_eq!(part.part().map(|crop| crop.to_string()).as_deref(), Some("10%,0,50%,80"));
        let mask = "faces/face 1,2.png".parse::<Detail>().unwrap();
        assert_eq!(mask.mask(), Some(&PathBuf::from("faces/face 1,2.png")));
        for meant_as_measures in ["1,2,3,x", "face", "1,2,3"] {
            assert!(meant_as_measures.parse::<Detail>().is_err(), "{meant_as_measures}");
        }
    }

    #[test]
    fn numbers_of_colours_are_2_to_200_or_auto() {
        assert_eq!(" auto ".parse(), Ok(Colours::Auto));
        assert_eq!("200".parse(), Ok(Colours::Exactly(200)));
        for bad in ["1", "201", "-3", "many", ""] {
            assert!(bad.parse::<Colours>().is_err(), "{bad}");
        }
    }

    #[test]
    fn a_mask_is_kept_as_runs() {
        for cells in [&[false, false, true, true, true, false][..], &[true, false], &[false; 3], &[true; 4]] {
            let kept = KeptMask::of(Vec::new(), cells);
            assert_eq!(kept.cells(cells.len()), cells, "{}", kept.runs);
        }
        let forged =
            KeptMask { names: Vec::new(), runs: "2 99999999999999999999 x 18446744073709551615".into() };
        assert_eq!(forged.cells(5), [false, false, true, true, true]);
    }

    #[test]
    fn settings_are_read_again_as_they_were_kept() {
        let settings = MakeSettings {
            title: Some("Rock pool".into()),
            crop: Some("10%,0%,80.5%,100%".parse().unwrap()),
            colours: Colours::Auto,
            blends: Some(2.1),
            mask: Some(KeptMask::of(vec!["face.png".into()], &[true, false])),
            cover: Some(KeptCover { name: "mine.toml".into(), measures: CoverModel::default() }),
            symbols: vec![("P1".into(), "disc-solid".into())],
            ..MakeSettings::default()
        };
        let kept = Kept::Made(Box::new(settings));
        let value = serde_json::to_value(&kept).unwrap();
        assert_eq!(serde_json::from_value::<Kept>(value).unwrap(), kept);
        let taken = Kept::Taken(Box::default());
        let value = serde_json::to_value(&taken).unwrap();
        assert_eq!(serde_json::from_value::<Kept>(value).unwrap(), taken);
    }
}
