//! One chart on other counts: how large, what cloth, whether it fits, what covers.
//!
//! Owns the comparison of counts. Leaves coverage to `cloth` and thread to `lengths`.

use std::fmt;
use std::str::FromStr;

use serde::Serialize;

use super::shift::{customary_strands, strands_for};
use super::{CLOTH_ALLOWANCE_MM, Handling, Lengths, ThreadUse};
use crate::chart::{Chart, Needle, WorkedLine};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, Stopped, tell};
use crate::ground::units::{FabricCount, GridSize, Millimetres, UnitError};
use crate::thread::cloth::{Cloth, ClothWeight, CoverModel, StitchKind};

/// The counts that are compared where none are asked for: those that cloth for counted work is commonly
/// woven in (common practice, no source).
pub const USUAL_COUNTS: [&str; 8] = ["11", "14", "16", "18", "20", "22", "28/2", "32/2"];

/// Cloth in one piece, or the inside of a frame: `40x30cm`, or `20cm` for a square.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Across.
    pub width: Millimetres,
    /// Down.
    pub height: Millimetres,
}

impl FromStr for Piece {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let Some((one, two)) = text.split_once(['x', '×']) else {
            let side = text.parse()?;
            return Ok(Self { width: side, height: side });
        };
        let height: Millimetres = two.parse()?;
        let unit =
            two.trim().trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' '));
        let has_unit = one.contains(|c: char| c.is_ascii_alphabetic() || c == '"');
        let width = if has_unit { one.parse()? } else { format!("{one}{unit}").parse()? };
        Ok(Self { width, height })
    }
}

impl fmt::Display for Piece {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} x {:.1} cm", self.width.cm(), self.height.cm())
    }
}

/// Whether something fits on a piece of cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum OnPiece {
    /// As it is.
    Upright,
    /// If the piece is turned.
    Turned,
    /// Neither way.
    No,
}

impl OnPiece {
    /// Tries both ways.
    #[must_use]
    pub fn of(needed: &Piece, piece: &Piece) -> Self {
        // A hundredth of a millimetre: cloth is not cut finer, and lengths given in inches must not fail by
        // rounding.
        let within = |need: Millimetres, have: Millimetres| need.mm() <= have.mm() + 0.01;
        if within(needed.width, piece.width) && within(needed.height, piece.height) {
            Self::Upright
        } else if within(needed.width, piece.height) && within(needed.height, piece.width) {
            Self::Turned
        } else {
            Self::No
        }
    }
}

/// Whether the finished design lies within a frame or hoop without being moved in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum InFrame {
    /// In a round hoop of that width too: its diagonal is no longer.
    #[serde(rename = "hoop")]
    HoopToo,
    /// In a frame with square corners only.
    #[serde(rename = "frame")]
    FrameOnly,
    /// In neither.
    No,
}

impl InFrame {
    /// Tries the frame both ways, and the hoop as wide as its narrower side.
    #[must_use]
    pub fn of(finished: &Piece, frame: &Piece) -> Self {
        let diagonal = libm::hypot(finished.width.mm(), finished.height.mm());
        if diagonal <= frame.width.mm().min(frame.height.mm()) + 0.01 {
            Self::HoopToo
        } else if OnPiece::of(finished, frame) == OnPiece::No {
            Self::No
        } else {
            Self::FrameOnly
        }
    }
}

/// What the chart is held against.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// Cloth left on each side of the design.
    pub allowance: Millimetres,
    /// A piece of cloth at hand.
    pub have: Option<Piece>,
    /// A frame or hoop, measured inside.
    pub frame: Option<Piece>,
    /// From the eye to the work: 40 cm, at which near sight is usually tested (common practice, no source).
    pub distance: Millimetres,
    /// How thread covers.
    pub cover: CoverModel,
    /// The colour of the cloth; `None` for the chart's.
    pub colour: Option<Srgb8>,
    /// What the cloth weighs, for how open evenweave is.
    pub weight: Option<ClothWeight>,
    /// How thread is handled.
    pub handling: Handling,
}

impl Default for FitOptions {
    fn default() -> Self {
        let length = |mm| Millimetres::new(mm).expect("a constant within the limits");
        Self {
            allowance: length(CLOTH_ALLOWANCE_MM),
            have: None,
            frame: None,
            distance: length(400.0),
            cover: CoverModel::default(),
            colour: None,
            weight: None,
            handling: Handling::default(),
        }
    }
}

