//! What a chart comes to when it is worked, as the workbasket keeps it beside the chart: so that what is left is counted in
//! a moment, however large the chart.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Error;
use crate::basket::Work;
use crate::chart::{Chart, MarkId};
use crate::ground::colour::Srgb8;
use crate::ground::progress::Progress;
use crate::ground::units::GridSize;
use crate::planning::{Handling, Lengths};
use crate::printing::{self, picture, symbols};

/// The longer side of a piece's small picture, in pixels: two of them stand side by side on a telephone.
const PICTURE: u32 = 320;

/// A thread of a needle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct PlanThread {
    pub(super) code: String,
    pub(super) name: String,
    pub(super) colour: Srgb8,
    pub(super) strands: u8,
}

/// A needle as it is worked, marks included.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct PlanNeedle {
    pub(super) symbol: String,
    pub(super) threads: Vec<PlanThread>,
    /// What one of its stitches counts, in full crosses.
    pub(super) crosses: f64,
    /// Metres that each of its strands takes.
    pub(super) metres: f64,
}

/// A mark as it is worked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct PlanMark {
    pub(super) id: MarkId,
    pub(super) name: String,
    pub(super) kind: String,
    pub(super) crosses: u64,
    pub(super) backstitches: u64,
    /// The codes of the threads of its lines, and their strands together.
    pub(super) codes: Vec<String>,
}

/// What a thread takes in lines.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct PlanLines {
    pub(super) code: String,
    pub(super) name: String,
    pub(super) backstitches: u64,
    pub(super) metres: f64,
}

/// What is to be worked of a chart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Plan {
    pub(super) size: GridSize,
    /// The column and row, from 0, on which the base begins.
    pub(super) base_at: [u32; 2],
    pub(super) base: GridSize,
    pub(super) needles: Vec<PlanNeedle>,
    pub(super) marks: Vec<PlanMark>,
    pub(super) lines: Vec<PlanLines>,
    /// Threads that are begun in all.
    pub(super) needlefuls: u64,
    /// A byte a cell: the needle, 255 where bare.
    #[serde(skip)]
    pub(super) cells: Vec<u8>,
    /// Cells of marks, with the place of the mark.
    #[serde(skip)]
    pub(super) owners: BTreeMap<u32, u16>,
}

/// A cell on which nothing is worked.
pub(super) const BARE: u8 = u8::MAX;

impl Plan {
    /// Reckons what a chart comes to.
    pub(super) fn of(chart: &Chart, progress: &dyn Progress) -> Result<(Self, Work), Error> {
        let mut chart = chart.clone();
        // The same as pages show.
        symbols::give_symbols(&mut chart);
        let composed = printing::worked_while(&chart, progress)?;
        let worked = &composed.chart;
        let handling = Handling::default();
        let lengths = Lengths::of(worked, &composed.lines, handling.travel, progress)?;
        let (uses, count) =
            (lengths.uses(worked, &composed.lines, chart.cloth.count, &handling), chart.cloth.count);
        let of_needles = lengths.needle_metres(count, &handling);
        let needles: Vec<PlanNeedle> = worked
            .needles()
            .iter()
            .zip(&of_needles)
            .map(|(needle, &metres)| {
                let threads = needle.threads.iter().map(|thread| PlanThread {
                    code: thread.code.clone(),
                    name: thread.name.clone(),
                    colour: thread.colour,
                    strands: thread.strands,
                });
                PlanNeedle {
                    symbol: needle.symbol.clone(),
                    threads: threads.collect(),
                    crosses: needle.stitch.crosses(),
                    metres,
                }
            })
            .collect();
        let lines = uses
            .iter()
            .filter(|thread| thread.backstitches > 0)
            .map(|thread| {
                let in_needles =
                    needles.iter().flat_map(|needle| needle.threads.iter().map(move |t| (t, needle.metres)));
                let crosses: f64 = in_needles
                    .filter(|(t, _)| t.code == thread.code)
                    .map(|(t, m)| m * f64::from(t.strands))
                    .sum();
                PlanLines {
                    code: thread.code.clone(),
                    name: thread.name.clone(),
                    backstitches: thread.backstitches,
                    metres: (thread.strand_metres - crosses).max(0.0),
                }
            })
            .collect();
        let mut owners = BTreeMap::new();
        let place = |name: &str| chart.marks.iter().position(|mark| mark.name() == name);
        for (name, cells) in &composed.crosses {
            let Some(place) = place(name) else { continue };
            owners.extend(cells.iter().map(|&cell| (cell as u32, place as u16)));
        }
        let mut crosses = vec![0u64; chart.marks.len()];
        owners.values().for_each(|&place| crosses[usize::from(place)] += 1);
        let mut marks = Vec::new();
        for (mark, &crosses) in chart.marks.iter().zip(&crosses) {
            let Some(id) = mark.id() else { continue };
            let lines = || composed.lines.iter().filter(|line| line.mark == mark.name());
            let mut codes: Vec<String> =
                lines().flat_map(|line| &line.threads).map(|thread| thread.code.clone()).collect();
            codes.sort_unstable();
            codes.dedup();
            marks.push(PlanMark {
                id,
                name: mark.name().to_owned(),
                kind: mark.kind().to_string(),
                crosses,
                backstitches: lines().map(|line| line.stitches().count() as u64).sum(),
                codes,
            });
        }
        let cells =
            worked.cells().iter().map(|cell| cell.needle().map_or(BARE, |needle| needle as u8)).collect();
        let plan = Self {
            size: worked.size(),
            base_at: composed.base_at,
            base: chart.size(),
            needles,
            marks,
            lines,
            needlefuls: lengths.needlefuls(count, &handling),
            cells,
            owners,
        };
        let work = Work {
            stitches: plan.cells.iter().filter(|&&cell| cell != BARE).count() as u64,
            threads: uses.iter().filter(|thread| thread.is_worked()).count() as u64,
            hidden: plan.owners.keys().filter_map(|&cell| plan.base_cell(cell as usize)).collect(),
            crosses: plan.marks.iter().map(|mark| (mark.id, mark.crosses)).collect(),
            figures: plan.to_bytes(),
            picture: small_picture(worked, &composed.lines, progress)?,
            size: Some(plan.size),
        };
        Ok((plan, work))
    }

