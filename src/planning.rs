//! How much thread a chart takes, and the cloth to cut.
//!
//! Owns lengths and skeins: `route` finds a working order and `lengths` what it takes. Leaves colours to
//! `reduce` and the page to `sheet`.

pub mod double_running;
pub mod fit;
mod lengths;
pub mod owned;
pub mod route;
pub mod savings;
pub mod shift;
pub mod shopping;
pub mod verdict;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use serde::Serialize;

use crate::chart::{Chart, Thread, WorkedLine};
use crate::ground::progress::{Progress, Stage, Stopped, tell};
use crate::ground::units::{FabricCount, Millimetres, counted};
use crate::thread::cloth::StitchKind;
use crate::thread::skein::Skein;

pub use lengths::Lengths;
pub use route::Handling;

/// The cloth left round the design on each side, for stretching and framing: 5 cm (common practice, no
/// source).
pub const CLOTH_ALLOWANCE_MM: f64 = 50.0;

/// The length of one strand that one stitch takes at the least: no start, no end, no travel, no waste. What a
/// chart takes is reckoned by its working order ([`Lengths`]); in a long row it comes near this.
///
/// Plane geometry on cells of side s: a full cross has two diagonals in front, `2 sqrt 2 s`, and worked in
/// rows there and back two sides behind, `2 s`. A half cross has half of each. A quarter stitch has half a
/// diagonal in front and, in a row, as much behind, from the middle to the next cell's corner: `sqrt 2 s`. A
/// three-quarter stitch, quarters there and half crosses back, has `3/2 sqrt 2 s` in front and
/// `(1/2 sqrt 2 + 1) s` behind.
#[must_use]
pub fn strand_mm_per_stitch(count: FabricCount, stitch: StitchKind) -> f64 {
    let side = count.cell().mm();
    let diagonal = std::f64::consts::SQRT_2;
    side * match stitch {
        StitchKind::FullCross => 2.0 * diagonal + 2.0,
        StitchKind::HalfCross | StitchKind::HalfCrossBack => diagonal + 1.0,
        StitchKind::Quarter(_) => diagonal,
        StitchKind::ThreeQuarter(_) => 2.0 * diagonal + 1.0,
    }
}

/// What a chart takes of one thread.
#[derive(Debug, Clone, PartialEq)]
pub struct ThreadUse {
    /// The shade's code.
    pub code: String,
    /// The shade's name.
    pub name: String,
    /// The numbers of strands that it is worked with, each once, the fewest first.
    pub strands: Vec<u8>,
    /// Crosses worked with it, alone or in a blend.
    pub stitches: u64,
    /// Backstitches worked with it, alone or in a blend.
    pub backstitches: u64,
    /// Metres of single strand; starts, ends, travels and waste included.
    pub strand_metres: f64,
    /// Skeins used up, as a fraction.
    pub skeins_exact: f64,
    /// What is taken for a skein.
    pub skein: Skein,
}

impl ThreadUse {
    /// Whether anything is worked with it: a mark may have covered all of a needle's cells.
    #[must_use]
    pub fn is_worked(&self) -> bool {
        self.stitches + self.backstitches > 0
    }

    /// Whole skeins to have ready; at least one where anything is worked with it.
    #[must_use]
    pub fn skeins(&self) -> u64 {
        if self.is_worked() { shopping::whole(self.skeins_exact).max(1) } else { 0 }
    }

    /// Whether these skeins are nearly used up: one more of the same dye lot is wise.
    #[must_use]
    pub fn nearly_used_up(&self) -> bool {
        self.is_worked() && shopping::is_nearly_used_up(self.skeins() as f64, self.skeins_exact)
    }

    /// The strands in words: `2`, or `1 and 2` where it is worked with both.
    #[must_use]
    pub fn strands_text(&self) -> String {
        let strands: Vec<String> = self.strands.iter().map(ToString::to_string).collect();
        match strands.as_slice() {
            [before @ .., last] if !before.is_empty() => format!("{} and {last}", before.join(", ")),
            other => other.concat(),
        }
    }
}

