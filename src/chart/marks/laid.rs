//! What marks come to before it stands on one chart: crosses laid over the base, lines, and the cloth that they
//! need.
//!
//! Owns the stitches that every kind of mark is made of: lines round cells, rings of a halo, written letters.
//! Leaves which marks there are to `compose` and where a key's parts stand to `key`.

use super::MarkWarning;
use super::lettering::Written;
use super::region::Region;
use super::trace;
use crate::chart::mark::{Backstitch, Course, Outline};
use crate::chart::{LineLayer, LinePattern, LineStitch, Mark, Thread, WorkedLine};

/// What a cross is worked with.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum With {
    /// A needle of the base.
    Base(usize),
    /// Threads of a mark.
    Threads(Vec<Thread>),
}

/// Crosses of one mark, on cells counted from 0 at the base's top left.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    pub(super) mark: String,
    pub(super) with: With,
    pub(super) cells: Vec<[i32; 2]>,
}

/// Columns and rows, from the base's top left: first and one past the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Canvas {
    pub(super) left: i32,
    pub(super) top: i32,
    pub(super) right: i32,
    pub(super) bottom: i32,
}

/// Everything that the marks come to, before it is put on one chart.
#[derive(Debug, Default)]
pub(super) struct Work {
    pub(super) laid: Vec<Laid>,
    pub(super) lines: Vec<WorkedLine>,
    pub(super) warnings: Vec<MarkWarning>,
}

impl Work {
    /// Puts written stitches with their top left at a cell; gives the cells that they take.
    pub(super) fn put(
        &mut self,
        written: &Written,
        [left, top]: [i32; 2],
        mark: &str,
        threads: &[Thread],
    ) -> Vec<[i32; 2]> {
        let moved = |&[x, y]: &[i32; 2]| [x + left, y + top];
        let cells: Vec<[i32; 2]> = written.crosses.iter().map(moved).collect();
        let mut taken = cells.clone();
        if !cells.is_empty() {
            self.laid.push(Laid { mark: mark.to_owned(), with: With::Threads(threads.to_vec()), cells });
        }
        for stroke in &written.strokes {
            let points: Vec<[i32; 2]> = stroke.iter().map(moved).collect();
            taken.extend(&points);
            self.lines.push(WorkedLine {
                mark: mark.to_owned(),
                label: mark.to_owned(),
                threads: threads.to_vec(),
                pattern: LinePattern::Solid,
                stitch: LineStitch::Backstitch,
                points,
                closed: false,
                lane: 0.0,
                layer: LineLayer::Lettering,
            });
        }
        taken
    }
}

impl Work {
    /// Takes in lines as they are.
    pub(super) fn sew(&mut self, mark: &Backstitch<Vec<Thread>>) {
        for points in mark.lines.iter().filter(|points| points.len() > 1) {
            self.lines.push(WorkedLine {
                mark: mark.name.clone(),
                label: mark.label.clone().unwrap_or_else(|| mark.name.clone()),
                threads: mark.thread.clone(),
                pattern: mark.pattern.unwrap_or(LinePattern::Solid),
                stitch: mark.stitch,
                points: points.clone(),
                closed: false,
                lane: 0.0,
                layer: LineLayer::Outlines,
            });
        }
    }
}

/// An outline or a halo with its cells: what the key shows.
pub(super) struct Shown<'a> {
    pub(super) mark: &'a Mark,
    pub(super) region: &'a Region,
    pub(super) pattern: LinePattern,
}

/// The lines round a region as an outline has them.
pub(super) fn lines_round(
    region: &Region,
    outline: &Outline<Vec<Thread>>,
    pattern: LinePattern,
) -> Vec<WorkedLine> {
    let loops = match outline.course {
        Course::Eased => trace::eased(region, outline.longest),
        Course::Exact => trace::exact(region),
    };
    let line = |points| WorkedLine {
        mark: outline.name.clone(),
        label: outline.label.clone().unwrap_or_else(|| outline.name.clone()),
        threads: outline.thread.clone(),
        pattern,
        stitch: outline.stitch,
        points,
        closed: true,
        lane: 0.0,
        layer: LineLayer::Outlines,
    };
    loops.into_iter().map(line).collect()
}

/// The cells of a halo round a region.
pub(super) fn ring_cells(region: &Region, wide: u8, away: u8) -> Region {
    region.ringed(away, wide)
}