    /// The base cell under a worked one.
    pub(super) fn base_cell(&self, cell: usize) -> Option<usize> {
        let [left, top] = self.base_at.map(|at| at as usize);
        let column = (cell % self.size.width()).checked_sub(left).filter(|&x| x < self.base.width())?;
        let row = (cell / self.size.width()).checked_sub(top).filter(|&y| y < self.base.height())?;
        Some(row * self.base.width() + column)
    }

    /// Lengths first (8 bytes each, the lowest first): JSON, cells; then the cells of marks, 4 bytes and 2 each.
    fn to_bytes(&self) -> Vec<u8> {
        let json = serde_json::to_vec(self).expect("a plan has only string keys");
        let mut bytes = (json.len() as u64).to_le_bytes().to_vec();
        bytes.extend((self.cells.len() as u64).to_le_bytes());
        bytes.extend(json);
        bytes.extend(&self.cells);
        for (cell, place) in &self.owners {
            bytes.extend(cell.to_le_bytes());
            bytes.extend(place.to_le_bytes());
        }
        bytes
    }

    /// From what the workbasket kept.
    pub(super) fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let (lengths, rest) = bytes.split_at_checked(16)?;
        let length =
            |at: usize| usize::try_from(u64::from_le_bytes(lengths[at..at + 8].try_into().ok()?)).ok();
        let (json, rest) = rest.split_at_checked(length(0)?)?;
        let (cells, rest) = rest.split_at_checked(length(8)?)?;
        let mut plan: Self = serde_json::from_slice(json).ok()?;
        plan.cells = cells.to_vec();
        for owner in rest.chunks_exact(6) {
            let (cell, place) = owner.split_at(4);
            plan.owners.insert(
                u32::from_le_bytes(cell.try_into().ok()?),
                u16::from_le_bytes(place.try_into().ok()?),
            );
        }
        let fits = plan.cells.len() == plan.size.cells()
            && plan.owners.keys().all(|&cell| (cell as usize) < plan.cells.len())
            && plan.owners.values().all(|&place| usize::from(place) < plan.marks.len())
            && plan.cells.iter().all(|&cell| cell == BARE || usize::from(cell) < plan.needles.len());
        fits.then_some(plan)
    }
}

/// The finished piece, small, as PNG.
pub(super) fn small_picture(
    chart: &Chart,
    lines: &[crate::chart::WorkedLine],
    progress: &dyn Progress,
) -> Result<Vec<u8>, Error> {
    let whole = picture::preview(chart, lines, progress)?;
    let longest = whole.width().max(whole.height()).max(1);
    let side = |length: u32| (length * PICTURE / longest).max(1);
    let small = if longest > PICTURE {
        image::imageops::thumbnail(&whole, side(whole.width()), side(whole.height()))
    } else {
        whole
    };
    Ok(picture::png(small, progress)?)
}