/// What a list says beside a thread: that it is nearly used up, and what a skein of it is where people would expect
/// another.
#[must_use]
pub fn list_note(nearly_used_up: bool, skein: Skein) -> String {
    let nearly = nearly_used_up.then(|| "nearly used up: one more of the same dye lot".to_owned());
    let skein = (!skein.is_of_six()).then(|| format!("a skein is taken as {skein}"));
    nearly.into_iter().chain(skein).collect::<Vec<_>>().join("; ")
}

/// What the chart and the lines on it take of each thread, in the order of the needles; threads of lines alone
/// follow.
///
/// Reckoned by a working order with the usual [`Handling`]; see [`Lengths`].
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub fn thread_uses(
    chart: &Chart,
    lines: &[WorkedLine],
    progress: &dyn Progress,
) -> Result<Vec<ThreadUse>, Stopped> {
    tell(progress, Stage::Planning, 0, 1)?;
    let handling = Handling::default();
    let lengths = Lengths::of(chart, lines, handling.travel, progress)?;
    Ok(lengths.uses(chart, lines, chart.cloth.count, &handling))
}

/// How many threads a chart is worked with, and in how many needles: blends share threads, and one thread may be worked
/// in several ways. Needles of which no cell is worked do not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ThreadCount {
    /// Threads.
    pub threads: usize,
    /// Needles.
    pub needles: usize,
    /// Threads that are in no needle and serve for backstitch alone.
    pub backstitch_alone: usize,
}

impl ThreadCount {
    /// Counts those of a chart and its lines.
    #[must_use]
    pub fn of(chart: &Chart, lines: &[WorkedLine]) -> Self {
        let stitches = chart.stitches();
        let worked = chart.needles().iter().zip(stitches).filter(|(_, stitches)| *stitches > 0);
        let needles: Vec<_> = worked.map(|(needle, _)| needle).collect();
        let codes = needles.iter().flat_map(|needle| &needle.threads).map(|thread| thread.code.as_str());
        let in_needles: BTreeSet<&str> = codes.collect();
        let of_lines = lines.iter().flat_map(|line| &line.threads).map(|thread| thread.code.as_str());
        let alone = of_lines.filter(|code| !in_needles.contains(code)).collect::<BTreeSet<_>>().len();
        Self { threads: in_needles.len() + alone, needles: needles.len(), backstitch_alone: alone }
    }
}

/// As it is told and stands on a cover: a blend, or a thread worked in another way, has a symbol of its own.
impl fmt::Display for ThreadCount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&counted(self.threads as u64, "thread"))?;
        if self.needles != self.threads - self.backstitch_alone {
            write!(f, " with {}", counted(self.needles as u64, "symbol"))?;
        }
        if self.backstitch_alone > 0 {
            write!(f, ", {} of them for outlines alone", self.backstitch_alone)?;
        }
        Ok(())
    }
}

/// Threads by code, in the order in which they came.
#[derive(Default)]
struct Uses {
    list: Vec<ThreadUse>,
    places: BTreeMap<String, usize>,
}

impl Uses {
    /// Adds metres of each strand to a thread and gives its entry.
    fn of(&mut self, thread: &Thread, metres: f64) -> &mut ThreadUse {
        let metres = metres * f64::from(thread.strands);
        let list = &mut self.list;
        let place = *self.places.entry(thread.code.clone()).or_insert_with(|| {
            list.push(ThreadUse {
                code: thread.code.clone(),
                name: thread.name.clone(),
                strands: Vec::new(),
                stitches: 0,
                backstitches: 0,
                strand_metres: 0.0,
                skeins_exact: 0.0,
                skein: thread.skein(),
            });
            list.len() - 1
        });
        let thread_use = &mut list[place];
        thread_use.strand_metres += metres;
        thread_use.skeins_exact += metres / thread.skein().strand_metres();
        if metres > 0.0
            && let Err(place) = thread_use.strands.binary_search(&thread.strands)
        {
            thread_use.strands.insert(place, thread.strands);
        }
        thread_use
    }
}