/// A design on one count, whatever its threads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignFit {
    /// The count.
    pub count: FabricCount,
    /// The design, finished.
    pub finished: Piece,
    /// The cloth to cut, allowance and all.
    pub cut: Piece,
    /// Whether it can be cut from the piece at hand.
    pub have: Option<OnPiece>,
    /// Whether the design fits the frame.
    pub frame: Option<InFrame>,
    /// The side of a stitch.
    pub cell: Millimetres,
    /// The angle that a stitch has at the eye, in minutes of arc.
    pub minutes: f64,
    /// How that is for the eyes.
    pub ease: Ease,
    /// The strands that are customary on this count, whatever the colours.
    pub customary: Option<u8>,
    /// The tapestry needle that is customary.
    pub needle: u8,
}

impl DesignFit {
    /// A design of so many stitches on a count, on cloth of a colour.
    #[must_use]
    pub fn of(size: GridSize, count: FabricCount, colour: Srgb8, options: &FitOptions) -> Self {
        let finished = Piece { width: count.length_of(size.columns()), height: count.length_of(size.rows()) };
        let cut = Piece {
            width: finished.width.with_margin(options.allowance),
            height: finished.height.with_margin(options.allowance),
        };
        let minutes = minutes_of_arc(count.cell(), options.distance);
        Self {
            count,
            finished,
            cut,
            have: options.have.map(|piece| OnPiece::of(&cut, &piece)),
            frame: options.frame.map(|frame| InFrame::of(&finished, &frame)),
            cell: count.cell(),
            minutes,
            ease: Ease::of(minutes, colour),
            customary: customary_strands(count, &options.cover),
            needle: customary_needle(count),
        }
    }
}

/// The chart on one count.
#[derive(Debug, Clone, PartialEq)]
pub struct CountFit {
    /// Its design.
    pub design: DesignFit,
    /// The strands to work most crosses in, for these colours on this cloth ([`strands_for`]); `None` where even
    /// twelve do not cover it.
    pub strands: Option<u8>,
    /// The strands that most crosses of the chart are worked in as it is: those that are changed.
    pub usual: u8,
    /// Stitches that stay as they are: blends, other stitches than full crosses, and crosses with strands of their
    /// own.
    pub kept: u64,
    /// The share of a cell that these hide.
    pub covered: f64,
    /// The share of the bare cloth that is holes, for evenweave of a weight that was given.
    pub open: Option<f64>,
    /// What the threads come to with these strands.
    pub uses: Vec<ThreadUse>,
}

impl CountFit {
    /// Metres of single strand in all.
    #[must_use]
    pub fn strand_metres(&self) -> f64 {
        self.uses.iter().map(|thread| thread.strand_metres).sum()
    }

    /// A needle as it is worked on this count: full crosses of one thread in the usual strands in those suggested;
    /// blends, half crosses and whatever else was chosen on purpose as they are.
    #[must_use]
    pub fn worked(&self, needle: &Needle) -> Needle {
        let mut needle = needle.clone();
        if is_usual(&needle, self.usual)
            && let (Some(thread), Some(strands)) = (needle.threads.first_mut(), self.strands)
        {
            thread.strands = strands;
        }
        needle
    }

    /// Whole skeins in all.
    #[must_use]
    pub fn skeins(&self) -> u64 {
        self.uses.iter().map(ThreadUse::skeins).sum()
    }
}

/// The tapestry needle customary for a count, by the stitches to the inch (common practice, no source, from
/// memory).
#[must_use]
pub fn customary_needle(count: FabricCount) -> u8 {
    match count.stitches_per_inch() {
        stitches if stitches < 7.5 => 20,
        stitches if stitches < 10.5 => 22,
        stitches if stitches < 15.5 => 24,
        stitches if stitches < 20.5 => 26,
        _ => 28,
    }
}

/// How stitches of a size are for the eyes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ease {
    /// 12 minutes of arc and more: what is read without effort (0.2 degrees: Legge & Bigelow 2011).
    Easy,
    /// 9 minutes and more, good light and good glasses given (common practice, no source).
    Fine,
    /// Less: a lens helps.
    Trying,
}

impl Ease {
    /// Of stitches of so many minutes of arc. On dark cloth, where holes are hard to see, they count one step harder: 14 as
    /// 18 (common practice, no source).
    #[must_use]
    pub fn of(minutes: f64, cloth: Srgb8) -> Self {
        let minutes = if cloth.lab().l < DARK { minutes * 14.0 / 18.0 } else { minutes };
        match minutes {
            12.0.. => Self::Easy,
            9.0.. => Self::Fine,
            _ => Self::Trying,
        }
    }

    /// In a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::Fine => "fine",
            Self::Trying => "trying",
        }
    }
}

/// Cloth under this lightness is dark: navy, black, wine; not a clear red.
const DARK: f64 = 35.0;

