//! What a proof found.

use std::collections::{BTreeMap, BTreeSet};

use image::{Rgb, RgbImage};
use imageproc::drawing::draw_line_segment_mut;
use serde::Serialize;

use super::lattice::Lattice;
use super::outlines::{self, Outlines};
use super::{ProofError, ProofOptions, Reader, spoil};
use crate::chart::marks::Composed;
use crate::chart::{LinePattern, WorkedLine};
use crate::ground::progress::Progress;
use crate::ground::units::GridSize;
use crate::reading::pages::Pages;

/// A cell that was read as something else than the chart says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misread {
    /// The page of the file, from 1.
    pub page: usize,
    /// The column of the worked chart, from 1.
    pub column: u32,
    /// The row of the worked chart, from 1.
    pub row: u32,
    /// Whether it is a cell of a neighbouring page, repeated here.
    pub repeated: bool,
    /// The needle that the chart has there, from 0, or `None` for bare cloth.
    pub chart: Option<usize>,
    /// The needle whose symbol was read.
    pub read: Option<usize>,
    /// How clear that was, 0 to 1.
    pub margin: f64,
}

/// Two needles, or a needle and bare cloth, and the least margin between them on any cell that was read right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// What was read, from 0; `None` is bare cloth.
    pub read: Option<usize>,
    /// What came second.
    pub second: Option<usize>,
    /// The margin: 1 less the distance to the first over the distance to the second.
    pub margin: f64,
}

/// Cells, and how many of them were read as the chart says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Count {
    /// All that were read.
    pub cells: u64,
    /// Those read right.
    pub right: u64,
}

/// An outline that was read with another pattern than the chart says.
#[derive(Debug, Clone, PartialEq)]
pub struct MisreadLine {
    /// The page of the file, from 1.
    pub page: usize,
    /// A column of the worked chart that it touches, from 1.
    pub column: u32,
    /// A row of the worked chart that it touches, from 1.
    pub row: u32,
    /// The name of its mark.
    pub mark: String,
    /// The pattern that the chart has.
    pub chart: LinePattern,
    /// The pattern that was read; `None` where there is no line at all.
    pub read: Option<LinePattern>,
    /// How clear that was, 0 to 1.
    pub margin: f64,
}

/// Two patterns, or a pattern and nothing, and the least margin between them on any outline that was read right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinePair {
    /// What was read.
    pub read: Option<LinePattern>,
    /// What came second.
    pub second: Option<LinePattern>,
    /// The margin, as of [`Pair`].
    pub margin: f64,
}

/// Outlines and other lines of stitches, each judged on every page that shows enough of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lines {
    /// Outlines that were judged; one on two pages counts twice.
    pub judged: u64,
    /// Those whose pattern was read as the chart says.
    pub right: u64,
    /// Lines that are shown, but too short on every page to tell a pattern by.
    pub short: u64,
    /// Those read wrong, by page.
    pub misread: Vec<MisreadLine>,
    /// What came nearest to being taken for each other, the nearest first.
    pub nearest: Vec<LinePair>,
}

impl Lines {
    fn of(read: &[PageProof], lines: &[WorkedLine]) -> Self {
        let mut found = Self::default();
        let mut pairs: BTreeMap<[Option<LinePattern>; 2], f64> = BTreeMap::new();
        let mut judged: BTreeSet<usize> = BTreeSet::new();
        let mut short: BTreeSet<usize> = BTreeSet::new();
        for page in read {
            short.extend(&page.outlines.short);
            for outline in &page.outlines.read {
                judged.extend(&outline.lines);
                let Some(line) = outline.lines.first().and_then(|&at| lines.get(at)) else { continue };
                let outlines::Read { best, second, margin } = outline.read;
                found.judged += 1;
                if best == Some(line.pattern) {
                    found.right += 1;
                    let least = pairs.entry([best, second]).or_insert(f64::MAX);
                    *least = least.min(margin);
                    continue;
                }
                let [column, row] = [0, 1].map(|axis| page.first[axis] + outline.at[axis] + 1);
                let (mark, chart) = (line.mark.clone(), line.pattern);
                let page = page.page;
                found.misread.push(MisreadLine { page, column, row, mark, chart, read: best, margin });
            }
        }
        found.short = short.difference(&judged).count() as u64;
        found.nearest =
            pairs.into_iter().map(|([read, second], margin)| LinePair { read, second, margin }).collect();
        found.nearest.sort_by(|one, other| one.margin.total_cmp(&other.margin));
        found
    }

    /// The least margin of any outline that was read right, 0 to 1; `None` where none was.
    #[must_use]
    pub fn margin(&self) -> Option<f64> {
        self.nearest.first().map(|pair| pair.margin)
    }
}

/// A page as read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PageProof {
    pub(super) page: usize,
    pub(super) seed: u64,
    pub(super) lattice: Lattice,
    /// The column and row of the worked chart at the lattice's top left.
    pub(super) first: [u32; 2],
    pub(super) own: Count,
    pub(super) repeated: Count,
    pub(super) misread: Vec<Misread>,
    pub(super) pairs: BTreeMap<[Option<usize>; 2], f64>,
    pub(super) outlines: Outlines,
}