/// The cloth to cut: the finished size with the allowance on every side.
#[must_use]
pub fn cloth_to_cut(chart: &Chart) -> (Millimetres, Millimetres) {
    let allowance = Millimetres::new(CLOTH_ALLOWANCE_MM).unwrap_or_default();
    let (width, height) = chart.finished();
    (width.with_margin(allowance), height.with_margin(allowance))
}

/// Text for a CSV that a spreadsheet may open: one that it would take for a formula gets an apostrophe in
/// front (OWASP, "CSV injection").
#[must_use]
pub fn safe_field(text: &str) -> String {
    match text.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') => format!("'{text}"),
        _ => text.to_owned(),
    }
}

/// A table as CSV, a heading for each column.
pub(crate) fn table<const COLUMNS: usize>(
    headings: [&str; COLUMNS],
    rows: impl IntoIterator<Item = [String; COLUMNS]>,
) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let invariant = "writing to memory does not fail";
    writer.write_record(headings).expect(invariant);
    for row in rows {
        writer.write_record(row).expect(invariant);
    }
    String::from_utf8(writer.into_inner().expect(invariant)).expect("made of UTF-8")
}

/// The thread list as CSV: `code,name,strands,stitches,metres,skeins,skeins_used,note`, a row a thread.
///
/// `strands` are all numbers that the thread is worked with, such as `1 and 2`; `metres` are of single strand, waste
/// included; `skeins` are whole ones to have ready and `skeins_used` the exact share; for `note` see [`list_note`].
#[must_use]
pub fn thread_list_csv(uses: &[ThreadUse]) -> String {
    let headings = ["code", "name", "strands", "stitches", "metres", "skeins", "skeins_used", "note"];
    let rows = uses.iter().map(|thread| {
        [
            safe_field(&thread.code),
            safe_field(&thread.name),
            thread.strands_text(),
            thread.stitches.to_string(),
            format!("{:.2}", thread.strand_metres),
            thread.skeins().to_string(),
            format!("{:.2}", thread.skeins_exact),
            list_note(thread.nearly_used_up(), thread.skein),
        ]
    });
    table(headings, rows)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::chart::{Cell, Needle};
    use crate::ground::progress::Silent;
    use crate::ground::units::GridSize;
    use crate::thread::cloth::Cloth;
    use crate::thread::skein::{SKEIN_MM, SKEIN_STRANDS};

    #[test]
    fn a_skein_does_as_many_crosses_as_the_geometry_table_says() {
        // tests/checks/thread_geometry.csv: plane geometry, rows there and back, two of six strands of an
        // 8 m skein in the needle, no waste; 2,739.7 crosses on 14 count.
        let table = include_str!("../tests/checks/thread_geometry.csv");
        let mut rows = 0;
        for record in csv::Reader::from_reader(table.as_bytes()).records() {
            let record = record.unwrap();
            let count: FabricCount = record[0].parse().unwrap();
            let number = |column: usize| record[column].parse::<f64>().unwrap();
            assert!((count.cell().mm() - number(1)).abs() < 1e-4);
            let each = strand_mm_per_stitch(count, StitchKind::FullCross);
            assert!((each - number(3)).abs() < 1e-4, "{count}");
            assert!((SKEIN_MM * f64::from(SKEIN_STRANDS) / 2.0 / each - number(5)).abs() < 0.06, "{count}");
            rows += 1;
        }
        assert_eq!(rows, 7);
    }

    fn thread(code: &str, strands: u8) -> Thread {
        let colour = "#204060".parse().unwrap();
        Thread {
            code: code.into(),
            name: code.into(),
            colour,
            strands,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }
    }

    fn chart(needles: Vec<Vec<Thread>>, cells: Vec<Cell>) -> Chart {
        let needles = needles
            .into_iter()
            .map(|threads| Needle { symbol: String::new(), threads, stitch: StitchKind::FullCross })
            .collect();
        let size = GridSize::new(10, u32::try_from(cells.len()).unwrap() / 10).unwrap();
        Chart::new("t".into(), size, Cloth::default(), needles, cells).unwrap()
    }

    #[test]
    fn a_thread_in_two_needles_is_listed_once_with_both_uses() {
        let mut cells = vec![Cell::worked(0); 60];
        cells.extend(vec![Cell::worked(1); 40]);
        let chart = chart(vec![vec![thread("A", 2)], vec![thread("A", 1), thread("B", 1)]], cells);
        let uses = thread_uses(&chart, &[], &Silent).unwrap();
        assert_eq!(uses.len(), 2);
        assert_eq!((uses[0].stitches, uses[1].stitches), (100, 40));
        // By hand, on cells of 25.4/14 mm: 60 crosses in a block have 120 legs of sqrt 2 in front and 119 cells
        // behind, 523.79 mm: over 42 cm, so two threads of 8 cm ends; 40 have 80 legs and 79 cells, 348.59 mm:
        // one. (683.79 x 2 strands + 428.59 x 1) x 1.1 = 1.97578 m.
        assert!((uses[0].strand_metres - 1.97578).abs() < 1e-4, "{}", uses[0].strand_metres);
        assert_eq!(uses[0].skeins(), 1);
    }

    #[test]
    fn lines_take_thread_by_their_stitches() {
        // Dillmont, Encyclopedia of Needlework, fig. 6: back-stitch of 10 units takes 3 x 10 - 2 of thread.
        let chart = chart(vec![vec![thread("A", 2)]], vec![Cell::BARE; 40]);
        let line = WorkedLine {
            mark: "m".into(),
            label: "m".into(),
            threads: vec![thread("B", 1), thread("A", 1)],
            pattern: crate::chart::LinePattern::Solid,
            stitch: crate::chart::LineStitch::Backstitch,
            points: (0..=10).map(|x| [x, 0]).collect(),
            closed: false,
            lane: 0.0,
            layer: crate::chart::LineLayer::Outlines,
        };
        let uses = thread_uses(&chart, &[line], &Silent).unwrap();
        let codes: Vec<&str> = uses.iter().map(|thread| thread.code.as_str()).collect();
        assert_eq!(codes, ["A", "B"]);
        for thread in &uses {
            assert_eq!((thread.stitches, thread.backstitches), (0, 10));
            // One start and one end of 4 cm, and a tenth more.
            let wanted = (28.0 * 25.4 / 14.0 + 80.0) * 1.1 / 1000.0;
            assert!((thread.strand_metres - wanted).abs() < 1e-9, "{thread:?}");
        }
    }

    #[test]
    fn a_skein_does_what_stitchers_say_on_blocks() {
        // Common practice, from memory: 1,600 to 2,200 crosses on 14 count with two strands of an 8 m skein. And
        // never more than the 2,739.7 of the bare limit (tests/checks/thread_geometry.csv).
        let block = chart(vec![vec![thread("A", 2)]], vec![Cell::worked(0); 2000]);
        let used = thread_uses(&block, &[], &Silent).unwrap()[0].skeins_exact;
        let crosses = 2000.0 / used;
        assert!((1600.0..2200.0).contains(&crosses), "{crosses}");
        let bare = Lengths::of(&block, &[], 5.0, &Silent).unwrap().uses(
            &block,
            &[],
            block.cloth.count,
            &Handling::bare(),
        );
        let crosses = 2000.0 / bare[0].skeins_exact;
        assert!((crosses - 2739.7).abs() < 1.0, "{crosses}");
    }

    #[test]
    fn lines_of_double_running_take_twice_their_length_and_are_strung_within_reach() {
        let figure = chart(vec![vec![thread("A", 2)]], vec![Cell::BARE; 40]);
        let line = |points: Vec<[i32; 2]>| WorkedLine {
            mark: "m".into(),
            label: "m".into(),
            threads: vec![thread("B", 1)],
            pattern: crate::chart::LinePattern::Solid,
            stitch: crate::chart::LineStitch::DoubleRunning,
            points,
            closed: false,
            lane: 0.0,
            layer: crate::chart::LineLayer::Outlines,
        };
        // A cross of two lines that meet in [2, 2] is one figure; the third is 2 cells off, the last too far.
        let lines = [
            line(vec![[0, 2], [2, 2], [4, 2]]),
            line(vec![[2, 0], [2, 2], [2, 4]]),
            line(vec![[0, 4], [0, 6]]),
            line(vec![[0, 30], [4, 30]]),
        ];
        let uses = thread_uses(&figure, &lines, &Silent).unwrap();
        let cell = 25.4 / 14.0;
        let wanted = ((2.0 * (4.0 + 4.0) + 2.0 + 2.0 * 2.0) * cell + 80.0 + 2.0 * 4.0 * cell + 80.0) * 1.1;
        assert!((uses[1].strand_metres - wanted / 1000.0).abs() < 1e-9, "{uses:?}");
        assert_eq!(uses[1].backstitches, 6);
    }

    #[test]
    fn a_reel_of_metallic_is_not_taken_for_six_strands() {
        // By hand: the same crosses take the same strand; a reel of 20 m in one strand has 20 m, a skein of 8 m in
        // six 48.
        let reel = Thread {
            skein_mm: Some(Millimetres::new(20_000.0).unwrap()),
            kind: Some("metallic".into()),
            ..thread("M", 2)
        };
        let of = |thread: Thread| {
            let uses =
                thread_uses(&chart(vec![vec![thread]], vec![Cell::worked(0); 1500]), &[], &Silent).unwrap();
            (uses[0].strand_metres, uses[0].skeins_exact, uses[0].skeins())
        };
        let ((metres, cotton, _), (reels, metallic, whole)) = (of(thread("A", 2)), of(reel));
        assert!((metres - reels).abs() < 1e-9);
        assert!((cotton * 48.0 - metres).abs() < 1e-9 && (metallic * 20.0 - metres).abs() < 1e-9);
        assert_eq!(whole, 2, "{metallic}");
    }

    #[test]
    fn the_list_says_all_strands_what_is_at_its_limit_and_what_a_skein_is() {
        // A in two needles of one and two strands, C in one that no cell is worked with.
        let silver = Thread { kind: Some("metallic".into()), ..thread("B", 1) };
        let needles = vec![
            vec![thread("A", 2)],
            vec![thread("A", 1), silver],
            vec![thread("C", 3)],
            vec![thread("D", 2)],
            vec![thread("D", 4)],
        ];
        let mut cells: Vec<Cell> = (0..100).map(|at| Cell::worked(at / 50)).collect();
        cells.extend(vec![Cell::worked(3); 100]);
        let uses = thread_uses(&chart(needles, cells), &[], &Silent).unwrap();
        let csv = thread_list_csv(&uses);
        let row = |code: &str| csv.lines().find(|line| line.starts_with(code)).unwrap().to_owned();
        assert!(row("A,A").starts_with("A,A,1 and 2,100,"), "{csv}");
        assert!(row("B,B").ends_with(",a skein is taken as 8 m of 1 strand"), "{csv}");
        assert!(row("C,C").starts_with("C,C,,0,0.00,0,"), "{csv}");
        assert!(row("D,D").starts_with("D,D,2,100,"), "nothing is worked with four: {csv}");
        // 0.99 of a skein leaves under a tenth.
        let at_limit = ThreadUse { skeins_exact: 0.99, ..uses[0].clone() };
        assert!(at_limit.nearly_used_up() && !uses[0].nearly_used_up());
        assert!(thread_list_csv(&[at_limit]).contains("nearly used up"));
    }

    #[test]
    fn formulas_are_never_written_raw() {
        let mut evil = thread("=1+1", 2);
        evil.name = "@SUM, \"x\"".into();
        let csv = thread_list_csv(
            &thread_uses(&chart(vec![vec![evil]], vec![Cell::worked(0); 40]), &[], &Silent).unwrap(),
        );
        assert!(csv.contains("'=1+1") && csv.contains("\"'@SUM, \"\"x\"\"\""), "{csv}");
    }

    #[test]
    fn cloth_to_cut_has_five_centimetres_a_side() {
        let chart = chart(vec![vec![thread("A", 2)]], vec![Cell::worked(0); 140]);
        let ((width, height), (cut_width, cut_height)) = (chart.finished(), cloth_to_cut(&chart));
        assert!((cut_width.mm() - width.mm() - 100.0).abs() < 1e-9);
        assert!((cut_height.mm() - height.mm() - 100.0).abs() < 1e-9);
    }
}