/// The angle that a length has at a distance, in minutes of arc: `2 atan(length / 2 distance)`.
#[must_use]
pub fn minutes_of_arc(length: Millimetres, distance: Millimetres) -> f64 {
    (2.0 * (length.mm() / 2.0).atan2(distance.mm())).to_degrees() * 60.0
}

/// The chart and the lines on it on each count, in their order.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn fit(
    chart: &Chart,
    lines: &[WorkedLine],
    counts: &[FabricCount],
    options: &FitOptions,
    progress: &dyn Progress,
) -> Result<Vec<CountFit>, Stopped> {
    tell(progress, Stage::Planning, 0, 1)?;
    let lengths = Lengths::of(chart, lines, options.handling.travel, progress)?;
    let usual = usual_strands(chart);
    let stitches = chart.stitches();
    let worked = || chart.needles().iter().zip(&stitches).filter(|(_, stitches)| **stitches > 0);
    let changed = || worked().map(|(needle, _)| needle).filter(|needle| is_usual(needle, usual));
    let kept = worked().filter(|(needle, _)| !is_usual(needle, usual)).map(|(_, stitches)| stitches).sum();
    let fits = counts
        .iter()
        .map(|&count| {
            let colour = options.colour.unwrap_or(chart.cloth.colour);
            let strands = strands_for(changed(), &Cloth { count, colour }, &options.cover);
            let stranded = on_count(chart, count, usual, strands.unwrap_or(usual));
            CountFit {
                design: DesignFit::of(chart.size(), count, colour, options),
                strands,
                usual,
                kept,
                covered: options.cover.covered(count, strands.unwrap_or(usual), StitchKind::FullCross),
                open: options.weight.and_then(|weight| weight.open_share(count)),
                uses: lengths.uses(&stranded, lines, count, &options.handling),
            }
        })
        .collect();
    Ok(fits)
}

/// Whether a needle is worked as most are: in full crosses of one thread, in the usual strands.
fn is_usual(needle: &Needle, usual: u8) -> bool {
    needle.stitch == StitchKind::FullCross && needle.threads.len() == 1 && needle.strands() == usual
}

/// The strands that most full crosses of one thread are worked in.
fn usual_strands(chart: &Chart) -> u8 {
    let mut stitches = [0u64; 13];
    for (needle, count) in chart.needles().iter().zip(chart.stitches()) {
        if needle.stitch != StitchKind::FullCross || needle.threads.len() > 1 {
            continue;
        }
        if let Some(sum) = stitches.get_mut(usize::from(needle.strands())) {
            *sum += count;
        }
    }
    let best = (1..stitches.len()).rev().max_by_key(|&strands| stitches[strands]).unwrap_or(2);
    u8::try_from(best).unwrap_or(2)
}