/// What a proof found.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// Cells, each on its own page.
    pub own: Count,
    /// Cells repeated from neighbouring pages.
    pub repeated: Count,
    /// Chart pages that were read.
    pub pages: usize,
    /// Chart pages of the file.
    pub of_pages: usize,
    /// Every cell that was read wrong, by page, row and column.
    pub misread: Vec<Misread>,
    /// What came nearest to being taken for each other, the nearest first.
    pub nearest: Vec<Pair>,
    /// Outlines and other lines.
    pub lines: Lines,
    options: ProofOptions,
    size: GridSize,
    read: Vec<PageProof>,
}

impl Proof {
    pub(super) fn of(
        read: Vec<PageProof>,
        of_pages: usize,
        composed: &Composed,
        options: ProofOptions,
    ) -> Self {
        let sum = |part: fn(&PageProof) -> Count| {
            read.iter().map(part).fold(Count::default(), |all, page| Count {
                cells: all.cells + page.cells,
                right: all.right + page.right,
            })
        };
        let mut pairs: BTreeMap<[Option<usize>; 2], f64> = BTreeMap::new();
        for (pair, margin) in read.iter().flat_map(|page| &page.pairs) {
            let least = pairs.entry(*pair).or_insert(f64::MAX);
            *least = least.min(*margin);
        }
        let mut nearest: Vec<Pair> =
            pairs.into_iter().map(|([read, second], margin)| Pair { read, second, margin }).collect();
        nearest.sort_by(|one, other| one.margin.total_cmp(&other.margin));
        Self {
            own: sum(|page| page.own),
            repeated: sum(|page| page.repeated),
            pages: read.len(),
            of_pages,
            misread: read.iter().flat_map(|page| page.misread.iter().copied()).collect(),
            nearest,
            lines: Lines::of(&read, &composed.lines),
            options,
            size: composed.chart.size(),
            read,
        }
    }

    /// Whether every cell and every outline was read as the chart says.
    #[must_use]
    pub fn is_right(&self) -> bool {
        self.misread.is_empty() && self.lines.misread.is_empty()
    }

    /// The least margin of any cell that was read right, 0 to 1; `None` where none was.
    #[must_use]
    pub fn margin(&self) -> Option<f64> {
        self.nearest.first().map(|pair| pair.margin)
    }

    /// The pages that were read: their number in the file from 1, the column and row of the worked chart at the
    /// top left of the grid from 1, and how many columns and rows the grid has, repeats counted.
    pub fn places(&self) -> impl Iterator<Item = (usize, [u32; 2], [u32; 2])> {
        self.read.iter().map(|page| {
            let Lattice { columns, rows, .. } = page.lattice;
            (page.page, page.first.map(|at| at + 1), [columns, rows])
        })
    }

    /// The page with most wrong cells, then outlines (the first, where there are none), as it was read, wrong
    /// cells framed in red, wrong outlines drawn over in red. `pdf` is the file that was proof-read, `lines` are
    /// those of the chart.
    ///
    /// # Errors
    /// [`ProofError`] where `pdf` is another file that cannot be read.
    pub fn picture(
        &self,
        pdf: &[u8],
        lines: &[WorkedLine],
        reader: &Reader,
        progress: &dyn Progress,
    ) -> Result<RgbImage, ProofError> {
        let file = Pages::open(reader, pdf, self.size, progress)?;
        let is_wrong = |outline: &&outlines::Outline| {
            let wanted = outline.lines.first().and_then(|&at| lines.get(at)).map(|line| line.pattern);
            outline.read.best != wanted
        };
        let wrong =
            |page: &PageProof| (page.misread.len(), page.outlines.read.iter().filter(is_wrong).count());
        let page = self.read.iter().rev().max_by_key(|page| wrong(page)).ok_or(ProofError::NotOurs)?;
        let clean = file.rendered(page.page - 1, self.options.dpi, progress)?;
        let grey = spoil(clean, self.options.spoil, self.options.dpi, page.seed);
        let mut picture = image::DynamicImage::ImageLuma8(grey).to_rgb8();
        let first = page.first.map(f64::from);
        let mut draw = |from: [f64; 2], to: [f64; 2]| {
            let at = |[column, row]: [f64; 2]| {
                let [x, y] = page.lattice.at(column - first[0], row - first[1]);
                (x as f32, y as f32)
            };
            draw_line_segment_mut(&mut picture, at(from), at(to), Rgb([220, 0, 0]));
        };
        for misread in &page.misread {
            let (column, row) = (f64::from(misread.column - 1), f64::from(misread.row - 1));
            for grow in [0.0, 0.06, 0.12] {
                let (low, high) = (-grow, 1.0 + grow);
                let corners = [[low, low], [high, low], [high, high], [low, high]];
                let corners = corners.map(|[x, y]| [column + x, row + y]);
                for (index, from) in corners.into_iter().enumerate() {
                    draw(from, corners[(index + 1) % 4]);
                }
            }
        }
        let wrong = page.outlines.read.iter().filter(is_wrong).flat_map(|outline| &outline.lines);
        for line in wrong.filter_map(|&at| lines.get(at)) {
            for aside in [-0.03, 0.0, 0.03] {
                let mut points = line.drawn(aside);
                if line.closed {
                    points.extend(points.first().copied());
                }
                points.windows(2).for_each(|pair| draw(pair[0], pair[1]));
            }
        }
        Ok(picture)
    }
}