/// The chart on another count: full crosses of one thread in the `usual` strands are worked in `strands`; blends,
/// half crosses and whatever else was chosen on purpose stay as they are.
#[must_use]
pub fn on_count(chart: &Chart, count: FabricCount, usual: u8, strands: u8) -> Chart {
    let change = |needle: &Needle| {
        let mut needle = needle.clone();
        if is_usual(&needle, usual)
            && let Some(thread) = needle.threads.first_mut()
        {
            thread.strands = strands;
        }
        needle
    };
    let needles = chart.needles().iter().map(change).collect();
    let cloth = Cloth { count, ..chart.cloth };
    Chart::new(chart.title.clone(), chart.size(), cloth, needles, chart.cells().to_vec())
        .expect("strands within 1 to 12 keep a checked chart sound")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::route::tests::chart;
    use super::*;
    use crate::ground::progress::Silent;

    #[test]
    fn a_piece_is_read_with_one_unit_or_two() {
        let piece = |text: &str| text.parse::<Piece>().map(|piece| [piece.width.mm(), piece.height.mm()]);
        assert_eq!(piece("40x30cm").unwrap(), [400.0, 300.0]);
        assert_eq!(piece("400mm x 30cm").unwrap(), [400.0, 300.0]);
        assert_eq!(piece("16,5 x 12 in").unwrap(), [16.5 * 25.4, 12.0 * 25.4]);
        assert_eq!(piece("20cm").unwrap(), [200.0, 200.0]);
        assert!(piece("40x30").is_err() && piece("x30cm").is_err() && piece("-4x30cm").is_err());
    }

    #[test]
    fn a_stitch_at_40_cm_has_the_angle_that_the_table_of_legibility_gives() {
        // Plane trigonometry: 1.8617 mm at 400 mm is 16 minutes of arc, 2.3271 mm is 20.
        let mm = |mm| Millimetres::new(mm).unwrap();
        assert!((minutes_of_arc(mm(1.8617), mm(400.0)) - 16.0).abs() < 1e-3);
        assert!((minutes_of_arc(mm(2.3271), mm(400.0)) - 20.0).abs() < 1e-3);
    }

    #[test]
    fn small_stitches_and_dark_cloth_are_harder_for_the_eyes() {
        let [cream, navy, red] =
            ["#f4ecd8", "#1b2a41", "#c03028"].map(|colour| colour.parse::<Srgb8>().unwrap());
        let of = |count: &str, cloth| {
            let count: FabricCount = count.parse().unwrap();
            Ease::of(minutes_of_arc(count.cell(), Millimetres::new(400.0).unwrap()), cloth)
        };
        assert_eq!(
            ["14", "18", "22", "28"].map(|count| of(count, cream)),
            [Ease::Easy, Ease::Easy, Ease::Fine, Ease::Trying]
        );
        assert_eq!(["14", "18", "20"].map(|count| of(count, navy)), [Ease::Easy, Ease::Fine, Ease::Trying]);
        assert_eq!(of("14", red), Ease::Easy);
    }

    #[test]
    fn pieces_are_turned_and_hoops_are_round() {
        let piece = |text: &str| text.parse::<Piece>().unwrap();
        let on = |need: &str, have: &str| OnPiece::of(&piece(need), &piece(have));
        assert_eq!(on("30x20cm", "30x20cm"), OnPiece::Upright);
        assert_eq!(on("30x20cm", "20x30cm"), OnPiece::Turned);
        assert_eq!(on("30x20cm", "29x29cm"), OnPiece::No);
        let within = |need: &str, frame: &str| InFrame::of(&piece(need), &piece(frame));
        // 3, 4, 5: the diagonal of 12 x 16 cm is 20 cm.
        assert_eq!(within("12x16cm", "20cm"), InFrame::HoopToo);
        assert_eq!(within("12x16.1cm", "20cm"), InFrame::FrameOnly);
        assert_eq!(within("21x16cm", "20cm"), InFrame::No);
    }

    #[test]
    fn counts_are_compared_by_plain_geometry() {
        let chart = chart(28, &[1; 28 * 14], StitchKind::FullCross);
        let counts: Vec<FabricCount> = USUAL_COUNTS.iter().map(|count| count.parse().unwrap()).collect();
        let fits = fit(&chart, &[], &counts, &FitOptions::default(), &Silent).unwrap();
        assert_eq!(fits.len(), 8);
        let at = |text: &str| fits.iter().find(|fit| fit.design.count.to_string() == text).unwrap();
        // 28 stitches on 14 count are 2 inches; 5 cm a side are added.
        let fourteen = at("14");
        assert!((fourteen.design.finished.width.inches() - 2.0).abs() < 1e-12);
        assert!((fourteen.design.cut.width.mm() - 150.8).abs() < 1e-9);
        assert_eq!(fourteen.design.finished, at("28/2").design.finished);
        // Customary: three strands on 11, two on 14, one on 22; needles 24 and 28 (common practice, from memory).
        let custom = ["11", "14", "22"].map(|count| at(count).design.customary);
        assert_eq!(custom, [Some(3), Some(2), Some(1)]);
        // Blue on cream shows through one strand on 22.
        assert_eq!((fourteen.strands, at("22").strands, fourteen.kept), (Some(2), Some(2), 0));
        assert_eq!((fourteen.design.needle, at("22").design.needle), (24, 28));
        // The finer the cloth, the less thread, by front and back in proportion to the cell.
        assert!(at("16").strand_metres() < fourteen.strand_metres());
        assert!(fourteen.strand_metres() < at("11").strand_metres());
        assert_eq!(fourteen.uses, super::super::thread_uses(&chart, &[], &Silent).unwrap());
    }

    #[test]
    fn the_cloths_colour_decides_too_and_what_has_strands_of_its_own_keeps_them() {
        let plain = chart(28, &[vec![1; 28 * 14], vec![2; 28]].concat(), StitchKind::FullCross);
        let mut needles = plain.needles().to_vec();
        needles[1].threads[0].strands = 4;
        let chart =
            Chart::new("t".into(), plain.size(), plain.cloth, needles, plain.cells().to_vec()).unwrap();
        let on = |colour: &str| {
            let options = FitOptions { colour: Some(colour.parse().unwrap()), ..FitOptions::default() };
            fit(&chart, &[], &["22".parse().unwrap()], &options, &Silent).unwrap().remove(0)
        };
        // The thread's own colour, and the other end of the scale.
        assert_eq!((on("#306090").strands, on("#ffffff").strands), (Some(1), Some(2)));
        let one = on("#306090");
        assert_eq!((one.usual, one.kept), (2, 28));
        let strands = chart.needles().iter().map(|needle| one.worked(needle).strands()).collect::<Vec<_>>();
        assert_eq!(strands, [1, 4]);
    }
}
